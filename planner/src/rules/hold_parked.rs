//! # hold-parked
//!
//! **Guards** the operator at a hold, and at the end of the sequence. **Trips when** the carriage stands over the log,
//! its centre not past either end, or blade or head stands at or in wood; when the blade turns at a hold and disc and
//! head are not past the log's end by the mill's clearance; when hands go to log, knife, aid, kerf, wedges, dogs or
//! teeth while the blade turns, to measure and to sweep too; when a part that hangs by little wood comes off at a hold while
//! the blade turns; when anything is done at a hold, or a height set by hand, while a freed piece lies loose that is not unloaded;
//! when the carriage runs in the same move in which a height is set by hand, since nobody turns cranks as he pushes, or in its way;
//! when knife or aid is to be both fitted and taken off; and when the sequence ends with the blade turning or with a freed piece not
//! unloaded. Warns when a hold fits or closes what the mill does not have, or
//! dogs of which none reaches the log's wood: the sequence was made for another mill; when a hold tells nothing to do, or
//! unloads where nothing lies; when pieces are taken away with the blade turning, and disc or head stand nearer to the log's
//! end than arms reach, 850 mm (ISO 13857, from memory): whoever takes hold of a piece may stand at that end, and no piece reaches
//! beyond it; when a height is set by hand, at the rails' ends, while the blade turns, since no profile tells where the cranks are; when
//! the log is wedged or dogged with a kerf open in it, which moves under the blade then;
//! when a part that hangs by little wood comes off at a hold with the blade at rest, which takes a bar and nobody beside it; and
//! when the sequence ends with a kerf open in what stands, which may be a part of a sequence only. **Clears when** the
//! carriage is run out clear of the log, freed pieces are unloaded, heights are set by themselves, and for such work the blade is
//! stopped and has run down. **Does not cover** rails that are too short to run out so far: there it is enough that nothing of the blade is
//! left in a cut at full cover, so that the disc may hang a little over the log's end; that pieces are taken away at all while
//! the blade turns out of reach, which is the mill's own manual's to allow (a job can ask for a standing blade); in
//! which order the acts of one hold are listed, since they are done in a fixed one; nor lock-out for repair: local
//! codes and that manual do.

use bunkside_protocol::{Act, Acts, Length, Move};

use super::{Basis, Measure, Moment, Objection, Objections, Rule, Situation};
use crate::geometry::Interval;
use crate::limits::ARM;
use crate::machine::{Pose, blade_boxes, ends_beyond, from_end, head_boxes, reach_along};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "hold-parked",
    title: "at a hold the carriage stands clear, and the blade still where hands go near it",
    reason: "a turning blade within reach of hands, or a carriage over the log, needs only one slip",
    basis: Basis::Practice,
    check,
};

const CLEAR: &str = "run the carriage out clear of the log first";
const STANDING: &str = "stop the blade and let it run down before the hold";

const HANGS: &str = "run out until disc and head are past the log's end, or stop the blade before the hold";
const LOOSE: &str = "have the freed piece unloaded first: it may slide onto hands at the log or the head";
/// Of the end of a sequence.
pub(crate) const TURNS: &str = "stop the blade before the sequence ends";
/// Of the end of a sequence.
pub(crate) const LIES: &str = "have the freed piece unloaded before the sequence ends";

/// Of the end of a sequence.
pub(crate) const OPEN: &str =
    "half-sawn wood is left on the bunks and may break off: saw it free, or keep clear of it";
const NOTHING: &str = "say at the hold what is to be done, or leave it out";

const BOTH: &str = "ask for the one or the other: nobody can say how it is left";
const MISSING: &str = "the mill has no such thing: leave the act out, or set the mill right";
const SHORT: &str = "no dog of this mill reaches the log's wood, so they hold nothing: lay the log nearer to one, or leave the act out";
const NOWHERE: &str = "nothing has come free: leave the act out, or look whether a cut is missing before it";
/// How a part is broken off that hangs by little wood.
macro_rules! how {
    () => {
        "with a long bar, from beyond its end, the blade standing, nobody under or beside it"
    };
}
/// The same for cards, which say it in the same words.
pub const BREAK_OFF: &str = how!();
/// Of a part that hangs by little wood: that it may; how it is broken off, or what else.
const BREAKS: &str = concat!(
    "it may hang by little wood; break it off ",
    how!(),
    ", or cut it free before"
);
const BREAKS_TURNING: &str = "a part is broken off here with a bar: stop the blade and let it run down before the hold, or cut the part free before";
/// Of a height that is set by hand while the blade turns.
pub(crate) const CRANKS: &str = "stop the blade before somebody sets the height: a crank at the rails' end is within an arm's reach of it, or \
                                 in line with its rim";
/// Of a height that is set by hand while the carriage runs.
const RUNS: &str = "tell the height in a move of its own, before the carriage runs or behind that: somebody stands at the cranks, at one end \
                    of the rails and then at the other";
/// Of an unloading while the blade turns: it is said whatever the order of cuts.
pub const NEAR: &str =
    "arms reach so far: stop the blade before pieces are taken away, or run the carriage out further first";
const SHIFTS: &str = "wedging or dogging may shift or tilt a log with a half-sawn kerf, which no longer lies where the blade runs: \
                      saw it free first";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let step = match situation.moment {
        Moment::Move(step) => step,
        Moment::End(end) => return at_end(situation, &end.pose, object),
    };
    if step.before.is_cranked(situation.setup.mill, &step.told) {
        if step.before.spinning {
            object(warning("turning", "standing", CRANKS));
        }
        if step.before.travel != step.after.travel {
            object(refusal(
                "the carriage runs while the height is cranked",
                "the carriage at rest",
                RUNS,
            ));
        }
        lying(situation, LOOSE, object);
    }
    let Move::Hold(hold) = step.told else { return };
    parked(situation, &step.before, object);
    let hands = hold.acts.iter().any(Act::needs_standing_blade);
    let unloads = hold.acts.contains(Act::Unload);
    if step.before.spinning {
        let out = run_out(situation, &step.before, object);
        if hands {
            object(refusal("turning", "standing", STANDING));
        }
        if unloads && out {
            within_reach(situation, &step.before, object);
        }
    }
    if hold.acts.is_empty() {
        object(warning("nothing to do", "an act", NOTHING));
    } else if !unloads {
        lying(situation, LOOSE, object);
    } else if situation.before.pieces().is_empty() && !situation.before.is_in_doubt() {
        object(warning("no piece lies free", "one to unload", NOWHERE));
    }
    if situation.after.freed() > situation.before.freed() {
        breaks_off(situation, step.before.spinning, object);
    }
    let moves_log = hold.acts.contains(Act::WedgeLog) || hold.acts.contains(Act::Dog);
    if moves_log && situation.has_open_kerf() {
        object(warning("a kerf open", "none open", SHIFTS));
    }
    fitted(situation, hold.acts, object);
}

/// Whether what is fitted or closed is there, and not taken off at once.
fn fitted(situation: &Situation<'_>, acts: Acts, object: Objections<'_>) {
    let mill = situation.setup.mill;
    for (on, off, has) in [
        (Act::KnifeOn, Act::KnifeOff, mill.knife.is_some()),
        (Act::AidOn, Act::AidOff, mill.aid.is_some()),
    ] {
        if acts.contains(on) && acts.contains(off) {
            object(refusal("fitted and taken off", "one of them", BOTH));
        }
        if acts.contains(on) && !has {
            object(warning("fitted", "not on this mill", MISSING));
        }
    }
    if acts.contains(Act::Dog) && mill.dogs.is_empty() {
        object(warning("closed", "not on this mill", MISSING));
    } else if acts.contains(Act::Dog) && mill.dog_hold > 0 && !situation.setup.bed.has_dogs() {
        object(warning("no dog at the log's wood", "one that holds it", SHORT));
    }
}

/// Of parts that hang by little wood and come off here: each is numbered as it does.
fn breaks_off(situation: &Situation<'_>, spinning: bool, object: Objections<'_>) {
    if spinning {
        object(refusal(
            "a part broken off beside a turning blade",
            "standing",
            BREAKS_TURNING,
        ));
        return;
    }
    for serial in situation.before.freed().saturating_add(1)..=situation.after.freed() {
        let (found, wanted) = (Measure::Piece(serial), Measure::State("sawn free"));
        object(Objection::warn(found, wanted, BREAKS));
    }
}

fn at_end(situation: &Situation<'_>, pose: &Pose, object: Objections<'_>) {
    parked(situation, pose, object);
    if pose.spinning {
        object(refusal("turning at the end", "standing", TURNS));
    }
    lying(situation, LIES, object);
    if situation.has_open_kerf() {
        object(warning("a kerf open", "none open", OPEN));
    }
}

/// Whether a freed piece lies loose.
fn lying(situation: &Situation<'_>, note: &'static str, object: Objections<'_>) {
    if let Some(piece) = situation.before.pieces().first() {
        let (found, wanted) = (Measure::Piece(piece.serial), Measure::State("unloaded"));
        object(Objection::refuse(found, wanted, note));
    }
}

/// Whether disc and head stand past the log's end, as far as the rails let them.
fn run_out(situation: &Situation<'_>, pose: &Pose, object: Objections<'_>) -> bool {
    let (mill, log) = (situation.setup.mill, situation.setup.shape.travel());
    let clear = reach_along(mill) + situation.clearance().travel;
    let wanted = ends_beyond(mill, log).map_or(clear, |usual| usual.min(clear));
    let beyond = past(log, pose);
    if Length::ZERO <= beyond && beyond < wanted {
        let (found, wanted) = (Measure::Length(beyond), Measure::Length(wanted));
        object(Objection::refuse(found, wanted, HANGS));
    }
    wanted <= beyond
}

/// Whether somebody at the log's end could reach disc or head, which stand past it.
fn within_reach(situation: &Situation<'_>, pose: &Pose, object: Objections<'_>) {
    let apart = from_end(situation.setup.mill, pose, situation.setup.shape.travel());
    if apart < ARM {
        let (found, wanted) = (Measure::Length(apart), Measure::Length(ARM));
        object(Objection::warn(found, wanted, NEAR));
    }
}

/// How far the blade's centre stands past the log's nearer end; less than nothing over the log.
fn past(log: Interval, pose: &Pose) -> Length {
    (log.lo - pose.travel).max(pose.travel - log.hi)
}

/// Whether the carriage stands clear.
fn parked(situation: &Situation<'_>, pose: &Pose, object: Objections<'_>) {
    let log = situation.setup.shape.travel();
    if log.lo < pose.travel && pose.travel < log.hi {
        object(refusal("over the log", "past its end", CLEAR));
        return;
    }
    let (mill, clearance) = (situation.setup.mill, situation.clearance());
    let mut boxes = blade_boxes(mill, pose, pose).chain(head_boxes(mill, pose, pose));
    if boxes.any(|block| situation.meets_wood(block.apart(clearance), Pick::Any)) {
        object(refusal("at the log", "clear of it", CLEAR));
    }
}

const fn warning(found: &'static str, wanted: &'static str, note: &'static str) -> Objection {
    Objection::warn(Measure::State(found), Measure::State(wanted), note)
}

const fn refusal(found: &'static str, wanted: &'static str, note: &'static str) -> Objection {
    Objection::refuse(Measure::State(found), Measure::State(wanted), note)
}

#[cfg(test)]
pub(super) mod tests;
