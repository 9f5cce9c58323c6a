//! Move sequences as JSON: there and back, and what is said about bad ones.

use std::fs;
use std::path::Path;

use bunkside::diagnostic::{Source, any_error, render_all};
use bunkside::moves_json::{move_text, read, read_sequence, write, write_for};
use bunkside_protocol::{Acts, Angle, Cut, Feed, Hold, Move, Position, Speed, Targets};

use crate::dice::Dice;

fn good(text: &str) -> Vec<Move> {
    let source = Source::new("moves.json", text);
    let (moves, said) = read(&source);
    assert!(said.is_empty(), "{}", render_all(&source, &said));
    moves.unwrap()
}

/// Any move there is.
pub(crate) fn any(dice: &mut Dice) -> Move {
    let axis =
        |dice: &mut Dice| (!dice.once_in(2)).then(|| Position::um(dice.between(-100_000_000, 100_000_000)));
    let to = Targets {
        travel: axis(dice),
        across: axis(dice),
        height: axis(dice),
    };
    match dice.below(5) {
        0 => Move::Go(to),
        1 => Move::Cut(Cut {
            to,
            speed: Speed::um_per_s(u32::try_from(dice.below(200_000_001)).unwrap()),
            feed: dice.pick(&[None, Some(Feed::Climb), Some(Feed::Forward)]),
            release: dice.once_in(2),
        }),
        2 => Move::Swing(dice.pick(&Angle::ALL)),
        3 => Move::Spin(dice.once_in(2)),
        _ => Move::Hold(Hold {
            acts: Acts::try_from(u16::try_from(dice.below(1 << 12)).unwrap()).unwrap(),
        }),
    }
}

#[test]
fn any_sequence_comes_back() {
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let moves: Vec<Move> = (0..dice.below(20)).map(|_| any(&mut dice)).collect();
        let text = write(&moves);
        assert_eq!(good(&text), moves, "{text}");
        // It is JSON to others as well, with the list where they look for it.
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["moves"].as_array().unwrap().len(), moves.len());
    }
}

#[test]
fn a_move_is_written_like_this() {
    let um = Position::um;
    let cut = Cut {
        to: Targets::travel(um(4_700_000)),
        speed: Speed::mm_per_s(250),
        feed: Some(Feed::Climb),
        release: true,
    };
    let moves = [
        Move::Swing(Angle::Flat),
        Move::Go(Targets::corner(um(60_000), um(-5))),
        Move::Cut(cut),
    ];
    let expected = r#"{"format": "bunkside-moves", "version": 1, "moves": [
  {"swing": "flat"},
  {"go": {"across_um": 60000, "height_um": -5}},
  {"cut": {"travel_um": 4700000, "speed_um_per_s": 250000, "feed": "climb", "release": true}}
]}
"#;
    assert_eq!(write(&moves), expected);
    assert_eq!(move_text(Move::Spin(false)), r#"{"spin": "down"}"#);
    assert_eq!(
        write(&[]),
        "{\"format\": \"bunkside-moves\", \"version\": 1, \"moves\": []}\n"
    );
}

#[test]
fn every_move_knows_its_place() {
    let mut dice = Dice::new(3);
    let moves: Vec<Move> = (0..30).map(|_| any(&mut dice)).collect();
    let source = Source::new("moves.json", write(&moves));
    let placed = read_sequence(&source).0.unwrap().moves;
    for (line, (next, span)) in placed.into_iter().enumerate() {
        assert_eq!(&source.text[span.start..span.end], move_text(next));
        assert_eq!(source.place(span.start).line, line + 2);
    }
}

#[test]
fn less_around_the_moves_is_read_as_well() {
    let expected = [Move::Spin(true)];
    assert_eq!(good(r#"[{"spin": "up"}]"#), expected);
    assert_eq!(good(r#"{"moves": [{"spin": "up"}]}"#), expected);
    assert_eq!(
        good("{\"moves\": [{\"sp\\u0069n\": \"\\u0075p\"}], \"version\": 1}"),
        expected
    );
    assert_eq!(good("[]"), []);
    let source = Source::new("moves.json", r#"{"moves": [], "author": "A"}"#);
    let (moves, said) = read(&source);
    assert_eq!(moves, Some(vec![]));
    assert!(said.len() == 1 && !any_error(&said));
}

#[test]
fn bad_examples_are_told_with_place_and_way_out() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let names = |folder: &str, start: &str, end: &str| -> Vec<String> {
        let entries = fs::read_dir(root.join(folder)).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter_map(|name| Some(name.strip_prefix(start)?.strip_suffix(end)?.to_owned()))
            .collect();
        names.sort();
        names
    };
    let examples = names("examples/bad", "moves-", ".json");
    for name in &examples {
        let file = format!("examples/bad/moves-{name}.json");
        let source = Source::new(file.clone(), fs::read_to_string(root.join(&file)).unwrap());
        let (moves, said) = read(&source);
        assert!(!said.is_empty(), "{file} is not bad");
        assert_eq!(moves.is_none(), any_error(&said), "moves, or the reason why not");
        insta::assert_snapshot!(format!("bad_{name}"), render_all(&source, &said));
    }
    assert_eq!(
        examples,
        names("tests/snapshots", "system__moves_json__bad_", ".snap")
    );
}

/// A text cut off anywhere, or with a character changed, is read or told, and never a panic.
#[test]
fn broken_texts_are_told() {
    let mut dice = Dice::new(9);
    let moves: Vec<Move> = (0..12).map(|_| any(&mut dice)).collect();
    let text = write(&moves);
    for end in 0..text.len() - 1 {
        let (moves, said) = read(&Source::new("moves.json", &text[..end]));
        assert!(moves.is_none() && any_error(&said));
    }
    let letters = [
        '{', '}', '[', ']', '"', ',', ':', '0', '-', '.', 'e', '\\', 'u', 'ö', '\n', ' ',
    ];
    for _ in 0..20_000 {
        let mut broken: Vec<char> = text.chars().collect();
        for _ in 0..dice.between(1, 3) {
            let place = usize::try_from(dice.below(broken.len() as u64)).unwrap();
            broken[place] = dice.pick(&letters);
        }
        let source = Source::new("moves.json", broken.into_iter().collect::<String>());
        let (moves, said) = read(&source);
        assert_eq!(moves.is_none(), any_error(&said));
        assert!(
            said.iter()
                .all(|one| one.span.start <= one.span.end && one.span.end <= source.text.len())
        );
    }
}

/// More moves than can be numbered are told of before any is kept.
#[test]
fn more_moves_than_can_be_numbered_are_not_read() {
    let most = usize::from(u16::MAX);
    let text = |count: usize| write(&vec![Move::Spin(true); count]);
    assert_eq!(good(&text(most)).len(), most);
    let (moves, said) = read(&Source::new("moves.json", text(most + 1)));
    assert!(moves.is_none());
    assert_eq!(said.len(), 1);
    assert!(said[0].message.contains("65536 moves"), "{}", said[0].message);
}

/// A file may say what it was made for, and need not.
#[test]
fn a_sequence_names_its_log_and_its_mill() {
    let moves = [Move::Spin(true), Move::Swing(Angle::Flat)];
    let text = write_for("ash \"2\"", "powered-165", &moves);
    let (sequence, said) = read_sequence(&Source::new("moves.json", text));
    assert!(said.is_empty());
    let sequence = sequence.unwrap();
    assert_eq!(sequence.log.as_deref(), Some("ash \"2\""));
    assert_eq!(sequence.mill.as_deref(), Some("powered-165"));
    let old = read_sequence(&Source::new("moves.json", write(&moves)))
        .0
        .unwrap();
    assert_eq!((old.log, old.mill), (None, None));
    let told = |sequence: Vec<(Move, _)>| sequence.into_iter().map(|(next, _)| next).collect::<Vec<_>>();
    assert_eq!(told(sequence.moves), moves);
    assert_eq!(told(old.moves), moves);
    let source = Source::new("moves.json", r#"{"log": 3, "mill": ["x"], "moves": []}"#);
    let (sequence, said) = read_sequence(&source);
    assert!(sequence.is_none());
    assert_eq!(
        said.iter().map(|one| one.message.as_str()).collect::<Vec<_>>(),
        [
            "`log` is a name in quotes, not a number",
            "`mill` is a name in quotes, not a list"
        ]
    );
}
