//! The keys of the pictures, and what they leave out.

use bunkside::view::Subject;

use super::{JOBS, example, file, with_planned};

/// What stands of a drawing after its last group: the key of the end sections.
#[test]
fn the_key_of_the_ends_shows_its_textures() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let ends = file(&Subject::planned(planned), "ends.svg");
            let (_, key) = ends.rsplit_once("<g transform=\"translate(0 ").unwrap();
            let (board, rest) = key.split_once(">board<").unwrap();
            assert!(
                !board.contains("class=\"dot\"") && !board.contains("class=\"hair\""),
                "{name}"
            );
            let (slab, _) = rest.split_once(">slab or waste<").unwrap();
            assert!(
                slab.contains("class=\"dot\""),
                "{name}: an empty box means two things"
            );
            assert_eq!(
                slab.contains(">boards released together<"),
                slab.contains("class=\"hair\""),
                "{name}"
            );
        });
    }
}

/// One hatching means one thing: on a side view packs are hatched one way, where the blade runs another.
#[test]
fn packs_are_not_drawn_like_the_way_of_the_blade() {
    with_planned(&example("p-07"), |planned| {
        let side = file(&Subject::planned(planned), "side.svg");
        let (_, above) = side.split_once("From above").unwrap();
        let (above, key) = above.split_once(">where the blade runs<").unwrap();
        assert!(above.contains("class=\"swept\"") && !above.contains("class=\"timber\""));
        assert!(key.contains("class=\"timber\""));
        // Of its row nothing runs out of the drawing.
        let (_, last) = side.split_once(">the teeth throw<").unwrap();
        let x: f64 = last
            .split_once(" x=\"")
            .unwrap()
            .1
            .split('"')
            .next()
            .unwrap()
            .parse()
            .unwrap();
        assert!(x + 13.0 * 0.56 * 28.0 < 1_000.0, "{x}");
    });
}

/// A time line has climbing in its key where the mill climbs, and nowhere else; what stands still is drawn otherwise than an empty
/// run.
#[test]
fn a_time_line_explains_what_it_has() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let line = file(&Subject::planned(planned), "timeline.svg");
            let climbs = !planned.setup.mill.drive.is_hand();
            assert_eq!(line.contains(">climbing<"), climbs, "{name}");
            assert_eq!(line.contains("class=\"climb\""), climbs, "{name}");
            assert!(line.contains(">set, wait<"), "{name}");
            let (key, rows) = line.split_once("<g transform").unwrap();
            assert!(
                key.contains("class=\"stands\"") && rows.contains("class=\"stands\""),
                "{name}"
            );
        });
    }
}

/// Cuts without a bar are named, with the reason: those that straighten a face.
#[test]
fn cuts_without_a_bar_are_named() {
    for (name, straightens) in [("e-09", true), ("g-04", false)] {
        with_planned(&example(name), |planned| {
            let subject = Subject::planned(planned);
            let margins = file(&subject, "margins.svg");
            assert_eq!(margins.contains("Not shown: cuts "), straightens, "{name}");
            let report = file(&subject, "report.html");
            let told = "(straightening a face, where no wood is known of).";
            assert_eq!(report.contains(told), straightens, "{name}");
        });
    }
}
