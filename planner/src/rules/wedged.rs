//! Kerfs that hold wedges, as far as the moves tell.
//!
//! No move says into which kerf a wedge goes: it counts as driven into every kerf cut since the hold before that has wood on
//! both sides, all along and from its mouth down to one kerf and 10 mm short of its bottom, where a release may run in under it.
//! It stays until an unloading leaves no wood on one side.

use bunkside_protocol::{Act, Acts, Angle, Length, Move};

use super::Scene;
use crate::geometry::{Block, Interval};
use crate::limits::{BESIDE, WEDGE_APART, WEDGED_MAX};
use crate::stock::Pick;

/// The kerfs that hold wedges, and those that a wedge may go into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Wedged {
    /// Filled from the front.
    kerfs: [Option<Kerf>; WEDGED_MAX],
    /// Whether kerfs were cut since the last hold that there was no room for.
    full: bool,
    /// Whether there has been a hold since the last stroke.
    held: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Kerf {
    angle: Angle,
    /// The kerf within the log, less its bottom once it holds a wedge.
    block: Block,
    wedged: bool,
}

impl Default for Wedged {
    fn default() -> Self {
        Self::NONE
    }
}

impl Wedged {
    pub(super) const NONE: Self = Self {
        kerfs: [None; WEDGED_MAX],
        full: false,
        held: false,
    };

    /// Whether more kerfs were cut since the last hold than can be kept: nobody can say which of them a wedge goes into.
    pub(super) const fn is_full(&self) -> bool {
        self.full
    }

    /// What wedges fill of the kerfs that hold some, and how the blade stood that cut each.
    pub(super) fn driven(&self) -> impl Iterator<Item = (Angle, Block)> {
        let wedged = self.kerfs.iter().flatten().filter(|kerf| kerf.wedged);
        wedged.map(|kerf| (kerf.angle, kerf.block))
    }

    /// Whether a box meets a wedge.
    pub(super) fn meets(&self, block: Block) -> bool {
        self.driven().any(|(_, wedge)| wedge.overlaps(block))
    }

    /// Takes note of a move that has been judged.
    pub(super) fn note(&mut self, scene: &Scene<'_>) {
        let Some(step) = scene.step() else { return };
        match (step.told, &step.cut) {
            (Move::Cut(_), Some(facts)) => {
                let log = scene.setup.shape.bounds();
                self.cut(step.before.angle, within(facts.kerf, log));
            }
            (Move::Hold(hold), _) => self.hold(scene, hold.acts),
            _ => {}
        }
    }

    fn cut(&mut self, angle: Angle, block: Block) {
        if self.held {
            self.keep(|kerf| kerf.wedged);
            (self.held, self.full) = (false, false);
        }
        if block.is_empty() {
            return;
        }
        // A deeper pass of a kerf holds the one before.
        self.keep(|kerf| kerf.wedged || kerf.angle != angle || kerf.block.join(block) != block);
        match self.kerfs.iter_mut().find(|slot| slot.is_none()) {
            Some(slot) => {
                *slot = Some(Kerf {
                    angle,
                    block,
                    wedged: false,
                });
            }
            None => self.full = true,
        }
    }

    fn hold(&mut self, scene: &Scene<'_>, acts: Acts) {
        self.held = true;
        if acts.contains(Act::Unload) {
            self.keep(|kerf| !kerf.wedged || kerf.between(scene).is_some());
        }
        if acts.contains(Act::WedgeKerf) {
            for kerf in self.kerfs.iter_mut().flatten().filter(|kerf| !kerf.wedged) {
                kerf.drive(scene);
            }
        }
    }

    /// Keeps some, in their order.
    fn keep(&mut self, mut keeps: impl FnMut(&Kerf) -> bool) {
        let mut kept = 0;
        for place in 0..WEDGED_MAX {
            let Some(kerf) = self.kerfs.get_mut(place).and_then(Option::take) else {
                break;
            };
            if !keeps(&kerf) {
                continue;
            }
            if let Some(slot) = self.kerfs.get_mut(kept) {
                *slot = Some(kerf);
            }
            kept += 1;
        }
    }
}

impl Kerf {
    /// Drives a wedge in, where wood stands on both sides.
    fn drive(&mut self, scene: &Scene<'_>) {
        let short = Self {
            block: self.above_bottom(scene.setup.mill.blade.kerf + WEDGE_APART),
            ..*self
        };
        if let Some(wood) = short.between(scene) {
            *self = Self {
                block: within(short.block, wood),
                wedged: true,
                ..short
            };
        }
    }

    fn above_bottom(&self, short: Length) -> Block {
        let Block { across, height, .. } = self.block;
        match self.angle {
            Angle::Flat => Block {
                across: Interval::new(across.lo, across.hi - short),
                ..self.block
            },
            Angle::Upright => Block {
                height: Interval::new(height.lo + short, height.hi),
                ..self.block
            },
        }
    }

    /// The box around the wood just beside it, the kerf between included; none where it has none on one side.
    fn between(&self, scene: &Scene<'_>) -> Option<Block> {
        let beside = |stretch: Interval| {
            [
                Interval::new(stretch.lo - BESIDE, stretch.lo),
                Interval::new(stretch.hi, stretch.hi + BESIDE),
            ]
        };
        let block = self.block;
        let [one, other] = match self.angle {
            Angle::Flat => beside(block.height).map(|height| Block { height, ..block }),
            Angle::Upright => beside(block.across).map(|across| Block { across, ..block }),
        };
        let wood = |side| scene.after.met(&scene.setup.shape, side, Pick::Any);
        Some(wood(one)?.join(wood(other)?))
    }
}

fn within(block: Block, other: Block) -> Block {
    Block {
        travel: block.travel.meet(other.travel),
        across: block.across.meet(other.across),
        height: block.height.meet(other.height),
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Act, Angle, Move};

    use crate::testing::{Case, Script};

    /// Over the opened log an upright kerf, 206.5 mm over the bed at its bottom, with the blade past the far end.
    fn edged() -> Script {
        Script::opened()
            .swing(Angle::Upright)
            .corner(-30.0, 206.5)
            .cut(4_530)
    }

    fn wedge(script: Script) -> Script {
        let stopped = script.with(Move::Spin(false)).hold(&[Act::WedgeKerf]);
        stopped.with(Move::Spin(true))
    }

    fn refuses(script: Script) -> bool {
        Case::usual(script).refusals().contains(&"bed-clear")
    }

    #[test]
    fn refuses_a_stroke_through_a_wedged_kerf_and_permits_it_unwedged() {
        let back = Case::usual(wedge(edged()).cut(270));
        assert_eq!(back.refusals(), ["bed-clear"]);
        let figures = back.figures("bed-clear").unwrap();
        assert_eq!(figures, ("at a wedge in a kerf".into(), "clear of it".into()));
        assert_eq!(Case::usual(edged().cut(270)).refusals(), [""; 0]);
        // Deeper, it is the same kerf.
        assert!(refuses(wedge(edged()).corner(-30.0, 190.0).cut(270)));
        assert!(!refuses(edged().corner(-30.0, 190.0).cut(270)));
    }

    /// The kerf is 5.5 mm wide: what stands 5.5 mm beside it, and a flat one that leaves 10 mm up to the tips, meet no wedge.
    #[test]
    fn permits_what_runs_beside_a_wedge_and_under_it_and_refuses_what_comes_nearer() {
        let beside = |across: f64| refuses(wedge(edged()).corner(across, 206.5).cut(270));
        assert!(!beside(-24.5) && beside(-24.6));
        assert!(!beside(-35.5) && beside(-35.4));
        let under = |height: f64| {
            let script = wedge(edged()).height(320.0).swing(Angle::Flat);
            refuses(script.corner(60.0, height).cut(270))
        };
        assert!(!under(216.5) && under(216.501));
        // The face of the opened log lies 263 mm high, and there the wedge ends.
        assert!(!under(263.0) && under(262.9));
    }

    #[test]
    fn refuses_every_kerf_since_the_hold_before_and_permits_earlier_ones() {
        let second = |script: Script| script.corner(30.0, 206.5).cut(270);
        let into = |script: Script, across: f64| refuses(script.corner(across, 206.5).cut(4_530));
        let both = wedge(second(edged()));
        assert!(into(both.clone(), -30.0) && into(both, 30.0));
        let last = wedge(second(edged().hold(&[Act::Sweep])).hold(&[Act::Measure]));
        assert!(!into(last.clone(), -30.0) && into(last, 30.0));
        let each = wedge(second(wedge(edged())));
        assert!(into(each.clone(), -30.0) && into(each, 30.0));
    }

    /// A wedge stays where it is when a stroke has gone through it, and when something else is unloaded.
    #[test]
    fn refuses_every_stroke_through_a_wedge_and_so_after_an_unloading_elsewhere() {
        let case = Case::usual(wedge(edged()).cut(270).cut(4_530).cut(270));
        let found = case.script.findings(&case.mill, &case.log);
        let through = found.iter().filter(|finding| finding.rule == "bed-clear");
        assert_eq!(through.count(), 3);
        assert!(refuses(wedge(edged()).unload().cut(270)));
        assert!(!refuses(edged().unload().cut(270)));
    }

    /// Forty-one passes of one kerf, each a little deeper, are one kerf.
    #[test]
    fn permits_more_passes_of_one_kerf_than_kerfs_that_can_be_told_apart() {
        let script = Script::opened().swing(Angle::Upright);
        let deeper = (0..41).fold(script, |script, pass: u32| {
            let end = if pass.is_multiple_of(2) { 4_530 } else { 270 };
            script.corner(-30.0, 260.0 - f64::from(pass)).cut(end)
        });
        assert!(refuses(wedge(deeper.clone()).cut(270)));
        let beside = wedge(deeper).travel_by_air(270);
        assert!(!refuses(beside.corner(30.0, 206.5).cut(4_530)));
    }

    /// A flat kerf from the entry side, wedged, bars the upright one that meets it more than 10 mm short of its bottom.
    #[test]
    fn refuses_to_edge_into_a_wedged_flat_kerf_and_permits_it_at_its_bottom() {
        let edge = |across: f64| {
            let flat = Script::opened().corner(0.0, 206.5).cut(4_530);
            refuses(wedge(flat).swing(Angle::Upright).corner(across, 206.5).cut(270))
        };
        assert!(!edge(0.0) && !edge(-10.0) && edge(-10.1));
    }

    /// With the column on its entry side unloaded, the wedge has fallen out.
    #[test]
    fn permits_the_place_once_the_wood_beside_it_is_unloaded() {
        let released = |acts: &[Act]| {
            let script = wedge(edged()).height(320.0).swing(Angle::Flat);
            let script = script.corner(-30.0, 206.5).release(270).hold(acts);
            let over = script.travel_by_air(4_530).swing(Angle::Upright);
            refuses(over.corner(-30.0, 206.5).cut(270))
        };
        assert!(released(&[Act::Sweep]) && !released(&[Act::Unload]));
    }

    #[test]
    fn refuses_wedges_where_more_kerfs_are_open_than_can_be_told_apart() {
        let open = |count: u32| {
            let script = Script::opened().swing(Angle::Upright);
            let grooved = (0..count).fold(script, |script, number| {
                let end = if number % 2 == 0 { 4_530 } else { 270 };
                script.corner(-88.0 + 4.0 * f64::from(number), 250.0).cut(end)
            });
            refuses(wedge(grooved))
        };
        assert!(!open(40) && open(41));
    }
}
