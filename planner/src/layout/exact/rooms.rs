//! The rooms of stretches from both ends of a log.

use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::Um;
use super::row::Full;
use crate::geometry::{Interval, Section, Shape};

/// Most different lengths in one order.
pub(crate) const LENGTHS_MAX: usize = 64;

/// Sections of one stretch: the samples, and both ends.
const SECTIONS_MAX: usize = crate::limits::SAMPLES_MAX + 2;

/// Most sections that are kept in mind because no other lies within them.
const TIGHT_MAX: usize = 4;

/// The heights on the step, from the lowest floor to the top of the wood.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Heights {
    pub(crate) lowest: Position,
    pub(crate) step: Length,
    pub(crate) count: usize,
}

impl Heights {
    /// From the lowest floor up to the top of a log.
    pub(crate) fn of(lowest: Position, top: Position, step: Length) -> Self {
        let steps = (top - lowest).wide().max(0) / step.wide().max(1);
        Self {
            lowest,
            step,
            count: usize::try_from(steps).unwrap_or(0) + 1,
        }
    }

    /// The height so many steps up.
    pub(crate) fn at(&self, steps: usize) -> Position {
        let up = i64::try_from(steps)
            .unwrap_or(i64::MAX / 2)
            .saturating_mul(self.step.wide());
        Position::um(self.lowest.wide().saturating_add(up))
    }
}

/// A log of which rooms are asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Log<'a> {
    pub(crate) shape: &'a Shape,
    /// The part that boards may come from.
    pub(crate) usable: Interval,
    /// Where their faces may lie.
    pub(crate) across: Interval,
}

/// Fills the rooms of one stretch; those of an empty one are as wide as boards may lie.
pub(super) fn stretch_rooms(log: &Log<'_>, stretch: Interval, heights: &Heights, out: &mut [(Um, Um)]) {
    out.fill((log.across.lo.as_um(), log.across.hi.as_um()));
    if !stretch.is_empty() {
        for section in &telling(log.shape, stretch) {
            narrow(section, log.shape.between(), heights, out);
        }
    }
}

/// Fills the rooms of stretches of these lengths, by rising length, from the near end of the usable part and then from the far
/// one; a length that is longer than it has no room, nor has what lies outside `across`.
pub(crate) fn fill(
    log: &Log<'_>,
    lengths: &[Length],
    heights: &Heights,
    out: &mut [(Um, Um)],
) -> Result<(), Full> {
    let Log {
        shape,
        usable,
        across,
    } = *log;
    let count = heights.count;
    let all = out.get_mut(..2 * lengths.len() * count).ok_or(Full)?;
    let (near, far) = all.split_at_mut(lengths.len() * count);
    for (from_far, rooms) in [(false, near), (true, far)] {
        let mut told = Length::ZERO;
        let mut tight: Vec<Section, TIGHT_MAX> = Vec::new();
        for number in 0..lengths.len() {
            let Some(length) = lengths.get(number) else {
                continue;
            };
            let (before, rest) = rooms.split_at_mut(number * count);
            let this = rest.get_mut(..count).ok_or(Full)?;
            if *length > usable.length() {
                this.fill((Um::MAX / 4, Um::MIN / 4));
                continue;
            }
            match number
                .checked_sub(1)
                .and_then(|before_it| before.get(before_it * count..))
            {
                Some(shorter) => this.copy_from_slice(shorter),
                None => this.fill((Um::MIN / 4, Um::MAX / 4)),
            }
            let stretch = if from_far {
                Interval::new(usable.hi - *length, usable.hi - told)
            } else {
                Interval::new(usable.lo + told, usable.lo + *length)
            };
            told = *length;
            for section in &telling(shape, stretch) {
                if tight.iter().any(|other| other.is_surely_within(section)) {
                    continue;
                }
                tight.retain(|other| !section.is_surely_within(other));
                // One that is not kept in mind is only looked at in vain.
                let _ = tight.push(*section);
                narrow(section, shape.between(), heights, this);
            }
            for room in this.iter_mut() {
                *room = (room.0.max(across.lo.as_um()), room.1.min(across.hi.as_um()));
            }
        }
    }
    Ok(())
}

/// The sections of a stretch without those that lie straight between their neighbours.
fn telling(shape: &Shape, stretch: Interval) -> Vec<Section, SECTIONS_MAX> {
    let mut told: Vec<Section, SECTIONS_MAX> = Vec::new();
    for section in shape.within(stretch, false).sections() {
        while let [.., a, b] = told.as_slice()
            && section.is_straight_past(a, b)
        {
            told.pop();
        }
        // As many as a stretch has: there is room.
        let _ = told.push(*section);
    }
    told
}

/// Leaves of each room what a section holds there.
fn narrow(section: &Section, between: Length, heights: &Heights, rooms: &mut [(Um, Um)]) {
    let between = between.as_um();
    let mut all = rooms.iter_mut();
    section.chords(heights.lowest, heights.step, heights.count, &mut |chord| {
        if let Some(room) = all.next() {
            let (lo, hi) = chord.map_or((Um::MAX / 4, Um::MIN / 4), |chord| {
                (chord.lo.as_um() + between, chord.hi.as_um() - between)
            });
            *room = (room.0.max(lo), room.1.min(hi));
        }
    });
}

#[cfg(test)]
pub(super) mod tests {
    use std::vec;

    use bunkside_protocol::{Form, Length, LogRecord, Position, Station};

    use super::*;
    use crate::replay::Setup;
    use crate::testing::{Dice, powered_mill, round_log};

    /// A log of several stations that winds, tapers and is oval or turned, or straight between some of them.
    pub(in crate::layout::exact) fn winding(dice: &mut Dice) -> LogRecord {
        let mut log = round_log(300, 3_600);
        let mut within =
            |from: i64, to: i64| from + i64::try_from(dice.below((to - from + 1) as u64)).unwrap();
        log.form = if within(0, 4) == 0 {
            Form::Square
        } else {
            Form::Round
        };
        log.stations.clear();
        let count = within(2, 7);
        let (oval, turned) = (
            within(-8_000, 8_000) * within(0, 1),
            within(-20_000, 20_000) * within(0, 1),
        );
        let wind = within(0, 15_000) * within(0, 1);
        let first = within(90_000, 140_000);
        for number in 0..count {
            let half = first + number * within(0, 8_000);
            let station = Station {
                travel: Position::um(600_000 + 3_600_000 * number / (count - 1)),
                centre_across: Position::um(within(-wind, wind)),
                centre_height: Position::um(200_000 + within(-wind, wind)),
                half_width: Length::um(half),
                half_height: Length::um(half + oval),
                skew: if log.form == Form::Round {
                    Length::um(turned)
                } else {
                    Length::ZERO
                },
            };
            log.stations.push(station).unwrap();
        }
        log
    }

    /// Sections that are passed over because they tell nothing new tell nothing new, but for two micrometres of rounding: what
    /// is left of every one that a stretch has is what is left of those that are looked at.
    #[test]
    fn rooms_are_what_every_section_of_a_stretch_leaves() {
        let mut dice = Dice::new(5);
        let mill = powered_mill();
        for number in 0..60 {
            let log = winding(&mut dice);
            let setup = Setup::new(&mill, &log).unwrap();
            let travel = setup.shape.travel();
            let usable = Interval::new(travel.lo + Length::mm(20), travel.hi - Length::mm(30));
            let lengths = [900, 1_777, 2_400, 3_550, 3_600].map(Length::mm);
            let heights = Heights::of(Position::mm(30), setup.shape.bounds().height.hi, Length::mm(3));
            let mut rooms = vec![(0, 0); 2 * lengths.len() * heights.count];
            fill(
                &Log {
                    shape: &setup.shape,
                    usable,
                    across: Interval::ALL,
                },
                &lengths,
                &heights,
                &mut rooms,
            )
            .unwrap();
            for (at, room) in rooms.iter().enumerate() {
                let (stretch, height) = (at / heights.count, heights.at(at % heights.count));
                let length = lengths[stretch % lengths.len()];
                let part = if stretch < lengths.len() {
                    Interval::new(usable.lo, usable.lo + length)
                } else {
                    Interval::new(usable.hi - length, usable.hi)
                };
                let between = setup.shape.between();
                let (mut lo, mut hi) = (i32::MIN, i32::MAX);
                for section in setup.shape.within(part, false).sections() {
                    let chord = section.chord(height);
                    lo = lo.max(chord.map_or(i32::MAX, |chord| (chord.lo + between).as_um()));
                    hi = hi.min(chord.map_or(i32::MIN, |chord| (chord.hi - between).as_um()));
                }
                if length > usable.length() || lo >= hi {
                    assert!(room.0 >= room.1 - 2, "{number} {stretch} {height}: {room:?}");
                } else {
                    let same = room.0.abs_diff(lo) <= 2 && room.1.abs_diff(hi) <= 2;
                    assert!(same, "{number} {stretch} {height}: {room:?} {lo} {hi}");
                }
            }
        }
    }
}
