//! What the image has to say, kept as a page: `qemu/run` holds the emulated board to it.

#[path = "../fixtures/mod.rs"]
mod fixtures;
#[path = "../fixtures/lines.rs"]
mod lines;

/// Set `BUNKSIDE_BLESS` to write the page again, and read its diff.
#[test]
fn the_host_says_what_the_image_has_to_say() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/qemu/expected.txt");
    let text = lines::all();
    if std::env::var_os("BUNKSIDE_BLESS").is_some() {
        std::fs::write(path, &text).unwrap();
    }
    let expected = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        text == expected,
        "{path} is out of date; write it again: BUNKSIDE_BLESS=1 cargo test -p bunkside-firmware --test image\n{text}"
    );
}
