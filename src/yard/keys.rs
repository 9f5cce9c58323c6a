//! The keys of an order over many logs: those of a job, with many logs in the place of one.

use crate::input::{Key, Shape};
use crate::job::keys::{BOARD, FINISH_TABLE, LOG, LOG_TABLE, MILL, MILL_ABOUT, PRICE, SETTING_TABLE, UNIT};

/// No order has more logs.
pub const LOGS_MAX: usize = 1_000;

/// What a board has in an order beside what it has in a job.
const OWED: [Key; 2] = [
    Key::may(
        "missing",
        PRICE,
        "What each one costs that is owed and comes out of no log; if left out by `priority`.",
    ),
    Key::default(
        "priority",
        Shape::Count { min: 1, max: 3 },
        "2",
        "What is filled first where not all can be: a missing one counts as ten times what the dearest of its lengths brings with 1, three times with 2, once with 3.",
    ),
];

/// All keys of a board in an order.
static ALL_OF_BOARD: [Key; BOARD.len() + OWED.len()] = {
    let mut all = [OWED[0]; BOARD.len() + OWED.len()];
    let mut at = 0;
    while at < BOARD.len() {
        all[at] = BOARD[at];
        at += 1;
    }
    while at < all.len() {
        all[at] = OWED[at - BOARD.len()];
        at += 1;
    }
    all
};

static A_BOARD: Shape = Shape::Table(&ALL_OF_BOARD);
static A_LOG: Shape = Shape::Table(LOG);

const BOARDS: Key = Key::must(
    "board",
    Shape::List {
        of: &A_BOARD,
        min: 1,
        max: 64,
    },
    "The products that are wanted; `least` and `most` count all logs together.",
);

/// Every key of an order.
pub static KEYS: &[Key] = &[
    Key::must("mill", MILL, MILL_ABOUT),
    UNIT,
    Key::may(
        "logs",
        Shape::Text,
        "A table of logs as text (CSV), from this file's folder: a row with the names of keys of [[log]], units behind them in brackets if you like, such as `length (m)`; then a row for each log. Cells are parted by commas, semicolons or tabs.",
    ),
    SETTING_TABLE,
    FINISH_TABLE,
    BOARDS,
    Key::may(
        "every_log",
        Shape::Table(LOG),
        "What holds of every log that does not say otherwise itself; any of the keys of [[log]].",
    ),
    Key::may(
        "log",
        Shape::List {
            of: &A_LOG,
            min: 1,
            max: LOGS_MAX,
        },
        "The logs, beside or instead of `logs`.",
    ),
];

/// What is read anew for each log, its own table under `log`.
pub(super) static OF_ONE: &[Key] = &[UNIT, LOG_TABLE, SETTING_TABLE, FINISH_TABLE, BOARDS];

/// What is read once.
pub(super) static OF_MILL: &[Key] = &[Key::must("mill", MILL, MILL_ABOUT), UNIT];

#[cfg(test)]
mod tests {
    use crate::input::{describe, faulty_defaults};

    #[test]
    fn every_key_stands_and_is_explained() {
        assert!(faulty_defaults(super::KEYS).is_empty());
        let text = describe(super::KEYS);
        for expected in [
            "board[].missing",
            "board[].price.per_bf",
            "log[].small_end",
            "logs\n",
        ] {
            assert!(text.contains(expected), "{expected}\n{text}");
        }
    }
}
