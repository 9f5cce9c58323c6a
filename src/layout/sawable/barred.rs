//! Layouts without what cannot be sawn.
//!
//! A layer that cannot be cut need not cost all that lies below it. Where such layers do not lie so high, the best layout often has
//! another one there that can be cut, or the same a little higher or lower. The most promising is tried first, and none that brings
//! no more than what has been found.

use bunkside_planner::layout::exact::{BARRED_MAX, Barred};
use bunkside_protocol::{Length, Position};

use super::super::Layout;
use super::{Fault, Keeps, Search};

/// How far around the floor of a layer that cannot be cut no layer so high lies, the first time and those after it; from then on none
/// lies anywhere.
const AROUND: [Length; 3] = [Length::mm(1), Length::mm(5), Length::mm(20)];

/// A layout, and what it keeps to.
struct Without {
    layout: Layout,
    keeps: Keeps,
}

impl Search<'_> {
    /// Something better than what was found, if there is anything.
    pub(super) fn without(&mut self, best: Layout, found: Option<Layout>) -> Option<Layout> {
        let brings = found.as_ref().map_or(0, |layout| layout.found.worth);
        (self.runs, self.few) = (self.more_runs, true);
        let more = self.worth_more(best, brings);
        self.few = false;
        more.or(found)
    }

    /// The first layout found that brings more than so much.
    fn worth_more(&mut self, best: Layout, brings: i64) -> Option<Layout> {
        let mut open = vec![Without {
            layout: best,
            keeps: Keeps::default(),
        }];
        loop {
            let worth = |one: &Without| one.layout.found.worth;
            let most = (0..open.len()).rev().max_by_key(|at| open.get(*at).map(worth));
            let one = open.swap_remove(most.filter(|_| self.runs > 0)?);
            if worth(&one) <= brings {
                return None;
            }
            let floor = match self.passes(one.layout.clone(), None) {
                Ok(layout) => return Some(layout),
                Err(Fault::Lies) => return None,
                Err(Fault::Layer { floor, .. }) => floor,
            };
            let mut next = Vec::new();
            if !one.keeps.apart && one.layout.found.close[0] > 0 {
                next.push(Keeps {
                    apart: true,
                    ..one.keeps.clone()
                });
            }
            next.extend(self.bar(&one, floor));
            for keeps in next {
                open.extend(self.over(&keeps).map(|layout| Without { layout, keeps }));
            }
        }
    }

    /// What keeps a layer from lying where it cannot be cut: the one on a floor, or the next one below.
    fn bar(&self, one: &Without, floor: Position) -> Option<Keeps> {
        let floor = one.layout.floors.iter().copied().find(|own| *own <= floor)?;
        let kerf = self.setup.mill.blade.kerf;
        let board = one
            .layout
            .boards
            .iter()
            .find(|board| board.height == floor + kerf)?;
        let advance = board.tall + kerf;
        let before = one
            .keeps
            .barred
            .iter()
            .filter(|bar| bar.advance == advance)
            .count();
        let floors = match AROUND.get(before) {
            Some(around) => (floor - *around, floor + *around),
            None => (Position::MIN, Position::MAX),
        };
        let mut keeps = one.keeps.clone();
        keeps.barred.push(Barred { advance, floors });
        (keeps.barred.len() <= BARRED_MAX).then_some(keeps)
    }
}
