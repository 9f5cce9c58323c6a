//! The word somebody may have meant.

/// The candidate nearest to a word, if one is near enough to be a slip of the pen: one letter in a short word, one
/// in three in a longer one; letters swapped count once, upper case does not count. The first of equals wins.
#[must_use]
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = word.to_lowercase().chars().collect();
    let allowed = (word.len() / 3).max(1);
    candidates
        .into_iter()
        .map(|candidate| {
            (
                steps(&word, &candidate.to_lowercase().chars().collect::<Vec<_>>()),
                candidate,
            )
        })
        .filter(|(steps, candidate)| *steps <= allowed && *steps < word.len().min(candidate.chars().count()))
        .min_by_key(|(steps, _)| *steps)
        .map(|(_, candidate)| candidate)
}

/// Letters to insert, drop, change or swap with their neighbour to make one word of the other.
fn steps(one: &[char], other: &[char]) -> usize {
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=other.len()).collect();
    for (row, letter) in one.iter().enumerate() {
        let mut this = vec![row + 1];
        for (column, goal) in other.iter().enumerate() {
            let mut best = (last[column] + usize::from(letter != goal))
                .min(last[column + 1] + 1)
                .min(this[column] + 1);
            let swapped = row > 0
                && column > 0
                && one[row - 1] == *goal
                && other[column - 1] == *letter
                && letter != goal;
            if swapped {
                best = best.min(before_last[column - 1] + 1);
            }
            this.push(best);
        }
        before_last = std::mem::replace(&mut last, this);
    }
    last[other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_slips_and_no_more() {
        let keys = ["kerf", "radius", "hub", "rim_speed", "mm", "m", "in", "ft"];
        let found = |word| nearest(word, keys);
        assert_eq!(found("kref"), Some("kerf"));
        assert_eq!(found("Kerf"), Some("kerf"));
        assert_eq!(found("rimspeed"), Some("rim_speed"));
        assert_eq!(found("mn"), Some("mm"));
        assert_eq!(found("inn"), Some("in"));
        assert_eq!(found("colour"), None);
        assert_eq!(
            found("x"),
            None,
            "one letter changed in a word of one is another word"
        );
        assert_eq!(nearest("word", []), None);
    }

    #[test]
    fn counts_steps() {
        let count = |a: &str, b: &str| steps(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>());
        assert_eq!(count("", "abc"), 3);
        assert_eq!(count("abc", ""), 3);
        assert_eq!(count("abc", "acb"), 1);
        assert_eq!(count("kitten", "sitting"), 3);
    }
}
