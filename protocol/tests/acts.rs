//! In which order the acts of one hold are done.

use bunkside_protocol::{Act, Acts};

fn turn(act: Act, all: Acts) -> usize {
    let mut turns = all.iter().enumerate().filter(|(_, other)| *other == act);
    let (turn, _) = turns.next().expect("it is done");
    assert!(turns.next().is_none(), "{act:?} is done once");
    turn
}

#[test]
fn every_act_is_done_once_and_the_log_is_laid_again_before_it_is_held_and_measured() {
    let all = Act::ALL.into_iter().fold(Acts::NONE, Acts::and);
    assert_eq!(all.iter().count(), Act::ALL.len());
    let turn = |act| turn(act, all);
    assert!(Act::ALL.into_iter().map(turn).max() < Some(Act::ALL.len()));
    assert!(turn(Act::Unload) < turn(Act::Reseat));
    for after in [Act::WedgeLog, Act::Dog, Act::Measure] {
        assert!(turn(Act::Reseat) < turn(after), "{after:?}");
    }
}
