//! What a stroke lets fall: a piece that does not balance on the wood under it.

use bunkside_protocol::mill::{Blade, Power};
use bunkside_protocol::{Angle, Length};
use heapless::Vec;

use crate::geometry::{Block, Interval, Section};
use crate::limits::{FALLS, RUBS, SAMPLES_MAX, STANDS_ALONE};
use crate::replay::Setup;
use crate::stock::{Cell, Edge, Owner, Piece, Stock};

use super::{GRAVITY, body};

/// Which way a piece goes over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// To the entry side.
    Entry,
    /// To the exit side.
    Exit,
    /// Over the near or far end of what lies under it.
    End,
    /// Straight down: nothing is under it.
    Down,
}

impl core::fmt::Display for Over {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Entry => "off the log's entry side",
            Self::Exit => "off the log's exit side",
            Self::End => "over the end of the wood under it",
            Self::Down => "straight down, with no wood under it",
        })
    }
}

/// A piece that lies on too little wood, or on none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Falling {
    /// Its wood and its bark, kilograms; bark counts as heavy as the wood (green bark has 700 to 1000 kg/m³, from memory).
    pub mass_kg: f64,
    /// Which way it goes over.
    pub over: Over,
    /// Whether it balances so far beyond what it lies on that it drops; else it tips.
    pub drops: bool,
    /// From where to where across it stands.
    pub across: Interval,
}

impl Falling {
    /// Whether it is refused because it drops beside an upright kerf.
    #[must_use]
    pub fn drops_too_heavy(&self, setup: &Setup<'_>, angle: Angle) -> bool {
        angle == Angle::Upright && self.drops && self.mass_kg > f64::from(setup.mill.loose.drops)
    }

    /// Whether it is refused: what drops beside an upright kerf, or goes over otherwise, and is heavier than may.
    #[must_use]
    pub fn is_refused(&self, setup: &Setup<'_>, angle: Angle) -> bool {
        self.drops_too_heavy(setup, angle) || self.mass_kg > f64::from(setup.mill.loose.tips)
    }
}

/// A mass in tenths of a kilogram, rounded down.
#[must_use]
#[expect(clippy::as_conversions, reason = "the cast saturates")]
pub fn tenths(mass_kg: f64) -> u32 {
    (mass_kg * 10.0) as u32
}

/// The worst of what a stroke has just freed that goes off the entry side, off the exit side, or neither. None where all lie safe,
/// or weigh no more than [`counts`].
#[must_use]
pub fn worst_each_way(
    setup: &Setup<'_>,
    stock: &Stock,
    angle: Angle,
    freed: &[Piece],
) -> [Option<Falling>; 3] {
    let [mut entry, mut exit, mut neither] = [None; 3];
    for one in freed
        .iter()
        .filter_map(|piece| falling(setup, stock, angle, piece))
    {
        let same = match one.over {
            Over::Entry => &mut entry,
            Over::Exit => &mut exit,
            Over::End | Over::Down => &mut neither,
        };
        *same = worst(setup, angle, [*same, Some(one), None]);
    }
    [entry, exit, neither]
}

/// The worst of these: what is refused, and of an upright stroke what drops before what tips; then the heaviest.
#[must_use]
pub fn worst(setup: &Setup<'_>, angle: Angle, each: [Option<Falling>; 3]) -> Option<Falling> {
    let rank = |one: &Falling| {
        (
            one.drops_too_heavy(setup, angle),
            one.is_refused(setup, angle),
            one.drops && angle == Angle::Upright,
            one.mass_kg,
        )
    };
    let all = each.into_iter().flatten();
    all.reduce(|worst, one| if rank(&one) > rank(&worst) { one } else { worst })
}

/// How high a side is that has just come free and how high it may be, where it stands higher on its foot than that: it balances
/// less than 1 in [`STANDS_ALONE`] from the edge of what it stands on, at the one of its sides that is sawn. Of what is sawn on
/// both, [`Piece::topples`] tells.
#[must_use]
pub fn leans(setup: &Setup<'_>, stock: &Stock, piece: &Piece) -> Option<(Length, Length)> {
    let (wood, high) = (piece.bounds, piece.bounds.height.length());
    let [entry, exit] = [piece.entry, piece.exit].map(|edge| edge != Edge::Natural);
    // A side that is not sawn swells outwards at most: the wood balances a third of its width from the sawn one, or further, and
    // no higher than two thirds up.
    if entry == exit || high <= wood.across.length().times(STANDS_ALONE / 2) {
        return None;
    }
    let solid = body::piece_sliced(&setup.slices, stock, &setup.shape, piece.id);
    let [along, balance, level] = solid.centroid_mm;
    let [lo, hi] = hull(&floors(setup, stock, piece), along)?;
    let up = level - mm(wood.height.lo.as_um());
    // What does not balance on it at all falls.
    if balance < lo || balance > hi {
        return None;
    }
    let near = if entry { balance - lo } else { hi - balance };
    let most = near * f64::from(STANDS_ALONE);
    (most + ROUNDED < up).then(|| (high, Length::um(as_um(mm(high.as_um()) * most / up))))
}

/// Millimetres that stay within rounding.
const ROUNDED: f64 = 1e-3;

/// Millimetres in whole micrometres.
#[expect(clippy::as_conversions, reason = "the cast saturates")]
fn as_um(mm: f64) -> i64 {
    (mm * 1e3 + 0.5) as i64
}

/// What a flat stroke has freed over its kerf, kilograms, bark not counted, where that is more than may lie on the blade: all of
/// it does as the blade runs out.
#[must_use]
pub fn laid_on_blade(setup: &Setup<'_>, stock: &Stock, kerf: Block, freed: &[Piece]) -> Option<f64> {
    let most = f64::from(setup.mill.loose.on_blade);
    let over = || {
        freed
            .iter()
            .filter(|piece| piece.bounds.height.hi > kerf.height.hi)
    };
    let density = setup.log.density;
    // A glance at the boxes around them does for most.
    if over().map(|piece| box_kg(piece.bounds, density)).sum::<f64>() <= most {
        return None;
    }
    let mass =
        |piece: &Piece| body::piece_sliced(&setup.slices, stock, &setup.shape, piece.id).mass_kg(density);
    Some(over().map(mass).sum()).filter(|laid: &f64| *laid > most)
}

/// What the box around a piece would weigh, full of its wood, kilograms.
fn box_kg(wood: Block, density: u16) -> f64 {
    let sides = [wood.travel, wood.across, wood.height].map(|side| f64::from(side.length().as_um()) * 1e-6);
    sides.iter().product::<f64>() * f64::from(density)
}

/// How much may lie on a turning blade that its engine still turns, whole kilograms, rounded down. As the blade runs out from
/// under what it frees, one end of that lies on the floor and the other on the plate: half of the weight rubs there, with a
/// friction of [`RUBS`], at the speed of the rim where it is worst. Rough: the plate is pressed on the floor too, and rubs nearer
/// to the hub, where it runs slower.
#[must_use]
#[expect(clippy::as_conversions, reason = "the cast saturates")]
pub fn turns_under(blade: &Blade, power: &Power) -> u16 {
    let watts = f64::from(power.watts) * f64::from(power.efficiency) / 1000.0;
    let rim = f64::from(blade.rim_speed.as_um_per_s()) * 1e-6;
    (2.0 * watts / (RUBS * GRAVITY * rim)) as u16
}

/// A piece that weighs no more than so many kilograms counts for nothing: over the plate of a flat blade it goes down by and by.
#[must_use]
pub fn counts(setup: &Setup<'_>, angle: Angle) -> f64 {
    match angle {
        Angle::Upright => FALLS,
        Angle::Flat => f64::from(setup.mill.loose.drops.min(setup.mill.loose.tips)),
    }
}

/// What becomes of one piece.
fn falling(setup: &Setup<'_>, stock: &Stock, angle: Angle, piece: &Piece) -> Option<Falling> {
    let (wood, density) = (piece.bounds, setup.log.density);
    let counts = counts(setup, angle);
    let bark = setup.shape.bark();
    let in_bark = Block {
        travel: wood.travel,
        across: wood.across.grown(bark),
        height: wood.height.grown(bark),
    };
    if box_kg(in_bark, density) <= counts || carried(setup, stock, piece) {
        return None;
    }
    let mut solid = body::piece_sliced(&setup.slices, stock, &setup.shape, piece.id);
    solid.volume_mm3 += body::bark_mm3(stock, &setup.shape, piece.id);
    let mass_kg = solid.mass_kg(density);
    if mass_kg <= counts {
        return None;
    }
    let [along, balance, _] = solid.centroid_mm;
    let floors = floors(setup, stock, piece);
    let told = |over, drops| Falling {
        mass_kg,
        over,
        drops,
        across: wood.across,
    };
    if floors.is_empty() {
        return Some(told(Over::Down, true));
    }
    let Some([lo, hi]) = hull(&floors, along) else {
        return Some(told(Over::End, true));
    };
    let (entry, exit) = (lo - balance, balance - hi);
    let (over, beyond) = if entry > exit {
        (Over::Entry, entry)
    } else {
        (Over::Exit, exit)
    };
    let quarter = mm(wood.across.length().as_um()) / 4.0;
    (beyond > 0.0).then_some(told(over, beyond > quarter))
}

/// Whether a piece surely lies on wood from side to side all along: a glance at what is whole down there does for most.
fn carried(setup: &Setup<'_>, stock: &Stock, piece: &Piece) -> bool {
    let (wood, kerf) = (piece.bounds, setup.mill.blade.kerf);
    let own = stock
        .cells()
        .filter(|(cell, height)| cell.owner == Owner::Piece(piece.id) && height.lo <= wood.height.lo);
    let flat = own.map(|(cell, _)| cell.across).reduce(Interval::join);
    let whole = stock.intact_up_to();
    let lies =
        wood.height.lo - kerf <= whole && flat.is_some_and(|flat| flat.meet(wood.across) == wood.across);
    let top = whole.min(wood.height.lo);
    let holds = |section: &Section| {
        let chord = section.chord(top);
        chord.is_some_and(|chord| chord.meet(wood.across) == wood.across)
    };
    if !lies {
        return false;
    }
    let within = setup.shape.within(wood.travel, false);
    if setup.slices.straight() {
        // Half a chord is the geometric mean of two lengths that run straight: it is nowhere less than straight between its ends.
        let mut ends = within.sections();
        return ends.next().is_some_and(&holds) && ends.last().is_none_or(&holds);
    }
    within.sections().all(holds)
}

fn mm(um: i32) -> f64 {
    f64::from(um) * 1e-3
}

/// From where to where across a piece lies on wood, at a place along the rails; millimetres.
#[derive(Clone, Copy, Debug)]
struct Floor {
    along: f64,
    across: [f64; 2],
}

/// The sections of a piece, its ends among them.
const FLOORS_MAX: usize = SAMPLES_MAX + 2;

/// Where wood lies close under a piece, section by section, no further down than it comes to lie on quietly: the body's, or
/// that of another piece.
fn floors(setup: &Setup<'_>, stock: &Stock, piece: &Piece) -> Vec<Floor, FLOORS_MAX> {
    let mut floors = Vec::new();
    for section in setup.shape.within(piece.bounds.travel, false).sections() {
        if let Some(across) = under(setup, stock, piece, section) {
            // As many as a piece has sections: there is room.
            let _ = floors.push(Floor {
                along: mm(section.travel.as_um()),
                across: [mm(across.lo.as_um()), mm(across.hi.as_um())],
            });
        }
    }
    floors
}

/// From where to where across wood lies close under a piece in one section.
fn under(setup: &Setup<'_>, stock: &Stock, piece: &Piece, section: &Section) -> Option<Interval> {
    let (kerf, wood, at) = (setup.mill.blade.kerf, piece.bounds, section.travel);
    let near: Length = kerf + kerf + kerf;
    let here = |cell: &Cell| cell.travel.lo <= at && at <= cell.travel.hi;
    let own = stock
        .cells()
        .filter(|(cell, _)| cell.owner == Owner::Piece(piece.id) && here(cell));
    let whole = stock.intact_up_to();
    let mut found: Option<Interval> = None;
    for (cell, height) in own {
        let low = height.lo.max(wood.height.lo);
        let (across, below) = (cell.across.meet(wood.across), Interval::new(low - near, low));
        if low - kerf <= whole {
            // Nothing of the log is missing there.
            let below = Interval::new(low - near, whole.min(low));
            let held = section.across_in(across, below);
            found = found.into_iter().chain(held).reduce(Interval::join);
            continue;
        }
        let body = stock
            .cells()
            .filter(|(cell, _)| cell.owner == Owner::Body && here(cell));
        let body = body.filter_map(|(cell, height)| {
            let (across, below) = (cell.across.meet(across), height.meet(below));
            let none = across.is_empty() || below.is_empty();
            if none {
                None
            } else {
                section.across_in(across, below)
            }
        });
        let others = stock.pieces().iter().filter(|other| {
            let bounds = other.bounds;
            other.id != piece.id && bounds.travel.contains(at) && bounds.height.overlaps(below)
        });
        let others = others.map(|other| other.bounds.across.meet(across));
        let lies_on = body.chain(others.filter(|shared| !shared.is_empty()));
        found = found.into_iter().chain(lies_on).reduce(Interval::join);
    }
    found
}

/// From where to where across the hull of all floors reaches at a place along; none beyond its ends.
fn hull(floors: &[Floor], along: f64) -> Option<[f64; 2]> {
    let mut found: Option<[f64; 2]> = None;
    for near in floors.iter().filter(|floor| floor.along <= along) {
        for far in floors.iter().filter(|floor| floor.along >= along) {
            let way = far.along - near.along;
            let part = if way > 0.0 {
                (along - near.along) / way
            } else {
                0.0
            };
            let between = |a: f64, b: f64| a + (b - a) * part;
            let ([near_lo, near_hi], [far_lo, far_hi]) = (near.across, far.across);
            let (lo, hi) = (between(near_lo, far_lo), between(near_hi, far_hi));
            found = Some(found.map_or([lo, hi], |[low, high]| [low.min(lo), high.max(hi)]));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::powered_mill;

    /// 15 300 W ÷ (0.3 × 9.806 65 m/s² × 60 m/s) × 2 = 173.3 kg; half the engine turns half of it.
    #[test]
    fn an_engine_turns_its_blade_under_so_much() {
        let mut mill = powered_mill();
        assert_eq!(turns_under(&mill.blade, &mill.power), 173);
        mill.power.watts /= 2;
        assert_eq!(turns_under(&mill.blade, &mill.power), 86);
        mill.blade.rim_speed = bunkside_protocol::Speed::ZERO;
        assert_eq!(turns_under(&mill.blade, &mill.power), u16::MAX);
    }

    #[test]
    fn a_piece_lies_on_the_hull_of_its_floors() {
        let floor = |along: f64, out: f64| Floor {
            along,
            across: [-out, out],
        };
        let floors = [floor(0.0, 10.0), floor(50.0, 1.0), floor(100.0, 2.0)];
        assert_eq!(hull(&floors, 0.0), Some([-10.0, 10.0]));
        // What is narrower between two places does not matter: the piece bridges it.
        assert_eq!(hull(&floors, 50.0), Some([-6.0, 6.0]));
        assert_eq!(hull(&floors, 75.0), Some([-4.0, 4.0]));
        assert_eq!(hull(&floors, 100.5), None);
        assert_eq!(hull(&[], 0.0), None);
    }
}
