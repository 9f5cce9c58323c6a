//! Layouts of logs and orders made for one question each.

use std::path::Path;

use super::*;
use crate::diagnostic::Source;
use crate::order::tests::example;
use crate::planned::lay_out_plainly;

/// An example's job with its boards, and its log's diameter, changed.
fn changed(order: &str) -> (Job, OwnedPlan) {
    let path = format!("{}/examples/jobs/b-01.toml", env!("CARGO_MANIFEST_DIR"));
    let near = Path::new(&path).parent().unwrap();
    let source = Source::new(
        &path,
        format!(
            "mill = \"../mills/powered-165.toml\"\n[log]\nname = \"round\"\nspecies = \"western larch\"\nlength = \"3.6 m\"\n\
             small_end = \"400 mm\"\nbutt = \"400 mm\"\nbutt_at = \"far\"\n\
             [setting]\nnear_end_at = \"0.6 m\"\n{order}"
        ),
    );
    let read = crate::job::read(&source, &|mill| std::fs::read_to_string(near.join(mill)));
    let said = read.rendered();
    let job = read.job.unwrap_or_else(|| panic!("{said}"));
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = best(&job, &setup).unwrap().plan;
    (job, plan)
}

/// One board as high as it can be: right under the top would lie a sheet.
#[test]
fn the_first_slab_is_no_sheet() {
    for width in (30..=130).step_by(5) {
        let order = format!(
            "[[board]]\nname = \"p\"\nthickness = \"45 mm\"\nwidth = \"{width} mm\"\nlengths = [\"3.5 m\"]\n\
             price = {{ each = 5 }}\n"
        );
        let (job, plan) = changed(&order);
        let top = Setup::new(&job.mill, &job.log).unwrap().shape.bounds().height.hi;
        let over = top - plan.layers[0].floor - job.mill.blade.kerf;
        assert!(over <= Length::ZERO || over >= Length::mm(3), "{width}: {over}");
    }
}

/// Two products are limited, and the across axis ends 90 mm beside the bed's centre line: at prices alone far more stacks look
/// promising than there is memory for.
#[test]
fn limits_on_a_narrow_mill_are_proven_too() {
    let mut job = example("oak-14");
    job.mill.across.max = Position::mm(90);
    job.step = Length::mm(1);
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let found = best(&job, &setup).unwrap().found;
    assert_eq!(found.worth, found.bound, "{found:?}");
    // At the prices alone it took 12 680.
    assert!(found.stacks < 3_000, "{found:?}");
}

/// Boards that lean otherwise lie as if the layout had been looked for with that lean.
#[test]
fn a_layout_leans_anew_as_if_it_were_looked_for_anew() {
    let mut moved = 0;
    for name in ["a-02", "g-04", "oak-14", "p-07"] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let middle = best(&job, &setup).unwrap();
        for lean in [Lean::Entry, Lean::Exit] {
            let wishes = Wishes {
                leans: vec![lean; middle.floors.len()],
                ..Wishes::of(&job)
            };
            let anew = best_of(&job, &setup, &wishes, TRIES).unwrap();
            let leant = leant(&job, &setup, &wishes, &middle).unwrap();
            assert_eq!(leant.boards, anew.boards, "{name}");
            assert_eq!((leant.found, &leant.plan), (anew.found, &anew.plan), "{name}");
            moved += usize::from(leant.boards != middle.boards);
        }
    }
    assert!(moved > 0);
}

#[test]
fn no_example_is_worth_less_than_by_the_hand_habit() {
    for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07", "s-11"] {
        let path = format!("{}/examples/jobs/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let source = Source::new(&path, std::fs::read_to_string(&path).unwrap());
        let near = Path::new(&path).parent().unwrap();
        let job = crate::job::read(&source, &|mill| std::fs::read_to_string(near.join(mill)));
        let job = job.job.unwrap();
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let layout = best(&job, &setup).unwrap();
        let plain = worth(&job, &lay_out_plainly(&job, &setup).unwrap());
        assert!(layout.found.worth >= plain, "{name}: {:?} {plain}", layout.found);
        assert_eq!(layout.found.worth, layout.found.bound, "{name}");
        // The cut plan has them all.
        assert_eq!(worth(&job, &layout.plan), layout.found.worth, "{name}");
    }
}

/// Of layouts that bring the same the one with fewest boards is found: of G-04 one of 19 boards, where 28 bring no more.
#[test]
fn of_equal_worth_the_fewest_boards_are_laid_out() {
    let job = example("g-04");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let layout = best(&job, &setup).unwrap();
    assert_eq!((layout.found.worth, layout.boards.len()), (38_540, 19));
}

/// What is told of finer values is what the plain ones come to.
#[test]
fn finer_values_come_back_as_they_were() {
    let line = Line {
        product: 0,
        values: vec![0, 1, 38_540],
        most: None,
    };
    let values = finer(&line, FINER);
    assert_eq!(finer(&line, 1), line.values);
    assert_eq!(
        values
            .iter()
            .map(|value| coarser(*value, FINER))
            .collect::<Vec<_>>(),
        line.values
    );
    // Four thousand boards of the same.
    assert_eq!(coarser(values[1] * 4_000, FINER), 4_000);
    assert_eq!(coarser(values[2] * 4_000, FINER), 38_540 * 4_000);
    assert_eq!((coarser(-FINER, FINER), coarser(7, 1)), (-1, 7));
}

/// Sixteen products of which there are to be few each, in a log that has wood for most of them: thickness, width, how many, price.
const FEW_OF_MANY: [(u32, u32, u32, u32); 16] = [
    (45, 150, 1, 11),
    (25, 150, 2, 8),
    (63, 75, 1, 9),
    (32, 140, 1, 7),
    (75, 75, 1, 13),
    (18, 75, 5, 2),
    (75, 160, 1, 14),
    (25, 115, 2, 4),
    (28, 115, 1, 5),
    (25, 125, 1, 6),
    (22, 90, 2, 5),
    (100, 100, 1, 23),
    (63, 100, 1, 13),
    (22, 100, 2, 3),
    (50, 100, 1, 10),
    (63, 63, 2, 11),
];

/// Where no layer can be full of one product, prices alone find little: 72 % of what none is worth more than.
#[test]
fn few_boards_of_many_products_fill_a_log() {
    let boards = FEW_OF_MANY.iter().enumerate().map(|(at, (thickness, width, most, price))| {
        format!(
            "[[board]]\nname = \"p{at}\"\nthickness = \"{thickness} mm\"\nwidth = \"{width} mm\"\nlengths = [\"3.5 m\"]\n\
             price = {{ each = {price} }}\nmost = {most}\n"
        )
    });
    let (mut job, _) = changed(&boards.collect::<String>());
    job.step = Length::mm(8);
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let found = best(&job, &setup).unwrap().found;
    let share = found.worth * 100 / found.bound;
    assert!((80..=100).contains(&share), "{found:?}");
}
