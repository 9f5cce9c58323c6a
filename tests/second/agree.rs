//! Spoilt sequences on round logs, judged by both auditors move by move. Where the second is sure, the first must say
//! the same: what passes has been looked at again and nothing was found, and nothing is refused without need.

use std::collections::{BTreeMap, BTreeSet};

use bunkside_planner::audit::audit;
use bunkside_planner::machine::Pose;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::Severity;
use bunkside_protocol::{LogRecord, MillRecord, Move, Position, Station};

use super::SAID_AGAIN;
use super::auditor::{Ground, Key, Second};
use super::machine::{At, Say, Slack, um};
use super::threads::may_hang;
use super::wood::{Bx, Um, Wood, around};
use crate::attack::class::{Class, Spoilt};
use crate::attack::count::mutants;
use crate::attack::good::{Good, Mills, each_example};
use crate::attack::{aimed, blind};
use crate::dice::Dice;
use crate::report::{asked, report};

/// Finding by finding, what the auditor says: the move, the rule, whether it refuses.
type Found = BTreeSet<(usize, Key)>;

/// How finely a log is looked at: width of a strip, number of slices.
#[derive(Clone, Copy)]
struct Grain {
    strip: Um,
    slices: Um,
}

const COARSE: Grain = Grain {
    strip: 2_000,
    slices: 24,
};
const FINE: Grain = Grain {
    strip: 250,
    slices: 64,
};

/// What the second auditor says of a sequence, as far as it goes along with the first.
struct Opinion {
    said: BTreeMap<(usize, Key), Say>,
    /// The move up to which both see the same pieces, where it is not the last.
    parted: Option<usize>,
}

/// The box around a log, bark included, as far as faces leave it.
fn bounds(log: &LogRecord) -> Bx {
    let bark = um(log.bark.as_um());
    let of = |station: &Station| {
        let (wide, skew) = (um(station.half_width.as_um()) + bark, um(station.skew.as_um()));
        let reach = ((wide * wide + skew * skew) as f64).sqrt().round() as Um;
        let tall = um(station.half_height.as_um()) + bark;
        let (x, y) = (
            um(station.centre_across.as_um()),
            um(station.centre_height.as_um()),
        );
        let z = um(station.travel.as_um());
        Bx {
            z: [z, z],
            x: [x - reach, x + reach],
            y: [y - tall, y + tall],
        }
    };
    let stations = log.stations.iter().map(of);
    let whole = stations.reduce(|a, b| Bx {
        z: around(a.z, b.z),
        x: around(a.x, b.x),
        y: around(a.y, b.y),
    });
    let whole = whole.expect("a log has stations");
    let left = |[lo, hi]: [Um; 2], faces: [Option<Position>; 2]| {
        let [from, to] = faces.map(|face| face.map(|face| um(face.as_um())));
        [
            from.map_or(lo, |from| lo.max(from)),
            to.map_or(hi, |to| hi.min(to)),
        ]
    };
    Bx {
        x: left(whole.x, [log.sawn.entry, log.sawn.exit]),
        y: left(whole.y, [log.sawn.bottom, log.sawn.top]),
        ..whole
    }
}

fn begin<'a>(mill: &'a MillRecord, log: &'a LogRecord, moves: &[Move], grain: Grain) -> Second<'a> {
    let bounds = bounds(log);
    let [near, far] = bounds.z;
    let thin = um(mill.travel.tolerance.as_um()).max(100);
    let inner = |slice: Um| near + thin + (far - near - 2 * thin) * slice / grain.slices;
    let mut cuts = vec![near];
    cuts.extend((0..=grain.slices).map(inner));
    cuts.push(far);
    let bunks: Vec<Um> = mill.bunks.iter().map(|bunk| um(bunk.travel.as_um())).collect();
    let mut height = None;
    let mut lowest: Option<Um> = None;
    for told in moves {
        match told {
            Move::Go(to) => height = to.height.map(|height| um(height.as_um())).or(height),
            Move::Cut(cut) => {
                height = cut.to.height.map(|height| um(height.as_um())).or(height);
                lowest = match (lowest, height) {
                    (Some(lowest), Some(height)) => Some(lowest.min(height)),
                    (lowest, height) => lowest.or(height),
                };
            }
            _ => {}
        }
    }
    let ground = Ground {
        mill,
        log,
        slack: Slack {
            along: (far - near) / grain.slices,
            by: grain.strip / 2 + 100,
        },
        bounds,
        lowest,
    };
    // Strips end where kerfs and faces do.
    let kerf = um(mill.blade.kerf.as_um());
    let told = moves.iter().filter_map(|told| match told {
        Move::Go(to) => to.across,
        _ => None,
    });
    let parked = um(mill.across.min.as_um());
    let places = told.map(|across| um(across.as_um())).chain([parked]);
    let faces = [log.sawn.entry, log.sawn.exit].into_iter().flatten();
    let faces = faces.map(|across| um(across.as_um()));
    let edges: Vec<Um> = places
        .flat_map(|across| [across - kerf, across])
        .chain(faces)
        .collect();
    let wood = Wood::new(log, grain.strip, &edges, cuts, &bunks);
    Second::new(ground, wood, At::from(&Pose::parked(mill)), 0)
}

/// What the auditor finds, how many pieces lie free after each move that it could judge, and the move at which it is first in
/// doubt about what comes free.
fn first(mill: &MillRecord, log: &LogRecord, moves: &[Move]) -> (Found, Vec<usize>, Option<usize>) {
    let setup = Setup::new(mill, log).expect("a log");
    let (mut found, mut lying) = (Found::new(), Vec::new());
    audit(
        &setup,
        moves.iter().copied(),
        &mut |_, _, after| lying.push(after.pieces().len()),
        &mut |finding| {
            if SAID_AGAIN.contains(&finding.rule) {
                let refuses = finding.objection.severity == Severity::Refuse;
                found.insert((usize::from(finding.index), (finding.rule, refuses)));
            }
        },
    );
    let mut replay = Replay::new(&setup, 0);
    let doubt = moves.iter().position(|told| {
        let before = replay.doubts();
        replay.step(told);
        replay.doubts() > before
    });
    (found, lying, doubt)
}

/// Lets the second auditor go along; none where it meets a stroke in doubt, of which there are two outcomes, or a part may hang
/// by a thread, or by what a round blade leaves, as the first one sees it at `doubt`.
fn second(mut now: Second<'_>, moves: &[Move], lying: &[usize], doubt: Option<usize>) -> Option<Opinion> {
    let mut said = BTreeMap::new();
    for (index, told) in moves.iter().enumerate() {
        let (of_move, judged) = now.step(told);
        said.extend(of_move.into_iter().map(|(key, say)| ((index, key), say)));
        if now.doubts > 0 || (doubt == Some(index) && may_hang(&now)) {
            return None;
        }
        if !judged {
            return Some(Opinion { said, parted: None });
        }
        if lying.get(index) != Some(&now.pieces.len()) {
            let parted = Some(index);
            return Some(Opinion { said, parted });
        }
    }
    for (index, key, say) in now.end() {
        let held = said.entry((index, key)).or_insert(Say::No);
        *held = (*held).max(say);
    }
    Some(Opinion { said, parted: None })
}

/// How the two auditors went along on one sequence.
enum Outcome {
    /// Both say the same as far as the second is sure, all along; refusals that it is not sure of.
    Agreed(BTreeSet<&'static str>),
    /// They see different pieces from some move on, and agreed up to it.
    Parted,
    InDoubt,
    Disagreed(String),
}

/// What is judged.
type Subject<'s> = (&'s MillRecord, &'s LogRecord, &'s [Move]);

/// Both auditors on one sequence, and whether it passes. With `lips_go`, bark beyond the rim of a flat kerf is taken to
/// go with what the kerf frees.
fn compared((mill, log, moves): Subject<'_>, grain: Grain, lips_go: bool) -> (Outcome, bool) {
    let (found, lying, doubt) = first(mill, log, moves);
    let passed = !found.iter().any(|(_, (_, refuses))| *refuses);
    let mut now = begin(mill, log, moves, grain);
    now.wood.lips_go = lips_go;
    let Some(Opinion { said, parted }) = second(now, moves, &lying, doubt) else {
        return (Outcome::InDoubt, passed);
    };
    let within = |index: usize| parted.is_none_or(|parted| index < parted);
    let say = |at: &(usize, Key)| said.get(at).copied().unwrap_or(Say::No);
    let only_first = found.iter().filter(|at| within(at.0) && say(at) == Say::No);
    // The end is not come to where they part.
    let only_first = only_first.filter(|at| parted.is_none() || at.1.0 != "bed-board");
    let yes = said.iter().filter(|(at, say)| within(at.0) && **say == Say::Yes);
    let only_second = yes.filter(|(at, _)| !found.contains(*at));
    let doubt = doubt.filter(|doubt| within(*doubt));
    let wrong: Vec<String> = only_first
        .map(|at| format!("only the auditor: {at:?}"))
        .chain(only_second.map(|(at, _)| format!("only the second: {at:?}")))
        .chain(doubt.map(|doubt| format!("only the auditor sees a thread, at {doubt}")))
        .collect();
    let unsure = said.iter().filter(|(at, say)| at.1.1 && **say == Say::Unsure);
    let outcome = match parted {
        _ if !wrong.is_empty() => Outcome::Disagreed(wrong.join("; ")),
        Some(_) => Outcome::Parted,
        None => Outcome::Agreed(unsure.map(|(at, _)| at.1.0).collect()),
    };
    (outcome, passed)
}

#[derive(Default)]
struct Tally {
    refused: u64,
    harmless: u64,
    but_for_bark: u64,
    open: u64,
    unsure: BTreeMap<&'static str, u64>,
    parted: u64,
    in_doubt: u64,
    wrong: Vec<String>,
}

impl Tally {
    /// Looks at a mutant coarsely, and finely where that leaves something open: whatever passes, if it is `fine`,
    /// else only what the two do not agree on.
    fn judge(&mut self, good: &Good<'_>, (class, at): (&Class, usize), spoilt: &Spoilt, fine: bool) {
        let mill = spoilt.mill.as_ref().unwrap_or(&good.world.mill);
        let log = spoilt.log.as_ref().unwrap_or(&good.world.log);
        let look = |grain, lips_go| compared((mill, log, &spoilt.moves), grain, lips_go);
        let (mut outcome, passed) = look(COARSE, false);
        let again = match &outcome {
            Outcome::Agreed(unsure) => fine && passed && !unsure.is_empty(),
            Outcome::Disagreed(_) | Outcome::Parted => true,
            Outcome::InDoubt => false,
        };
        if again {
            outcome = look(FINE, false).0;
            let open = matches!(&outcome, Outcome::Agreed(unsure) if passed && !unsure.is_empty());
            if open && matches!(look(FINE, true).0, Outcome::Agreed(unsure) if unsure.is_empty()) {
                self.but_for_bark += 1;
                return;
            }
        }
        match outcome {
            Outcome::Agreed(_) if !passed => self.refused += 1,
            Outcome::Agreed(unsure) if unsure.is_empty() => self.harmless += 1,
            Outcome::Agreed(unsure) => {
                self.open += 1;
                for rule in unsure {
                    *self.unsure.entry(rule).or_default() += 1;
                }
            }
            Outcome::Parted => self.parted += 1,
            Outcome::InDoubt => self.in_doubt += 1,
            Outcome::Disagreed(why) => {
                let name = &good.world.name;
                self.wrong
                    .push(format!("{name}, {} at move {at}: {why}", class.name));
            }
        }
    }
}

fn table(classes: &[Class], tallies: &[Tally]) -> String {
    let mut text = String::from(
        "| class | refused by both | passed, nothing found | nothing but bark at a rim | unsure | parted | in doubt |\n\
         |---|--:|--:|--:|--:|--:|--:|\n",
    );
    for (class, tally) in classes.iter().zip(tallies) {
        let counts = [
            tally.refused,
            tally.harmless,
            tally.but_for_bark,
            tally.open,
            tally.parted,
            tally.in_doubt,
        ];
        let counts: Vec<String> = counts.iter().map(u64::to_string).collect();
        text += &format!("| {} | {} |\n", class.name, counts.join(" | "));
    }
    let mut unsure: BTreeMap<&str, u64> = BTreeMap::new();
    for (rule, count) in tallies.iter().flat_map(|tally| &tally.unsure) {
        *unsure.entry(rule).or_default() += count;
    }
    let unsure: Vec<String> = unsure
        .iter()
        .map(|(rule, count)| format!("{rule} {count}"))
        .collect();
    text + &format!(
        "\nRules that it is unsure of, by mutants: {}.\n",
        unsure.join(", ")
    )
}

#[test]
fn what_passes_is_harmless_and_what_is_refused_is_not() {
    let (worlds, each) = (asked("BUNKSIDE_WORLDS", 4), asked("BUNKSIDE_EACH", 1));
    let fine = asked("BUNKSIDE_FINE", 0) > 0;
    let mut classes = aimed::classes();
    classes.extend(blind::classes());
    // What else is aimed at rules on forces and balance, the second auditor does not judge.
    classes.retain(|class| class.must.is_none_or(|must| SAID_AGAIN.contains(&must)));
    let mut tallies: Vec<Tally> = classes.iter().map(|_| Tally::default()).collect();
    let each = usize::try_from(each).expect("a few");
    let mut spoil = |good: &Good<'_>, dice: &mut Dice| {
        for (class, tally) in classes.iter().zip(&mut tallies) {
            for (at, spoilt) in mutants(good, class.spoil, each, dice) {
                tally.judge(good, (class, at), &spoilt, fine);
            }
        }
    };
    each_example(&mut spoil);
    Mills::new().each_random(5_000..5_000 + worlds, &mut spoil);
    let text = table(&classes, &tallies);
    println!("{text}");
    report("agreement", &text);
    let wrong: Vec<&str> = tallies
        .iter()
        .flat_map(|tally| &tally.wrong)
        .map(String::as_str)
        .collect();
    let some = wrong.iter().take(30).copied().collect::<Vec<_>>().join("\n");
    assert!(wrong.is_empty(), "{} disagreements:\n{some}", wrong.len());
    let sum = |count: fn(&Tally) -> u64| tallies.iter().map(count).sum::<u64>();
    assert!(sum(|tally| tally.refused) > 100, "{text}");
    assert!(
        sum(|tally| tally.parted) * 20 < sum(|tally| tally.refused),
        "{text}"
    );
}

/// Two slivers of one side, wood near the ends of a bowed log only, and the bark from the one to the other: what they weigh.
#[test]
fn bark_may_go_on_where_the_wood_of_a_piece_has_ended() {
    let classes = aimed::classes();
    let class = classes.iter().find(|class| class.name == "a heavy side drops");
    let class = class.expect("a class");
    let mut looked = 0;
    Mills::new().each_random(5_008..5_009, |good, dice| {
        let spoilt = (class.spoil)(good, 7, dice).expect("a side");
        let log = spoilt.log.as_ref().expect("a heavy one");
        let (outcome, _) = compared((&good.world.mill, log, &spoilt.moves), FINE, false);
        match outcome {
            Outcome::Agreed(unsure) => assert!(unsure.contains("falls-off")),
            Outcome::Disagreed(why) => panic!("{why}"),
            Outcome::Parted | Outcome::InDoubt => panic!("looked at otherwise"),
        }
        looked += 1;
    });
    assert_eq!(looked, 1);
}
