//! Every cut of a run.

use bunkside_planner::stock::Piece;
use bunkside_protocol::{Angle, Feed, Length, Move, Position, Speed, Stroke};
use serde::Serialize;

use super::bark::edge;
use super::hangs::left;
use super::table::{Side, Table};
use crate::measure::System;
use crate::trace::{Trace, Traced};

/// One cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutEntry {
    /// Its number among the cuts, from 1.
    pub cut: u32,
    /// Its number among the moves, from 0.
    #[serde(rename = "move")]
    pub index: u16,
    /// How the blade stands.
    pub angle: Angle,
    /// Which way the carriage runs; none where it stands.
    pub stroke: Option<Stroke>,
    /// What the cut really is.
    pub feed: Option<Feed>,
    /// Where the corner stands across.
    pub across_um: Position,
    /// Where the corner stands in height.
    pub height_um: Position,
    /// Fresh wood under the rim at the worst place; none where the stroke could not be judged.
    pub depth_um: Option<Length>,
    /// Wood over the kerf at the worst place, earlier kerfs included.
    pub cover_um: Option<Length>,
    /// How long it runs in fresh wood.
    pub length_um: Length,
    /// Feed in wood.
    pub speed_um_per_s: Speed,
    /// What it freed.
    pub freed: Vec<PieceEntry>,
    /// What comes free or hangs by little wood: nobody can say which.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub hanging: Vec<PieceEntry>,
    /// Of what it freed or left hanging by little wood, in words.
    #[serde(skip)]
    pub hangs: Option<String>,
}

/// One free piece, by the box that its wood fills.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PieceEntry {
    /// Its number in the order the pieces come off, from 1.
    pub piece: u16,
    /// Across.
    pub width_um: Length,
    /// Up.
    pub height_um: Length,
    /// Along.
    pub length_um: Length,
    /// Whether it lacks wood at any corner: wane, or bark.
    pub bark_edge: bool,
    /// What it weighs with its bark, as dense as the log.
    pub mass_kg: f64,
}

impl PieceEntry {
    /// What a move freed.
    #[must_use]
    pub fn all(traced: &Traced) -> Vec<Self> {
        let pieces = traced.freed.iter().zip(&traced.freed_kg);
        pieces.map(|(piece, mass_kg)| Self::of(piece, *mass_kg)).collect()
    }

    fn of(piece: &Piece, mass_kg: f64) -> Self {
        Self {
            piece: piece.serial,
            width_um: piece.bounds.across.length(),
            height_um: piece.bounds.height.length(),
            length_um: piece.bounds.travel.length(),
            bark_edge: piece.bark_edge,
            mass_kg,
        }
    }

    /// Number and size in words, from a log in such bark: `3: 145.4 x 50 mm, bark edge`.
    #[must_use]
    pub fn words(&self, bark: Length, system: System) -> String {
        let size = self.size(system);
        if self.bark_edge {
            format!("{}: {size}, {}", self.piece, edge(bark))
        } else {
            format!("{}: {size}", self.piece)
        }
    }

    /// Width and height: `145.4 x 50 mm`.
    #[must_use]
    pub fn size(&self, system: System) -> String {
        times(system, self.width_um, self.height_um)
    }
}

/// Two sizes with one unit: `145.4 x 50 mm`, `5 1/2 x 2 in`.
#[must_use]
pub fn times(system: System, one: Length, other: Length) -> String {
    let (one, other) = (system.size(one), system.size(other));
    let bare = one.trim_end_matches(" mm").trim_end_matches(" in");
    format!("{bare} x {other}")
}

/// The cuts of a run, also one that could not be judged.
#[must_use]
pub fn cuts(trace: &Trace) -> Vec<CutEntry> {
    let cuts = trace.moves.iter().filter_map(|traced| match traced.step.told {
        Move::Cut(cut) => Some((traced, cut.speed)),
        _ => None,
    });
    (1..)
        .zip(cuts)
        .map(|(number, (traced, speed))| entry(number, traced, speed))
        .collect()
}

fn entry(cut: u32, traced: &Traced, speed: Speed) -> CutEntry {
    let (step, facts) = (&traced.step, traced.step.cut);
    let met = facts.and_then(|facts| facts.met);
    CutEntry {
        cut,
        index: step.index,
        angle: step.before.angle,
        stroke: step.stroke,
        feed: step.feed,
        across_um: step.before.across,
        height_um: step.before.height,
        depth_um: facts.map(|facts| facts.bite),
        cover_um: facts.map(|facts| facts.cover),
        length_um: met.map_or(Length::ZERO, |met| met.travel.length()),
        speed_um_per_s: speed,
        freed: PieceEntry::all(traced),
        hanging: traced
            .hanging
            .iter()
            .map(|part| PieceEntry::of(&part.piece, part.mass_kg))
            .collect(),
        hangs: left(traced),
    }
}

/// How the blade stands, in words.
#[must_use]
pub const fn angle_words(angle: Angle) -> &'static str {
    match angle {
        Angle::Flat => "flat",
        Angle::Upright => "upright",
    }
}

/// Stroke and feed, always together.
#[must_use]
pub const fn stroke_words(stroke: Option<Stroke>, feed: Option<Feed>) -> &'static str {
    match (stroke, feed) {
        (Some(Stroke::Outbound), Some(Feed::Climb)) => "outbound, climbing",
        (Some(Stroke::Outbound), Some(Feed::Forward)) => "outbound, forward feed",
        (Some(Stroke::Homebound), Some(Feed::Climb)) => "homebound, climbing",
        (Some(Stroke::Homebound), Some(Feed::Forward)) => "homebound, forward feed",
        (Some(Stroke::Outbound), None) => "outbound",
        (Some(Stroke::Homebound), None) => "homebound",
        (None, _) => "stands still",
    }
}

/// The cuts as a table, of a log in such bark.
#[must_use]
pub fn table(cuts: &[CutEntry], bark: Length, system: System) -> Table {
    let mut table = Table::new(&[
        ("cut", Side::Right),
        ("move", Side::Right),
        ("blade", Side::Left),
        ("stroke and feed", Side::Left),
        ("across", Side::Right),
        ("height", Side::Right),
        ("depth", Side::Right),
        ("frees", Side::Left),
    ]);
    for cut in cuts {
        let freed = cut.freed.iter().map(|piece| piece.words(bark, system));
        let freed: Vec<String> = freed.chain(cut.hangs.clone()).collect();
        table.row([
            cut.cut.to_string(),
            cut.index.to_string(),
            angle_words(cut.angle).to_owned(),
            stroke_words(cut.stroke, cut.feed).to_owned(),
            system.size(cut.across_um.from_origin()),
            system.size(cut.height_um.from_origin()),
            match cut.depth_um {
                None => "not judged".to_owned(),
                Some(Length::ZERO) => "air".to_owned(),
                Some(depth) => system.size(depth),
            },
            freed.join("; "),
        ]);
    }
    table
}
