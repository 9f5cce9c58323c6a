//! Jobs: one log, how it is set, the mill and the products wanted; TOML in, [`Job`] out.
//!
//! [`KEYS`] lists every key with a line on what it means; [`read`] reads a job and its mill and says all that is wrong
//! with either.
//!
//! How a log becomes stations: diameters run linearly from end to end; a bow is a parabola on the straight line between
//! the end centres; ovality and bow are told with the log as it was measured and rolled together by the setting's
//! `turn`, the top towards the entry side. The line that `level` names is laid parallel to the rails and the lowest
//! point of the bark lies on the bed, so that the other end is packed up.

mod beside;
mod board;
mod check;
mod choice;
mod energy;
mod finish;
pub(crate) mod keys;
mod lower;
mod mass;
mod nominal;
mod of_many;
mod sawn;
mod shape;

use std::path::{Component, Path, PathBuf};

use bunkside_planner::layout::exact::Core;
use bunkside_protocol::{Length, LogRecord, MillRecord, Position};

pub use board::{BoardSpec, PriceBy};
pub use check::longest_log;
pub use choice::{Chosen, Figures};
pub use energy::{Energy, EnergySource};
pub use finish::Finish;
pub use keys::KEYS;
pub use mass::mass_with_bark;
pub(crate) use of_many::{read_mill, read_one};
pub use shape::Level;

use crate::begun::Begun;
use crate::diagnostic::{Diagnostic, Source, any_error, render_files};
use crate::input::{self, Node, Value};
use crate::mill::{self, Profile};
use crate::species::{Species, State};

/// How much the timber moves as it is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GrowthStress {
    /// Hardly.
    Low,
    /// A little: nothing is planned for it.
    Medium,
    /// So much that the log is sawn as stressed timber: see [`bunkside_planner::sequence::Growth::Stressed`].
    High,
}

/// How the log lies on the bunks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The line laid parallel to the rails.
    pub level: Level,
    /// Where the near end lies along the rails.
    pub near_end_at: Position,
    /// Centre line from the bed's, towards the exit side.
    pub offset: Length,
    /// Rolled from how it was measured, the top towards the entry side, in thousandths of a degree.
    pub turn: i32,
    /// How many work at the mill.
    pub people: u8,
    /// Whether the blade is stopped before anybody unloads.
    pub stop_to_unload: bool,
}

impl Setting {
    /// Level, offset and turn in a line, each as a number: what a cut plan and moves name the setting by that was chosen for them.
    #[must_use]
    pub fn key(&self) -> String {
        format!(
            "level {}, offset {}, turn {}",
            self.level.percent(),
            self.offset,
            degrees(self.turn)
        )
    }

    /// The same as it is written in a job.
    #[must_use]
    pub fn lines(&self) -> String {
        let level = match self.level {
            // Told by the face: the key is left out.
            Level::Face => {
                return format!("offset = \"{}\", turn = \"{}\"", self.offset, degrees(self.turn));
            }
            Level::Centre => "\"centre\"".to_owned(),
            Level::Top => "\"top\"".to_owned(),
            Level::Bottom => "\"bottom\"".to_owned(),
            Level::Between(percent) => percent.to_string(),
        };
        format!(
            "level = {level}, offset = \"{}\", turn = \"{}\"",
            self.offset,
            degrees(self.turn)
        )
    }

    /// Whether nobody is there to hold down what comes free.
    #[must_use]
    pub const fn is_alone(&self) -> bool {
        self.people < 2
    }
}

/// `-22.5 deg`.
fn degrees(turn: i32) -> String {
    format!("{} deg", f64::from(turn) / 1e3)
}

/// How it is chosen which boards come from where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layouts {
    /// As a sawyer would by hand: the first product has the first choice of every layer.
    ByHabit,
    /// Those that together bring most of all that can be sawn.
    Best,
}

/// One log on its mill, and what is wanted of it.
#[derive(Clone, Debug)]
pub struct Job {
    /// What is painted on the log.
    pub name: String,
    /// The log as it lies.
    pub log: LogRecord,
    /// What the mill profile is called.
    pub mill_name: String,
    /// The mill.
    pub mill: MillRecord,
    /// Heaviest log that the mill may carry, kilograms; none where its profile does not say.
    pub log_max: Option<u32>,
    /// The products, in the order of the file.
    pub boards: Vec<BoardSpec>,
    /// What is allowed for beyond the sizes that are wanted.
    pub finish: Option<Finish>,
    /// The species, where it is one that is known.
    pub species: Option<&'static Species>,
    /// The state it is sawn in.
    pub state: State,
    /// How hard it saws, and how that is known; the log's record holds what is planned with.
    pub energy: Energy,
    /// Whole length of the log.
    pub length: Length,
    /// Taken off each end after sawing: no board counts on it.
    pub end_trim: Length,
    /// Pith or rot along its middle, as the log lies.
    pub core: Option<Core>,
    /// How much the timber moves as it is opened.
    pub growth_stress: GrowthStress,
    /// How it lies.
    pub setting: Setting,
    /// Step of the search for a layout.
    pub step: Length,
    /// Which boards come from where.
    pub layout: Layouts,
    /// The settings that there are to choose among, each with the log as it then lies, the nearest to level by the centre line, to no
    /// offset and no turn first; none where the setting is told.
    pub choices: Vec<Self>,
    /// What came of choosing its setting; none where that was told.
    pub chosen: Option<Chosen>,
    /// What is done of it already, where the log is partly sawn: `boards` are then what is left of the order.
    pub begun: Option<Box<Begun>>,
    /// Whether the log was measured in feet and inches, so that reports speak so.
    pub inches: bool,
    /// What is odd about the log's measures and was taken as written, a sentence each.
    pub doubts: Vec<String>,
}

/// What came of reading a job: the job, if it can be used, and all that is to say, by file.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The job; none exactly where a diagnostic is an error.
    pub job: Option<Job>,
    /// The job file and, where the mill has its own file, that; each with what is to say about it.
    pub reports: Vec<(Source, Vec<Diagnostic>)>,
}

impl Outcome {
    /// All diagnostics as text, file by file; empty where there are none.
    #[must_use]
    pub fn rendered(&self) -> String {
        render_files(&self.reports)
    }
}

/// Reads a job. A mill with its own file is asked of `load`, by its path from where the job's file stands.
#[must_use]
pub fn read(source: &Source, load: &dyn Fn(&Path) -> std::io::Result<String>) -> Outcome {
    let (root, mut said) = input::read(source, KEYS);
    let mut reports = Vec::new();
    let mill = mill_of(source, &root, &mut said, load, &mut reports);
    let finish = finish::finish(&root, &mut said);
    let boards = board::boards(&root, finish.as_ref(), &mut said);
    let wanted = boards.map(|boards| (boards, finish));
    let job = choice::jobs(&root, mill, wanted, inches(&source.text, &root), &mut said);
    let failed = any_error(&said) || reports.iter().any(|(_, said)| any_error(said));
    debug_assert!(job.is_some() || failed, "a job or the reason why not");
    reports.insert(0, (source.clone(), said));
    Outcome {
        job: job.filter(|_| !failed),
        reports,
    }
}

/// Reads only the log and its setting from a job, for a mill from elsewhere: the file's own `mill` and `board` may be
/// left out and are not looked into. The job has no products.
#[must_use]
pub fn read_log(source: &Source, mill: Profile) -> Outcome {
    let (root, mut said) = input::read(source, keys::LOG_KEYS);
    let job = choice::jobs(
        &root,
        Some(mill),
        Some((Vec::new(), None)),
        inches(&source.text, &root),
        &mut said,
    );
    let failed = any_error(&said);
    debug_assert!(job.is_some() || failed, "a job or the reason why not");
    Outcome {
        job: job.filter(|_| !failed),
        reports: vec![(source.clone(), said)],
    }
}

/// Whether the log's length was written in feet or inches.
fn inches(text: &str, root: &Node) -> bool {
    root.get("log.length").is_some_and(|node| {
        let written = text.get(node.span.start..node.span.end).unwrap_or("");
        in_inches(written, root.word("unit"))
    })
}

/// The mill of a job, from a table in it or from its own file.
fn mill_of(
    source: &Source,
    root: &Node,
    said: &mut Vec<Diagnostic>,
    load: &dyn Fn(&Path) -> std::io::Result<String>,
    reports: &mut Vec<(Source, Vec<Diagnostic>)>,
) -> Option<Profile> {
    let node = root.get("mill")?;
    let name = match &node.value {
        Value::Table(_) => return mill::profile(node, said),
        Value::Text(name) => name,
        _ => return None,
    };
    let path = named_by(source, name);
    match load(&path) {
        Ok(text) => {
            let source = Source::new(path.to_string_lossy(), text);
            let (profile, said) = mill::read(&source);
            reports.push((source, said));
            profile
        }
        Err(error) => {
            let shown = path.display();
            let message = match error.kind() {
                std::io::ErrorKind::NotFound => format!("there is no mill profile at {shown}"),
                _ => format!("the mill profile at {shown} cannot be read: {error}"),
            };
            let help = "write its path from the folder of this file, or put a [mill] table here";
            said.push(Diagnostic::error(node.span, message).with_help(help));
            None
        }
    }
}

/// The path of a file that another one names, from that one's folder.
pub(crate) fn named_by(source: &Source, name: &str) -> PathBuf {
    let folder = Path::new(&source.name).parent().unwrap_or(Path::new(""));
    plain(&folder.join(name))
}

/// A path without detours: `a/b/../c` is `a/c`. A `..` that leads out of where it began stays.
fn plain(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(plain.components().next_back(), Some(Component::Normal(_))) => {
                plain.pop();
            }
            other => plain.push(other),
        }
    }
    plain
}

/// Whether a length, as it stands in a file, was written in feet or inches: by its own unit, or by the one declared.
fn in_inches(written: &str, declared: Option<&str>) -> bool {
    let text = written.trim_matches(['"', '\'']).to_lowercase();
    if text.contains(['"', '\'', '″', '′', '”', '’']) || text.contains("in") || text.contains('f') {
        return true;
    }
    !text.contains('m') && matches!(declared, Some("in" | "ft"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_protocol::{Surface, Timber};

    fn load(path: &Path) -> std::io::Result<String> {
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path))
    }

    fn example(name: &str) -> Outcome {
        let path = format!("examples/jobs/{name}.toml");
        let text = load(Path::new(&path)).unwrap();
        read(&Source::new(path, text), &load)
    }

    fn good(name: &str) -> Job {
        let outcome = example(name);
        outcome
            .job
            .clone()
            .unwrap_or_else(|| panic!("{}", outcome.rendered()))
    }

    #[test]
    fn the_examples_are_read_without_a_word() {
        for name in [
            "g-04", "oak-14", "b-01", "p-07", "a-02", "e-09", "s-11", "l-21", "d-18",
        ] {
            assert_eq!(example(name).rendered(), "", "{name}");
            good(name);
        }
    }

    /// Where one works alone no more tips off than one lifts, unless the mill says how much may.
    #[test]
    fn who_works_alone_lets_less_tip_off() {
        const TIPS: &str = "tips = \"50 kg\"";
        let tips = |people: u8, tips: &str| {
            let text = load(Path::new("examples/jobs/g-04.toml")).unwrap();
            let text = text.replacen("[setting]\n", &format!("[setting]\npeople = {people}\n"), 1);
            let mill = |path: &Path| {
                load(path).map(|mill| mill.replacen("[loose]\n", &format!("[loose]\n{tips}\n"), 1))
            };
            let outcome = read(&Source::new("examples/jobs/g-04.toml", text), &mill);
            let job = outcome.job.clone();
            job.unwrap_or_else(|| panic!("{}", outcome.rendered()))
                .mill
                .loose
                .tips
        };
        assert_eq!([tips(1, ""), tips(2, "")], [25, 50]);
        assert_eq!([tips(1, TIPS), tips(2, TIPS)], [50, 50]);
        assert_eq!(
            [tips(1, "tips = \"12 kg\""), tips(2, "tips = \"12 kg\"")],
            [12, 12]
        );
    }

    #[test]
    fn the_small_softwood_log_is_what_was_measured() {
        let job = good("g-04");
        assert_eq!(
            (job.name.as_str(), job.mill_name.as_str()),
            ("G-04", "powered-165")
        );
        assert_eq!(
            (job.log.timber, job.log.density, job.log.cutting_energy),
            (Timber::Soft, 609, 42)
        );
        assert_eq!((job.energy.told, job.energy.from), (30, EnergySource::Species));
        assert_eq!(job.log.stations.len(), 17);
        assert!(job.log.surface == Surface::Barked && !job.inches);
        assert_eq!(job.boards.len(), 3);
        assert_eq!(job.boards[0].values, [9_500, 6_000]);
        assert_eq!((job.boards[0].most, job.boards[0].least), (Some(2), 0));
        assert_eq!(job.boards[2].values, [1_980, 1_320, 660]);
        assert_eq!(job.end_trim, Length::mm(25));
    }

    #[test]
    fn the_oak_log_is_read_in_inches() {
        let job = good("oak-14");
        assert!(job.inches);
        assert_eq!(job.length, Length::um(148 * 25_400));
        assert_eq!(job.log.timber, Timber::Medium);
        let tread = &job.boards[0];
        assert_eq!(tread.thickness, Length::um(31_750));
        // 1.25 in × 6 in × 12 ft / 12 = 7.5 board feet at 3.10.
        assert_eq!(tread.values[0], 23_250);
        assert_eq!(
            job.log.stations[0].half_width,
            Length::um(196_850),
            "the butt lies near"
        );
    }

    #[test]
    fn the_swept_oval_log_leans_and_bows() {
        let job = good("a-02");
        assert_eq!(job.growth_stress, GrowthStress::Medium);
        assert!(
            job.log.stations.iter().all(|station| station.skew > Length::ZERO),
            "rolled to the exit side"
        );
        let (near, middle) = (job.log.stations[0], job.log.stations[8]);
        assert!(
            middle.centre_across < near.centre_across,
            "bowed to the entry side"
        );
        assert!(middle.centre_height > near.centre_height, "and a little up");
        assert_eq!(job.log.metal.len(), 1);
        assert_eq!(job.log.metal[0].min[0], Position::mm(2_030));
        assert_eq!(job.log.metal[0].min[1], Position::mm(130));
    }

    #[test]
    fn a_mill_may_stand_in_the_job() {
        let mill = load(Path::new("examples/mills/hand-150.toml")).unwrap();
        let mut inside = String::from("\n[mill]\n");
        for line in mill.lines() {
            let line = line.replace("[[", "[[mill.");
            let single = line.starts_with('[') && !line.starts_with("[[");
            inside.push_str(&if single {
                line.replacen('[', "[mill.", 1)
            } else {
                line
            });
            inside.push('\n');
        }
        let job = load(Path::new("examples/jobs/p-07.toml")).unwrap();
        let text = job.replace("mill = \"../mills/hand-150.toml\"\n", "") + &inside;
        let outcome = read(&Source::new("job.toml", text), &|_| {
            Err(std::io::ErrorKind::NotFound.into())
        });
        assert_eq!(outcome.rendered(), "");
        let inline = outcome.job.unwrap();
        assert_eq!(inline.mill, good("p-07").mill);
        assert_eq!(inline.log, good("p-07").log);
    }

    #[test]
    fn the_unit_of_the_log_tells_the_readers_system() {
        for (written, declared, expected) in [
            ("\"12 ft 4 in\"", None, true),
            ("\"12'4\\\"\"", None, true),
            ("\"3.6 m\"", Some("in"), false),
            ("\"3600 mm\"", None, false),
            ("148", Some("in"), true),
            ("3600", Some("mm"), false),
            ("\"12 1/2\"", Some("ft"), true),
        ] {
            assert_eq!(in_inches(written, declared), expected, "{written}");
        }
    }

    #[test]
    fn paths_are_shown_without_detours() {
        for (path, expected) in [
            ("a/b/../c", "a/c"),
            ("../x/./y", "../x/y"),
            ("../../m", "../../m"),
        ] {
            assert_eq!(plain(Path::new(path)), Path::new(expected), "{path}");
        }
    }

    /// Whichever line is lost, there is a job or a reason why not, never neither and never a panic.
    #[test]
    fn every_line_can_be_lost() {
        for name in ["g-04", "a-02"] {
            let path = format!("examples/jobs/{name}.toml");
            let text = load(Path::new(&path)).unwrap();
            for lost in 0..text.lines().count() {
                let kept: Vec<&str> = text
                    .lines()
                    .enumerate()
                    .filter(|(number, _)| *number != lost)
                    .map(|(_, line)| line)
                    .collect();
                let outcome = read(&Source::new(path.as_str(), kept.join("\n")), &load);
                let failed = outcome.reports.iter().any(|(_, said)| any_error(said));
                assert_eq!(outcome.job.is_none(), failed, "{name} line {}", lost + 1);
            }
        }
    }
}
