//! Both ends: where their centres come to lie, and how far each is raised and shifted to get there.
//!
//! Raised: from where the log lies bare on the two bunks that carry it. Shifted: from where its centre lies over the
//! bed's centre line at those two. Both run linearly between and beyond them: the angles are small.

use bunkside_planner::geometry::Section;
use bunkside_planner::limits::SEAT;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, Position};
use serde::Serialize;

use super::{BunkRow, Role};

/// One end of the log as it is to lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct EndRow {
    /// Where it lies along the rails.
    pub at_um: Position,
    /// Its centre above the bed.
    pub centre_height_um: Position,
    /// Its centre from the bed's centre line, towards the exit side.
    pub centre_across_um: Position,
    /// Its lowest point above the bed, over bark.
    pub bottom_um: Position,
    /// Its highest point above the bed, over bark.
    pub top_um: Position,
    /// How far it rises from where the log lies bare on the two bunks that carry it; below zero where it goes down.
    /// None without two such bunks.
    pub raise_um: Option<Length>,
    /// How far it goes towards the exit side from where the log lies centred on those two; below zero towards the
    /// entry side.
    pub shift_um: Option<Length>,
}

/// How far the line through the centres of all sections leaves the straight line between those of the ends, at most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Bow {
    /// Upwards; below zero where it hangs.
    pub up_um: Length,
    /// Towards the exit side.
    pub across_um: Length,
}

/// Near end and far end.
pub(super) fn rows(setup: &Setup<'_>, bunks: &[BunkRow]) -> [EndRow; 2] {
    let ends = setup.shape.travel();
    let pair = carriers(bunks);
    let through = |at: Position, what: &dyn Fn(&BunkRow) -> Option<Length>| {
        let [one, other] = pair?;
        Some(on_line(at, [one.at_um, other.at_um], [what(one)?, what(other)?]))
    };
    [ends.lo, ends.hi].map(|at| {
        let wood = setup.shape.wood_at(at);
        let rough = setup.shape.rough_at(at).map(|section| section.height());
        let zero = Position::ZERO;
        EndRow {
            at_um: at,
            centre_height_um: wood.map_or(zero, |section| section.centre_height()),
            centre_across_um: wood.map_or(zero, |section| section.centre_across()),
            bottom_um: rough.map_or(zero, |height| height.lo),
            top_um: rough.map_or(zero, |height| height.hi),
            raise_um: through(at, &|row| Some(row.gap_um)),
            shift_um: through(at, &|row| {
                let section = setup.shape.wood_at(row.at_um)?;
                Some(section.centre_across().from_origin())
            }),
        }
    })
}

/// The two bunks that carry the log.
fn carriers(bunks: &[BunkRow]) -> Option<[&BunkRow; 2]> {
    let mut carry = bunks.iter().filter(|row| row.role == Role::Carries);
    Some([carry.next()?, carry.next_back()?])
}

/// The bunk between that stands highest over the line on which the log would lie bare, where a tape tells it.
pub(super) fn rocks_on(bunks: &[BunkRow]) -> Option<usize> {
    let [one, other] = carriers(bunks)?;
    let (places, gaps) = ([one.at_um, other.at_um], [one.gap_um, other.gap_um]);
    let over = |row: &BunkRow| on_line(row.at_um, places, gaps) - row.gap_um;
    let between = bunks.iter().filter(|row| row.role == Role::Between);
    let highest = between.max_by_key(|row| over(row))?;
    (over(highest) > SEAT).then_some(highest.bunk)
}

/// What a line through two places has at a third.
fn on_line(at: Position, [from, to]: [Position; 2], [first, last]: [Length; 2]) -> Length {
    let span = (to - from).wide();
    if span == 0 {
        return first;
    }
    let rise = (last - first).wide() * (at - from).wide();
    first + Length::um((2 * rise + span * rise.signum()) / (2 * span))
}

/// The log's bow, up and across.
pub(super) fn bow(setup: &Setup<'_>) -> Bow {
    let sections = setup.shape.wood();
    let (Some(near), Some(far)) = (sections.first(), sections.last()) else {
        return Bow::default();
    };
    let most = |centre: &dyn Fn(&Section) -> Position| {
        let off = |section: &Section| {
            let ends = [near, far].map(|end| centre(end).from_origin());
            let line = on_line(section.travel, [near.travel, far.travel], ends);
            centre(section).from_origin() - line
        };
        sections.iter().map(off).max_by_key(|off| off.abs())
    };
    Bow {
        up_um: most(&Section::centre_height).unwrap_or_default(),
        across_um: most(&Section::centre_across).unwrap_or_default(),
    }
}
