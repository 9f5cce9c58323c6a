//! Whole logs, tapered, swept, oval and turned, sawn layer by layer: the stock beside the fine model.
//!
//! | compared | agreement |
//! |---|---|
//! | what a kerf meets | between what a box 0.7 mm smaller and one 0.7 mm larger meet, a strip across, a slice along |
//! | body | finer still, see [`super::exact`]: 0.1 % of its volume, centroid 0.1 mm, also with the blade part-way |
//! | each piece | a strip at either side and half a slice at either end in volume, the centroid to suit |
//! | its box | a strip across, a slice along, three strips in height where bark stands steep |
//! | how many pieces | equal, but for slivers less than 2 mm thick |

use std::collections::BTreeMap;

use bunkside_planner::geometry::{Block, Interval, Shape};
use bunkside_planner::physics::body::{self, Solid, Standing};
use bunkside_planner::physics::going::going;
use bunkside_planner::physics::slices::Slices;
use bunkside_planner::stock::{Edge, Owner, Pick, Piece, Stock};
use bunkside_protocol::{Angle, Length, LogRecord, Position, Stroke};

use super::exact::Exact;
use super::logs::{faced, saw_log};
use super::voxels::{self, Corners, SLICES, STRIP, Voxels, corners};
use crate::dice::Dice;

const KERF: i32 = 5;
/// By how much a box is made larger and smaller for the two answers that the stock's answer must lie between,
/// micrometres: more than a section changes over half a slice, and than a fin.
const EPS: f64 = 700.0;

/// One log on both sides.
struct Pair {
    shape: Shape,
    stock: Stock,
    slices: Slices,
    standing: Standing,
    voxels: Voxels,
    exact: Exact,
    /// The log before it was sawn.
    whole: Voxels,
    names: BTreeMap<u8, usize>,
    /// Whether it has more stations than its ends.
    tally: Tally,
}

/// What a run has compared.
#[derive(Debug, Default)]
struct Tally {
    kerfs: usize,
    contacts: usize,
    pieces: usize,
    slivers: usize,
    /// How often the body was compared.
    bodies: usize,
    /// And how often with the blade part-way.
    part_way: usize,
}

impl Pair {
    fn new(record: &LogRecord) -> Self {
        let rests = [5, 31, 58];
        let shape = Shape::new(record).expect("a good record");
        let voxels = Voxels::new(record, &rests);
        let places = rests.map(|slice| Position::um(voxels.middle(slice) as i64));
        let slices = Slices::new(&shape);
        Self {
            stock: Stock::new(&shape, places),
            standing: Standing::new(&slices, &shape),
            slices,
            shape,
            exact: Exact::new(record, &voxels),
            whole: Voxels::new(record, &rests),
            voxels,
            names: BTreeMap::new(),
            tally: Tally::default(),
        }
    }

    fn kerf(&mut self, kerf: Block) {
        self.compare_contact(kerf);
        self.compare_strokes(kerf);
        let carved = self
            .standing
            .carve(&self.slices, &self.shape, &mut self.stock, kerf);
        let freed = carved.expect("within capacity");
        let expected = self.voxels.carve(kerf);
        self.exact.carve(kerf, &self.voxels);
        self.tally.kerfs += 1;
        let slivers = self.tally.slivers;
        self.compare_pieces(freed, expected);
        if slivers == self.tally.slivers {
            self.compare_body();
            self.tally.bodies += 1;
        }
    }

    fn unload(&mut self) {
        self.stock.unload();
        self.voxels.unload();
        self.names.clear();
    }

    /// What stands when the blade has come part of its way, in either stroke.
    fn compare_strokes(&mut self, kerf: Block) {
        let Some(met) = self.stock.met(&self.shape, kerf, Pick::Body) else {
            return;
        };
        let angle = if kerf.height.hi == Position::MAX {
            Angle::Upright
        } else {
            Angle::Flat
        };
        let (body, cut) = (
            self.standing.solid(),
            body::in_kerf(&self.slices, &self.shape, &self.stock, kerf),
        );
        for stroke in [Stroke::Outbound, Stroke::Homebound] {
            for place in going(
                (&self.shape, &self.slices),
                &self.stock,
                angle,
                kerf,
                met.travel,
                stroke,
                &cut,
            ) {
                let gone = match stroke {
                    Stroke::Outbound => Interval::new(Position::MIN, place.travel),
                    Stroke::Homebound => Interval::new(place.travel, Position::MAX),
                };
                let gone = Block {
                    travel: gone.meet(kerf.travel),
                    ..kerf
                };
                let told = place.standing(&body, &cut);
                self.exact.compare(&told, Some(gone), "body part-way");
                self.tally.part_way += 1;
            }
        }
    }

    /// What the kerf will meet lies between what a smaller and what a larger box meets in the fine model.
    fn compare_contact(&mut self, kerf: Block) {
        let body = |owner| owner == voxels::Owner::Body;
        let told = self.stock.met(&self.shape, kerf, Pick::Body);
        let touched = self.stock.touched(&self.shape, kerf, Pick::Body, false);
        let [z, x, y] = corners(kerf);
        let grown = |by: f64| [z, [x[0] - by, x[1] + by], [y[0] - by, y[1] + by]];
        let least = self.voxels.around(grown(-EPS), 0.0, body);
        let most = self.voxels.around(grown(EPS), 0.0, body);
        assert!(told.is_some() || least.is_none(), "nothing met by {kerf:?}");
        assert!(touched.is_none() || most.is_some(), "air touched by {kerf:?}");
        assert!(
            touched.is_some() || told.is_none(),
            "met but not touched: {kerf:?}"
        );
        if let (Some(told), Some(most)) = (told, most) {
            self.between(told, least, most, 0.0, &format!("met by {kerf:?}"));
            self.tally.contacts += 1;
        }
    }

    /// A box of the stock holds the one and lies in the other, but for a slice, a strip, and what a chord may bulge.
    fn between(&self, told: Block, least: Option<Corners>, most: Corners, bark: f64, what: &str) {
        let slack = STRIP + f64::from(self.shape.between().as_um()) + EPS;
        let within = [self.voxels.slice(), slack, slack + bark];
        for (axis, [lo, hi]) in corners(told).into_iter().enumerate() {
            let off = within[axis];
            assert!(
                lo >= most[axis][0] - off && hi <= most[axis][1] + off,
                "{what}, axis {axis}: {lo} to {hi} beyond {:?}",
                most[axis]
            );
            if let Some(least) = least {
                assert!(
                    lo <= least[axis][0] + off && hi >= least[axis][1] - off,
                    "{what}, axis {axis}: {lo} to {hi} lacks {:?}",
                    least[axis]
                );
            }
        }
    }

    /// Every new piece of more than a sliver has its like on the other side: box, volume, centroid.
    fn compare_pieces(&mut self, freed: usize, expected: Vec<usize>) {
        let pieces = self.stock.pieces();
        let new: Vec<Piece> = pieces[pieces.len() - freed..].to_vec();
        let mut open: BTreeMap<usize, Corners> = BTreeMap::new();
        for number in expected {
            let mine = |owner| owner == voxels::Owner::Piece(number);
            let full = self
                .voxels
                .around(everywhere(), 0.0, mine)
                .expect("a piece has wood");
            open.insert(number, full);
        }
        let mut told: Vec<(Piece, Solid)> = new
            .into_iter()
            .map(|piece| (piece, body::piece(&self.stock, &self.shape, piece.id)))
            .collect();
        told.sort_by(|(_, a), (_, b)| b.volume_mm3.total_cmp(&a.volume_mm3));
        for (piece, told) in told {
            let centre = told.centroid_mm.map(|mm| mm * 1e3);
            let volume = |number: usize| self.voxels.solid(|owner| owner == voxels::Owner::Piece(number)).0;
            let like = open
                .iter()
                .filter(|(_, full)| {
                    (0..3).all(|axis| full[axis][0] <= centre[axis] && centre[axis] <= full[axis][1])
                })
                .map(|(number, _)| (*number, (volume(*number) - told.volume_mm3).abs()))
                .min_by(|(_, a), (_, b)| a.total_cmp(b))
                .map(|(number, _)| number);
            match like {
                Some(number) => {
                    let full = open.remove(&number).expect("it was found");
                    self.names.insert(piece.id, number);
                    self.compare_piece(&piece, &told, number, full);
                }
                None => self.sliver(told.volume_mm3, corners(piece.bounds), "only in the stock"),
            }
        }
        for (number, full) in open {
            let (volume, _) = self.voxels.solid(|owner| owner == voxels::Owner::Piece(number));
            self.sliver(volume, full, "only in the fine model");
        }
    }

    /// A part that only one side has found must be next to nothing: less than 2 mm of wood over its box's length.
    fn sliver(&mut self, volume: f64, [along, across, up]: Corners, what: &str) {
        let side = |[lo, hi]: [f64; 2]| (hi - lo) / 1e3;
        let face = side(along) * side(across).max(side(up));
        assert!(
            volume <= 2.0 * face,
            "{what}: {volume} mm³, {along:?} {across:?} {up:?}"
        );
        self.tally.slivers += 1;
    }

    fn compare_piece(&mut self, piece: &Piece, told: &Solid, number: usize, full: Corners) {
        let mine = |owner| owner == voxels::Owner::Piece(number);
        let least = self.voxels.around(everywhere(), 2.0 * EPS, mine);
        // Where wood runs out at a flat angle a strip is too coarse: its end is looked for in the whole log, in a
        // box a little larger.
        let [z, x, y] = corners(piece.bounds);
        let larger = [z, [x[0] - EPS, x[1] + EPS], [y[0] - EPS, y[1] + EPS]];
        let reach = self.whole.around(larger, 0.0, |_| true).expect("a log has wood");
        // A strip's middle lies half a strip from a kerf; bark that stands steep there rises by four times as much.
        let bark = if piece.bark_edge { 2.0 * STRIP } else { 0.0 };
        self.between(piece.bounds, least, [reach[0], full[1], full[2]], bark, "a piece");
        let (volume, centroid) = self.voxels.solid(mine);
        let allowed = self.allowance(full);
        let off = (told.volume_mm3 - volume).abs();
        assert!(
            off <= allowed,
            "{off} mm³ of {volume}, {allowed} allowed: {full:?}"
        );
        for axis in 0..3 {
            let size = (full[axis][1] - full[axis][0]) / 1e3;
            let off = (told.centroid_mm[axis] - centroid[axis]).abs();
            assert!(
                off <= 1.0 + 2.0 * size * allowed / volume,
                "axis {axis}: {off} mm of {size}, {full:?}"
            );
        }
        // Without wane the piece fills its box.
        if !piece.bark_edge {
            let sides = full.map(|[lo, hi]| (hi - lo) / 1e3);
            let solid = sides[0] * sides[1] * sides[2];
            assert!(
                (solid - volume).abs() <= allowed,
                "no wane told, {volume} of {solid}"
            );
        }
        self.compare_sides(piece, number, full[2]);
        self.tally.pieces += 1;
    }

    /// A natural side ends where the log's own wood ends between the piece's heights; a sawn one is straight.
    fn compare_sides(&self, piece: &Piece, number: usize, up: [f64; 2]) {
        let mut cells = self
            .stock
            .cells()
            .filter(|(cell, _)| cell.owner == Owner::Piece(piece.id));
        if cells.nth(1).is_some() {
            // A side that steps inwards with height cannot be told from its box.
            return;
        }
        let mine = self
            .voxels
            .reach(up, |owner| owner == voxels::Owner::Piece(number));
        let log = self.whole.reach(up, |_| true);
        for (side, edge) in [piece.entry, piece.exit].into_iter().enumerate() {
            let both = mine
                .iter()
                .zip(&log)
                .filter_map(|(mine, log)| Some([mine.as_ref()?[side], log.as_ref()?[side]]));
            let natural = both
                .clone()
                .filter(|[mine, log]| mine.abs_diff(*log) <= 1)
                .count();
            let (least, most) = both.clone().fold((usize::MAX, 0), |(lo, hi), [mine, _]| {
                (lo.min(mine), hi.max(mine))
            });
            match edge {
                Edge::Natural => assert_eq!(
                    natural,
                    both.count(),
                    "side {side} of {piece:?} is sawn somewhere"
                ),
                Edge::Sawn => assert!(most - least <= 2, "side {side} of {piece:?} is not straight"),
                Edge::Part => assert!(most > least, "side {side} of {piece:?} is straight"),
            }
        }
    }

    /// How far volumes may differ: a strip at either side over the part's height and length, half a slice at
    /// either end, cubic millimetres.
    fn allowance(&self, [along, across, up]: Corners) -> f64 {
        let side = |[lo, hi]: [f64; 2]| (hi - lo) / 1e3;
        2.0 * STRIP / 1e3 * side(along) * side(up) + self.voxels.slice() / 1e3 * side(across) * side(up)
    }

    /// Where both sides have freed the same pieces, the body is the same.
    fn compare_body(&self) {
        let told = body::body(&self.stock, &self.shape, Pick::Body);
        self.exact.compare(&told, None, "body");
        self.exact.compare(&self.standing.solid(), None, "body as kept");
    }

    /// Each unit of wood the model knows has the owner that the stock says.
    fn compare_owners(&self) {
        let told: usize = self.stock.pieces().len();
        let named = self
            .stock
            .pieces()
            .iter()
            .filter(|piece| self.names.contains_key(&piece.id))
            .count();
        assert!(told - named <= self.tally.slivers);
        let owned = self
            .stock
            .cells()
            .filter(|(cell, _)| cell.owner != Owner::Body)
            .count();
        assert!(owned >= told, "every piece has a cell");
    }
}

fn everywhere() -> Corners {
    [[f64::MIN, f64::MAX]; 3]
}

/// A sawyer with dice: opens the log, then saws layers down to the bed, each in one of a few ways.
struct Sawyer<'a> {
    pair: &'a mut Pair,
    dice: &'a mut Dice,
    /// Places across between which the log lies, millimetres.
    across: [i32; 2],
}

impl Sawyer<'_> {
    fn upright(&mut self, x: i32, y: i32) {
        let across = Interval::new(Position::mm(x - KERF), Position::mm(x));
        self.stroke(across, Interval::new(Position::mm(y), Position::MAX));
    }

    fn flat(&mut self, x: Position, y: i32) {
        let height = Interval::new(Position::mm(y), Position::mm(y + KERF));
        self.stroke(Interval::new(Position::MIN, x), height);
    }

    /// One kerf, now and then in two strokes that meet, or one from either end that do not before the second.
    fn stroke(&mut self, across: Interval, height: Interval) {
        let block = |travel| Block {
            travel,
            across,
            height,
        };
        if self.dice.once_in(5) {
            let slice = self.dice.within(1, SLICES as i32 - 1) as usize;
            let middle = self.pair.voxels.begin(slice);
            let parts = [
                Interval::new(Position::MIN, middle),
                Interval::new(middle, Position::MAX),
            ];
            let first = self.dice.within(0, 1) as usize;
            self.pair.kerf(block(parts[first]));
            self.pair.kerf(block(parts[1 - first]));
        } else {
            self.pair.kerf(block(Interval::ALL));
        }
    }

    /// Takes a whole layer off, its lower face at `y`.
    fn layer(&mut self, y: i32) {
        let [left, right] = self.across;
        match self.dice.within(0, 3) {
            0 => self.flat(Position::MAX, y),
            1 => {
                for x in self.columns(y) {
                    self.flat(Position::mm(x), y);
                    self.upright(x, y);
                    if self.dice.once_in(2) {
                        self.pair.unload();
                    }
                }
                self.flat(Position::MAX, y);
            }
            _ => {
                for x in self.columns(y) {
                    self.upright(x, y);
                }
                if self.dice.once_in(2) {
                    self.flat(Position::mm((left + right) / 2), y);
                }
                self.flat(Position::MAX, y);
            }
        }
        self.pair.compare_owners();
        self.pair.unload();
    }

    fn columns(&mut self, y: i32) -> Vec<i32> {
        let [left, right] = self.across;
        let (mut columns, mut x) = (Vec::new(), left + self.dice.within(15, 60));
        while x < right - 10 {
            if !self.grazes(x, y) {
                columns.push(x);
            }
            x += KERF + self.dice.within(25, 140);
        }
        columns
    }

    /// Whether a kerf ends within three millimetres of where the layer's outermost wood ends: then a strip decides
    /// whether the rest hangs together, and the model is too coarse to say.
    fn grazes(&self, x: i32, y: i32) -> bool {
        [y, y + KERF].into_iter().any(|height| {
            let chords = self
                .pair
                .shape
                .wood()
                .iter()
                .filter_map(|section| section.chord(Position::mm(height)));
            let Some(all) = chords.reduce(Interval::join) else {
                return false;
            };
            [x, x - KERF].into_iter().any(|edge| {
                let near = |end: Position| (end - Position::mm(edge)).abs() < Length::mm(3);
                near(all.lo) || near(all.hi)
            })
        })
    }
}

#[test]
fn sawn_logs_agree_with_a_fine_model() {
    let mut total = Tally::default();
    for seed in 0..60 {
        let mut dice = Dice::new(1_000 + seed);
        // The last twenty lie with faces that were sawn before.
        let record = match saw_log(&mut dice) {
            round if seed < 40 => round,
            round => faced(&mut dice, round),
        };
        let mut pair = Pair::new(&record);
        pair.compare_body();
        let bounds = pair.shape.bounds();
        let mm = |place: Position| place.as_um() / 1000;
        let (top, bottom) = (mm(bounds.height.hi), mm(bounds.height.lo));
        let mut sawyer = Sawyer {
            across: [mm(bounds.across.lo), mm(bounds.across.hi)],
            pair: &mut pair,
            dice: &mut dice,
        };
        let mut y = top - (top - bottom) / sawyer.dice.within(6, 12);
        while y > bottom + (top - bottom) / 6 {
            sawyer.layer(y);
            y -= KERF + sawyer.dice.within(25, 80);
        }
        total.kerfs += pair.tally.kerfs;
        total.contacts += pair.tally.contacts;
        total.pieces += pair.tally.pieces;
        total.slivers += pair.tally.slivers;
        total.bodies += pair.tally.bodies;
        total.part_way += pair.tally.part_way;
    }
    println!("{total:?}");
    assert!(
        total.pieces > 500 && total.slivers * 10 < total.pieces,
        "{total:?}"
    );
    assert!(
        total.bodies * 50 > total.kerfs * 49 && total.part_way > 2_000,
        "{total:?}"
    );
}
