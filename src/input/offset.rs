//! Where in a file a byte of a quoted text stands: escapes take more bytes than they mean.

/// The byte of a raw TOML string, quotes and escapes included, at which byte `offset` of its meaning stands.
#[must_use]
pub(super) fn in_raw(raw: &str, offset: usize) -> usize {
    let (open, escapes) = opening(raw);
    if !escapes {
        return (open + offset).min(raw.len());
    }
    let mut meant = 0;
    let mut at = open;
    while meant < offset {
        let Some(character) = raw[at..].chars().next() else {
            break;
        };
        if character != '\\' {
            at += character.len_utf8();
            meant += character.len_utf8();
            continue;
        }
        let (taken, means) = escape(&raw[at + 1..]);
        at += 1 + taken;
        meant += means;
    }
    at.min(raw.len())
}

/// Bytes before the text begins, and whether backslashes mean anything in it.
fn opening(raw: &str) -> (usize, bool) {
    for (quote, escapes) in [("\"\"\"", true), ("'''", false)] {
        if let Some(rest) = raw.strip_prefix(quote) {
            let line_end = if rest.starts_with("\r\n") {
                2
            } else {
                usize::from(rest.starts_with('\n'))
            };
            return (quote.len() + line_end, escapes);
        }
    }
    (usize::from(raw.starts_with(['"', '\''])), raw.starts_with('"'))
}

/// Bytes an escape takes behind its backslash, and bytes its meaning takes.
fn escape(rest: &str) -> (usize, usize) {
    let Some(kind) = rest.chars().next() else {
        return (0, 0);
    };
    let digits = match kind {
        'x' => 2,
        'u' => 4,
        'U' => 8,
        ' ' | '\t' | '\r' | '\n' => {
            return (
                rest.len() - rest.trim_start_matches([' ', '\t', '\r', '\n']).len(),
                0,
            );
        }
        other => return (other.len_utf8(), 1),
    };
    let code = rest
        .get(1..=digits)
        .and_then(|digits| u32::from_str_radix(digits, 16).ok());
    (
        1 + digits,
        code.and_then(char::from_u32).map_or(1, char::len_utf8),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(raw: &str, offset: usize, expected: &str) {
        assert!(raw[in_raw(raw, offset)..].starts_with(expected), "{raw} {offset}");
    }

    #[test]
    fn counts_escapes() {
        check(r#""3.6 mn""#, 4, "mn");
        check(r"'3.6 mn'", 4, "mn");
        check(r#""12'6\" x""#, 5, " x");
        check(r#""12'6\" x""#, 4, "\\\"");
        check(r#""\u00bd mn""#, 3, "mn");
        check(r#""\U000000bd mn""#, 3, "mn");
        check(r#""\x41 mn""#, 2, "mn");
        check("\"\"\"\n3 mn\"\"\"", 2, "mn");
        check("'''\r\n3 mn'''", 2, "mn");
        check("\"\"\"3 \\\n   mn\"\"\"", 3, "n");
        assert_eq!(in_raw("\"ab\"", 99), 4);
        assert_eq!(in_raw("\"\\", 5), 2);
    }
}
