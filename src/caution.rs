//! The cautions that every summary, report, page and export carries, the same words in the same place.

/// The cautions.
pub const CAUTION: &str = "Sawing kills. This is a planning aid, not a guard: the mill's own manual, local codes and \
licensed practice come first, the stop chain is hardware and stays so, and stability figures are estimates.";

/// The same in lines of at most 100 characters.
pub const CAUTION_LINES: [&str; 3] = [
    "Sawing kills. This is a planning aid, not a guard: the mill's own manual, local codes and",
    "licensed practice come first, the stop chain is hardware and stays so, and stability figures are",
    "estimates.",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lines_say_the_same() {
        assert_eq!(CAUTION_LINES.join(" "), CAUTION);
        assert!(CAUTION_LINES.iter().all(|line| line.len() <= 100));
    }
}
