//! A small reader of markup: enough to see that every tag is closed and every attribute quoted.

/// One element as it begins: its name and its attributes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Element {
    pub(super) name: String,
    pub(super) attributes: Vec<(String, String)>,
}

impl Element {
    pub(super) fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// Every element of a well-formed text, in order.
///
/// # Errors
/// What is wrong, and what follows it.
pub(super) fn read(text: &str) -> Result<Vec<Element>, String> {
    let mut elements = Vec::new();
    let mut open: Vec<String> = Vec::new();
    let mut rest = text.strip_prefix("<!DOCTYPE html>").unwrap_or(text);
    while let Some(at) = rest.find('<') {
        plain(&rest[..at])?;
        rest = &rest[at + 1..];
        if let Some(after) = rest.strip_prefix('/') {
            let end = after.find('>').ok_or_else(|| shown("no end of a tag", rest))?;
            let name = after[..end].trim();
            if open.pop().as_deref() != Some(name) {
                return Err(shown(&format!("</{name}> closes what is not open"), rest));
            }
            rest = &after[end + 1..];
            continue;
        }
        let (element, closed, after) = tag(rest)?;
        rest = after;
        if ["script", "style"].contains(&element.name.as_str()) {
            let end = format!("</{}>", element.name);
            let at = rest
                .find(&end)
                .ok_or_else(|| shown("no end of a script or style", rest))?;
            rest = &rest[at + end.len()..];
        } else if !closed {
            open.push(element.name.clone());
        }
        elements.push(element);
    }
    plain(rest)?;
    match open.pop() {
        Some(name) => Err(format!("<{name}> is never closed")),
        None => Ok(elements),
    }
}

/// The tag that a text begins with, behind its `<`; whether it closes itself; what follows.
fn tag(text: &str) -> Result<(Element, bool, &str), String> {
    let named = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    let end = text.find(|letter| !named(letter)).unwrap_or(text.len());
    if end == 0 {
        return Err(shown("a bare <", text));
    }
    let mut element = Element {
        name: text[..end].to_owned(),
        attributes: Vec::new(),
    };
    let mut rest = &text[end..];
    loop {
        let trimmed = rest.trim_start();
        if let Some(after) = trimmed.strip_prefix("/>") {
            return Ok((element, true, after));
        }
        if let Some(after) = trimmed.strip_prefix('>') {
            return Ok((element, false, after));
        }
        if trimmed.len() == rest.len() {
            return Err(shown("no blank before an attribute", rest));
        }
        let (name, after) = trimmed
            .split_once("=\"")
            .ok_or_else(|| shown("an attribute without a value", rest))?;
        let (value, after) = after
            .split_once('"')
            .ok_or_else(|| shown("an open value", rest))?;
        if !name.chars().all(named) || value.contains('<') || element.attribute(name).is_some() {
            return Err(shown("a bad attribute", rest));
        }
        plain(value)?;
        element.attributes.push((name.to_owned(), value.to_owned()));
        rest = after;
    }
}

/// Whether text holds no bare `&` and nothing that no markup may hold.
fn plain(text: &str) -> Result<(), String> {
    for rest in text.split('&').skip(1) {
        let known = ["amp;", "lt;", "gt;", "quot;"];
        if !known.iter().any(|name| rest.starts_with(name)) {
            return Err(shown("a bare &", rest));
        }
    }
    match text.find(|letter: char| letter.is_control() && letter != '\n') {
        Some(at) => Err(shown("a control character", &text[at..])),
        None => Ok(()),
    }
}

fn shown(what: &str, at: &str) -> String {
    format!("{what}: {:?}", at.chars().take(60).collect::<String>())
}

#[test]
fn what_is_broken_is_seen() {
    for broken in [
        "<a><b></a></b>",
        "<a>",
        "</a>",
        "<a b=c/>",
        "<a b/>",
        "<a b=\"1\" b=\"2\"/>",
        "<a>&nbsp;</a>",
        "<a>1 & 2</a>",
        "<a>1 < 2</a>",
        "<a b=\"<\"/>",
        "<style>p{}",
        "<a>\u{1}</a>",
    ] {
        assert!(read(broken).is_err(), "{broken}");
    }
    let good = read("<!DOCTYPE html>\n<a b=\"c\"><script>1 < 2 && 3</script><d/>&amp;</a>\n").unwrap();
    let names: Vec<&str> = good.iter().map(|element| element.name.as_str()).collect();
    assert_eq!(names, ["a", "script", "d"]);
    assert_eq!(good[0].attribute("b"), Some("c"));
}
