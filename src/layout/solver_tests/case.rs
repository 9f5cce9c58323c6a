//! Small random logs and orders.

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Core, Heart, Wane};
use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station};

use crate::job::{BoardSpec, Job};
use crate::order::tests::example;
use crate::order::tests::random::Chance;

/// A job of one to four products on a log 13 steps high or more. The kerf is a step, so that undersides lie on it as
/// floors do; in one case of four it is more or less than that.
pub(super) fn job(chance: &mut Chance) -> Job {
    let mut job = example("b-01");
    let step = chance.within(55, 100) * 100;
    job.step = Length::um(step);
    let off = if chance.one_in(4) {
        chance.within(-20, 20) * 100
    } else {
        0
    };
    job.mill.blade.kerf = Length::um(step + off);
    job.mill.dogs.clear();
    job.mill.wedges.reach = Length::mm(40);
    job.mill.wedges.height = Length::mm(5);
    job.log = log(chance, step);
    job.end_trim = chance.mm(0, 40);
    let [near, far] = [0, job.log.stations.len() - 1].map(|at| job.log.stations[at].travel);
    let usable = far - near - job.end_trim.times(2);
    // Right through, or from the near end or to the far one.
    job.core = (!chance.one_in(3)).then(|| Core {
        travel: Interval::new(
            near + Length::um((far - near).wide() * chance.within(0, 1) * chance.within(20, 70) / 100),
            far - Length::um((far - near).wide() * chance.within(0, 1) * chance.within(0, 20) / 100),
        ),
        thick: chance.mm(4, 40),
    });
    let pattern = job.boards[0].clone();
    job.boards.clear();
    let by_grain = chance.one_in(2);
    for number in 0..chance.within(1, 4) {
        let earlier = if number > 0 && chance.one_in(3) {
            job.boards.first()
        } else {
            None
        };
        let board = board(chance, &pattern, (usable, step), earlier.cloned());
        let sizes = if by_grain {
            sizes(chance, [board.thickness, board.width])
        } else {
            [None; 2]
        };
        job.boards.push(BoardSpec {
            name: format!("p{number}"),
            by_grain: sizes,
            ..board
        });
    }
    job
}

/// Sizes for boards that lie flat sawn, thinner ones, and for those that lie quarter sawn, narrower ones.
fn sizes(chance: &mut Chance, [thickness, width]: [Length; 2]) -> [Option<[Length; 2]>; 2] {
    let less = |chance: &mut Chance| Length::um(chance.within(0, 40) * 100);
    let flat = [thickness - less(chance), width];
    let quarter = [thickness, width - less(chance).times(2)];
    [flat, quarter].map(|size| (size != [thickness, width]).then_some(size))
}

/// The same order for another log on the same mill.
pub(super) fn another(chance: &mut Chance, job: &Job) -> Job {
    Job {
        log: log(chance, job.step.wide()),
        ..job.clone()
    }
}

/// A log 120 to 220 mm thick: one in six square, half of the others oval or turned, half tapered, half swept; two in five of those that
/// are not square lie with faces that were sawn before.
fn log(chance: &mut Chance, step: i64) -> LogRecord {
    let mut log = example("b-01").log;
    log.form = if chance.one_in(6) {
        Form::Square
    } else {
        Form::Round
    };
    log.bark = Length::ZERO;
    log.metal.clear();
    log.stations.clear();
    let some = |chance: &mut Chance, most: i64| chance.within(-most, most) * chance.within(0, 1);
    let (oval, turned) = (some(chance, 10_000), some(chance, 15_000));
    let (taper, sweep) = (some(chance, 10_000), some(chance, 12_000));
    let half = (step * chance.within(13, 24) / 2).clamp(65_000, 100_000);
    let length = chance.within(1_200, 3_000) * 1_000;
    let last = chance.within(1, 3);
    let up = half + 12_000 + chance.within(0, 40_000);
    for at in 0..=last {
        // Swept most in the middle.
        let bow = sweep * 4 * at * (last - at) / (last * last);
        let half = half + taper * at / last;
        let station = Station {
            travel: Position::um(600_000 + length * at / last),
            centre_across: Position::um(bow + some(chance, 3_000)),
            centre_height: Position::um(up + bow / 2),
            half_width: Length::um(half + oval),
            half_height: Length::um(half),
            skew: Length::um(if log.form == Form::Round { turned } else { 0 }),
        };
        log.stations.push(station).unwrap();
    }
    log.sawn = Sawn::NONE;
    if log.form == Form::Round && chance.within(1, 5) < 3 {
        log.sawn = faces(chance, half, up);
    }
    log
}

/// One face to four, 30 to 95 hundredths of the way out from the middle.
fn faces(chance: &mut Chance, half: i64, up: i64) -> Sawn {
    let which = chance.within(1, 15);
    let mut face = |bit: i64, middle: i64, way: i64| {
        let out = half * chance.within(30, 95) / 100;
        (which & bit != 0).then(|| Position::um(middle + way * out))
    };
    Sawn {
        entry: face(1, 0, -1),
        exit: face(2, 0, 1),
        bottom: face(4, up, -1),
        top: face(8, up, 1),
    }
}

/// A product, of the section of an `earlier` one where there is one.
fn board(
    chance: &mut Chance,
    pattern: &BoardSpec,
    (usable, step): (Length, i64),
    earlier: Option<BoardSpec>,
) -> BoardSpec {
    let (thickness, width) = match earlier {
        Some(earlier) => (earlier.thickness, earlier.width),
        None => (chance.mm(18, 45), chance.mm(30, 100)),
    };
    let shares = [
        chance.within(96, 102),
        chance.within(30, 50),
        chance.within(50, 80),
    ];
    let first = usize::try_from(chance.within(0, 1)).unwrap();
    let last = usize::try_from(chance.within(1, 3)).unwrap().max(first + 1);
    let lengths: Vec<Length> = shares[first..last]
        .iter()
        .map(|share| Length::um(usable.wide() * share / 100))
        .collect();
    // By volume, litres, more or less.
    let values = lengths.iter().map(|length| {
        let area = thickness.wide() * width.wide() / 1_000_000;
        1 + area * length.wide() / 10_000_000 * chance.within(6, 14)
    });
    let values = values.collect();
    BoardSpec {
        thickness,
        width,
        lengths,
        values,
        least: 0,
        most: chance
            .one_in(2)
            .then(|| u32::try_from(chance.within(1, 4)).unwrap()),
        wane: wane(chance, step, thickness.min(width)),
        core: [Heart::Clear, Heart::Inside, Heart::Any][usize::try_from(chance.within(0, 2)).unwrap()],
        on_edge: chance.one_in(2),
        ..pattern.clone()
    }
}

/// Wane of whole steps in one product of three, no more than half a board less the millimetre that is whole in any.
fn wane(chance: &mut Chance, step: i64, least: Length) -> Wane {
    let most = (least - Length::mm(2)).wide() / 2 / step;
    if most < 1 || !chance.one_in(3) {
        return Wane::NONE;
    }
    Wane {
        face: Length::um(step * chance.within(1, most)),
        edge: chance
            .one_in(2)
            .then(|| Length::um(step * chance.within(1, most))),
        whole: [0, 400, 750][usize::try_from(chance.within(0, 2)).unwrap()],
    }
}
