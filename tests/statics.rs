//! How many columns the statics let a sawyer take before he has to release the rest: the tables of `planner/STATICS.md`,
//! compared with what the planner reckons now. Set `BUNKSIDE_BLESS` to write them anew.
//!
//! Nothing here is tuned to what sawyers do; the page tells how far the two agree.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use bunkside::columns::{Column, Saw, held};
use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::view::family;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Angle, Feed, Length, MillRecord, Position, Stroke};

const PAGE: &str = "planner/STATICS.md";
const PICTURE: &str = "examples/pictures/columns.svg";
const DIAMETERS: [i32; 5] = [200, 300, 450, 600, 900];
const COLUMN: Length = Length::mm(50);
const DEEP: Length = Length::mm(150);

/// A log of larch 3.6 m long: diameter at the near end and taper over the length, millimetres.
#[derive(Clone, Copy)]
struct Log {
    diameter: i32,
    taper: i32,
    smooth: bool,
}

impl Log {
    fn job(self) -> Job {
        let Self {
            diameter,
            taper,
            smooth,
        } = self;
        let butt = diameter + taper;
        let text = format!(
            "mill = \"../mills/powered-165.toml\"\n\n[log]\nname = \"SAMPLE\"\nspecies = \"western larch\"\n\
             state = \"fresh\"\nlength = \"3.6 m\"\nsmall_end = \"{diameter} mm\"\nbutt = \"{butt} mm\"\n\
             butt_at = \"far\"\nbark = \"0 mm\"\nsmooth = {smooth}\n\n[setting]\nlevel = \"centre\"\n\
             near_end_at = \"0.6 m\"\nbed_clearance = \"25 mm\"\n\n[[board]]\nname = \"plank\"\n\
             thickness = \"50 mm\"\nwidth = \"120 mm\"\nlengths = [\"3.5 m\"]\nprice = {{ each = 5.00 }}\n"
        );
        let load = |path: &Path| std::fs::read_to_string(root(path));
        let outcome = job::read(&Source::new("examples/jobs/sample.toml", text), &load);
        let said = outcome.rendered();
        outcome.job.unwrap_or_else(|| panic!("{said}"))
    }
}

fn root(path: impl AsRef<Path>) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn factor(mill: &MillRecord) -> f64 {
    f64::from(mill.factors.roll) / 1000.0
}

fn told(margin: f64) -> String {
    if margin >= 99.95 {
        "over 99".to_owned()
    } else {
        format!("{margin:.2}")
    }
}

/// The layers of a log, 150 mm each, from 85 % of its height down to as near the bed as there is a whole one.
fn floors(setup: &Setup<'_>) -> Vec<Position> {
    let log = setup.shape.bounds().height;
    let mut floors = Vec::new();
    let mut top = Position::um(log.lo.wide() + log.length().wide() * 85 / 100);
    while top - DEEP >= Position::mm(46) {
        top = top - DEEP;
        floors.push(top);
    }
    // The lowest begins where its columns are as deep as the others.
    if floors.is_empty() {
        floors.push(Position::mm(46));
    }
    floors
}

/// Columns of [`COLUMN`] taken off a layer.
fn taken(saw: &mut Saw<'_>, floor: Position) -> Vec<Column> {
    let corners = saw.even(floor, COLUMN);
    saw.columns(floor, &corners)
}

fn table() -> String {
    let mut text = String::from(
        "| log | layer down to | taken before 1.20 | margin after each column: in its cuts, at rest |\n|---|---|---|---|\n",
    );
    for diameter in DIAMETERS {
        for (taper, smooth) in [(0, false), (0, true), (54, false), (54, true)] {
            let log = Log {
                diameter,
                taper,
                smooth,
            };
            rows(log, &mut text);
        }
    }
    text
}

fn rows(log: Log, text: &mut String) {
    let job = log.job();
    let mill = &job.mill;
    let setup = Setup::new(mill, &job.log).unwrap();
    let floors = floors(&setup);
    let last = floors.len() - 1;
    let mut saw = Saw::new(&setup);
    for (number, floor) in floors.iter().enumerate() {
        if number == 0 {
            saw.open(*floor + DEEP);
        }
        if number == 0 || number == last {
            let columns = taken(&mut saw.clone(), *floor);
            row(log, *floor, &columns, factor(mill), text);
        }
        saw.open(*floor);
    }
}

fn row(log: Log, floor: Position, columns: &[Column], demanded: f64, text: &mut String) {
    let keeps =
        |column: &&Column| column.fed && column.during.roll() >= demanded && column.rest.roll() >= demanded;
    let taken = columns.iter().take_while(keeps).count();
    let taken = if taken == columns.len() {
        format!("all {taken}")
    } else {
        format!("{taken} of {}", columns.len())
    };
    let margins: Vec<String> = columns
        .iter()
        .take(9)
        .map(|column| format!("{}, {}", told(column.during.roll()), told(column.rest.roll())))
        .collect();
    let form = if log.taper == 0 {
        "parallel"
    } else {
        "15 mm/m of taper"
    };
    let skin = if log.smooth { "smooth" } else { "barked" };
    let height = f64::from(floor.as_um()) / 1000.0;
    writeln!(
        text,
        "| {} mm, {form}, {skin} | {height:.0} mm | {taken} | {} |",
        log.diameter,
        margins.join("; ")
    )
    .expect("a string takes it");
}

/// The lowest whole layer of parallel logs, column by column.
fn family_picture() -> String {
    let lowest = |diameter, smooth| {
        let job = Log {
            diameter,
            taper: 0,
            smooth,
        }
        .job();
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let mut saw = Saw::new(&setup);
        let floor = *floors(&setup).last().unwrap();
        saw.open(floor + DEEP);
        (taken(&mut saw, floor), job.mill)
    };
    let (_, mill) = lowest(300, false);
    let logs: Vec<family::Log> = DIAMETERS
        .into_iter()
        .map(|diameter| family::Log {
            name: format!("{diameter} mm"),
            barked: lowest(diameter, false).0,
            smooth: lowest(diameter, true).0,
        })
        .collect();
    let title = "Margins of parallel logs of 200 to 900 mm, the columns of their lowest layer taken one after the other";
    family::family(title, &mill, &logs)
}

#[test]
fn the_picture_shows_what_the_planner_reckons() {
    let (kept, drawn) = (root(PICTURE), family_picture());
    if std::env::var_os("BUNKSIDE_DRAW").is_some() {
        std::fs::write(&kept, &drawn).unwrap();
    }
    assert!(
        std::fs::read_to_string(&kept).unwrap() == drawn,
        "{PICTURE} is old: set BUNKSIDE_DRAW and look at it"
    );
}

/// The lowest layer of a log, taken column by column: how fast its upright kerfs go in either feed.
fn lowest() -> String {
    let mut text = String::from(
        "| log | columns gone | what stands weighs | forward, lifting | climbing, pressing |\n|---|---|---|---|---|\n",
    );
    for diameter in [200, 300] {
        let log = Log {
            diameter,
            taper: 0,
            smooth: false,
        };
        let job = log.job();
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let (kerf, floor) = (job.mill.blade.kerf, Position::mm(46));
        let mut saw = Saw::new(&setup);
        saw.open(Position::mm(46 + 54));
        let half = if diameter == 200 { 100 } else { 141 };
        let mut across = Position::mm(-half) + COLUMN + kerf;
        for gone in 0..half / 28 {
            saw.cut(Angle::Flat, Stroke::Outbound, across, floor);
            let weight = saw.replay.body().mass_kg(job.log.density);
            let told = |feed| upright(&setup, &saw, across, floor, feed);
            writeln!(
                text,
                "| {diameter} mm | {gone} | {weight:.0} kg | {} | {} |",
                told(Feed::Forward),
                told(Feed::Climb)
            )
            .expect("a string takes it");
            saw.cut(Angle::Upright, Stroke::Homebound, across, floor);
            across = across + COLUMN + kerf;
        }
    }
    text
}

/// How fast an upright kerf goes in a feed, and how near it comes to lifting.
fn upright(setup: &Setup<'_>, saw: &Saw<'_>, across: Position, floor: Position, feed: Feed) -> String {
    let mut trial = saw.clone();
    let stroke = setup.mill.stroke(Angle::Upright, feed);
    let (step, fed) = trial.cut(Angle::Upright, stroke, across, floor);
    let Some(strain) = step.strain else {
        return "no wood".to_owned();
    };
    let (lift, roll) = (told(strain.during.lift), told(strain.during.roll()));
    match fed {
        Some(speed) => format!(
            "{:.2} m/s; lift {lift}, roll {roll}",
            f64::from(speed.as_um_per_s()) / 1e6
        ),
        None => format!("at no feed; lift {lift}, roll {roll} at the slowest"),
    }
}

/// The page with what is reckoned between the marks of this name.
fn renewed(page: &str, name: &str, reckoned: &str) -> String {
    let (begin, end) = (format!("<!-- {name}: begin -->"), format!("<!-- {name}: end -->"));
    let (before, rest) = page.split_once(&begin).expect("the page has a place for it");
    let (_, after) = rest.split_once(&end).expect("it ends");
    format!("{before}{begin}\n\n{reckoned}{end}{after}")
}

#[test]
fn the_page_tells_what_the_planner_reckons() {
    let page = std::fs::read_to_string(root(PAGE)).unwrap();
    let due = renewed(&renewed(&page, "reckoned", &table()), "lowest", &lowest());
    if std::env::var_os("BUNKSIDE_BLESS").is_some() {
        std::fs::write(root(PAGE), due).unwrap();
    } else {
        assert!(
            page == due,
            "{PAGE} is old: set BUNKSIDE_BLESS and read the difference"
        );
    }
}

/// The parallel log of 300 mm with its first layer taken column by column.
fn thin_layer(smooth: bool) -> (Job, Vec<Column>) {
    let job = Log {
        diameter: 300,
        taper: 0,
        smooth,
    }
    .job();
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let mut saw = Saw::new(&setup);
    saw.open(Position::mm(255));
    let columns = taken(&mut saw, Position::mm(105));
    (job, columns)
}

/// Common practice, no source: of a smooth log fewer columns are taken before the rest is released than of a barked one.
#[test]
fn a_smooth_log_bears_fewer_columns_than_a_barked_one() {
    let [barked, smooth] = [false, true].map(|smooth| {
        let (job, columns) = thin_layer(smooth);
        held(&job.mill, &columns)
    });
    assert!(smooth < barked && smooth >= 1, "{smooth} smooth, {barked} barked");
}

/// The margins at rest of the parallel log of 300 mm, reckoned from areas and centroids of polygons alone: Shapely 2.2, a circle
/// of 16 384 sides, wedges that touch where the log's underside is 20 mm high.
#[test]
fn margins_at_rest_agree_with_polygons() {
    for (smooth, reckoned) in [
        (false, [4.594, 2.328, 1.807, 1.922, 5.420]),
        (true, [2.756, 1.397, 1.084, 1.153, 3.252]),
    ] {
        let (_, columns) = thin_layer(smooth);
        let rest: Vec<f64> = columns.iter().map(|column| column.rest.upright()).collect();
        assert_eq!(rest.len(), reckoned.len());
        for (rest, reckoned) in rest.into_iter().zip(reckoned) {
            assert!((rest - reckoned).abs() < 0.001, "{rest} is not {reckoned}");
        }
        // Leaning over by 1 in 7, summed from 60 000 strips of the same section.
        let stands = [3.752, 3.120, 2.895, 3.730, 8.822];
        for (column, reckoned) in columns.iter().zip(stands) {
            let stand = column.rest.stand;
            assert!((stand - reckoned).abs() < 0.001, "{stand} is not {reckoned}");
        }
    }
}
