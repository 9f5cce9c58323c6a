//! The feed-direction report: it says of every cut what the rules say, with the signs that the strokes have.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::Path;

use bunkside::account::feeds::{Feeds, figure};
use bunkside::cli::run;
use bunkside::diagnostic::Source;
use bunkside::job::{self, EnergySource, Job};
use bunkside::measure::System;
use bunkside::moves_json;
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::Trace;
use bunkside::view::{Subject, pictures};
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Angle, Feed, Move};
use serde_json::Value;

const TRUNK: &str = "examples/sequences/trunk.toml";

/// All that the drawings and the report are made of.
struct Ran {
    job: Job,
    moves: Vec<Move>,
}

impl Ran {
    /// A sequence of `examples/sequences/` on its log.
    fn read(name: &str) -> Self {
        let load = |path: &Path| fs::read_to_string(path);
        let outcome = job::read(&Source::new(TRUNK, load(Path::new(TRUNK)).unwrap()), &load);
        let path = format!("examples/sequences/{name}.json");
        let text = fs::read_to_string(&path).unwrap();
        Self {
            job: outcome.job.unwrap(),
            moves: moves_json::read(&Source::new(path, text)).0.unwrap(),
        }
    }

    fn with<T>(&self, use_it: impl FnOnce(&Setup<'_>, &Trace) -> T) -> T {
        let setup = Setup::new(&self.job.mill, &self.job.log).unwrap();
        use_it(&setup, &Trace::run(&setup, &self.moves))
    }

    /// One of its pictures.
    fn picture(&self, wanted: &str) -> String {
        self.with(|setup, trace| {
            let subject = Subject {
                setup,
                trace,
                log: "TRUNK",
                mill: "powered-165",
                system: System::Metric,
                job: None,
                plan: None,
                order: None,
            };
            let files = pictures(&subject);
            files.into_iter().find(|(name, _)| *name == wanted).unwrap().1
        })
    }
}

/// Those that are refused for how the wood is held, beside cuts that are not.
const SEQUENCES: [&str; 3] = ["refused/roll", "refused/slip", "refused/lift"];

#[test]
fn margins_fall_short_where_the_rules_refuse() {
    for name in SEQUENCES {
        Ran::read(name).with(|setup, trace| {
            let feeds = Feeds::of(setup, trace);
            for (way, (rule, wanted)) in feeds.demanded.named().into_iter().enumerate() {
                let short = feeds
                    .cuts
                    .iter()
                    .filter(|cut| cut.held.least().named()[way].1 < wanted);
                let short: BTreeSet<u16> = short.map(|cut| cut.index).collect();
                let findings = trace.findings.iter().filter(|finding| finding.rule == rule);
                let refused: BTreeSet<u16> = findings.map(|finding| finding.index).collect();
                assert_eq!(short, refused, "{name}, {rule}");
                assert!(name != format!("refused/{rule}") || !short.is_empty(), "{name}");
            }
        });
    }
}

/// A climbing blade pulls itself along the log and presses an upright cut down; forward feed holds back and lifts:
/// common practice, no source.
#[test]
fn forces_have_the_signs_of_their_strokes() {
    let mut seen = BTreeSet::new();
    for name in SEQUENCES {
        Ran::read(name).with(|setup, trace| {
            for cut in Feeds::of(setup, trace).cuts {
                let climbs = cut.feed == Some(Feed::Climb);
                assert_eq!(cut.held.along_n > 0.0, climbs, "{name}: {cut:?}");
                if cut.angle == Angle::Upright {
                    assert_eq!(cut.held.across_n > 0.0, climbs, "{name}: {cut:?}");
                }
                seen.insert((cut.angle == Angle::Upright, climbs));
            }
        });
    }
    assert_eq!(seen.len(), 4, "every angle at every feed");
}

#[test]
fn forces_count_the_shock() {
    let mut ran = Ran::read("refused/slip");
    let along = |ran: &Ran| {
        ran.with(|setup, trace| {
            let cuts = Feeds::of(setup, trace).cuts;
            cuts.iter().map(|cut| cut.held.along_n).collect::<Vec<_>>()
        })
    };
    let with = along(&ran);
    let shock = f64::from(ran.job.mill.factors.shock) / 1_000.0;
    assert!(shock > 1.0);
    ran.job.mill.factors.shock = 1_000;
    for (with, without) in with.iter().zip(along(&ran)) {
        assert!((with / without - shock).abs() < 1e-9, "{with} {without}");
    }
}

#[test]
fn the_pictures_mark_what_is_too_little() {
    for name in SEQUENCES {
        let ran = Ran::read(name);
        let (cuts, short, ways) = ran.with(|setup, trace| {
            let feeds = Feeds::of(setup, trace);
            let wanted = feeds.demanded.named().map(|(_, wanted)| wanted);
            let least = feeds.cuts.iter().map(|cut| cut.held.least().named());
            let short = |named: &[(&str, f64); 3]| {
                named
                    .iter()
                    .zip(wanted)
                    .filter(|((_, margin), wanted)| margin < wanted)
                    .count()
            };
            let each: Vec<usize> = least.map(|named| short(&named)).collect();
            (
                each.len(),
                each.iter().sum::<usize>(),
                feeds.demanded.named().len(),
            )
        });
        let report = ran.picture("report.html");
        assert_eq!(report.matches("<ul class=\"held\">").count(), cuts, "{name}");
        assert_eq!(
            report.matches(", at least ").count(),
            cuts * ways - short,
            "{name}"
        );
        assert_eq!(report.matches("<li class=\"less\">").count(), short, "{name}");
        let drawn = ran.picture("margins.svg");
        assert_eq!(drawn.matches("class=\"tiny now mid\"").count(), short, "{name}");
        assert!(
            !drawn.contains("class=\"pale\" d=\"M"),
            "{name}: nothing tells how sure its energy is"
        );
        let frames = drawn.split("<path class=\"short\" d=\"").skip(1);
        let framed = frames.map(|path| path.split('"').next().unwrap().matches('M').count());
        assert_eq!(framed.sum::<usize>(), short, "{name}");
        for number in 1..=cuts {
            assert!(
                drawn.contains(&format!(">{number}</text>")),
                "{name}: no {number}"
            );
        }
    }
}

/// Where the cutting energy is an estimate, every bar that would go on visibly in timber that saws as estimated has a pale
/// end; where it was measured none has.
#[test]
fn what_timber_as_estimated_would_add_is_drawn_pale() {
    let path = "examples/jobs/g-04.toml";
    let load = |path: &Path| fs::read_to_string(path);
    let text = load(Path::new(path)).unwrap();
    let outcome = job::read(&Source::new(path, text), &load);
    let mut job = outcome.job.unwrap();
    let pale = |job: &Job| {
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(job, &setup).unwrap();
        let planned = Planned::new(job, &setup, &plan).unwrap();
        let files = pictures(&Subject::planned(&planned));
        let drawn = &files.iter().find(|(name, _)| *name == "margins.svg").unwrap().1;
        let paths = drawn.split("<path class=\"pale\" d=\"").skip(1);
        let boxes = paths.map(|path| path.split('"').next().unwrap().matches('M').count());
        (
            boxes.sum::<usize>(),
            drawn.contains("40 % harder"),
            Feeds::of(&setup, &planned.trace).cuts.len(),
        )
    };
    let (count, told, cuts) = pale(&job);
    // One stands in the key; slip is driven by the saw alone at every cut.
    assert!(told && count > cuts, "{count} of {cuts}");
    job.energy.from = EnergySource::Job;
    assert_eq!(pale(&job), (0, false, cuts));
}

#[test]
fn a_cut_in_air_has_no_bar() {
    let mut ran = Ran::read("refused/lift");
    let once = ran.picture("margins.svg");
    ran.moves.extend(ran.moves.clone());
    let cuts = |moves: &[Move]| moves.iter().filter(|told| matches!(told, Move::Cut(_))).count();
    assert_eq!(cuts(&ran.moves), 32, "every kerf twice");
    let twice = ran.picture("margins.svg");
    // The bars are the same, and the words above them tell of those that have none.
    let bars = |picture: &str| -> Vec<String> {
        let rows = picture.split("<g transform=\"translate(0 ").skip(1);
        let rows = rows.map(|row| {
            row.split_once(")\">")
                .unwrap()
                .1
                .split_once("</g>")
                .unwrap()
                .0
                .to_owned()
        });
        rows.collect()
    };
    assert_eq!(bars(&once), bars(&twice));
    let words = |picture: &str| -> String {
        let lines = picture.split("<text class=\"tiny soft\" x=\"24\"").skip(1);
        let lines = lines.map(|line| line.split(['>', '<']).nth(1).unwrap());
        lines.collect::<Vec<_>>().join(" ")
    };
    assert!(!words(&once).contains("Not shown"));
    let all = words(&twice);
    let (_, told) = all.split_once(" Not shown: ").unwrap();
    assert_eq!(
        told,
        "cuts 23 to 25, 27, 29, 31 (straightening a face, where no wood is known of); cuts 17 to 22, 26, 28, 30, 32 (no wood)."
    );
}

/// More cuts than can each have their figures: no bar is left out, and the least of each strip keeps its figure.
#[test]
fn a_long_job_is_drawn_closer() {
    let path = "examples/jobs/b-01.toml";
    let load = |path: &Path| fs::read_to_string(path);
    let outcome = job::read(&Source::new(path, load(Path::new(path)).unwrap()), &load);
    let job = outcome.job.unwrap();
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    let planned = Planned::new(&job, &setup, &plan).unwrap();
    let least: Vec<_> = Feeds::of(&setup, &planned.trace)
        .cuts
        .iter()
        .map(|cut| cut.held.least().named())
        .collect();
    assert!(least.len() > 39, "{}", least.len());
    let files = pictures(&Subject::planned(&planned));
    let drawn = &files.iter().find(|(name, _)| *name == "margins.svg").unwrap().1;
    let bars = drawn.split("<path class=\"").skip(1);
    let bars = bars.filter(|path| path.starts_with("solid") || path.starts_with("box"));
    // Bars have four corners, arrows three; two bars stand in the key.
    let bars: usize = bars
        .map(|path| path.split('"').nth(2).unwrap().matches('V').count())
        .sum();
    let finite = least.iter().flatten().filter(|(_, margin)| margin.is_finite());
    assert_eq!(bars, finite.count() + 2);
    for way in 0..3 {
        let margins = least.iter().map(|named| named[way].1);
        let words = figure(margins.fold(f64::INFINITY, f64::min));
        assert!(drawn.contains(&format!(">{words}</text>")), "{words}");
    }
}

#[test]
fn the_table_marks_them_too() {
    let words = [
        "audit",
        "examples/sequences/refused/lift.json",
        "--job",
        TRUNK,
        "--feeds",
    ];
    let told = run(&words.map(OsString::from)).out;
    let rows = told.lines().filter(|line| line.contains("1.11!"));
    assert_eq!(rows.count(), 1, "{told}");
    assert!(told.contains("least: roll 0.98 at cut 15, slip 0.53 at cut 16, lift 1.11 at cut 16"));
}

/// What is said to decide a cut is what `explain` finds of it.
#[test]
fn decisions_are_those_that_are_explained() {
    const MOVES: &str = "examples/sequences/refused/lift.json";
    let told = |words: &[&str]| -> Value {
        let words: Vec<OsString> = words.iter().map(OsString::from).collect();
        serde_json::from_str(&run(&words).out).unwrap()
    };
    let audit = told(&["audit", MOVES, "--job", TRUNK, "--json"]);
    let cuts = audit["feeds"]["cuts"].as_array().unwrap();
    let findings = audit["findings"].as_array().unwrap();
    let mut either = 0;
    assert!(!cuts.is_empty());
    for cut in cuts {
        let number = cut["move"].to_string();
        let explained = told(&["explain", MOVES, &number, "--job", TRUNK, "--json"]);
        let alternatives = explained["alternatives"].as_array().unwrap();
        for (kind, decided) in [("other-stroke", &cut["stroke_by"]), ("faster", &cut["feed_by"])] {
            let found = alternatives.iter().find(|one| one["kind"] == kind).unwrap();
            // A rule that warns either way speaks against neither.
            let warned = |one: &Value| {
                one["move"] == cut["move"] && one["rule"] == found["rule"] && one["severity"] == "warn"
            };
            let already = found["answer"] == "allowed" && findings.iter().any(warned);
            either += usize::from(already);
            let rule = if already { &Value::Null } else { &found["rule"] };
            assert_eq!(rule, &decided["rule"], "{kind} at move {number}");
            let refused = found["answer"] == "refused";
            assert_eq!(refused, decided["by"] == "refused", "{kind} at move {number}");
        }
    }
    assert!(either > 0);
}
