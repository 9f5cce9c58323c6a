//! What a frozen log is held with.

use bunkside_protocol::MillRecord;

use crate::job::Job;
use crate::species::State;

/// What is said of a frozen log: the mill's grip is that of thawed bark or wood. Iced bark on steel has a friction of about 0.15
/// (from memory; EN 12195-1 lets loads on
/// the road count on 0.2 at most where ice or snow lies between, from memory).
#[must_use]
pub fn words(job: &Job, mill: &MillRecord) -> Option<String> {
    (job.state == State::Frozen).then(|| {
        let (key, grip) = if job.log.smooth {
            ("grip_smooth", mill.factors.grip_smooth)
        } else {
            ("grip_barked", mill.factors.grip_barked)
        };
        let grip = f64::from(grip) / 1_000.0;
        format!(
            "it is reckoned with a grip of {grip} ({key} in [factor] of the mill); ice on log or bunks holds with about 0.15: knock it \
             off, close dogs, or write what you trust there and plan again"
        )
    })
}
