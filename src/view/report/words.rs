//! What stands in the report beside the steps.

use std::fmt::Write;

use bunkside_planner::rules::{Finding, Measure, Severity};

use super::super::metal::name;
use super::super::parts::Kind;
use super::super::scene::Scene;
use super::super::steps::{Doing, Step, as_weighed, capital};
use super::super::svg::escape;
use crate::account::aid::aid_words;
use crate::account::boards::Boards;
use crate::account::energy::EnergyEntry;
use crate::account::findings::{self, RELEASE_CLIMB, verdict_words};
use crate::account::ice;
use crate::account::lifting::Lifting;
use crate::account::orders::OrderEntry;
use crate::account::push::hardest;
use crate::account::second::unfitted_aid;
use crate::account::sizes::Sized;
use crate::account::table::count;
use crate::account::totals::Totals;
use crate::measure::clock;
use bunkside_protocol::Length;

/// The verdict, and what the sequence amounts to.
pub(super) fn summary(scene: &Scene<'_>) -> (String, String) {
    let trace = scene.subject.trace;
    let number = |wanted: Doing| {
        scene
            .steps
            .iter()
            .filter(|step| step.doing == wanted)
            .map(|_| 1_u64)
            .sum::<u64>()
    };
    let log = scene.bounds;
    let system = scene.subject.system;
    let verdict = capital(&verdict_words(trace.verdict, &trace.findings)) + ".";
    let order = scene.subject.order.map_or_else(String::new, |planned| {
        let order = OrderEntry::of(planned, 0);
        let figures = order.figures(planned.setup.mill.drive);
        let left_out = order.left_out().map(|words| format!(" Not compared: {words}."));
        format!(
            " {}. {}.{}",
            capital(&order.chosen_words()),
            capital(&figures),
            left_out.unwrap_or_default()
        )
    });
    let energy = scene.subject.job.map_or_else(String::new, |job| {
        let energy = EnergyEntry::of(job, scene.subject.setup, trace);
        format!(" {}.", energy.words())
    });
    let push = hardest(scene.subject.setup, trace)
        .map_or_else(String::new, |push| format!(" Pushed {}.", push.words(system)));
    let rest = format!(
        "{} long on mill {}. {}, {}, {}; about {}.{push}{order}{energy}",
        system.run_both(log.travel.length()),
        scene.subject.mill,
        count(number(Doing::Cut), "cut"),
        count(number(Doing::Hold), "hold"),
        count(scene.parts.iter().map(|_| 1_u64).sum::<u64>(), "piece"),
        clock(trace.seconds())
    );
    (verdict, rest)
}

/// Whether somebody has to hold down what comes free, and at how many cuts.
pub(super) fn second(scene: &Scene<'_>) -> String {
    match scene.second() {
        0 => String::new(),
        cuts => {
            let aid = unfitted_aid(scene.subject.setup, scene.subject.trace);
            let aid = aid.map(|aid| format!(" {}.", kept(&capital(&aid))));
            format!(
                "<p class=\"second\">Needs a second person: at {} somebody behind the carriage holds the loose piece down with a \
                 pole; the cards say when to lay it on and when to draw it back.{}</p>\n",
                count(cuts, "cut"),
                aid.unwrap_or_default()
            )
        }
    }
}

/// What is too heavy to be lifted by those who work at the mill, and what an iced or frozen log is held with.
pub(super) fn lifting(scene: &Scene<'_>) -> String {
    let subject = &scene.subject;
    let heavy = subject
        .job
        .and_then(|job| Lifting::of(job, subject.setup, subject.trace))
        .map(|heavy| heavy.words(subject.system));
    let ice = subject.job.and_then(|job| ice::words(job, subject.setup.mill));
    let told = heavy.into_iter().chain(ice);
    told.map(|words| format!("<p class=\"second\">{}.</p>\n", kept(&capital(&words))))
        .collect()
}

/// For how many people it was planned where that is one, and which cuts rest on the pull-back aid instead of a second person.
pub(super) fn aided(scene: &Scene<'_>) -> String {
    let subject = &scene.subject;
    let alone = subject
        .job
        .filter(|job| job.setting.people == 1 && scene.second() == 0)
        .map(|_| "Planned for one person".to_owned());
    let aid = aid_words(subject.setup, subject.trace, subject.system);
    let told = alone.into_iter().chain(aid);
    told.map(|words| format!("<p class=\"second\">{}.</p>\n", kept(&capital(&words))))
        .collect()
}

/// That pieces are taken away beside a turning blade, where they are, and what would stop it.
pub(super) fn turning(scene: &Scene<'_>) -> String {
    let totals = Totals::of(scene.subject.setup, scene.subject.trace);
    if totals.unloads_turning == 0 {
        return String::new();
    }
    format!(
        "<p class=\"second\">The blade turns while pieces are taken away, at {}. To have it stopped, write \
         <code>stop_to_unload = true</code> in the job and plan again; that takes {} more.</p>\n",
        count(u64::from(totals.unloads_turning), "hold"),
        clock(totals.stopping_s)
    )
}

/// What of the order this log does not fill, and columns that do not count as what they were to be.
pub(super) fn unfilled(scene: &Scene<'_>) -> String {
    let subject = scene.subject;
    let boards = subject
        .job
        .zip(subject.plan)
        .map(|(job, plan)| Boards::in_run((job, subject.setup), plan, subject.trace));
    let Some(boards) = boards else {
        return String::new();
    };
    let words = boards.unfilled().into_iter().chain(boards.spoilt_lines());
    words
        .map(|words| format!("<p class=\"short-order\">{}.</p>\n", kept(&capital(&words))))
        .collect()
}

/// Where metal is, what keeps off it and what it ends up in.
pub(super) fn metal(scene: &Scene<'_>) -> String {
    let told = scene.metal.iter().map(|metal| {
        let words = metal.words(scene.subject.system);
        format!(
            "<p class=\"second\">Metal in the log, {}: {}.</p>\n",
            name(metal.metal),
            kept(&words)
        )
    });
    told.collect()
}

/// What is odd about the log's measures.
pub(super) fn doubts(scene: &Scene<'_>) -> String {
    let doubts = scene.subject.job.map_or(&[][..], |job| &job.doubts);
    let told = doubts
        .iter()
        .map(|doubt| format!("<p class=\"second\">{}.</p>\n", kept(&capital(doubt))));
    told.collect()
}

/// How much paper the page takes: what was counted, or one page more, as columns break.
pub(super) fn sheets([a4, letter]: [usize; 2]) -> String {
    let most = a4.max(letter) + 1;
    let sheets = match most.div_ceil(2) {
        1 => "1 sheet".to_owned(),
        sheets => format!("{sheets} sheets"),
    };
    let pages = |pages: usize| format!("{pages} or {}", pages + 1);
    let told = if a4 == letter {
        format!("{} pages of A4 or Letter", pages(a4))
    } else {
        format!("{} pages of A4, {} of Letter", pages(a4), pages(letter))
    };
    format!("Printed on about {told}: up to {sheets}, both sides.")
}

/// One finding, where it belongs.
pub(super) fn finding(scene: &Scene<'_>, finding: &Finding, step: &Step) -> String {
    let objection = &finding.objection;
    let (class, word) = match objection.severity {
        Severity::Warn => ("warn", "Warning"),
        Severity::Refuse => ("refuse", "Refused"),
    };
    let system = scene.subject.system;
    let mut words = format!("{word}, rule {}: ", finding.rule);
    let lacks = findings::not_there(&objection.measured, &objection.limit);
    let (found, limit) = match lacks {
        Some(lacks) => (Some(lacks), None),
        None => {
            let (measured, limit) = (&objection.measured, &objection.limit);
            let [found, right] = findings::figure_and_limit(measured, limit, system);
            let told = |measure: &Measure, words| (*measure != Measure::None).then_some(words);
            (told(measured, found), told(limit, right))
        }
    };
    match (found, limit) {
        (Some(found), Some(limit)) => {
            let is = if is_figure(&objection.limit) {
                findings::limit_word(objection.severity)
            } else {
                "it should be"
            };
            let _ = write!(words, "{found}, {is} {limit}; ");
        }
        (Some(found), None) => {
            let _ = write!(words, "{found}; ");
        }
        (None, Some(limit)) => {
            let _ = write!(words, "{} {limit}; ", findings::limit_word(objection.severity));
        }
        (None, None) => {}
    }
    // Who holds the piece down, how and from where, stands in the same card.
    let told = finding.rule == RELEASE_CLIMB && !step.second.is_empty();
    words.push_str(if told {
        "what to do stands below"
    } else {
        objection.note
    });
    format!("<p class=\"finding {class}\">{}.</p>\n", kept(&words))
}

/// Whether a measure is a figure that can be more or less.
const fn is_figure(measure: &Measure) -> bool {
    matches!(
        measure,
        Measure::Length(_)
            | Measure::Told(..)
            | Measure::Near(..)
            | Measure::Speed(_)
            | Measure::Force(_)
            | Measure::Power(_)
            | Measure::Mass(_)
            | Measure::Millimetres(_)
            | Measure::Share(_)
            | Measure::Count(_)
    )
}

/// Text for a page in which no figure is parted from its fraction or its unit.
pub(super) fn kept(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let units = ["mm", "m", "in", "ft", "s", "kg", "lb"];
    let joins = |at: usize| {
        let before = at.checked_sub(1).and_then(|before| letters.get(before));
        let word: String = letters
            .iter()
            .skip(at + 1)
            .take_while(|letter| letter.is_alphanumeric())
            .collect();
        before.is_some_and(char::is_ascii_digit)
            && (units.contains(&word.as_str()) || word.starts_with(|letter: char| letter.is_ascii_digit()))
    };
    let kept = letters.iter().enumerate();
    let kept: String = kept
        .map(|(at, letter)| {
            if *letter == ' ' && joins(at) {
                '\u{a0}'
            } else {
                *letter
            }
        })
        .collect();
    escape(&kept)
}

/// What the textures mean.
pub(super) fn key(scene: &Scene<'_>) -> String {
    let mut words = vec!["blank: board"];
    if scene
        .parts
        .iter()
        .any(|part| part.released && part.kind == Kind::Board)
    {
        words.push("hatched: boards released together");
    }
    words.push("stippled: slab or waste");
    if !scene.metal.is_empty() {
        words.push("crossed box: metal, by its number");
    }
    if scene.subject.setup.log.bark > Length::ZERO {
        words.push("rough line: bark, fine line: wood under bark");
    }
    words.push("figures: the order in which pieces come off");
    format!("<p class=\"soft\">{}.</p>\n", escape(&words.join("; ")))
}

/// Every piece in the order they come off.
pub(super) fn pieces(scene: &Scene<'_>) -> String {
    let system = scene.subject.system;
    let mut list = String::from("<h2>The pieces</h2>\n<ol class=\"pieces\">\n");
    for part in &scene.parts {
        let mut words = match part.kind {
            Kind::Board => part.described(system),
            Kind::Slab | Kind::Waste => part.what_and_why(),
        };
        words.push_str(&format!("; {}", system.about(part.mass_kg)));
        if let Some(cut) = &part.cross_cut {
            words.push_str(&format!("; cross-cut {}", cut.words(system)));
        }
        let _ = writeln!(list, "<li value=\"{}\">{}</li>", part.serial, kept(&words));
    }
    list.push_str("</ol>\n");
    let subject = scene.subject;
    let bark = scene.parts.iter().any(|part| part.bark);
    let wood = as_weighed(&subject, bark);
    if !scene.parts.is_empty() && !wood.is_empty() {
        let _ = writeln!(list, "<p class=\"soft\">Weights are estimates,{wood}.</p>");
    }
    if let Some((job, plan)) = subject.job.zip(subject.plan) {
        let boards = Boards::in_run((job, subject.setup), plan, subject.trace);
        let told = Sized::lines(job).into_iter();
        for line in told.chain(boards.owed_lines()).chain(boards.absent_lines()) {
            let _ = writeln!(list, "<p>{}.</p>", kept(&capital(&line)));
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_their_units() {
        assert_eq!(
            kept("down to 13 21/32 in in wood, 5 by 1 mm & 12 ft 4 in; take 2 slabs"),
            "down to 13\u{a0}21/32\u{a0}in in wood, 5 by 1\u{a0}mm &amp; 12\u{a0}ft 4\u{a0}in; take 2 slabs"
        );
    }
}
