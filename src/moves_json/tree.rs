//! JSON whose every part knows where it stands in the text.

use std::borrow::Cow;
use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;

use crate::diagnostic::{Diagnostic, Span};

/// A value, as it is written.
#[derive(Clone, Copy)]
pub(super) struct Node<'a> {
    text: &'a str,
    raw: &'a RawValue,
}

/// A field of an object.
pub(super) struct Entry<'a> {
    pub(super) key: Cow<'a, str>,
    pub(super) key_span: Span,
    pub(super) value: Node<'a>,
}

/// What kind of value it is, by its first character.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Object,
    List,
    Text,
    Number,
    Truth,
    Null,
}

impl Kind {
    /// With its article, for messages.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Object => "an object",
            Self::List => "a list",
            Self::Text => "a text",
            Self::Number => "a number",
            Self::Truth => "a truth value",
            Self::Null => "null",
        }
    }
}

impl<'a> Node<'a> {
    /// The whole text as one value.
    ///
    /// # Errors
    /// Where it is not JSON, the place where that shows.
    pub(super) fn parse(text: &'a str) -> Result<Self, Box<Diagnostic>> {
        match serde_json::from_str::<&RawValue>(text) {
            Ok(raw) => Ok(Self { text, raw }),
            Err(error) => Err(Box::new(not_json(text, &error))),
        }
    }

    /// Where it stands.
    pub(super) fn span(self) -> Span {
        let start = offset_in(self.text, self.raw.get());
        Span::new(start, start + self.raw.get().len())
    }

    /// As it is written.
    pub(super) fn written(self) -> &'a str {
        self.raw.get()
    }

    pub(super) fn kind(self) -> Kind {
        match self.raw.get().as_bytes().first() {
            Some(b'{') => Kind::Object,
            Some(b'[') => Kind::List,
            Some(b'"') => Kind::Text,
            Some(b't' | b'f') => Kind::Truth,
            Some(b'n') => Kind::Null,
            _ => Kind::Number,
        }
    }

    /// The fields of an object, in the order of the text, repeated ones too. None for anything else.
    pub(super) fn entries(self) -> Option<Vec<Entry<'a>>> {
        let Entries(pairs) = serde_json::from_str(self.raw.get()).ok()?;
        let entry = |(Key(key), raw): (Key<'a>, &'a RawValue)| {
            let value = Node { text: self.text, raw };
            let key_span = match &key {
                // Between the quotes; with them it is one more on each side.
                Cow::Borrowed(key) => {
                    let start = offset_in(self.text, key);
                    Span::new(start - 1, start + key.len() + 1)
                }
                Cow::Owned(_) => value.span(),
            };
            Entry { key, key_span, value }
        };
        Some(pairs.into_iter().map(entry).collect())
    }

    /// The values of a list. None for anything else.
    pub(super) fn items(self) -> Option<Vec<Self>> {
        let Items(raws) = serde_json::from_str(self.raw.get()).ok()?;
        Some(
            raws.into_iter()
                .map(|raw| Self { text: self.text, raw })
                .collect(),
        )
    }

    /// A text, its escapes resolved. None for anything else.
    pub(super) fn text(self) -> Option<Cow<'a, str>> {
        serde_json::from_str::<Key<'a>>(self.raw.get())
            .ok()
            .map(|Key(text)| text)
    }
}

/// Where a part of a text begins in it.
fn offset_in(text: &str, part: &str) -> usize {
    part.as_ptr().addr() - text.as_ptr().addr()
}

fn not_json(text: &str, error: &serde_json::Error) -> Diagnostic {
    let line_start = match error.line() {
        0 | 1 => 0,
        line => text
            .match_indices('\n')
            .nth(line - 2)
            .map_or(text.len(), |(newline, _)| newline + 1),
    };
    let offset = if error.is_eof() {
        text.len()
    } else {
        (line_start + error.column().saturating_sub(1)).min(text.len())
    };
    let told = error.to_string();
    let why = told.split(" at line ").next().unwrap_or_default();
    let span = match text.get(offset..).and_then(|rest| rest.chars().next()) {
        Some(found) => Span::new(offset, offset + found.len_utf8()),
        None => Span::at(offset),
    };
    match why {
        // A word without quotes: a first letter that true, false and null have is passed over before it shows.
        "expected ident" | "expected value" => {
            let letters = |byte: &u8| byte.is_ascii_alphabetic();
            let before = text.as_bytes()[..offset]
                .iter()
                .rev()
                .take_while(|byte| letters(byte))
                .count();
            let after = text.as_bytes()[offset..]
                .iter()
                .take_while(|byte| letters(byte))
                .count();
            let end = if before + after > 0 {
                offset + after
            } else {
                span.end
            };
            let word = Span::new(offset - before, end);
            Diagnostic::error(word, "this is not JSON: a value should stand here")
                .with_help("a text stands in double quotes; a number has digits on both sides of its point")
        }
        why => Diagnostic::error(
            span,
            format!("this is not JSON: {}", why.replace("EOF", "the end of the text")),
        ),
    }
}

/// A text, borrowed where it has no escapes.
struct Key<'a>(Cow<'a, str>);

impl<'de> Deserialize<'de> for Key<'de> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Text;
        impl<'de> Visitor<'de> for Text {
            type Value = Key<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text")
            }
            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Self::Value, E> {
                Ok(Key(Cow::Borrowed(text)))
            }
            fn visit_str<E>(self, text: &str) -> Result<Self::Value, E> {
                Ok(Key(Cow::Owned(text.to_owned())))
            }
        }
        from.deserialize_str(Text)
    }
}

/// The fields of an object.
struct Entries<'a>(Vec<(Key<'a>, &'a RawValue)>);

impl<'de> Deserialize<'de> for Entries<'de> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Object;
        impl<'de> Visitor<'de> for Object {
            type Value = Entries<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Entries(pairs))
            }
        }
        from.deserialize_map(Object)
    }
}

/// The values of a list.
struct Items<'a>(Vec<&'a RawValue>);

impl<'de> Deserialize<'de> for Items<'de> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct List;
        impl<'de> Visitor<'de> for List {
            type Value = Items<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Self::Value, A::Error> {
                let mut raws = Vec::new();
                while let Some(raw) = seq.next_element()? {
                    raws.push(raw);
                }
                Ok(Items(raws))
            }
        }
        from.deserialize_seq(List)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_know_where_they_stand() {
        let text = " {\"a\" : [1,\n true ], \"\\u0062\": {}}";
        let Ok(root) = Node::parse(text) else {
            panic!("JSON")
        };
        let entries = root.entries().unwrap();
        let at = |span: Span| &text[span.start..span.end];
        assert_eq!(at(root.span()), text.trim());
        assert_eq!(at(entries[0].key_span), "\"a\"");
        assert_eq!(at(entries[0].value.span()), "[1,\n true ]");
        let items = entries[0].value.items().unwrap();
        assert_eq!(at(items[1].span()), "true");
        assert_eq!(entries[1].key, "b");
        assert_eq!(
            at(entries[1].key_span),
            "{}",
            "an escaped key is shown by its value"
        );
        assert!(root.items().is_none() && items[0].entries().is_none() && items[0].text().is_none());
    }

    #[test]
    fn what_is_not_json_is_told_with_its_place() {
        for (text, span, message) in [
            (
                "",
                0..0,
                "this is not JSON: the end of the text while parsing a value",
            ),
            (
                "[1,\n 2",
                6..6,
                "this is not JSON: the end of the text while parsing a list",
            ),
            ("{\"a\": 1,\n\"b\" 2}", 13..14, "this is not JSON: expected `:`"),
            ("[1] 2", 4..5, "this is not JSON: trailing characters"),
            ("[nul]", 1..4, "this is not JSON: a value should stand here"),
            ("[\"a\", up]", 6..8, "this is not JSON: a value should stand here"),
            ("[ö]", 1..3, "this is not JSON: a value should stand here"),
        ] {
            let Err(found) = Node::parse(text) else {
                panic!("{text:?} is read")
            };
            assert_eq!(
                (found.span, found.message.as_str()),
                (span.into(), message),
                "{text:?}"
            );
        }
    }
}
