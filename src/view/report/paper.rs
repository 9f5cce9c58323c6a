//! How many pages the report takes on A4 and on Letter paper.
//!
//! The setting sheet has a page of its own; the steps follow in three columns, where none is broken; the overview begins on a
//! page of its own. Heights in millimetres and letters in a line are what was seen of printed examples.

/// A size of paper.
#[derive(Clone, Copy, Debug)]
struct Paper {
    /// Height of a page within its margins.
    high: f64,
    /// How many times as wide as on A4 everything is.
    wide: f64,
}

const A4: Paper = Paper {
    high: 278.0,
    wide: 1.0,
};
const LETTER: Paper = Paper {
    high: 263.0,
    wide: 197.9 / 192.0,
};
/// Width of a drawing of a step, of one in the overview, and of the units that both are drawn in.
const STEP: f64 = 38.0;
/// Room over a drawing of a step, for the words of its stroke.
const OVER: f64 = 2.0;
const HALF: f64 = 94.6;
const UNITS: f64 = 1000.0;
/// From one line to the next.
const LINE: f64 = 3.65;
/// The same in steps, where lines stand closer, and in findings and lines to tick.
const CLOSE: f64 = 3.45;
const WIDER: f64 = 3.6;
/// The sentence of a step, in larger letters.
const SAID: f64 = 3.65;
/// How many columns the steps stand in.
const COLUMNS: usize = 3;

/// How many pages what stands before the steps (growth stress, and how they are read), steps and overview take on A4 and on
/// Letter, with the setting sheet.
pub(super) fn pages(before: &str, steps: &[String], overview: &str) -> [usize; 2] {
    [A4, LETTER].map(|paper| {
        1 + paper.step_pages(paper.before_height(before), steps)
            + whole(paper.overview_height(overview) / paper.high)
    })
}

impl Paper {
    /// The pages of the steps, of which so much of the first is taken.
    fn step_pages(self, taken: f64, steps: &[String]) -> usize {
        let (mut columns, mut filled) = (1, 0.0);
        for step in steps {
            let high = self.step_height(step);
            let room = if columns <= COLUMNS {
                self.high - taken
            } else {
                self.high
            };
            if filled > 0.0 && filled + high > room {
                columns += 1;
                filled = 0.0;
            }
            filled += high;
        }
        usize::div_ceil(columns, COLUMNS)
    }

    /// How many letters a line holds that holds so many on A4.
    fn letters(self, a4: f64) -> usize {
        (a4 * self.wide) as usize
    }

    /// Care for growth stress in three columns, and how the steps are read: signs in four, a sentence over the whole width.
    fn before_height(self, before: &str) -> f64 {
        let (care, reading) = match before.split_once("<section class=\"reading\"") {
            Some((care, reading)) => (care, reading),
            None => (before, ""),
        };
        let texts = told(care, "<p").chain(told(care, "<li"));
        let stress: f64 = texts.map(|(_, text)| lines(&text, self.letters(41.0))).sum();
        let stress = match stress > 0.0 {
            true => 24.0 + stress * WIDER / 2.6,
            false => 0.0,
        };
        let signs = told(reading, "<span").map(|(_, text)| lines(&text, self.letters(26.0)) * 3.1 + 0.6);
        let signs: Vec<f64> = signs.collect();
        let signs = signs.chunks(4).map(|row| row.iter().copied().fold(4.4, f64::max));
        let faces = told(reading, "<p").map(|(_, text)| lines(&text, self.letters(150.0)) * WIDER + 2.0);
        let reading = signs.sum::<f64>() + faces.sum::<f64>();
        stress + if reading > 0.0 { 9.0 + reading } else { 0.0 }
    }

    /// One step: its drawing where it cuts, its sentences, its bars, its lines to tick.
    fn step_height(self, step: &str) -> f64 {
        let mut high = 2.25;
        if step.contains("class=\"step cut\"") {
            high += OVER + heights(step, "frame").next().unwrap_or(0.0) * STEP * self.wide / UNITS;
        }
        for (class, text) in told(step, "<p") {
            high += match class.as_str() {
                "lead" => lines(&text, self.letters(48.0)) * CLOSE + 0.8,
                "which soft" => 3.18,
                "say" => lines(&text, self.letters(39.0)) * SAID + 0.8,
                "feed slow" => lines(&text, self.letters(43.0)) * CLOSE + 0.8,
                class if class.starts_with("finding") => lines(&text, self.letters(46.0)) * WIDER + 1.2,
                _ => lines(&text, self.letters(48.0)) * CLOSE + 0.8,
            };
        }
        if step.contains("class=\"held\"") {
            high += 5.6;
        }
        let ticks =
            told(step, "/><span").map(|(_, text)| (lines(&text, self.letters(43.0)) * WIDER).max(3.8));
        high + ticks.sum::<f64>()
    }

    fn overview_height(self, overview: &str) -> f64 {
        let high = |class| heights(overview, class).map(|high| high * HALF * self.wide / UNITS);
        let panels: Vec<f64> = high("panel").collect();
        let panels = panels
            .chunks(2)
            .map(|pair| pair.iter().copied().fold(2.5, f64::max));
        let pieces = told(overview, "<li").map(|(_, text)| lines(&text, self.letters(24.0)) * WIDER / 2.0);
        let beside = high("side").sum::<f64>() + high("timeline").sum::<f64>() + pieces.sum::<f64>() + 24.0;
        // The first paragraph runs over the whole width; those of the plots stand in half of it.
        let mut texts = told(overview, "<p");
        let first = texts
            .next()
            .map_or(0.0, |(_, text)| lines(&text, self.letters(145.0)) * 3.8);
        let plots: f64 = texts
            .map(|(_, text)| lines(&text, self.letters(66.0)) * LINE)
            .sum();
        let rows = high("margins").sum::<f64>() + plots;
        20.0 + first + panels.sum::<f64>() + beside / 2.0 + rows / 2.0
    }
}

/// The heights of the drawings of a class, in their units.
fn heights<'t>(page: &'t str, class: &'t str) -> impl Iterator<Item = f64> + 't {
    let drawings = page.split("<svg class=\"").skip(1);
    drawings.filter_map(move |drawing| {
        let (_, size) = drawing.strip_prefix(class)?.split_once("viewBox=\"0 0 1000 ")?;
        size.split('"').next()?.parse().ok()
    })
}

/// Class and text of every element that begins so.
fn told<'t>(page: &'t str, begins: &'t str) -> impl Iterator<Item = (String, String)> + 't {
    page.split(begins).skip(1).filter_map(|rest| {
        let (head, rest) = rest.split_once('>')?;
        if !(head.is_empty() || head.starts_with(' ')) {
            return None;
        }
        let class = head
            .split("class=\"")
            .nth(1)
            .and_then(|class| class.split('"').next());
        let ends = ["</p>", "</li>", "</span>"].into_iter();
        let end = ends.filter_map(|end| rest.find(end)).min()?;
        Some((class.unwrap_or_default().to_owned(), plain(rest.get(..end)?)))
    })
}

/// Text without its marks, each sign that is written by its name as one letter.
fn plain(text: &str) -> String {
    let mut plain = String::new();
    let mut skips = None;
    for letter in text.chars() {
        match (skips, letter) {
            (None, '<') => skips = Some('>'),
            (None, '&') => {
                plain.push('x');
                skips = Some(';');
            }
            (None, letter) => plain.push(letter),
            (Some(end), letter) if letter == end => skips = None,
            (Some(_), _) => {}
        }
    }
    plain
}

/// How many lines of so many letters a text takes.
fn lines(text: &str, letters: usize) -> f64 {
    let (mut lines, mut filled) = (1.0, 0);
    for word in text.split(' ') {
        let run = word.chars().count();
        if filled > 0 && filled + 1 + run > letters {
            lines += 1.0;
            filled = run;
        } else {
            filled += run + usize::from(filled > 0);
        }
    }
    lines
}

/// The next whole number.
fn whole(pages: f64) -> usize {
    (1..100)
        .find(|count| f64::from(*count) >= pages)
        .map_or(100, |count| count as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_measured_without_their_marks() {
        assert_eq!(plain("a &lt; <b>bc</b>"), "a x bc");
        assert_eq!(lines("one two three", 7), 2.0);
        assert_eq!(lines("one two three", 13), 1.0);
        let told: Vec<_> = told("<p class=\"say\">one</p><path d=\"\"/><p>two</p>", "<p").collect();
        let pair = |class: &str, text: &str| (class.to_owned(), text.to_owned());
        assert_eq!(told, [pair("say", "one"), pair("", "two")]);
    }

    /// A step of five lines to stand by is 2.25 + 5 × 3.45 + 0.8 = 20.3 mm high: thirteen fill a column of 278 mm.
    #[test]
    fn steps_fill_columns_and_columns_pages() {
        let line = "x".repeat(48);
        let step = format!("<p class=\"stand\">{}</p>", [line.as_str(); 5].join(" "));
        assert!((A4.step_height(&step) - 20.3).abs() < 1e-9);
        let steps = |count| vec![step.clone(); count];
        assert_eq!(A4.step_pages(0.0, &steps(39)), 1);
        assert_eq!(A4.step_pages(0.0, &steps(40)), 2);
        assert_eq!(A4.step_pages(20.0, &steps(37)), 2, "one less in each column");
    }

    /// A drawing takes 38 mm of 1000 units, and 2 mm for the words over it where it is of a cut.
    #[test]
    fn the_words_over_a_drawing_take_room() {
        let step = |kind| format!("class=\"step {kind}\"<svg class=\"frame\" viewBox=\"0 0 1000 800\">");
        assert!((A4.step_height(&step("cut")) - (2.25 + 2.0 + 30.4)).abs() < 1e-9);
        assert!((A4.step_height(&step("hold")) - 2.25).abs() < 1e-9);
    }
}
