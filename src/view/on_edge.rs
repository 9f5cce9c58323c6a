//! Pieces that stand on edge where they have come free, and may fall over.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Pick, Piece};
use bunkside_protocol::{Length, Position};

use crate::account::table::listed;
use crate::measure::System;
use crate::trace::Traced;

/// A piece so many times as high as it is wide is told of.
const SLENDER: i32 = 2;

/// How far everybody keeps off one: our judgement, no source.
const CLEAR: Length = Length::mm(1_000);

fn sides(piece: &Piece) -> (Length, Length) {
    (piece.bounds.height.length(), piece.bounds.across.length())
}

/// Whether a piece is so much higher than wide.
pub(super) fn is_slender(piece: &Piece) -> bool {
    let (high, wide) = sides(piece);
    high >= wide.times(SLENDER)
}

/// Those that stand so and have not gone over, by their numbers.
fn standing<'p>(pieces: &'p [Piece], gone_over: &[u16]) -> Vec<&'p Piece> {
    let stands = |piece: &&Piece| is_slender(piece) && !gone_over.contains(&piece.serial);
    let mut standing: Vec<&Piece> = pieces.iter().filter(stands).collect();
    standing.sort_by_key(|piece| piece.serial);
    standing
}

/// That pieces stand on edge, and how high on how little; none where none does. One that has gone over, by its number, does not.
pub(super) fn on_edge(pieces: &[Piece], gone_over: &[u16], system: System) -> Option<String> {
    let standing = standing(pieces, gone_over);
    let numbers: Vec<String> = standing.iter().map(|piece| piece.serial.to_string()).collect();
    let highest = standing.iter().map(|piece| sides(piece)).reduce(|most, one| {
        // What is the more slender goes over first.
        let more = |(high, wide): (Length, Length), (than_high, than_wide): (Length, Length)| {
            high.wide() * than_wide.wide() > than_high.wide() * wide.wide()
        };
        if more(one, most) { one } else { most }
    })?;
    let (high, wide) = (system.size(highest.0), system.size(highest.1));
    let clear = system.run(CLEAR);
    Some(match numbers.as_slice() {
        [one] => format!(
            "Piece {one} stands loose on edge, {high} high and {wide} wide, and may fall over: stay {clear} off it but to take hold of it."
        ),
        more => format!(
            "Pieces {} stand loose on edge, up to {high} high and {wide} wide, and may fall over: stay {clear} off them but to take hold of them.",
            listed(more)
        ),
    })
}

/// The pieces that a cut frees beside which nothing stands on the exit side: what is on edge there may fall to whoever pushes.
pub(super) fn open_to_exit(setup: &Setup<'_>, traced: &Traced) -> Vec<Piece> {
    let kerf = setup.mill.blade.kerf;
    let open = |piece: &&Piece| {
        let beside = Block {
            across: Interval::new(piece.bounds.across.hi + kerf, Position::MAX),
            ..piece.bounds
        };
        let stands = traced.before.touched(&setup.shape, beside, Pick::Any, false);
        stands.is_none()
    };
    traced.freed.iter().filter(open).copied().collect()
}

/// How far whoever pushes a carriage keeps off what comes free on edge at a cut; none where nothing does.
pub(super) fn push_from_afar(pieces: &[Piece], gone_over: &[u16], system: System) -> Option<String> {
    let standing = standing(pieces, gone_over);
    let numbers: Vec<String> = standing.iter().map(|piece| piece.serial.to_string()).collect();
    let what = match numbers.as_slice() {
        [] => return None,
        [one] => format!("Piece {one}"),
        more => format!("Pieces {}", listed(more)),
    };
    Some(format!(
        " {what} may fall over towards you as the blade leaves the wood: push the end of this stroke from {} off or more; where the \
         carriage gives you no hold so far off, have what comes free held, or leave this cut.",
        system.run(CLEAR)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_planner::stock::Edge;

    fn piece(serial: u16, wide: i32, high: i32) -> Piece {
        let side = |length: i32| Interval::new(Position::ZERO, Position::mm(length));
        let bounds = Block {
            travel: side(3_000),
            across: side(wide),
            height: side(high),
        };
        Piece {
            id: 0,
            serial,
            bounds,
            entry: Edge::Sawn,
            exit: Edge::Sawn,
            bark_edge: false,
        }
    }

    /// What has gone over lies, and nothing else that is low falls.
    #[test]
    fn whoever_pushes_keeps_off_what_stands_on_edge() {
        let told = |pieces: &[Piece], gone: &[u16]| push_from_afar(pieces, gone, System::Metric);
        let edge = [piece(5, 68, 140), piece(6, 140, 50), piece(4, 20, 140)];
        let both = told(&edge, &[]).unwrap();
        assert!(
            both.starts_with(" Pieces 4 and 5 may fall over towards you"),
            "{both}"
        );
        assert!(both.contains("from 1.0 m off or more"), "{both}");
        assert!(told(&edge, &[4]).unwrap().starts_with(" Piece 5 may"));
        assert_eq!(told(&edge, &[4, 5]), None);
    }

    #[test]
    fn what_is_twice_as_high_as_wide_is_told_of() {
        let told = |pieces: &[Piece]| on_edge(pieces, &[], System::Metric);
        assert_eq!(told(&[piece(1, 50, 99), piece(2, 140, 50)]), None);
        let one = told(&[piece(1, 50, 100), piece(2, 140, 50)]).unwrap();
        assert!(
            one.starts_with("Piece 1 stands loose on edge, 100 mm high and 50 mm wide"),
            "{one}"
        );
        let gone = [piece(1, 50, 100), piece(2, 50, 100)];
        let left = on_edge(&gone, &[1], System::Metric).unwrap();
        assert!(left.starts_with("Piece 2 stands"), "1 lies on the ground: {left}");
        assert_eq!(on_edge(&gone, &[1, 2], System::Metric), None);
        let two = told(&[piece(7, 20, 140), piece(3, 60, 130)]).unwrap();
        assert!(
            two.starts_with("Pieces 3 and 7 stand loose on edge, up to 140 mm high and 20 mm wide"),
            "{two}"
        );
    }
}
