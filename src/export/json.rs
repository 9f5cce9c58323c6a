//! A stored job as JSON, to look at.

use bunkside_protocol::job::{DecodeError, JobReader};

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
