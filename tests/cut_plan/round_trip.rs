//! Text to data and back, on random plans.

use bunkside::cut_plan::{parse, write};
use bunkside::diagnostic::Source;
use bunkside_protocol::Length;

use super::generator::{names, plan, text};
use crate::dice::Dice;

#[test]
fn what_is_written_reads_back_as_the_same_plan() {
    let names = names();
    for seed in 0..3_000 {
        let plan = plan(&mut Dice::new(seed));
        let text = write(&plan, &names, "log \"7\"\n");
        let (document, diagnostics) = parse(&Source::new("w.cut", text.clone()));
        assert_eq!(diagnostics, [], "{text}");
        assert_eq!(document.title(), Some("log \"7\"\n"));
        assert_eq!(document.to_text(), text);
        assert_eq!(
            document.lower(&names, Length::MAX),
            (Some(plan), Vec::new()),
            "{text}"
        );
    }
}

#[test]
fn any_hand_reads_as_the_plan_it_means_and_prints_back_byte_for_byte() {
    let names = names();
    for seed in 0..3_000 {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let text = text(&mut dice, &plan, "G-04");
        let (document, diagnostics) = parse(&Source::new("h.cut", text.clone()));
        assert_eq!(diagnostics, [], "{text}");
        assert_eq!(document.to_text(), text);
        assert_eq!(
            document.lower(&names, Length::MAX),
            (Some(plan), Vec::new()),
            "{text}"
        );
    }
}

#[test]
fn a_piece_of_the_tree_stands_where_its_span_says() {
    use bunkside::cut_plan::Statement;
    for seed in 0..300 {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let text = text(&mut dice, &plan, "G-04");
        let (document, _) = parse(&Source::new("s.cut", text.clone()));
        for statement in document.statements() {
            let span = statement.span();
            let whole = &text[span.start..span.end];
            match statement {
                Statement::Plan(line) => {
                    assert!(whole.starts_with("plan") && whole.contains(&line.name.text));
                }
                Statement::Hold(line) => {
                    assert!(whole.starts_with("hold"));
                    for item in &line.acts {
                        assert_eq!(text[item.act.span.start..item.act.span.end], item.act.text);
                    }
                }
                Statement::Layer(line) => {
                    assert!(whole.starts_with("layer"));
                    assert_eq!(text[line.floor.span.start..line.floor.span.end], line.floor.text);
                }
                Statement::Slab(_) => assert_eq!(whole, "slab"),
                Statement::Column(line) => {
                    assert!(whole.starts_with(&line.freeing.text) && whole.ends_with(&line.place.text));
                }
                Statement::Broken(_) => unreachable!("the text is good"),
            }
        }
    }
}
