//! Mills whose grid is no part of a millimetre: inches, and what a lead screw makes of a step.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;

use super::{call, example, folder, quiet};

const GRIDS: [&str; 7] = [
    "0.01 in", "1/32 in", "1/64 in", "0.35 mm", "0.37 mm", "0.7 mm", "1 mm",
];

/// A job whose mill has another grid.
fn on_grid(folder: &Path, name: &str, grid: &str) {
    let mills = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/mills");
    let job = fs::read_to_string(example(name)).unwrap();
    let (_, mill) = job.split_once("mill = \"../mills/").unwrap();
    let (mill, _) = mill.split_once('"').unwrap();
    let text = fs::read_to_string(mills.join(mill)).unwrap();
    let (before, after) = text.split_once("grid = \"").unwrap();
    let (_, after) = after.split_once('"').unwrap();
    let text = format!("{before}grid = \"{grid}\"{after}");
    fs::write(folder.join("mill.toml"), text).unwrap();
    let job = job.replace(&format!("../mills/{mill}"), "mill.toml");
    fs::write(folder.join("job.toml"), job).unwrap();
}

/// What is planned lies on the grid, or it could not be stored, and no rule objects.
#[test]
fn logs_are_planned_on_any_grid() {
    let folder = folder("grids");
    for name in ["g-04", "oak-14", "b-01", "p-07"] {
        for grid in GRIDS {
            on_grid(&folder, name, grid);
            let told = call(&folder, "plan {}/job.toml -o {}/out --by-habit");
            assert_eq!(
                told.exit,
                Exit::Good,
                "{name} on {grid}: {}{}",
                told.out,
                told.said
            );
        }
    }
    for grid in ["0.01 in", "0.7 mm"] {
        on_grid(&folder, "g-04", grid);
        let told = quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
        assert!(told.contains("proven"), "{grid}: {told}");
    }
}
