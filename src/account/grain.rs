//! Whether the rings lie in a board as its size has it.

use std::borrow::Cow;

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Grain, Pith, Side};
use bunkside_planner::plan::Board;
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::boards::{stretch, wrong_size, wrong_wood};
use super::cuts::times;
use super::pieces::Region;
use crate::job::{BoardSpec, Job};
use crate::measure::System;

/// How the rings of a board lie, in a word.
#[must_use]
pub const fn grain_word(grain: Grain) -> &'static str {
    match grain {
        Grain::Mixed => "mixed",
        Grain::Flat => "flat",
        Grain::Quarter => "quarter",
    }
}

/// How the rings lie in a board along a stretch of the log, from side to side and from underside to face.
#[must_use]
pub fn lies(setup: &Setup<'_>, along: Interval, [across, height]: [Interval; 2], on_edge: bool) -> Grain {
    let pith = Pith::along(&setup.shape, along);
    pith.map_or(Side::Any, |pith| pith.side(across, height))
        .grain(on_edge)
}

/// What is wrong with a board of a size that does for such rings only.
pub(super) fn grain(
    (job, setup): (&Job, &Setup<'_>),
    place: &Region,
    (grain, spec): (Grain, &BoardSpec),
    board: Board,
) -> Option<String> {
    if grain == Grain::Mixed {
        return None;
    }
    let along = stretch(job, setup, board.length, board.end);
    // Floors and corners are snapped to the grid.
    let grid = setup.mill.grid;
    let fits = |wide: Length, tall: Length| {
        place.across.length() + grid >= wide && place.height.length() + grid >= tall
    };
    let ways = [
        (false, fits(spec.width, spec.thickness)),
        (true, fits(spec.thickness, spec.width)),
    ];
    let as_told = |(on_edge, fits): (bool, bool)| {
        fits && lies(setup, along, [place.across, place.height], on_edge) == grain
    };
    (!ways.into_iter().any(as_told)).then(|| {
        format!(
            "its rings do not lie {} sawn all over it, as {} would need; it has to be larger there",
            grain_word(grain),
            times(System::of(job.inches), spec.width, spec.thickness)
        )
    })
}

/// A product in the size that a column yields where it lies, the largest that it does; or why it does not count.
pub(crate) fn as_sawn<'s>(
    (job, setup): (&Job, &Setup<'_>),
    region: &Region,
    spec: &'s BoardSpec,
    board: Board,
) -> Result<Cow<'s, BoardSpec>, String> {
    let grid = setup.mill.grid;
    let mut why = None;
    for (grain, [thickness, width]) in spec.sizes() {
        let sized = if grain == Grain::Mixed {
            Cow::Borrowed(spec)
        } else {
            Cow::Owned(BoardSpec {
                thickness,
                width,
                ..spec.clone()
            })
        };
        if let Some(wrong) = wrong_size(job, region, &sized, grid) {
            why.get_or_insert(wrong);
            continue;
        }
        match wrong_wood(job, setup, region, (grain, &sized), board) {
            None => return Ok(sized),
            // Where it is large enough, what else is wrong counts for more.
            Some(wrong) => why = Some(wrong),
        }
    }
    Err(why.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use bunkside_planner::plan::{End, Freeing, Use};
    use bunkside_protocol::Position;

    use super::*;
    use crate::order::tests::example;

    /// What becomes of a column from so far to so far across and up from the log's middle, tenths of a millimetre: its size, or why it
    /// does not count. A deck is 52.4 by 146.7 mm, 52 mm thick where it lies flat sawn, 145.5 mm wide where it lies quarter sawn.
    fn comes(across: [i32; 2], height: [i32; 2]) -> Result<[Length; 2], String> {
        let mut job = example("b-01");
        let um = |tenths: i32| Length::um(i64::from(tenths) * 100);
        let deck = &mut job.boards[0];
        (deck.thickness, deck.width) = (um(524), um(1_467));
        deck.by_grain = [Some([um(520), um(1_467)]), Some([um(524), um(1_455)])];
        let length = deck.lengths[0];
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let mut middle = None;
        setup.shape.any_within(setup.shape.travel(), false, |section| {
            middle = Some((section.centre_across(), section.centre_height()));
            true
        });
        let middle = middle.unwrap();
        let side = |of: Position, [from, to]: [i32; 2]| Interval::new(of + um(from), of + um(to));
        let board = Board {
            product: 0,
            length,
            end: End::Near,
        };
        let region = Region {
            layer: 0,
            column: Some(0),
            across: side(middle.0, across),
            height: side(middle.1, height),
            use_: Use::Board {
                product: 0,
                length,
                end: End::Near,
            },
            freeing: Freeing::Take,
        };
        let sized = as_sawn((&job, &setup), &region, &job.boards[0], board)?;
        Ok([sized.thickness, sized.width])
    }

    /// From the middle two lines climb at 45 degrees: a board 147 mm wide is over both from 74 mm up, and one 52.4 mm high in the
    /// middle's height beside both from 27 mm on..
    #[test]
    fn a_board_is_as_large_as_its_rings_ask_for() {
        let um = |tenths: i64| Length::um(tenths * 100);
        let flat = Ok([um(520), um(1_467)]);
        let quarter = Ok([um(524), um(1_455)]);
        let either = Ok([um(524), um(1_467)]);
        assert_eq!(comes([-733, 734], [850, 1_370]), flat);
        assert_eq!(comes([-733, 734], [-1_370, -850]), flat);
        assert_eq!(comes([-733, 734], [850, 1_374]), either);
        assert_eq!(comes([400, 1_855], [-262, 262]), quarter);
        assert_eq!(comes([-1_855, -400], [-262, 262]), quarter);
        assert_eq!(comes([-733, 734], [-262, 262]), either);
        // On edge it is the other way round.
        assert_eq!(comes([850, 1_370], [-733, 734]), flat);
        assert_eq!(comes([-262, 262], [400, 1_855]), quarter);
        let wrong = "its rings do not lie flat sawn all over it, as 146.7 x 52 mm would need; it has to be larger there";
        assert_eq!(comes([-733, 734], [600, 1_120]), Err(wrong.to_owned()));
        let wrong = wrong
            .replace("flat", "quarter")
            .replace("146.7 x 52 mm", "145.5 x 52.4 mm");
        assert_eq!(comes([100, 1_555], [-262, 262]), Err(wrong));
    }
}
