//! The cut plan as text: its grammar page, its diagnostics, and its way from text to data and back.

use std::fs;
use std::path::Path;

use bunkside::cut_plan;
use bunkside::diagnostic::{Source, render_all};
use bunkside::measure::System;
use bunkside_protocol::Length;

mod breaking;
mod derivation;
mod generator;
mod round_trip;

/// All that is said about a text, given an order of a deck and a shelf board, and a log of 3.6 m.
fn told(source: &Source) -> String {
    let names = ["deck".to_owned(), "shelf".to_owned()];
    let (document, mut diagnostics) = cut_plan::parse(source);
    assert_eq!(document.to_text(), source.text);
    let (plan, more) = document.lower(&names, Length::mm(3_600));
    diagnostics.extend(more);
    let told = render_all(source, &diagnostics);
    if plan.is_none() {
        assert!(told.contains(": error: "), "no plan, and nothing that says why");
    }
    told
}

#[test]
fn bad_examples_are_told_with_place_and_way_out() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bad");
    let mut seen = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "cut") {
            let name = path.file_stem().unwrap().to_str().unwrap();
            let text = fs::read_to_string(&path).unwrap();
            let told = told(&Source::new(format!("examples/bad/{name}.cut"), text));
            assert!(!told.is_empty(), "{name} is not bad");
            insta::assert_snapshot!(format!("bad_{name}"), told);
            seen += 1;
        }
    }
    let snapshots = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots")).unwrap();
    let kept = snapshots
        .filter(|entry| {
            let name = entry.as_ref().unwrap().file_name();
            let name = name.to_str().unwrap();
            name.starts_with("system__cut_plan__bad_") && name.ends_with(".snap")
        })
        .count();
    assert_eq!(
        seen, kept,
        "every example has its snapshot, and every snapshot its example"
    );
}

/// The blocks of the grammar page that are fenced as a language.
fn fenced<'a>(page: &'a str, languages: &[&str]) -> Vec<(&'a str, &'a str)> {
    page.split("\n```")
        .skip(1)
        .step_by(2)
        .filter_map(|block| block.split_once('\n'))
        .filter(|(language, _)| languages.contains(language))
        .map(|(language, text)| {
            (
                language,
                &page[text.as_ptr() as usize - page.as_ptr() as usize..][..text.len() + 1],
            )
        })
        .collect()
}

#[test]
fn the_grammar_page_shows_what_is_read_and_told() {
    let page = include_str!("../src/cut_plan/GRAMMAR.md");
    let blocks = fenced(page, &["cut", "text"]);
    assert!(blocks.iter().filter(|(language, _)| *language == "cut").count() >= 2);
    for (number, (language, text)) in blocks.iter().enumerate() {
        if *language == "cut" {
            let source = Source::new("apple.cut", *text);
            let (document, diagnostics) = cut_plan::parse(&source);
            assert_eq!(document.to_text(), *text);
            let expected = match blocks.get(number + 1) {
                Some(("text", told)) => *told,
                _ => "",
            };
            assert_eq!(render_all(&source, &diagnostics), expected);
            assert!(
                document
                    .lower(&document.board_names(), Length::mm(3_600))
                    .0
                    .is_some()
            );
        }
    }
}

#[test]
fn the_grammar_page_names_every_word() {
    let page = include_str!("../src/cut_plan/GRAMMAR.md");
    let (_, grammar) = fenced(page, &["ebnf"])[0];
    for act in bunkside_protocol::Act::ALL {
        let words: Vec<String> = cut_plan::act_words(act)
            .split(' ')
            .map(|word| format!("\"{word}\""))
            .collect();
        assert!(grammar.contains(&words.join(" ")), "{words:?}");
    }
    assert!(page.contains(&format!("from 1 to {}", cut_plan::PASSES_MAX)));
}

#[test]
fn a_plan_lowers_to_what_it_says() {
    use bunkside_planner::plan::{Column, End, Freeing, Use};
    use bunkside_protocol::{Act, Acts, Position};

    let text = "plan \"G-04\"\nhold dog\nhold sweep\nlayer down to 187.5 mm with 2 passes\n slab\nlayer down to 5 in\n \
                take waste to -69.9 mm\n take board \"shelf\" to 75.6 mm\n release board \"deck\" 2.4 m from far end to edge";
    let (document, diagnostics) = cut_plan::parse(&Source::new("g.cut", text));
    assert_eq!(diagnostics, []);
    assert_eq!(document.title(), Some("G-04"));
    let names = ["deck".to_owned(), "shelf".to_owned()];
    let (plan, diagnostics) = document.lower(&names, Length::mm(3_600));
    assert_eq!(diagnostics, []);
    let plan = plan.unwrap();
    assert_eq!(plan.layers.len(), 2);
    let (slab, layer) = (&plan.layers[0], &plan.layers[1]);
    assert_eq!(
        (slab.floor, slab.passes, slab.columns.len()),
        (Position::um(187_500), Some(2), 0)
    );
    assert_eq!(slab.hold, Acts::one(Act::Dog).and(Act::Sweep));
    assert_eq!(
        (layer.floor, layer.passes, layer.hold),
        (Position::mm(127), None, Acts::NONE)
    );
    let column = |to, freeing, use_| Column { to, freeing, use_ };
    let board = |product, length, end| Use::Board {
        product,
        length: Length::mm(length),
        end,
    };
    assert_eq!(
        layer.columns,
        [
            column(Some(Position::um(-69_900)), Freeing::Take, Use::Waste),
            column(
                Some(Position::um(75_600)),
                Freeing::Take,
                board(1, 3_600, End::Near)
            ),
            column(None, Freeing::Release, board(0, 2_400, End::Far)),
        ]
    );
    plan.with_plan(|borrowed| assert_eq!(cut_plan::OwnedPlan::from(borrowed), plan));
}

#[test]
fn two_boards_of_a_column_are_a_pair() {
    use bunkside_planner::plan::{Part, Use};

    let text = "plan \"G-04\"\n\nlayer down to 127 mm\n  take waste to -69.9 mm\n  \
                take board \"deck\" 1800 mm and board \"shelf\" 1500 mm to 75.6 mm\n";
    let names = ["deck".to_owned(), "shelf".to_owned()];
    let (document, diagnostics) = cut_plan::parse(&Source::new("g.cut", text));
    assert_eq!(diagnostics, []);
    assert_eq!(document.board_names(), names);
    let plan = document.lower(&names, Length::mm(3_300)).0.unwrap();
    let part = |product, length| Part {
        product,
        length: Length::mm(length),
    };
    assert_eq!(
        plan.layers[0].columns[1].use_,
        Use::Pair {
            near: part(0, 1_800),
            far: part(1, 1_500)
        }
    );
    assert_eq!(cut_plan::write(&plan, &names, "G-04"), text);
    let noted = cut_plan::write_for(&plan, &names, "G-04", System::Inches);
    assert!(
        noted.contains("to 75.6 mm  # 5 ft 10 7/8 in, 4 ft 11 in, 2 31/32 in\n"),
        "{noted}"
    );
    assert!(document.lower(&names, Length::mm(3_299)).0.is_none());
}

#[test]
fn a_plan_is_written_in_plain_words() {
    let text = "plan \"G-04\"\n\nhold dog, sweep\nlayer down to 187.5 mm with 2 passes\n  slab\n\nlayer down to 127 mm with 1 pass\n  \
                take waste to -69.9 mm\n  release board \"deck\" 2400 mm from far end to 75.6 mm\n  release waste to edge\n";
    let (document, diagnostics) = cut_plan::parse(&Source::new("g.cut", text));
    assert_eq!(diagnostics, []);
    let names = ["deck".to_owned()];
    let plan = document.lower(&names, Length::mm(3_600)).0.unwrap();
    assert_eq!(cut_plan::write(&plan, &names, "G-04"), text);
    assert!(cut_plan::write(&plan, &[], "G-04").contains("board \"board 1\" 2400 mm"));
}

#[test]
fn a_reader_of_inches_finds_them_as_comments() {
    let text = "plan \"A-02\"\nlayer down to 254 mm\n  take waste to -76.2 mm\n  take board \"deck\" 2438.4 mm to edge\n";
    let names = ["deck".to_owned()];
    let lower = |text: &str| {
        let (document, diagnostics) = cut_plan::parse(&Source::new("a.cut", text));
        assert_eq!(diagnostics, []);
        document.lower(&names, Length::mm(3_600)).0.unwrap()
    };
    let plan = lower(text);
    let noted = cut_plan::write_for(&plan, &names, "A-02", System::Inches);
    for line in ["254 mm  # 10 in\n", "-76.2 mm  # -3 in\n", "to edge  # 8 ft\n"] {
        assert!(noted.contains(line), "{noted}");
    }
    assert_eq!(lower(&noted), plan);
}

#[test]
fn a_plan_for_another_log_is_told() {
    let source = Source::new("g.cut", "# mine\nplan \"G-04\"\nlayer down to 5 in\nslab\n");
    let (document, _) = cut_plan::parse(&source);
    assert_eq!(document.other_log("G-04"), None);
    let told = document.other_log("G-05").unwrap();
    assert_eq!(
        render_all(&source, &[told]),
        "g.cut:2:6: warning: this plan is for log \"G-04\"\n    plan \"G-04\"\n         ^^^^^^\n    \
         help: the log at hand is \"G-05\"; saw no log by the plan of another\n"
    );
}
