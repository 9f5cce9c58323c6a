use std::vec;

use bunkside_protocol::{MillRecord, Position};

use super::super::heart::Heart;
use super::super::reach::meet;
use super::super::rooms::{fill, tests::winding};
use super::*;
use crate::replay::Setup;
use crate::testing::{Dice, powered_mill};

/// What every section of a stretch leaves of a room: at a height as much as there is wood, and so much more at either side.
fn left(log: &Log<'_>, stretch: Interval, asked: &[(Position, Length)]) -> Option<(i64, i64)> {
    let (mut lo, mut hi) = (i64::MIN, i64::MAX);
    let sections = log.shape.within(stretch, false);
    for section in sections.sections() {
        for (height, more) in asked {
            let chord = section.chord(*height)?;
            let more = (*more - log.shape.between()).wide();
            (lo, hi) = (lo.max(chord.lo.wide() - more), hi.min(chord.hi.wide() + more));
        }
    }
    Some((lo, hi))
}

/// One order on one log.
struct Case<'c> {
    log: Log<'c>,
    wane: Wane,
    heights: Heights,
    raw: &'c [(Um, Um)],
}

impl Case<'_> {
    /// The room that the definition leaves a board over a floor.
    fn wanted(
        &self,
        laid: &Laid<'_>,
        length: Length,
        reach: &Reach,
        [low, high]: [Position; 2],
    ) -> Option<(i64, i64)> {
        let Self { log, wane, .. } = self;
        let [side, up] = if laid.on_edge {
            [wane.edge, Some(wane.face)]
        } else {
            [Some(wane.face), wane.edge]
        };
        let half = (laid.height - WHOLE).half_floor();
        let up = up.map(|up| Length::mm((up.min(half).wide() / 1_000) as i32));
        let board = if reach.from_far {
            Interval::new(log.usable.hi - length, log.usable.hi)
        } else {
            Interval::new(log.usable.lo, log.usable.lo + length)
        };
        let whole = Length::um(length.wide() * i64::from(wane.whole) / 1_000);
        let whole = if reach.part == 1 {
            Interval::new(board.hi - whole, board.hi)
        } else {
            Interval::new(board.lo, board.lo + whole)
        };
        let mut asked: Vec<(Position, Length), 4> = Vec::new();
        if let Some(side) = side {
            asked.extend([(low, side), (high, side)]);
        }
        if let Some(up) = up {
            asked.extend([(low + up, Length::ZERO), (high - up, Length::ZERO)]);
        }
        let all = left(log, board, &asked)?;
        let sharp = if whole.is_empty() {
            (i64::MIN, i64::MAX)
        } else {
            left(log, whole, &[(low, Length::ZERO), (high, Length::ZERO)])?
        };
        let room = (all.0.max(sharp.0), all.1.min(sharp.1));
        (room.0 + 2 < room.1).then_some(room)
    }

    /// The room that is read for it.
    fn read(&self, reach: &Reach, floor: usize, face: usize) -> (i64, i64) {
        let at = |stretch: u16, height: usize| self.raw[usize::from(stretch) * self.heights.count + height];
        let (under, over) = (at(reach.under, floor), at(reach.over, face));
        (under.0.max(over.0).into(), under.1.min(over.1).into())
    }
}

/// Some wane.
fn some(within: &mut dyn FnMut(i32, i32) -> i32) -> Wane {
    Wane {
        face: Length::mm(within(1, 25)),
        edge: (within(0, 1) == 1).then_some(Length::mm(within(1, 30))),
        whole: [0, 400, 750][within(0, 2) as usize],
    }
}

/// Rooms of one random order on one random log, held against the definition; how many there were, and how many without any.
fn held(dice: &mut Dice, mill: &MillRecord) -> [usize; 2] {
    let record = winding(dice);
    let setup = Setup::new(mill, &record).unwrap();
    let travel = setup.shape.travel();
    let mut within = |from: i32, to: i32| from + dice.below((to - from + 1) as u64) as i32;
    let wane = some(&mut within);
    let lengths = Vec::from_slice(&[900, 1_777, 3_550].map(Length::mm)).unwrap();
    let wanted = [Wanted {
        without: None,
        thickness: Length::mm(within(12, 40)),
        width: Length::mm(within(40, 120)),
        by_grain: [None; 2],
        on_edge: within(0, 1) == 1,
        lengths: &lengths,
        worth: &[1; 3],
        wane,
        heart: Heart::Clear,
    }];
    let mut lent = [Class::default(); CLASSES_MAX];
    let classes = Classes::of(&wanted, &lengths, &mut lent).unwrap();
    let mut case = Case {
        log: Log {
            shape: &setup.shape,
            usable: Interval::new(travel.lo + Length::mm(20), travel.hi - Length::mm(30)),
            across: Interval::ALL,
        },
        wane,
        heights: Heights::of(Position::mm(30), setup.shape.bounds().height.hi, Length::mm(1)),
        raw: &[],
    };
    let count = case.heights.count;
    let mut chords = vec![(0, 0); usize::from(classes.stretches()) * count];
    fill(&case.log, &lengths, &case.heights, &mut chords).unwrap();
    classes
        .fill(&case.log, &lengths, (&case.heights, None), &mut chords)
        .unwrap();
    case.raw = &chords;
    let mut seen = [0, 0];
    for (laid, at, far) in laid(&wanted).flat_map(|laid| (0..6_u16).map(move |at| (laid, at % 3, at >= 3))) {
        let class = classes.class(&laid);
        assert!(class.is_some());
        for reach in classes.reaches(class, (at, far)) {
            for _ in 0..20 {
                let tall = laid.height.wide() / 1_000;
                let floor = within(0, count as i32 - 1 - tall as i32) as usize;
                let face = floor + tall as usize;
                let heights = [floor, face].map(|height| case.heights.at(height));
                let (lo, hi) = case.read(&reach, floor, face);
                let wanted = case.wanted(&laid, lengths[usize::from(at)], &reach, heights);
                let same = match wanted {
                    Some((from, to)) => (lo - from).abs().max((hi - to).abs()) <= 2,
                    None => lo >= hi - 2,
                };
                assert!(same, "{reach:?}: {lo} {hi}, not {wanted:?}");
                seen[usize::from(wanted.is_none())] += 1;
            }
        }
    }
    seen
}

/// The room of a board is what its definition asks of every section: so much less at the faces, and all of it where the edges
/// begin to be whole; and all of it everywhere in what is whole of the length. Two micrometres are rounding.
#[test]
fn rooms_are_what_the_definition_leaves_of_every_section() {
    let (mut dice, mill) = (Dice::new(17), powered_mill());
    let mut seen = [0, 0];
    for _ in 0..40 {
        let more = held(&mut dice, &mill);
        seen = [seen[0] + more[0], seen[1] + more[1]];
    }
    assert!(seen.into_iter().all(|count| count > 500), "{seen:?}");
}

/// A board that may lack more, and is whole along less of its length, lies wherever one that may lack less does.
#[test]
fn what_is_told_to_be_wider_is_so() {
    let (mut dice, mill, mut told_wider) = (Dice::new(23), powered_mill(), 0);
    for number in 0..25 {
        let record = winding(&mut dice);
        let setup = Setup::new(&mill, &record).unwrap();
        let log = Log {
            shape: &setup.shape,
            usable: setup.shape.travel(),
            across: Interval::ALL,
        };
        let mut within = |from: i32, to: i32| from + dice.below((to - from + 1) as u64) as i32;
        let lengths = [900, 1_777, 3_550].map(Length::mm);
        let mut wanted = |face: i32| Wanted {
            without: None,
            thickness: Length::mm(40),
            width: Length::mm(90),
            by_grain: [None; 2],
            on_edge: false,
            lengths: &lengths,
            worth: &[1; 3],
            wane: Wane {
                face: Length::mm(face),
                edge: (within(0, 1) == 1).then_some(Length::mm(within(1, 9))),
                whole: [0, 400, 750][within(0, 2) as usize],
            },
            heart: Heart::Clear,
        };
        let wanted = [0, 5, 11].map(&mut wanted);
        let heights = Heights::of(Position::mm(30), setup.shape.bounds().height.hi, Length::mm(2));
        let told = Vec::from_slice(&lengths).unwrap();
        let mut classes = [Class::default(); CLASSES_MAX];
        let classes = Classes::of(&wanted, &told, &mut classes).unwrap();
        let mut chords = vec![(0, 0); usize::from(classes.stretches()) * heights.count];
        fill(&log, &told, &heights, &mut chords).unwrap();
        classes.fill(&log, &told, (&heights, None), &mut chords).unwrap();
        let of = |stretch: u16, height: usize| chords[usize::from(stretch) * heights.count + height];
        let all: vec::Vec<Reach> = laid(&wanted)
            .flat_map(|laid| {
                let ends = (0..3).flat_map(|at| [(at, false), (at, true)]);
                ends.flat_map(|end| classes.reaches(classes.class(&laid), end))
                    .collect::<vec::Vec<_>>()
            })
            .collect();
        let pairs = all.iter().flat_map(|a| all.iter().map(move |b| (a, b)));
        let told =
            |(a, b): &(&Reach, &Reach)| (a.class.is_some() || b.class.is_some()) && classes.wider(a, b);
        for (a, b) in pairs.filter(told) {
            told_wider += 1;
            let room = |reach: &Reach, floor: usize| meet(of(reach.under, floor), of(reach.over, floor + 20));
            for floor in 0..heights.count - 20 {
                let (mine, other) = (room(a, floor), room(b, floor));
                let holds = other.0 >= other.1 || (mine.0 <= other.0 + 2 && mine.1 >= other.1 - 2);
                assert!(holds, "{number} {a:?} {b:?} {mine:?} {other:?}");
            }
        }
    }
    assert!(told_wider > 500, "{told_wider}");
}
