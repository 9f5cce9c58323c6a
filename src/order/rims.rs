//! Where the rim of a flat kerf may stand between the edges.

use bunkside_planner::limits::{LEAST_PASS, LIGAMENT};
use bunkside_planner::machine::Pose;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::sequence::{Faces, deepest};
use bunkside_planner::stock::{NotJudged, Stock};
use bunkside_protocol::{Angle, Length, MillRecord, Move, Position, Stroke};

use super::level::{Level, Rim};

/// Where a stroke of an order stands that is known already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Known {
    pub(super) angle: Angle,
    pub(super) across: Position,
    pub(super) height: Position,
}

impl Known {
    /// Every stroke of these moves.
    pub(super) fn of(mill: &MillRecord, moves: &[Move]) -> Vec<Self> {
        let mut pose = Pose::parked(mill);
        let mut known = Vec::new();
        for told in moves {
            match told {
                Move::Go(targets) => pose = pose.at(targets),
                Move::Swing(angle) => pose.angle = *angle,
                Move::Cut(_) => known.push(Self {
                    angle: pose.angle,
                    across: pose.across,
                    height: pose.height,
                }),
                Move::Spin(_) | Move::Hold(_) => {}
            }
        }
        known
    }
}

impl Level {
    /// Every edge that wood beyond still holds has a rim of its own. Where passes may be needed, there are rims between:
    /// just short of freeing a column, in even shares, and where those of an order stand that is known already.
    pub(super) fn place_rims(&mut self, setup: &Setup<'_>, faces: &Faces<'_, '_>, known: &[Known]) {
        let mill = setup.mill;
        let through = faces.rim(self.face.hi);
        let mut rims: Vec<Rim> = Vec::new();
        let mut from = self.face.lo;
        for (number, edge) in self.edges.iter().enumerate() {
            let between = self.between(setup, from, edge.across, number);
            rims.extend(between.into_iter().filter(|rim| rim.across < through));
            if edge.across < self.face.hi && faces.held_beyond(edge.across, self.floor) {
                rims.push(Rim {
                    across: edge.across,
                    after: number,
                    columns: number + 1,
                    own: Some(number),
                });
            }
            from = edge.across.max(self.face.lo);
        }
        rims.extend(self.between(setup, from, through, self.edges.len()));
        rims.extend(self.known(known));
        rims.retain(|rim| {
            let inside = rim.across > self.face.lo + mill.grid;
            inside && (rim.own.is_some() || rim.across < through)
        });
        rims.sort_by_key(|rim| (rim.across, rim.own.is_none()));
        rims.dedup_by_key(|rim| rim.across);
        rims.push(Rim {
            across: through,
            after: self.edges.len(),
            columns: self.edges.len() + 1,
            own: None,
        });
        self.rims = rims;
    }

    /// Where the flat passes of a known order stand.
    fn known(&self, known: &[Known]) -> Vec<Rim> {
        let flat = known
            .iter()
            .filter(|known| known.angle == Angle::Flat && known.height == self.floor);
        flat.map(|known| {
            let column = self
                .edges
                .iter()
                .filter(|edge| edge.across < known.across)
                .count();
            Rim {
                across: known.across,
                after: column,
                columns: column,
                own: None,
            }
        })
        .collect()
    }

    /// Leaves out the rims between that would free a column all the same, where it hangs on too little wood.
    pub(super) fn keep_held(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        edged: &Stock,
    ) -> Result<(), NotJudged> {
        let mut stock = edged.clone();
        let through = self.through();
        let mut kept = Vec::with_capacity(through);
        for (number, rim) in self.rims.iter().enumerate() {
            if rim.own.is_some() || number + 1 == through {
                stock.carve(&setup.shape, self.flat(setup, replay, rim.across))?;
                stock.unload();
                kept.push(*rim);
                continue;
            }
            let mut tried = stock.clone();
            match tried.carve(&setup.shape, self.flat(setup, replay, rim.across)) {
                Ok(0) => {
                    stock = tried;
                    kept.push(*rim);
                }
                Ok(_) | Err(NotJudged::Thread) => {}
                Err(reason) => return Err(reason),
            }
        }
        self.rims = kept;
        Ok(())
    }

    /// Rims in the column that ends at an edge, none of which frees it.
    fn between(&self, setup: &Setup<'_>, from: Position, to: Position, column: usize) -> Vec<Rim> {
        let (mill, width) = (setup.mill, to - from);
        let rim = |across: Position| Rim {
            across: across.snapped(mill.grid),
            after: column,
            columns: column,
            own: None,
        };
        let mut rims = Vec::new();
        let short = to - mill.blade.kerf - LIGAMENT - mill.grid;
        if width <= mill.blade.kerf + LIGAMENT + LIGAMENT {
            return rims;
        }
        if column < self.edges.len() {
            rims.push(rim(short));
        }
        let limits = limits(setup);
        let most = limits.into_iter().fold(Length::mm(10), Length::max);
        for limit in limits.into_iter().filter(|limit| *limit < width) {
            let short_of = (to - limit).min(short);
            rims.push(rim(short_of));
        }
        let fewest = width.wide() / most.wide() + 1;
        for shares in fewest..=fewest + 1 {
            for share in 1..shares {
                let across = from + Length::um(width.wide() * share / shares);
                if across < short {
                    rims.push(rim(across));
                }
            }
        }
        // Nobody skims a hair off before the pass that counts.
        rims.retain(|rim| rim.across - from >= LEAST_PASS);
        rims
    }
}

/// How deep flat strokes may bite, out and home, with the knife and without; a grid step and what hides between samples
/// kept in hand.
fn limits(setup: &Setup<'_>) -> [Length; 4] {
    let in_hand = setup.mill.grid + setup.shape.between();
    let strokes = [Stroke::Outbound, Stroke::Homebound];
    let [[a, b], [c, d]] = [false, true].map(|knife| {
        let knife = knife && setup.mill.knife.is_some();
        strokes.map(|stroke| deepest(setup, Angle::Flat, stroke, knife).depth - in_hand)
    });
    [a, b, c, d]
}
