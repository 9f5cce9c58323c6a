//! Figures of weight and push for those who spoil sequences, taken from the wood that stands and from textbook sums.

use bunkside_planner::geometry::{Block, Interval, Section};
use bunkside_planner::stock::{Owner, Pick, Stock};
use bunkside_protocol::{Angle, Length, Position};

use super::good::{Good, Met};

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// How far apart the wood is looked at along the rails and across, millimetres.
const SLICE: f64 = 100.0;
const STRIP: f64 = 4.0;
/// How much of a bite is counted: the auditor looks at it at another place.
const SURELY: f64 = 0.97;

/// What stands on the bunks.
#[derive(Clone, Copy)]
pub(crate) struct Standing {
    /// Newtons.
    pub(crate) weight: f64,
    /// Where it balances across, millimetres.
    pub(crate) across: f64,
}

/// What a stroke does in the middle of its way, at a feed of 1 m/s, knots counted: newtons.
#[derive(Clone, Copy)]
pub(crate) struct Push {
    /// Against or with the carriage.
    pub(crate) along: f64,
    /// Square to it in the plane of the blade.
    pub(crate) aside: f64,
    /// Where along the rails that is.
    pub(crate) travel: Position,
}

pub(crate) fn mm(length: Length) -> f64 {
    f64::from(length.as_um()) * 1e-3
}

pub(crate) fn at(place: Position) -> f64 {
    f64::from(place.as_um()) * 1e-3
}

/// Weighs what stands, but for what lies in a box, strip by strip.
pub(crate) fn standing(good: &Good<'_>, stock: &Stock, without: Option<Block>) -> Standing {
    let shape = &good.setup.shape;
    let (near, far) = (at(shape.travel().lo), at(shape.travel().hi));
    let slices = ((far - near) / SLICE).ceil().max(1.0);
    let thick = (far - near) / slices;
    let (mut volume, mut moment) = (0.0, 0.0);
    for slice in 0..slices as i32 {
        let place = Position::um(((near + (f64::from(slice) + 0.5) * thick) * 1e3) as i64);
        let section = shape.wood_at(place).expect("a place in the log");
        for (cell, band) in stock.cells() {
            if cell.owner != Owner::Body || !cell.travel.contains(place) {
                continue;
            }
            for (across, wide) in strips(cell.across.meet(section.width())) {
                let gone = without.filter(|gone| gone.across.contains(across));
                let band = gone.map_or(band, |gone| Interval::new(band.lo, band.hi.min(gone.height.lo)));
                let thin = Interval::new(across, across + Length::um(1));
                let high = section
                    .height_in(thin, band)
                    .map_or(0.0, |held| mm(held.length()));
                volume += high * wide * thick;
                moment += high * wide * thick * at(across);
            }
        }
    }
    Standing {
        weight: volume * 1e-9 * f64::from(good.setup.log.density) * GRAVITY,
        across: moment / volume,
    }
}

/// The middles and widths of the strips of a stretch across.
fn strips(across: Interval) -> impl Iterator<Item = (Position, f64)> {
    let wide = if across.is_empty() {
        0.0
    } else {
        mm(across.length())
    };
    let count = (wide / STRIP).ceil();
    let each = wide / count.max(1.0);
    (0..count as i32).map(move |strip| {
        let middle = (f64::from(strip) + 0.5) * each * 1e3;
        (across.lo + Length::um(middle as i64), each)
    })
}

/// How deep a kerf bites in the middle of its way, and where that is; none where no wood stands there.
fn bite(good: &Good<'_>, met: &Met<'_>) -> Option<(Position, f64)> {
    let wood = met.facts.met?.travel;
    let middle = wood.lo + Length::um((wood.hi - wood.lo).wide() / 2);
    let thin = Block {
        travel: Interval::new(middle, middle + Length::mm(1)),
        ..met.facts.kerf
    };
    let held = met.ran.before.met(&good.setup.shape, thin, Pick::Body)?;
    let deep = match met.pose.angle {
        Angle::Flat => met.pose.across - held.across.lo,
        Angle::Upright => held.height.hi - met.pose.height,
    };
    Some((middle, mm(deep) * SURELY))
}

/// Specific cutting energy × kerf × bite ÷ rim speed, shared out over the teeth in wood by the thickness of their chips,
/// which goes with the sine of the angle from the deepest place.
pub(crate) fn push(good: &Good<'_>, met: &Met<'_>) -> Option<Push> {
    let (mill, log) = (good.mill(), good.setup.log);
    let (travel, deep) = bite(good, met)?;
    let rim = f64::from(mill.blade.rim_speed.as_um_per_s()) * 1e-6;
    let knots = f64::from(mill.factors.shock) * 1e-3;
    let force = knots * f64::from(log.cutting_energy) * mm(mill.blade.kerf) * deep / rim;
    let arc = libm::acos(1.0 - deep / mm(mill.blade.radius));
    let (mut chips, mut along, mut aside) = (0.0, 0.0, 0.0);
    for tooth in 0..1000 {
        let angle = arc * (f64::from(tooth) + 0.5) / 1000.0;
        let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
        chips += sine;
        along += sine * cosine;
        aside += sine * sine;
    }
    (deep > 5.0).then_some(Push {
        along: force * along / chips,
        aside: force * aside / chips,
        travel,
    })
}

/// How the log lies on a wedge at a bunk, millimetres: no more than this.
#[derive(Clone, Copy)]
pub(crate) struct Contact {
    /// How high.
    pub(crate) height: f64,
    /// How steep the underside is there.
    pub(crate) slope: f64,
    /// How far the section's centre lies above it.
    pub(crate) lever: f64,
    /// How high that is, and where along the rails.
    centre: [f64; 2],
}

/// At the two outermost bunks; none for a log that is not the same on both sides of the bed's middle, or lies on a face and not on
/// wedges.
pub(crate) fn contacts(good: &Good<'_>) -> Option<[Contact; 2]> {
    let (mill, log, shape) = (good.mill(), good.setup.log, &good.setup.shape);
    let even = |station: &bunkside_protocol::Station| {
        station.centre_across == Position::ZERO && station.skew == Length::ZERO
    };
    if !log.stations.iter().all(even) || log.sawn.bottom.is_some() {
        return None;
    }
    let mut under = mill
        .bunks
        .iter()
        .filter(|bunk| shape.travel().contains(bunk.travel));
    let (first, last) = (under.next()?, under.next_back()?);
    let on = |section: Section| {
        let (wide, high, _) = section.half_diameters();
        let (wide, high) = (mm(wide), mm(high));
        let reach = mm(mill.wedges.reach) / wide;
        let chord = libm::sqrt(1.0 - (reach * reach).min(0.98));
        let rise = (high * (1.0 - chord)).min(mm(mill.wedges.height));
        let underside = at(section.height().lo);
        Contact {
            height: underside + rise,
            slope: high / wide * reach / chord,
            lever: high - rise,
            centre: [at(section.centre_height()), at(section.travel)],
        }
    };
    let [first, last] = [first, last].map(|bunk| shape.rough_at(bunk.travel).map(on));
    Some([first?, last?])
}

/// How high the axis lies at a place about which the log turns where it lies: through its centres at both ends.
pub(crate) fn axis([first, last]: [Contact; 2], place: Position) -> f64 {
    let ([near, from], [far, to]) = (first.centre, last.centre);
    near + (far - near) * (at(place) - from) / (to - from)
}

/// The greater of a figure at both ends.
pub(crate) fn most([first, last]: [Contact; 2], figure: fn(&Contact) -> f64) -> f64 {
    figure(&first).max(figure(&last))
}
