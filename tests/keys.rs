//! Every key of a job and of a mill profile, as the help prints it.

use bunkside::input::describe;
use bunkside::{job, mill};

#[test]
fn the_keys_of_a_job() {
    insta::assert_snapshot!(describe(job::KEYS));
}

#[test]
fn the_keys_of_a_mill_profile() {
    insta::assert_snapshot!(describe(mill::KEYS));
}
