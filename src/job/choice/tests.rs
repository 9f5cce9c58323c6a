use std::path::Path;

use bunkside_protocol::Length;

use crate::diagnostic::Source;
use crate::job::{Job, Outcome, read};

/// An example, some of its text changed, its mill's too.
fn changed(name: &str, texts: &[(&str, &str)], mill: &[(&str, &str)]) -> Outcome {
    let path = format!("examples/jobs/{name}.toml");
    let load = |path: &Path| std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
    let change = |mut text: String, changes: &[(&str, &str)]| {
        for (from, to) in changes {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        }
        text
    };
    let text = change(load(Path::new(&path)).unwrap(), texts);
    read(&Source::new(path, text), &|path| {
        load(path).map(|text| change(text, mill))
    })
}

fn good(outcome: &Outcome) -> Job {
    outcome
        .job
        .clone()
        .unwrap_or_else(|| panic!("{}", outcome.rendered()))
}

/// The example bows; what is meant to be straight does not.
const BOW: &str = "sweep = { bow = \"10 mm\", toward = \"up\" }\n";
const SETTING: &str = "[setting]\nlevel = \"centre\"\n";
const OPEN: &str = "[setting]\nlayout = \"best\"\nlevel = \"best\"\nturn = \"best\"\noffset = \"best\"\n";

/// Each is what the job would be with its lines written in it.
#[test]
fn a_choice_is_the_job_with_that_setting_written() {
    let open = good(&changed("g-04", &[(BOW, ""), (SETTING, OPEN)], &[]));
    assert_eq!(
        open.choices.len(),
        5,
        "it is round and tapers, and laid straight here"
    );
    assert_eq!(open.setting, open.choices[0].setting);
    let levels: Vec<u8> = open
        .choices
        .iter()
        .map(|one| one.setting.level.percent())
        .collect();
    assert_eq!(levels, [50, 25, 75, 0, 100]);
    for one in &open.choices {
        let lines = one.setting.lines().replace(", ", "\n");
        let told = format!("[setting]\nlayout = \"best\"\n{lines}\n");
        let told = good(&changed("g-04", &[(BOW, ""), (SETTING, &told)], &[]));
        assert_eq!(
            (told.log, told.setting),
            (one.log.clone(), one.setting),
            "{lines}"
        );
        assert!(told.choices.is_empty() && one.choices.is_empty());
    }
}

#[test]
fn turns_are_looked_at_where_they_make_a_difference() {
    let turn = "[setting]\nlayout = \"best\"\nturn = \"best\"\n";
    let choices = |more: &[(&str, &str)]| {
        let texts: Vec<(&str, &str)> = [(SETTING, turn)].iter().chain(more).copied().collect();
        good(&changed("g-04", &texts, &[])).choices
    };
    assert_eq!(choices(&[(BOW, "")]).len(), 1);
    assert_eq!(choices(&[]).len(), 24);
    let oval = ("small_end = \"215 mm\"", "small_end = [\"205 mm\", \"225 mm\"]");
    let oval = choices(&[(BOW, ""), oval]);
    assert_eq!(oval.len(), 12);
    let half = |turn: i32| (-75_000..=90_000).contains(&turn);
    assert!(oval.iter().all(|one| half(one.setting.turn)));
}

/// Shifted towards where it lies in the middle of what the axis reaches, in steps of 10 mm.
#[test]
fn offsets_are_looked_at_where_the_axis_is_too_short() {
    let offset = "[setting]\nlayout = \"best\"\noffset = \"best\"\n";
    let open = good(&changed("g-04", &[(SETTING, offset)], &[]));
    let axis = open.mill.across;
    assert_eq!(open.choices.len(), 1);
    assert!(axis.min.wide() < -145_000 && axis.max.wide() > 155_000);
    // The exit side ends 100 mm from the middle, a kerf included.
    let log = super::Measured {
        near: [Length::mm(290); 2],
        far: [Length::mm(215); 2],
        length: Length::mm(3_660),
        bark: Length::ZERO,
        bow: Length::ZERO,
        toward: 0,
        turn: 0,
        level: super::super::Level::Centre,
        near_end_at: bunkside_protocol::Position::ZERO,
        offset: Length::ZERO,
        sawn: super::super::sawn::Faces::default(),
    };
    let mut mill = open.mill.clone();
    mill.across.max = bunkside_protocol::Position::mm(100) + mill.blade.kerf;
    mill.across.min = bunkside_protocol::Position::mm(-300);
    assert_eq!(
        super::offsets(&log, &mill),
        [0, -30_000, -60_000, -90_000, -100_000]
    );
    mill.across.min = bunkside_protocol::Position::mm(-140);
    assert_eq!(super::offsets(&log, &mill), [0, -10_000, -20_000]);
}

#[test]
fn what_cannot_be_chosen_is_told() {
    let level = "[setting]\nlevel = \"best\"\n";
    let by_habit = changed("g-04", &[(SETTING, level)], &[]);
    assert!(
        by_habit.job.is_none() && by_habit.rendered().contains("layout = \"best\""),
        "{}",
        by_habit.rendered()
    );
    let level = "[setting]\nlayout = \"best\"\nlevel = \"best\"\n";
    let metal = changed("a-02", &[("[setting]\nlevel = \"bottom\"\n", level)], &[]);
    assert!(
        metal.job.is_none() && metal.rendered().contains("metal is told"),
        "{}",
        metal.rendered()
    );
}
