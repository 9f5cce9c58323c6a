//! A stored job, judged again where it is to be run.

use core::cell::Cell;

use bunkside_planner::audit::{Verdict, audit};
use bunkside_planner::geometry::ShapeError;
use bunkside_planner::physics::margins::Margins;
use bunkside_planner::physics::timing::duration;
use bunkside_planner::replay::{Setup, Step};
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::stock::Stock;
use bunkside_protocol::job::{DecodeError, JobReader, Moves};
use bunkside_protocol::{Length, MillRecord, Move};
use heapless::Vec;

/// How many findings a report keeps, refusals before warnings.
pub const FINDINGS_MAX: usize = 4;

/// Why a job is not even judged, or why its judgement does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Its bytes are not those of a job.
    Bytes(DecodeError),
    /// It was planned for another mill profile.
    OtherMill,
    /// Its log cannot be used.
    Log(ShapeError),
    /// It has more moves than a replay can number.
    TooLong {
        /// How many it has.
        moves: u32,
    },
    /// Its bytes changed while it was judged.
    Changed,
}

impl core::fmt::Display for Refusal {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Bytes(error) => write!(f, "{error}"),
            Self::OtherMill => f.write_str("the job was planned for another mill profile"),
            Self::Log(error) => write!(f, "{error}"),
            Self::TooLong { moves } => write!(f, "{moves} moves are more than {} can be judged", u16::MAX),
            Self::Changed => f.write_str("the job's bytes changed while it was judged"),
        }
    }
}

impl core::error::Error for Refusal {}

/// Says that a job has passed. Only [`Report::verified`] makes one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Verified(());

#[cfg(test)]
impl Verified {
    pub(crate) const fn for_tests() -> Self {
        Self(())
    }
}

/// What came of judging a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// What the auditor says.
    pub verdict: Verdict,
    /// How many moves were judged: all, unless one could not be.
    pub moves: u16,
    /// How many of them were cuts.
    pub cuts: u16,
    /// How many pieces came off.
    pub pieces: u16,
    /// The deepest bite of any cut.
    pub bite: Length,
    /// The widest cover of any cut.
    pub cover: Length,
    /// How long it takes, milliseconds.
    pub millis: u64,
    /// The least margins of any cut, each for itself.
    pub margins: Margins,
    /// A mark of the bits of every margin of every cut, during it and after: two machines that reckon alike have the same.
    pub mark: u64,
    /// The first findings: refusals first, each kind by move.
    pub findings: Vec<Finding, FINDINGS_MAX>,
    /// Whether there were more.
    pub more: bool,
}

impl Report {
    /// The leave to run the job; none where a rule refuses it.
    #[must_use]
    pub fn verified(&self) -> Option<Verified> {
        match self.verdict {
            Verdict::Pass | Verdict::Warned => Some(Verified(())),
            Verdict::Refused => None,
        }
    }

    const fn new() -> Self {
        Self {
            verdict: Verdict::Refused,
            moves: 0,
            cuts: 0,
            pieces: 0,
            bite: Length::ZERO,
            cover: Length::ZERO,
            millis: 0,
            margins: Margins::FREE,
            mark: 0,
            findings: Vec::new(),
            more: false,
        }
    }

    /// Takes note of a move; answers with its time in seconds.
    fn note(&mut self, setup: &Setup<'_>, step: &Step, before: &Stock, after: &Stock) -> f64 {
        self.moves = self.moves.saturating_add(1);
        if matches!(step.told, Move::Cut(_)) {
            self.cuts = self.cuts.saturating_add(1);
        }
        if let Some(facts) = &step.cut {
            self.bite = self.bite.max(facts.bite);
            self.cover = self.cover.max(facts.cover);
        }
        if let Some(strain) = &step.strain {
            self.note_margins(&strain.during);
            self.note_margins(&strain.rest);
        }
        self.pieces = after.freed();
        duration(setup, step, before)
    }

    fn note_margins(&mut self, margins: &Margins) {
        self.margins = self.margins.worse(margins);
        for bits in bits(margins) {
            // An odd factor loses nothing of what it is multiplied with.
            self.mark = (self.mark ^ bits)
                .wrapping_mul(0x9E37_79B9_7F4A_7C15)
                .rotate_left(31);
        }
    }
}

/// Tipping, turning, leaning over, sliding and lifting, as they stand in memory.
#[must_use]
pub fn bits(margins: &Margins) -> [u64; 5] {
    [
        margins.tip,
        margins.turn,
        margins.stand,
        margins.slip,
        margins.lift,
    ]
    .map(f64::to_bits)
}

/// Keeps the first findings, refusals before warnings; the same one is kept once.
#[derive(Default)]
struct Kept {
    findings: Vec<Finding, FINDINGS_MAX>,
    more: bool,
}

impl Kept {
    fn take(&mut self, finding: Finding) {
        if self.findings.contains(&finding) {
            return;
        }
        // What is judged again in another world comes late: by weight, then by move.
        let weight = |one: &Finding| (one.objection.severity != Severity::Refuse, one.index);
        let place = self
            .findings
            .iter()
            .take_while(|kept| weight(kept) <= weight(&finding))
            .count();
        if self.findings.is_full() {
            self.more = true;
            if place == FINDINGS_MAX {
                return;
            }
            self.findings.pop();
        }
        // There is room, and the place is within.
        let _ = self.findings.insert(place, finding);
    }
}

/// The moves of a stored job while they can be read. Each was read before, so that an error means changed bytes.
#[derive(Clone)]
struct Stored<'a> {
    moves: Moves<'a>,
    broken: &'a Cell<bool>,
}

impl Iterator for Stored<'_> {
    type Item = Move;

    fn next(&mut self) -> Option<Move> {
        let next = self.moves.next()?;
        if next.is_err() {
            self.broken.set(true);
        }
        next.ok()
    }
}

/// A stored job whose bytes are whole and that belongs to this mill.
#[derive(Clone, Debug)]
pub struct OpenJob<'a> {
    job: JobReader<'a>,
    mill: &'a MillRecord,
}

impl<'a> OpenJob<'a> {
    /// Opens a job on a mill.
    ///
    /// # Errors
    /// [`Refusal::Bytes`], [`Refusal::OtherMill`] or [`Refusal::TooLong`], the first that applies.
    pub fn new(bytes: &'a [u8], mill: &'a MillRecord) -> Result<Self, Refusal> {
        let job = JobReader::open(bytes).map_err(Refusal::Bytes)?;
        if !job.is_for(mill) {
            return Err(Refusal::OtherMill);
        }
        let moves = job.header().move_count;
        if moves > u32::from(u16::MAX) {
            return Err(Refusal::TooLong { moves });
        }
        Ok(Self { job, mill })
    }

    /// The job as it is stored.
    #[must_use]
    pub const fn stored(&self) -> &JobReader<'a> {
        &self.job
    }

    /// Replays the job and lets every rule judge every move, as the auditor does on the host.
    ///
    /// # Errors
    /// [`Refusal::Log`], or [`Refusal::Changed`] where the bytes did not stay what they were.
    pub fn judge(&self) -> Result<Report, Refusal> {
        let setup = Setup::new(self.mill, self.job.log()).map_err(Refusal::Log)?;
        judge_on(&setup, &self.job)
    }
}

/// Judges the moves of a job on its mill and its log.
pub(crate) fn judge_on(setup: &Setup<'_>, job: &JobReader<'_>) -> Result<Report, Refusal> {
    let broken = Cell::new(false);
    let moves = Stored {
        moves: job.moves(),
        broken: &broken,
    };
    let mut report = Report::new();
    let mut kept = Kept::default();
    let mut clock = Clock::default();
    let mut watch =
        |step: &Step, before: &Stock, after: &Stock| clock.add(report.note(setup, step, before, after));
    let verdict = audit(setup, moves, &mut watch, &mut |finding| kept.take(finding));
    if broken.get() {
        return Err(Refusal::Changed);
    }
    report.verdict = verdict;
    report.millis = clock.millis();
    report.findings = kept.findings;
    report.more = kept.more;
    Ok(report)
}

/// Adds up times. The one place here where floats are: they tell how long a job takes and decide nothing.
#[derive(Default)]
struct Clock {
    seconds: f64,
}

#[expect(
    clippy::float_arithmetic,
    clippy::as_conversions,
    reason = "sums the planner's times and rounds them down to milliseconds; the cast saturates"
)]
impl Clock {
    fn add(&mut self, seconds: f64) {
        self.seconds += seconds;
    }

    fn millis(&self) -> u64 {
        (self.seconds * 1000.0) as u64
    }
}

#[cfg(test)]
mod tests {
    use bunkside_planner::rules::{Measure, Objection};

    use super::*;

    fn finding(index: u16, severity: Severity) -> Finding {
        let objection = match severity {
            Severity::Warn => Objection::warn(Measure::None, Measure::None, ""),
            Severity::Refuse => Objection::refuse(Measure::None, Measure::None, ""),
        };
        Finding {
            rule: "knife",
            index,
            objection,
        }
    }

    #[test]
    fn refusals_are_kept_before_warnings_and_each_finding_once() {
        let mut kept = Kept::default();
        for index in [1, 3, 3, 5] {
            kept.take(finding(index, Severity::Warn));
        }
        kept.take(finding(8, Severity::Refuse));
        assert!(!kept.more);
        kept.take(finding(2, Severity::Refuse));
        assert!(kept.more);
        kept.take(finding(9, Severity::Warn));
        let order: std::vec::Vec<u16> = kept.findings.iter().map(|one| one.index).collect();
        assert_eq!(order, [2, 8, 1, 3]);
    }
}
