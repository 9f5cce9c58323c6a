//! Values so fine that the number of boards tells layouts apart that bring the same.

use super::Line;

/// Of layouts that bring the same the one with fewest boards is looked for: values are so many times finer then, and each board costs
/// one of these. No layout has so many boards. Where numbers are limited a search may have to look at many more stacks to tell those
/// apart that bring the same: with values so fine it looks at few, and else at all with values as they are.
pub(super) const FINER: i64 = 4_096;

/// What the boards of a line are worth, so many times finer; such as bring nothing stay so.
pub(super) fn finer(line: &Line, times: i64) -> Vec<i64> {
    let cost = i64::from(times > 1);
    let values = line.values.iter();
    values
        .map(|value| {
            let finer = value.saturating_mul(times);
            if *value > 0 { finer - cost } else { finer }
        })
        .collect()
}

/// What finer values come to; the boards of a layout cost less than one.
pub(super) const fn coarser(value: i64, times: i64) -> i64 {
    value.div_euclid(times) + (value.rem_euclid(times) > 0) as i64
}
