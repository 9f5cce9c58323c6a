//! The first board: its sizes, its wane, and how far it may be off.

use bunkside::cut_plan::parse;
use bunkside::diagnostic::Source;
use bunkside::measure::System;
use bunkside::planned::{Planned, lay_out};
use bunkside::setting::words::Words;
use bunkside::setting::{Laid, Sheet};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::{example, job};

const WANE: &str = "plan \"S-1\"\nlayer down to 320 mm\n  slab\nlayer down to 264.5 mm\n  take waste to -100 mm\n  take waste to -20 mm\n  \
    take board \"plank\" 4.8 m from near end to 125.5 mm\n  take waste to edge\n";

/// A cone of radius 200 mm to 150 mm, its centre 200 mm above the bed. The board lies from −20 mm to 120 mm across, from
/// 270 mm to 320 mm up (kerf 5.5 mm). Its upper face lies 120 mm above the centre: chords ±√(200² − 120²) = ±160 mm near and
/// ±√(150² − 120²) = ±90 mm far, so there 90 + 20 = 110 mm of 140 mm are wood. Its lower face lies 70 mm above:
/// ±√(150² − 70²) = ±132.7 mm far, the whole width (chord of a circle, references §5).
#[test]
fn the_first_board_is_told_with_its_wane() {
    let mut job = job([400, 300], "", "", &[900, 3_000, 5_100]);
    job.mill.grid = Length::um(100);
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let (document, said) = parse(&Source::new("s-1.cut", WANE.to_owned()));
    let (plan, more) = document.lower(&["plank".to_owned()], job.length);
    let plan = plan.unwrap_or_else(|| panic!("{said:?} {more:?}"));
    let planned = Planned::new(&job, &setup, &plan).unwrap();
    let board = Sheet::planned(&planned).first_board.unwrap();
    // It tells whether the mill saws true all the same.
    assert_eq!(
        (board.name.as_str(), board.layer, board.column),
        ("board that does not count as plank", 2, 3)
    );
    assert_eq!(
        (board.lies, board.thickness_um, board.width_um),
        (Laid::Flat, Length::mm(50), Length::mm(140))
    );
    // Two kerfs, each within the 0.3 mm of its axis.
    assert_eq!(
        (board.thickness_off_um, board.width_off_um),
        (Some(Length::um(600)), Some(Length::um(600)))
    );
    let [near, far] = &board.ends;
    assert_eq!(
        (near.upper_face_um, near.lower_face_um, far.lower_face_um),
        (Length::mm(140), Length::mm(140), Length::mm(140))
    );
    let off = (far.upper_face_um - Length::mm(110)).abs();
    assert!(off < Length::um(20), "{off}: a hair inside the face");
    let words = Words {
        system: System::Metric,
        both: false,
    };
    assert_eq!(
        words.first_board(&board),
        format!(
            "piece {}, board that does not count as plank, at both ends 50 mm thick, 140 mm wide, give or take 0.6 mm; its upper face 110 mm at the far end, with wane",
            board.piece
        )
    );
}

/// In every example the first board is the first piece as large as a product, and as large as that within a step of the
/// grid; it may be off by twice the tolerance of its axes.
#[test]
fn the_first_board_of_every_example_is_as_large_as_its_product() {
    for name in ["g-04", "a-02", "oak-14", "b-01", "p-07"] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        let board = Sheet::planned(&planned).first_board.unwrap();
        let spec = job.boards.iter().find(|spec| spec.name == board.name).unwrap();
        let grid = job.mill.grid;
        for (found, wanted) in [(board.thickness_um, spec.thickness), (board.width_um, spec.width)] {
            assert!((found - wanted).abs() <= grid, "{name}: {found} {wanted}");
        }
        let off = [job.mill.height.tolerance, job.mill.across.tolerance].map(|one| Some(one.times(2)));
        assert_eq!([board.thickness_off_um, board.width_off_um], off, "{name}");
        let freed = planned.trace.moves.iter().flat_map(|traced| &traced.freed);
        let piece = freed.clone().find(|piece| piece.serial == board.piece).unwrap();
        let sizes = [piece.bounds.height.length(), piece.bounds.across.length()];
        assert_eq!(sizes, [board.thickness_um, board.width_um], "{name}: lies flat");
        for end in &board.ends {
            assert!(
                end.upper_face_um + spec.wane.face + grid >= board.width_um,
                "{name}"
            );
        }
    }
}
