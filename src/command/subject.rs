//! What `audit`, `dry-run`, `export` and `explain` work on: moves from anybody, on a mill and a log.

use std::path::Path;

use bunkside_planner::replay::Setup;
use bunkside_protocol::job::{JobReader, MAGIC, mill_digest};
use bunkside_protocol::{LogRecord, MillRecord, Move};

use super::another::Another;
use super::chosen::{chosen, for_moves};
use super::kind::{Kind, expect};
use super::making::{HABIT, TIME_ALONE};
use super::problem::Problem;
use super::{Failure, Said, files, making};
use crate::account::boards::Boards;
use crate::account::counted::Counted;
use crate::account::pieces::{named, regions};
use crate::account::wanted::Wanted;
use crate::cli::{Arguments, Opt};
use crate::cut_plan::OwnedPlan;
use crate::explain::Names;
use crate::export::{StoredAsJson, read_hex, read_json};
use crate::job::{Energy, Job};
use crate::measure::System;
use crate::mill::Profile;
use crate::moves_json;
use crate::planned::lay_out;
use crate::trace::Trace;

/// A job that brings mill and log.
pub(super) const JOB: Opt = Opt {
    long: "job",
    short: None,
    value: Some("JOB"),
    about: "the job: it brings the mill and the log",
};

/// A mill of its own.
pub(super) const MILL: Opt = Opt {
    long: "mill",
    short: None,
    value: Some("MILL"),
    about: "the mill profile",
};

/// A log of its own.
pub(super) const LOG: Opt = Opt {
    long: "log",
    short: None,
    value: Some("LOG"),
    about: "the log: a job, of which only [log] and [setting] count, or a stored job",
};

/// Moves on a mill and a log.
#[derive(Clone, Debug)]
pub(super) struct Subject {
    /// What the log is called.
    pub(super) name: String,
    /// What the mill is called.
    pub(super) mill_name: String,
    pub(super) mill: MillRecord,
    pub(super) log: LogRecord,
    /// How hard it saws, where a job tells whence that is known.
    pub(super) energy: Option<Energy>,
    /// What a job asks of the moves beyond the rules.
    pub(super) wanted: Option<Wanted>,
    pub(super) moves: Vec<Move>,
    /// Another log or mill that they say they were made for, or another shape of the log that they hold.
    pub(super) made_for_another: Vec<Another>,
    pub(super) system: System,
    /// What the pieces are called, where the cut plan is known.
    pub(super) names: Names,
}

/// The moves as they were handed in, and the log and the mill they bring.
pub(super) struct Handed {
    pub(super) moves: Vec<Move>,
    stored: Option<Stored>,
    /// The log and the mill that a file of moves names.
    pub(super) made_for: [Option<String>; 2],
    /// The setting that was chosen for them.
    pub(super) setting: Option<String>,
}

/// What a stored job says beside its moves.
struct Stored {
    log: LogRecord,
    /// The digest of its mill, as it is shown.
    mill: String,
}

/// What a file is, by what its name ends in.
enum Source {
    Job,
    CutPlan,
    Moves,
}

impl Source {
    fn of(path: &Path) -> Self {
        match path.extension().and_then(|ending| ending.to_str()) {
            Some("toml") => Self::Job,
            Some("cut") => Self::CutPlan,
            _ => Self::Moves,
        }
    }
}

/// A mill and perhaps a log.
struct Place {
    mill_name: String,
    mill: MillRecord,
    log: Option<Log>,
}

/// A log, and what it is called.
struct Log {
    name: String,
    /// Whether that is its own name.
    named: bool,
    record: LogRecord,
    /// How hard it saws, where a job tells whence that is known.
    energy: Option<Energy>,
    /// What a job asks of the moves beyond the rules.
    wanted: Option<Wanted>,
    system: System,
    /// The job, where its setting is to be found by what the moves were made for; else how it tells it.
    job: Option<Set>,
}

/// How a job's log is set.
enum Set {
    /// It is left open.
    Open(Box<Job>),
    /// As its key says.
    Told(String),
}

impl Log {
    fn of(job: Job) -> Self {
        if !job.choices.is_empty() {
            let open = job.clone();
            return Self {
                job: Some(Set::Open(Box::new(open))),
                ..Self::of(Job {
                    choices: Vec::new(),
                    ..job
                })
            };
        }
        Self {
            job: Some(Set::Told(job.setting.key())),
            wanted: Some(Wanted::of(&job)),
            name: job.name,
            named: true,
            record: job.log,
            energy: Some(job.energy),
            system: System::of(job.inches),
        }
    }
}

impl Log {
    /// The log as it is set for moves, where its job leaves that open.
    fn set_for(self, handed: &Handed, path: &Path) -> Result<Self, Failure> {
        match self.job {
            Some(Set::Open(job)) => Ok(Self::of(for_moves(
                *job,
                (handed.log(), handed.setting.as_deref()),
                path,
            )?)),
            _ => Ok(self),
        }
    }
}

impl Set {
    fn told(&self) -> Option<&str> {
        match self {
            Self::Told(key) => Some(key),
            Self::Open(_) => None,
        }
    }
}

impl Subject {
    /// What a command line names.
    pub(super) fn read(arguments: &Arguments, said: &mut Said) -> Result<Self, Failure> {
        let path = Path::new(arguments.operand(0).unwrap_or_default());
        // Before any mill is asked for: the verb that takes it may need none. A pipe can be read only once.
        let bytes = files::bytes(path)?;
        expect(path, &bytes, Kind::Moves)?;
        let mut place = Place::read(arguments, said)?;
        let handed = Handed::read(path, bytes, said)?;
        if handed.moves.is_empty() {
            return Err(Failure::wrong(
                &format!("{} has no moves: there is nothing to judge", path.display()),
                "name a file whose list `moves` holds some, as `bunkside help moves` shows",
            ));
        }
        if let Some(stored) = &handed.stored {
            stored.must_be_for(&place, path)?;
        }
        place.log = place.log.map(|log| log.set_for(&handed, path)).transpose()?;
        let log = place.log.as_ref().filter(|log| log.named);
        let told = log.and_then(|log| log.job.as_ref()).and_then(Set::told);
        let names = [log.map(|log| log.name.as_str()), Some(&*place.mill_name)];
        let mut made_for_another = Another::named(path, &handed.made_for, names, said);
        made_for_another.extend(Another::setting(path, (handed.setting.as_deref(), told), said));
        let (name, log, energy, wanted, system) = match (place.log, handed.stored) {
            (
                Some(Log {
                    name,
                    record,
                    energy,
                    wanted,
                    system,
                    ..
                }),
                stored,
            ) => {
                if stored.is_some_and(|stored| stored.log != record) {
                    made_for_another.push(Another::shape(path, &name, said));
                }
                (name, record, energy, wanted, system)
            }
            (None, Some(stored)) => ("its own log".to_owned(), stored.log, None, None, System::Metric),
            (None, None) => {
                return Err(Failure::wrong(
                    "these moves bring no log",
                    "add --log with a job or a stored job, or name a job for both: --job JOB",
                ));
            }
        };
        Ok(Self {
            name,
            mill_name: place.mill_name,
            mill: place.mill,
            log,
            energy,
            wanted,
            moves: handed.moves,
            made_for_another,
            system,
            names: Names::new(),
        })
    }

    /// The same, or a job or a cut plan, whose moves are worked out.
    pub(super) fn read_any(arguments: &Arguments, said: &mut Said) -> Result<Self, Failure> {
        let path = Path::new(arguments.operand(0).unwrap_or_default());
        match Source::of(path) {
            Source::Moves => match [HABIT, TIME_ALONE].iter().find(|order| arguments.has(order)) {
                Some(order) => Err(Failure::wrong(
                    &format!("{} holds moves, which are in their order already", path.display()),
                    &format!("leave --{} out, or name the job or the cut plan", order.long),
                )),
                None => Self::read(arguments, said),
            },
            Source::Job => {
                if let Some(option) = [&JOB, &MILL, &LOG].into_iter().find(|one| arguments.has(one)) {
                    return Err(Failure::wrong(
                        &format!("{} is a job, which brings mill and log", path.display()),
                        &format!("leave --{} out", option.long),
                    ));
                }
                let job = chosen(files::job(path, said)?, true)?;
                let setup = making::setup(&job)?;
                let plan = lay_out(&job, &setup)
                    .map_err(|error| Problem::layout(error, &job, &setup).failure(&job, false))?;
                Self::planned(&job, &setup, &plan, arguments)
            }
            Source::CutPlan => {
                let (job, _, plan) = making::cut_plan(arguments, said)?;
                let setup = making::setup(&job)?;
                Self::planned(&job, &setup, &plan, arguments)
            }
        }
    }

    fn planned(
        job: &Job,
        setup: &Setup<'_>,
        plan: &OwnedPlan,
        arguments: &Arguments,
    ) -> Result<Self, Failure> {
        let planned = making::Cuts::of(arguments)
            .planned(job, setup, plan)
            .map_err(|error| Problem::sequence(&error, plan, job).failure(job, false))?;
        let regions = regions(setup, plan);
        let boards = Boards::of(&planned);
        let names = named(&planned.trace, &regions)
            .into_iter()
            .filter_map(|one| Some((one.piece.serial, Counted::of(&boards, job, one.region?)?.name)));
        Ok(Self {
            names: names.collect(),
            name: job.name.clone(),
            mill_name: job.mill_name.clone(),
            mill: job.mill.clone(),
            log: job.log.clone(),
            energy: Some(job.energy),
            wanted: Some(Wanted::of(job)),
            system: System::of(job.inches),
            moves: planned.moves,
            made_for_another: Vec::new(),
        })
    }

    /// The log on the mill.
    pub(super) fn setup(&self) -> Result<Setup<'_>, Failure> {
        Setup::new(&self.mill, &self.log)
            .map_err(|error| Failure::wrong(&format!("this log has no shape: {error}"), "measure it again"))
    }

    /// The moves as they run, judged by the rules and by what the job asks beyond them.
    pub(super) fn judged(&self, setup: &Setup<'_>) -> Trace {
        let mut trace = Trace::run(setup, &self.moves);
        if let Some(wanted) = &self.wanted {
            trace.object(wanted.missed(setup, &trace));
        }
        trace
    }
}

impl Place {
    fn read(arguments: &Arguments, said: &mut Said) -> Result<Self, Failure> {
        match (arguments.path(&JOB), arguments.path(&MILL), arguments.path(&LOG)) {
            (Some(job), None, None) => {
                let job = files::job(job, said)?;
                Ok(Self {
                    mill_name: job.mill_name.clone(),
                    mill: job.mill.clone(),
                    log: Some(Log::of(job)),
                })
            }
            (None, Some(mill), log) => {
                let profile = files::profile(mill, said)?;
                Ok(Self {
                    mill_name: profile.name.clone(),
                    mill: profile.record.clone(),
                    log: log.map(|log| log_of(log, profile, said)).transpose()?,
                })
            }
            (Some(_), _, _) => Err(Failure::wrong(
                "--job already brings mill and log",
                "name either --job, or --mill and --log",
            )),
            (None, None, _) => Err(Failure::wrong(
                "these moves bring no mill",
                "name a job for mill and log: --job JOB; or --mill MILL with --log LOG",
            )),
        }
    }
}

/// The log of a job or of a stored job.
fn log_of(path: &Path, mill: Profile, said: &mut Said) -> Result<Log, Failure> {
    let bytes = out_of_hex(path, files::bytes(path)?)?;
    let of_stored = |record: LogRecord| Log {
        name: format!("the log of {}", path.display()),
        named: false,
        record,
        energy: None,
        wanted: None,
        system: System::Metric,
        job: None,
    };
    if bytes.starts_with(&MAGIC) {
        return Ok(of_stored(open(path, &bytes)?.log().clone()));
    }
    if bytes.trim_ascii_start().starts_with(b"{") {
        return match shown(path, &files::source(path, bytes)?.text)? {
            Some(stored) => Ok(of_stored(stored.log)),
            None => Err(Failure::wrong(
                &format!("{} holds no log", path.display()),
                "name a job, a stored job, or one exported as json",
            )),
        };
    }
    expect(path, &bytes, Kind::Job)?;
    let job = files::log(&files::short_text(path, bytes)?, mill, said)?;
    Ok(Log::of(job))
}

/// The bytes of a file; of Intel HEX those that it tells of.
fn out_of_hex(path: &Path, bytes: Vec<u8>) -> Result<Vec<u8>, Failure> {
    if !bytes.starts_with(b":") {
        return Ok(bytes);
    }
    let text = files::source(path, bytes)?.text;
    let bytes = read_hex(&text).map_err(|fault| {
        Failure::wrong(
            &format!(
                "{} begins as Intel HEX, and cannot be read as such: {fault}",
                path.display()
            ),
            "copy it again, or export the moves anew",
        )
    })?;
    if bytes.starts_with(&MAGIC) {
        Ok(bytes)
    } else {
        Err(Failure::wrong(
            &format!("{} is Intel HEX, but of no stored job", path.display()),
            "name what `bunkside export --as hex` wrote, or the moves as JSON",
        ))
    }
}

/// What a stored job that is shown as JSON says beside its moves; none of another text.
fn shown(path: &Path, text: &str) -> Result<Option<Stored>, Failure> {
    let read = read_json(text).transpose().map_err(|error| {
        Failure::wrong(
            &format!(
                "the stored job {}, shown as JSON, cannot be used: {error}",
                path.display()
            ),
            "export it anew; moves alone need no more than {\"moves\": [...]}",
        )
    })?;
    Ok(read.map(|StoredAsJson { log, mill }| Stored { log, mill }))
}

fn open<'a>(path: &Path, bytes: &'a [u8]) -> Result<JobReader<'a>, Failure> {
    JobReader::open(bytes).map_err(|error| {
        Failure::wrong(
            &format!("the stored job {} cannot be used: {error}", path.display()),
            "it is damaged or of another version: copy it again, or plan the log anew",
        )
    })
}

impl Handed {
    /// The log that a stored job holds.
    pub(super) fn log(&self) -> Option<&LogRecord> {
        self.stored.as_ref().map(|stored| &stored.log)
    }

    pub(super) fn read(path: &Path, bytes: Vec<u8>, said: &mut Said) -> Result<Self, Failure> {
        let bytes = out_of_hex(path, bytes)?;
        if bytes.starts_with(&MAGIC) {
            let job = open(path, &bytes)?;
            let moves = job.moves().collect::<Result<Vec<_>, _>>();
            let moves = moves.map_err(|error| {
                Failure::wrong(
                    &format!("the stored job {}: {error}", path.display()),
                    "copy it again",
                )
            })?;
            let stored = Stored {
                log: job.log().clone(),
                mill: job.header().mill.to_string(),
            };
            return Ok(Self {
                moves,
                stored: Some(stored),
                made_for: [None, None],
                setting: None,
            });
        }
        let source = files::source(path, bytes)?;
        let (sequence, diagnostics) = moves_json::read_sequence(&source);
        said.note(&source, &diagnostics);
        let sequence = sequence.ok_or_else(files::told)?;
        Ok(Self {
            moves: sequence.moves.into_iter().map(|(next, _)| next).collect(),
            stored: shown(path, &source.text)?,
            made_for: [sequence.log, sequence.mill],
            setting: sequence.setting,
        })
    }
}

impl Stored {
    fn must_be_for(&self, place: &Place, path: &Path) -> Result<(), Failure> {
        let digest = mill_digest(&place.mill).to_string();
        if self.mill == digest {
            return Ok(());
        }
        let message = format!(
            "{} was planned for another mill profile than {} is now ({}, not {digest})",
            path.display(),
            place.mill_name,
            self.mill
        );
        Err(Failure::wrong(
            &message,
            "name the profile it was planned with, or plan the log anew",
        ))
    }
}
