//! How far a cut is from rolling, sliding or lifting what is sawn.
//!
//! The body is a stiff piece of wood on two bunks (`bed.rs`). It weighs what its wood weighs, bark and sawdust not
//! counted. A pass pushes it at the kerf: the flat blade sideways at the kerf's height, the upright one up or down at the
//! kerf's place across, both along the rails too. The piece that is being cut off hangs on until the stroke ends; what is
//! left is then judged at rest, as is the body before the stroke. On the way the kerf's wood goes as it is cut
//! (`going.rs`).
//!
//! | margin | what resists | what drives |
//! |---|---|---|
//! | tip | load on the bed × reach of the wedges | moment about the middle between them, at their contacts' height |
//! | turn | grip × load × height of the log's centre over the contacts | moment about that centre |
//! | stand | load × distance from its balance to the line of the contacts | load × height of its balance over them × 1 in 7 |
//! | slip | grip × load, and load × slope of the wedge, and dogs | push sideways at either bunk; push lengthwise; both at once as an ellipse |
//! | lift | weight at either bunk, and dogs | what a pass takes off it there |
//!
//! Against leaning over it is asked at rest only: before the stroke and after it.
//!
//! Each is what resists over what drives: below one the wood moves. A push does the more harm the harder it is, so
//! nothing between rest and the full force is worse than the worse of the two; and between two places with the same bite
//! both sides run linearly, so that nothing is worse than at one of them. Forces have the profile's factor for knots on
//! them. The thrust of dull teeth, away from the blade's centre, counts where it makes a margin worse.
//!
//! Conservative: in turning, the load on two slanting contacts is larger by one over the cosine of their slant, and the
//! lever longer by as much; neither is counted. Dogs resist sliding and lifting, not rolling, and one that bites no
//! wood below the kerf's underside counts for nothing, as the stroke may free what it bites. The bark's weight holds
//! nothing down. In sliding and lifting, what thrust adds sideways counts together with the load that a sharp blade
//! leaves. Not conservative: body and bed do not give way, a dog holds through however little wood it bites, and the log
//! lies on both wedges of the outermost bunks, as the operator has to see to.

use bunkside_protocol::{Angle, Feed, Length, MillRecord, Position, Speed, Stroke};
use heapless::Vec;

use super::bed::{Bed, Load};
use super::body::{Solid, Sum, taken};
use super::footing::{Levers, Lie, Push, Weight};
use super::force::{PassForce, Shares};
use super::going::{Going, PLACES, going};
use super::margins::{Least, Margins};
use crate::geometry::{Block, Interval};
use crate::machine::{Pose, kerf_box};
use crate::replay::Setup;
use crate::stock::{Pick, Stock};

/// What a stroke does to the wood's hold on the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strain {
    /// The least margins along the stroke, the rest before it included.
    pub during: Margins,
    /// The margins at rest when it has run and what it freed has been taken away.
    pub rest: Margins,
    /// The force of the pass where the margins are least, without shock and thrust.
    pub force: PassForce,
    /// Where that is along the rails.
    pub at: Position,
}

impl Strain {
    /// The lesser of during and after, each margin for itself.
    #[must_use]
    pub fn worst(&self) -> Margins {
        self.during.worse(&self.rest)
    }
}

/// One place along a stroke.
#[derive(Clone, Copy, Debug)]
struct Place {
    travel: Position,
    /// Tangential force at a feed of 1 mm/s, without shock: newtons.
    unit: f64,
    shares: Shares,
    lie: Lie,
    levers: Levers,
}

/// A stroke looked at before it is made, at any feed.
#[derive(Clone, Debug)]
pub struct Pass {
    stroke: Stroke,
    feed: Feed,
    before: Lie,
    /// How far the body is from leaning over before it.
    stands: f64,
    /// The body when all of the kerf is gone and the piece still hangs on.
    through: Lie,
    /// Where it bites; between two that bite alike there is none.
    places: Vec<Place, PLACES>,
    taken: Sum,
    /// What dogs hold.
    dogs: [f64; 2],
}

impl Pass {
    /// A stroke over a stretch of travel, with the stock and the body as they are; none where it meets no wood.
    #[must_use]
    pub fn of(
        setup: &Setup<'_>,
        stock: &Stock,
        body: &Solid,
        pose: &Pose,
        stroke: Stroke,
        travel: Interval,
    ) -> Option<Self> {
        let kerf = kerf_box(setup.mill, pose, travel);
        let met = stock.met(&setup.shape, kerf, Pick::Body)?;
        Some(Self::engaged(setup, stock, body, pose, stroke, kerf, met.travel))
    }

    /// The same, where it is known over which stretch the kerf meets wood.
    pub(crate) fn engaged(
        setup: &Setup<'_>,
        stock: &Stock,
        body: &Solid,
        pose: &Pose,
        stroke: Stroke,
        kerf: Block,
        engaged: Interval,
    ) -> Self {
        let bed = &setup.bed;
        let taken = taken(&setup.slices, &setup.shape, stock, kerf);
        let cut = taken.solid();
        let gone = Weight::of(setup, &cut);
        let before = Weight::of(setup, body);
        let dogs = if pose.dogged {
            bed.dogs_on(setup.mill, (&setup.shape, stock), kerf.height.lo)
        } else {
            [0.0; 2]
        };
        let lie = Lie::of(bed, &before, dogs);
        let mut pass = Self {
            stroke,
            feed: setup.mill.feed(pose.angle, stroke),
            stands: stands(bed, &lie, &before, body),
            before: lie,
            through: Lie::of(bed, &before.less(&gone, 1.0), dogs),
            places: Vec::new(),
            taken,
            dogs,
        };
        let mut last: Option<(Length, Shares)> = None;
        for going in going(
            (&setup.shape, &setup.slices),
            stock,
            pose.angle,
            kerf,
            engaged,
            stroke,
            &cut,
        ) {
            let Going { travel, bite, .. } = going;
            // What has been cut so far lies on the way here.
            let cut = Weight {
                load: Load::at(gone.load.force, going.middle - bed.first),
                ..gone
            };
            let shares = match last {
                Some((told, shares)) if told == bite => shares,
                _ => shares_at(setup.mill, bite),
            };
            last = Some((bite, shares));
            let [across, height, top] = kerf_at(setup.mill, pose, bite);
            let along = millimetres(travel.as_um()) - bed.first;
            // There are no more of them than it holds.
            let _ = pass.places.push(Place {
                travel,
                unit: unit_force(setup, bite),
                shares,
                lie: Lie::of(bed, &before.less(&cut, going.share), dogs),
                levers: Levers::of(bed, pose.angle, [along, across, height], top),
            });
        }
        pass
    }

    /// What the kerf takes from the body.
    pub(crate) const fn taken(&self) -> &Sum {
        &self.taken
    }

    /// What it does at a feed, and how the rest lies afterwards.
    #[must_use]
    pub fn strain(&self, setup: &Setup<'_>, speed: Speed, rest: &Solid) -> Strain {
        let (during, place) = self.during(setup, speed);
        Strain {
            during,
            rest: at_rest(setup, rest, self.dogs),
            force: place.map_or(PassForce::NONE, |place| {
                let tangential = place.unit * millimetres_a_second(speed);
                PassForce::shared(setup.mill, tangential, &place.shares, self.feed)
            }),
            at: place.map_or(Position::ZERO, |place| place.travel),
        }
    }

    /// The least margins at a feed along the stroke, the rest before it included.
    #[must_use]
    pub fn along(&self, setup: &Setup<'_>, speed: Speed) -> Margins {
        self.during(setup, speed).0
    }

    /// The same, and where the least of them is.
    fn during(&self, setup: &Setup<'_>, speed: Speed) -> (Margins, Option<&Place>) {
        let bed = &setup.bed;
        let first = self.places.first();
        let mut least = Least::new(self.before.still(bed), first);
        least.see(self.through.still(bed), first);
        let feed = millimetres_a_second(speed) * shock(setup.mill);
        let thrust = f64::from(setup.mill.factors.thrust) * 1e-3;
        for place in &self.places {
            let push = self.push(place, place.unit * feed, thrust);
            least.see(place.lie.pushed(bed, &place.levers, &push), Some(place));
        }
        let (margins, place) = least.margins();
        let stand = self.stands;
        (Margins { stand, ..margins }, place)
    }

    /// The push of a pass at a place, with so much tangential force, and that share of it as thrust away from the
    /// blade's centre.
    fn push(&self, place: &Place, tangential: f64, thrust: f64) -> Push {
        let Shares { along, across } = place.shares;
        // Climbing teeth draw the wood back under the blade and press it towards the deepest rim point.
        let [along, across] = match self.feed {
            Feed::Climb => [-along, across],
            Feed::Forward => [along, -across],
        }
        .map(|share| share * tangential);
        let thrust = tangential * thrust;
        let (down, ahead) = (place.shares.along * thrust, place.shares.across * thrust);
        let outbound = |ahead: f64| match self.stroke {
            Stroke::Outbound => ahead,
            Stroke::Homebound => -ahead,
        };
        Push {
            pressed: [across, across + down],
            along: [outbound(along), outbound(along + ahead)],
        }
    }
}

/// How a body lies with nothing pushing it, held by dogs with so many newtons at the first and the last bunk: none of them
/// counts, but for lifting, where nothing lifts.
#[must_use]
pub fn at_rest(setup: &Setup<'_>, body: &Solid, dogs: [f64; 2]) -> Margins {
    let weight = Weight::of(setup, body);
    let lie = Lie::of(&setup.bed, &weight, dogs);
    Margins {
        stand: stands(&setup.bed, &lie, &weight, body),
        ..Least::of(lie.still(&setup.bed))
    }
}

/// The margin against leaning over.
fn stands(bed: &Bed, lie: &Lie, weight: &Weight, body: &Solid) -> f64 {
    let [_, _, height] = body.centroid_mm;
    lie.stands(bed, &weight.load, height).value()
}

/// The middle of a kerf at the rim, across and up, and the height up to which it bites: millimetres.
fn kerf_at(mill: &MillRecord, pose: &Pose, bite: Length) -> [f64; 3] {
    let half = millimetres(mill.blade.kerf.as_um()) * 0.5;
    let [across, height] = [pose.across, pose.height].map(|place| millimetres(place.as_um()));
    match pose.angle {
        Angle::Flat => [across, height + half, height + half],
        Angle::Upright => [across - half, height, height + millimetres(bite.as_um())],
    }
}

fn shares_at(mill: &MillRecord, bite: Length) -> Shares {
    let radius = mill.blade.radius.max(Length::um(1));
    let depth = f64::from(bite.as_um()) / f64::from(radius.as_um());
    Shares::at(libm::fmin(depth, 2.0))
}

/// Tangential force of a bite at 1 mm/s: newtons.
fn unit_force(setup: &Setup<'_>, bite: Length) -> f64 {
    let blade = &setup.mill.blade;
    let rim = f64::from(blade.rim_speed.as_um_per_s());
    let kerf = f64::from(blade.kerf.as_um());
    if rim <= 0.0 || kerf <= 0.0 {
        return 0.0;
    }
    let depth = millimetres(bite.min(blade.radius.times(2)).as_um());
    f64::from(setup.log.cutting_energy) * depth * kerf / rim
}

/// What knots multiply every force by.
fn shock(mill: &MillRecord) -> f64 {
    f64::from(mill.factors.shock.max(1000)) * 1e-3
}

fn millimetres(um: i32) -> f64 {
    f64::from(um) * 1e-3
}

fn millimetres_a_second(speed: Speed) -> f64 {
    f64::from(speed.as_um_per_s()) * 1e-3
}
