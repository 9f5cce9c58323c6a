//! A cut plan made into a stored job, on the controller as on the host.

use bunkside_planner::plan::CutPlan;
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{PlanError, sequence};
use bunkside_protocol::job::{EncodeError, JobWriter, mill_digest, record_crc};

/// Why a plan did not become a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MakeError {
    /// It cannot be turned into moves.
    Plan(PlanError),
    /// Its moves cannot be stored.
    Store(EncodeError),
}

impl core::fmt::Display for MakeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Plan(error) => write!(f, "{error}"),
            Self::Store(error) => write!(f, "{error}"),
        }
    }
}

impl core::error::Error for MakeError {}

/// A job that was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Made {
    /// How many bytes it took.
    pub len: usize,
    /// How many moves it has.
    pub moves: u32,
    /// The check sum over all its bytes: [`record_crc`] from zero.
    pub crc: u32,
}

/// Sequences a plan and stores its moves as they come; no move is kept but in those bytes.
///
/// # Errors
/// [`MakeError`]; the bytes in the buffer are then of no use.
pub fn make(setup: &Setup<'_>, plan: &CutPlan<'_>, out: &mut [u8]) -> Result<Made, MakeError> {
    let mill = setup.mill;
    let mut writer =
        JobWriter::new(mill_digest(mill), mill.grid, setup.log, out).map_err(MakeError::Store)?;
    let mut stored = Ok(());
    let mut moves: u32 = 0;
    let sequenced = sequence(setup, plan, &mut |told| {
        moves = moves.saturating_add(1);
        stored = writer.push(*told);
        stored.is_ok()
    });
    stored.map_err(MakeError::Store)?;
    sequenced.map_err(MakeError::Plan)?;
    let len = writer.finish(None).map_err(MakeError::Store)?;
    let crc = out.get(..len).map_or(0, |bytes| record_crc(0, bytes));
    Ok(Made { len, moves, crc })
}
