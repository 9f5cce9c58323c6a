//! # thin-wood
//!
//! **Guards** against laths and skins that whip beside the turning blade, break off and are thrown. **Trips when** a cut
//! leaves wood of the log too thin between its kerf and the air, sawn on both faces, and 30 mm or more of it lie along the
//! kerf's face, up an upright one or across a flat one. Too thin is less than 3 mm, and less than the cube root of 0.02 mm × the
//! square of how far it reaches: 7.5 mm for 144 mm, 9.3 mm for 200 mm, which a push of 10 N moves by 2 mm ([`Slender`]); and
//! what both kerfs may be off comes on top. It trips too when a cut frees a piece, sawn on both its upright sides, that stands
//! more than eight times as high as it is wide: that topples into the blade. It warns of one more than four times as high as it is
//! wide beside another such one that lies there still, for they lean against each other, and of a side, sawn on one side only, that
//! balances less than 1 in 8 from the edge of what it stands on, at that side: it may go over either way. And it trips when a
//! cut leaves a part hanging by so little wood, 3 mm or more, that the part's own weight bends it with more than 2 N/mm²: 3 ρ g
//! w² h ÷ t² where it is `w` wide and `h` high and held at its edge by `t`, all along, less where it does not fill its box
//! ([`Neck`](crate::stock::Neck)); at 900 kg/m³ a part of 144 by 134 mm asks for 6 mm of wood, one of 450 by 330 mm for 30 mm.
//! It warns where a cut frees wood less than 3 mm thick, what both kerfs may be off on top, and at least 30 mm wide or high, and
//! where there is nothing but bark beyond a kerf, 10 mm thick or more: that comes loose as a sheet, which is no piece of anybody's
//! and is unloaded at no hold.
//! **Clears when** the kerf takes such wood or leaves more, or goes through; the piece is freed lower, wider or lying; the log
//! is peeled. **Does not cover** skins under a natural face, which run out to nothing at their edges as slabs do; nor wood that
//! two strokes which stop in the log part between them into strips less than 30 mm wide each; nor flaps that hang on at one end
//! of the log only, by more; nor a shaving that an upright or flat stroke takes beside an open kerf, where the plate is pushed from
//! one side only and may wander into it; nor a sheet of bark that a later stroke meets.

use bunkside_protocol::{Angle, Length};

use super::bark::sheet_of_bark;
use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::{LIGAMENT, SHEET_WIDE};
use crate::physics::falling::leans;
use crate::stock::{Piece, Slender};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "thin-wood",
    title: "no cut leaves a lath or a skin standing beside its kerf",
    reason: "thin wood whips beside the turning blade, breaks off and is thrown",
    basis: Basis::Practice,
    check,
};

const STANDS: &str =
    "let the kerf take it, or leave more: a lath or skin this thin breaks off beside the blade";
const FREE: &str = "thin wood breaks off and is thrown: stand clear, or let the kerf take it or leave more";

const HANGS: &str = "so little wood does not bear the part that hangs by it: leave more, or go through";

const TOPPLES: &str = "it comes free standing on so narrow a foot that it topples into the blade: saw it lying, lower, or wider";

const BESIDE: &str = "pieces come free side by side, each on a narrow foot: they lean against one another and may go over into the blade; free one and unload it before the next, or saw them lying";

const LEANS: &str = "this side comes free standing on so narrow a foot that it may go over, into the blade too: stand clear, and lay it down at the next hold before anything is sawn beside it";

/// What is said of a sheet of bark: the order of cuts changes nothing about it.
pub const BARK: &str = "a sheet of bark alone comes loose here, and no hold unloads it: stand clear, and clear it away at the next hold, before the blade passes under or over it; or peel the log";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if let Some(bark) = sheet_of_bark(situation) {
        let found = Measure::Told(bark.thick, "of bark alone");
        object(Objection::warn(found, Measure::State("bark on wood"), BARK));
    }
    if facts.met.is_none() {
        return;
    }
    let thick = |thin: Length| Measure::Told(thin, "thick");
    let (after, shape) = (situation.after, &situation.setup.shape);
    let angle = step.before.angle;
    let slender = Slender::between(situation.setup.mill, angle);
    if let Some(thin) = after.thin_beside(shape, facts.kerf, angle, slender) {
        let least = Measure::Length(slender.least(thin.reach));
        object(Objection::refuse(thick(thin.thick), least, STANDS));
    }
    if let Some(neck) = after.neck(shape, situation.setup.log.density, LIGAMENT) {
        let by = Measure::Told(neck.thick, "that a part hangs by");
        object(Objection::refuse(by, Measure::Length(neck.asks), HANGS));
    }
    let stands = situation.freed().iter().filter_map(Piece::topples);
    if let Some((high, most)) = stands.max_by_key(|(high, most)| *high - *most) {
        let most = Measure::Length(most);
        object(Objection::refuse(Measure::Told(high, "high"), most, TOPPLES));
    }
    let beside = situation
        .freed()
        .iter()
        .filter_map(|piece| piece.leans_on_any(after.pieces()));
    if let Some((high, most)) = beside.max_by_key(|(high, most)| *high - *most) {
        let found = Measure::Told(high, "high beside another");
        object(Objection::warn(found, Measure::Length(most), BESIDE));
    }
    let sides = situation
        .freed()
        .iter()
        .filter_map(|piece| leans(situation.setup, after, piece));
    if let Some((high, most)) = sides.max_by_key(|(high, most)| *high - *most) {
        let most = Measure::Length(most);
        object(Objection::warn(Measure::Told(high, "high"), most, LEANS));
    }
    let least = Angle::ALL.map(|angle| Slender::between(situation.setup.mill, angle).least_free());
    let sides = situation.freed().iter().map(|piece| {
        let (across, height) = (piece.bounds.across.length(), piece.bounds.height.length());
        let [flat, upright] = least;
        if across < height {
            (across, height, upright)
        } else {
            (height, across, flat)
        }
    });
    let sheets = sides.filter(|(thin, wide, least)| thin < least && *wide >= SHEET_WIDE);
    if let Some((thin, _, least)) = sheets.min() {
        object(Objection::warn(thick(thin), Measure::Length(least), FREE));
    }
}

#[cfg(test)]
pub(super) mod tests;
