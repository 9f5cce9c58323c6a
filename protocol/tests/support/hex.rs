//! Bytes as people write them.

/// The bytes of a text of hexadecimal digits; white space between them is left out.
pub(crate) fn bytes(text: &str) -> Vec<u8> {
    let digits: Vec<u8> = text
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| u8::try_from(c.to_digit(16).unwrap_or_else(|| panic!("{c:?} in {text:?}"))).unwrap())
        .collect();
    assert!(digits.len().is_multiple_of(2), "half a byte in {text:?}");
    digits.chunks(2).map(|pair| pair[0] << 4 | pair[1]).collect()
}

/// Two digits a byte, with spaces between.
pub(crate) fn text(bytes: &[u8]) -> String {
    bytes
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect::<Vec<_>>()
        .join(" ")
}
