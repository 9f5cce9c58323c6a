//! Every key of a job and of a mill profile, as the help prints it.

use bunkside::input::describe;
use bunkside::{job, mill, yard};

#[test]
fn the_keys_of_a_job() {
    insta::assert_snapshot!(describe(job::KEYS));
}

/// What an order has that no job has.
#[test]
fn the_keys_of_an_order() {
    let own = [
        "logs\n",
        "every_log\n",
        "log[].name\n",
        "board[].missing\n",
        "board[].priority\n",
        "mill\n",
        "setting.step\n",
    ];
    let told = describe(yard::KEYS);
    assert!(own.iter().all(|key| told.contains(key)), "{told}");
}

#[test]
fn the_keys_of_a_mill_profile() {
    insta::assert_snapshot!(describe(mill::KEYS));
}
