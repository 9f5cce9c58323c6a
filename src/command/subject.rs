//! What `audit`, `dry-run`, `export` and `explain` work on: moves from anybody, on a mill and a log.

use std::path::Path;

use bunkside_planner::plan::Use;
use bunkside_planner::replay::Setup;
use bunkside_protocol::job::{JobReader, MAGIC, mill_digest};
use bunkside_protocol::{LogRecord, MillRecord, Move};

use super::problem::Problem;
use super::{Failure, files, making};
use crate::account::pieces::{named, regions};
use crate::cli::{Arguments, Opt};
use crate::cut_plan::OwnedPlan;
use crate::explain::Names;
use crate::job::Job;
use crate::measure::System;
use crate::mill::Profile;
use crate::moves_json;
use crate::planned::{Planned, lay_out};

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
    pub(super) moves: Vec<Move>,
    pub(super) system: System,
    /// What the pieces are called, where the cut plan is known.
    pub(super) names: Names,
}

/// The moves as they were handed in, and the log and the mill they bring.
struct Handed {
    moves: Vec<Move>,
    stored: Option<Stored>,
}

/// What a stored job says beside its moves.
struct Stored {
    log: LogRecord,
    mill: bunkside_protocol::job::Digest,
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
    log: Option<(String, LogRecord, System)>,
}

impl Subject {
    /// What a command line names.
    pub(super) fn read(arguments: &Arguments, said: &mut String) -> Result<Self, Failure> {
        let path = Path::new(arguments.operand(0).unwrap_or_default());
        let place = Place::read(arguments, said)?;
        let handed = Handed::read(path, said)?;
        if let Some(stored) = &handed.stored {
            stored.must_be_for(&place, path)?;
        }
        let (name, log, system) = match (place.log, handed.stored) {
            (Some((name, log, system)), stored) => {
                if stored.is_some_and(|stored| stored.log != log) {
                    said.push_str(&format!(
                        "bunkside: warning: {} holds another log shape than {name} has now; it is run on {name}\n",
                        path.display()
                    ));
                }
                (name, log, system)
            }
            (None, Some(stored)) => ("its own log".to_owned(), stored.log, System::Metric),
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
            moves: handed.moves,
            system,
            names: Names::new(),
        })
    }

    /// The same, or a job or a cut plan, whose moves are worked out.
    pub(super) fn read_any(arguments: &Arguments, said: &mut String) -> Result<Self, Failure> {
        let path = Path::new(arguments.operand(0).unwrap_or_default());
        match Source::of(path) {
            Source::Moves => Self::read(arguments, said),
            Source::Job => {
                if let Some(option) = [&JOB, &MILL, &LOG].into_iter().find(|one| arguments.has(one)) {
                    return Err(Failure::wrong(
                        &format!("{} is a job, which brings mill and log", path.display()),
                        &format!("leave --{} out", option.long),
                    ));
                }
                let job = files::job(path, said)?;
                let setup = making::setup(&job)?;
                let plan =
                    lay_out(&job, &setup).map_err(|error| Problem::layout(error).failure(&job, false))?;
                Self::planned(&job, &setup, &plan)
            }
            Source::CutPlan => {
                let (job, _, plan) = making::cut_plan(arguments, said)?;
                let setup = making::setup(&job)?;
                Self::planned(&job, &setup, &plan)
            }
        }
    }

    fn planned(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> Result<Self, Failure> {
        let planned = Planned::new(job, setup, plan)
            .map_err(|error| Problem::sequence(&error, plan, job).failure(job, false))?;
        let regions = regions(setup, plan);
        let names = named(&planned.trace, &regions).into_iter().filter_map(|one| {
            let Use::Board { product, .. } = one.region?.use_ else {
                return None;
            };
            let board = job.boards.get(usize::from(product))?;
            Some((one.piece.serial, board.name.clone()))
        });
        Ok(Self {
            names: names.collect(),
            name: job.name.clone(),
            mill_name: job.mill_name.clone(),
            mill: job.mill.clone(),
            log: job.log.clone(),
            system: System::of(job.inches),
            moves: planned.moves,
        })
    }

    /// The log on the mill.
    pub(super) fn setup(&self) -> Result<Setup<'_>, Failure> {
        Setup::new(&self.mill, &self.log)
            .map_err(|error| Failure::wrong(&format!("this log has no shape: {error}"), "measure it again"))
    }
}

impl Place {
    fn read(arguments: &Arguments, said: &mut String) -> Result<Self, Failure> {
        match (arguments.path(&JOB), arguments.path(&MILL), arguments.path(&LOG)) {
            (Some(job), None, None) => {
                let job = files::job(job, said)?;
                let system = System::of(job.inches);
                Ok(Self {
                    mill_name: job.mill_name,
                    mill: job.mill,
                    log: Some((job.name, job.log, system)),
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
fn log_of(path: &Path, mill: Profile, said: &mut String) -> Result<(String, LogRecord, System), Failure> {
    let bytes = files::bytes(path)?;
    if bytes.starts_with(&MAGIC) {
        let log = open(path, &bytes)?.log().clone();
        return Ok((format!("the log of {}", path.display()), log, System::Metric));
    }
    let job = files::log(&files::short_text(path, bytes)?, mill, said)?;
    Ok((job.name, job.log, System::of(job.inches)))
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
    fn read(path: &Path, said: &mut String) -> Result<Self, Failure> {
        let bytes = files::bytes(path)?;
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
                mill: job.header().mill,
            };
            return Ok(Self {
                moves,
                stored: Some(stored),
            });
        }
        let source = files::source(path, bytes)?;
        let (moves, diagnostics) = moves_json::read(&source);
        files::note(said, &source, &diagnostics);
        Ok(Self {
            moves: moves.ok_or_else(files::told)?,
            stored: None,
        })
    }
}

impl Stored {
    fn must_be_for(&self, place: &Place, path: &Path) -> Result<(), Failure> {
        let digest = mill_digest(&place.mill);
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
