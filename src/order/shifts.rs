//! The least that shifts across take.
//!
//! A shift takes its distance at rapid, and to start and to stop besides; the longer it is, the more the latter. The last
//! stroke of a layer is the flat one that runs through. Where somebody walks to set the height, that takes longer than any
//! shift, and is counted instead; where he need not between two strokes, the whole shift is.

use bunkside_planner::machine::come_back;
use bunkside_planner::physics::motion::rapid;
use bunkside_protocol::{Length, Position};

use super::guess::Guess;
use super::level::bit;
use super::state::Wood;

impl Guess<'_> {
    /// Seconds to start and to stop, over those at rapid all the way.
    fn stop(&self, distance: Length) -> f64 {
        if self.is_set_by_hand() {
            return 0.0;
        }
        let axis = &self.setup.mill.across;
        (rapid(axis, distance) - self.at_rapid(distance)).max(0.0)
    }

    /// Seconds for a distance at rapid, speeding up and slowing down not counted.
    fn at_rapid(&self, distance: Length) -> f64 {
        let axis = &self.setup.mill.across;
        let speed = f64::from(axis.rapid.as_um_per_s().max(1));
        f64::from(distance.abs().as_um()) / speed
    }

    /// What a shift counts between two places: where a drive sets the height, to start and to stop; where somebody cranks it, the
    /// whole of it, from the entry side at last.
    fn shift(&self, from: Position, to: Position) -> f64 {
        if !self.is_set_by_hand() {
            return self.stop(to - from);
        }
        let (mill, axis) = (self.setup.mill, &self.setup.mill.across);
        if from <= to {
            return rapid(axis, to - from);
        }
        let beyond = (to - come_back(mill)).max(axis.min).min(to);
        rapid(axis, from - beyond) + rapid(axis, to - beyond)
    }

    /// Where the carriage can pass beside the log: the least to draw it out for that from a place; from
    /// any kerf of the layer where it is not known.
    pub(super) fn out(&self, from: Option<Position>) -> Option<f64> {
        let past = self.past?;
        let edges = self.level.edges.iter().map(|edge| edge.across);
        let from = from.or_else(|| edges.min()).unwrap_or(past);
        Some(rapid(&self.setup.mill.across, (from - past).max(Length::ZERO)))
    }

    /// The least to set it in again at a place.
    pub(super) fn in_again(&self, to: Position) -> f64 {
        let distance = self
            .past
            .map_or(Length::ZERO, |past| (to - past).max(Length::ZERO));
        rapid(&self.setup.mill.across, distance)
    }

    /// The shortest stop at a place, coming from any of the edges but one.
    fn nearest_stop(&self, place: Position, but: Option<usize>) -> f64 {
        let edges = self.level.edges.iter().enumerate();
        let others = edges.filter(|(edge, _)| Some(*edge) != but);
        let shifts = others.map(|(_, edge)| self.shift(edge.across, place));
        shifts.min_by(f64::total_cmp).unwrap_or(0.0)
    }

    /// Notes the shortest stop at each edge and rim, coming from an upright kerf.
    pub(super) fn note_stops(&mut self) {
        let edges = self.level.edges.iter().enumerate();
        let edge_stops = edges.map(|(number, edge)| self.nearest_stop(edge.across, Some(number)));
        let rims = self.level.rims.iter();
        let rim_stops = rims.map(|rim| self.nearest_stop(rim.across, rim.own));
        (self.edge_stops, self.rim_stops) = (edge_stops.collect(), rim_stops.collect());
    }

    /// To start and stop on the way to an edge, with these edges cut and the rim here: from the rim where the last stroke was
    /// flat, else from another edge.
    pub(super) fn stop_at_edge(&self, edge: usize, (cut, rim): (u64, usize), upright: bool) -> f64 {
        if upright {
            let stop = self.edge_stops.get(edge).filter(|_| cut != 0);
            return stop.copied().unwrap_or(0.0);
        }
        let edge = self.level.edges.get(edge);
        edge.zip(self.level.rim(rim))
            .map_or(0.0, |(edge, rim)| self.shift(rim.across, edge.across))
    }

    /// The same to a rim.
    pub(super) fn stop_at_rim(&self, to: usize, (cut, rim): (u64, usize), upright: bool) -> f64 {
        let Some(place) = self.level.rim(to) else {
            return 0.0;
        };
        if upright {
            let own = place.own.is_some_and(|own| cut & bit(own) != 0);
            let stop = self.rim_stops.get(to - 1).filter(|_| cut != 0 && !own);
            return stop.copied().unwrap_or(0.0);
        }
        let rim = self.level.rim(rim);
        rim.map_or(0.0, |rim| self.shift(rim.across, place.across))
    }

    /// How far the corner has to go across at least, at rapid: to every edge that is left, and to no further than one flat
    /// stroke reaches, before it comes to where the flat kerf runs through. Places are always come to from the entry side.
    pub(super) fn way_across(&self, wood: &Wood, across: Position) -> f64 {
        let Some((turned, last)) = self.turned(wood, across) else {
            return 0.0;
        };
        let way = self.at_rapid(across - turned) + self.at_rapid(last - turned);
        if turned < across {
            let beside = come_back(self.setup.mill);
            way + self.at_rapid(beside + beside) + self.stop(beside)
        } else {
            way
        }
    }

    /// The least that shifts take, starts and stops at every edge that is left among them.
    ///
    /// However the places are gone through from where the corner stands, the gaps between neighbours can be dealt out one to
    /// each shift that crosses it.
    pub(super) fn gaps(&self, wood: &Wood, across: Position) -> f64 {
        let Some((_, last)) = self.turned(wood, across) else {
            return 0.0;
        };
        let edges = self.level.edges.iter().enumerate();
        let edges = edges.filter(|(edge, _)| wood.cut & bit(*edge) == 0);
        let mut places: Vec<Position> = edges.map(|(_, edge)| edge.across).collect();
        places.extend([across, last]);
        places.sort();
        let gaps = places.iter().zip(places.iter().skip(1));
        let stops: f64 = gaps.map(|(from, to)| self.stop(*to - *from)).sum();
        self.way_across(wood, across) + stops
    }

    /// The entry-most place to which the corner has to go, and the last; none where there is nothing to be shifted for.
    fn turned(&self, wood: &Wood, across: Position) -> Option<(Position, Position)> {
        let last = self.level.rims.last().filter(|_| !self.is_set_by_hand())?.across;
        let reach = self.farthest.get(usize::from(wood.rim))?;
        let edges = self.level.edges.iter().enumerate();
        let mut left = edges.filter(|(edge, _)| wood.cut & bit(*edge) == 0);
        let first = left.next().map_or(last, |(_, edge)| edge.across);
        Some((across.min(first).min(last).min(*reach), last))
    }

    /// The place at the beginning of a layer from where there is least to shift.
    pub(super) fn entry_most(&self) -> Position {
        let first = self.level.edges.first().map(|edge| edge.across);
        let places = self.farthest.first().copied().into_iter().chain(first);
        places.min().unwrap_or(Position::ZERO)
    }
}
