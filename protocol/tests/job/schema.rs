//! The schema key stands for the shape that the records really have.

use bunkside_protocol::job::{SCHEMA, SCHEMA_KEY, fnv1a_64};
use bunkside_protocol::{LogRecord, MillRecord};

use crate::support::maker::Maker;

const RECORDS: &str = "records\n";

#[test]
fn the_written_schema_is_the_shape_of_the_records() {
    let mut maker = Maker::default();
    maker.shape::<LogRecord>().unwrap();
    maker.shape::<MillRecord>().unwrap();
    let found: String = maker.lines().iter().map(|line| format!("{line}\n")).collect();
    let (_, written) = SCHEMA
        .split_once(RECORDS)
        .expect("the line that begins the records");
    assert_eq!(
        written, found,
        "a record has changed its shape. Put the second text below the line `records` of schema.txt; if a version \
         with the old shape was released, raise FORMAT_VERSION and keep its golden bytes. The second text:\n{found}"
    );
}

/// Worked out again with a second program.
#[test]
fn the_key_is_frozen_for_this_version() {
    assert_eq!(SCHEMA_KEY, fnv1a_64(SCHEMA.as_bytes()));
    assert_eq!(SCHEMA_KEY, 0xD321_EC70_4200_2D36);
    assert!(!SCHEMA.contains('\r'), "line ends were changed on the way");
}
