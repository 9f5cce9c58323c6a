//! Whether a part of what stands hangs by less wood than bears its weight: a square as wide as that wood has to be is moved through
//! the rods; what it does not come to from where the log lies hangs by less.

use std::cell::OnceCell;

use bunkside_protocol::Form;

use super::auditor::Second;
use super::machine::Say;
use super::wood::{Um, around, meet};

/// No part that asks for less is looked for: it hangs by a thread, or surely.
const LEAST: Um = 3_000;

/// How much an asked thickness may lie off for how the parts are measured.
const OFF: f64 = 0.15;

/// How thick wood has to be by which a part hangs at its edge: 6 ρ g w h (w ÷ 2) ÷ t² is no more than 2 N/mm².
fn asked_by(wide: Um, high: Um, density: u16) -> f64 {
    let [wide, high] = [wide, high].map(|side| side.max(0) as f64 * 1e-6);
    let moment = f64::from(density) * 9.807 * wide * high * wide / 2.0;
    (6.0 * moment / 2e6).sqrt() * 1e6
}

/// Whether something hangs so.
pub(crate) fn hangs(now: &Second<'_>) -> Say {
    let (wood, log) = (&now.wood, now.ground.log);
    let sides = [wood.across(0)[0], wood.across(wood.strips() - 1)[1]];
    let middle = wood.slices() / 2;
    let uncut = (0..wood.strips()).filter_map(|strip| wood.uncut(middle, Some(strip)));
    let tall = uncut.map(|rod| rod.wood[1] - rod.wood[0]).max().unwrap_or(0);
    let most = asked_by(sides[1] - sides[0], tall, log.density);
    if most < LEAST as f64 {
        return Say::No;
    }
    // Over no gap nothing hangs, and nothing is wider than the gaps, and what it hangs by.
    let gap = |strip: &usize| (0..wood.slices()).any(|slice| wood.standing(slice, *strip).nth(1).is_some());
    let gaps = (0..wood.strips())
        .filter(gap)
        .map(|strip| wood.across(strip)[1] - wood.across(strip)[0]);
    let gaps: Um = gaps.sum();
    if gaps == 0 {
        return Say::No;
    }
    let most = most.min(asked_by(
        gaps + most as Um + now.ground.slack.by * 4,
        tall,
        log.density,
    ));
    if now.ended_inside && log.form == Form::Round {
        return Say::Unsure;
    }
    let sliced = Sliced::of(now);
    let asked = |width: Um, all: bool| {
        let parts = Moved::through(now, &sliced, width, all).left();
        let asks = parts.into_iter().map(|part| {
            let [wide, high] = part.map(|[lo, hi]| hi - lo);
            asked_by(wide, high, log.density) * filled(now, part).sqrt()
        });
        asks.fold(0.0, f64::max)
    };
    let slack = 2 * now.ground.slack.by;
    // On a log that is not the same all along, what holds somewhere, or not even in the middle.
    let round = log.form == Form::Round;
    let (mut side, mut worst) = (most * (1.0 + OFF), Say::No);
    while side >= LEAST as f64 {
        let width = side as Um + slack;
        let loose = asked(width, false);
        if loose > side * (1.0 - OFF) {
            let tight = side > LEAST as f64 * 1.02 && asked(side as Um - slack, round) > side * (1.0 + OFF);
            worst = worst.or(if tight { Say::Yes } else { Say::Unsure });
        }
        // What hangs is asked too by as much as it asks for at most.
        let asks = loose / (1.0 - OFF) * 0.99;
        side = (side / 1.15).max(if asks < side { asks } else { 0.0 });
    }
    worst
}

/// How much of its box a part fills in the middle of the log.
fn filled(now: &Second<'_>, [wide, high]: [[Um; 2]; 2]) -> f64 {
    let (wood, area) = (&now.wood, (wide[1] - wide[0]) as f64 * (high[1] - high[0]) as f64);
    let standing = (0..wood.strips()).flat_map(|strip| {
        let [left, right] = meet(wood.across(strip), wide);
        let rods = wood.standing(wood.slices() / 2, strip).map(|rod| meet(rod, high));
        rods.map(move |[lo, hi]| (right - left).max(0) as f64 * (hi - lo).max(0) as f64)
            .collect::<Vec<f64>>()
    });
    (standing.sum::<f64>() / area).min(1.0)
}

/// Where the square finds room: how far to the right of which strip's left side it begins, and between which heights.
struct Moved {
    width: Um,
    /// By stretch of the log and strip.
    rooms: Vec<Rods>,
    strips: usize,
    lefts: Vec<Um>,
    /// Those where the log lies, by stretch, strip, and number.
    lies: Vec<(usize, usize)>,
}

impl Moved {
    fn through(now: &Second<'_>, sliced: &Sliced, width: Um, all: bool) -> Self {
        let (wood, strips) = (&now.wood, now.wood.strips());
        let lefts: Vec<Um> = (0..strips).map(|strip| wood.across(strip)[0]).collect();
        let far = wood.across(strips - 1)[1];
        let (mut rooms, mut lies) = (Vec::new(), Vec::new());
        for stretch in &sliced.stretches {
            let middle = stretch.len() / 2;
            let slices = if all {
                &stretch[..]
            } else {
                &stretch[middle..=middle]
            };
            for slice in slices {
                let first = rooms.len();
                rooms.extend((0..strips).map(|strip| {
                    let further = lefts.partition_point(|left| *left < lefts[strip] + width);
                    if lefts[strip] + width > far {
                        return Rods::new();
                    }
                    let mut held = sliced.through(*slice, strip, further.max(strip + 1));
                    held.retain(|[lo, hi]| hi - lo >= width);
                    held
                }));
                for (_, under, lowest) in wood.rests().filter(|(at, ..)| stretch.contains(at)) {
                    let near = |strip: &usize| (lefts[*strip] - lefts[under]).abs() <= 2 * width;
                    for strip in (0..strips).filter(near) {
                        let place = first + strip;
                        let here = rooms[place].iter().enumerate();
                        lies.extend(
                            here.filter(|(_, room): &(usize, &[Um; 2])| room[0] <= lowest + width)
                                .map(|(number, _)| (place, number)),
                        );
                    }
                }
            }
        }
        Self {
            width,
            rooms,
            strips,
            lefts,
            lies,
        }
    }

    /// From where to where across and up the parts are that it does not come to; none where it does not lie at all.
    fn left(&self) -> Vec<[[Um; 2]; 2]> {
        let mut reached: Vec<Vec<bool>> = self.rooms.iter().map(|rooms| vec![false; rooms.len()]).collect();
        let mut parts = Vec::new();
        self.flood(&mut reached, self.lies.clone());
        if self.lies.is_empty() {
            return parts;
        }
        for place in 0..self.rooms.len() {
            for number in 0..self.rooms[place].len() {
                if !reached[place][number] {
                    let [wide, high] = self.flood(&mut reached, vec![(place, number)]);
                    parts.push([[wide[0], wide[1] + self.width], high]);
                }
            }
        }
        parts
    }

    /// All that is reached from some rooms, and a box around it.
    fn flood(&self, reached: &mut [Vec<bool>], mut open: Vec<(usize, usize)>) -> [[Um; 2]; 2] {
        let mut bounds: Option<[[Um; 2]; 2]> = None;
        while let Some((place, number)) = open.pop() {
            if std::mem::replace(&mut reached[place][number], true) {
                continue;
            }
            let (strip, room) = (place % self.strips, self.rooms[place][number]);
            let here = [[self.lefts[strip]; 2], room];
            bounds = Some(bounds.map_or(here, |bounds| {
                [around(bounds[0], here[0]), around(bounds[1], here[1])]
            }));
            let beside = [
                (strip > 0).then(|| place - 1),
                (strip + 1 < self.strips).then_some(place + 1),
                place.checked_sub(self.strips),
                Some(place + self.strips).filter(|other| *other < self.rooms.len()),
            ];
            for other in beside.into_iter().flatten() {
                for (number, next) in self.rooms[other].iter().enumerate() {
                    let [lo, hi] = meet(room, *next);
                    if hi - lo >= self.width {
                        open.push((other, number));
                    }
                }
            }
        }
        bounds.unwrap_or_default()
    }
}

/// Stretches of height, from below.
type Rods = Vec<[Um; 2]>;

/// What two of them share.
fn both(a: &[[Um; 2]], b: &[[Um; 2]]) -> Rods {
    let shared = a.iter().flat_map(|a| b.iter().map(|b| meet(*a, *b)));
    shared.filter(|[lo, hi]| lo < hi).collect()
}

/// What stands of the body.
struct Sliced {
    /// By slice and strip.
    standing: Vec<Vec<Rods>>,
    /// By slice, once it is asked for: what stands through 1, 2, 4, and so on strips from one on.
    doubled: Vec<OnceCell<Vec<Vec<Rods>>>>,
    /// The slices of each stretch in which the log is cut alike: all of a round one.
    stretches: Vec<Vec<usize>>,
}

impl Sliced {
    fn of(now: &Second<'_>) -> Self {
        let wood = &now.wood;
        let of_slice = |slice| {
            (0..wood.strips())
                .map(|strip| wood.standing(slice, strip).collect())
                .collect()
        };
        let standing: Vec<Vec<Rods>> = (0..wood.slices()).map(of_slice).collect();
        let mut stretches: Vec<Vec<usize>> = Vec::new();
        for slice in 0..wood.slices() {
            let alike = |last: &&mut Vec<usize>| {
                now.ground.log.form == Form::Round || standing[last[0]] == standing[slice]
            };
            match stretches.last_mut().filter(alike) {
                Some(last) => last.push(slice),
                None => stretches.push(vec![slice]),
            }
        }
        Self {
            doubled: standing.iter().map(|_| OnceCell::new()).collect(),
            standing,
            stretches,
        }
    }

    /// What stands through all strips from one up to another.
    fn through(&self, slice: usize, from: usize, to: usize) -> Rods {
        let doubled = self.doubled[slice].get_or_init(|| doubled(&self.standing[slice]));
        let times = (to - from).ilog2();
        let ones = &doubled[times as usize];
        both(&ones[from], &ones[to - (1 << times)])
    }
}

fn doubled(standing: &[Rods]) -> Vec<Vec<Rods>> {
    let mut all = vec![standing.to_vec()];
    while 1 << all.len() <= standing.len() {
        let (last, by) = (&all[all.len() - 1], 1 << (all.len() - 1));
        let next = (0..last.len() - by).map(|strip| both(&last[strip], &last[strip + by]));
        let next = next.collect();
        all.push(next);
    }
    all
}
