//! # free-piece
//!
//! **Guards** against struck and thrown pieces. **Trips when** blade or head, cutting or not, meets a piece that
//! lies free, bark counted, or the zone it falls into: on a side where nothing stands beside it, from the piece to
//! its width or its height beside the log, whichever is more, from the bed to its top. A free piece counts as sagged by one kerf. Either is
//! kept as far off as from wood that stands, by the clearance of blade and head: all around, in a cut above and below.
//! It trips as well when a cut is made less than 50 mm beside a free piece and no wood of the log stands between them
//! that holds the piece back: in every section over more than half of the heights they share, 3 mm thick or more, and so
//! thick that half the weight of the piece's box (10 N at least), leaning on its top at one place, moves it by no more than
//! 2 mm ([`Slender`]); what both kerfs may be off comes on top. **Clears when** a hold unloads it, or more wood stands between.
//! **Does not cover** the stroke that frees it; nor empty travel beside a piece; and low wood at its side keeps a piece from
//! falling there.

use bunkside_protocol::{Angle, Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::limits::LOOSE_APART;
use crate::machine::Apart;
use crate::stock::{Pick, Piece, Slender};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "free-piece",
    title: "no stroke meets a free piece before it is unloaded",
    reason: "the blade throws what it touches and nothing holds",
    basis: Basis::Physics,
    check,
};

const NOTE: &str = "unload the freed piece at a hold before this move";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let clearance = match step.told {
        // What is sawn beside it stands there: only over and under it the blade runs free.
        Move::Cut(_) => Apart {
            travel: Length::ZERO,
            across: Length::ZERO,
            ..situation.clearance()
        },
        Move::Go(_) | Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => situation.clearance(),
    };
    for piece in situation.before.pieces() {
        let zones = zones(situation, piece);
        let meets = |block: Block| {
            let kept = block.apart(clearance);
            zones.iter().flatten().any(|zone| zone.overlaps(kept))
        };
        let met = match step.told {
            Move::Go(_) | Move::Cut(_) => {
                situation.blade_meets(step, &meets, &mut { meets }).is_some()
                    || situation.head_meets(step, &mut { meets }).is_some()
            }
            Move::Swing(_) if step.before.angle != step.after.angle => {
                situation.swing_meets(step, &meets, &mut { meets }).is_some()
            }
            Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => false,
        };
        if met || cut_beside(situation, piece) {
            let serial = Measure::Piece(piece.serial);
            object(Objection::refuse(serial, Measure::State("unloaded"), NOTE));
        }
    }
}

/// Whether a cut is made near a free piece, with nothing of the body between that holds it.
fn cut_beside(situation: &Situation<'_>, piece: &Piece) -> bool {
    let Some((_, facts)) = situation.cut() else {
        return false;
    };
    let (kerf, wood) = (facts.kerf, piece.bounds);
    let gap = if wood.across.hi <= kerf.across.lo {
        Interval::new(wood.across.hi, kerf.across.lo)
    } else {
        Interval::new(kerf.across.hi, wood.across.lo)
    };
    let travel = wood.travel.meet(kerf.travel);
    let height = wood.height.meet(kerf.height);
    if gap.lo > gap.hi || gap.length() >= LOOSE_APART || travel.is_empty() || height.is_empty() {
        return false;
    }
    let between = Block {
        travel,
        across: gap,
        height,
    };
    let (setup, before) = (situation.setup, situation.before);
    let slender = Slender::between(setup.mill, Angle::Upright).leant_on(leans(setup.log.density, wood));
    !before.screens(&setup.shape, piece, between, slender)
}

/// How hard a piece leans on what stands beside it at most, newtons: with half the weight of its box, as one that has slid half
/// off what it lies on (our judgement, no source).
fn leans(density: u16, wood: Block) -> i64 {
    let [long, wide, high] =
        [wood.travel, wood.across, wood.height].map(|side| side.length().wide().max(0) / 1_000);
    let grams = long * wide * high / 1_000 * i64::from(density) / 1_000;
    grams * 981 / 200_000
}

/// Where a free piece lies, and where it may fall: entry side, exit side.
fn zones(situation: &Situation<'_>, piece: &Piece) -> [Option<Block>; 3] {
    let shape = &situation.setup.shape;
    let kerf = situation.setup.mill.blade.kerf;
    let log = shape.bounds();
    let wood = piece.bounds;
    let top = wood.height.hi + shape.bark();
    let lying = Block {
        travel: wood.travel,
        across: wood.across.grown(kerf - Length::um(1)),
        height: Interval::new(wood.height.lo - kerf, top),
    };
    let out = piece.falls_out();
    let falls = |side: Interval, zone: Interval| {
        let beside = Block { across: side, ..wood };
        let held = situation.before.touched(shape, beside, Pick::Any, false);
        held.is_none().then_some(Block {
            travel: wood.travel,
            across: zone,
            height: Interval::new(Position::ZERO, top),
        })
    };
    let entry = falls(
        Interval::new(Position::MIN, wood.across.lo),
        Interval::new(log.across.lo - out, wood.across.lo),
    );
    let exit = falls(
        Interval::new(wood.across.hi, Position::MAX),
        Interval::new(wood.across.hi, log.across.hi + out),
    );
    [Some(lying), entry, exit]
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Length};

    use crate::testing::{Case, Script, hand_mill};

    /// The slab of the usual log lies free, 183.932 mm wide where its kerf ends; the blade is at the near end.
    fn slab_lies() -> Script {
        let mut script = Script::opened();
        script.moves.pop();
        script
    }

    /// The first layer is begun while the slab still lies above it: the blade runs where the slab may slide down.
    pub(in crate::rules) fn example() -> Case {
        Case::usual(slab_lies().corner(0.0, 206.5).cut(4_530))
    }

    #[test]
    fn refuses_a_cut_in_the_fall_zone_and_permits_it_after_unloading() {
        let case = example();
        assert_eq!(case.refusals(), ["free-piece"]);
        assert_eq!(
            case.figures("free-piece").unwrap(),
            ("piece 1".into(), "unloaded".into())
        );
        let unloaded = slab_lies().unload().corner(0.0, 206.5).cut(4_530);
        assert_eq!(Case::usual(unloaded).refusals(), [""; 0]);
    }

    #[test]
    fn permits_what_passes_over_the_piece_and_its_bark() {
        let over = |bark: i32, height: f64| {
            let case = Case::usual(slab_lies().height(height).travel(4_530));
            case.in_bark(bark).refusals()
        };
        assert_eq!(over(0, 305.0), [""; 0]);
        assert_eq!(over(0, 304.9), ["free-piece"]);
        assert_eq!(over(5, 310.0), [""; 0]);
        assert_eq!(over(5, 309.9), ["free-piece"]);
    }

    /// Over it the blade keeps off at feed as at rapid, and by what the height is true to where that is more.
    #[test]
    fn no_stroke_comes_nearer_over_it_than_the_clearance() {
        let tried = |cut: bool, height: f64, tolerance: i32| {
            let over = slab_lies().height(height);
            let over = if cut { over.cut(4_530) } else { over.travel(4_530) };
            let mut case = Case::usual(over);
            case.mill.height.tolerance = Length::mm(tolerance);
            case.refusals().contains(&"free-piece")
        };
        for cut in [true, false] {
            assert!(tried(cut, 300.0, 1) && tried(cut, 304.9, 1) && !tried(cut, 305.0, 1));
            assert!(tried(cut, 307.9, 8) && !tried(cut, 308.0, 8));
        }
    }

    /// The piece's width beside the log on the exit side ends at 150 + 183.932 mm; the upright kerf is 5.5 mm wide, and 5 mm are
    /// kept.
    #[test]
    fn the_zone_is_one_piece_width_wide_beside_the_log() {
        let beside = |across: f64| {
            let script = slab_lies()
                .height(320.0)
                .swing(Angle::Upright)
                .corner(across, 320.0)
                .height(100.0)
                .travel(4_530);
            Case::usual(script).refusals()
        };
        assert_eq!(beside(344.5), [""; 0]);
        assert_eq!(beside(344.4), ["free-piece"]);
    }

    /// On the entry side it ends at -150 - 183.932 mm; the flat blade runs beyond it from its corner.
    #[test]
    fn the_zone_is_as_wide_on_the_entry_side() {
        let beside = |across: f64| {
            let script = slab_lies()
                .height(320.0)
                .corner(across, 320.0)
                .height(100.0)
                .travel(4_530);
            Case::usual(script).refusals()
        };
        assert_eq!(beside(-339.0), [""; 0]);
        assert_eq!(beside(-338.9), ["free-piece"]);
    }

    /// A piece on edge goes over: 31.1 mm wide and, where it is cut, 44.6 mm high, it comes down so
    /// far from the log, which ends at -150 mm; 5 mm are kept.
    #[test]
    fn the_zone_is_as_wide_as_a_piece_on_edge_is_high() {
        let beside = |across: f64| {
            let script = Script::opened()
                .corner(-100.0, 206.5)
                .cut(4_530)
                .swing(Angle::Upright)
                .cut(270);
            let script = script
                .height(320.0)
                .swing(Angle::Flat)
                .corner(across, 320.0)
                .height(100.0)
                .travel(4_530);
            Case::usual(script).refusals()
        };
        assert_eq!(beside(-199.7), [""; 0]);
        assert_eq!(beside(-199.5), ["free-piece"]);
    }

    /// The second column has a sawn entry edge, but nothing stands beside it any more: it may fall to that side.
    #[test]
    fn refuses_the_side_where_nothing_stands_beside_the_piece() {
        let second = Script::opened()
            .first_column()
            .swing(Angle::Flat)
            .corner(60.0, 206.5)
            .cut(4_530)
            .swing(Angle::Upright)
            .cut(270);
        let past = |script: Script| Case::usual(script.corner(-100.0, 215.0).travel(4_530));
        assert_eq!(past(second.clone()).refusals(), ["free-piece"]);
        assert_eq!(past(second.unload()).refusals(), [""; 0]);
    }

    /// Wood that stands beside a piece holds it: on the exit side of the first column the blade may work.
    #[test]
    fn permits_the_side_where_wood_stands() {
        let mut first = Script::opened().first_column();
        first.moves.pop();
        let script = first.corner(100.0, 215.0).cut(4_530);
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }

    /// The stroke that frees a piece meets it: that is no objection.
    #[test]
    fn permits_the_stroke_that_frees() {
        assert_eq!(Case::usual(slab_lies()).refusals(), [""; 0]);
    }

    /// Flat over the slab, 20 mm clear of it and 120 mm short of the log's end: a blade that swings under sweeps 116 mm
    /// below its corner; one that lies flat already sweeps nothing.
    #[test]
    fn refuses_a_swing_into_a_free_piece_and_permits_one_to_the_angle_it_has() {
        let swung = |angle: Angle| {
            let mut case = Case::usual(slab_lies().height(320.0).travel(480).swing(angle));
            let under = hand_mill();
            (case.mill.swing, case.mill.head) = (under.swing, under.head);
            case.refusals()
        };
        assert!(swung(Angle::Upright).contains(&"free-piece"));
        assert_eq!(swung(Angle::Flat), [""; 0]);
    }

    /// Nothing but the width of the kerf is between a freed column and the wood beside it.
    #[test]
    fn refuses_to_run_back_through_the_kerf_that_freed_it() {
        let mut script = Script::opened().first_column();
        script.moves.pop();
        assert_eq!(Case::usual(script.clone().cut(4_530)).refusals(), ["free-piece"]);
        assert_eq!(Case::usual(script.unload().cut(4_530)).refusals(), [""; 0]);
    }

    /// The kerf that freed the first column ends at 0; beside it, and 5 mm further, the blade touches nothing. A piece that
    /// sagged by one kerf could.
    #[test]
    fn a_piece_may_move_by_the_width_of_its_kerf() {
        let mut first = Script::opened().first_column();
        first.moves.pop();
        let met = |corner: f64| {
            let script = first.clone().corner(corner, 250.0).travel(4_530);
            Case::usual(script).refusals().contains(&"free-piece")
        };
        assert!(!met(10.5));
        assert!(met(10.498));
    }

    /// The same column, in a box of 131.1 by 51 mm: 16.8 kg of green wood, of which half leans with 82 N on what stands beside it,
    /// 51 mm high. That holds where its cube is 82 × 51² ÷ 500 mm³, so that it is 7.528 mm thick, and 0.4 mm more for both kerfs.
    #[test]
    fn only_wood_that_holds_the_loose_piece_screens_it_from_a_cut_beside_it() {
        let mut first = Script::opened().first_column();
        first.moves.pop();
        let cut = |fin: f64| {
            let beside = first.clone().corner(5.5 + fin, 206.5).cut(4_530);
            Case::usual(beside).refusals()
        };
        assert_eq!(cut(0.0), ["free-piece"]);
        assert_eq!(cut(7.9), ["free-piece"]);
        assert_eq!(cut(8.0), [""; 0]);
    }

    /// A light one pushes with 10 N: 3.73 mm and 0.4 mm.
    #[test]
    fn what_screens_a_light_piece_is_no_lath() {
        let mut first = Script::opened().first_column();
        first.moves.pop();
        let cut = |fin: f64| {
            let mut case = Case::usual(first.clone().corner(5.5 + fin, 206.5).cut(4_530));
            case.log.density = 50;
            // So light a log does not lie still.
            case.refusals().contains(&"free-piece")
        };
        assert!(cut(4.1));
        assert!(!cut(4.2));
    }

    /// Kerf beside kerf opens a gap before the column is freed; the next one leaves so much air to the column.
    #[test]
    fn permits_a_cut_fifty_millimetres_beside_a_loose_piece() {
        let refused = |air: f64| {
            let edge = air - 5.5;
            let mut script = Script::opened().swing(Angle::Upright);
            for (far, kerf) in [4_530, 270].iter().cycle().zip(0..9) {
                script = script.corner(5.5 * f64::from(kerf), 206.5).cut(*far);
            }
            let script = script
                .corner(edge, 206.5)
                .cut(270)
                .swing(Angle::Flat)
                .corner(0.0, 206.5);
            let script = script
                .cut(4_530)
                .swing(Angle::Upright)
                .corner(edge + 5.5, 206.5)
                .cut(270);
            Case::usual(script).refusals().contains(&"free-piece")
        };
        assert!(!refused(50.0));
        assert!(refused(49.9));
    }

    /// Two columns are released together and stay where they are, the second with one beside it on either side. Back in
    /// the kerf under them the blade meets both: they have come down on it.
    #[test]
    fn refuses_to_run_back_under_each_piece_that_lies_on_the_kerf() {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(-30.0, 206.5)
            .cut(4_530)
            .corner(30.0, 206.5)
            .cut(270)
            .travel_by_air(4_530)
            .swing(Angle::Flat)
            .corner(30.0, 206.5)
            .release(270)
            .cut(4_530);
        let case = Case::usual(script);
        let found = case.script.findings(&case.mill, &case.log);
        let pieces: std::vec::Vec<_> = found
            .iter()
            .filter(|finding| finding.rule == "free-piece")
            .map(|finding| std::format!("{}", finding.objection.measured))
            .collect();
        assert_eq!(pieces, ["piece 2", "piece 3"]);
    }

    /// The upright blade passes outside the fall zone; its head stands from 211 mm over the corner on, on the exit
    /// side, over the log. The slab's top lies at 300 mm, and 5 mm are kept.
    #[test]
    fn refuses_the_head_in_a_free_piece() {
        let past = |height: f64| {
            let script = slab_lies()
                .height(320.0)
                .swing(Angle::Upright)
                .corner(-340.0, 320.0)
                .height(height)
                .travel(4_530);
            Case::usual(script).refusals()
        };
        assert_eq!(past(94.0), [""; 0]);
        assert_eq!(past(93.9), ["free-piece"]);
    }
}
