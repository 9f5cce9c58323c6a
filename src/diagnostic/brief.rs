//! Long texts cut down to what can be read: what was found may be a whole file on one line.

/// A word longer than this is shown by its ends. Paths may be longer.
const WORD_MAX: usize = 100;
/// The same for a word with a stroke in it, which may be a path.
const PATH_MAX: usize = 400;
/// Of a word that is too long, how much is shown of its beginning and of its end.
const WORD_ENDS: (usize, usize) = (50, 20);
/// A message longer than this is shown by its ends.
const MESSAGE_MAX: usize = 1_000;
/// How much of it is shown of its beginning and of its end.
const MESSAGE_ENDS: (usize, usize) = (600, 200);

/// A message in which no word and no whole is longer than can be read.
pub(crate) fn brief(message: &str) -> String {
    let words: Vec<String> = message
        .split(' ')
        .map(|word| {
            let most = if word.contains(['/', '\\']) {
                PATH_MAX
            } else {
                WORD_MAX
            };
            ends(word, most, WORD_ENDS)
        })
        .collect();
    ends(&words.join(" "), MESSAGE_MAX, MESSAGE_ENDS)
}

fn ends(text: &str, most: usize, (first, last): (usize, usize)) -> String {
    let count = text.chars().count();
    if count <= most {
        return text.to_owned();
    }
    let start: String = text.chars().take(first).collect();
    let end: String = text.chars().skip(count - last).collect();
    format!("{start} ... {end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_can_be_read_stays_as_it_is() {
        let path = format!("there is no file at /{}", "folder/".repeat(30));
        for message in ["no unit is called `mn`", "", "  two blanks", &path] {
            assert_eq!(brief(message), message);
        }
    }

    #[test]
    fn long_words_and_long_messages_are_shown_by_their_ends() {
        let word = brief(&format!("no unit is called `{}z`", "ä".repeat(5_000)));
        assert!(
            word.starts_with("no unit is called `ää") && word.ends_with("äz`"),
            "{word}"
        );
        assert!(word.chars().count() < 120 && word.contains(" ... "));
        let message = brief(&"word ".repeat(10_000));
        assert!(message.chars().count() < 1_000 && message.contains(" ... "));
    }
}
