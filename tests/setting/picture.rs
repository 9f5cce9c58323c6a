//! The picture of the setting sheet and its section in the report.

use bunkside::job::Job;
use bunkside::measure::System;
use bunkside::trace::Trace;
use bunkside::view::{Subject, pictures};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Move;
use bunkside_protocol::mill::Side;

use super::{example, job};

/// One of the files of a log on which nothing is sawn yet.
fn drawn(job: &Job, name: &str) -> String {
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let trace = Trace::run(&setup, &[Move::Spin(true)]);
    let subject = Subject {
        setup: &setup,
        trace: &trace,
        log: &job.name,
        mill: &job.mill_name,
        system: System::of(job.inches),
        job: None,
        plan: None,
        order: None,
    };
    let files = pictures(&subject);
    files.into_iter().find(|(known, _)| *known == name).unwrap().1
}

/// What stands in a drawing, in its order.
fn lettering(drawing: &str) -> Vec<&str> {
    let texts = drawing.split("<text").skip(1);
    texts.map(|text| text.split(['>', '<']).nth(1).unwrap()).collect()
}

/// Where every text begins or ends across, an average letter half as wide as its size.
fn spans(drawing: &str) -> Vec<(f64, f64, String)> {
    let value = |tag: &str, key: &str| -> f64 {
        let rest = tag.split(&format!(" {key}=\"")).nth(1).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    };
    let mut spans = Vec::new();
    let mut shift = 0.0;
    for piece in drawing.split('<').skip(1) {
        if let Some(by) = piece.strip_prefix("g transform=\"translate(") {
            shift = by.split([' ', ')']).next().unwrap().parse().unwrap();
        }
        let Some(text) = piece.strip_prefix("text") else {
            continue;
        };
        let (tag, words) = text.split_once('>').unwrap();
        let size = match tag {
            tag if tag.contains("small") => 28.0,
            tag if tag.contains("tiny") => 24.0,
            _ => 34.0,
        };
        let width = 0.5 * size * words.chars().map(|_| 1.0).sum::<f64>();
        let x = value(tag, "x") + shift;
        let start = match tag {
            tag if tag.contains(" end\"") => x - width,
            tag if tag.contains(" mid\"") => x - width / 2.0,
            _ => x,
        };
        spans.push((start, start + width, words.to_owned()));
    }
    spans
}

/// The figures of `a_tapered_log_is_packed_by_half_its_taper`, rounded as a tape shows them.
#[test]
fn every_bunk_carries_its_figure() {
    let job = job([400, 300], "", "", &[900, 3_000, 5_100]);
    let picture = drawn(&job, "setting.svg");
    let words = lettering(&picture);
    for expected in [
        "bunk 1",
        "0.3 m",
        "bunk 2",
        "2.4 m",
        "bunk 3",
        "4.5 m",
        "200",
        "Bunk 1",
        "pack",
        "3.1",
        "Bunk 2",
        "open; pack, wedge last",
        "25",
        "Bunk 3",
        "46.9",
    ] {
        assert!(words.contains(&expected), "{expected}: {words:?}");
    }
    assert!(words.contains(&"bearers above the bed: 3.1 at bunk 1, 46.9 at bunk 3"));
    assert!(
        !words.iter().any(|words| words.starts_with("From above")),
        "nothing goes sideways"
    );
    let side = drawn(&job, "side.svg");
    let words = lettering(&side);
    for expected in ["pack 3.1 mm", "25 mm open", "pack 46.9 mm"] {
        assert!(words.contains(&expected), "{expected}: {words:?}");
    }
}

/// A bunk lower than the bed takes a thicker pack than its bearer is high; the picture says so, and how far off the next log waits.
#[test]
fn a_bunk_off_the_bed_and_the_clear_distance_are_told() {
    let drawn = drawn(&example("e-09"), "setting.svg");
    let words = lettering(&drawn);
    let job = example("e-09");
    let low = job.mill.bunks.iter().filter(|bunk| bunk.top.as_um() != 0).count();
    let told = words
        .iter()
        .any(|words| words.starts_with("bunk tops under packs: "));
    assert_eq!(told, low > 0, "{words:?}");
    assert!(words.iter().any(|words| words.ends_with(" clear")), "{words:?}");
}

/// The figures of `a_swept_log_is_shifted_until_its_ends_lie_on_the_line`.
#[test]
fn what_goes_sideways_is_drawn_from_above() {
    let sweep = "sweep = { bow = 40, toward = \"exit\" }";
    let swept = job([300, 300], sweep, "", &[900, 4_200]);
    let picture = drawn(&swept, "setting.svg");
    let words = lettering(&picture);
    for expected in [
        "From above: end centres off the bed's centre line",
        "To move from where the log lies centred on its bunks:",
        "near end 7.5 mm to the exit side",
        "far end 37.5 mm to the exit side",
        "the log's lowest line is",
        "9.4 mm to exit side",
        "30 mm to exit side",
    ] {
        assert!(words.contains(&expected), "{expected}: {words:?}");
    }
}

/// Four bunks stand two by two, five three and two: none alone; and the figure of the clear distance has no line through it.
#[test]
fn no_bunk_stands_alone_in_its_row() {
    for (bunks, rows) in [
        (&[700, 1_700, 2_700, 3_700][..], vec![2, 2]),
        (&[700, 1_500, 2_300, 3_100, 3_900][..], vec![3, 2]),
        (&[700, 2_300, 3_900][..], vec![3]),
    ] {
        let picture = drawn(&job([300, 300], "", "", bunks), "setting.svg");
        let mut heights = std::collections::BTreeMap::new();
        for cell in picture
            .split("<text class=\"\" x=\"0\" y=\"36\">Bunk ")
            .map(|before| before.rsplit("<g transform=\"translate(").next().unwrap())
        {
            let Some((place, _)) = cell.split_once(")\">") else {
                continue;
            };
            let (_, y) = place.split_once(' ').unwrap();
            if cell.len() < place.len() + 8 {
                *heights.entry(y.parse::<f64>().unwrap() as i64).or_insert(0) += 1;
            }
        }
        assert_eq!(heights.into_values().collect::<Vec<_>>(), rows);
        let (before, rest) = picture.split_once(" from the centre line<").unwrap();
        let foot: f64 = before
            .rsplit(" y=\"")
            .next()
            .unwrap()
            .split('"')
            .next()
            .unwrap()
            .parse()
            .unwrap();
        let _ = rest;
        let line = before.rsplit("class=\"centre\" d=\"M").next().unwrap();
        let top: f64 = line.split([',', 'V']).nth(1).unwrap().parse().unwrap();
        assert!(
            top > foot,
            "the centre line begins below the figure: {top} {foot}"
        );
    }
}

#[test]
fn what_cannot_be_packed_is_said_in_picture_and_report() {
    let job = job([400, 300], "", "level = \"top\"", &[900, 3_000, 5_100]);
    let picture = drawn(&job, "setting.svg");
    assert!(lettering(&picture).contains(&"too high to pack"));
    let report = drawn(&job, "report.html").replace('\u{a0}', " ");
    assert!(report.contains(
        "<p class=\"flaw\">The log cannot be set so: it lies 93.8 mm (3 11/16 in) above a bunk, and 60 mm (2 11/32 in) can be packed.</p>"
    ));
}

/// No lettering runs out of the drawing, on either hand.
#[test]
fn lettering_stays_inside() {
    for name in ["g-04", "a-02", "oak-14", "b-01", "p-07"] {
        for hand in [Side::Left, Side::Right] {
            let mut job = example(name);
            job.mill.entry = hand;
            for (start, end, words) in spans(&drawn(&job, "setting.svg")) {
                assert!(start >= 0.0 && end <= 1_000.0, "{name}: {words} {start} {end}");
            }
        }
    }
}

/// No bunk is drawn beyond the frame: the mills have some that lie far beyond a short log's ends.
#[test]
fn bunks_stay_inside() {
    for name in ["g-04", "a-02", "oak-14", "b-01", "p-07", "e-09"] {
        let job = example(name);
        for picture in ["setting.svg", "side.svg"] {
            let drawing = drawn(&job, picture);
            let blocks = drawing
                .split("<path ")
                .skip(1)
                .map(|path| path.split_once("/>").unwrap().0);
            let blocks: Vec<&str> = blocks
                .filter(|path| path.contains("\"timber\"") || path.contains("\"steel\""))
                .collect();
            assert!(blocks.len() >= 2, "{name}, {picture}");
            for block in blocks {
                let points = block.split("d=\"").nth(1).unwrap().split('"').next().unwrap();
                let across = points.split(['M', 'H']).skip(1);
                let across = across.filter_map(|at| at.split([',', 'V', 'Z']).next()?.parse::<f64>().ok());
                let across: Vec<f64> = across.collect();
                assert!(across.len() >= 3, "{block}");
                let inside = |x: &f64| (0.0..=1_000.0).contains(x);
                assert!(across.iter().all(inside), "{name}, {picture}: {block}");
            }
        }
    }
}

#[test]
fn the_picture_of_a_hand_mill_stays_as_it_is() {
    let job = example("p-07");
    insta::assert_snapshot!("setting", drawn(&job, "setting.svg").replace("><", ">\n<"));
}
