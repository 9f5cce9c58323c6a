//! What holds for the table of rules as a whole.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::string::{String, ToString};
use std::vec::Vec;

use bunkside_protocol::log::Timber;
use bunkside_protocol::{
    Act, Acts, Angle, Cut, Feed, Hold, Length, LogRecord, MillRecord, Move, Position, Speed, Targets,
};

use super::{Basis, EXAMPLES, Finding, NOT_JUDGED, RULES, Rule, by_id};
use crate::audit::{Verdict, audit_by};
use crate::replay::Setup;
use crate::testing::{Case, Dice, hand_mill, powered_mill, round_log, tapered_log, timber};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules")
}

#[test]
fn ids_are_unique_and_kebab_case_and_name_their_files() {
    let ids: BTreeSet<&str> = RULES.iter().map(|rule| rule.id).collect();
    assert_eq!(ids.len(), RULES.len());
    assert!(!ids.contains(NOT_JUDGED));
    for (rule, (file, _)) in RULES.iter().zip(EXAMPLES) {
        let words = rule.id.split('-');
        assert!(
            words
                .clone()
                .all(|word| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase())),
            "{}",
            rule.id
        );
        assert_eq!(rule.id.replace('-', "_"), *file);
        assert_eq!(by_id(rule.id).map(|found| found.number), Some(rule.number));
    }
}

#[test]
fn every_rule_says_what_it_is_and_why() {
    for rule in RULES {
        for text in [rule.title, rule.reason] {
            assert!(!text.is_empty() && !text.ends_with('.'), "{}: {text}", rule.id);
            assert!(
                text.starts_with(|c: char| c.is_lowercase()),
                "{}: {text}",
                rule.id
            );
        }
        assert!(rule.number > 0, "{}", rule.id);
    }
}

#[test]
fn every_basis_and_every_outcome_that_is_not_known_is_told_in_words() {
    let told = [
        (Basis::Machine, "machine"),
        (Basis::Physics, "physics"),
        (Basis::Practice, "common practice, no source"),
        (Basis::Consistency, "consistency"),
    ];
    for (basis, words) in told {
        assert_eq!(basis.to_string(), words);
    }
    let mut aside = crate::testing::stroke(4_530.0);
    aside.to.across = Some(Position::mm(40));
    let script = crate::testing::Script::opened().corner(0.0, 206.5);
    let case = Case::usual(script.with(Move::Cut(aside)));
    let found = case.script.findings(&case.mill, &case.log);
    let unknown = found.iter().find(|finding| finding.rule == NOT_JUDGED);
    let note = unknown.expect("across and along at once").objection.note;
    assert!(note.contains("one axis at a time"), "{note}");
}

#[test]
fn every_file_in_the_folder_is_in_the_table() {
    let shared = [
        "mod",
        "bark",
        "history",
        "measure",
        "situation",
        "tests",
        "wedged",
    ];
    let files: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| {
            entry
                .unwrap()
                .path()
                .file_stem()
                .unwrap()
                .to_str()
                .unwrap()
                .to_string()
        })
        .filter(|name| !shared.contains(&name.as_str()))
        .collect();
    let listed: BTreeSet<String> = EXAMPLES.iter().map(|(file, _)| file.to_string()).collect();
    assert_eq!(files, listed);
}

#[test]
fn every_file_has_the_headings_and_both_kinds_of_example() {
    for (rule, (file, _)) in RULES.iter().zip(EXAMPLES) {
        let text = std::fs::read_to_string(folder().join(std::format!("{file}.rs"))).unwrap();
        let head = text.lines().take_while(|line| line.starts_with("//!"));
        let head = head.map(|line| line[3..].trim()).collect::<Vec<_>>().join(" ");
        assert!(
            head.starts_with(&std::format!("# {} ", rule.id)),
            "{file}: {head}"
        );
        for heading in [
            "**Guards**",
            "**Trips when**",
            "**Clears when**",
            "**Does not cover**",
        ] {
            assert!(head.contains(heading), "{file} lacks {heading}");
        }
        let apart = std::fs::read_to_string(folder().join(file).join("tests.rs")).unwrap_or_default();
        let tests = text.lines().chain(apart.lines());
        let tests = tests.filter(|line| line.trim_start().starts_with("fn "));
        for kind in ["permits", "refuses"] {
            let told = tests.clone().any(|line| line.contains(kind));
            assert!(told, "{file} has no test that says what it {kind}");
        }
    }
}

/// What is not judged belongs to no rule.
#[test]
fn every_rule_is_the_sole_objector_in_its_example() {
    for (rule, (_, example)) in RULES.iter().zip(EXAMPLES) {
        let mut refusals = example().refusals();
        refusals.retain(|id| *id != NOT_JUDGED);
        assert_eq!(refusals, [rule.id]);
    }
}

fn judged(rules: &[Rule], case: &Case) -> (Verdict, Vec<String>) {
    let setup = Setup::new(&case.mill, &case.log).unwrap();
    let mut found: Vec<String> = Vec::new();
    let mut find = |finding: Finding| found.push(std::format!("{finding:?}"));
    let verdict = audit_by(
        rules,
        &setup,
        case.script.moves.iter().copied(),
        &mut |_, _, _| {},
        &mut find,
    );
    found.sort();
    (verdict, found)
}

#[test]
fn the_order_of_the_table_changes_nothing() {
    let mut dice = Dice::new(1);
    for (_, example) in EXAMPLES {
        let case = example();
        let usual = judged(RULES, &case);
        assert_eq!(usual.0, Verdict::Refused);
        for _ in 0..4 {
            let mut rules = RULES.to_vec();
            for end in (1..rules.len()).rev() {
                let other = usize::try_from(dice.below(end as u64 + 1)).unwrap();
                rules.swap(end, other);
            }
            assert_eq!(judged(&rules, &case), usual);
        }
    }
}

/// Places that sequences really use, and places that only a hostile one does.
fn place(dice: &mut Dice) -> Position {
    match dice.below(12) {
        0 => dice.pick(&[Position::MIN, Position::MAX, Position::ZERO, Position::um(-1)]),
        1..=4 => dice.pick(&[270, 4_530, 2_000, 600, 4_200].map(Position::mm)),
        5 => Position::um(i64::try_from(dice.below(9_000_000)).unwrap() - 1_000_000),
        _ => Position::mm(i32::try_from(dice.below(400)).unwrap() - 150),
    }
}

fn targets(dice: &mut Dice) -> Targets {
    let mut axis = |odds: u64| (dice.below(odds) == 0).then(|| place(dice));
    Targets {
        travel: axis(2),
        across: axis(3),
        height: axis(3),
    }
}

fn any_move(dice: &mut Dice) -> Move {
    match dice.below(10) {
        0..=2 => Move::Go(targets(dice)),
        3..=6 => {
            let to = if dice.below(3) == 0 {
                targets(dice)
            } else {
                Targets::travel(place(dice))
            };
            Move::Cut(Cut {
                to,
                speed: dice.pick(&[Speed::ZERO, Speed::mm_per_s(150), Speed::MAX]),
                feed: dice.pick(&[None, Some(Feed::Climb), Some(Feed::Forward)]),
                release: dice.below(4) == 0,
            })
        }
        7 => Move::Swing(dice.pick(&Angle::ALL)),
        8 => Move::Spin(dice.below(4) > 0),
        _ => Move::Hold(Hold {
            acts: Acts::one(dice.pick(&Act::ALL)).and(dice.pick(&Act::ALL)),
        }),
    }
}

/// A profile with some numbers that no mill has.
fn any_mill(dice: &mut Dice) -> MillRecord {
    let mut mill = if dice.below(2) == 0 {
        powered_mill()
    } else {
        hand_mill()
    };
    if dice.below(2) == 0 {
        return mill;
    }
    let odd = [
        Length::ZERO,
        -Length::MAX,
        Length::MAX,
        Length::um(1),
        Length::mm(-5),
    ];
    for _ in 0..3 {
        let length = dice.pick(&odd);
        match dice.below(14) {
            0 => mill.blade.kerf = length,
            1 => mill.blade.radius = length,
            2 => mill.blade.hub = length,
            3 => mill.blade.rim_speed = dice.pick(&[Speed::ZERO, Speed::MAX]),
            4 => mill.swing.pivot_across = length,
            5 => mill.swing.pivot_height = length,
            6 => mill.reach.cover = [length; 2],
            7 => mill.clearances.body = length,
            8 => mill.clearances.bed = length,
            9 => mill.clearances.run_out = length,
            10 => mill.travel.tolerance = length,
            11 => {
                (mill.blade.teeth, mill.blade.gullet) = (0, 0);
                (mill.power.bite_min, mill.power.bite_max) = (length, -length);
            }
            12 => {
                (mill.power.gullet_fill, mill.power.watts) = (u16::MAX, u32::MAX);
                mill.wedges.packing = length;
                mill.support.spacing = length;
                mill.support.overhang = -length;
                mill.support.sag = length;
            }
            _ => {
                mill.travel.acceleration = 0;
                mill.wedges.reach = length;
            }
        }
    }
    mill
}

fn any_log(dice: &mut Dice) -> LogRecord {
    let mut log = match dice.below(4) {
        0 => timber(180, 160, 3_600),
        1 => tapered_log(200, 300, 3_600),
        _ => round_log(300, 3_600),
    };
    log.bark = Length::mm(dice.pick(&[0, 12, 200]));
    log.timber = dice.pick(&Timber::ALL);
    log
}

/// Nothing that fits the records makes the auditor panic, and it says the same twice.
#[test]
fn random_moves_never_panic() {
    let mut dice = Dice::new(7);
    let (mut refused, mut freed) = (0, 0);
    for _ in 0..1_500 {
        let mut case = Case::new(any_mill(&mut dice), any_log(&mut dice), Default::default());
        if dice.below(2) == 0 {
            case.script = crate::testing::Script::opened();
        }
        let more = 1 + dice.below(30);
        case.script.moves.extend((0..more).map(|_| any_move(&mut dice)));
        let setup = Setup::new(&case.mill, &case.log).unwrap();
        let mut last = 0;
        let mut watch = |_: &crate::replay::Step, _: &crate::stock::Stock, after: &crate::stock::Stock| {
            last = after.freed();
        };
        let verdict = audit_by(
            RULES,
            &setup,
            case.script.moves.iter().copied(),
            &mut watch,
            &mut |_| {},
        );
        freed += usize::from(last);
        refused += usize::from(verdict == Verdict::Refused);
        assert_eq!(judged(RULES, &case).0, verdict);
    }
    // The moves are wild enough to be refused and tame enough to free something.
    assert!(refused > 1_000 && freed > 200, "{refused} refused, {freed} freed");
}
