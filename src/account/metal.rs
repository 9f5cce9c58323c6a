//! Metal in the log: where it is, how near a kerf comes, and what it ends up in.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Apart, kerf_box};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Owner, Stock};
use bunkside_protocol::{Length, Move};
use serde::Serialize;

use crate::measure::System;
use crate::trace::Trace;

/// A place with metal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Metal {
    /// Its number in the job, from 1.
    pub metal: usize,
    /// Where it begins and ends, from the log's near end.
    pub along_um: [Length; 2],
    /// From where to where across, from the bed's centre line; the entry side is negative.
    pub across_um: [Length; 2],
    /// From where to where above the bed.
    pub height_um: [Length; 2],
    /// How far every kerf has to stay off it, across and in height.
    pub clear_um: [Length; 2],
    /// The kerf that comes nearest while it is in the log; none where no kerf was cut.
    pub nearest: Option<NearestKerf>,
    /// Every piece that holds some of it.
    pub pieces: Vec<MetalPiece>,
    /// Whether what is left on the bunks holds some of it.
    pub stays: bool,
}

/// How near a kerf comes to metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct NearestKerf {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// How far off it passes, straight across the gap.
    pub off_um: Length,
}

/// A piece with metal in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MetalPiece {
    /// Its number.
    pub piece: u16,
    /// What the board is called; none where it is no board.
    pub board: Option<String>,
}

impl Metal {
    /// That of the log, with the names of its boards by the numbers of the pieces.
    #[must_use]
    pub fn all(setup: &Setup<'_>, trace: &Trace, board: &dyn Fn(u16) -> Option<String>) -> Vec<Self> {
        let places = setup.log.metal.iter().map(Block::from_record);
        (1..)
            .zip(places)
            .map(|(number, place)| Self::of(setup, trace, (number, place), board))
            .collect()
    }

    fn of(
        setup: &Setup<'_>,
        trace: &Trace,
        (metal, place): (usize, Block),
        board: &dyn Fn(u16) -> Option<String>,
    ) -> Self {
        let kept = Apart::metal(setup.mill);
        let near_end = setup.shape.travel().lo;
        let of = |stretch: Interval| [stretch.lo.from_origin(), stretch.hi.from_origin()];
        Self {
            metal,
            along_um: [place.travel.lo - near_end, place.travel.hi - near_end],
            across_um: of(place.across),
            height_um: of(place.height),
            clear_um: [kept.across, kept.height],
            nearest: nearest(setup, trace, place),
            pieces: pieces(trace, place)
                .into_iter()
                .map(|piece| MetalPiece {
                    piece,
                    board: board(piece),
                })
                .collect(),
            stays: holds(&trace.end, Owner::Body, place),
        }
    }

    /// Where it is: `1.2 to 1.3 m from the near end, 165 to 195 mm to the exit side of the centre line, 100 to 115 mm above the
    /// bed`.
    #[must_use]
    pub fn place_words(&self, system: System) -> String {
        let [low, high] = self.height_um.map(|height| system.size(height));
        format!(
            "{}, {}, {} above the bed",
            self.along_words(system),
            self.across_words(system),
            from_to(&low, &high)
        )
    }

    /// The same along the log; what reaches out beyond its near end is before it.
    #[must_use]
    pub fn along_words(&self, system: System) -> String {
        stretch(self.along_um, system)
    }

    fn across_words(&self, system: System) -> String {
        let [left, right] = self.across_um;
        let size = |length: Length| system.size(length.abs());
        if left >= Length::ZERO {
            let stretch = from_to(&size(left), &size(right));
            format!("{stretch} to the exit side of the centre line")
        } else if right <= Length::ZERO {
            let stretch = from_to(&size(right), &size(left));
            format!("{stretch} to the entry side of the centre line")
        } else {
            format!(
                "from {} on the entry side of the centre line to {} on the exit side",
                size(left),
                size(right)
            )
        }
    }

    /// What keeps off it, and what it ends up in: `every kerf stays 10 mm off it, the nearest, cut 12, 14.5 mm; it comes off in
    /// piece 7`.
    #[must_use]
    pub fn kept_words(&self, system: System) -> String {
        let [across, height] = self.clear_um;
        let mut words = format!("every kerf is to stay {} off it", system.size(across.max(height)));
        if let Some(nearest) = self.nearest {
            let off = if nearest.off_um == Length::ZERO {
                "runs into it".to_owned()
            } else {
                format!("passes {} off", system.size(nearest.off_um))
            };
            words.push_str(&format!(", the nearest, cut {}, {off}", nearest.cut));
        }
        for one in &self.pieces {
            match &one.board {
                Some(board) => words.push_str(&format!(
                    "; piece {}, {board}, is a board with metal in it: mark it, before any saw or planer meets it",
                    one.piece
                )),
                None => words.push_str(&format!("; it comes off in piece {}, which is no board", one.piece)),
            }
        }
        if self.stays {
            words.push_str("; it stays in what is left on the bunks");
        }
        words
    }

    /// Both.
    #[must_use]
    pub fn words(&self, system: System) -> String {
        format!("{}; {}", self.place_words(system), self.kept_words(system))
    }
}

/// From where to where along the log: `1.2 to 1.3 m from the near end`.
fn stretch(along: [Length; 2], system: System) -> String {
    let [from, to] = along.map(|along| system.run(along.abs()));
    match along.map(|along| along < Length::ZERO) {
        [_, true] => format!("{} before the near end", from_to(&to, &from)),
        [true, false] => format!("{from} before the near end to {to} from it"),
        [false, false] => format!("{} from the near end", from_to(&from, &to)),
    }
}

/// Two figures of one unit: `1.2 to 1.3 m`.
fn from_to(from: &str, to: &str) -> String {
    let unit = [" mm", " m", " in"].into_iter().find(|unit| to.ends_with(unit));
    let bare = unit.map_or(from, |unit| from.strip_suffix(unit).unwrap_or(from));
    format!("{bare} to {to}")
}

/// The numbers of the places with metal, from 1, of which wood of one owner holds some.
#[must_use]
pub fn held_by(setup: &Setup<'_>, stock: &Stock, owner: Owner) -> Vec<usize> {
    let places = setup.log.metal.iter().map(Block::from_record);
    let held = (1..).zip(places).filter(|(_, place)| holds(stock, owner, *place));
    held.map(|(number, _)| number).collect()
}

/// Whether some of a place lies in wood of one owner.
fn holds(stock: &Stock, owner: Owner, place: Block) -> bool {
    cells(stock, place).any(|one| one == owner)
}

/// Whose wood a place lies in.
fn cells(stock: &Stock, place: Block) -> impl Iterator<Item = Owner> + '_ {
    stock.cells().filter_map(move |(cell, height)| {
        let block = Block {
            travel: cell.travel,
            across: cell.across,
            height,
        };
        block.overlaps(solid(place)).then_some(cell.owner)
    })
}

/// A place with metal as a box that has some size.
fn solid(place: Block) -> Block {
    place.grown(Length::um(1))
}

/// Whether some of a place is still in the log, or in a piece that lies on it.
#[must_use]
pub fn still_there(stock: &Stock, place: Block) -> bool {
    cells(stock, place).next().is_some()
}

/// The pieces that hold some of it, in the order they come off.
fn pieces(trace: &Trace, place: Block) -> Vec<u16> {
    let mut pieces = Vec::new();
    for (number, traced) in trace.moves.iter().enumerate() {
        let after = trace
            .moves
            .get(number + 1)
            .map_or(&trace.end, |next| &next.before);
        let freed = traced.freed.iter();
        let held = freed.filter(|piece| holds(after, Owner::Piece(piece.id), place));
        pieces.extend(held.map(|piece| piece.serial));
    }
    pieces
}

/// The kerf that comes nearest to a place while wood still holds it.
fn nearest(setup: &Setup<'_>, trace: &Trace, place: Block) -> Option<NearestKerf> {
    let cuts = trace
        .moves
        .iter()
        .filter(|traced| matches!(traced.step.told, Move::Cut(_)));
    let mut nearest: Option<NearestKerf> = None;
    for (cut, traced) in (1..).zip(cuts) {
        let met = traced.step.cut.and_then(|facts| facts.met);
        if met.is_none() || !still_there(&traced.before, place) {
            continue;
        }
        let kerf = kerf_box(setup.mill, &traced.step.before, Interval::ALL);
        let across = gap(kerf.across, place.across);
        let height = gap(kerf.height, place.height);
        let off_um = Length::um(libm::hypot(across, height) as i64);
        if nearest.is_none_or(|known| off_um < known.off_um) {
            nearest = Some(NearestKerf { cut, off_um });
        }
    }
    nearest
}

/// How far two stretches are apart, micrometres.
fn gap(one: Interval, other: Interval) -> f64 {
    let gap = (other.lo - one.hi).max(one.lo - other.hi).max(Length::ZERO);
    f64::from(gap.as_um())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_before_the_near_end_has_no_length_below_nothing() {
        let told = |from, to| stretch([from, to].map(Length::mm), System::Metric);
        assert_eq!(told(1_200, 1_300), "1.2 to 1.3 m from the near end");
        assert_eq!(told(-40, 60), "0.04 m before the near end to 0.06 m from it");
        assert_eq!(told(-140, -40), "0.04 to 0.14 m before the near end");
    }
}
