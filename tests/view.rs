//! Pictures and report of every example: whole, self-contained, the same every time, and true to the sequence.

mod between;
mod cards;
mod hands;
mod keys;
mod markup;
mod paper;
mod people;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::measure::System;
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::{Trace, Traced};
use bunkside::view::{FILES, Subject, pictures, sentences};
use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Cut, Length, Move, Position, Speed, Targets};
use markup::{Element, read};

const JOBS: [&str; 9] = [
    "a-02", "b-01", "d-18", "e-09", "g-04", "l-21", "oak-14", "p-07", "s-11",
];

/// No report of 300 moves may be larger, and none three tenths larger at all: textures are lines, which a page pays for and its
/// print gains by.
const REPORT_BYTES_MAX: usize = 512_000;

fn example(name: &str) -> Job {
    let load = |path: &Path| fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
    let path = format!("examples/jobs/{name}.toml");
    let text = load(Path::new(&path)).unwrap();
    let outcome = job::read(&Source::new(path, text), &load);
    outcome
        .job
        .clone()
        .unwrap_or_else(|| panic!("{}", outcome.rendered()))
}

/// Plans a job and hands it on.
fn with_planned<T>(job: &Job, use_it: impl FnOnce(&Planned<'_>) -> T) -> T {
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(job, &setup).unwrap();
    use_it(&Planned::new(job, &setup, &plan).unwrap())
}

/// The same in the order that takes the least time.
fn with_least_time<T>(job: &Job, use_it: impl FnOnce(&Planned<'_>) -> T) -> T {
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(job, &setup).unwrap();
    use_it(&Planned::in_least_time(job, &setup, &plan).unwrap())
}

/// One of the files of a subject.
fn file(subject: &Subject<'_>, name: &str) -> String {
    let found = pictures(subject).into_iter().find(|(known, _)| *known == name);
    found.unwrap().1
}

/// Holds a file against what every file must keep: well-formed, nothing from outside, every reference met once.
fn check(name: &str, content: &str) -> Vec<Element> {
    let elements = read(content).unwrap_or_else(|error| panic!("{name}: {error}"));
    let bare = content.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    for outside in [
        "http", "//", "@import", "src=", "data:", "<base", "<link", "<iframe",
    ] {
        assert!(!bare.contains(outside), "{name} holds {outside}");
    }
    let mut ids = BTreeSet::new();
    for id in elements.iter().filter_map(|element| element.attribute("id")) {
        assert!(ids.insert(id.to_owned()), "{name}: two of {id}");
    }
    let links = elements.iter().filter_map(|element| element.attribute("href"));
    let fills = bare
        .split("url(")
        .skip(1)
        .filter_map(|rest| rest.split(')').next());
    for link in links.chain(fills) {
        let id = link
            .strip_prefix('#')
            .unwrap_or_else(|| panic!("{name} refers to {link}"));
        assert!(ids.contains(id), "{name}: no {id}");
    }
    assert!(
        !content.contains("NaN") && !content.contains("inf"),
        "{name}: a number is none"
    );
    elements
}

fn of_class<'e>(elements: &'e [Element], class: &str) -> Vec<&'e Element> {
    let is = |element: &&Element| {
        element
            .attribute("class")
            .is_some_and(|classes| classes.split(' ').any(|one| one == class))
    };
    elements.iter().filter(is).collect()
}

#[test]
fn every_file_stands_alone_and_comes_out_the_same() {
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let subject = Subject::planned(planned);
            let files = pictures(&subject);
            let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
            assert_eq!(names, FILES);
            for (file, content) in &files {
                check(&format!("{name}/{file}"), content);
                assert!(content.contains(&job.name), "{name}/{file} does not name its log");
            }
            assert_eq!(files, pictures(&subject), "{name}");
        });
    }
}

#[test]
fn the_report_holds_every_step_without_a_script() {
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let subject = Subject::planned(planned);
            let report = file(&subject, "report.html").replace('\u{a0}', " ");
            let elements = check(name, &report);
            let said = sentences(&subject);
            let steps = said.lines().count();
            assert_eq!(
                of_class(&elements, "step").len(),
                steps + 1,
                "{name}: setting up, then the steps"
            );
            assert_eq!(of_class(&elements, "setup").len(), 1, "{name}");
            for line in said.lines() {
                assert!(
                    report.contains(&format!("<p class=\"say\">{line}</p>")),
                    "{name}: {line}"
                );
            }
            let is = |wanted: fn(&Move) -> bool| planned.moves.iter().filter(|told| wanted(told)).count();
            assert_eq!(
                of_class(&elements, "hold").len(),
                is(|told| matches!(told, Move::Hold(_))),
                "{name}"
            );
            let cuts = of_class(&elements, "cut").len();
            assert!(
                cuts > 0 && cuts <= is(|told| matches!(told, Move::Cut(_))),
                "{name}: {cuts}"
            );
            assert_eq!(
                of_class(&elements, "frame").len(),
                steps,
                "{name}: a drawing each"
            );
            let sawn = |traced: &&Traced| traced.step.cut.is_some_and(|facts| facts.met.is_some());
            let why = of_class(&elements, "why").len();
            let sawn = planned.trace.moves.iter().filter(sawn).count();
            // A carriage that is pushed never climbs: told once for the flat blade and once for the upright one.
            let told = if planned.setup.mill.drive.is_hand() {
                2
            } else {
                sawn
            };
            assert_eq!(why, told, "{name}: each cut in wood tells why it runs this way");
            let findings = of_class(&elements, "finding").len();
            assert_eq!(
                findings,
                planned.trace.findings.len(),
                "{name}: each finding where it belongs"
            );
            assert!(report.contains(bunkside::caution::CAUTION), "{name}: cautions");
        });
    }
}

/// Every cut of the page tells its numbers and the feed of its move, and says of a slower one what holds it down.
#[test]
fn every_cut_tells_its_feed() {
    let mut slow = 0;
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let subject = Subject::planned(planned);
            let report = file(&subject, "report.html").replace('\u{a0}', " ");
            let most = planned.setup.mill.power.feed_max;
            let mut numbers = (1..).zip(
                planned
                    .moves
                    .iter()
                    .enumerate()
                    .filter(|(_, told)| matches!(told, Move::Cut(_))),
            );
            for step in report.split("<li id=\"step-").skip(1) {
                let step = step.split("</li>\n<li id=").next().unwrap();
                if !step.lines().next().unwrap().contains("step cut") {
                    assert!(!step.contains("class=\"feed"), "{name}: a hold feeds nothing");
                    continue;
                }
                let (cut, (at, told)) = numbers
                    .find(|(cut, (at, _))| step.contains(&format!(": move {at}, cut {cut}</p>")))
                    .unwrap_or_else(|| panic!("{name}: {step}"));
                let Move::Cut(told) = told else { unreachable!() };
                let feed = subject.system.speed(told.speed);
                let held = told.speed < most;
                let most = if held { "at most " } else { "" };
                assert!(
                    step.contains(&format!(">Feed {most}{feed} (")),
                    "{name}, move {at}, cut {cut}: {feed}"
                );
                assert_eq!(step.contains("class=\"feed slow\""), held, "{name}, move {at}");
                assert_eq!(step.contains(", the mill's fastest."), !held, "{name}, move {at}");
                if held && step.contains("the mill feeds up to") {
                    let by = step.contains(", but rule ") || step.contains("and the rules allow");
                    assert!(by, "{name}, move {at}: {step}");
                    slow += 1;
                }
            }
        });
    }
    assert!(slow > 4, "{slow}");
}

/// The page asks for a second person where, and only where, the rules warn that one has to hold a piece down.
#[test]
fn who_works_alone_is_told_of_a_second_person() {
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let warned = planned.trace.findings.iter();
            let warned = warned.filter(|one| one.rule == "release-climb").count();
            let subject = Subject::planned(planned);
            let (report, side) = (file(&subject, "report.html"), file(&subject, "side.svg"));
            let told = format!("Needs a second person: at {warned} cut");
            assert_eq!(report.contains(&told), warned > 0, "{name}");
            assert_eq!(report.contains("Needs a second person"), warned > 0, "{name}");
            let held = format!("near end: a second person at {warned} cut");
            assert_eq!(side.contains(&held), warned > 0, "{name}");
        });
    }
}

/// Every stroke that takes wood shows blade, kerf and an arrow head along the log.
#[test]
fn every_cut_is_drawn_as_one() {
    let job = example("p-07");
    with_planned(&job, |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        for step in report.split("<li id=\"step-").skip(1) {
            let step = step.split("</svg>\n").next().unwrap();
            let head = step.lines().next().unwrap();
            let cut = head.contains("step cut");
            for mark in [
                "class=\"kerf\"",
                "class=\"flow\"",
                "class=\"kerf deep\"",
                "class=\"house\"",
            ] {
                let drawn = step.split("<div class=\"tell\">").next().unwrap().contains(mark);
                assert_eq!(drawn, cut, "{head}: {mark}");
            }
        }
    });
}

#[test]
fn every_piece_keeps_its_number() {
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let subject = Subject::planned(planned);
            let (ends, line) = (file(&subject, "ends.svg"), file(&subject, "timeline.svg"));
            let count: usize = planned.trace.moves.iter().map(|traced| traced.freed.len()).sum();
            for serial in 1..=count {
                for (file, drawn) in [("ends", &ends), ("timeline", &line)] {
                    assert!(
                        drawn.contains(&format!(">{serial}</text>")),
                        "{name}/{file}: no {serial}"
                    );
                }
            }
        });
    }
}

/// The largest example is denser than most: 300 moves of it, and the whole of it, must stay small.
#[test]
fn a_long_report_stays_small() {
    let job = example("b-01");
    with_planned(&job, |planned| {
        assert!(planned.moves.len() > 300, "{}", planned.moves.len());
        let trace = Trace::run(planned.setup, &planned.moves[..300]);
        let some = Subject {
            trace: &trace,
            ..Subject::planned(planned)
        };
        for (subject, most) in [
            (some, REPORT_BYTES_MAX),
            (Subject::planned(planned), REPORT_BYTES_MAX * 13 / 10),
        ] {
            let report = file(&subject, "report.html");
            assert!(report.len() < most, "{} bytes", report.len());
        }
    });
}

#[test]
fn a_strangers_sequence_is_drawn_without_names() {
    let job = example("g-04");
    with_planned(&job, |planned| {
        let subject = Subject {
            job: None,
            plan: None,
            order: None,
            ..Subject::planned(planned)
        };
        let report = file(&subject, "report.html").replace('\u{a0}', " ");
        check("stranger", &report);
        assert!(!report.contains("deck"));
        assert!(
            report.contains("Frees piece 11: board, 75 by 50 mm, 3.66 m; about 8 kg."),
            "four sawn edges are a board"
        );
        assert!(report.contains("Frees piece 7: board with wane, 140 by 50 mm, 3.66 m; about"));
        assert!(report.contains("Frees piece 3, with a bark edge; about"));
    });
}

#[test]
fn names_cannot_break_a_page() {
    let mut job = example("g-04");
    let evil = "</title><script>\"&'\u{7}";
    evil.clone_into(&mut job.name);
    for board in &mut job.boards {
        evil.clone_into(&mut board.name);
    }
    with_planned(&job, |planned| {
        for (name, content) in pictures(&Subject::planned(planned)) {
            let elements = read(&content).unwrap_or_else(|error| panic!("{name}: {error}"));
            let scripts = elements.iter().filter(|element| element.name == "script").count();
            assert_eq!(scripts, usize::from(name == "report.html"), "{name}");
        }
    });
}

/// A cut that nobody can judge is shown as such, and nothing after it.
#[test]
fn what_is_not_judged_is_said() {
    let job = example("g-04");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let cut = Cut {
        to: Targets {
            travel: Some(Position::mm(4_500)),
            across: Some(Position::mm(10)),
            height: None,
        },
        speed: Speed::mm_per_s(200),
        feed: None,
        release: false,
    };
    let start = Targets::corner(Position::mm(0), Position::mm(200));
    let moves = [
        Move::Spin(true),
        Move::Go(start),
        Move::Cut(cut),
        Move::Spin(false),
    ];
    let trace = Trace::run(&setup, &moves);
    let subject = Subject {
        setup: &setup,
        trace: &trace,
        log: "X",
        mill: "unknown",
        system: System::Inches,
        job: None,
        plan: None,
        order: None,
    };
    for (name, content) in pictures(&subject) {
        check(name, &content);
    }
    let report = file(&subject, "report.html");
    assert!(report.contains("cannot be told"));
    assert!(report.contains("class=\"finding refuse\""));
    let none = Trace::run(&setup, &[]);
    for (name, content) in pictures(&Subject {
        trace: &none,
        ..subject
    }) {
        check(name, &content);
    }
}

/// Where neither end is the worst place, a third section shows it; a log that bows is shown where it bows most.
#[test]
fn the_worst_place_is_drawn() {
    let heads = |job: &Job| -> Vec<String> {
        with_planned(job, |planned| {
            let ends = file(&Subject::planned(planned), "ends.svg");
            let heads = ends.split("<text class=\"head\"").skip(1);
            let words = |text: &str| text.split(['>', '<']).nth(1).unwrap().to_owned();
            heads.map(words).collect()
        })
    };
    assert_eq!(
        heads(&example("b-01")),
        ["Near end, the tightest place", "Far end"]
    );
    assert_eq!(
        heads(&example("g-04")),
        [
            "Near end",
            "The tightest place, 1.14 m from the near end",
            "Far end"
        ],
        "the board at the small end is short"
    );
    assert_eq!(
        heads(&example("a-02"))[1],
        "Where it bows most, 1.57 m from the near end"
    );
}

/// With the entry side on the right hand, everything stands the other way round.
#[test]
fn the_entry_side_is_drawn_where_it_is() {
    let mut job = example("g-04");
    let placed = |job: &Job| {
        with_planned(job, |planned| {
            let ends = file(&Subject::planned(planned), "ends.svg");
            let text = ends
                .split("<text")
                .find(|text| text.ends_with(">7</text>") || text.contains(">7</text>"));
            let x = text.unwrap().split("x=\"").nth(1).unwrap();
            x.split('"').next().unwrap().parse::<f64>().unwrap()
        })
    };
    let left = placed(&job);
    job.mill.entry = Side::Right;
    let right = placed(&job);
    assert!((left + right - 1_000.0).abs() < 0.3, "{left} {right}");
}

/// A carriage that is pushed is not pushed from one end of the rails; one that is driven is watched from there.
#[test]
fn who_pushes_the_carriage_is_not_sent_to_its_end() {
    for (name, pushed) in [("p-07", true), ("g-04", false)] {
        let job = example(name);
        with_planned(&job, |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            for (words, expected) in [
                ("Push from where", pushed),
                ("near end: a second person at", pushed),
                ("Stand at the near end", !pushed),
                ("near end: operator", !pushed),
            ] {
                assert_eq!(report.contains(words), expected, "{name}: {words}");
            }
        });
    }
}

#[test]
fn a_side_view_and_the_sentences_stay_as_they_are() {
    let job = example("p-07");
    with_planned(&job, |planned| {
        let subject = Subject::planned(planned);
        insta::assert_snapshot!("side", file(&subject, "side.svg").replace("><", ">\n<"));
    });
    let job = example("g-04");
    with_planned(&job, |planned| {
        insta::assert_snapshot!("sentences", sentences(&Subject::planned(planned)));
    });
    assert_eq!(job.setting.offset, Length::ZERO);
}
