//! What a stroke would let drop, or where its rim would stand out.

use bunkside_protocol::Angle;

use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::Block;
use crate::physics::falling;
use crate::replay::{Setup, Step};
use crate::stock::{Piece, Stock};

impl Sequencer<'_, '_> {
    /// Refuses a cut that has let a heavy piece drop or tip, freed one that topples, or laid too much on the blade, or would have,
    /// had a thread broken by which it hangs.
    pub(super) fn lets_nothing_fall(&mut self, step: &Step) -> Done {
        let Some(cut) = &step.cut else { return Ok(()) };
        let (setup, angle) = (self.setup, step.before.angle);
        let told = |stock: &Stock, freed: usize| fallen(setup, stock, angle, cut.kerf, stock.newest(freed));
        let stock = self.replay.stock();
        let mut one = told(stock, usize::from(cut.freed));
        if one.is_none() && stock.is_in_doubt() {
            let freed = self
                .replay
                .had_broken(cut.kerf)
                .map_err(PlanErrorKind::NotJudged)?;
            one = told(self.replay.previous(), freed);
        }
        one.map_or(Ok(()), Err)
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

/// What is wrong with how pieces come free in a stroke.
fn fallen(
    setup: &Setup<'_>,
    stock: &Stock,
    angle: Angle,
    kerf: Block,
    freed: &[Piece],
) -> Option<PlanErrorKind> {
    let stands = freed.iter().filter_map(Piece::topples);
    if let Some((high, most)) = stands.max_by_key(|(high, most)| *high - *most) {
        return Some(PlanErrorKind::Topples { high, most });
    }
    let each = falling::worst_each_way(setup, stock, angle, freed);
    let falls = falling::worst(setup, angle, each).filter(|one| one.is_refused(setup, angle));
    if let Some(one) = falls {
        let (tenths, over) = (falling::tenths(one.mass_kg), one.over);
        return Some(if one.drops_too_heavy(setup, angle) {
            PlanErrorKind::WouldFall {
                tenths,
                over,
                edged: false,
            }
        } else {
            PlanErrorKind::WouldTip {
                tenths,
                over,
                most: setup.mill.loose.tips,
            }
        });
    }
    let laid = if angle == Angle::Flat {
        falling::laid_on_blade(setup, stock, kerf, freed)
    } else {
        None
    };
    laid.map(|mass| PlanErrorKind::OnBlade {
        tenths: falling::tenths(mass),
        most: setup.mill.loose.on_blade,
    })
}
