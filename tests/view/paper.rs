//! The page as it is printed.

use bunkside::view::Subject;

use super::{JOBS, example, file, with_planned};

/// Eight points is a newspaper's small print; common practice, no source.
#[test]
fn no_text_of_the_page_is_printed_smaller_than_can_be_read() {
    let style = include_str!("../../src/view/report/page.css");
    let (_, print) = style.split_once("@media print").unwrap();
    let hidden = print.split('}').filter(|rule| rule.contains("display:none"));
    for rule in hidden {
        for told in [".lead", ".moves", ".tell", ".frame text", ".now", ".printed"] {
            assert!(
                !rule.contains(told),
                "paper must tell every move and figure: {rule}"
            );
        }
    }
    let sizes = print.split("font-size:").skip(1).map(|rest| {
        let (size, _) = rest.split_once("pt").unwrap();
        size.parse::<f64>().unwrap()
    });
    let sizes: Vec<f64> = sizes.collect();
    assert!(sizes.len() > 10, "{sizes:?}");
    assert!(sizes.iter().all(|size| *size >= 7.5), "{sizes:?}");
    // A drawing of a step is 84 % of a column wide, four of which with 4 mm between them stand on A4 paper: 1000 units.
    let unit = 0.84 * (192.0 - 3.0 * 4.0) / 4.0 / 1_000.0 * 72.0 / 25.4;
    let frame = print
        .split('}')
        .filter(|rule| rule.contains("font:") && rule.contains("px "));
    let sizes: Vec<f64> = frame
        .map(|rule| {
            let before = rule.split_once("px ").unwrap().0;
            let size = before.rsplit([':', ' ']).next().unwrap();
            size.parse::<f64>().unwrap() * unit
        })
        .collect();
    assert_eq!(sizes.len(), 2, "figures, and stroke with feed: {sizes:?}");
    assert!(sizes.iter().all(|size| *size >= 7.5), "{sizes:?}");
}

/// On paper stroke and feed stand over every drawing of a cut: those of its sentence, and none over a hold.
#[test]
fn every_drawing_of_a_cut_prints_its_stroke() {
    for name in JOBS {
        with_planned(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            for card in report.split("<li id=\"step-").skip(1) {
                let (drawing, told) = card.split_once("<div class=\"tell\">").unwrap();
                let over = drawing
                    .split_once("<use class=\"printed\" href=\"#")
                    .map(|(_, over)| {
                        let id = over.split('"').next().unwrap();
                        let (_, shared) = report.split_once(&format!("<g id=\"{id}\">")).unwrap();
                        let (_, words) = shared.split_once("<text class=\"now over\"").unwrap();
                        words.split(['>', '<']).nth(1).unwrap().to_owned()
                    });
                assert_eq!(over.is_some(), card.contains("class=\"step cut\""), "{name}");
                let told = told.to_lowercase();
                assert!(over.is_none_or(|words| told.contains(&words)), "{name}: {card}");
            }
        });
    }
}
