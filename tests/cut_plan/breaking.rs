//! Texts with something wrong: nothing is lost, nothing panics, and what is wrong is told where it stands.

use bunkside::cut_plan::{parse, write};
use bunkside::diagnostic::{Source, any_error, render_all};
use bunkside_protocol::Length;

use super::generator::{plan, text};
use crate::dice::Dice;

/// What a slipping hand, a phone or a bad copy puts into a text.
const SLIPS: [&str; 26] = [
    "",
    "",
    "",
    " ",
    "\n",
    "\r",
    "\"",
    "\\",
    "#",
    ",",
    "-",
    ".",
    "/",
    "'",
    "½",
    "ü",
    "\u{feff}",
    "\u{0}",
    "9",
    "to",
    "edge",
    " from ",
    "layer",
    " slab\n",
    "take waste to edge\n",
    "\\u{",
];

/// A text with a few slips in it.
fn slipped(dice: &mut Dice) -> String {
    let plan = plan(dice);
    let mut text = text(dice, &plan, "G-04");
    for _ in 0..dice.between(1, 4) {
        let mut starts: Vec<usize> = text.char_indices().map(|(start, _)| start).collect();
        starts.push(text.len());
        let from = usize::try_from(dice.below(starts.len() as u64)).unwrap();
        let to = (from + usize::try_from(dice.below(4)).unwrap()).min(starts.len() - 1);
        text.replace_range(starts[from]..starts[to], dice.pick(&SLIPS));
    }
    text
}

#[test]
fn no_slip_loses_a_byte_or_points_outside_the_text() {
    let (mut good, mut bad) = (0, 0);
    for seed in 0..20_000 {
        let text = slipped(&mut Dice::new(seed));
        let source = Source::new("x.cut", text.clone());
        let (document, mut diagnostics) = parse(&source);
        assert_eq!(document.to_text(), text);
        let names = document.board_names();
        let (plan, more) = document.lower(&names, Length::MAX);
        diagnostics.extend(more);
        for one in &diagnostics {
            assert!(
                one.span.start <= one.span.end && one.span.end <= text.len(),
                "{one:?}\n{text}"
            );
            assert!(
                text.get(one.span.start..one.span.end).is_some(),
                "{one:?}\n{text}"
            );
            assert!(!one.message.is_empty() && !one.help.is_empty(), "{one:?}");
        }
        let _ = render_all(&source, &diagnostics);
        if any_error(&diagnostics) {
            bad += 1;
        } else {
            good += 1;
            let plan = plan.expect("no error, so there is a plan");
            let again = parse(&Source::new("y.cut", write(&plan, &names, "again")));
            assert_eq!(again.1, []);
            assert_eq!(again.0.lower(&names, Length::MAX).0, Some(plan));
        }
    }
    assert!(
        good > 500 && bad > 5_000,
        "the slips are neither all harmless nor all fatal: {good} {bad}"
    );
}

#[test]
fn a_line_that_cannot_be_read_spoils_no_other() {
    for seed in 0..3_000 {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let text = write(&plan, &super::generator::names(), "G-04");
        let mut broken = Vec::new();
        let mut spoilt = String::new();
        for line in text.split_inclusive('\n') {
            let indent = line.len() - line.trim_start().len();
            if line.trim().is_empty() || !dice.once_in(4) {
                spoilt.push_str(line);
            } else {
                broken.push(spoilt.len() + indent);
                spoilt += &format!("{}x{}", &line[..indent], &line[indent..]);
            }
        }
        let (document, diagnostics) = parse(&Source::new("b.cut", spoilt.clone()));
        let told: Vec<usize> = diagnostics.iter().map(|one| one.span.start).collect();
        assert_eq!(told, broken, "{spoilt}\n{diagnostics:?}");
        assert_eq!(document.to_text(), spoilt);
        if !broken.is_empty() {
            assert_eq!(document.lower(&super::generator::names(), Length::MAX).0, None);
        }
    }
}
