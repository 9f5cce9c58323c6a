//! Margins plotted against columns taken: one panel, drawn from its own foot upwards.

use libm::log;

use super::svg::{Anchor, Path, Place, text};

/// The scale is drawn from here to there, in equal steps for equal ratios.
const SCALE: [f64; 2] = [0.5, 20.0];
/// A figure of the scale is left out where it would run into what is demanded.
const APART: f64 = 1.8;
/// Half the width of a mark.
const HALF: f64 = 7.0;

/// How the margins of a row of columns are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    /// Filled squares on a line.
    Filled,
    /// Hollow diamonds on a broken line.
    Hollow,
}

/// Where a panel lies, and for how many columns it has room.
#[derive(Clone, Copy, Debug)]
pub(super) struct Panel {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) foot: f64,
    pub(super) height: f64,
    pub(super) count: usize,
}

impl Panel {
    /// Room for one column.
    pub(super) fn step(&self) -> f64 {
        (self.right - self.left) / self.count.max(1) as f64
    }

    pub(super) fn across(&self, column: usize) -> f64 {
        self.left + self.step() * (column as f64 + 0.5)
    }

    /// How far beside the middle of its column a mark stands, so that two do not hide one another.
    pub(super) fn beside(&self) -> f64 {
        (HALF * 1.2).min(self.step() * 0.15)
    }

    /// The height of a margin in the drawing; what lies over the scale stands at its edge.
    pub(super) fn up(&self, margin: f64) -> f64 {
        let [low, most] = SCALE;
        self.foot - self.height * log(margin.clamp(low, most) / low) / log(most / low)
    }

    /// The lines behind it, its scale, and what is demanded, hatched below.
    pub(super) fn ground(&self, wanted: f64, figures: bool) -> String {
        let (mut faint, mut refused) = (Path::new(), Path::new());
        refused.rect([self.left, self.up(wanted)], [self.right, self.foot]);
        let mut drawn = String::new();
        for step in [1.0, 2.0, 5.0, 10.0, 20.0] {
            let y = self.up(step);
            faint.line([self.left, y], [self.right, y]);
            let told = figures && [2.0, 5.0, 20.0].contains(&step);
            if told && !(wanted / APART..=wanted * APART).contains(&step) {
                drawn.push_str(&self.on_scale("tiny soft", y, &format!("{step:.0}")));
            }
        }
        let (mut base, mut line) = (Path::new(), Path::new());
        base.line([self.left, self.foot], [self.right, self.foot]);
        let y = self.up(wanted);
        line.line([self.left - 6.0, y], [self.right, y]);
        if figures {
            drawn.push_str(&self.on_scale("tiny number", y, &limit(wanted)));
        }
        refused.element("ground")
            + &faint.element("fine faint-line")
            + &base.element("thin")
            + &drawn
            + &line.element("demand")
    }

    fn on_scale(&self, class: &str, y: f64, words: &str) -> String {
        text(class, Anchor::End, [self.left - 10.0, y + 7.0], words)
    }

    /// A row of margins; where nothing drives the wood there is no mark, and the line is broken.
    /// All stand so far beside the middle of their columns.
    pub(super) fn row(&self, margins: &[f64], mark: Mark, beside: f64) -> String {
        let (mut line, mut marks) = (Path::new(), Path::new());
        let mut run: Vec<Place> = Vec::new();
        for (column, margin) in margins.iter().enumerate() {
            let place = [self.across(column) + beside, self.up(*margin)];
            if margin.is_finite() {
                run.push(place);
                self.mark(&mut marks, place, mark);
            } else {
                line.open(run.drain(..));
            }
        }
        line.open(run);
        match mark {
            Mark::Filled => line.element("thin") + &marks.element("solid"),
            Mark::Hollow => line.element("ghost") + &marks.element("box"),
        }
    }

    /// One mark, no wider than its column.
    pub(super) fn mark(&self, path: &mut Path, [x, y]: Place, mark: Mark) {
        let half = HALF.min(self.step() * 0.35);
        match mark {
            Mark::Filled => path.rect([x - half, y - half], [x + half, y + half]),
            Mark::Hollow => {
                let far = half * 1.3;
                path.closed([[x - far, y], [x, y - far], [x + far, y], [x, y + far]])
            }
        };
    }
}

/// What stands at the line of what is demanded, without zeros that say nothing: `limit 1.2`.
pub(super) fn limit(wanted: f64) -> String {
    let factor = format!("{wanted:.3}");
    format!("limit {}", factor.trim_end_matches('0').trim_end_matches('.'))
}

/// Words broken into lines of about so many letters.
pub(super) fn broken(words: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    const PANEL: Panel = Panel {
        left: 100.0,
        right: 500.0,
        foot: 200.0,
        height: 100.0,
        count: 4,
    };

    #[test]
    fn equal_ratios_are_equal_steps() {
        assert_eq!([PANEL.up(0.5), PANEL.up(20.0)], [200.0, 100.0]);
        assert_eq!([PANEL.up(0.1), PANEL.up(99.0)], [200.0, 100.0]);
        let (low, high) = (PANEL.up(1.0) - PANEL.up(2.0), PANEL.up(5.0) - PANEL.up(10.0));
        assert!((low - high).abs() < 1e-9, "{low} {high}");
        assert_eq!([PANEL.across(0), PANEL.across(3)], [150.0, 450.0]);
    }

    #[test]
    fn nothing_that_drives_breaks_the_line() {
        let drawn = PANEL.row(&[2.0, f64::INFINITY, 2.0, 3.0], Mark::Filled, 0.0);
        assert_eq!(drawn.matches('Z').count(), 3, "three marks: {drawn}");
        let line = drawn.split('"').nth(3).unwrap();
        assert_eq!(line.matches('M').count(), 2, "{line}");
        assert_eq!(line.matches('L').count(), 1, "{line}");
    }

    #[test]
    fn lines_are_broken_between_words() {
        assert_eq!(broken("one two three", 7), ["one two", "three"]);
        assert_eq!(broken("unbreakable", 3), ["unbreakable"]);
    }
}
