//! The stated worst case of the stock: a log of 1.2 m with 40 columns in one layer.

use bunkside_planner::geometry::{Block, Interval, Shape};
use bunkside_planner::limits::{BANDS_MAX, CELLS_MAX, PIECES_MAX};
use bunkside_planner::stock::Stock;
use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station, Surface, Timber};

const KERF: i32 = 5;
const COLUMNS: i32 = 40;
/// Forty kerfs part a layer into forty-one columns; the bow makes two pieces of the outermost one on the entry
/// side, which has no wood in the middle of the log.
const PIECES: usize = 42;
/// From one column to the next, millimetres.
const PITCH: i32 = 29;
/// The layer's lower face, and that of the kerf over it, millimetres.
const FLOOR: i32 = 600;
const ROOF: i32 = 650;

/// 5 m long, 1 200 mm at the butt, 1 170 mm at the small end, bowed by 30 mm to the exit side.
fn great_log() -> Shape {
    let station = |travel, across, half| Station {
        travel: Position::mm(travel),
        centre_across: Position::mm(across),
        centre_height: Position::mm(610),
        half_width: Length::mm(half),
        half_height: Length::mm(half),
        skew: Length::mm(4),
    };
    let mut record = LogRecord {
        form: Form::Round,
        stations: Default::default(),
        sawn: Sawn::NONE,
        bark: Length::mm(15),
        timber: Timber::Medium,
        density: 1_000,
        stiffness: 9_000,
        cutting_energy: 40,
        surface: Surface::Barked,
        bed_clearance: Length::mm(25),
        between_bunks: None,
        metal: Default::default(),
    };
    for told in [
        station(500, 0, 585),
        station(3_000, 30, 592),
        station(5_500, 0, 600),
    ] {
        record.stations.push(told).expect("three stations");
    }
    Shape::new(&record).expect("a good record")
}

fn upright(x: i32, along: Interval) -> Block {
    Block {
        travel: along,
        across: Interval::new(Position::mm(x - KERF), Position::mm(x)),
        height: Interval::new(Position::mm(FLOOR), Position::MAX),
    }
}

fn flat(across: Interval, y: i32) -> Block {
    Block {
        travel: Interval::ALL,
        across,
        height: Interval::new(Position::mm(y), Position::mm(y + KERF)),
    }
}

fn kerf_place(number: i32) -> i32 {
    (number - COLUMNS / 2) * PITCH + 15
}

/// A log that has been opened: the cap above the layer is gone.
fn opened(shape: &Shape) -> Stock {
    let mut stock = Stock::new(shape, [1_000, 3_000, 5_000].map(Position::mm));
    assert_eq!(stock.carve(shape, flat(Interval::ALL, ROOF)), Ok(1));
    assert_eq!(stock.unload(), 1);
    stock
}

/// The most bands, cells and pieces that were in use.
#[derive(Default)]
struct Peak {
    bands: usize,
    cells: usize,
    pieces: usize,
}

impl Peak {
    fn note(&mut self, stock: &Stock) {
        let (bands, cells) = stock.in_use();
        self.bands = self.bands.max(bands);
        self.cells = self.cells.max(cells);
        self.pieces = self.pieces.max(stock.pieces().len());
    }

    /// What a carve needs while it works is a little more than what it leaves: a fifth must stay free.
    fn has_room(&self) {
        println!(
            "{} bands, {} cells, {} pieces",
            self.bands, self.cells, self.pieces
        );
        assert!(self.bands * 5 <= BANDS_MAX * 4, "{} bands", self.bands);
        assert!(self.cells * 5 <= CELLS_MAX * 4, "{} cells", self.cells);
        assert!(self.pieces <= PIECES_MAX, "{} pieces", self.pieces);
    }
}

#[test]
fn forty_columns_are_edged_and_released_in_groups() {
    let shape = great_log();
    let (mut stock, mut peak) = (opened(&shape), Peak::default());
    for number in 0..COLUMNS {
        assert_eq!(
            stock.carve(&shape, upright(kerf_place(number), Interval::ALL)),
            Ok(0),
            "{number}"
        );
        peak.note(&stock);
    }
    // Groups as wide as a flat cover of some 400 mm.
    let mut freed = 0;
    for last in [13, 26, 39] {
        let across = Interval::new(Position::MIN, Position::mm(kerf_place(last)));
        freed += stock.carve(&shape, flat(across, FLOOR)).expect("within capacity");
        peak.note(&stock);
        stock.unload();
    }
    freed += stock
        .carve(&shape, flat(Interval::ALL, FLOOR))
        .expect("within capacity");
    stock.unload();
    assert_eq!(freed, PIECES);
    assert_eq!(stock.in_use(), (2, 1), "what remains is one part again");
    peak.has_room();
}

#[test]
fn forty_columns_are_released_by_one_stroke() {
    let shape = great_log();
    let (mut stock, mut peak) = (opened(&shape), Peak::default());
    for number in (0..COLUMNS).rev() {
        assert_eq!(
            stock.carve(&shape, upright(kerf_place(number), Interval::ALL)),
            Ok(0),
            "{number}"
        );
    }
    assert_eq!(stock.carve(&shape, flat(Interval::ALL, FLOOR)), Ok(PIECES));
    peak.note(&stock);
    peak.has_room();
    let order: Vec<_> = stock
        .pieces()
        .iter()
        .map(|piece| piece.bounds.across.lo)
        .collect();
    assert!(order.is_sorted(), "numbered from the entry side");
    assert_eq!(stock.unload(), PIECES);
}

/// Every upright kerf stops short of the far end, all are finished from there, then all columns are released: the
/// ends that stand meanwhile must fit too.
#[test]
fn forty_columns_fit_with_every_kerf_left_unfinished() {
    let shape = great_log();
    let (mut stock, mut peak) = (opened(&shape), Peak::default());
    let to = Interval::new(Position::MIN, Position::mm(5_000));
    for number in 0..COLUMNS {
        assert_eq!(
            stock.carve(&shape, upright(kerf_place(number), to)),
            Ok(0),
            "{number}"
        );
        peak.note(&stock);
    }
    assert_eq!(
        stock.carve(&shape, flat(Interval::ALL, FLOOR)),
        Ok(2),
        "a comb in one piece, and the sliver on the near end"
    );
    peak.note(&stock);
    peak.has_room();
}

#[test]
fn a_layer_is_taken_one_column_after_the_other() {
    let shape = great_log();
    let (mut stock, mut peak) = (opened(&shape), Peak::default());
    for number in 0..COLUMNS {
        let x = kerf_place(number);
        let across = Interval::new(Position::MIN, Position::mm(x));
        assert_eq!(stock.carve(&shape, flat(across, FLOOR)), Ok(0), "{number}");
        let freed = stock
            .carve(&shape, upright(x, Interval::ALL))
            .expect("within capacity");
        assert_eq!(freed, if number == 0 { 2 } else { 1 }, "{number}");
        peak.note(&stock);
        assert_eq!(stock.unload(), freed);
    }
    peak.has_room();
    assert!(
        peak.cells <= 8,
        "{} cells: what is gone must not be kept",
        peak.cells
    );
}
