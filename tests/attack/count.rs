//! The campaign: mutants of every class, and which rules refuse them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use bunkside::trace::Trace;
use bunkside_planner::audit::Verdict;
use bunkside_planner::geometry::Block;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{NOT_JUDGED, RULES, Severity};

use super::class::{Class, Spoil, Spoilt};
use super::good::{Good, Mills, each_example};
use super::{aimed, blind};
use crate::dice::Dice;
use crate::report::{asked, report};

/// What has been seen of one class.
#[derive(Default)]
struct Tally {
    mutants: usize,
    refused: usize,
    by: BTreeMap<&'static str, usize>,
}

/// The classes with what has been seen of each, and the cells that were to be hit and were not.
struct Campaign {
    classes: Vec<Class>,
    tallies: Vec<Tally>,
    worlds: usize,
    each: usize,
    missed: Vec<String>,
}

impl Campaign {
    fn new() -> Self {
        let mut classes = aimed::classes();
        classes.extend(blind::classes());
        Self {
            tallies: classes.iter().map(|_| Tally::default()).collect(),
            classes,
            worlds: 0,
            each: usize::try_from(asked("BUNKSIDE_EACH", 8)).expect("a number of mutants"),
            missed: Vec::new(),
        }
    }

    fn spoil(&mut self, good: &Good<'_>, dice: &mut Dice) {
        self.worlds += 1;
        for (class, tally) in self.classes.iter().zip(&mut self.tallies) {
            for (at, spoilt) in mutants(good, class.spoil, self.each, dice) {
                let (verdict, rules) = judged(good, &spoilt);
                tally.mutants += 1;
                tally.refused += usize::from(verdict == Verdict::Refused);
                for rule in &rules {
                    *tally.by.entry(rule).or_default() += 1;
                }
                if class.must.is_some_and(|must| !rules.contains(must)) {
                    self.missed.push(format!(
                        "{}: {} at move {at}: {rules:?}",
                        good.world.name, class.name
                    ));
                }
            }
        }
    }

    /// What is wrong with the counts.
    fn faults(&self) -> Vec<String> {
        let mut faults: Vec<String> = self.missed.iter().take(20).cloned().collect();
        for (class, tally) in self.classes.iter().zip(&self.tallies) {
            if tally.mutants < 3 {
                faults.push(format!("{}: only {} mutants", class.name, tally.mutants));
            }
            let empty = class.hits.iter().filter(|rule| !tally.by.contains_key(*rule));
            faults.extend(empty.map(|rule| format!("{} never hits {rule}", class.name)));
        }
        let aimed_at: BTreeSet<&str> = self.classes.iter().filter_map(|class| class.must).collect();
        let rules = RULES.iter().map(|rule| rule.id).chain([NOT_JUDGED]);
        let open = rules.filter(|rule| !aimed_at.contains(rule));
        faults.extend(open.map(|rule| format!("nothing is aimed at {rule}")));
        faults
    }

    /// Classes down, rules across, in each cell how many mutants the rule refuses.
    fn table(&self) -> String {
        let mut text = format!(
            "{} good sequences, {} mutants, {} refused. A star marks the rule that must refuse every mutant of its \
             class. Rules by number:",
            self.worlds,
            self.tallies.iter().map(|tally| tally.mutants).sum::<usize>(),
            self.tallies.iter().map(|tally| tally.refused).sum::<usize>(),
        );
        for rule in RULES {
            write!(text, " {} {},", rule.number, rule.id).expect("text grows");
        }
        text.push_str(" NJ not judged.\n\n| class | mutants | refused |");
        let rules: Vec<(&str, String)> = RULES
            .iter()
            .map(|rule| (rule.id, rule.number.to_string()))
            .chain([(NOT_JUDGED, "NJ".to_owned())])
            .collect();
        for (_, head) in &rules {
            write!(text, " {head} |").expect("text grows");
        }
        text.push_str("\n|---|--:|--:|");
        text.push_str(&"--:|".repeat(rules.len()));
        for (class, tally) in self.classes.iter().zip(&self.tallies) {
            write!(
                text,
                "\n| {} | {} | {} |",
                class.name, tally.mutants, tally.refused
            )
            .expect("text grows");
            for (rule, _) in &rules {
                let star = if class.must == Some(*rule) { "\\*" } else { "" };
                match tally.by.get(rule) {
                    Some(count) => write!(text, " {count}{star} |"),
                    None => write!(text, " {star} |"),
                }
                .expect("text grows");
            }
        }
        text.push('\n');
        text
    }
}

/// At most so many mutants, each with the place that was changed.
pub(crate) fn mutants(good: &Good<'_>, spoil: Spoil, most: usize, dice: &mut Dice) -> Vec<(usize, Spoilt)> {
    let mut places: Vec<usize> = (0..good.moves.len()).collect();
    for end in (1..places.len()).rev() {
        places.swap(end, usize::try_from(dice.below(end as u64 + 1)).unwrap());
    }
    let mutants = places
        .into_iter()
        .filter_map(|at| Some((at, spoil(good, at, dice)?)));
    mutants.take(most).collect()
}

/// The verdict on a mutant, and the rules that refuse it.
fn judged(good: &Good<'_>, spoilt: &Spoilt) -> (Verdict, BTreeSet<&'static str>) {
    let mill = spoilt.mill.as_ref().unwrap_or(&good.world.mill);
    let log = spoilt.log.as_ref().unwrap_or(&good.world.log);
    let setup = Setup::new(mill, log).expect("the log is a log still");
    let mut rules = BTreeSet::new();
    let verdict = bunkside_planner::audit::audit(
        &setup,
        spoilt.moves.iter().copied(),
        &mut |_, _, _| {},
        &mut |finding| {
            if finding.objection.severity == Severity::Refuse {
                rules.insert(finding.rule);
            }
        },
    );
    (verdict, rules)
}

#[test]
fn every_rule_refuses_what_is_aimed_at_it() {
    let mut campaign = Campaign::new();
    each_example(|good, dice| campaign.spoil(good, dice));
    let worlds = asked("BUNKSIDE_WORLDS", 30);
    Mills::new().each_random(0..worlds, |good, dice| campaign.spoil(good, dice));
    let table = campaign.table();
    println!("{table}");
    report("mutations", &table);
    let planned = campaign.worlds as u64;
    assert!(planned * 10 >= worlds * 6, "only {planned} logs were planned");
    let faults = campaign.faults();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// How many pieces a run frees, and how large they are.
fn freed(trace: &Trace) -> Vec<Block> {
    let pieces = trace.moves.iter().flat_map(|traced| &traced.freed);
    pieces.map(|piece| piece.bounds).collect()
}

/// Told again, a move finds everything where it wants it: nothing else is sawn and nobody objects.
#[test]
fn a_move_told_twice_is_harmless() {
    each_example(|good, _| {
        let usual = freed(&Trace::run(good.setup, &good.moves));
        assert!(!usual.is_empty());
        for at in 0..good.moves.len() {
            let moves = good.with(at, 0, &[good.moves[at]]);
            let trace = Trace::run(good.setup, &moves);
            assert_ne!(trace.verdict, Verdict::Refused, "{}, move {at}", good.world.name);
            assert_eq!(freed(&trace), usual, "{}, move {at}", good.world.name);
        }
    });
}

/// With the knife changed at a hold, fitted where it leads or off where it would trail, somebody is told.
#[test]
fn a_changed_knife_is_told() {
    let mut told = 0;
    each_example(|good, dice| {
        for (at, spoilt) in mutants(good, blind::change_knife, 24, dice) {
            let trace = Trace::run(good.setup, &spoilt.moves);
            let knife = trace.findings.iter().any(|finding| finding.rule == "knife");
            assert!(knife, "{}, move {at}", good.world.name);
            told += 1;
        }
    });
    assert!(told >= 5);
}
