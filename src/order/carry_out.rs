//! From a way through all layers to moves, judged as a whole.

use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{BARK, NEAR};
use bunkside_planner::sequence::{Between, Carriage, Standing, Start, blade_stands, first_hold};
use bunkside_protocol::{Act, Acts, Hold, Move, Stroke};

use super::course::Course;
use super::search::{Bar, knife_act};
use super::state::{Deed, Placed};
use super::wood::stroke_from;
use super::{Asked, Ordered};
use crate::account::findings::second_person_cuts;
use crate::trace::Trace;

impl Course<'_> {
    /// The moves; or, where a rule refuses, the approach or stroke where it does, if it is one.
    pub(super) fn carried_out(self, setup: &Setup<'_>, asked: &Asked<'_>) -> Result<Ordered, Option<Bar>> {
        let mut made = Made::new(setup, self.carriage);
        first_hold(setup).into_iter().for_each(|hold| made.tell(hold));
        let mut bars: Vec<(usize, Bar)> = Vec::new();
        for number in self.way() {
            let Some(label) = self.labels.get(number) else {
                continue;
            };
            match label.deed {
                Deed::Begin => {
                    let hold = self.holds.iter().find(|(begin, _)| *begin == number);
                    made.hold(hold.map_or(Acts::NONE, |(_, acts)| *acts));
                }
                Deed::Unload => made.hold(Acts::one(Act::Unload)),
                Deed::Knife => {
                    let knife = knife_act(made.replay.pose());
                    let stock = made.replay.stock();
                    let unload = !stock.pieces().is_empty() || stock.is_in_doubt();
                    made.hold(if unload {
                        Acts::one(knife).and(Act::Unload)
                    } else {
                        Acts::one(knife)
                    });
                }
                Deed::Cut(placed, stroke) => {
                    if let Some(parent) = self.labels.get(label.parent) {
                        bars.push((made.moves.len(), (parent.state.key(), placed, stroke)));
                    }
                    made.cut(&placed, stroke);
                }
            }
        }
        made.home();
        made.spin(false);
        let trace = Trace::run(setup, &made.moves);
        let against = trace.findings.iter().find(|finding| {
            let warns = finding.objection.severity == bunkside_planner::rules::Severity::Warn;
            // That something has to be broken off is told where nothing else can be done.
            let hangs = self.in_doubt && finding.rule == "hold-parked";
            let whatever_order = [BARK, NEAR].contains(&finding.objection.note);
            !(warns && (hangs || whatever_order || asked.tolerated.contains(&finding.rule)))
        });
        if let Some(finding) = against {
            let before = |(first, _): &&(usize, Bar)| *first <= usize::from(finding.index);
            return Err(bars.iter().rev().find(before).map(|(_, bar)| *bar));
        }
        let held = second_person_cuts(&trace.findings);
        Ok(Ordered {
            moves: made.moves,
            seconds: self.seconds - asked.hold_down * held as f64,
            bound: self.bound,
            proven: self.proven,
            effort: self.effort,
        })
    }

    /// The labels from the first to the last.
    fn way(&self) -> Vec<usize> {
        let mut way = vec![self.end];
        let mut at = self.end;
        while let Some(label) = self.labels.get(at).filter(|label| label.parent != at) {
            at = label.parent;
            way.push(at);
        }
        way.reverse();
        way
    }
}

/// Moves in the making.
struct Made<'a> {
    setup: &'a Setup<'a>,
    carriage: Carriage<'a>,
    replay: Replay<'a>,
    moves: Vec<Move>,
}

impl<'a> Made<'a> {
    fn new(setup: &'a Setup<'a>, carriage: Carriage<'a>) -> Self {
        Self {
            setup,
            carriage,
            replay: Replay::new(setup, 0),
            moves: Vec::new(),
        }
    }

    fn tell(&mut self, told: Move) {
        self.replay.step(&told);
        self.moves.push(told);
    }

    fn hold(&mut self, acts: Acts) {
        if acts.is_empty() {
            return;
        }
        if blade_stands(acts, self.replay.stock()) {
            self.spin(false);
        }
        self.tell(Move::Hold(Hold { acts }));
    }

    fn spin(&mut self, on: bool) {
        if self.replay.pose().spinning != on {
            self.tell(Move::Spin(on));
        }
    }

    /// A way through the air, the blade stopped before a height is set by hand.
    fn go(&mut self, moves: &Between) {
        for told in moves {
            if self.replay.pose().is_cranked(self.setup.mill, told) {
                self.spin(false);
            }
            self.tell(*told);
        }
    }

    fn cut(&mut self, placed: &Placed, stroke: Stroke) {
        let start = Start {
            stroke,
            angle: placed.angle,
            across: placed.across,
            height: placed.height,
        };
        let stock = self.replay.stock();
        let between = self
            .carriage
            .approach(self.replay.pose(), &start, || Standing::of(self.setup, stock));
        self.go(&between.unwrap_or_default());
        self.spin(true);
        let (_, to) = self.carriage.course(stroke);
        if let Ok(cut) = stroke_from(self.setup, &self.replay, stroke, to, placed.release) {
            self.tell(Move::Cut(cut));
        }
    }

    fn home(&mut self) {
        let stock = self.replay.stock();
        let home = self
            .carriage
            .home(self.replay.pose(), || Standing::of(self.setup, stock));
        self.go(&home.unwrap_or_default());
    }
}
