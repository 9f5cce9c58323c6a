//! One TOML value held against its shape.

use toml::Spanned;
use toml::de::DeValue;

use super::node::{Node, Value};
use super::offset::in_raw;
use super::sample::sample;
use super::schema::{Shape, in_unit, list_of, thousandths};
use super::walk::Walk;
use crate::diagnostic::{Diagnostic, Span, nearest};
use crate::measure::{Fault, LengthUnit, Quantity, Rules, is_on_a_tape, parse};

/// A value where it stands.
pub(super) struct Found<'a> {
    pub(super) value: &'a DeValue<'a>,
    pub(super) span: Span,
}

impl<'a> Found<'a> {
    pub(super) fn new(spanned: &'a Spanned<DeValue<'a>>) -> Self {
        Self {
            value: spanned.get_ref(),
            span: spanned.span().into(),
        }
    }

    /// What it is, for messages.
    fn name(&self) -> String {
        match self.value {
            DeValue::String(text) if text.chars().count() <= 40 => format!("\"{text}\""),
            DeValue::String(_) => "a long text".to_owned(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            DeValue::Boolean(flag) => flag.to_string(),
            DeValue::Datetime(_) => "a date".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            DeValue::Table(_) => "a table".to_owned(),
        }
    }
}

/// Whether a letter can be seen: no space, and none of those without width.
fn shows(letter: char) -> bool {
    let no_width = matches!(
        letter,
        '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' | '\u{ad}' | '\u{3164}'
    );
    !letter.is_whitespace() && !no_width
}

impl<'a> Walk<'a> {
    /// A value held against a shape; none, and a diagnostic, where it does not fit.
    pub(super) fn value(&mut self, path: &str, shape: &'static Shape, found: &Found<'a>) -> Option<Node> {
        let value = match (shape, found.value) {
            (Shape::Either(shapes), _) => return self.either(path, shape, shapes, found),
            (Shape::Measure { quantity, min, max }, DeValue::String(text)) => {
                self.measure(path, *quantity, (*min, *max), text, found.span)?
            }
            (
                Shape::Measure {
                    quantity: Quantity::Length,
                    min,
                    max,
                },
                DeValue::Integer(_) | DeValue::Float(_),
            ) => self.bare_length(path, (*min, *max), found)?,
            (Shape::Number { min, max }, DeValue::Integer(_) | DeValue::Float(_)) => {
                self.number(path, (*min, *max), found)?
            }
            (Shape::Count { min, max }, DeValue::Integer(_)) => self.count(path, (*min, *max), found)?,
            (Shape::Text, DeValue::String(text)) if text.contains(steers) => {
                let message =
                    format!("`{path}` holds a line break or another character that cannot be printed");
                let help = "write it in one line of plain text";
                self.say(Diagnostic::error(found.span, message).with_help(help));
                return None;
            }
            (Shape::Text, DeValue::String(text)) if is_name(path) && text.chars().count() > NAME_MAX => {
                let message = format!(
                    "`{path}` has {} letters, more than {NAME_MAX}",
                    text.chars().count()
                );
                let help = "shorten it: cards, pictures and folders are called by it";
                self.say(Diagnostic::error(found.span, message).with_help(help));
                return None;
            }
            (Shape::Text, DeValue::String(text)) if text.contains(shows) => Value::Text(text.to_string()),
            (Shape::Text, DeValue::String(_)) => {
                self.say(Diagnostic::error(found.span, format!("`{path}` is empty")));
                return None;
            }
            (Shape::Word(words), DeValue::String(text)) => self.word(path, words, text, found.span, "")?,
            (Shape::Flag, DeValue::Boolean(flag)) => Value::Flag(*flag),
            (Shape::Table(keys), DeValue::Table(table)) => self.table(path, keys, table, found.span),
            (Shape::List { of, min, max }, DeValue::Array(items)) => {
                if !self.list_size(path, (*min, *max), items.len(), found.span) {
                    return None;
                }
                let items = items.iter().enumerate().map(|(number, item)| {
                    self.value(&format!("{path}[{}]", number + 1), of, &Found::new(item))
                });
                Value::List(items.collect())
            }
            _ => {
                self.wrong_type(path, shape, found);
                return None;
            }
        };
        Some(Node {
            span: found.span,
            value,
        })
    }

    fn wrong_type(&mut self, path: &str, shape: &Shape, found: &Found<'_>) {
        let help = match shape {
            Shape::Measure { quantity, .. }
                if matches!(found.value, DeValue::Integer(_) | DeValue::Float(_)) =>
            {
                format!(
                    "write the number with its unit, in quotes: \"{} {}\"",
                    found.name(),
                    first_unit(*quantity)
                )
            }
            Shape::Number { .. } | Shape::Count { .. } => {
                format!("write it like {}: {}", sample(path, shape), shape.bounds())
            }
            Shape::List {
                of: Shape::Table(_), ..
            } if matches!(found.value, DeValue::Table(_)) => {
                format!("open it with two brackets, [[{path}]], once for each")
            }
            _ => format!("write it like {}", sample(path, shape)),
        };
        let message = format!(
            "`{path}` should be {}, but {} stands here",
            shape.name(),
            found.name()
        );
        self.say(Diagnostic::error(found.span, message).with_help(help));
    }

    /// The first of several shapes that a value can have; words come before measurements where it begins with a letter.
    fn either(
        &mut self,
        path: &str,
        shape: &'static Shape,
        shapes: &'static [Shape],
        found: &Found<'a>,
    ) -> Option<Node> {
        let chosen = shapes.iter().find(|one| match (one, found.value) {
            (Shape::Word(_), DeValue::String(text)) => text.trim_start().starts_with(char::is_alphabetic),
            (Shape::Measure { .. } | Shape::Text, DeValue::String(_))
            | (Shape::List { .. }, DeValue::Array(_))
            | (Shape::Table(_), DeValue::Table(_))
            | (Shape::Flag, DeValue::Boolean(_))
            | (Shape::Number { .. }, DeValue::Integer(_) | DeValue::Float(_))
            | (
                Shape::Measure {
                    quantity: Quantity::Length,
                    ..
                },
                DeValue::Integer(_) | DeValue::Float(_),
            )
            | (Shape::Count { .. }, DeValue::Integer(_)) => true,
            _ => false,
        });
        match chosen {
            Some(Shape::Word(words)) => {
                let DeValue::String(text) = found.value else {
                    return None;
                };
                let others = shapes.iter().filter(|one| !matches!(one, Shape::Word(_)));
                let others: String = others
                    .map(|one| match one.bounds().as_str() {
                        "" => format!(", or {}", one.name()),
                        bounds => format!(", or {}, {bounds}", one.name()),
                    })
                    .collect();
                let value = self.word(path, words, text, found.span, &others)?;
                Some(Node {
                    span: found.span,
                    value,
                })
            }
            Some(chosen) => self.value(path, chosen, found),
            None => {
                self.wrong_type(path, shape, found);
                None
            }
        }
    }

    /// A measurement in quotes.
    fn measure(
        &mut self,
        path: &str,
        quantity: Quantity,
        bounds: (i64, i64),
        text: &str,
        span: Span,
    ) -> Option<Value> {
        let rules = Rules {
            negative: bounds.0 < 0,
            declared: self.declared,
        };
        let measured = match parse(quantity, text, rules) {
            Ok(measured) => measured,
            Err(error) => {
                let raw = self.raw(span);
                let (from, to) = (in_raw(raw, error.span.start), in_raw(raw, error.span.end));
                let mut help = error.help();
                let held = (in_unit(quantity, bounds.0), in_unit(quantity, bounds.1));
                if error.fault == Fault::TooLarge {
                    // The bounds are narrower than what could be held.
                    let (side, bound) = side(text.trim_start().starts_with(['-', '−']), &held.0, &held.1);
                    let at = Span::new(from, to).shifted(span.start);
                    let message = format!("`{path}` is {}, but at {side} {bound} makes sense", text.trim());
                    let help = format!("write {} to {}", held.0, held.1);
                    self.say(Diagnostic::error(at, message).with_help(help));
                    return None;
                }
                if error.fault == Fault::TooManyDigits {
                    help.push_str(&format!("; from {} to {}", held.0, held.1));
                }
                if error.fault == Fault::MissingUnit && quantity == Quantity::Length {
                    help.push_str(DECLARE);
                }
                let at = Span::new(from, to).shifted(span.start);
                self.say(Diagnostic::error(at, format!("`{path}`: {error}")).with_help(help));
                return None;
            }
        };
        if measured.rounded && quantity == Quantity::Length && !is_on_a_tape(text) {
            self.note_rounding(text, measured.value, span);
        }
        self.bounded(path, measured.value, bounds, span, |value| {
            in_unit(quantity, value)
        })
    }

    /// A number without quotes where a length is wanted: only with a declared unit.
    fn bare_length(&mut self, path: &str, bounds: (i64, i64), found: &Found<'_>) -> Option<Value> {
        let plain = |raw: &str| !raw.contains(char::is_alphabetic);
        if matches!(found.value, DeValue::Float(_)) && !plain(self.raw(found.span)) {
            let message = format!("`{path}`: {} is no length", found.name());
            let (min, max) = bounds;
            let help = format!(
                "write all its digits, and a unit behind them: {} to {}",
                in_unit(Quantity::Length, min),
                in_unit(Quantity::Length, max)
            );
            self.say(Diagnostic::error(found.span, message).with_help(help));
            return None;
        }
        let Some(unit) = self.declared else {
            let message = format!("`{path}`: a number without a unit");
            let number = found.name();
            let help = format!("write \"{number} mm\", \"{number} in\" or another unit{DECLARE}");
            self.say(Diagnostic::error(found.span, message).with_help(help));
            return None;
        };
        let text = self.raw(found.span).replace('_', "");
        self.measure(
            path,
            Quantity::Length,
            bounds,
            &with_unit(&text, unit),
            found.span,
        )
    }

    fn number(&mut self, path: &str, bounds: (i64, i64), found: &Found<'_>) -> Option<Value> {
        let number: f64 = self.raw(found.span).replace('_', "").parse().unwrap_or(f64::NAN);
        let scaled = (number * 1_000.0).round();
        if !scaled.is_finite() || scaled.abs() > 1e15 {
            let message = format!("`{path}`: {} is no number that can be used", found.name());
            self.say(Diagnostic::error(found.span, message).with_help(format!(
                "write a decimal number from {} to {}",
                thousandths(bounds.0),
                thousandths(bounds.1)
            )));
            return None;
        }
        if scaled == 0.0 && number != 0.0 {
            let message = format!(
                "`{path}` is {}, and less than a thousandth counts as nothing",
                found.name()
            );
            let help = format!("write {} or more, or 0", thousandths(1));
            self.say(Diagnostic::error(found.span, message).with_help(help));
            return None;
        }
        // Exact: a whole number below 2^53.
        self.bounded(path, scaled as i64, bounds, found.span, thousandths)
    }

    fn count(&mut self, path: &str, bounds: (i64, i64), found: &Found<'_>) -> Option<Value> {
        let DeValue::Integer(number) = found.value else {
            return None;
        };
        let value = i64::from_str_radix(number.as_str(), number.radix());
        let beyond = if number.as_str().starts_with('-') {
            i64::MIN
        } else {
            i64::MAX
        };
        let written = found.name();
        self.bounded(path, value.unwrap_or(beyond), bounds, found.span, |shown| {
            if shown == beyond {
                written.clone()
            } else {
                shown.to_string()
            }
        })
    }

    /// A number within its bounds.
    fn bounded(
        &mut self,
        path: &str,
        value: i64,
        (min, max): (i64, i64),
        span: Span,
        print: impl Fn(i64) -> String,
    ) -> Option<Value> {
        if (min..=max).contains(&value) {
            return Some(Value::Whole(value));
        }
        let (side, bound) = side(value < min, min, max);
        let message = format!(
            "`{path}` is {}, but at {side} {} makes sense",
            print(value),
            print(bound)
        );
        let help = format!("write {} to {}", print(min), print(max));
        self.say(Diagnostic::error(span, message).with_help(help));
        None
    }

    /// One of some words; `others` is what it can be besides.
    fn word(
        &mut self,
        path: &str,
        words: &'static [&'static str],
        text: &str,
        span: Span,
        others: &str,
    ) -> Option<Value> {
        if let Some(word) = words.iter().find(|word| **word == text) {
            return Some(Value::Word(word));
        }
        let shown: String = text.chars().take(40).collect();
        let help = match nearest(text, words.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"? it can be {}{others}", list_of(words)),
            None => format!("write {}{others}", list_of(words)),
        };
        self.say(Diagnostic::error(span, format!("`{path}` cannot be \"{shown}\"")).with_help(help));
        None
    }

    fn list_size(&mut self, path: &str, (min, max): (usize, usize), len: usize, span: Span) -> bool {
        if (min..=max).contains(&len) {
            return true;
        }
        let wanted = if min == max {
            format!("{max}")
        } else {
            format!("{min} to {max}")
        };
        let message = format!("`{path}` has {len} {}", if len == 1 { "item" } else { "items" });
        self.say(Diagnostic::error(span, message).with_help(format!("write {wanted} of them")));
        false
    }
}

/// Which of two bounds is passed, and its word.
fn side<T>(below: bool, least: T, most: T) -> (&'static str, T) {
    if below { ("least", least) } else { ("most", most) }
}

/// Put behind the help for a missing unit of length.
const DECLARE: &str = "; bare numbers need a line such as unit = \"mm\" at the top of the file";

/// A number with the unit its file declares.
fn with_unit(number: &str, unit: LengthUnit) -> String {
    format!("{number} {}", unit.name())
}

/// The unit to name first.
fn first_unit(quantity: Quantity) -> &'static str {
    quantity.unit_words().split([',', ' ']).next().unwrap_or("")
}
/// Longest name, in letters: a folder may be called by it, in whatever script, and a number behind it.
const NAME_MAX: usize = 60;

/// Whether a key says what something is called.
fn is_name(path: &str) -> bool {
    path.rsplit('.').next() == Some("name")
}

/// Whether a character steers what prints it, a line break or a turn of the writing direction (Unicode Bidirectional
/// Algorithm, UAX 9, table 1; from memory), so that a name could pass for something else.
fn steers(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{2028}' | '\u{2029}')
}
