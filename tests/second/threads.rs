//! Whether some of the body hangs by so little that nobody can say whether it does: worn away from all sides by as much as the
//! axes may be off and by what breaks, does it still hang together with what rests on the bunks?

use super::auditor::Second;
use super::machine::play;
use super::wood::{Um, Wood, meet};

/// How far a worn log may rest over where it did: by what is worn off its underside.
const LIFTED: Um = 1_000;

/// Wood that holds surely is at least so large, square millimetres: where it is only as wide as a thread, it is long.
const LARGE: Um = 500;

/// Less than this breaks, micrometres.
const BREAKS: Um = 3_000;

/// Whether some of the body might hang by no more than twice what the axes are true to, by less than what breaks, or by too short
/// a stretch of wood.
pub(crate) fn may_hang(now: &Second<'_>) -> bool {
    // Between round ends of kerfs it is not looked for.
    if now.ended_inside {
        return true;
    }
    let mill = now.ground.mill;
    let [_, across, height] = play(mill);
    let thread = (2 * across.max(height)).max(BREAKS - 1);
    let by = now.ground.slack.by;
    let worn = Worn::new(&now.wood, thread + by, thread + 2 * by);
    let long = LARGE * 1_000_000 / thread.max(1);
    worn.hangs(&now.wood, LIFTED + 2 * by) || worn.along(&now.wood, long).hangs(&now.wood, LIFTED + 2 * by)
}

/// Stretches of wood that stand over the same place and over all places so far to its right.
struct Worn {
    strips: usize,
    /// Where the stretches of each place begin; one more for the end.
    firsts: Vec<usize>,
    held: Vec<[Um; 2]>,
    /// By how much they share their heights that hang together.
    touch: Um,
}

impl Worn {
    fn new(wood: &Wood, width: Um, touch: Um) -> Self {
        let strips = wood.strips();
        let (mut firsts, mut held) = (vec![0], Vec::new());
        for slice in 0..wood.slices() {
            for strip in 0..strips {
                let [left, _] = wood.across(strip);
                let mut left_over: Vec<[Um; 2]> = wood.standing(slice, strip).collect();
                for further in strip + 1..strips {
                    if wood.across(further)[0] >= left + width {
                        break;
                    }
                    let next: Vec<[Um; 2]> = wood.standing(slice, further).collect();
                    let shared = left_over.iter().flat_map(|a| next.iter().map(|b| meet(*a, *b)));
                    left_over = shared.filter(|[lo, hi]| lo < hi).collect();
                }
                held.extend(left_over);
                firsts.push(held.len());
            }
        }
        Self {
            strips,
            firsts,
            held,
            touch,
        }
    }

    /// What stands so in every slice of a stretch of the log as well.
    fn along(&self, wood: &Wood, long: Um) -> Self {
        let [near, far] = wood.length();
        let (mut firsts, mut held) = (vec![0], Vec::new());
        for slice in 0..wood.slices() {
            let from = wood.slice(slice)[0].min(far - long).max(near);
            let stretch: Vec<usize> = (0..wood.slices())
                .filter(|other| {
                    let [begins, ends] = wood.slice(*other);
                    begins < from + long && ends > from
                })
                .collect();
            for strip in 0..self.strips {
                let all = stretch
                    .iter()
                    .map(|slice| &self.held[self.at(slice * self.strips + strip)]);
                let shared = all.map(<[_]>::to_vec).reduce(|left, next| {
                    let shared = left.iter().flat_map(|a| next.iter().map(|b| meet(*a, *b)));
                    shared.filter(|[lo, hi]| lo < hi).collect()
                });
                held.extend(shared.unwrap_or_default());
                firsts.push(held.len());
            }
        }
        Self {
            firsts,
            held,
            ..*self
        }
    }

    fn at(&self, place: usize) -> std::ops::Range<usize> {
        self.firsts[place]..self.firsts[place + 1]
    }

    /// Whether any of it that is higher than what hangs together has to share does not hang on what rests.
    fn hangs(&self, wood: &Wood, lifted: Um) -> bool {
        let places = self.firsts.len() - 1;
        let mut reached = vec![false; self.held.len()];
        let mut open = Vec::new();
        for (slice, strip, lowest) in wood.rests() {
            for near in strip.saturating_sub(4)..(strip + 5).min(self.strips) {
                let place = slice * self.strips + near;
                open.extend(
                    self.at(place)
                        .filter(|held| self.held[*held][0] <= lowest + lifted)
                        .map(|held| (place, held)),
                );
            }
        }
        while let Some((place, held)) = open.pop() {
            if std::mem::replace(&mut reached[held], true) {
                continue;
            }
            let strip = place % self.strips;
            let beside = [
                (strip > 0).then(|| place - 1),
                (strip + 1 < self.strips).then_some(place + 1),
                place.checked_sub(self.strips),
                (place + self.strips < places).then_some(place + self.strips),
            ];
            for other in beside.into_iter().flatten() {
                let touches = |next: &usize| {
                    let [lo, hi] = meet(self.held[held], self.held[*next]);
                    hi - lo > self.touch && !reached[*next]
                };
                open.extend(self.at(other).filter(touches).map(|next| (other, next)));
            }
        }
        let tall = |[lo, hi]: &[Um; 2]| hi - lo > self.touch;
        self.held
            .iter()
            .zip(reached)
            .any(|(held, reached)| tall(held) && !reached)
    }
}
