use super::*;
use crate::layout::best;
use crate::order::tests::example;

/// Every one is another layout, none brings more than the best, and each is of the kind that is told.
#[test]
fn others_differ_bring_no_more_and_are_of_their_kind() {
    let mut kinds = [0; 4];
    for name in ["a-02", "e-09", "g-04", "oak-14", "p-07", "s-11"] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let best = best(&job, &setup).unwrap();
        let mut makes = vec![Make::of(&best.boards)];
        for other in others(&job, &setup, &best, false) {
            let make = Make::of(&other.layout.boards);
            assert!(!makes.contains(&make), "{name}: {:?}", other.kind);
            assert!(
                other.brings <= best.found.worth && other.brings <= other.bound,
                "{name}"
            );
            let kind = match other.kind {
                Kind::WithoutLayer(height) => {
                    assert!(!make.layers.contains_key(&height), "{name}: {height}");
                    0
                }
                Kind::WithoutProduct(product) => {
                    assert_eq!(count(&other.layout, product), 0, "{name}");
                    1
                }
                Kind::Fewer(boards) => {
                    assert_eq!(number(&other.layout), i64::from(boards), "{name}");
                    2
                }
                Kind::Owed => {
                    let missing = |layout: &Layout| -> u32 {
                        let boards = (0..).zip(&job.boards);
                        boards
                            .map(|(product, board)| board.least.saturating_sub(count(layout, product)))
                            .sum()
                    };
                    assert!(missing(&other.layout) < missing(&best), "{name}");
                    3
                }
            };
            kinds[kind] += 1;
            makes.push(make);
        }
    }
    assert!(kinds.iter().all(|seen| *seen > 1), "{kinds:?}");
}

/// Where it is asked, every one can be sawn by rule of thumb.
#[test]
fn others_can_be_sawn_where_that_is_asked() {
    let mut seen = 0;
    for name in ["g-04", "p-07", "s-11"] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let best = best(&job, &setup).unwrap();
        for other in others(&job, &setup, &best, true) {
            let planned = crate::planned::Planned::new(&job, &setup, &other.layout.plan).unwrap();
            assert_ne!(
                planned.trace.verdict,
                bunkside_planner::audit::Verdict::Refused,
                "{name}: {:?}",
                other.kind
            );
            seen += 1;
        }
    }
    assert!(seen > 5, "{seen}");
}
