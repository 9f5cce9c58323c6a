//! SVG as text: numbers, escapes, paths, lettering.

use std::fmt::Write;

use super::texture;

/// Units across every drawing: the width of its view box.
pub(super) const WIDE: f64 = 1_000.0;

/// A number to a tenth, without zeros that say nothing.
pub(super) fn num(value: f64) -> String {
    let tenths = (value * 10.0).round().clamp(-1e9, 1e9) as i64;
    let (sign, whole, rest) = (
        if tenths < 0 { "-" } else { "" },
        tenths.abs() / 10,
        tenths.abs() % 10,
    );
    if rest == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{rest}")
    }
}

/// Text as it may stand between tags and in attributes.
pub(super) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            // What no XML may hold, not even escaped.
            other if other.is_control() => safe.push('\u{fffd}'),
            other => safe.push(other),
        }
    }
    safe
}

/// A place in a drawing: to the right, down.
pub(super) type Place = [f64; 2];

/// The `d` of a path, and the rings that it closes.
#[derive(Clone, Debug, Default)]
pub(super) struct Path {
    drawn: String,
    rings: Vec<Vec<Place>>,
}

impl Path {
    pub(super) fn new() -> Self {
        Self::default()
    }

    /// A line between two places; level and upright ones in few bytes.
    pub(super) fn line(&mut self, [x0, y0]: Place, [x1, y1]: Place) -> &mut Self {
        let (from, to) = ((num(x0), num(y0)), (num(x1), num(y1)));
        let _ = write!(self.drawn, "M{},{}", from.0, from.1);
        let _ = if from.1 == to.1 {
            write!(self.drawn, "H{}", to.0)
        } else if from.0 == to.0 {
            write!(self.drawn, "V{}", to.1)
        } else {
            write!(self.drawn, "L{},{}", to.0, to.1)
        };
        self
    }

    /// A line of a texture, in whole units and fewest bytes: there are many.
    pub(super) fn stroke(&mut self, from: Place, to: Place) -> &mut Self {
        let [[x0, y0], [x1, y1]] = [from, to].map(|place| place.map(f64::round));
        let _ = match y0 == y1 {
            true => write!(self.drawn, "M{},{}h{}", num(x0), num(y0), num(x1 - x0)),
            false => write!(
                self.drawn,
                "M{},{}l{},{}",
                num(x0),
                num(y0),
                num(x1 - x0),
                num(y1 - y0)
            ),
        };
        self
    }

    /// A row of places, joined.
    pub(super) fn open(&mut self, places: impl IntoIterator<Item = Place>) -> &mut Self {
        let mut letter = 'M';
        for [x, y] in places {
            let _ = write!(self.drawn, "{letter}{},{}", num(x), num(y));
            letter = 'L';
        }
        self
    }

    /// The same, closed.
    pub(super) fn closed(&mut self, places: impl IntoIterator<Item = Place>) -> &mut Self {
        let ring: Vec<Place> = places.into_iter().collect();
        if !ring.is_empty() {
            self.open(ring.iter().copied());
            self.drawn.push('Z');
            self.rings.push(ring);
        }
        self
    }

    /// A box between two corners.
    pub(super) fn rect(&mut self, [x0, y0]: Place, [x1, y1]: Place) -> &mut Self {
        self.rings.push(vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]]);
        let _ = write!(
            self.drawn,
            "M{},{}H{}V{}H{}Z",
            num(x0),
            num(y0),
            num(x1),
            num(y1),
            num(x0)
        );
        self
    }

    /// The text of the `d`.
    pub(super) fn text(&self) -> &str {
        &self.drawn
    }

    /// The whole element, with the texture that its class fills it with; nothing where the path is empty.
    pub(super) fn element(&self, class: &str) -> String {
        if self.drawn.is_empty() {
            return String::new();
        }
        format!(
            r#"{}<path class="{class}" d="{}"/>"#,
            texture::within(class, &self.rings),
            self.drawn
        )
    }
}

/// How lettering is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    /// It begins at its place.
    Start,
    /// It is centred on it.
    Middle,
    /// It ends there.
    End,
}

impl Anchor {
    const fn class(self) -> &'static str {
        match self {
            Self::Start => "",
            Self::Middle => " mid",
            Self::End => " end",
        }
    }
}

/// A line of lettering.
pub(super) fn text(class: &str, anchor: Anchor, [x, y]: Place, words: &str) -> String {
    format!(
        r#"<text class="{class}{}" x="{}" y="{}">{}</text>"#,
        anchor.class(),
        num(x),
        num(y),
        escape(words)
    )
}

/// A filled arrow head: its point, and the way it points, of length one.
pub(super) fn head([x, y]: Place, [dx, dy]: Place, length: f64) -> Vec<Place> {
    let half = length * 0.36;
    let back = [x - dx * length, y - dy * length];
    vec![
        [x, y],
        [back[0] - dy * half, back[1] + dx * half],
        [back[0] + dy * half, back[1] - dx * half],
    ]
}

/// The size of `tiny` lettering: 7.5 pt on paper in a drawing 94.5 mm wide, two side by side on A4.
pub(super) const TINY: f64 = 28.0;

/// How wide lettering of a size runs, about.
pub(super) fn run_of(words: &str, size: f64) -> f64 {
    words.chars().map(|_| 0.56 * size).sum()
}

/// A drawing that stands alone, with its own ink; `height` in the units of [`WIDE`].
pub(super) fn document(title: &str, wide: f64, height: f64, body: &str) -> String {
    let size = format!("{} {}", num(wide), num(height));
    let title = escape(title);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size}\" role=\"img\" aria-label=\"{title}\">\
         <title>{title}</title><style>{}</style>\
         <rect class=\"paper\" width=\"{}\" height=\"{}\"/>{body}</svg>\n",
        with_plain_inks(INK.trim()),
        num(wide),
        num(height),
    )
}

/// The same style for readers that know no variables: a plain ink in front of each, which others pass over.
fn with_plain_inks(style: &str) -> String {
    let mut style = style.to_owned();
    for (name, plain) in [
        ("paper", "#fbfaf4"),
        ("ink", "#191712"),
        ("soft", "#6b665a"),
        ("accent", "#b8320a"),
    ] {
        for property in ["fill", "stroke"] {
            let variable = format!("{property}:var(--{name})");
            style = style.replace(&variable, &format!("{property}:{plain};{variable}"));
        }
    }
    style
}

/// A drawing inside a page, whose ink the page brings.
pub(super) fn inline(class: &str, label: &str, wide: f64, height: f64, body: &str) -> String {
    format!(
        r#"<svg class="{class}" viewBox="0 0 {} {}" role="img" aria-label="{}">{body}</svg>"#,
        num(wide),
        num(height),
        escape(label)
    )
}

/// Colours and line weights of every drawing.
pub(super) const INK: &str = include_str!("ink.css");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (0.0, "0"),
            (-0.04, "0"),
            (12.04, "12"),
            (-3.25, "-3.3"),
            (0.1, "0.1"),
        ] {
            assert_eq!(num(value), text);
        }
    }

    #[test]
    fn every_variable_ink_has_a_plain_one_before_it() {
        assert_eq!(
            with_plain_inks(".a{fill:var(--ink)}"),
            ".a{fill:#191712;fill:var(--ink)}"
        );
        let style = with_plain_inks(INK);
        for ink in [
            "--paper:#fbfaf4",
            "--ink:#191712",
            "--soft:#6b665a",
            "--accent:#b8320a",
        ] {
            assert!(style.contains(ink), "{ink}");
        }
        let plain = style.matches(":#").count() - 12;
        assert_eq!(style.matches("var(").count(), plain, "each once");
    }

    #[test]
    fn names_cannot_break_out() {
        assert_eq!(
            escape("<a b=\"c\">&\u{1}"),
            "&lt;a b=&quot;c&quot;&gt;&amp;\u{fffd}"
        );
    }

    #[test]
    fn paths_take_few_bytes() {
        let mut path = Path::new();
        path.line([0.0, 1.0], [5.0, 1.04]).line([2.0, 2.0], [2.0, 9.5]);
        path.closed([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]);
        assert_eq!(path.text(), "M0,1H5M2,2V9.5M0,0L1,0L0,1Z");
        assert_eq!(Path::new().closed([]).element("x"), "");
    }
}
