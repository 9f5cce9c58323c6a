//! A job whose growth stress is high: what is done about it, and what is told of it.

use std::fs;
use std::path::Path;

use bunkside::account::care::{CAUTIONS, Care, Looked, straightens};
use bunkside::account::kerf_wedges::{most_in, wedged_kerfs};
use bunkside::account::totals::Totals;
use bunkside::command::Exit;
use bunkside::diagnostic::Source;
use bunkside::job::{self, GrowthStress, Job};
use bunkside::measure::System;
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::Traced;
use bunkside_planner::audit::Verdict;
use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::limits::HAND_PUSH;
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Pick;
use bunkside_protocol::{Act, Acts, Angle, Drive, Hold, Length, Move, Position};

use super::json::parsed;
use super::{example, folder, planned, quiet};

pub(super) fn read(name: &str) -> Job {
    let load = |path: &Path| fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
    let path = example(name);
    let text = load(Path::new(&path)).unwrap();
    let outcome = job::read(&Source::new(path, text), &load);
    outcome
        .job
        .clone()
        .unwrap_or_else(|| panic!("{}", outcome.rendered()))
}

/// The stressed beech log, as it is planned.
pub(super) fn with_beech<T>(use_it: impl FnOnce(&Planned<'_>) -> T) -> T {
    let job = read("e-09");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    use_it(&Planned::new(&job, &setup, &plan).unwrap())
}

fn is_cut(traced: &Traced) -> bool {
    matches!(traced.step.told, Move::Cut(_))
}

fn holds_for(traced: &Traced, act: Act) -> bool {
    matches!(traced.step.told, Move::Hold(hold) if hold.acts.contains(act))
}

fn height(traced: &Traced) -> Position {
    traced.step.before.height
}

#[test]
fn every_move_is_legal_and_the_knife_stays_on() {
    with_beech(|planned| {
        assert_ne!(planned.trace.verdict, Verdict::Refused);
        let found = &planned.trace.findings;
        assert!(found.iter().all(|one| one.rule == "falls-off"), "{found:?}");
        let mut cuts = planned.trace.moves.iter().filter(|traced| is_cut(traced));
        assert!(cuts.all(|cut| cut.step.before.knife));
    });
}

/// Where a layer is edged and then released, its kerfs come from the outermost of one side and of the other by turns.
#[test]
fn edging_goes_from_both_sides_by_turns() {
    with_beech(|planned| {
        let moves = &planned.trace.moves;
        let mut layers = 0;
        for layer in planned.plan.layers.iter().skip(1).take(2) {
            let mut columns: Vec<Position> = layer.columns.iter().filter_map(|column| column.to).collect();
            let upright = |traced: &&Traced| {
                is_cut(traced) && traced.step.before.angle == Angle::Upright && height(traced) == layer.floor
            };
            let cut: Vec<Position> = moves
                .iter()
                .filter(upright)
                .map(|cut| cut.step.before.across)
                .collect();
            assert_eq!(cut.len(), columns.len(), "{cut:?} {columns:?}");
            for (turn, across) in cut.iter().enumerate() {
                let next = if turn % 2 == 0 {
                    columns.remove(0)
                } else {
                    columns.pop().unwrap()
                };
                assert_eq!(*across, next, "turn {turn}");
            }
            layers += 1;
        }
        assert_eq!(layers, 2);
    });
}

/// The slab and every layer but the lowest: measured before anything else is cut, then straightened from edge to edge.
#[test]
fn what_is_left_is_measured_and_straightened_after_every_layer() {
    with_beech(|planned| {
        let moves = &planned.trace.moves;
        let floors: Vec<Position> = planned.plan.layers.iter().map(|layer| layer.floor).collect();
        let (lowest, above) = floors.split_last().unwrap();
        for floor in above {
            let sawn = |traced: &Traced| {
                is_cut(traced)
                    && height(traced) == *floor
                    && traced.step.cut.is_some_and(|facts| facts.met.is_some())
            };
            let last = moves.iter().rposition(sawn).unwrap();
            let measured = last
                + 1
                + moves[last + 1..]
                    .iter()
                    .position(|one| holds_for(one, Act::Measure) && !holds_for(one, Act::Unload))
                    .unwrap();
            assert!(moves[last + 1..measured].iter().all(|between| !is_cut(between)));
            let strokes: Vec<&Traced> = moves[measured..]
                .iter()
                .filter(|traced| is_cut(traced))
                .take_while(|cut| cut.step.cut.is_some_and(|facts| facts.met.is_none()))
                .collect();
            assert!(!strokes.is_empty(), "{floor}");
            let face = moves[measured].before.met(
                &planned.setup.shape,
                Block {
                    travel: Interval::ALL,
                    across: Interval::ALL,
                    height: Interval::new(*floor - Length::mm(1), *floor),
                },
                Pick::Body,
            );
            let face = face.unwrap().across;
            let mut reached = face.lo;
            for stroke in &strokes {
                assert!(straightens(planned.setup, stroke));
                assert_eq!((height(stroke), stroke.freed.len()), (*floor, 0));
                let rim = stroke.step.before.across;
                assert!(
                    rim > reached && rim - reached < Length::mm(165),
                    "{rim} {reached}"
                );
                reached = rim;
            }
            assert!(reached >= face.hi, "{reached} {}", face.hi);
        }
        assert!(
            moves
                .iter()
                .all(|one| height(one) != *lowest || !straightens(planned.setup, one))
        );
    });
}

#[test]
fn the_first_board_is_measured_as_it_is_unloaded() {
    with_beech(|planned| {
        let moves = &planned.trace.moves;
        let both = Acts::one(Act::Unload).and(Act::Measure);
        let at = moves
            .iter()
            .position(|one| one.step.told == Move::Hold(Hold { acts: both }))
            .unwrap();
        // The second column of the second layer; before it the slab in two and a strip of waste come off.
        let lying: Vec<u16> = moves[at]
            .before
            .pieces()
            .iter()
            .map(|piece| piece.serial)
            .collect();
        assert_eq!(lying, [4]);
    });
}

/// A kerf of 110.5 mm gets its wedges, one of 47.5 mm none; the blade stands.
#[test]
fn deep_edging_kerfs_are_wedged_with_the_blade_standing() {
    with_beech(|planned| {
        let moves = &planned.trace.moves;
        let mut wedged = 0;
        for (at, traced) in moves.iter().enumerate() {
            if !holds_for(traced, Act::WedgeKerf) {
                continue;
            }
            assert!(!traced.step.before.spinning, "move {at}");
            let cut = moves[..at].iter().rfind(|one| is_cut(one)).unwrap();
            assert_eq!(cut.step.before.angle, Angle::Upright);
            assert!(cut.step.cut.unwrap().bite > Length::mm(100));
            // It stands too while the carriage runs back over the wedges: it comes up to speed right before the next cut.
            let next = moves[at..].iter().position(is_cut).unwrap();
            let until = &moves[at..at + next];
            assert!(until.iter().all(|one| !one.step.before.spinning), "move {at}");
            assert_eq!(until.last().unwrap().step.told, Move::Spin(true));
            wedged += 1;
        }
        assert_eq!(wedged, 5);
    });
}

/// At each stop to wedge a kerf the time line tells the cut that it follows.
#[test]
fn a_dry_run_says_into_which_kerf_wedges_go() {
    let folder = planned("stressed-dry", "e-09");
    let line = format!("dry-run {{}}/moves.job --job {}", example("e-09"));
    let told = quiet(&folder, &line, Exit::Good);
    let (mut last, mut wedged) = ("", 0);
    for line in told.lines() {
        if let Some((_, cut)) = line.split_once("  cut ") {
            last = cut.split(':').next().unwrap();
        }
        if line.contains("hold: wedge kerf") {
            let words = format!("hold: wedge kerf; wedges go into the kerf of cut {last}");
            assert!(line.ends_with(&words), "{line}");
            wedged += 1;
        }
    }
    assert_eq!(wedged, 5);
}

/// Three wedges go into each kerf, which is as long as the log of 3.06 m: 0.3 m from either end, and halfway. They come out
/// where an unloading takes the wood away on one side, and no stroke meets them before that.
#[test]
fn cards_say_where_each_kerf_wedge_goes_and_when_it_comes_out() {
    let folder = planned("stressed-wedges", "e-09");
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    // The picture marks the wedges that are driven, not the next cut.
    let cards: Vec<&str> = report
        .split("<li id=\"step-")
        .filter(|card| card.contains("Into the upright kerf"))
        .collect();
    assert!(!cards.is_empty());
    for card in cards {
        assert!(
            card.contains("class=\"flow\"") && !card.contains("class=\"next\""),
            "{card}"
        );
    }
    with_beech(|planned| {
        let moves = &planned.trace.moves;
        let kerfs = wedged_kerfs(planned.setup, &planned.trace, System::Metric);
        let driven: Vec<usize> = kerfs.iter().map(|kerf| kerf.driven).collect();
        let holds: Vec<usize> = (0..moves.len())
            .filter(|at| holds_for(&moves[*at], Act::WedgeKerf))
            .collect();
        assert_eq!(driven, holds);
        for kerf in &kerfs {
            let out = kerf.out.unwrap();
            assert!(holds_for(&moves[out], Act::Unload) && out > kerf.driven);
            let cut = moves[kerf.cut].step;
            assert_eq!(
                (cut.before.angle, cut.before.across),
                (Angle::Upright, kerf.place())
            );
            let meets = |traced: &Traced| {
                let cut = traced.step.cut;
                cut.is_some_and(|facts| facts.kerf.overlaps(kerf.block))
            };
            assert!(!moves[kerf.driven..out].iter().any(meets));
            let places: Vec<i32> = kerf.places.iter().map(|place| place.as_um() / 1_000).collect();
            assert_eq!(places, [300, 1_550, 2_750]);
        }
        assert_eq!(most_in(&kerfs), 9);
    });
    assert_eq!(
        report
            .matches("3 wedges, 0.3 m, 1.55 m and 2.75 m from the log's near end")
            .count(),
        5
    );
    assert_eq!(report.matches("Take the 3 wedges out of").count(), 5);
    assert!(report.contains("Count them: now 9 wedges are in, in 3 kerfs."));
    assert!(report.contains("have 9 wedges ready"));
    assert_eq!(report.matches("no wedge is left in").count(), 2);
}

/// Where nobody asks for a blade that stands while pieces are taken away, it turns then and at no other hold; what it takes
/// to stop it then as well is what the same log takes more that is planned so, to the second.
#[test]
fn the_blade_turns_only_while_pieces_are_taken_away() {
    let mut job = read("e-09");
    let totals = |job: &Job| {
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(job, &setup).unwrap();
        let planned = Planned::new(job, &setup, &plan).unwrap();
        // Beside a turning blade whoever unloads is warned of it.
        let turns = !job.setting.stop_to_unload;
        let found = planned.trace.findings.iter();
        assert_ne!(planned.trace.verdict, Verdict::Refused);
        let turning = found.filter(|one| one.rule == "hold-parked").count();
        assert_eq!(turning > 0, turns);
        let unload = Move::Hold(Hold {
            acts: Acts::one(Act::Unload),
        });
        let mut turning = 0;
        for traced in &planned.trace.moves {
            let hold = matches!(traced.step.told, Move::Hold(_));
            if hold && traced.step.before.spinning {
                assert_eq!(traced.step.told, unload);
                turning += 1;
            }
        }
        let totals = Totals::of(&setup, &planned.trace);
        assert_eq!((totals.holds_turning, totals.unloads_turning), (turning, turning));
        totals
    };
    job.setting.stop_to_unload = true;
    let stopped = totals(&job);
    job.setting.stop_to_unload = false;
    let turning = totals(&job);
    assert_eq!((stopped.holds_turning, stopped.stopping_s), (0, 0.0));
    assert_eq!((turning.holds, turning.holds_turning), (21, 12));
    let longer = stopped.seconds.all - turning.seconds.all;
    assert!((turning.stopping_s - longer).abs() < 1e-6, "{longer}");
    let words = turning.holds_words();
    assert!(
        words.contains("12 of them beside a turning blade; to stop it to unload"),
        "{words}"
    );
}

#[test]
fn a_log_that_hardly_moves_is_left_in_peace() {
    let mut job = read("e-09");
    job.growth_stress = GrowthStress::Medium;
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    let calm = Planned::new(&job, &setup, &plan).unwrap();
    assert_eq!(Care::of(&job, &setup, &calm.trace), None);
    for (at, traced) in calm.trace.moves.iter().enumerate() {
        assert!(!straightens(&setup, traced), "move {at}");
        assert!(!holds_for(traced, Act::Measure) && !holds_for(traced, Act::WedgeKerf));
    }
}

/// Summary, JSON and report name the same moves as each other, and carry the cautions.
#[test]
fn it_is_told_everywhere_what_is_done_and_why() {
    let folder = planned("stressed", "e-09");
    let line = format!("plan {} -o {{}}", example("e-09"));
    let summary = quiet(&folder, &line, Exit::Good);
    let told = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let care = with_beech(|planned| Care::of(planned.job, planned.setup, &planned.trace).unwrap());
    assert_eq!(told["stress"], serde_json::to_value(&care).unwrap());
    assert_eq!(told["stress"]["growth_stress"], "high");
    assert_eq!(care.measure.len(), 4);
    assert_eq!(
        care.measure
            .iter()
            .filter(|look| look.of == Looked::Board)
            .count(),
        1
    );
    let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = joined(&report.replace('\u{a0}', " "));
    let words = care.lines();
    assert_eq!(words.len(), 5);
    for line in words {
        assert!(joined(&summary).contains(&line), "{line}");
        assert!(plain.contains(&line[1..]), "{line}");
    }
    for caution in CAUTIONS {
        assert!(
            joined(&summary).contains(caution) && plain.contains(caution),
            "{caution}"
        );
    }
    let before_the_steps = |words: &str| report.find(words).unwrap() < report.find("id=\"step-1\"").unwrap();
    assert!(
        before_the_steps("<h2 id=\"care\">Growth stress</h2>") && before_the_steps("Growth stress is high")
    );
    let calm = planned("stressed", "g-04");
    assert!(
        !fs::read_to_string(calm.join("report.html"))
            .unwrap()
            .contains("Growth stress")
    );
}

/// A straightening stroke is a step of its own in the report: the carriage does not run empty there.
#[test]
fn a_straightening_stroke_is_a_step() {
    let folder = planned("stressed-steps", "e-09");
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let strokes = with_beech(|planned| {
        Care::of(planned.job, planned.setup, &planned.trace)
            .unwrap()
            .straighten
            .len()
    });
    assert_eq!(report.matches("Straightens the face").count(), strokes);
}

#[test]
fn explain_tells_what_such_moves_are_for() {
    let folder = folder("stressed-explain");
    let care = with_beech(|planned| Care::of(planned.job, planned.setup, &planned.trace).unwrap());
    let answer = |at: usize| {
        let line = format!("explain {} {at} --json", example("e-09"));
        let told = parsed(&quiet(&folder, &line, Exit::Good), "bunkside-explain");
        told["answer"].as_str().unwrap().to_owned()
    };
    let starts = |at: usize, words: &str| {
        let answer = answer(at);
        assert!(answer.contains(words), "{answer}");
    };
    starts(
        care.straighten[0],
        "straightens a finished face: it takes what has risen of it",
    );
    starts(care.wedge_kerf[0], "holds to wedge the kerf of cut ");
    starts(
        care.wedge_kerf[0],
        ", and no other, so that it does not close on the blade",
    );
    for look in &care.measure {
        let words = match look.of {
            Looked::Board => "measure what came off, at both ends and in the middle",
            Looked::Face => "holds to measure what is left, along its face from end to end",
        };
        starts(look.at, words);
    }
}

/// The comparison is of the same work: on the hand carriage too the faces are straightened and the kerfs wedged.
#[test]
fn it_is_sawn_as_stressed_timber_by_hand_as_well() {
    with_beech(|planned| {
        let mut job = read("e-09");
        job.mill.drive = Drive::Hand { push: HAND_PUSH };
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let hand = Planned::new(&job, &setup, planned.plan).unwrap();
        let care = Care::of(&job, &setup, &hand.trace).unwrap();
        assert!(!care.straighten.is_empty() && !care.wedge_kerf.is_empty());
        let (seconds, _) = planned.by_hand().unwrap();
        assert!((seconds - hand.trace.seconds()).abs() < 1e-6, "{seconds}");
        job.growth_stress = GrowthStress::Medium;
        let calm = Planned::new(&job, &setup, planned.plan).unwrap();
        assert!(calm.trace.seconds() < seconds - 60.0, "{}", calm.trace.seconds());
    });
}

/// That the log takes less without it would be no advice: text and JSON say that no rule judges it.
#[test]
fn explain_does_not_advise_to_leave_such_moves_out() {
    let folder = folder("stressed-advice");
    let care = with_beech(|planned| Care::of(planned.job, planned.setup, &planned.trace).unwrap());
    let face = care.measure.iter().find(|look| look.of == Looked::Face).unwrap();
    for at in [care.straighten[0], care.wedge_kerf[0], face.at] {
        let line = format!("explain {} {at} --json", example("e-09"));
        let told = parsed(&quiet(&folder, &line, Exit::Good), "bunkside-explain");
        let answer = told["answer"].as_str().unwrap();
        assert!(
            answer.ends_with("none can see what stress does to the log."),
            "{answer}"
        );
        assert!(!answer.contains("the log takes"), "{answer}");
        let mut all = told["alternatives"].as_array().unwrap().iter();
        let left_out = all.find(|one| one["kind"] == "left-out").unwrap();
        assert_eq!(left_out["answer"], "not-judged");
        assert_eq!(left_out["note"], "none sees what stress does; keep it");
        assert!(left_out["seconds"].is_null() && left_out["same_pieces"].is_null());
        let out = quiet(&folder, &format!("explain {} {at}", example("e-09")), Exit::Good);
        assert!(
            out.contains("not judged: none sees what stress does; keep it"),
            "{out}"
        );
    }
}
