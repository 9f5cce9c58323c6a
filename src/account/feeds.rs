//! Every cut's forces and margins, and what decided its stroke and its feed.

use bunkside_planner::physics::force::with_shock;
use bunkside_planner::physics::margins::{Margins, demanded};
use bunkside_planner::replay::{Setup, Step};
use bunkside_protocol::{Angle, Feed, Length, Move, Position, Speed, Stroke};
use serde::Serialize;

use super::cuts::{angle_words, stroke_words};
use super::push::push;
use super::table::{Side, Table, wrapped};
use crate::explain::{Course, Decided, decisions};
use crate::measure::System;
use crate::trace::Trace;

/// The feed-direction report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Feeds {
    /// What is demanded of each margin.
    pub demanded: Factors,
    /// What every force is multiplied by, for knots.
    pub shock: f64,
    /// Every cut that meets wood.
    pub cuts: Vec<FeedEntry>,
    /// The other cuts.
    pub not_shown: Vec<NotShown>,
}

/// A cut without forces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct NotShown {
    /// Its number among the cuts, from 1.
    pub cut: u32,
    /// Its number among the moves, from 0.
    #[serde(rename = "move")]
    pub index: u16,
    /// Why it has none.
    pub why: Forceless,
}

/// Why a cut has no forces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Forceless {
    /// It runs through air.
    NoWood,
    /// The carriage does not move along the rails.
    StandsStill,
    /// What it does cannot be told.
    NotJudged,
}

/// A factor for each of three ways in which wood gives way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Factors {
    /// Rolling: tipping over the wedges, and turning between them.
    pub roll: f64,
    /// Sliding.
    pub slip: f64,
    /// Lifting.
    pub lift: f64,
}

/// One cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FeedEntry {
    /// Its number among the cuts, from 1.
    pub cut: u32,
    /// Its number among the moves, from 0.
    #[serde(rename = "move")]
    pub index: u16,
    /// How the blade stands.
    pub angle: Angle,
    /// Which way the carriage runs.
    pub stroke: Option<Stroke>,
    /// What the cut really is.
    pub feed: Option<Feed>,
    /// Fresh wood under the rim at the worst place.
    pub depth_um: Length,
    /// Feed in wood.
    pub speed_um_per_s: Speed,
    /// How hard it is pushed by hand at most, newtons, a knot counted; none where a drive moves the carriage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub push_n: Option<f64>,
    /// Where the wood is least held.
    #[serde(flatten)]
    pub held: Held,
    /// What speaks against the other stroke.
    pub stroke_by: DecidedEntry,
    /// What speaks against a faster feed.
    pub feed_by: DecidedEntry,
}

/// What a cut does to the wood's hold on the bed, where that is least.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Held {
    /// Where along the rails.
    pub at_um: Position,
    /// Force along the rails, shock counted: above zero it pulls the carriage on, below it holds it back.
    pub along_n: f64,
    /// Force on the wood square to the rails, shock counted: above zero down, or to the exit side with the blade flat.
    pub across_n: f64,
    /// The margins while it cuts.
    pub during: MarginsEntry,
    /// The margins at rest afterwards.
    pub rest: MarginsEntry,
}

/// Margins: what resists over what drives; none where nothing drives.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MarginsEntry {
    /// Tipping over a line of wedges.
    pub tip: Option<f64>,
    /// Turning in the bed.
    pub turn: Option<f64>,
    /// Leaning over, at rest.
    pub stand: Option<f64>,
    /// Sliding.
    pub slip: Option<f64>,
    /// Lifting.
    pub lift: Option<f64>,
}

/// What speaks against doing it otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DecidedEntry {
    /// In a word.
    pub by: &'static str,
    /// The rule that refuses or warns.
    pub rule: Option<&'static str>,
    /// How much longer it would take.
    pub seconds: Option<f64>,
}

impl Factors {
    /// What a mill demands.
    #[must_use]
    pub fn demanded(setup: &Setup<'_>) -> Self {
        let factors = &setup.mill.factors;
        Self {
            roll: demanded(factors.roll),
            slip: demanded(factors.slip),
            lift: demanded(factors.lift),
        }
    }

    /// The three, each with its name.
    #[must_use]
    pub const fn named(&self) -> [(&'static str, f64); 3] {
        [("roll", self.roll), ("slip", self.slip), ("lift", self.lift)]
    }
}

impl Held {
    /// What a cut does; none where it meets no wood.
    #[must_use]
    pub fn of(setup: &Setup<'_>, step: &Step) -> Option<Self> {
        let strain = step.strain?;
        Some(Self {
            at_um: strain.at,
            along_n: with_shock(strain.force.along, setup.mill),
            across_n: with_shock(strain.force.across, setup.mill),
            during: MarginsEntry::from(&strain.during),
            rest: MarginsEntry::from(&strain.rest),
        })
    }

    /// The least of while it cuts and afterwards; infinite where nothing drives.
    #[must_use]
    pub fn least(&self) -> Factors {
        let (during, rest) = (self.during.factors(), self.rest.factors());
        Factors {
            roll: during.roll.min(rest.roll),
            slip: during.slip.min(rest.slip),
            lift: during.lift.min(rest.lift),
        }
    }
}

impl From<&Margins> for MarginsEntry {
    fn from(margins: &Margins) -> Self {
        let finite = |margin: f64| margin.is_finite().then_some(margin);
        Self {
            tip: finite(margins.tip),
            turn: finite(margins.turn),
            stand: finite(margins.stand),
            slip: finite(margins.slip),
            lift: finite(margins.lift),
        }
    }
}

impl MarginsEntry {
    /// Tipping, turning and leaning over as one; infinite where nothing drives.
    #[must_use]
    pub fn factors(&self) -> Factors {
        let number = |margin: Option<f64>| margin.unwrap_or(f64::INFINITY);
        Factors {
            roll: number(self.tip).min(number(self.turn)).min(number(self.stand)),
            slip: number(self.slip),
            lift: number(self.lift),
        }
    }
}

impl From<&Decided> for DecidedEntry {
    fn from(decided: &Decided) -> Self {
        Self {
            by: decided.word(),
            rule: decided.rule(),
            seconds: decided.seconds(),
        }
    }
}

impl DecidedEntry {
    /// In a word or two, for a table.
    fn words(&self) -> String {
        match (self.by, self.rule) {
            ("refused", Some(rule)) => rule.to_owned(),
            ("warned", Some(rule)) => format!("{rule}, warns"),
            ("other-pieces", _) => "other pieces".to_owned(),
            ("longer", _) => "time".to_owned(),
            ("mill", _) => "mill".to_owned(),
            _ => match self.seconds.map(|seconds| -seconds).filter(|less| *less >= 0.5) {
                Some(less) => format!("nothing, {less:.0} s less"),
                None => "nothing".to_owned(),
            },
        }
    }
}

impl Feeds {
    /// Whether somebody pushes the carriage.
    fn is_pushed(&self) -> bool {
        self.cuts.iter().any(|cut| cut.push_n.is_some())
    }

    /// The report of a run.
    #[must_use]
    pub fn of(setup: &Setup<'_>, trace: &Trace) -> Self {
        let moves: Vec<Move> = trace.moves.iter().map(|traced| traced.step.told).collect();
        let course = Course::new(setup, &moves, trace);
        let decided = decisions(&course);
        let cuts = trace.moves.iter().map(|traced| &traced.step);
        let cuts = cuts.filter(|step| matches!(step.told, Move::Cut(_)));
        let cuts: Vec<(u32, &Step)> = (1..).zip(cuts).collect();
        let entries = cuts.iter().filter_map(|&(cut, step)| {
            let decision = decided.iter().find(|one| one.at == usize::from(step.index))?;
            let Move::Cut(told) = step.told else { return None };
            Some(FeedEntry {
                cut,
                index: step.index,
                angle: step.before.angle,
                stroke: step.stroke,
                feed: step.feed,
                depth_um: step.cut?.bite,
                speed_um_per_s: told.speed,
                push_n: push(setup, step),
                held: Held::of(setup, step)?,
                stroke_by: DecidedEntry::from(&decision.stroke),
                feed_by: DecidedEntry::from(&decision.feed),
            })
        });
        let entries: Vec<FeedEntry> = entries.collect();
        let others = cuts
            .iter()
            .filter(|(cut, _)| entries.iter().all(|entry| entry.cut != *cut));
        let not_shown = others.map(|&(cut, step)| NotShown {
            cut,
            index: step.index,
            why: Forceless::of(step),
        });
        Self {
            demanded: Factors::demanded(setup),
            shock: demanded(setup.mill.factors.shock.max(1_000)),
            not_shown: not_shown.collect(),
            cuts: entries,
        }
    }

    /// The report as text.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let Factors { roll, slip, lift } = self.demanded;
        let pushed = if self.is_pushed() { PUSHED } else { "" };
        let key = format!(
            "Forces count {} for knots. {pushed}along, across: the forces where the wood is held least, which may be where the blade \
             bites little. roll, slip, lift: how many times what drives the wood is what holds it, the less \
             of while it cuts and at rest afterwards; demanded are {roll}, {slip} and {lift}, ! marks less, - that nothing \
             drives. stroke by, feed by: the rule that refuses the other stroke or a faster feed, or warns of it; time \
             where the other stroke takes longer; mill where it feeds no faster; nothing where nothing speaks against it.",
            self.shock
        );
        format!(
            "{}{}\n{}{}",
            table(self, system).text(0),
            self.not_shown_words(),
            wrapped("", &key, 100),
            self.least_words()
        )
    }

    /// The cuts that the table leaves out, by why: `not shown: cuts 6 to 8: no wood`; empty where there are none.
    fn not_shown_words(&self) -> String {
        let of = |why: Forceless| {
            let cuts = self.not_shown.iter().filter(|one| one.why == why);
            let cuts: Vec<u32> = cuts.map(|one| one.cut).collect();
            (!cuts.is_empty()).then(|| format!("{}: {}", cuts_words(&cuts), why.words()))
        };
        let said: Vec<String> = Forceless::ALL.into_iter().filter_map(of).collect();
        if said.is_empty() {
            String::new()
        } else {
            wrapped("not shown: ", &said.join("; "), 100)
        }
    }

    /// Which cuts come nearest to what is demanded.
    #[must_use]
    pub fn least_words(&self) -> String {
        let of = |name: &str| {
            let margin = |entry: &FeedEntry| {
                let named = entry.held.least().named();
                named
                    .into_iter()
                    .find(|(known, _)| *known == name)
                    .map_or(f64::INFINITY, |(_, margin)| margin)
            };
            let least = self
                .cuts
                .iter()
                .min_by(|one, other| margin(one).total_cmp(&margin(other)))?;
            let margin = margin(least);
            margin
                .is_finite()
                .then(|| format!("{name} {} at cut {}", figure(margin), least.cut))
        };
        let said: Vec<String> = ["roll", "slip", "lift"].into_iter().filter_map(of).collect();
        if said.is_empty() {
            String::new()
        } else {
            format!("least: {}\n", said.join(", "))
        }
    }
}

impl Forceless {
    /// Every reason.
    pub const ALL: [Self; 3] = [Self::NoWood, Self::StandsStill, Self::NotJudged];

    /// Of a cut that has none.
    #[must_use]
    pub fn of(step: &Step) -> Self {
        match (step.cut, step.stroke) {
            (None, _) => Self::NotJudged,
            (Some(_), None) => Self::StandsStill,
            (Some(facts), Some(_)) if facts.met.is_none() => Self::NoWood,
            (Some(_), Some(_)) => Self::NotJudged,
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoWood => "no wood",
            Self::StandsStill => "stands still",
            Self::NotJudged => "cannot be judged",
        }
    }
}

/// Cuts by number, those that follow each other as one: `cut 3`, `cuts 3, 6 to 8`.
#[must_use]
pub fn cuts_words(cuts: &[u32]) -> String {
    let runs = cuts.chunk_by(|one, next| one + 1 == *next);
    let runs: Vec<String> = runs
        .map(|run| match run {
            [first, .., last] if run.len() > 2 => format!("{first} to {last}"),
            _ => run.iter().map(u32::to_string).collect::<Vec<_>>().join(", "),
        })
        .collect();
    let word = if cuts.len() == 1 { "cut" } else { "cuts" };
    format!("{word} {}", runs.join(", "))
}

/// The head of a column that only a carriage has that is pushed.
const PUSH: &str = "push";
const PUSHED: &str = "push: the hardest that whoever pushes feels of it anywhere along the stroke. ";

fn table(feeds: &Feeds, system: System) -> Table {
    let pushed = feeds.is_pushed();
    let heads = [
        ("cut", Side::Right),
        ("move", Side::Right),
        ("blade", Side::Left),
        ("stroke and feed", Side::Left),
        ("bite", Side::Right),
        ("speed", Side::Right),
        (PUSH, Side::Right),
        ("along", Side::Right),
        ("across", Side::Right),
        ("roll", Side::Right),
        ("slip", Side::Right),
        ("lift", Side::Right),
        ("stroke by", Side::Left),
        ("feed by", Side::Left),
    ];
    let shown = |head: &str| pushed || head != PUSH;
    let told: Vec<(&str, Side)> = heads.into_iter().filter(|(head, _)| shown(head)).collect();
    let mut table = Table::new(&told);
    for cut in &feeds.cuts {
        let [roll, slip, lift] = margins(&cut.held, &feeds.demanded);
        let cells = [
            cut.cut.to_string(),
            cut.index.to_string(),
            angle_words(cut.angle).to_owned(),
            stroke_words(cut.stroke, cut.feed).to_owned(),
            system.size(cut.depth_um),
            system.speed(cut.speed_um_per_s),
            cut.push_n.map_or_else(String::new, |push| format!("{push:.0} N")),
            along_words(cut.held.along_n),
            across_words(cut.angle, cut.held.across_n),
            roll,
            slip,
            lift,
            cut.stroke_by.words(),
            cut.feed_by.words(),
        ];
        let cells = cells.into_iter().zip(heads).filter(|(_, (head, _))| shown(head));
        table.row(cells.map(|(cell, _)| cell));
    }
    table
}

/// The three margins as they stand in a table, marked where they are less than is demanded.
fn margins(held: &Held, demanded: &Factors) -> [String; 3] {
    let least = held.least().named();
    let wanted = demanded.named();
    [0, 1, 2].map(|way| {
        let (margin, wanted) = (least[way].1, wanted[way].1);
        let mark = if margin < wanted { "!" } else { "" };
        format!("{}{mark}", figure(margin))
    })
}

/// A margin with no more digits than it is good for: `1.27`, `12.3`, `over 99`, `-` where nothing drives.
#[must_use]
pub fn figure(margin: f64) -> String {
    if margin.is_infinite() {
        "-".to_owned()
    } else if margin > 99.0 {
        "over 99".to_owned()
    } else if margin < 10.0 {
        format!("{margin:.2}")
    } else {
        format!("{margin:.1}")
    }
}

/// A force along the rails, in words.
#[must_use]
pub fn along_words(newtons: f64) -> String {
    match newtons.round() {
        0.0 => "0 N".to_owned(),
        pull if pull > 0.0 => format!("pulls {pull:.0} N"),
        hold => format!("holds back {:.0} N", -hold),
    }
}

/// A force on the wood square to the rails, in words.
#[must_use]
pub fn across_words(angle: Angle, newtons: f64) -> String {
    let newtons = newtons.round();
    let way = match (angle, newtons > 0.0) {
        (Angle::Flat, true) => "to exit",
        (Angle::Flat, false) => "to entry",
        (Angle::Upright, true) => "down",
        (Angle::Upright, false) => "up",
    };
    if newtons == 0.0 {
        "0 N".to_owned()
    } else {
        format!("{:.0} N {way}", newtons.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_that_follow_each_other_are_told_as_one() {
        assert_eq!(cuts_words(&[3]), "cut 3");
        assert_eq!(cuts_words(&[3, 4]), "cuts 3, 4");
        assert_eq!(cuts_words(&[1, 3, 6, 7, 8]), "cuts 1, 3, 6 to 8");
    }
}
