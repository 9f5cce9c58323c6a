//! What a stored job takes.

use bunkside_protocol::Move;
use bunkside_protocol::job::{DecodeError, JobReader};

/// How many bytes a stored job takes, and for what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figures {
    /// All bytes.
    pub bytes: usize,
    /// Those of the move code; the rest is header, log, check sums and tag.
    pub code_bytes: u32,
    /// Moves.
    pub moves: u32,
    /// Cuts among them.
    pub cuts: u32,
}

impl Figures {
    /// Those of a job.
    ///
    /// # Errors
    /// [`DecodeError`] only if the bytes have changed since the job was opened.
    pub fn of(job: &JobReader<'_>) -> Result<Self, DecodeError> {
        let mut cuts = 0;
        for next in job.moves() {
            cuts += u32::from(matches!(next?, Move::Cut(_)));
        }
        Ok(Self {
            bytes: job.bytes().len(),
            code_bytes: job.header().code_len,
            moves: job.header().move_count,
            cuts,
        })
    }

    /// Bytes of move code for each of so many things; none where there are none.
    #[must_use]
    pub fn code_bytes_per(&self, count: u32) -> Option<f64> {
        (count > 0).then(|| f64::from(self.code_bytes) / f64::from(count))
    }
}

impl std::fmt::Display for Figures {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            bytes,
            code_bytes,
            moves,
            cuts,
        } = self;
        write!(
            f,
            "{bytes} bytes, {code_bytes} of them for {moves} moves with {cuts} cuts"
        )?;
        if let Some(each) = self.code_bytes_per(*moves) {
            write!(f, ": {each:.2} bytes a move")?;
        }
        if let Some(each) = self.code_bytes_per(*cuts) {
            write!(f, ", {each:.2} a cut")?;
        }
        Ok(())
    }
}
