//! Columns of plain text.

/// To which side a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// Rows of cells under their heads.
#[derive(Clone, Debug)]
pub struct Table {
    sides: Vec<Side>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with these heads; no head row where all are empty.
    #[must_use]
    pub fn new(heads: &[(&str, Side)]) -> Self {
        let mut table = Self {
            sides: heads.iter().map(|(_, side)| *side).collect(),
            rows: Vec::new(),
        };
        if heads.iter().any(|(head, _)| !head.is_empty()) {
            table.row(heads.iter().map(|(head, _)| (*head).to_owned()));
        }
        table
    }

    /// Adds a row; cells that are missing count as empty.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        let mut cells: Vec<String> = cells.into_iter().collect();
        cells.resize(self.sides.len(), String::new());
        self.rows.push(cells);
    }

    /// The rows as lines, each behind so many blanks, two blanks between columns.
    #[must_use]
    pub fn text(&self, indent: usize) -> String {
        let widths: Vec<usize> = (0..self.sides.len())
            .map(|column| {
                let width = |row: &Vec<String>| row[column].chars().count();
                self.rows.iter().map(width).max().unwrap_or(0)
            })
            .collect();
        let mut text = String::new();
        for row in &self.rows {
            let cells = row.iter().zip(&widths).zip(&self.sides);
            let line: Vec<String> = cells
                .map(|((cell, width), side)| match side {
                    Side::Left => format!("{cell:<width$}"),
                    Side::Right => format!("{cell:>width$}"),
                })
                .collect();
            text.push_str(format!("{}{}", " ".repeat(indent), line.join("  ")).trim_end());
            text.push('\n');
        }
        text
    }
}

/// Words in lines of at most so many characters, the first behind a head, the others under it. A figure stays with
/// what follows it: `12 1/2 in` on two lines would be read as two lengths.
#[must_use]
pub fn wrapped(head: &str, words: &str, width: usize) -> String {
    let indent = head.chars().count();
    let mut lines = vec![head.to_owned()];
    let mut fresh = true;
    for word in unbroken(words) {
        let last = lines.last().map_or(0, |line| line.chars().count());
        if !fresh && last + 1 + word.chars().count() > width {
            lines.push(" ".repeat(indent));
            fresh = true;
        }
        if let Some(line) = lines.last_mut() {
            if !fresh {
                line.push(' ');
            }
            line.push_str(&word);
        }
        fresh = false;
    }
    lines
        .iter()
        .map(|line| format!("{}\n", line.trim_end()))
        .collect()
}

/// The words of a text, each figure together with its fraction and unit, feet with their inches.
fn unbroken(words: &str) -> Vec<String> {
    let figure = |word: &str| {
        let bare = word.trim_start_matches(['(', '-']);
        !bare.is_empty()
            && bare
                .chars()
                .all(|letter| letter.is_ascii_digit() || "./".contains(letter))
    };
    let mut kept: Vec<String> = Vec::new();
    let mut before = "";
    for word in words.split(' ') {
        let joins = figure(before) || (before == "ft" && figure(word));
        match kept.last_mut() {
            Some(last) if joins => {
                last.push(' ');
                last.push_str(word);
            }
            _ => kept.push(word.to_owned()),
        }
        before = word;
    }
    kept
}

/// A count with its word: `1 cut`, `22 cuts`.
#[must_use]
pub fn count(number: impl Into<u64>, word: &str) -> String {
    let number = number.into();
    let ending = if number == 1 { "" } else { "s" };
    format!("{number} {word}{ending}")
}

/// `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn listed(words: &[impl AsRef<str>]) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_words_go_on_under_the_first() {
        assert_eq!(
            wrapped("log  ", "a long birch log", 13),
            "log  a long\n     birch\n     log\n"
        );
        assert_eq!(wrapped("x ", "unbreakable", 4), "x unbreakable\n");
        assert_eq!(wrapped("files ", "", 80), "files\n");
    }

    #[test]
    fn a_figure_is_not_torn_apart() {
        assert_eq!(
            wrapped("x ", "near end, 12 1/2 in high", 16),
            "x near end,\n  12 1/2 in high\n"
        );
        assert_eq!(wrapped("x ", "long (12 ft 6 in)", 13), "x long\n  (12 ft 6 in)\n");
    }

    #[test]
    fn columns_stand_under_each_other() {
        let mut table = Table::new(&[("cut", Side::Right), ("angle", Side::Left), ("", Side::Left)]);
        table.row(["1".to_owned(), "flat".to_owned(), "½ in".to_owned()]);
        table.row(["12".to_owned(), "upright".to_owned()]);
        assert_eq!(
            table.text(2),
            "  cut  angle\n    1  flat     ½ in\n   12  upright\n"
        );
        assert_eq!(listed(&["unload"]), "unload");
        assert_eq!(
            listed(&["unload", "measure", "sweep"]),
            "unload, measure and sweep"
        );
        assert_eq!(
            count(1_u32, "cut") + ", " + &count(0_u32, "hold"),
            "1 cut, 0 holds"
        );
    }
}
