//! Many chords of one section, and sections that tell nothing new.

use bunkside_protocol::{Form, Length, Position};

use super::{Section, share, stretch};
use crate::geometry::{Interval, Roots};

impl Section {
    /// The lying chords at a height and at so many more, each a step higher than the one before: what [`Section::chord`] says
    /// of each.
    pub(crate) fn chords(
        &self,
        from: Position,
        step: Length,
        count: usize,
        each: &mut impl FnMut(Option<Interval>),
    ) {
        let mut up = from.wide() - self.centre_height;
        let mut roots = Roots::new();
        for _ in 0..count {
            let chord = (up.abs() < self.half_height).then(|| {
                let (left, right) = if self.form == Form::Square || up == 0 {
                    self.lying(up)
                } else {
                    let fine = roots.next(self.half_height * self.half_height - up * up);
                    let middle = self.centre_across + share(self.skew, up, self.half_height);
                    let half = stretch(fine, self.half_width, self.half_height);
                    (middle - half, middle + half)
                };
                Interval::new(Position::um(left), Position::um(right))
            });
            let height = self.centre_height + up;
            each(chord.and_then(|chord| self.lying_chord(Position::um(height), chord)));
            up += step.wide();
        }
    }

    /// Whether another section of the same log surely holds all of this one: told only of outlines that are alike and not
    /// turned. Faces leave the same of both.
    pub(crate) fn is_surely_within(&self, other: &Self) -> bool {
        let wide = |number: i64| i128::from(number);
        let [mine, others] =
            [self, other].map(|section| [wide(section.half_width), wide(section.half_height)]);
        let [less, less_high] = [others[0] - mine[0], others[1] - mine[1]];
        let alike = less * others[1] == less_high * others[0] && self.skew == 0 && other.skew == 0;
        let across = wide(self.centre_across - other.centre_across) * others[1];
        let up = wide(self.centre_height - other.centre_height) * others[0];
        let room = less * others[1];
        let round = self.form == Form::Round && other.form == Form::Round;
        round && alike && room >= 0 && across * across + up * up <= room * room
    }

    /// Whether another section lies straight between one before it and this one, all three of the same outline: then it holds
    /// whatever those two hold.
    pub(crate) fn is_straight_past(&self, before: &Self, between: &Self) -> bool {
        let told = before.towards(self, between.travel);
        let near = |a: i64, b: i64| (a - b).abs() <= 1;
        // Of the same outline: the half-diameters in the same proportion.
        let alike = |a: i64, b: i64| {
            let (left, right) = (a * self.half_width, b * before.half_width);
            (left - right).abs() <= self.half_width.max(before.half_width)
        };
        let straight = near(told.centre_across, between.centre_across)
            && near(told.centre_height, between.centre_height)
            && near(told.half_width, between.half_width)
            && near(told.half_height, between.half_height)
            && near(told.skew, between.skew);
        straight && alike(before.half_height, self.half_height) && alike(before.skew, self.skew)
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Form, Length, Position};

    use crate::geometry::Section;

    /// One by one they are what they are in a row.
    #[test]
    fn chords_in_a_row_are_those_at_each_height() {
        let mut dice = crate::testing::Dice::new(23);
        for _ in 0..60 {
            let mut within =
                |from: i64, to: i64| from + i64::try_from(dice.below((to - from) as u64)).unwrap();
            let skew = within(-90_000, 90_000) * within(0, 2);
            let section = Section::from_numbers(
                if within(0, 5) == 0 {
                    Form::Square
                } else {
                    Form::Round
                },
                Position::ZERO,
                [within(-50_000, 50_000), within(100_000, 700_000)],
                [within(1_000, 900_000), within(1_000, 900_000)],
                if skew == 0 { 0 } else { skew },
            );
            let (from, step) = (
                Position::um(within(-40_000, 90_000)),
                Length::um(within(1, 2_000)),
            );
            let mut number = 0;
            section.chords(from, step, 2_000, &mut |chord| {
                assert_eq!(
                    chord,
                    section.chord(Position::um(from.wide() + number * step.wide()))
                );
                number += 1;
            });
            assert_eq!(number, 2_000);
        }
    }
}
