//! Areas and moments of sections in windows against polygon clipping by the `geo` crate.

use bunkside_planner::geometry::{Interval, Section};
use bunkside_planner::physics::area::moments;
use bunkside_protocol::{Form, Length, Position};
use geo::{Area, BooleanOps, Centroid, LineString, MultiPolygon, Polygon, Rect, coord};

use super::sections::{Ellipse, random_station};
use crate::dice::Dice;

/// Corners of the polygon that stands for an ellipse: inscribed, it lacks 6.6 / n² of the area.
const CORNERS: u32 = 4_096;

/// What polygon and clipper (whose grid is a 2³⁰th of the extent) may be off by, as a share of the whole area.
const SHARE: f64 = 1e-6;

fn polygon(section: &Section) -> Polygon {
    let ellipse = Ellipse::of(section);
    let corner = |number: u32| {
        let (sine, cosine) = (std::f64::consts::TAU * f64::from(number) / f64::from(CORNERS)).sin_cos();
        coord! {
            x: (ellipse.across + ellipse.half_width * cosine + ellipse.skew * sine) / 1000.0,
            y: (ellipse.height + ellipse.half_height * sine) / 1000.0,
        }
    };
    Polygon::new(LineString::from_iter((0..CORNERS).map(corner)), Vec::new())
}

/// A stretch that begins and ends anywhere in and around another one.
fn random_window(dice: &mut Dice, all: Interval) -> Interval {
    let margin = all.length().as_um() / 8;
    let (lo, hi) = (all.lo.as_um() - margin, all.hi.as_um() + margin);
    let mut end = || Position::um(dice.within(lo, hi).into());
    Interval::between(end(), end())
}

#[test]
fn areas_and_moments_agree_with_clipped_polygons() {
    let mut dice = Dice::new(5);
    let mut held = 0;
    for case in 0..300 {
        let section = Section::new(Form::Round, &random_station(&mut dice, 0), Length::ZERO);
        let across = random_window(&mut dice, section.width());
        let height = random_window(&mut dice, section.height());
        let told = moments(&section, across, height);

        let mm = |place: Position| f64::from(place.as_um()) / 1000.0;
        let window = Rect::new(
            coord! { x: mm(across.lo), y: mm(height.lo) },
            coord! { x: mm(across.hi), y: mm(height.hi) },
        );
        let round = polygon(&section);
        let clipped: MultiPolygon = round.intersection(&window.to_polygon());
        let (whole, size) = (
            round.unsigned_area(),
            mm(section.height().hi) + mm(section.width().hi).abs(),
        );
        let off = (told.area - clipped.unsigned_area()).abs();
        assert!(off <= SHARE * whole, "case {case}: {off} mm² of {whole}");
        if let Some(centre) = clipped.centroid() {
            held += 1;
            let area = clipped.unsigned_area();
            for (moment, place) in [(told.across, centre.x()), (told.height, centre.y())] {
                let off = (moment - area * place).abs();
                assert!(
                    off <= SHARE * whole * size,
                    "case {case}: {off} mm³ of {}",
                    whole * size
                );
            }
        }
    }
    assert!(held > 200, "most windows must hold wood: {held}");
}
