//! What was compared, by kind.

use std::collections::BTreeMap;
use std::time::Duration;

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Grain, Heart, Placed, Wane};
use bunkside_planner::plan::End;
use bunkside_protocol::Length;

use super::super::Layout;
use super::wood::{Lies, Look, Wood};

/// Cases, by kind, and the times that they took.
#[derive(Default)]
pub(super) struct Tally {
    kinds: BTreeMap<&'static str, usize>,
    same: usize,
    between: usize,
    more: usize,
    bounds: Vec<f64>,
    choices: Vec<usize>,
    times: Vec<[f64; 3]>,
}

impl Tally {
    /// A case: whether neither rounding nor the solver leaves anything open, how many choices there are in its program, how long the layout and
    /// the solver took.
    pub(super) fn case(
        &mut self,
        wood: &Wood<'_>,
        layout: &Layout,
        (sure, choices): (bool, usize),
        (found, solved): (Duration, Duration),
    ) {
        if layout.boards.is_empty() {
            self.count("nothing fits", true);
            return;
        }
        if sure {
            self.same += 1;
        } else {
            self.between += 1;
        }
        self.log(wood);
        self.order(wood, layout);
        self.choices.push(choices);
        let [found, solved] = [found, solved].map(|time| time.as_secs_f64() * 1e3);
        self.times.push([solved / found, found, solved]);
    }

    /// A case of which undersides lie between two steps: whether it would be worth more by those.
    pub(super) fn between(&mut self, more: bool) {
        self.count("undersides between two steps", true);
        self.more += usize::from(more);
    }

    /// What the bound on any step is times what there is by the very undersides.
    pub(super) fn near(&mut self, exact: i64, bound: i64) {
        if exact > 0 {
            self.bounds.push(bound as f64 / exact as f64);
        }
    }

    fn count(&mut self, kind: &'static str, is: bool) {
        *self.kinds.entry(kind).or_default() += usize::from(is);
    }

    fn log(&mut self, wood: &Wood<'_>) {
        let stations = &wood.job.log.stations;
        let first = stations[0];
        let bent = |across: bool| {
            let at = |number: usize| {
                let station = stations[number];
                if across {
                    station.centre_across
                } else {
                    station.centre_height
                }
            };
            (1..stations.len() - 1)
                .any(|number| (at(number) - at(number - 1)) != (at(number + 1) - at(number)))
        };
        self.count(
            "oval or turned",
            first.half_width != first.half_height || first.skew != Length::ZERO,
        );
        self.count(
            "tapered",
            stations
                .iter()
                .any(|station| station.half_height != first.half_height),
        );
        self.count("swept", bent(true) || bent(false));
        self.count("sawn before", wood.job.log.sawn != bunkside_protocol::Sawn::NONE);
        self.count("square", wood.job.log.form == bunkside_protocol::Form::Square);
    }

    fn order(&mut self, wood: &Wood<'_>, layout: &Layout) {
        let (job, boards) = (wood.job, &layout.boards);
        let spec = |board: &Placed| &job.boards[usize::from(board.product)];
        let number = |product: usize| {
            boards
                .iter()
                .filter(|board| usize::from(board.product) == product)
                .count()
        };
        let limits = || {
            job.boards
                .iter()
                .enumerate()
                .filter_map(|(number, spec)| Some((number, spec.most?)))
        };
        self.count("limited by `most`", limits().next().is_some());
        self.count(
            "as many as `most`",
            limits().any(|(product, most)| number(product) == most as usize),
        );
        self.count(
            "boards on edge",
            boards.iter().any(|board| spec(board).laid(board).0),
        );
        for (kind, grain) in [
            ("smaller, flat sawn", Grain::Flat),
            ("smaller, quarter sawn", Grain::Quarter),
        ] {
            let is = |board: &Placed| wood.lies(board, spec(board)).sized.0 == grain;
            self.count(kind, boards.iter().any(is));
        }
        let both = |board: &Placed| {
            spec(board).is_by_grain() && wood.lies(board, spec(board)).sized.0 == Grain::Mixed
        };
        self.count("larger, as sawn both ways", boards.iter().any(both));
        for (kind, end) in [("short, near end", End::Near), ("short, far end", End::Far)] {
            let is = |board: &Placed| {
                let length = spec(board).lengths[usize::from(board.length)].wide();
                board.end == end && length * 10 < wood.usable.length().wide() * 9
            };
            self.count(kind, boards.iter().any(is));
        }
        let two = |pair: &[Placed]| (pair[0].across, pair[0].height) == (pair[1].across, pair[1].height);
        self.count("two end to end", boards.windows(2).any(two));
        self.count(
            "with `wane` allowed",
            job.boards.iter().any(|board| board.wane != Wane::NONE),
        );
        let exact = Look {
            spare: Length::ZERO,
            on_step: false,
        };
        let waned = |board: &Placed| {
            let mut sharp = spec(board).clone();
            sharp.wane = Wane::NONE;
            !wood.fits(&wood.lies(board, &sharp), exact)
        };
        self.count("boards that have wane", boards.iter().any(waned));
        self.count("several layers", layout.floors.len() > 1);
        self.count("with a core", job.core.is_some());
        let meets = |board: &Placed, heart: Heart| {
            let Lies { length, end, .. } = wood.lies(board, spec(board));
            let block = [
                Interval::new(board.across, board.across + board.wide),
                Interval::new(board.height, board.height + board.tall),
            ];
            let clear = wood.may_meet_core(
                Heart::Clear,
                Wood::stretch(wood.usable, length, end),
                block,
                exact,
            );
            spec(board).core == heart && !clear
        };
        self.count(
            "boards that hold the core",
            boards.iter().any(|board| meets(board, Heart::Inside)),
        );
        self.count(
            "boards that may meet it and do",
            boards.iter().any(|board| meets(board, Heart::Any)),
        );
    }

    pub(super) fn print(mut self) {
        println!(
            "{} cases equal, {} more between what rounding or the solver leaves open; of them",
            self.same, self.between
        );
        for (kind, count) in &self.kinds {
            println!("{count:5} {kind}");
        }
        println!("{:5} that would be worth more by the very underside", self.more);
        self.bounds.sort_by(f64::total_cmp);
        if let (Some(middle), Some(most)) = (self.bounds.get(self.bounds.len() / 2), self.bounds.last()) {
            println!("the bound on any step: {middle:.4} times that in the median, {most:.4} at most");
        }
        self.choices.sort_unstable();
        let middle = |all: &[usize]| all.get(all.len() / 2).copied().unwrap_or(0);
        println!(
            "choices: {} in the median, {} at most",
            middle(&self.choices),
            self.choices.last().unwrap_or(&0)
        );
        for (number, what) in ["solver's time by the layout's", "layout, ms", "solver, ms"]
            .into_iter()
            .enumerate()
        {
            let mut all: Vec<f64> = self.times.iter().map(|times| times[number]).collect();
            all.sort_by(f64::total_cmp);
            let median = all.get(all.len() / 2).copied().unwrap_or(f64::NAN);
            println!(
                "{what}: {median:.2} in the median, {:.2} at most",
                all.last().unwrap_or(&f64::NAN)
            );
        }
        assert!(self.same > 0);
        if self.same >= 200 {
            let never: Vec<_> = self.kinds.iter().filter(|(_, count)| **count == 0).collect();
            assert!(never.is_empty(), "{never:?}");
        }
    }
}
