//! Bunk by bunk: what to pack, what to leave open, and what cannot be set so.

use bunkside_planner::limits::SEAT;
use bunkside_planner::physics::support::{self, Flaw, carrying, packing, short_of_edges};
use bunkside_planner::physics::wedges;
use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Length, Position};
use serde::Serialize;

/// What a bunk is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The log's weight lies on it: the outermost two.
    Carries,
    /// It stands between those that carry, and is packed up to the log and wedged once it lies on them.
    Between,
}

/// How the log lies over a bunk when it is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lies {
    /// On its top, as nearly as a tape tells.
    OnIt,
    /// Above it, within what can be packed.
    Above,
    /// Further above it than can be packed.
    TooHigh,
    /// It would have to lie in it.
    Sunk,
}

/// One bunk under the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct BunkRow {
    /// Its number on the mill, from 1.
    pub bunk: usize,
    /// Its middle along the rails.
    pub at_um: Position,
    /// The same from the log's near end.
    pub from_near_end_um: Length,
    /// What it is there for.
    pub role: Role,
    /// How the log lies over it.
    pub lies: Lies,
    /// From its top up to the bark: what is packed on one that carries. Below zero where the log would lie in it.
    pub gap_um: Length,
    /// From its top up to the wood under the bark.
    pub wood_um: Length,
    /// The most that packing and wedges can make up.
    pub most_um: Length,
    /// How wide the bunk is along the rails: so long is the foot of a pack on it.
    pub wide_um: Length,
    /// How high above the bed wedges rise here: they stand on the bunk, or on what is packed on it. None where there are none.
    pub wedge_top_um: Option<Position>,
    /// How much of its width lies beyond the log's end: of one that carries. None where nothing does.
    pub bare_um: Option<Length>,
    /// How far the log is shifted to lie over all of it, outbound above zero; none where it need not, or where the other end would
    /// then stop short.
    pub shift_um: Option<Length>,
    /// Whether the log lies on it with a face that was sawn before, as wide as wedges would stand apart: it needs none there.
    pub on_face: bool,
    /// Where the log's lowest line crosses it: across, from the bed's centre line.
    pub lowest_across_um: Position,
}

/// The bunks under the log, by rising travel.
#[must_use]
pub fn rows(setup: &Setup<'_>) -> Vec<BunkRow> {
    let bunks = &setup.mill.bunks;
    let numbered = carrying(setup.mill, &setup.shape)
        .filter_map(|bunk| Some((bunks.iter().position(|one| one == bunk)? + 1, bunk)));
    let mut rows: Vec<BunkRow> = numbered
        .filter_map(|(number, bunk)| row(setup, number, bunk))
        .collect();
    let last = rows.len().saturating_sub(1);
    let [near, far] = short_of_edges(setup.mill, &setup.shape).unwrap_or_default();
    for (at, row) in rows.iter_mut().enumerate() {
        if at == 0 || at == last {
            row.role = Role::Carries;
        }
        for (is, short, out) in [(at == 0, near, -1), (at == last, far, 1)] {
            if is && short > Length::ZERO {
                row.bare_um = Some(short);
                row.shift_um = (near + far <= Length::ZERO).then(|| short.times(out));
            }
        }
    }
    rows
}

fn row(setup: &Setup<'_>, number: usize, bunk: &Bunk) -> Option<BunkRow> {
    let shape = &setup.shape;
    let gap = packing(bunk, shape)?;
    let (_, wood) = shape.undersides(bunk.travel)?;
    let most = support::most_packed(setup.mill, bunk);
    let lies = if gap > most {
        Lies::TooHigh
    } else if gap < -SEAT {
        Lies::Sunk
    } else if gap > SEAT {
        Lies::Above
    } else {
        Lies::OnIt
    };
    Some(BunkRow {
        bunk: number,
        at_um: bunk.travel,
        from_near_end_um: bunk.travel - shape.travel().lo,
        role: Role::Between,
        lies,
        gap_um: gap,
        wood_um: wood - bunk.top,
        most_um: most,
        wide_um: support::foot(bunk),
        bare_um: None,
        shift_um: None,
        wedge_top_um: wedges::top(setup.mill, bunk, shape),
        on_face: wedges::flat(setup.mill, shape, bunk.travel).is_some(),
        lowest_across_um: shape.rough_at(bunk.travel)?.lowest_across(),
    })
}

/// What is wrong with how the log would lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FlawKind {
    /// Fewer than two bunks carry it.
    Bunks,
    /// Two that carry it stand too far apart.
    Spacing,
    /// Too much of it lies beyond the last one.
    Overhang,
    /// It lies higher above one than can be packed.
    Packing,
    /// The pack on one would be so high that it falls over.
    Pile,
    /// It would lie in one.
    Sunk,
    /// It balances beyond them.
    Tips,
}

/// One thing that is wrong with how the log would lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct FlawRow {
    /// What it is.
    pub kind: FlawKind,
    /// How far; none for [`FlawKind::Bunks`] and [`FlawKind::Tips`].
    pub um: Option<Length>,
    /// The limit it is held against; none where there is no `um`.
    pub limit_um: Option<Length>,
}

/// What rule `support` refuses of how the log lies, before anything is cut.
pub(super) fn flaws(setup: &Setup<'_>) -> Vec<FlawRow> {
    let mill = setup.mill;
    let mut rows = Vec::new();
    support::flaws(mill, setup.log, &setup.shape, &mut |flaw| {
        let (kind, figures) = match flaw {
            Flaw::Bunks(_) => (FlawKind::Bunks, None),
            Flaw::Spacing(apart) => (FlawKind::Spacing, Some((apart, mill.support.spacing))),
            Flaw::Overhang(beyond) => (FlawKind::Overhang, Some((beyond, mill.support.overhang))),
            Flaw::Packing(high) => (FlawKind::Packing, Some((high, mill.wedges.packing))),
            Flaw::Pile(high, most) => (FlawKind::Pile, Some((high, most))),
            Flaw::Sunk(low) => (FlawKind::Sunk, Some((low, Length::ZERO))),
            Flaw::Tips => (FlawKind::Tips, None),
        };
        let (um, limit_um) = figures.unzip();
        rows.push(FlawRow { kind, um, limit_um });
    });
    rows
}
