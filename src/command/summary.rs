//! What came of a plan, for a sawyer and for programs.

use bunkside_planner::audit::Verdict;
use bunkside_planner::layout::exact::Core;
use bunkside_planner::layout::lowest_floor;
use bunkside_planner::machine::Apart;
use bunkside_planner::rules::{Finding, Severity};
use bunkside_protocol::Length;
use serde::Serialize;

use super::folder::Folder;
use super::log_entry::{LogEntry, log_words};
use super::problem::obstacle_of as obstacle;
use crate::account::aid::aid_words;
use crate::account::bark::under;
use crate::account::boards::{Boards, Volume};
use crate::account::care::Care;
use crate::account::chosen::ChosenSetting;
use crate::account::counted::Counted;
use crate::account::cross_cuts::CrossCut;
use crate::account::cuts::times;
use crate::account::done::Done;
use crate::account::findings::{
    self, FindingEntry, second_person_cuts, second_person_words, verdict_word, verdict_words,
};
use crate::account::ice;
use crate::account::lifting::Lifting;
use crate::account::metal::Metal;
use crate::account::offered::Offered;
use crate::account::orders::OrderEntry;
use crate::account::pieces::{named, regions};
use crate::account::push::{Push, hardest};
use crate::account::second::{unfitted_aid, unfitted_aid_cuts};
use crate::account::sizes::Sized;
use crate::account::table::{Side, Table, count, wrapped};
use crate::account::totals::Totals;
use crate::account::value::Value;
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::job::{Job, Level};
use crate::measure::{System, clock};
use crate::planned::Planned;
use crate::setting::Sheet;
use crate::setting::words::{Words, rolled};

/// What `format` says of it.
pub(super) const FORMAT: &str = "bunkside-plan";
/// The version of its shape.
pub(super) const VERSION: u32 = 1;

/// What came of a plan.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Summary {
    format: &'static str,
    version: u32,
    verdict: &'static str,
    log: LogEntry,
    setting: Sheet,
    chosen_setting: Option<ChosenSetting>,
    done: Option<Done>,
    layers: usize,
    slabs: usize,
    sizes: Vec<Sized>,
    #[serde(flatten)]
    boards: Boards,
    value: Option<Value>,
    better_layout: Option<Offered>,
    cross_cuts: Vec<CrossCut>,
    totals: Totals,
    order: OrderEntry,
    stress: Option<Care>,
    metal: Vec<Metal>,
    second_person_cuts: usize,
    lifting: Option<Lifting>,
    unfitted_aid_cuts: usize,
    hardest_push: Option<Push>,
    findings: Vec<FindingEntry>,
    folder: String,
    files: Vec<String>,
    caution: &'static str,
}

impl Summary {
    /// That of a plan whose results lie in a folder.
    pub(super) fn of(planned: &Planned<'_>, folder: &Folder) -> Self {
        let slabs = planned
            .plan
            .layers
            .iter()
            .filter(|layer| layer.columns.is_empty());
        let totals = Totals::of(planned.setup, &planned.trace);
        let boards = Boards::of(planned);
        Self {
            format: FORMAT,
            version: VERSION,
            verdict: verdict_word(planned.trace.verdict),
            log: LogEntry::of(planned),
            setting: Sheet::planned(planned),
            chosen_setting: ChosenSetting::of(planned.job),
            done: Done::of(planned.job, Some(&planned.trace)),
            layers: planned.plan.layers.len(),
            slabs: slabs.count(),
            sizes: Sized::all(planned.job),
            value: Value::of(planned, &boards).map(|value| with_obstacle(planned, value)),
            better_layout: Offered::of(planned, &boards),
            lifting: Lifting::of(planned.job, planned.setup, &planned.trace),
            boards,
            cross_cuts: CrossCut::all(planned.job, planned.setup, planned.plan, &planned.trace),
            order: OrderEntry::of(planned, totals.strokes),
            totals,
            stress: Care::of(planned.job, planned.setup, &planned.trace),
            metal: metal(planned),
            second_person_cuts: second_person_cuts(&planned.trace.findings),
            unfitted_aid_cuts: unfitted_aid_cuts(planned.setup, &planned.trace),
            hardest_push: hardest(planned.setup, &planned.trace),
            findings: planned.trace.findings.iter().map(FindingEntry::from).collect(),
            folder: folder.path().to_string_lossy().into_owned(),
            files: folder.written().to_vec(),
            caution: CAUTION,
        }
    }

    /// The summary as text.
    pub(super) fn text(&self, planned: &Planned<'_>) -> String {
        let system = System::of(planned.job.inches);
        let mut text = format!("{} on {}\n\n", self.log.name, self.log.mill);
        let mut line = |head: &str, words: String| text.push_str(&headed(head, &words));
        if let Some(done) = &self.done {
            line("done", done.words());
            if let Some(words) = done.refused_words() {
                line("", words);
            }
        }
        if let Some(words) = second_person_words(self.second_person_cuts) {
            line("people", words);
        }
        if let Some(words) = unfitted_aid(planned.setup, &planned.trace) {
            line("", words);
        }
        if let Some(heavy) = &self.lifting {
            line("lifting", heavy.words(system));
        }
        line(
            "log",
            log_words(planned.job, &self.log, &self.boards.volume, system),
        );
        if let Some(held) = ice::words(planned.job, planned.setup.mill) {
            line("ice", held);
        }
        for doubt in &self.log.doubts {
            line("", format!("warning: {doubt}"));
        }
        if planned.job.log_max.is_none() {
            line("", NO_LOG_MAX.to_owned());
        }
        line("sawing", self.log.cutting_energy.words());
        line("setting", setting_words(planned, system));
        if let Some(chosen) = &self.chosen_setting {
            line("", chosen.words());
        }
        if let Some(core) = &planned.job.core {
            line("core", core_words(planned.job, core, system));
        }
        for metal in &self.metal {
            line(&format!("metal M{}", metal.metal), metal.words(system));
        }
        for (head, words) in self.sheet_lines(system) {
            line(&head, words);
        }
        for (number, words) in Sized::lines(planned.job).into_iter().enumerate() {
            line(if number == 0 { "sizes" } else { "" }, words);
        }
        line("layers", self.layers_words());
        line("boards", self.boards_words(system));
        text.push_str(&self.board_rows(system));
        text.push_str(&self.shortfalls(system));
        for one in &self.cross_cuts {
            let words = format!("piece {} {}", one.piece, one.words(system));
            text.push_str(&headed("cross-cut", &words));
        }
        let mut line = |head: &str, words: String| text.push_str(&headed(head, &words));
        if let Some(value) = &self.value {
            line("value", value.words(planned.job));
        }
        if let Some(better) = &self.better_layout {
            line("layout", better.words());
        }
        line("waste", waste_words(&self.boards.volume, system));
        line("cuts", self.totals.ways_words(system));
        if let Some(push) = &self.hardest_push {
            line("push", push.words(system));
        }
        line("time", self.time_words());
        line("order", self.order.chosen_words());
        line("", self.order.figures(planned.setup.mill.drive));
        if let Some(words) = self.order.left_out() {
            line("left out", words);
        }
        line("holds", self.totals.holds_words());
        if let Some(words) = aid_words(planned.setup, &planned.trace, system) {
            line("aid", words);
        }
        for (number, words) in self.stress.iter().flat_map(Care::told).enumerate() {
            line(if number == 0 { "stress" } else { "" }, words);
        }
        if let Some(words) = self.boards.unfilled() {
            line("short", words);
        }
        line(
            "verdict",
            verdict_words(planned.trace.verdict, &planned.trace.findings),
        );
        text.push_str(&findings::text(&planned.trace.findings, system, 10));
        if planned.trace.verdict == Verdict::Refused {
            match too_low(planned, system) {
                Some(words) => text.push_str(&wrapped("          ", &words, 100)),
                None => text.push_str(OUR_FAULT),
            }
        }
        let files = format!("{}: {}", self.folder, self.files.join(", "));
        text.push_str(&headed("files", &files));
        if planned.trace.verdict == Verdict::Refused {
            text.push_str(&headed("", NOT_STORED));
        }
        text.push_str(&format!("\n{}\n", CAUTION_LINES.join("\n")));
        text
    }

    /// A line for each bunk, and what to measure first.
    fn sheet_lines(&self, system: System) -> Vec<(String, String)> {
        let words = Words { system, both: false };
        let bunks = self.setting.bunks.iter();
        let mut lines: Vec<(String, String)> = bunks
            .map(|row| (format!("bunk {}", row.bunk), words.bunk(row)))
            .collect();
        let dogs = self.setting.dogs.iter().filter_map(|row| words.dog(row));
        lines.extend(dogs.enumerate().map(|(number, words)| {
            let head = if number == 0 { "dogs" } else { "" };
            (head.to_owned(), words)
        }));
        if let Some(board) = &self.setting.first_board {
            lines.push(("check".to_owned(), words.first_board(board)));
        }
        lines
    }

    fn layers_words(&self) -> String {
        let boards = self.layers - self.slabs;
        let slabs = count(self.slabs as u64, "slab");
        format!("{}: {slabs}, {boards} with columns", self.layers)
    }

    fn boards_words(&self, system: System) -> String {
        let volume = &self.boards.volume;
        let board_feet: f64 = self
            .boards
            .boards
            .iter()
            .map(|row| row.board_feet)
            .fold(0.0, |sum, one| sum + one);
        let held = match system {
            System::Metric => system.volume(volume.boards_m3),
            System::Inches => format!("{board_feet:.1} board feet, {}", system.volume(volume.boards_m3)),
        };
        format!(
            "{}, {held}, {:.0} % of the log{}",
            self.boards.count(),
            volume.percent(),
            under(self.setting.staging.bark_um)
        )
    }

    fn board_rows(&self, system: System) -> String {
        let mut table = Table::new(&[
            ("", Side::Right),
            ("", Side::Left),
            ("", Side::Left),
            ("", Side::Right),
            ("", Side::Left),
            ("", Side::Right),
        ]);
        for row in &self.boards.boards {
            table.row([
                row.count.to_string(),
                row.name.clone(),
                times(system, row.width_um, row.thickness_um),
                system.run(row.length_um),
                row.end
                    .map_or_else(String::new, |end| format!("from the {end} end")),
                match system {
                    System::Metric => system.volume(row.volume_m3),
                    System::Inches => format!("{:.1} board feet", row.board_feet),
                },
            ]);
        }
        table.text(10)
    }

    /// Boards that are off already, boards that do not count, and products that fall short.
    fn shortfalls(&self, system: System) -> String {
        let mut text = String::new();
        if let Some(done) = self.done.as_ref().filter(|done| !done.boards.is_empty()) {
            let (volume, off) = (&self.boards.volume, done.boards.iter().map(|off| off.count));
            let words = format!(
                "{}, {}, counted beside these; with them {:.0} % of the log{}",
                count(u64::from(off.sum::<u32>()), "board"),
                system.volume(volume.off_m3),
                volume.percent_with_off(),
                under(self.setting.staging.bark_um)
            );
            text.push_str(&headed("off", &words));
        }
        for line in self.boards.spoilt_lines() {
            text.push_str(&format!("          warning: {line}\n"));
        }
        for one in &self.boards.larger {
            let line = format!("{}, {}: {}", one.place(), one.name, one.why);
            text.push_str(&wrapped("          warning: ", &line, 100));
        }
        for line in self.boards.owed_lines() {
            text.push_str(&wrapped("          warning: ", &line, 100));
        }
        for line in self.boards.absent_lines() {
            text.push_str(&wrapped("          ", &line, 100));
        }
        text
    }

    fn time_words(&self) -> String {
        let seconds = &self.totals.seconds;
        format!(
            "{}, of it {} at holds",
            clock(seconds.all),
            clock(seconds.holding)
        )
    }
}

/// What a plan brings, with why it is not what brings most.
fn with_obstacle(planned: &Planned<'_>, value: Value) -> Value {
    let obstacle = value
        .most
        .as_ref()
        .and_then(|most| obstacle(planned.job, planned.setup, most));
    Value { obstacle, ..value }
}

/// Where the core is, and that it counts.
fn core_words(job: &Job, core: &Core, system: System) -> String {
    let start = job.setting.near_end_at;
    let [from, to] = [core.travel.lo - start, core.travel.hi - start].map(|along| system.run(along));
    format!(
        "{} thick around the middle, {from} to {to} from the near end: a board that meets it counts only where its `core` lets it",
        system.size(core.thick)
    )
}

/// Metal in the log, with the names of the boards that it ends up in.
fn metal(planned: &Planned<'_>) -> Vec<Metal> {
    let regions = regions(planned.setup, planned.plan);
    let pieces = named(&planned.trace, &regions);
    let boards = Boards::of(planned);
    Metal::all(planned.setup, &planned.trace, &|serial| {
        let one = pieces.iter().find(|one| one.piece.serial == serial)?;
        Some(Counted::of(&boards, planned.job, one.region?)?.name)
    })
}

/// A line of the summary, or as many as it takes.
fn headed(head: &str, words: &str) -> String {
    wrapped(&format!("{head:<9} "), words, 100)
}

/// That the cut plan ends a layer lower than what lies under the log lets it; none where it does not.
fn too_low(planned: &Planned<'_>, system: System) -> Option<String> {
    let bed = |finding: &Finding| {
        ["bed-clear", "support"].contains(&finding.rule) && finding.objection.severity == Severity::Refuse
    };
    let floor = planned.plan.layers.iter().map(|layer| layer.floor).min()?;
    let least = lowest_floor(planned.setup);
    (floor < least && planned.trace.findings.iter().any(bed)).then(|| {
        format!(
            "The cut plan asks for it: its lowest layer ends at {}. Clear of bed, packs and wedges along the whole log it ends at {} or higher, or the log is packed less.",
            system.size(floor.from_origin()),
            system.size(least.from_origin())
        )
    })
}

/// Of a mill whose profile does not say what it carries.
const NO_LOG_MAX: &str = "not compared with what the mill carries: its profile does not say (`log_max`); look at the mill's plate or manual";

/// Where a rule refuses.
const NOT_STORED: &str = "no moves.job is written: what the rules refuse is not handed to a controller. \
     moves.json shows the moves, to `bunkside audit` and `bunkside dry-run`";

const OUR_FAULT: &str = "          \
The auditor refuses what Bunkside itself planned. That is a fault of Bunkside, not of your job: do not saw by
          these moves, and report it with the job. The files are written for that.\n";

fn setting_words(planned: &Planned<'_>, system: System) -> String {
    let (job, setting) = (planned.job, &planned.job.setting);
    let level = match setting.level {
        Level::Centre => "centre line parallel to the rails".to_owned(),
        Level::Top => "top parallel to the rails".to_owned(),
        Level::Bottom => "underside parallel to the rails".to_owned(),
        Level::Face => "laid by the face that was sawn before".to_owned(),
        Level::Between(percent) => format!(
            "tilted so that a line {percent} % of the way from underside to top is parallel to the rails"
        ),
    };
    let mut words = format!(
        "{level}; near end at {}",
        system.run_both(setting.near_end_at.from_origin())
    );
    if setting.offset != Length::ZERO {
        let side = if setting.offset > Length::ZERO {
            "exit"
        } else {
            "entry"
        };
        let off = system.size(setting.offset.abs());
        words.push_str(&format!("; {off} towards the {side} side"));
    }
    if let Some(rolled) = rolled(setting) {
        words.push_str(&format!("; {rolled}"));
    }
    let told = job.log.bed_clearance.max(job.mill.clearances.bed);
    let clearance = Apart::keeping(&job.mill, told).height;
    words.push_str(&format!("; bed clearance {}", system.size_both(clearance)));
    words
}

fn waste_words(volume: &Volume, system: System) -> String {
    format!(
        "{} in slabs, strips and trims, {} in kerfs, {} left on the bunks",
        system.volume(volume.offcuts_m3),
        system.volume(volume.kerfs_m3),
        system.volume(volume.left_m3)
    )
}
