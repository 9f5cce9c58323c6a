//! What is somebody's to do, and where the one stands who does it.

use bunkside::view::Subject;

use super::{JOBS, example, file, with_planned};

/// A driven carriage runs by itself: of its moves only what is cranked has a box to tick. A carriage that is pushed has one for
/// every move.
#[test]
fn boxes_to_tick_stand_where_somebody_acts() {
    let mut cranked = example("g-04");
    cranked.mill.height_setting = example("p-07").mill.height_setting;
    with_planned(&cranked, |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        let (mut ticked, mut driven) = (0, 0);
        for list in report.split("<ul class=\"ticks moves\">").skip(1) {
            let (list, _) = list.split_once("</ul>").unwrap();
            for line in list.lines().filter(|line| line.starts_with("<li")) {
                let box_stands = line.contains("checkbox");
                assert_eq!(box_stands, line.contains(", at both ends"), "{line}");
                assert_ne!(box_stands, line.starts_with("<li class=\"driven\">"), "{line}");
                ticked += usize::from(box_stands);
                driven += usize::from(!box_stands);
            }
        }
        assert!(ticked > 2 && driven > 20, "{ticked} {driven}");
    });
    with_planned(&example("p-07"), |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        assert!(!report.contains("<li class=\"driven\">"));
    });
    with_planned(&example("b-01"), |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        assert!(!report.contains("ticks moves"));
    });
}

/// Sheet, cards and side view say where the one stands who pushes, and that it is common practice; a driven carriage says nothing.
#[test]
fn whoever_pushes_is_told_where_to_stand() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let subject = Subject::planned(planned);
            let report = file(&subject, "report.html").replace('\u{a0}', " ");
            let (sheet, cards) = report.split_once("<li id=\"step-1\"").unwrap();
            let hand = planned.setup.mill.drive.is_hand();
            let told = "Common practice, no source: behind it as it runs, on the exit side; out of the blade";
            assert_eq!(sheet.contains(told), hand, "{name}");
            let told = |end: &str| {
                format!(
                    "common practice: behind the carriage as it runs, so towards the {end} end, on the exit side (right, seen from \
                     the near end), out of the blade"
                )
            };
            let told = cards.matches(&told("near")).count() + cards.matches(&told("far")).count();
            assert_eq!(told > 0, hand, "{name}");
            let push = cards.matches("<p class=\"stand\">Push from where").count();
            assert_eq!(told, push, "on every card: {name}");
            let side = file(&subject, "side.svg");
            assert_eq!(
                side.contains("far end: nobody<"),
                !hand,
                "he stands there homebound: {name}"
            );
            assert_eq!(
                side.contains("whoever pushes: behind the carriage"),
                hand,
                "{name}"
            );
        });
    }
}

/// Before the first cut the dogs are open: they are closed, not shifted.
#[test]
fn dogs_that_are_open_are_only_closed() {
    with_planned(&example("p-07"), |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        let (first, _) = report.split_once("<li id=\"step-2\"").unwrap();
        assert!(first.contains("Close the dogs on the log, as the setting sheet has them."));
        assert!(!first.contains("shift them"));
    });
}

/// Patterns are printed as a picture for each place they are used at; no drawing has one.
#[test]
fn textures_are_lines() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let subject = Subject::planned(planned);
            for picture in ["ends.svg", "setting.svg", "timeline.svg", "report.html"] {
                let drawn = file(&subject, picture);
                assert!(
                    !drawn.contains("<pattern") && !drawn.contains("fill:url("),
                    "{name} {picture}"
                );
                assert!(drawn.contains("class=\"dot\"") || picture != "ends.svg", "{name}");
            }
        });
    }
}
