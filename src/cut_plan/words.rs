//! The words of the language that stand for data.

use bunkside_protocol::Act;

use super::document::LineKind;

/// The words that a line may begin with.
pub(super) const FIRST_WORDS: [(&str, LineKind); 6] = [
    ("plan", LineKind::Plan),
    ("hold", LineKind::Hold),
    ("layer", LineKind::Layer),
    ("slab", LineKind::Slab),
    ("take", LineKind::Column),
    ("release", LineKind::Column),
];

/// How an act is written.
#[must_use]
pub const fn act_words(act: Act) -> &'static str {
    match act {
        Act::Unload => "unload",
        Act::WedgeLog => "wedge log",
        Act::WedgeKerf => "wedge kerf",
        Act::Dog => "dog",
        Act::KnifeOn => "knife on",
        Act::KnifeOff => "knife off",
        Act::Measure => "measure",
        Act::Reseat => "re-seat",
        Act::Sweep => "sweep",
        Act::Sharpen => "sharpen",
        Act::AidOn => "aid on",
        Act::AidOff => "aid off",
    }
}

/// The act of these words; blanks between them do not count.
pub(super) fn act(words: &str) -> Option<Act> {
    Act::ALL
        .into_iter()
        .find(|act| words.split_whitespace().eq(act_words(*act).split(' ')))
}

/// A name as it is written: in straight quotes, with `\"`, `\\` and `\u{...}` for what cannot stand there.
pub(super) fn quoted(name: &str) -> String {
    let mut text = String::from('"');
    for character in name.chars() {
        match character {
            '"' => text.push_str("\\\""),
            '\\' => text.push_str("\\\\"),
            other if other.is_control() => text.extend(other.escape_unicode()),
            other => text.push(other),
        }
    }
    text.push('"');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_act_is_found_by_its_words_and_by_no_others() {
        for one in Act::ALL {
            assert_eq!(act(act_words(one)), Some(one));
            assert_eq!(act(&act_words(one).replace(' ', " \t ")), Some(one));
        }
        assert_eq!(act("wedge"), None);
        assert_eq!(act("wedge log kerf"), None);
        assert_eq!(act(""), None);
    }

    #[test]
    fn quotes_what_would_end_a_name_or_a_line() {
        assert_eq!(quoted("2\" \\ x\n"), r#""2\" \\ x\u{a}""#);
    }
}
