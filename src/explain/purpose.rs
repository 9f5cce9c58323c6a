//! What a move does, as the end of a sentence that begins with its number.

use bunkside_planner::machine::Pose;
use bunkside_planner::stock::Piece;
use bunkside_protocol::{Act, Acts, Length, Move};

use super::Names;
use super::course::Course;
use super::notch::{notch, releases};
use super::others::runs_empty;
use super::passes::is_shallow_then_deep;
use crate::account::bark::edge;
use crate::account::care::{looked, straightens};
use crate::account::cuts::{angle_words, stroke_words, times};
use crate::account::hangs::{broken_off, left};
use crate::account::kerf_wedges::wedged_kerfs;
use crate::account::table::listed;
use crate::cut_plan::act_words;
use crate::measure::System;
use crate::trace::Traced;

/// What a move does.
pub(super) fn purpose(course: &Course<'_>, at: usize, names: &Names, system: System) -> String {
    let Some(ran) = course.ran(at) else {
        return String::new();
    };
    match ran.step.told {
        Move::Cut(_) => cut(course, at, ran, names, system),
        Move::Go(_) => go(course, at, ran),
        Move::Swing(angle) if angle == ran.step.before.angle => {
            format!("does nothing: the blade stands {} already", angle_words(angle))
        }
        Move::Swing(angle) => format!("swings the blade {}{}", angle_words(angle), towards(course, at)),
        Move::Spin(on) if on == ran.step.before.spinning => {
            "does nothing: the blade does so already".to_owned()
        }
        Move::Spin(true) => "brings the blade up to speed".to_owned(),
        Move::Spin(false) => "stops the blade and waits until it stands".to_owned(),
        Move::Hold(hold) => held((course, at), ran, hold.acts, names, system),
    }
}

fn cut(course: &Course<'_>, at: usize, ran: &Traced, names: &Names, system: System) -> String {
    if let Some(reason) = ran.step.not_judged {
        return format!("does what cannot be told: {reason}");
    }
    if straightens(course.setup, ran) {
        return "straightens a finished face: it takes what has risen of it since it was sawn, so that the boards below come out of even thickness, and meets no wood that is known of".to_owned();
    }
    if course.cut_in_wood(at).is_none() {
        return "runs through air and meets no wood".to_owned();
    }
    let hangs = left(ran);
    if !ran.freed.is_empty() {
        let hangs = hangs.map_or_else(String::new, |words| format!("; {words}"));
        return format!(
            "frees {}{hangs}",
            pieces(&ran.freed, course.setup.log.bark, names, system)
        );
    }
    if let Some(words) = hangs {
        return format!("is the one at which {words}");
    }
    let freed_by = |other: usize| {
        let freed = course.ran(other).map(|ran| ran.freed.as_slice());
        freed.filter(|freed| !freed.is_empty())
    };
    let next = course.next(at);
    if let Some(next) = next.filter(|next| is_shallow_then_deep(course, (at, *next))) {
        return format!(
            "takes the first part of the kerf that cut {} finishes",
            course.number(next)
        );
    }
    if let Some((_, second)) = notch(course, at).filter(|(first, _)| *first == at)
        && let Some(freed) = freed_by(second)
    {
        return format!(
            "opens the notch of {}",
            pieces(freed, course.setup.log.bark, names, system)
        );
    }
    match releases(course, at) {
        Some(later) => format!("edges what cut {} frees", course.number(later)),
        None => "cuts a kerf that frees nothing yet".to_owned(),
    }
}

/// What a move guards against that no rule sees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guard {
    /// Timber under growth stress moves as it is sawn.
    Stress,
    /// The blade would turn while somebody takes pieces away.
    Turning,
    /// Play in the drives, which rules take a mill to have none of beyond what its profile says.
    Play,
}

/// What a move guards against that no rule sees, if it does.
pub(super) fn guards(course: &Course<'_>, at: usize) -> Option<Guard> {
    let ran = course.ran(at)?;
    let unloads = |next: &Move| matches!(next, Move::Hold(hold) if hold.acts.contains(Act::Unload));
    let stress = match ran.step.told {
        Move::Cut(_) => straightens(course.setup, ran),
        Move::Hold(hold) => hold.acts.contains(Act::Measure) || hold.acts.contains(Act::WedgeKerf),
        Move::Spin(false) if ran.step.before.spinning => {
            return course
                .moves
                .get(at + 1)
                .is_some_and(unloads)
                .then_some(Guard::Turning);
        }
        Move::Go(_) => return draws_back(course, at).then_some(Guard::Play),
        Move::Swing(_) | Move::Spin(_) => false,
    };
    stress.then_some(Guard::Stress)
}

/// Pieces by number; one alone also by name and size.
fn pieces(freed: &[Piece], bark: Length, names: &Names, system: System) -> String {
    match freed {
        [] => "nothing".to_owned(),
        [one] => {
            let size = times(system, one.bounds.across.length(), one.bounds.height.length());
            let bark = if one.bark_edge {
                format!(", {}", edge(bark))
            } else {
                String::new()
            };
            let name = names.get(&one.serial);
            let name = name.map(|name| format!("{name}, ")).unwrap_or_default();
            format!("piece {} ({name}{size}{bark})", one.serial)
        }
        [rest @ .., last] => {
            let rest: Vec<String> = rest.iter().map(|one| one.serial.to_string()).collect();
            format!("pieces {} and {} together", rest.join(", "), last.serial)
        }
    }
}

fn go(course: &Course<'_>, at: usize, ran: &Traced) -> String {
    let (from, to) = (ran.step.before, ran.step.after);
    let next_tells = |test: fn(&Course<'_>, usize) -> bool| test(course, at + 1);
    if from == to {
        return "changes nothing".to_owned();
    }
    if runs_empty(course, at) {
        let end = if to.travel > from.travel { "far" } else { "near" };
        let beside = match passes_beside(course, at) {
            false => "",
            true => ", beside the log",
        };
        return format!(
            "runs the carriage empty to the {end} end{beside}{}",
            begins(course, at)
        );
    }
    if from.travel != to.travel {
        return format!("runs the carriage along the rails{}", towards(course, at));
    }
    if to.across < from.across && next_tells(passes_beside) {
        let cranks = if to.height == from.height {
            ""
        } else {
            " it up, and sets the height meanwhile"
        };
        return format!(
            "draws the blade out, so that the carriage passes beside the log and nobody cranks{cranks}"
        );
    }
    let rises = to.height > from.height;
    if rises && next_tells(runs_empty) {
        return "raises the blade so that it passes over the log".to_owned();
    }
    if rises && next_tells(swings) {
        return "raises the blade so that it swings clear of the bed".to_owned();
    }
    match (course.next_cut(at), draws_back(course, at)) {
        (Some(cut), true) => format!(
            "draws back, so that the corner of cut {} is set from the entry side and from above, the drives' play taken up",
            course.number(cut)
        ),
        (Some(cut), false) if sets_corner(course, at, cut) => {
            format!("sets the corner of cut {}", course.number(cut))
        }
        _ => "moves the blade clear".to_owned(),
    }
}

/// Whether a move sets the corner of a cut: nothing before the cut sets it again.
fn sets_corner(course: &Course<'_>, at: usize, cut: usize) -> bool {
    let corner = |pose: Pose| (pose.across, pose.height);
    let (Some(ran), Some(cut)) = (course.ran(at), course.ran(cut)) else {
        return false;
    };
    corner(ran.step.after) == corner(cut.step.before) && {
        let between = course.moves.iter().enumerate().skip(at + 1);
        let mut before_cut = between.take_while(|(_, told)| !matches!(told, Move::Cut(_)));
        before_cut.all(|(at, _)| {
            let step = course
                .ran(at)
                .map(|ran| [ran.step.before, ran.step.after].map(corner));
            step.is_none_or(|[before, after]| before == after)
        })
    }
}

/// Whether a move only goes back behind the corner of the next cut, which the next one sets from there.
fn draws_back(course: &Course<'_>, at: usize) -> bool {
    // The blade may be brought up to speed in between.
    let leads = course.next_cut(at).is_some_and(|cut| {
        let mut between = course.moves.iter().take(cut).skip(at);
        between.all(|told| course.brings(told) || matches!(told, Move::Spin(_)))
    });
    let pair = course.ran(at).zip(course.ran(at + 1));
    leads && pair.is_some_and(|(one, next)| one.draws_back(next))
}

fn passes_beside(course: &Course<'_>, at: usize) -> bool {
    course.ran(at).is_some_and(|ran| ran.passes_beside(course.setup))
}

fn swings(course: &Course<'_>, at: usize) -> bool {
    matches!(course.moves.get(at), Some(Move::Swing(_)))
}

/// Of an empty way, that the next cut begins where it ends, and which way that runs; nothing where no cut follows.
fn begins(course: &Course<'_>, at: usize) -> String {
    let cut = course.next_cut(at).filter(|cut| course.lead(*cut) <= at);
    let Some((cut, step)) = cut.and_then(|cut| Some((cut, course.ran(cut)?.step))) else {
        return String::new();
    };
    format!(
        ", because cut {} begins there and runs {}",
        course.number(cut),
        stroke_words(step.stroke, step.feed)
    )
}

/// Which cut a move leads to.
fn towards(course: &Course<'_>, at: usize) -> String {
    match course.next_cut(at) {
        Some(cut) if course.lead(cut) <= at => format!(" for cut {}", course.number(cut)),
        _ => String::new(),
    }
}

fn held(
    (course, at): (&Course<'_>, usize),
    ran: &Traced,
    acts: Acts,
    names: &Names,
    system: System,
) -> String {
    let words = acts.iter().map(|act| match act {
        Act::Unload if !ran.before.pieces().is_empty() => {
            format!(
                "unload {}",
                lying(ran.before.pieces(), course.setup.log.bark, names, system)
            )
        }
        Act::WedgeKerf => format!(
            "wedge the kerf{}, so that it does not close on the blade",
            wedged(course, at, system)
        ),
        Act::Measure => looked(ran, acts)
            .map_or("measure", |looked| looked.words())
            .to_owned(),
        other => act_words(other).to_owned(),
    });
    let words: Vec<String> = words.collect();
    let words: Vec<String> = words.into_iter().chain(broken_off(ran)).collect();
    match words.as_slice() {
        [] => "holds for nothing".to_owned(),
        words => format!("holds to {}", words.join(", ")),
    }
}

/// Which kerfs are taken to hold wedges from a hold on: ` of cut 4, and no other`; nothing where none does.
fn wedged(course: &Course<'_>, at: usize, system: System) -> String {
    let kerfs = wedged_kerfs(course.setup, course.trace, system);
    let driven = kerfs.iter().filter(|kerf| kerf.driven == at);
    let cuts: Vec<String> = driven
        .map(|kerf| format!("cut {}", course.number(kerf.cut)))
        .collect();
    if cuts.is_empty() {
        return String::new();
    }
    format!(" of {}, and no other", listed(&cuts))
}

fn lying(free: &[Piece], bark: Length, names: &Names, system: System) -> String {
    let words = pieces(free, bark, names, system);
    words.strip_suffix(" together").unwrap_or(&words).to_owned()
}
