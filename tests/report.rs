//! How large a campaign is to be, and the page its counts go to.

use std::fs;

/// A number from the environment, or the usual one.
pub(crate) fn asked(name: &str, usual: u64) -> u64 {
    let told = std::env::var(name).ok();
    told.map_or(usual, |told| {
        told.parse()
            .unwrap_or_else(|_| panic!("{name} is no number: {told}"))
    })
}

/// Puts a text in its place on the page that `BUNKSIDE_REPORT` names, between `<!-- NAME -->` and `<!-- end -->`;
/// without one it does nothing.
pub(crate) fn report(name: &str, text: &str) {
    let Ok(path) = std::env::var("BUNKSIDE_REPORT") else {
        return;
    };
    let page = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let (begin, end) = (format!("<!-- {name} -->\n"), "<!-- end -->");
    let (before, rest) = page
        .split_once(&begin)
        .unwrap_or_else(|| panic!("{path} has no place for {name}"));
    let after = &rest[rest
        .find(end)
        .unwrap_or_else(|| panic!("{path}: {name} has no end"))..];
    fs::write(&path, format!("{before}{begin}{text}{after}"))
        .unwrap_or_else(|error| panic!("{path}: {error}"));
}
