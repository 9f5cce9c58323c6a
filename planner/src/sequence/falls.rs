//! What a stroke would let drop, or where its rim would stand out.

use bunkside_protocol::Angle;

use super::{Done, PlanErrorKind, Sequencer};
use crate::physics::falling;
use crate::replay::Step;
use crate::stock::Stock;

impl Sequencer<'_, '_> {
    /// Refuses an upright cut that has let a heavy piece drop, or would have, had a thread broken by which it hangs.
    pub(super) fn lets_nothing_fall(&mut self, step: &Step) -> Done {
        let (Some(cut), Angle::Upright) = (&step.cut, step.before.angle) else {
            return Ok(());
        };
        let stock = self.replay.stock();
        let dropped = |stock: &Stock, freed: usize| {
            let worst = falling::worst(self.setup, stock, stock.newest(freed));
            worst.filter(|one| one.drops)
        };
        let mut one = dropped(stock, usize::from(cut.freed));
        if one.is_none() && stock.is_in_doubt() {
            let freed = self
                .replay
                .had_broken(cut.kerf)
                .map_err(PlanErrorKind::NotJudged)?;
            one = dropped(self.replay.previous(), freed);
        }
        match one {
            Some(one) => Err(PlanErrorKind::WouldFall {
                tenths: one.tenths(),
                over: one.over,
                edged: false,
            }),
            None => Ok(()),
        }
    }

    /// Refuses a flat stroke that runs through whose rim stands too far out.
    pub(super) fn keeps_its_rim(&self, step: &Step) -> Done {
        let limit = self.setup.mill.clearances.rim_overhang;
        let out = step.cut.as_ref().and_then(|cut| cut.overhang);
        match out.filter(|out| *out > limit) {
            Some(out) => Err(PlanErrorKind::RimOut {
                out,
                limit,
                enough: self.faces().beyond(),
            }),
            None => Ok(()),
        }
    }
}
