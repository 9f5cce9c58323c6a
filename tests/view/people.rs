//! What the pictures tell whoever stands at the mill.

use bunkside::view::Subject;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Move, Stroke};

use super::{example, file, with_least_time, with_planned};

/// 1 m clear of the blade, which comes 0.51 m past the near end, and of its line: in the words of every card as in the drawing.
#[test]
fn words_and_drawing_put_the_second_person_at_one_place() {
    with_planned(&example("p-07"), |planned| {
        let subject = Subject::planned(planned);
        let report = file(&subject, "report.html").replace('\u{a0}', " ");
        let words = "from behind the carriage, 1.6 m or more short of the near end, away from the log, where the blade comes 0.51 m, and 1.2 m or more to the exit side";
        assert_eq!(report.matches(words).count(), 1, "in full where it is told first");
        let (before, rest) = report.split_once(words).unwrap();
        let (_, first) = before.rsplit_once("<li id=\"step-").unwrap();
        let (first, _) = first.split_once('"').unwrap();
        let words = format!(
            "with the pole (3.0 m or longer), never by hand, as at step {first}: 1.6 m or more short of the near end, 1.2 m or more to the exit side"
        );
        assert_eq!(rest.matches(&words).count(), 6);
        let side = file(&subject, "side.svg");
        for told in [
            "second person, or further out",
            ">1.6 m<",
            ">1.2 m<",
            ">thrown<",
            ">pole, 3.0 m or longer<",
            ">where the blade runs<",
            ">the teeth throw<",
            ">second person<",
        ] {
            assert!(side.contains(told), "{told}");
        }
    });
    with_planned(&example("g-04"), |planned| {
        assert!(!file(&Subject::planned(planned), "side.svg").contains("From above"));
    });
}

/// The card says when the pole is laid on and when it is drawn back, and the card after it has that to tick, and no other:
/// a hold here, since the blade is stopped for a crank before most cuts anyway; where it is a cut, what lies there is told too.
#[test]
fn a_card_says_when_the_pole_is_drawn_back() {
    with_least_time(&example("p-07"), |planned| {
        let report = file(&Subject::planned(planned), "report.html").replace('\u{a0}', " ");
        let cards: Vec<&str> = report.split("<li id=\"step-").skip(1).collect();
        let mut held = false;
        let (mut seen, mut cut_beside) = (0, 0);
        for card in cards {
            let back = card.find("Draw the pole back from the piece");
            assert_eq!(back.is_some(), held, "{card}");
            let cut = !card.contains("\">Hold: ");
            let stays = "before the carriage comes back. The piece stays where it lies: nobody goes near it.";
            assert_eq!(card.contains(stays), held && cut, "{card}");
            if held && cut {
                cut_beside += 1;
                assert!(back < card.find("Raise to"), "before anything else: {card}");
                assert!(card.contains(" lies loose on or beside the log: nobody goes near it until"));
            }
            let (on, off) = (
                "only when all of the carriage has gone 1.5 m along the log",
                "draw the pole back before the carriage comes back",
            );
            held = card.contains("A second person holds");
            assert_eq!(card.contains(on), held);
            assert_eq!(card.contains(off), held);
            seen += usize::from(held);
        }
        assert_eq!((seen, cut_beside), (7, 0));
    });
}

/// Every cut that is made while pieces lie there says which, and no other does.
#[test]
fn a_card_says_what_lies_loose_while_it_cuts() {
    for name in ["p-07", "g-04", "a-02"] {
        with_least_time(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html");
            let mut told = 0;
            for traced in &planned.trace.moves {
                let cuts = matches!(traced.step.told, Move::Cut(_));
                if !cuts || traced.step.cut.is_none_or(|facts| facts.met.is_none()) {
                    continue;
                }
                let card = report
                    .split("<li id=\"step-")
                    .find(|card| card.contains(&format!(": move {}, cut ", traced.step.index)))
                    .unwrap();
                let pieces = traced.before.pieces();
                assert_eq!(
                    card.contains("loose on or beside the log"),
                    !pieces.is_empty(),
                    "{card}"
                );
                if let [piece] = pieces {
                    assert!(card.contains(&format!("Piece {} lies loose", piece.serial)));
                }
                told += pieces.len();
            }
            assert!(told > 0 || name != "g-04", "{name}");
        });
    }
}

/// Seen from above, nothing of the pole lies where the blade runs but what lies on the log; whichever way the mill is built.
#[test]
fn the_pole_is_drawn_clear_of_where_the_blade_runs() {
    for (entry, teeth) in [
        (Side::Left, Stroke::Outbound),
        (Side::Right, Stroke::Outbound),
        (Side::Left, Stroke::Homebound),
    ] {
        let mut job = example("p-07");
        job.mill.entry = entry;
        job.mill.swing.teeth_flat = teeth;
        with_planned(&job, |planned| {
            let side = file(&Subject::planned(planned), "side.svg");
            let (_, above) = side.split_once("From above").unwrap();
            let points = |class: &str| -> Vec<[f64; 2]> {
                let (_, rest) = above
                    .split_once(&format!("<path class=\"{class}\" d=\"M"))
                    .unwrap();
                let shape = rest.split_once('"').unwrap().0.replace('Z', "");
                let mut last = [0.0; 2];
                let mut read = Vec::new();
                let mut kind = 'L';
                let mut word = String::new();
                for letter in shape.chars().chain(['L']) {
                    if !letter.is_ascii_alphabetic() {
                        word.push(letter);
                        continue;
                    }
                    let numbers: Vec<f64> = word.split(',').map(|one| one.parse().unwrap()).collect();
                    last = match kind {
                        'H' => [numbers[0], last[1]],
                        'V' => [last[0], numbers[0]],
                        _ => [numbers[0], numbers[1]],
                    };
                    read.push(last);
                    word.clear();
                    kind = letter;
                }
                read
            };
            let (runs, log, pole) = (points("swept"), points("bark"), points("flat"));
            let span = |points: &[[f64; 2]], axis: usize| {
                let all = points.iter().map(|point| point[axis]);
                (
                    all.clone().fold(f64::INFINITY, f64::min),
                    all.fold(f64::NEG_INFINITY, f64::max),
                )
            };
            let within = |points: &[[f64; 2]], at: [f64; 2]| {
                (0..2).all(|axis| {
                    let (lo, hi) = span(points, axis);
                    (lo..=hi).contains(&at[axis])
                })
            };
            assert!(within(&log, pole[1]), "its tip lies on the log");
            assert!(!within(&runs, pole[0]));
            for part in 0..=1_000 {
                let share = f64::from(part) / 1_000.0;
                let at = [0, 1].map(|axis| pole[0][axis] + (pole[1][axis] - pole[0][axis]) * share);
                assert!(!within(&runs, at) || within(&log, at), "{at:?}");
            }
            let (lo, hi) = span(&log, 0);
            let behind = if teeth == Stroke::Outbound {
                pole[0][0] < lo
            } else {
                pole[0][0] > hi
            };
            assert!(behind, "whoever holds it stands where the stroke begins");
        });
    }
}

/// Dogs that hold are drawn from the side, at their bunks and in the key; a mill without any has none in its key.
#[test]
fn dogs_are_drawn_where_they_close() {
    with_planned(&example("p-07"), |planned| {
        let subject = Subject::planned(planned);
        let setting = file(&subject, "setting.svg");
        assert!(setting.contains("dog, closed"));
        assert_eq!(setting.matches("class=\"solid\"").count(), 2 + 2 + 1);
        let report = file(&subject, "report.html").replace('\u{a0}', " ");
        assert!(
            report.contains(
                "Dog 1, 0.2 m (7 7/8 in) from the near end, exit side: push it 56.6 mm (2 7/32 in) across to the log and close it"
            )
        );
    });
    with_planned(&example("g-04"), |planned| {
        assert!(!file(&Subject::planned(planned), "setting.svg").contains("dog"));
    });
}

/// Who planned for one person is told so, and which cuts rest on the aid instead of a second, at the head of the page and with
/// the figure of the sheet: 250 mm is a little less than 9 27/32 in, so that an aid for that bears on 9 13/16 in.
#[test]
fn the_head_of_the_page_says_what_rests_on_the_aid() {
    let mut job = example("s-11");
    job.inches = true;
    with_planned(&job, |planned| {
        let report = file(&Subject::planned(planned), "report.html").replace('\u{a0}', " ");
        let (head, rest) = report.split_once("</header>").unwrap();
        assert!(head.contains("<p class=\"second\">Planned for one person.</p>"));
        let told = " on the pull-back aid, which bears on pieces up to 9 13/16 in wide: without it ";
        assert!(head.contains(told), "{head}");
        assert!(rest.contains("bears on pieces up to 9 13/16 in (250 mm) wide"));
    });
    job.setting.people = 2;
    with_planned(&job, |planned| {
        let report = file(&Subject::planned(planned), "report.html");
        assert!(!report.contains("Planned for one person"));
    });
}

/// On a carriage that is pushed every way has its place: an empty one in its own line, a cut on its card; and whoever pushes is sent
/// round it before every way against the one before, unless a hold with the blade standing lies between.
#[test]
fn whoever_pushes_is_told_his_place_on_every_way() {
    for name in ["p-07", "s-11"] {
        with_least_time(&example(name), |planned| {
            let report = file(&Subject::planned(planned), "report.html").replace('\u{a0}', " ");
            let (mut ran, mut empty, mut turns) = (None, 0, Vec::new());
            for traced in &planned.trace.moves {
                let step = &traced.step;
                let way = step.after.travel.cmp(&step.before.travel);
                if matches!(step.told, Move::Hold(_)) && !step.before.spinning {
                    ran = None;
                } else if way.is_ne() {
                    if ran.is_some_and(|ran| ran != way) {
                        turns.push(if way.is_gt() { "near" } else { "far" });
                    }
                    ran = Some(way);
                    empty += usize::from(step.cut.is_none_or(|facts| facts.met.is_none()));
                }
            }
            assert!(empty > 0 && !turns.is_empty(), "{name}");
            let line = |line: &&str| line.contains("<span>Push ");
            let pushes: Vec<&str> = report.lines().filter(line).collect();
            assert_eq!(pushes.len(), empty, "{name}");
            for push in pushes {
                assert!(push.contains(". Push from behind the carriage as it runs, on the exit side"));
            }
            let round = report.split(
                "<span>Go round the carriage by the exit side, to where it is pushed from next, towards the ",
            );
            let ends: Vec<&str> = round.skip(1).filter_map(|rest| rest.split(' ').next()).collect();
            assert_eq!(ends, turns, "{name}");
        });
    }
}
