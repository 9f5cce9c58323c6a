//! What a card of a step shows first, and that nothing of it is passed over.

use std::collections::BTreeMap;

use bunkside::view::Subject;

use super::{JOBS, example, file, with_least_time, with_planned};

const STYLE: &str = include_str!("../../src/view/report/page.css");
const SCRIPT: &str = include_str!("../../src/view/report/page.js");

/// The rules for screens of a width, as selector and declarations.
fn rules(media: &str) -> BTreeMap<&'static str, &'static str> {
    let (_, rest) = STYLE.split_once(media).unwrap();
    let (block, _) = rest.split_once("\n}\n").unwrap();
    let lines = block
        .lines()
        .filter_map(|line| line.trim_end_matches('}').split_once('{'));
    lines.collect()
}

/// On a screen of one column a hold has its drawing last, and a cut has it after whatever warns and after the sentence; a card
/// that warns or tells of the pole has all that leads up to it there as well.
#[test]
fn what_warns_and_what_is_to_do_stands_before_the_drawing() {
    let rules = rules("@media screen and (max-width:55.9rem){\n");
    let order = |selector: &str| {
        let (_, order) = rules[selector].split_once("order:").unwrap();
        let digits = order.split([';', '}']).next().unwrap();
        digits.parse::<i32>().unwrap()
    };
    let cut = [
        ".which",
        ".say",
        ".finding",
        ".pole",
        "[data-minds] .lead,[data-minds] .moves",
        ".step>.draw",
    ]
    .map(order);
    assert!(cut.is_sorted() && cut[5] < 0, "{cut:?}");
    assert!(order(".hold>.draw") > 0);
    assert!(
        rules[".tell"].contains("contents"),
        "else they do not stand in one row"
    );
    for name in JOBS {
        with_least_time(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            for card in report.split("<li id=\"step-").skip(1) {
                let warns = card.contains("class=\"finding") || card.contains("class=\"pole\"");
                let pole = card.split_once("<p class=\"lead\">").is_some_and(|(_, rest)| {
                    rest.split("<p class=\"say")
                        .next()
                        .unwrap()
                        .contains("Draw the pole back")
                });
                assert_eq!(card.contains("data-minds=\"\""), warns || pole, "{name}: {card}");
            }
        });
    }
}

/// A sign says that a card goes on below, until its end has been seen; it is looked for when a card is shown, moved or resized.
#[test]
fn a_card_that_goes_on_below_says_so() {
    with_planned(&example("p-07"), |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        let (_, foot) = report.split_once("<div class=\"foot\">").unwrap();
        let (foot, _) = foot.split_once("</div>").unwrap();
        assert!(
            foot.contains("<button type=\"button\" id=\"more\" hidden=\"hidden\">More below"),
            "{foot}"
        );
    });
    let (_, shows) = SCRIPT.split_once("function show(").unwrap();
    let (shows, _) = shows.split_once("function asked").unwrap();
    assert!(shows.contains("hides();"));
    for when in ["scroll", "resize"] {
        assert!(
            SCRIPT.contains(&format!("window.addEventListener(\"{when}\", hides")),
            "{when}"
        );
    }
    let (_, hides) = SCRIPT.split_once("function hides()").unwrap();
    let (hides, _) = hides.split_once("function show").unwrap();
    assert!(
        hides.contains("steps[now]") && hides.contains("foot") && hides.contains("more.hidden = below <")
    );
}

/// All of the caution stands on the first card, on wide screens and on paper; on the cards of a narrow one its first words. What
/// holds for the whole job is one tap away there.
#[test]
fn a_narrow_card_keeps_its_room_for_the_step() {
    let rules = rules("@media screen and (max-width:55.9rem){\n");
    assert!(rules[".js.on .second,.js.on .short-order,.js.on .caution:not(.brief)"].contains("none"));
    assert!(rules[".js.on .brief,.js.on .whole"].contains("block"));
    assert!(STYLE.contains("\n.controls,.printed,.brief,.whole{display:none}\n"));
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            let brief = "<p class=\"caution brief\">Sawing kills. This is a planning aid, not a guard.</p>";
            assert!(report.contains(brief), "{name}");
            let (head, _) = report.split_once("</header>").unwrap();
            let told = head.contains("class=\"second\"") || head.contains("class=\"short-order\"");
            let link = "<a href=\"#setting-up\">All cautions</a>";
            assert_eq!(head.contains(link), told, "{name}");
        });
    }
}

/// Before the first step, once, stands what its drawings show: every sign that they have, and which face a figure is that of.
#[test]
fn signs_are_explained_once_before_the_first_step() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            let (before, steps) = report.split_once("<li id=\"step-1\"").unwrap();
            let (sheet, reading) = before.split_once("<section class=\"reading\"").unwrap();
            assert!(
                !sheet.contains("What the figures on the cards mean"),
                "it needs no room there"
            );
            assert!(reading.contains("What the figures on the cards mean"));
            let (steps, _) = steps.split_once("</main>").unwrap();
            for class in [
                "next",
                "kerf deep",
                "house",
                "blade",
                "kerf way",
                "ghost gone",
                "free",
                "wedge",
            ] {
                let drawn = format!("class=\"{class}\"");
                let (shown, told) = (steps.contains(&drawn), reading.contains(&drawn));
                assert!(told || !shown, "{name}: {class} is not explained");
            }
            let climbs = reading.contains("homebound");
            assert_eq!(climbs, steps.contains("omebound, "), "{name}");
        });
    }
}

/// The whole log is one tap away from every card, which stays where it is; and each chart has a heading of its own.
#[test]
fn the_whole_log_is_a_tap_away() {
    with_planned(&example("g-04"), |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        let (_, controls) = report.split_once("<nav class=\"controls\"").unwrap();
        let (controls, _) = controls.split_once("</nav>").unwrap();
        assert!(controls.contains("<a href=\"#whole\">Whole log</a>"));
        assert!(report.contains("<h2 id=\"whole\">The whole log</h2>"));
        assert!(report.contains("<h2>How many columns could come off</h2>"));
        assert!(SCRIPT.contains("if (location.hash === \"#whole\") { return now; }"));
    });
}

/// What the lines of a time line mean stands within the drawing, 1000 wide: a letter takes 0.56 of its height.
#[test]
fn the_signs_of_a_time_line_stand_within_it() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let drawn = file(&Subject::planned(planned), "timeline.svg");
            let mut signs = 0;
            for sign in drawn.split("<text class=\"small\" x=\"").skip(1) {
                let (x, rest) = sign.split_once("\" y=\"42\">").unwrap_or(("", ""));
                let Ok(x) = x.parse::<f64>() else { continue };
                let (words, _) = rest.split_once('<').unwrap();
                let end = x + 0.56 * 28.0 * words.len() as f64;
                assert!(end <= 1_000.0 - 20.0, "{name}: {words} ends at {end}");
                signs += 1;
            }
            assert!(signs >= 5, "{name}: {signs}");
        });
    }
}
