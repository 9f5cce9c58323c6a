//! A stored job as JSON, to look at.

use bunkside_protocol::LogRecord;
use bunkside_protocol::job::{DecodeError, Digest, JobParts, JobReader};
use serde::Deserialize;

use super::binary;
use crate::moves_json::{self, JOB_FORMAT, VERSION};

/// What a stored job says, as JSON: `grid_um`, `mill_digest` (hexadecimal), `bytes`, `log` (the fields of its
/// record; lengths in micrometres) and `moves`, which [`moves_json::read`] reads.
///
/// # Errors
/// [`DecodeError`] only if the bytes have changed since the job was opened.
pub fn json(job: &JobReader<'_>) -> Result<String, DecodeError> {
    let moves = job.moves().collect::<Result<Vec<_>, _>>()?;
    let header = job.header();
    let log = serde_json::to_string(job.log()).expect("a record of integers and words");
    Ok(format!(
        "{{\"format\": \"{JOB_FORMAT}\", \"version\": {VERSION},\n\"grid_um\": {}, \"mill_digest\": \"{}\", \
         \"bytes\": {},\n\"log\": {log},\n\"moves\": {}}}\n",
        i32::from(header.grid),
        header.mill,
        job.bytes().len(),
        moves_json::list(&moves)
    ))
}

/// What a stored job that is shown as JSON says beside its moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredAsJson {
    /// The log.
    pub log: LogRecord,
    /// The digest of the mill, as it is shown.
    pub mill: String,
}

/// Reads what such a text says beside its moves; none where it is another text.
///
/// # Errors
/// What is wrong with it.
pub fn read_json(text: &str) -> Option<Result<StoredAsJson, String>> {
    #[derive(Deserialize)]
    struct Head {
        format: String,
    }
    #[derive(Deserialize)]
    struct Job {
        mill_digest: String,
        log: LogRecord,
    }
    let head: Head = serde_json::from_str(text).ok()?;
    if head.format != JOB_FORMAT {
        return None;
    }
    let job: Result<Job, _> = serde_json::from_str(text);
    Some(match job {
        Ok(Job { mill_digest, log }) => sound(&log).map(|()| StoredAsJson {
            log,
            mill: mill_digest,
        }),
        Err(error) => Err(error.to_string()),
    })
}

/// Whether a log could stand in a stored job.
fn sound(log: &LogRecord) -> Result<(), String> {
    let parts = JobParts {
        mill: Digest::from_bytes([0; 16]),
        grid: bunkside_protocol::Length::um(100),
        log,
        moves: &[],
        key: None,
    };
    let bytes = binary(&parts).map_err(|error| error.to_string())?;
    JobReader::open(&bytes).map_err(|error| error.to_string())?;
    Ok(())
}
