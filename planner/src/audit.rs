//! The auditor: sees moves, mill and log, and nothing of any plan.

use bunkside_protocol::Move;

use crate::replay::{Replay, Setup, Step};
use crate::rules::{End, Finding, History, Moment, RULES, Rule, Scene, Severity, judge};
use crate::stock::Stock;

/// The outcome of an audit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// No rule objects.
    Pass,
    /// Rules warn; none refuses.
    Warned,
    /// A rule refuses, or a move could not be judged.
    Refused,
}

/// Runs a sequence and lets every rule judge every move.
///
/// `watch` sees each step with the stock before and after it, in the first of the worlds that are judged; `find`
/// sees every finding, and may see the same one again where a stroke's end is in doubt and both outcomes are judged.
/// After a move that cannot be judged nothing further is replayed. What only the end tells is found at the last
/// move, or at the stroke that it is about.
///
/// The moves are gone through once to find the lowest cut and once for each world, and none is kept, so that an
/// iterator may decode them as it goes.
pub fn audit(
    setup: &Setup<'_>,
    moves: impl Iterator<Item = Move> + Clone,
    watch: &mut dyn FnMut(&Step, &Stock, &Stock),
    find: &mut dyn FnMut(Finding),
) -> Verdict {
    audit_by(RULES, setup, moves, watch, find)
}

/// The same by rules in another order, or fewer of them.
pub(crate) fn audit_by(
    rules: &[Rule],
    setup: &Setup<'_>,
    moves: impl Iterator<Item = Move> + Clone,
    watch: &mut dyn FnMut(&Step, &Stock, &Stock),
    find: &mut dyn FnMut(Finding),
) -> Verdict {
    let mut worst: Option<Severity> = None;
    let mut note = |finding: Finding| {
        worst = worst.max(Some(finding.objection.severity));
        find(finding);
    };
    // Another outcome of one stroke may put another stroke in doubt: the worlds to be judged grow on the way.
    let mut doubts = run(rules, setup, moves.clone(), 0, watch, &mut note);
    let mut assumed = 1;
    while assumed < 1u8 << doubts {
        let unwatched = &mut |_: &Step, _: &Stock, _: &Stock| {};
        doubts = doubts.max(run(rules, setup, moves.clone(), assumed, unwatched, &mut note));
        assumed += 1;
    }
    match worst {
        None => Verdict::Pass,
        Some(Severity::Warn) => Verdict::Warned,
        Some(Severity::Refuse) => Verdict::Refused,
    }
}

/// Runs one world; answers how many strokes in it had an end in doubt.
fn run(
    rules: &[Rule],
    setup: &Setup<'_>,
    moves: impl Iterator<Item = Move> + Clone,
    assumed: u8,
    watch: &mut dyn FnMut(&Step, &Stock, &Stock),
    find: &mut dyn FnMut(Finding),
) -> u8 {
    let mut history = History::new(History::lowest_cut(moves.clone()));
    let mut replay = Replay::new(setup, assumed);
    let mut last = 0;
    for told in moves {
        let step = replay.step(&told);
        last = step.index;
        let scene = Scene {
            setup,
            moment: Moment::Move(&step),
            before: replay.previous(),
            after: replay.stock(),
        };
        judge(rules, &scene.with(&history), find);
        watch(&step, replay.previous(), replay.stock());
        history.note(&scene);
        if step.not_judged.is_some() {
            return replay.doubts();
        }
    }
    let end = End {
        index: last,
        pose: *replay.pose(),
    };
    let scene = Scene {
        setup,
        moment: Moment::End(&end),
        before: replay.stock(),
        after: replay.stock(),
    };
    judge(rules, &scene.with(&history), find);
    replay.doubts()
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::Angle;

    use super::*;
    use crate::testing::{Case, Script, hand_mill, powered_mill, round_log};

    /// A slab homebound, then a layer of two columns taken, each flat outbound and upright homebound, the way a
    /// powered mill that swings over works. Common practice, no source.
    fn slab_and_layer() -> Script {
        Script::opened()
            .first_column()
            .swing(Angle::Flat)
            .corner(0.0, 320.0)
            .travel(4_530)
            .corner(140.0, 206.5)
            .cut(270)
            .unload()
            .with(Move::Spin(false))
    }

    #[test]
    fn a_usual_start_passes() {
        let (mill, log) = (powered_mill(), round_log(300, 3_600));
        let script = slab_and_layer();
        let setup = Setup::new(&mill, &log).unwrap();
        let mut freed = std::vec::Vec::new();
        let mut warned = std::vec::Vec::new();
        let verdict = audit(
            &setup,
            script.moves.iter().copied(),
            &mut |step, _, after| {
                let count = step.cut.map_or(0, |facts| usize::from(facts.freed));
                freed.extend(
                    after
                        .pieces()
                        .iter()
                        .rev()
                        .take(count)
                        .map(|piece| (step.index, piece.serial)),
                );
            },
            &mut |finding| warned.push((finding.index, finding.rule)),
        );
        assert_eq!(freed, [(4, 1), (9, 2), (15, 3)]);
        // Each unloading is within an arm's reach of the blade.
        let near = [5, 10, 16].map(|hold| (hold, "hold-parked"));
        let mut expected = near.to_vec();
        expected.insert(1, (7, "knife"));
        assert_eq!(warned, expected);
        assert_eq!(verdict, Verdict::Warned);
    }

    /// By hand every stroke is a forward one: the slab comes off outbound, with the operator clear of it, then the
    /// layer's first column flat outbound and upright homebound. Common practice, no source.
    #[test]
    fn a_usual_start_by_hand_passes() {
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(100.0, 263.0)
            .cut(4_530)
            .unload()
            .travel_by_air(270)
            .corner(0.0, 206.5)
            .cut(4_530)
            .swing(Angle::Upright)
            .cut(270)
            .unload();
        let case = Case::new(hand_mill(), round_log(300, 3_600), script);
        assert_eq!(case.refusals(), [""; 0]);
        assert_eq!(case.warnings(), ["knife", "release-climb"]);
    }

    /// A flat stroke that stops a tenth of a millimetre short of the log's end, on rails that are true to two
    /// tenths: perhaps the upright one after it frees the column, perhaps not.
    fn in_doubt() -> Script {
        Script::opened()
            .corner(0.0, 206.5)
            .cut_to(4_199.9)
            .cut(270)
            .travel_by_air(4_530)
            .swing(Angle::Upright)
            .corner(0.0, 206.5)
            .cut(270)
            .travel_by_air(4_530)
            .corner(-60.0, 220.0)
    }

    #[test]
    fn both_outcomes_of_a_stroke_in_doubt_are_judged() {
        let inside = |script: Script| Case::usual(script.travel(270)).refusals();
        // Over the column: where it came free, the blade runs through a free piece, else through the log.
        let doubtful = inside(in_doubt());
        assert!(
            doubtful.contains(&"free-piece") && doubtful.contains(&"move-clear"),
            "{doubtful:?}"
        );
        let mut through = in_doubt();
        let Move::Cut(cut) = &mut through.moves[7] else {
            panic!("the flat stroke")
        };
        cut.to = crate::testing::stroke(4_530.0).to;
        assert_eq!(inside(through), ["free-piece"]);
    }

    #[test]
    fn more_strokes_in_doubt_than_can_be_judged_both_ways_are_refused() {
        let mut script = Script::opened();
        for height in [150.0, 165.0, 180.0, 195.0] {
            assert!(!Case::usual(script.clone()).refusals().contains(&"not-judged"));
            script = script.corner(0.0, height).cut_to(4_199.9).cut(270);
        }
        assert!(Case::usual(script).refusals().contains(&"not-judged"));
    }
}
