//! What only a job knows of its sequence: that the timber moves, and that the blade stands while somebody unloads.

use std::fs;

use bunkside::account::care::Care;
use bunkside::account::wanted::{STOP, STRESS, Wanted};
use bunkside::command::Exit;
use bunkside::job::{GrowthStress, Job};
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::{Trace, Traced};
use bunkside_planner::audit::Verdict;
use bunkside_planner::plan::Use;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::Severity;
use bunkside_protocol::{Act, Acts, Hold, Length, Move};

use super::stressed::{read, with_beech};
use super::{JOBS, call, example, folder, quiet};

/// What is missed of a job's wishes: rule, move and what was found.
fn missed(job: &Job, setup: &Setup<'_>, moves: &[Move]) -> Vec<(&'static str, u16, String)> {
    let trace = Trace::run(setup, moves);
    let findings = Wanted::of(job).missed(setup, &trace);
    findings
        .iter()
        .map(|one| {
            let severity = if one.rule == STOP {
                Severity::Refuse
            } else {
                Severity::Warn
            };
            assert_eq!(one.objection.severity, severity);
            (one.rule, one.index, one.objection.measured.to_string())
        })
        .collect()
}

/// The same hold without an act; none where nothing is left to do.
fn without(told: Move, act: Act) -> Option<Move> {
    let Move::Hold(hold) = told else { return Some(told) };
    let rest = hold.acts.iter().filter(|one| *one != act);
    let acts = rest.fold(Acts::default(), Acts::and);
    (!acts.is_empty()).then_some(Move::Hold(Hold { acts }))
}

fn holds_for(told: &Move, act: Act) -> bool {
    matches!(told, Move::Hold(hold) if hold.acts.contains(act))
}

/// Whatever is planned for a stressed log does all that its job asks, on every mill.
#[test]
fn what_is_planned_misses_nothing() {
    for name in JOBS.into_iter().chain(["e-09"]) {
        let mut job = read(name);
        job.growth_stress = GrowthStress::High;
        job.setting.stop_to_unload = true;
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        assert_eq!(missed(&job, &setup, &planned.moves), [], "{name}");
    }
}

/// An act that is left out at one hold is missed there, and nothing else is.
#[test]
fn every_wedge_and_every_measuring_left_out_is_told() {
    with_beech(|planned| {
        let mut found = Vec::new();
        for act in [Act::WedgeKerf, Act::Measure] {
            for (at, told) in planned.moves.iter().enumerate() {
                if !holds_for(told, act) {
                    continue;
                }
                let mut moves = planned.moves.clone();
                // The number of every move stays.
                moves[at] = without(*told, act).unwrap_or(Move::Spin(false));
                let missed = missed(planned.job, planned.setup, &moves);
                assert_eq!(missed.len(), 1, "move {at}: {missed:?}");
                let (rule, index, words) = missed[0].clone();
                assert_eq!(rule, STRESS);
                // The kerf was cut before the hold; what is measured is missed there or at a later move.
                assert_eq!(
                    usize::from(index) < at,
                    act == Act::WedgeKerf,
                    "move {at}: {index}"
                );
                found.push(words);
            }
        }
        let count = |words: &str| found.iter().filter(|one| one.contains(words)).count();
        let counted = [
            count("of open kerf"),
            count("first board not measured"),
            count("face not measured"),
        ];
        assert_eq!((counted, found.len()), ([5, 1, 3], 9));
    });
}

#[test]
fn a_face_that_is_not_straightened_is_told() {
    with_beech(|planned| {
        let care = Care::of(planned.job, planned.setup, &planned.trace).unwrap();
        let mut moves = planned.moves.clone();
        for at in care.straighten {
            if let Move::Cut(cut) = moves[at] {
                moves[at] = Move::Go(cut.to);
            }
        }
        let missed = missed(planned.job, planned.setup, &moves);
        let words: Vec<&str> = missed.iter().map(|(_, _, words)| words.as_str()).collect();
        assert_eq!(words, ["a face not straightened"; 3]);
    });
}

/// The oak, edged and released as if it lay still: from the entry side on.
#[test]
fn edging_from_one_side_is_told() {
    let mut job = read("oak-14");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    let calm = Planned::new(&job, &setup, &plan).unwrap().moves;
    assert_eq!(missed(&job, &setup, &calm), []);
    let log = job.log.clone();
    job.growth_stress = GrowthStress::High;
    let setup = Setup::new(&job.mill, &log).unwrap();
    let told = missed(&job, &setup, &calm);
    assert!(
        told.iter().any(|(_, _, words)| words == "edged from one side"),
        "{told:?}"
    );
}

/// A redcedar whose first strip of waste comes off in a pass of its own, and a white oak whose upright kerfs take two passes.
#[test]
fn own_plans_of_stressed_logs_do_what_is_asked() {
    let folder = folder("wanted-own");
    let mill = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/powered-165.toml");
    for (log, setting, boards) in [
        (
            "species = \"western redcedar\"\nlength = \"3 m\"\nsmall_end = \"140 mm\"\nbutt = \"140 mm\"\nbark = \"0 mm\"\n\
             end_trim = \"0 mm\"",
            "near_end_at = \"0.2 m\"\noffset = \"120 mm\"\nlevel = \"centre\"",
            "thickness = \"18 mm\"\nwidth = \"100 mm\"\nlengths = [\"2.95 m\"]",
        ),
        (
            "species = \"white oak\"\nlength = \"3 m\"\nsmall_end = \"330 mm\"\nbutt = \"340 mm\"\nbark = \"12 mm\"\n\
             end_trim = \"10 mm\"",
            "near_end_at = \"0.5 m\"\noffset = \"-40 mm\"\nlevel = \"bottom\"",
            "thickness = \"100 mm\"\nwidth = \"40 mm\"\nlengths = [\"2.65 m\"]",
        ),
    ] {
        let text = format!(
            "mill = \"{mill}\"\n[log]\nname = \"S\"\nstate = \"fresh\"\nbutt_at = \"near\"\n{log}\ngrowth_stress = \"high\"\n\
             [setting]\nbed_clearance = \"25 mm\"\n{setting}\n[[board]]\nname = \"b\"\n{boards}\nprice = {{ each = 3 }}\n"
        );
        fs::write(folder.join("job.toml"), text).unwrap();
        let planned = call(&folder, "plan {}/job.toml -o {}/out");
        assert_eq!(planned.exit, Exit::Good, "{}{}", planned.out, planned.said);
        let audited = call(&folder, "audit {}/out/moves.json --job {}/job.toml");
        assert_eq!(audited.exit, Exit::Good, "{}", audited.out);
        assert!(!audited.out.contains(STRESS), "{}", audited.out);
    }
}

/// Every hold to unload beside a turning blade, and no other.
#[test]
fn unloading_beside_a_turning_blade_is_refused() {
    let mut job = read("g-04");
    job.setting.stop_to_unload = false;
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    let turning = Planned::new(&job, &setup, &plan).unwrap();
    let (moves, verdict) = (turning.moves.clone(), turning.trace.verdict);
    // It is warned of, an arm's reach away, but not refused.
    assert_eq!((missed(&job, &setup, &moves), verdict), (vec![], Verdict::Warned));
    let log = job.log.clone();
    job.setting.stop_to_unload = true;
    let setup = Setup::new(&job.mill, &log).unwrap();
    let holds = (0u16..)
        .zip(&moves)
        .filter(|(_, told)| holds_for(told, Act::Unload));
    let expected: Vec<_> = holds.map(|(at, _)| (STOP, at, "turning".to_owned())).collect();
    assert_eq!(expected.len(), 12);
    assert_eq!(missed(&job, &setup, &moves), expected);
    let mut trace = Trace::run(&setup, &moves);
    trace.object(Wanted::of(&job).missed(&setup, &trace));
    let refused = trace
        .findings
        .iter()
        .filter(|found| found.objection.severity == Severity::Refuse);
    assert_eq!((trace.verdict, refused.count()), (Verdict::Refused, 12));
}

/// The verbs that judge a stranger's moves say so, whether the job brings the mill or only the log.
#[test]
fn audit_dry_run_and_export_know_the_job() {
    let folder = folder("wanted");
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let job = job.replace("../mills/", mills);
    let turning = job.replace("[setting]", "[setting]\nstop_to_unload = false");
    fs::write(folder.join("turning.toml"), &turning).unwrap();
    let stressed = |job: &str| job.replace("growth_stress = \"low\"", "growth_stress = \"high\"");
    fs::write(folder.join("high.toml"), stressed(&turning)).unwrap();
    fs::write(folder.join("both.toml"), stressed(&job)).unwrap();
    quiet(&folder, "plan {}/turning.toml -o {}", Exit::Good);
    let own = "--job {}/turning.toml";
    let log = format!("--mill {mills}powered-165.toml --log {{}}/both.toml");
    for (brings, exit, told) in [
        (own, Exit::Good, [false; 2]),
        ("--job {}/high.toml", Exit::Good, [true, false]),
        ("--job {}/both.toml", Exit::Refused, [true; 2]),
        (log.as_str(), Exit::Refused, [true; 2]),
    ] {
        let out = quiet(&folder, &format!("audit {{}}/moves.json {brings}"), exit);
        let says = [STRESS, STOP].map(|rule| out.contains(rule));
        assert_eq!(says, told, "{brings}: {out}");
        quiet(&folder, &format!("dry-run {{}}/moves.json {brings}"), exit);
        let export = call(
            &folder,
            &format!("export {{}}/moves.json {brings} --as binary -o {{}}/out.job"),
        );
        assert_eq!(export.exit, exit, "{brings}");
    }
}

/// Two layers under the slab sawn as waste, in columns 6 mm wider than their boards, the last of them without bark: the first
/// board is one of the lowest layer, where it is measured.
#[test]
fn waste_that_is_larger_than_a_board_is_none() {
    let job = read("e-09");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let mut plan = lay_out(&job, &setup).unwrap();
    for layer in &mut plan.layers[1..3] {
        for (wider, column) in (0..).zip(&mut layer.columns) {
            column.to = column.to.map(|to| to + Length::mm(6).times(wider));
            column.use_ = Use::Waste;
        }
    }
    let planned = Planned::new(&job, &setup, &plan).unwrap();
    let mut moves = planned.trace.moves.iter();
    let without_bark = |traced: &Traced| traced.freed.iter().any(|piece| !piece.bark_edge);
    let waste = moves.by_ref().find(|traced| without_bark(traced)).unwrap();
    assert_eq!(waste.step.before.height, plan.layers[2].floor);
    let hold = moves
        .find(|traced| holds_for(&traced.step.told, Act::Unload))
        .unwrap();
    assert!(!holds_for(&hold.step.told, Act::Measure));
    assert_eq!(missed(&job, &setup, &planned.moves), []);
}
