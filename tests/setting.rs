//! The setting sheet against figures worked out by hand, against the rule that refuses what cannot be set, and against
//! a stiff log laid on what the sheet packs.

mod first;
mod picture;
mod staging;

use std::fs;
use std::path::Path;

use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::measure::System;
use bunkside::planned::{Planned, lay_out};
use bunkside::setting::words::Words;
use bunkside::setting::{FlawKind, Lies, Role, Sheet};
use bunkside::trace::Trace;
use bunkside_planner::physics::support::{Flaw, flaws, packing};
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{Measure, Severity};
use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Length, LogRecord, MillRecord, Move, Position, Station};

use crate::dice::Dice;

fn load(path: &Path) -> std::io::Result<String> {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path))
}

fn read(path: &str, text: String) -> Job {
    let outcome = job::read(&Source::new(path, text), &load);
    outcome
        .job
        .clone()
        .unwrap_or_else(|| panic!("{}", outcome.rendered()))
}

fn example(name: &str) -> Job {
    let path = format!("examples/jobs/{name}.toml");
    let text = load(Path::new(&path)).unwrap();
    read(&path, text)
}

/// A peeled log of 4.8 m from 0.6 m on, butt near, with what else its tables hold; on bunks at these places, level tops.
fn job([butt, small]: [i32; 2], log: &str, setting: &str, bunks: &[i32]) -> Job {
    let text = format!(
        "mill = \"../mills/powered-165.toml\"\nunit = \"mm\"\n\n[log]\nname = \"S-1\"\nspecies = \"western hemlock\"\n\
         length = 4800\nsmall_end = {small}\nbutt = {butt}\nbutt_at = \"near\"\n{log}\n\n[setting]\nnear_end_at = 600\n\
         {setting}\n\n[[board]]\nname = \"plank\"\nthickness = 50\nwidth = 140\nlengths = [4800]\nprice = {{ each = 9 }}\n"
    );
    let mut job = read("examples/jobs/s-1.toml", text);
    let like = job.mill.bunks[0];
    job.mill.bunks = bunks.iter().map(|at| bunk(&like, *at)).collect();
    job.mill.support.spacing = Length::mm(5_000);
    job.mill.support.overhang = Length::mm(2_000);
    job
}

fn bunk(like: &Bunk, at: i32) -> Bunk {
    Bunk {
        travel: Position::mm(at),
        top: Position::ZERO,
        ..*like
    }
}

/// The sheet of a log on which nothing is sawn yet.
fn lying(mill: &MillRecord, log: &LogRecord) -> Sheet {
    let setup = Setup::new(mill, log).unwrap();
    Sheet::of(&setup, &Trace::run(&setup, &[Move::Spin(true)]), None)
}

fn gaps(sheet: &Sheet) -> Vec<i32> {
    sheet.bunks.iter().map(|row| row.gap_um.as_um()).collect()
}

/// Straight, 400 mm to 300 mm over 4.8 m, centre line level: the underside rises by half the taper, 50 mm over 4.8 m,
/// from the butt. Bunks at 0.9 m, 3.0 m and 5.1 m lie 0.3 m, 2.4 m and 4.5 m along it (plain proportion):
/// 50 × 0.3/4.8 = 3.125 mm, 50 × 2.4/4.8 = 25 mm, 50 × 4.5/4.8 = 46.875 mm.
#[test]
fn a_tapered_log_is_packed_by_half_its_taper() {
    let job = job([400, 300], "", "", &[900, 3_000, 5_100]);
    let sheet = lying(&job.mill, &job.log);
    assert_eq!(gaps(&sheet), [3_125, 25_000, 46_875]);
    let roles: Vec<Role> = sheet.bunks.iter().map(|row| row.role).collect();
    assert_eq!(roles, [Role::Carries, Role::Between, Role::Carries]);
    assert!(sheet.bunks.iter().all(|row| row.lies == Lies::Above));
    let [near, far] = &sheet.ends;
    // Lying bare, the underside touches both bunks: from there it rises by 3.125 mm and 46.875 mm at 0.3 m and 4.5 m, 43.75 mm
    // over 4.2 m, so at the ends by 3.125 − 43.75 × 0.3/4.2 = 0 mm and 46.875 + 43.75 × 0.3/4.2 = 50 mm.
    assert_eq!(
        (near.raise_um, far.raise_um),
        (Some(Length::ZERO), Some(Length::mm(50)))
    );
    assert_eq!(
        (near.centre_height_um, far.centre_height_um),
        (Position::mm(200), Position::mm(200))
    );
    assert_eq!(
        (near.bottom_um, far.bottom_um),
        (Position::ZERO, Position::mm(50))
    );
    assert_eq!((near.top_um, far.top_um), (Position::mm(400), Position::mm(350)));
    assert_eq!(
        (near.shift_um, far.shift_um),
        (Some(Length::ZERO), Some(Length::ZERO))
    );
    let bearers: Vec<(usize, i32)> = sheet
        .staging
        .bearers
        .iter()
        .map(|one| (one.bunk, one.top_um.as_um()))
        .collect();
    assert_eq!(
        bearers,
        [(1, 3_125), (3, 46_875)],
        "as high as what is packed there"
    );
    assert!(sheet.flaws.is_empty());
}

/// Levelled by its top, the whole taper is packed: 100 mm × 4.5/4.8 = 93.75 mm, more than the profile's 60 mm. Levelled by
/// its underside, nothing is.
#[test]
fn the_line_that_is_levelled_decides_what_is_packed() {
    let top = job([400, 300], "", "level = \"top\"", &[900, 3_000, 5_100]);
    let sheet = lying(&top.mill, &top.log);
    assert_eq!(gaps(&sheet), [6_250, 50_000, 93_750]);
    assert_eq!(sheet.bunks[2].lies, Lies::TooHigh);
    assert_eq!(
        (sheet.flaws.len(), sheet.flaws[0].kind, sheet.flaws[0].um),
        (1, FlawKind::Packing, Some(Length::um(93_750)))
    );
    let words = Words {
        system: System::Metric,
        both: false,
    };
    assert_eq!(
        words.bunk(&sheet.bunks[2]),
        "4.5 m from the near end: the log lies 93.8 mm above it, and 60 mm can be packed: it cannot be set so"
    );
    let bottom = job([400, 300], "", "level = \"bottom\"", &[900, 3_000, 5_100]);
    assert_eq!(gaps(&lying(&bottom.mill, &bottom.log)), [0, 0, 0]);
}

/// Bunks 120 mm wide whose tops lie so far under the log: a pack as high as wide is nothing to tell, a higher one is a crib, and
/// one more than three times as high cannot be.
#[test]
fn a_pack_higher_than_its_bunk_is_wide_is_told_to_be_built_as_a_crib() {
    let words = Words {
        system: System::Metric,
        both: false,
    };
    let packed = |low: i32| {
        let mut job = job([300, 300], "", "", &[900, 3_000, 5_100]);
        job.mill.wedges.packing = Length::mm(1_000);
        job.mill.bunks[0].top = Position::mm(-low);
        let sheet = lying(&job.mill, &job.log);
        (words.bunk(&sheet.bunks[0]), sheet.flaws)
    };
    assert_eq!(
        packed(120),
        ("0.3 m from the near end: pack 120 mm".to_owned(), vec![])
    );
    let (crib, flaws) = packed(121);
    assert_eq!(
        crib,
        "0.3 m from the near end: pack 121 mm, higher than the bunk is wide (120 mm): build it as a crib, planks crosswise, and \
         brace it along the rails"
    );
    assert!(flaws.is_empty());
    let (none, flaws) = packed(361);
    assert_eq!(
        none,
        "0.3 m from the near end: the log lies 361 mm above it, and 360 mm can be packed: it cannot be set so"
    );
    let [flaw] = flaws.as_slice() else {
        panic!("{flaws:?}")
    };
    let (kind, um) = (flaw.kind, flaw.um.zip(flaw.limit_um));
    assert_eq!(
        (kind, um),
        (FlawKind::Pile, Some((Length::mm(361), Length::mm(360))))
    );
    assert_eq!(
        words.flaw(flaw),
        "the pack on a bunk would be 361 mm high, and falls over above 360 mm"
    );
}

/// A log without taper lies on bunks of one height; one that stands 5 mm lower stays so much open.
#[test]
fn a_log_without_taper_needs_no_packing() {
    let mut job = job([300, 300], "", "", &[900, 3_000, 5_100]);
    let sheet = lying(&job.mill, &job.log);
    assert_eq!(gaps(&sheet), [0, 0, 0]);
    assert!(sheet.bunks.iter().all(|row| row.lies == Lies::OnIt));
    assert!(sheet.ends.iter().all(|end| end.raise_um == Some(Length::ZERO)));
    job.mill.bunks[1].top = Position::mm(-5);
    assert_eq!(gaps(&lying(&job.mill, &job.log)), [0, 5_000, 0]);
}

/// Bark of 12 mm on the same log: the gap to the wood is so much more than to the bark.
#[test]
fn bark_is_packed_under_and_wood_is_told_beside() {
    let job = job([300, 300], "bark = 12", "", &[900, 3_000, 5_100]);
    let sheet = lying(&job.mill, &job.log);
    for row in &sheet.bunks {
        assert_eq!((row.gap_um, row.wood_um), (Length::ZERO, Length::mm(12)));
    }
}

/// Bow up 30 mm on a log of 300 mm, on bunks under its very ends and its middle: the middle bunk's gap is the sagitta of
/// the whole chord, 30 mm.
#[test]
fn a_bow_upwards_leaves_its_sagitta_open_in_the_middle() {
    let bowed = "sweep = { bow = 30, toward = \"up\" }";
    let on = |bunks: &[i32]| {
        let job = job([300, 300], bowed, "", bunks);
        lying(&job.mill, &job.log)
    };
    let sheet = on(&[600, 3_000, 5_400]);
    assert_eq!(gaps(&sheet), [0, 30_000, 0]);
    assert_eq!(sheet.bow.up_um, Length::mm(30));
    // On bunks 3.6 m apart, a chord c of the whole length L = 4.8 m, the middle lies 30 × (c/L)² = 30 × 0.5625 = 16.875 mm
    // over the line between them, and each of them 30 − 16.875 = 13.125 mm under the log.
    let sheet = on(&[1_200, 3_000, 4_800]);
    assert_eq!(gaps(&sheet), [13_125, 30_000, 13_125]);
    let over = sheet.bunks[1].gap_um - sheet.bunks[0].gap_um;
    // The handbook's sagitta of a circle, s = R − √(R² − c²/4), with R = L²/8s + s/2 = 4800²/240 + 15 = 96 015 mm:
    // c²/4 = 1800² = 3 240 000; √(96 015² − 3 240 000) = 95 998.126; s = 16.874 mm. The parabola of the job lies within 0.01 mm.
    assert!((over - Length::um(16_874)).abs() < Length::um(10), "{over}");
}

/// Swept 40 mm to the exit side over 4.8 m: at a share s of its length the centre lies 40 × 4 s (1 − s) off the line between
/// the ends. On bunks 0.3 m and 3.6 m along it, s = 1/16 and 3/4: 40 × 4 × 15/256 = 9.375 mm and 40 × 4 × 3/16 = 30 mm.
/// The line through these has 20.625 mm over 3.3 m, 6.25 mm a metre: at the near end 9.375 − 0.3 × 6.25 = 7.5 mm, at the
/// far end 30 + 1.2 × 6.25 = 37.5 mm.
#[test]
fn a_swept_log_is_shifted_until_its_ends_lie_on_the_line() {
    for (toward, offset, sign) in [("exit", 0, 1), ("entry", 0, -1), ("exit", 20, 1)] {
        let sweep = format!("sweep = {{ bow = 40, toward = \"{toward}\" }}");
        let job = job([300, 300], &sweep, &format!("offset = {offset}"), &[900, 4_200]);
        let sheet = lying(&job.mill, &job.log);
        let shifts = sheet.ends.map(|end| end.shift_um.unwrap());
        let expected = [7_500, 37_500].map(|um| Length::um(sign * um) + Length::mm(offset));
        assert_eq!(shifts, expected, "{toward} {offset}");
        for end in &sheet.ends {
            assert_eq!(end.centre_across_um, Position::mm(offset), "ends on the line");
        }
        assert_eq!(sheet.bow.across_um, Length::um(sign * 40_000));
        assert_eq!(sheet.bow.up_um, Length::ZERO);
        let lowest = sheet.bunks[0].lowest_across_um.from_origin();
        assert_eq!(lowest, Length::um(sign * 9_375) + Length::mm(offset));
    }
}

/// A bow that hangs 30 mm lies on the middle bunk: on bunks 3.6 m apart the log lies 30 × (3.6/4.8)² = 16.875 mm over the
/// outer ones. Bare it would rock on the middle one, which the sheet says.
#[test]
fn a_hanging_bow_is_packed_at_both_ends_and_rocks_before() {
    let hanging = "sweep = { bow = 30, toward = \"down\" }";
    let on = |middle: i32| {
        let mut job = job([300, 300], hanging, "", &[1_200, 3_000, 4_800]);
        job.mill.bunks[1].top = Position::um(middle.into());
        lying(&job.mill, &job.log)
    };
    let sheet = on(0);
    assert_eq!(gaps(&sheet), [16_875, 0, 16_875]);
    assert_eq!(sheet.bow.up_um, Length::mm(-30));
    // It stops rocking where the middle bunk stands the sagitta lower, but for the millimetre a tape does not tell.
    for (middle, rocks) in [(0, Some(2)), (-15_874, Some(2)), (-15_875, None), (-20_000, None)] {
        assert_eq!(on(middle).rocks_on, rocks, "{middle}");
    }
}

/// One of the random logs: taper, bow in any direction, oval, rolled, bark, on two to five bunks of uneven tops.
fn random(dice: &mut Dice) -> Job {
    let butt = dice.within(250, 600);
    let small = butt - dice.within(0, 120);
    let log = format!(
        "bark = {}\nsweep = {{ bow = {}, toward = \"{} deg\" }}",
        dice.within(0, 20),
        dice.within(0, 50),
        dice.within(-180, 180)
    );
    let level = ["centre", "top", "bottom"][dice.below(3) as usize];
    let setting = format!(
        "level = \"{level}\"\nturn = \"{} deg\"\noffset = {}",
        dice.within(-90, 90),
        dice.within(-30, 30)
    );
    let mut places = vec![dice.within(620, 1_400), dice.within(4_300, 5_380)];
    places.extend((0..dice.below(4)).map(|_| dice.within(1_700, 4_000)));
    places.sort_unstable();
    places.dedup();
    let mut job = job([butt, small], &log, &setting, &places);
    for bunk in &mut job.mill.bunks {
        bunk.top = Position::um(dice.between(-8_000, 400));
    }
    job
}

/// Everything that is packed in, and every wedge set, no gap is left under the log.
#[test]
fn what_the_sheet_packs_meets_the_log() {
    let mut dice = Dice::new(71);
    for run in 0..300 {
        let job = random(&mut dice);
        let sheet = lying(&job.mill, &job.log);
        assert!(sheet.bunks.len() >= 2, "{run}");
        let mut mill = job.mill.clone();
        for row in &sheet.bunks {
            mill.bunks[row.bunk - 1].top = job.mill.bunks[row.bunk - 1].top + row.gap_um;
        }
        let setup = Setup::new(&mill, &job.log).unwrap();
        for row in &sheet.bunks {
            assert_eq!(
                packing(&mill.bunks[row.bunk - 1], &setup.shape),
                Some(Length::ZERO),
                "{run}"
            );
        }
        flaws(&mill, &job.log, &setup.shape, &mut |flaw| {
            assert!(
                !matches!(flaw, Flaw::Packing(_) | Flaw::Pile(..) | Flaw::Sunk(_)),
                "{run}: {flaw}"
            );
        });
    }
}

/// The stations, each raised and shifted by a line from end to end.
fn moved(log: &LogRecord, raise: [Length; 2], shift: [Length; 2], sign: i64) -> LogRecord {
    let ends = [
        log.stations[0].travel,
        log.stations[log.stations.len() - 1].travel,
    ];
    let at = |station: &Station, [near, far]: [Length; 2]| {
        let (run, span) = ((station.travel - ends[0]).wide(), (ends[1] - ends[0]).wide());
        Length::um(sign * (near.wide() + (far - near).wide() * run / span))
    };
    let mut log = log.clone();
    for station in &mut log.stations {
        let (up, across) = (at(station, raise), at(station, shift));
        station.centre_height = station.centre_height + up;
        station.centre_across = station.centre_across + across;
    }
    log
}

/// A stiff log let down by what the sheet raises its ends lies bare on the two bunks that carry it, centred over the bed
/// there, and on none below their tops; raised again it lies as the layout assumes.
#[test]
fn the_ends_rise_from_where_the_log_lies_bare() {
    let mut dice = Dice::new(72);
    for run in 0..300 {
        let job = random(&mut dice);
        let sheet = lying(&job.mill, &job.log);
        let raise = sheet.ends.map(|end| end.raise_um.unwrap());
        let shift = sheet.ends.map(|end| end.shift_um.unwrap());
        let bare = moved(&job.log, raise, shift, -1);
        let setup = Setup::new(&job.mill, &bare).unwrap();
        for row in sheet.bunks.iter().filter(|row| row.role == Role::Carries) {
            let gap = packing(&job.mill.bunks[row.bunk - 1], &setup.shape).unwrap();
            assert!(gap.abs() < Length::um(6), "{run}: {gap}");
            let centre = setup.shape.wood_at(row.at_um).unwrap().centre_across();
            assert!(centre.from_origin().abs() < Length::um(6), "{run}: {centre:?}");
        }
        let again = moved(&bare, raise, shift, 1);
        assert_eq!(again.stations, job.log.stations, "{run}");
    }
}

/// The sheet objects to exactly what the rule refuses before the first cut, with the same figure.
#[test]
fn the_sheet_and_the_rule_agree() {
    let mut dice = Dice::new(73);
    let mut seen = [0_u32; 3];
    for run in 0..300 {
        let mut job = random(&mut dice);
        job.mill.wedges.packing = Length::mm(dice.within(0, 90));
        if dice.once_in(4) {
            let middle = job.mill.bunks.len() / 2;
            job.mill.bunks[middle].top = Position::mm(dice.within(0, 40));
        }
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let trace = Trace::run(&setup, &[Move::Spin(true), Move::Spin(false)]);
        let sheet = Sheet::of(&setup, &trace, None);
        let refused: Vec<Length> = trace
            .findings
            .iter()
            .filter(|finding| finding.rule == "support" && finding.objection.severity == Severity::Refuse)
            .filter_map(|finding| match finding.objection.measured {
                Measure::Length(length) => Some(length),
                _ => None,
            })
            .collect();
        let of = |lies: Lies| sheet.bunks.iter().filter(move |row| row.lies == lies);
        let high = of(Lies::TooHigh).map(|row| row.gap_um).max();
        let low = of(Lies::Sunk).map(|row| row.gap_um).min();
        let expected: Vec<Length> = high.into_iter().chain(low).collect();
        assert_eq!(refused, expected, "{run}");
        let told: Vec<Length> = sheet
            .flaws
            .iter()
            .filter_map(|flaw| flaw.um)
            .map(Length::abs)
            .collect();
        let unsigned: Vec<Length> = expected.iter().map(|length| length.abs()).collect();
        assert_eq!(told, unsigned, "{run}");
        for (count, met) in seen
            .iter_mut()
            .zip([high.is_some(), low.is_some(), expected.is_empty()])
        {
            *count += u32::from(met);
        }
    }
    assert!(seen.iter().all(|count| *count > 20), "{seen:?}");
}

/// What people read of every example.
#[test]
fn the_sheets_of_all_examples_stay_as_they_are() {
    let mut text = String::new();
    for name in ["g-04", "a-02", "oak-14", "b-01", "p-07"] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let sheet = Sheet::planned(&Planned::new(&job, &setup, &plan).unwrap());
        let words = Words {
            system: System::of(job.inches),
            both: true,
        };
        text.push_str(&format!("{}\n", job.name));
        for row in &sheet.bunks {
            text.push_str(&format!("  bunk {}: {}\n", row.bunk, words.bunk(row)));
        }
        let [near, far] = &sheet.ends;
        text.push_str(&format!(
            "  near end: {}\n  far end: {}\n",
            words.end(near),
            words.end(far)
        ));
        let board = sheet.first_board.as_ref().map(|board| words.first_board(board));
        let more = [words.raise(&sheet), words.shift(&sheet), board];
        for line in more.into_iter().flatten().chain(words.staging(&sheet)) {
            text.push_str(&format!("  {line}\n"));
        }
    }
    insta::assert_snapshot!("sheets", text);
}
