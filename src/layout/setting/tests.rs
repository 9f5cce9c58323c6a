use std::path::Path;

use bunkside_protocol::{Length, Position};

use super::*;
use crate::diagnostic::Source;
use crate::layout::{choose, worth};
use crate::planned::Planned;
use crate::setting::Sheet;

/// A job of ours with a log, a setting and an order.
fn job(log: &str, setting: &str, boards: &str) -> Job {
    let path = format!("{}/examples/jobs/b-01.toml", env!("CARGO_MANIFEST_DIR"));
    let near = Path::new(&path).parent().unwrap();
    let text = format!(
        "mill = \"../mills/powered-165.toml\"\n[log]\nname = \"open\"\nspecies = \"western larch\"\nlength = \"4 m\"\n\
         butt_at = \"far\"\n{log}\n[setting]\nnear_end_at = \"0.6 m\"\nlayout = \"best\"\nstep = \"1 mm\"\n{setting}\n{boards}"
    );
    let read = crate::job::read(&Source::new(&path, text), &|mill| {
        std::fs::read_to_string(near.join(mill))
    });
    let said = read.rendered();
    read.job.unwrap_or_else(|| panic!("{said}"))
}

fn board(name: &str, [thickness, width]: [i64; 2], length: &str, more: &str) -> String {
    format!(
        "[[board]]\nname = \"{name}\"\nthickness = \"{thickness} mm\"\nwidth = \"{width} mm\"\nlengths = [\"{length}\"]\n\
         on_edge = false\n{more}\n"
    )
}

const TAPERS: &str = "small_end = \"200 mm\"\nbutt = \"400 mm\"";

/// A beam 120 mm square nearly as long as the log fits its small end, a circle 200 mm wide. Along the last metre the log is 350 mm
/// thick at least. With the centre line level the beam lies in the middle of that, 60 mm of it above the middle: with a kerf of
/// 5.5 mm a board 110 mm thick would reach 175.5 mm up, over the log. A quarter of the way from level by the underside the beam
/// lies 37.5 mm lower to the thick end's middle, and the board reaches up to 138 mm, where the log is 2√(175² − 138²) = 215 mm
/// wide. So it is with the other half, the board below.
#[test]
fn a_log_that_tapers_gains_by_being_tilted() {
    let order = board("beam", [120, 120], "3.9 m", "most = 1\nprice = { each = 100 }")
        + &board("short", [110, 100], "1 m", "most = 1\nprice = { each = 10 }");
    let centre = job(TAPERS, "", &order);
    let setup = Setup::new(&centre.mill, &centre.log).unwrap();
    assert_eq!(best(&centre, &setup).unwrap().found.worth, 100_000);
    let open = job(TAPERS, "level = \"best\"", &order);
    assert_eq!(open.choices.len(), 5);
    let settled = settled(open, false).unwrap();
    let figures = settled.chosen.unwrap().figures.unwrap();
    assert_eq!(
        (figures.worth, figures.first, figures.bound),
        (110_000, Some(100_000), 110_000)
    );
    assert_eq!(
        settled.setting.level.percent(),
        25,
        "the nearer to level by the centre line"
    );
    let told = job(TAPERS, "level = 25", &order);
    assert_eq!(settled.log, told.log);
}

/// A log 150 mm thick that bows 30 mm towards the exit side. A board 125 mm wide and 20 mm thick needs its bow up: turned by t the
/// middle lies 30·cos t beside the ends and 30·sin t above them, so that there is room for 2√(75² − (15·sin t + 10)²) − 30·cos t:
/// 123.0 mm at 45 degrees, 127.8 mm at 60.
#[test]
fn a_log_that_bows_is_turned_and_the_sheet_says_so() {
    let log = "small_end = \"150 mm\"\nbutt = \"150 mm\"\nsweep = { bow = \"30 mm\", toward = \"exit\" }";
    let order = board("wide", [20, 125], "3.9 m", "most = 1\nprice = { each = 10 }");
    let flat = job(log, "", &order);
    let setup = Setup::new(&flat.mill, &flat.log).unwrap();
    assert_eq!(best(&flat, &setup).unwrap().found.worth, 0);
    let open = job(log, "turn = \"best\"", &order);
    assert_eq!(open.choices.len(), 24);
    let settled = settled(open, true).unwrap();
    assert_eq!(settled.setting.turn, 60_000);
    let figures = settled.chosen.unwrap().figures.unwrap();
    assert!(
        figures.sawn && figures.first.is_none() && figures.worth == 10_000,
        "{figures:?}"
    );
    let setup = Setup::new(&settled.mill, &settled.log).unwrap();
    let plan = choose(&settled, &setup).unwrap();
    assert_eq!(worth(&settled, &plan), 10_000);
    let sheet = Sheet::planned(&Planned::new(&settled, &setup, &plan).unwrap());
    let off = |told: Length, expected: i64| (told - Length::um(expected)).abs() <= Length::um(20);
    assert!(
        off(sheet.bow.up_um, 25_981) && off(sheet.bow.across_um, 15_000),
        "{:?}",
        sheet.bow
    );
}

/// What is chosen is the most of the whole grid, the first of several, whatever is left out on the way, sawn or not, and however many
/// cores look for it.
#[test]
fn no_setting_of_the_grid_brings_more() {
    let swept = "small_end = \"230 mm\"\nbutt = \"280 mm\"\nsweep = { bow = \"25 mm\", toward = \"20 deg\" }";
    let oval = "small_end = [\"210 mm\", \"250 mm\"]\nbutt = [\"240 mm\", \"270 mm\"]";
    let order = board("wide", [40, 150], "3.9 m", "price = { per_m3 = 500 }")
        + &board("short", [25, 100], "1.8 m", "price = { per_m3 = 300 }");
    let mut moved = 0;
    for (log, setting) in [
        (TAPERS, "level = \"best\""),
        (oval, "turn = \"best\""),
        (oval, "turn = \"best\"\nlevel = \"best\""),
        (swept, "turn = \"best\""),
    ] {
        let open = job(log, setting, &order);
        for sawn in [false, true] {
            let brings = open.choices.iter().map(|one| {
                let setup = Setup::new(&one.mill, &one.log).unwrap();
                let layout = best(one, &setup).unwrap();
                if sawn {
                    sawn_like(one, &setup, &layout)
                } else {
                    Some(layout.found.worth)
                }
            });
            let brings: Vec<Option<i64>> = brings.collect();
            let most = brings.iter().flatten().max().copied();
            let at = brings.iter().position(|one| *one == most).unwrap();
            let found = settled_on(open.clone(), sawn, 1).unwrap();
            let figures = found.chosen.unwrap().figures.unwrap();
            assert_eq!(
                (Some(figures.worth), figures.all),
                (most, true),
                "{setting} {sawn} {brings:?}"
            );
            assert_eq!(
                found.setting, open.choices[at].setting,
                "{setting} {sawn} {brings:?}"
            );
            assert_eq!(figures.first, brings[0], "{setting} {sawn}");
            assert!(figures.bound >= figures.worth && (sawn || figures.bound == figures.worth));
            let anywhere = open.choices.iter().map(|one| {
                let setup = Setup::new(&one.mill, &one.log).unwrap();
                bound_on_any_step(one, &setup).unwrap()
            });
            assert_eq!(figures.anywhere, anywhere.max(), "{setting} {sawn}");
            assert!(figures.anywhere >= Some(figures.bound));
            moved += usize::from(at > 0);
            let again = settled_on(open.clone(), sawn, 3).unwrap();
            assert_eq!(
                (again.setting, again.chosen),
                (found.setting, found.chosen),
                "{setting} {sawn}"
            );
        }
    }
    assert!(moved >= 4, "{moved}");
}

/// A log wider than the across axis reaches on one side is shifted.
#[test]
fn a_log_beyond_the_across_axis_is_shifted() {
    let order = board("wide", [40, 150], "3.9 m", "price = { per_m3 = 500 }");
    let mut open = job(TAPERS, "offset = \"best\"", &order);
    assert_eq!(open.choices.len(), 1, "it makes no difference");
    open.choices.clear();
    let axis = &open.mill.across;
    assert!(axis.min < Position::mm(-200) && axis.max > Position::mm(206));
}
