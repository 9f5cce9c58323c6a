//! Move sequences as JSON.
//!
//! ```json
//! {"format": "bunkside-moves", "version": 1, "log": "G-04", "mill": "powered-165", "moves": [
//!   {"swing": "flat"},
//!   {"spin": "up"},
//!   {"go": {"across_um": 60000, "height_um": 180000}},
//!   {"cut": {"travel_um": 4700000, "speed_um_per_s": 250000, "feed": "forward"}},
//!   {"hold": ["unload"]}
//! ]}
//! ```
//!
//! | move | holds |
//! |---|---|
//! | `go` | any of `travel_um`, `across_um`, `height_um`: whole micrometres within ±100 m. An axis that is not named stays |
//! | `cut` | the same, and `speed_um_per_s`; where wanted `feed` (`climb` or `forward`) and `release` (`true`) |
//! | `swing` | `flat` or `upright` |
//! | `spin` | `up` or `down` |
//! | `hold` | a list of acts, in the words of the cut plan: `unload`, `wedge log`, `re-seat` … |
//!
//! `log` and `mill` name what the moves were made for, `setting` how the log is set where that was chosen for it; a file may leave
//! them out. `moves` alone, or the list without anything around it, is read as well. A move that makes no sense (a go to
//! nowhere) is read as it stands: the rules say what is wrong with it.

mod read;
mod tree;
mod write;

pub use read::{Sequence, read, read_sequence};
pub(crate) use write::list;
pub use write::{move_text, write, write_for, write_set};

/// What `format` says of a move sequence.
pub const FORMAT: &str = "bunkside-moves";
/// What `format` says of a stored job shown as JSON; its `moves` are read like those of a sequence.
pub const JOB_FORMAT: &str = "bunkside-job";
/// The version of both.
pub const VERSION: u32 = 1;
