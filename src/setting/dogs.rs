//! The dogs as they stand once they are closed: which hold nothing, and which stand where a wedge is to stand.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::physics::dogs::{bites, closed, filled};
use bunkside_planner::physics::wedges::{at, foot};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;
use bunkside_protocol::mill::Bunk;
use serde::Serialize;

use super::Way;

/// A dog of the mill.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct DogRow {
    /// Its number in the profile, from 1.
    pub dog: usize,
    /// Its middle from the log's near end.
    pub from_near_end_um: Length,
    /// Whether it reaches the log.
    pub reaches: bool,
    /// Whether its points meet wood there, and not bark alone.
    pub bites: bool,
    /// The wedge that is to stand where it stands once it is closed; none where there is none.
    pub wedge: Option<InTheWay>,
}

/// A wedge that is to stand where a dog stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct InTheWay {
    /// Number of its bunk on the mill, from 1.
    pub bunk: usize,
    /// On which side of the log.
    pub side: Way,
}

/// Every dog, in the order of the profile.
pub(super) fn rows(setup: &Setup<'_>) -> Vec<DogRow> {
    (1..)
        .zip(&setup.mill.dogs)
        .map(|(dog, record)| {
            let block = filled(record, &setup.shape);
            let middle = block.travel.lo + block.travel.length().half_floor();
            let closed = closed(record, &setup.shape);
            let reaches = closed.is_some();
            DogRow {
                dog,
                from_near_end_um: middle - setup.shape.travel().lo,
                reaches,
                bites: closed.is_some_and(|closed| bites(closed, &setup.shape)),
                wedge: if reaches { in_the_way(setup, block) } else { None },
            }
        })
        .collect()
}

/// The first wedge that takes the place of a dog.
fn in_the_way(setup: &Setup<'_>, dog: Block) -> Option<InTheWay> {
    (1..).zip(&setup.mill.bunks).find_map(|(number, bunk)| {
        let side = wedges(setup, bunk)
            .into_iter()
            .flatten()
            .find_map(|(side, wedge)| (!wedge.meet(dog).is_empty()).then_some(side));
        side.map(|side| InTheWay { bunk: number, side })
    })
}

/// What the two wedges of a bunk fill, anywhere along it; none for a bunk that has none.
fn wedges(setup: &Setup<'_>, bunk: &Bunk) -> Option<[(Way, Block); 2]> {
    let (mill, shape) = (setup.mill, &setup.shape);
    let (reach, foot) = (mill.wedges.reach, foot(bunk, shape)?);
    let met = at(mill, bunk, shape)?;
    let block = |across| Block {
        travel: Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size),
        across,
        height: Interval::new(foot, foot + mill.wedges.height),
    };
    Some([
        (Way::Entry, block(Interval::new(met.lo - reach, met.lo))),
        (Way::Exit, block(Interval::new(met.hi, met.hi + reach))),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::System;
    use crate::order::example;
    use crate::setting::words::Words;

    const WORDS: Words = Words {
        system: System::Metric,
        both: false,
    };

    /// Their points go 20 mm through bark, from what lies 25 mm up: in its 6 mm of bark they meet wood, in 40 mm none.
    #[test]
    fn a_dog_that_meets_only_bark_is_seen() {
        let job = example("p-07");
        for (bark, bites) in [(6, true), (40, false)] {
            let mut log = job.log.clone();
            log.bark = Length::mm(bark);
            let setup = Setup::new(&job.mill, &log).unwrap();
            for row in rows(&setup) {
                assert!(row.reaches && row.bites == bites, "{bark} {row:?}");
                let words = WORDS.dog(&row).unwrap();
                assert_eq!(words.contains("meets only bark"), !bites, "{words}");
            }
        }
    }

    /// The dogs of the example stand 130 to 180 mm out at its bunks 1 and 3. Closed they reach from there to the bark, 20 mm up,
    /// and so over the wedges, which stand from 60 to 120 mm out, some millimetres higher.
    #[test]
    fn a_dog_and_a_wedge_in_one_place_are_seen() {
        let job = example("p-07");
        let wedges = |move_by: Length, out: Length| {
            let mut mill = job.mill.clone();
            for dog in &mut mill.dogs {
                for corner in [&mut dog.min, &mut dog.max] {
                    corner[0] = corner[0] + move_by;
                    corner[1] = corner[1] + out;
                }
            }
            let setup = Setup::new(&mill, &job.log).unwrap();
            let rows = rows(&setup);
            assert_eq!([rows[0].dog, rows[1].dog], [1, 2]);
            assert_eq!(rows[0].from_near_end_um, Length::mm(200) + move_by);
            rows.into_iter()
                .map(|row| (row.reaches, row.wedge))
                .collect::<Vec<_>>()
        };
        let at = |bunk| {
            Some(InTheWay {
                bunk,
                side: Way::Exit,
            })
        };
        let zero = Length::ZERO;
        assert_eq!(wedges(zero, zero), [(true, at(1)), (true, at(3))]);
        // Half a bunk and half a dog further along, 75 mm and 30 mm, they stand beside it.
        assert_eq!(wedges(Length::mm(104), zero)[0], (true, at(1)));
        assert_eq!(wedges(Length::mm(105), zero)[0], (true, None));
        assert_eq!(wedges(Length::mm(-104), zero), [(true, at(1)), (true, at(3))]);
        assert_eq!(wedges(Length::mm(-105), zero), [(true, None), (true, None)]);
        // Too far out they stay where they are, and hold nothing.
        assert_eq!(wedges(zero, Length::mm(100)), [(false, None), (false, None)]);
    }
}
