//! The small worlds: places are multiples of a unit, ends of strokes far from where a disc and the box around it differ.

use bunkside_planner::machine::run_out;
use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::{Box3, Bunk, BunkKind, HeightSetting, Knife, PullBackAid, Turn};
use bunkside_protocol::{
    Act, Acts, Angle, Cut, Drive, Feed, Form, Hold, Length, LogRecord, MillRecord, Millis, Move, Position,
    Speed, Stroke, Targets,
};

use super::small::World;
use super::wood::Um;
use crate::attack::good::Mills;

/// All places across and up are multiples of this, micrometres.
pub(super) const UNIT: Um = 5_000;

/// Where strokes end: past the near end, in the middle, past the far end.
const ENDS: [i32; 3] = [120, 400, 680];

fn block(min: [i32; 3], max: [i32; 3]) -> Box3 {
    Box3 {
        min: min.map(Position::mm),
        max: max.map(Position::mm),
    }
}

/// A mill with a blade of 120 mm, kerf 5 mm.
fn mill(mut mill: MillRecord, turn: Turn) -> MillRecord {
    let mm = Length::mm;
    mill.blade.kerf = mm(5);
    mill.blade.radius = mm(60);
    mill.blade.hub = mm(20);
    mill.swing.turn = turn;
    let (pivot, head) = match turn {
        Turn::Over => ((-2_500, 2_500), block([-30, 5, 45], [30, 60, 90])),
        Turn::Under => ((-60_000, 60_000), block([-30, -60, 45], [30, -5, 75])),
    };
    mill.swing.pivot_across = Length::um(pivot.0);
    mill.swing.pivot_height = Length::um(pivot.1);
    mill.head = [block([-30, -90, 5], [30, -45, 60]), head].map(|part| [part].into_iter().collect());
    mill.reach.cover = [mm(35); 2];
    mill.reach.bite = [[[[mm(35), mm(30), mm(20)]; 2]; 2]; 2];
    mill.knife = None;
    mill.aid = None;
    mill.dogs.clear();
    mill.keep_out.clear();
    for (axis, min, max) in [
        (&mut mill.travel, 50, 750),
        (&mut mill.across, -150, 150),
        (&mut mill.height, -10, 300),
    ] {
        (axis.min, axis.max) = (Position::mm(min), Position::mm(max));
    }
    mill.travel.tolerance = mm(1);
    mill.travel.rapid = Speed::mm_per_s(200);
    mill.travel.acceleration = 1_000_000;
    let bunk = |travel: i32| Bunk {
        travel: Position::mm(travel),
        half_size: mm(20),
        top: Position::ZERO,
        kind: BunkKind::Steel,
    };
    mill.bunks = [250, 550].map(bunk).into_iter().collect();
    (mill.wedges.reach, mill.wedges.height) = (mm(10), mm(5));
    mill.clearances.bed = mm(5);
    mill.clearances.run_out = mm(5);
    mill.clearances.body = mm(5);
    mill.clearances.rim_overhang = mm(5);
    mill.grid = Length::um(100);
    mill
}

/// A timber of 60 by 60 mm and 0.4 m, on the bed.
fn timber(mut log: LogRecord, bark: i32) -> LogRecord {
    log.form = Form::Square;
    log.bark = Length::mm(bark);
    log.bed_clearance = Length::mm(5);
    let mut station = log.stations[0];
    log.stations.clear();
    for travel in [200, 600] {
        station.travel = Position::mm(travel);
        station.centre_across = Position::ZERO;
        station.centre_height = Position::mm(30 + bark);
        (station.half_width, station.half_height) = (Length::mm(30), Length::mm(30));
        station.skew = Length::ZERO;
        log.stations.push(station).expect("two stations");
    }
    log
}

fn corner([across, height]: [i32; 2]) -> Move {
    Move::Go(Targets::corner(Position::mm(across), Position::mm(height)))
}

fn go(travel: i32) -> Move {
    Move::Go(Targets::travel(Position::mm(travel)))
}

fn cut(travel: i32) -> Cut {
    Cut {
        to: Targets::travel(Position::mm(travel)),
        speed: Speed::mm_per_s(100),
        feed: None,
        release: false,
    }
}

fn hold(act: Act) -> Move {
    Move::Hold(Hold { acts: Acts::one(act) })
}

/// Corners, both strokes with full and half ends, swing, spin, unload.
fn alphabet(corners: &[[i32; 2]]) -> Vec<Move> {
    let mut all: Vec<Move> = corners.iter().copied().map(corner).collect();
    all.extend(ENDS.map(go));
    all.extend(ENDS.map(|end| Move::Cut(cut(end))));
    all.extend(Angle::ALL.map(Move::Swing));
    all.extend([Move::Spin(true), Move::Spin(false), hold(Act::Unload)]);
    all
}

fn world(
    name: &'static str,
    mill: MillRecord,
    log: LogRecord,
    before: &[Move],
    alphabet: Vec<Move>,
) -> World {
    let (mill, log): (&'static MillRecord, &'static LogRecord) =
        (Box::leak(Box::new(mill)), Box::leak(Box::new(log)));
    let past = Length::mm(200 - ENDS[0]);
    assert!(
        past > run_out(mill, mill.reach.cover[0]) + Length::mm(10),
        "{name}: ends are too near"
    );
    World {
        name,
        setup: Setup::new(mill, log).expect("a timber"),
        before: before.to_vec(),
        alphabet,
        fine: false,
    }
}

/// Every world.
pub(super) fn all() -> Vec<World> {
    let (base_mill, base_log) = Mills::new().records();
    let over = || mill(base_mill.clone(), Turn::Over);
    let under = || mill(base_mill.clone(), Turn::Under);
    let log = |bark: i32| timber(base_log.clone(), bark);
    let spun = [Move::Spin(true), go(ENDS[0])];
    let flat = [Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    let cut_far = Move::Cut(cut(ENDS[2]));
    let mut worlds = vec![
        world(
            "swings over, as it is parked",
            over(),
            log(0),
            &[],
            alphabet(&[[0, 30], [30, 45], [0, 45]]),
        ),
        world(
            "swings over, blade running",
            over(),
            log(0),
            &spun,
            alphabet(&[[0, 30], [-15, 30], [30, 30], [40, 45]]),
        ),
        world(
            "swings over, flat, a first kerf made",
            over(),
            log(0),
            &[flat.as_slice(), &[corner([0, 30]), cut_far]].concat(),
            alphabet(&[[0, 30], [-15, 30], [30, 30]]),
        ),
        world(
            "swings under, flat, a first kerf made",
            under(),
            log(0),
            &[flat.as_slice(), &[corner([0, 40]), cut_far]].concat(),
            alphabet(&[[0, 40], [30, 40], [0, 80]]),
        ),
    ];
    let mut hand = under();
    hand.drive = Drive::Hand { push: 250 };
    hand.height_setting = HeightSetting::ByHand(Millis::new(25_000));
    worlds.push(world(
        "pushed by hand",
        hand,
        log(0),
        &spun,
        alphabet(&[[0, 30], [30, 30], [0, 80]]),
    ));
    worlds.push(near_bed("over the bed", over(), log(0)));
    // Bunks that stand lower than the timber: it is packed up, and the wedges of 5 mm stand on the packs.
    let mut packed = over();
    for bunk in &mut packed.bunks {
        bunk.top = Position::mm(-8);
    }
    worlds.push(near_bed("over packs", packed, log(0)));
    worlds.extend([true, false].map(|homebound| knife_and_aid(over(), log(0), homebound)));
    worlds.push(beset(over(), log(5)));
    worlds.push(in_doubt(over(), log(0)));
    worlds.push(thin_wood(over(), log(0)));
    worlds.push(slender_wood(over(), log(0)));
    worlds.push(heavy_sides("heavy sides", over(), log(0)));
    let mut careful = over();
    careful.loose.tips = 12;
    worlds.push(heavy_sides("sides too heavy to tip", careful, log(0)));
    worlds.push(loose_column(over(), log(0)));
    worlds.push(thick_bark(over(), log(15)));
    worlds.push(narrow_foot(over(), log(0)));
    worlds.push(low_in_the_air(over(), log(0)));
    worlds.extend([over(), under()].map(|mill| swings_over_a_pack(mill, log(0))));
    worlds.push(close_by(over(), log(0)));
    worlds.push(close_by(under(), log(0)));
    worlds
}

/// What stands is 30 mm high, and kerfs come down to the bed.
fn near_bed(name: &'static str, mill: MillRecord, log: LogRecord) -> World {
    let before = [
        Move::Spin(true),
        go(ENDS[0]),
        Move::Swing(Angle::Flat),
        corner([0, 30]),
        Move::Cut(cut(ENDS[2])),
        Move::Swing(Angle::Upright),
        Move::Cut(cut(ENDS[0])),
        hold(Act::Unload),
        Move::Swing(Angle::Flat),
        corner([30, 30]),
        Move::Cut(cut(ENDS[2])),
        hold(Act::Unload),
    ];
    let corners = [[-15, 10], [0, 10], [30, 10], [30, 5]];
    world(name, mill, log, &before, alphabet(&corners))
}

/// A knife that leads one way and an aid that bears, both changed at holds, and labels.
fn knife_and_aid(mut mill: MillRecord, log: LogRecord, leads_homebound: bool) -> World {
    mill.knife = Some(Knife {
        leads_homebound,
        homebound_limit: [Length::mm(10), Length::mm(20)],
        fitted_at_start: true,
    });
    mill.aid = Some(PullBackAid {
        widest: Length::mm(30),
        on_at_start: false,
    });
    mill.swing.teeth_flat = Stroke::Homebound;
    if let Drive::Powered { holding_force } = &mut mill.drive {
        *holding_force = 10;
    }
    let mut moves = alphabet(&[[0, 30], [30, 30], [-15, 10]]);
    moves.extend([Act::KnifeOff, Act::KnifeOn, Act::AidOn].map(hold));
    for end in [ENDS[0], ENDS[2]] {
        let feed = Some(Feed::Climb);
        moves.push(Move::Cut(Cut { feed, ..cut(end) }));
        let release = true;
        moves.push(Move::Cut(Cut { release, ..cut(end) }));
    }
    let before = [Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    let name = if leads_homebound {
        "knife, aid and labels"
    } else {
        "knife that leads outbound, aid and labels"
    };
    world(name, mill, log, &before, moves)
}

/// Bark, a dog, a keep-out box, metal, timber bunks; feeds and places beyond the mill's.
fn beset(mut mill: MillRecord, mut log: LogRecord) -> World {
    mill.dogs.push(block([300, 20, 0], [320, 40, 10])).expect("room");
    mill.keep_out
        .push(block([640, -60, 100], [740, 60, 120]))
        .expect("room");
    for bunk in &mut mill.bunks {
        bunk.kind = BunkKind::Timber {
            sacrificial: Length::mm(5),
        };
    }
    log.metal.push(block([300, 10, 40], [320, 15, 45])).expect("room");
    let mut moves = alphabet(&[[15, 30], [15, 40], [0, -5], [35, 15]]);
    moves.push(corner([160, 40]));
    for speed in [Speed::ZERO, Speed::mm_per_s(201), Speed::mm_per_s(200)] {
        let end = cut(ENDS[2]);
        moves.push(Move::Cut(Cut { speed, ..end }));
    }
    moves.push(Move::Cut(Cut {
        to: Targets {
            across: Some(Position::mm(20)),
            ..Targets::travel(Position::mm(ENDS[2]))
        },
        ..cut(ENDS[2])
    }));
    let before = [Move::Spin(true), go(ENDS[0]), corner([15, 60])];
    world("bark, metal, dogs and boxes", mill, log, &before, moves)
}

/// Strokes that end where the wood does, within the play of the drive.
fn in_doubt(mut mill: MillRecord, log: LogRecord) -> World {
    // What a stroke leaves that falls short is mostly more than hangs by a thread.
    mill.travel.tolerance = Length::mm(15);
    let before = [Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    let mut moves: Vec<Move> = [[0, 30], [0, 45], [30, 30]].map(corner).to_vec();
    moves.extend([ENDS[0], 200, ENDS[2], 600].map(|end| Move::Cut(cut(end))));
    moves.extend([Move::Swing(Angle::Upright), hold(Act::Unload)]);
    World {
        fine: true,
        ..world("strokes in doubt", mill, log, &before, moves)
    }
}

/// Kerfs 2 mm apart, side by side and one over the other: 35 mm deep and 30 mm wide is enough for a lath or a skin.
fn thin_wood(mill: MillRecord, log: LogRecord) -> World {
    let mut moves: Vec<Move> = [[0, 25], [7, 25], [0, 32], [-5, 32]].map(corner).to_vec();
    moves.extend(ENDS.map(|end| Move::Cut(cut(end))));
    moves.extend(Angle::ALL.map(Move::Swing));
    moves.push(hold(Act::Unload));
    world(
        "laths and skins",
        mill,
        log,
        &[Move::Spin(true), go(ENDS[0])],
        moves,
    )
}

/// Kerfs 4 mm apart: that holds 35 mm high or 30 mm wide, and breaks off 55 mm high or 50 mm wide.
fn slender_wood(mill: MillRecord, log: LogRecord) -> World {
    let places = [[0, 5], [9, 5], [9, 25], [20, 41], [20, 32], [0, 32]];
    let mut moves: Vec<Move> = places.map(corner).to_vec();
    moves.extend([ENDS[0], ENDS[2]].map(|end| Move::Cut(cut(end))));
    moves.extend(Angle::ALL.map(Move::Swing));
    world(
        "slender laths and skins",
        mill,
        log,
        &[Move::Spin(true), go(ENDS[0])],
        moves,
    )
}

/// Wood four times as heavy as iron is, cut away under the entry side up to 10 mm beside the middle, and a flat kerf over that:
/// an upright kerf frees a side that lies on nothing, on a little of its width, or on half of it.
fn heavy_sides(name: &'static str, mill: MillRecord, mut log: LogRecord) -> World {
    log.density = 45_000;
    let mut before = vec![Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    let ends = [ENDS[2], ENDS[0]];
    for (at, end) in [[-10, 15], [-10, 20], [-10, 25], [5, 30]]
        .into_iter()
        .zip(ends.into_iter().cycle())
    {
        before.extend([corner(at), Move::Cut(cut(end))]);
    }
    let mut moves: Vec<Move> = [[-5, 30], [0, 30], [5, 30]].map(corner).to_vec();
    moves.extend(ENDS.map(|end| Move::Cut(cut(end))));
    moves.extend(Angle::ALL.map(Move::Swing));
    moves.push(hold(Act::Unload));
    world(name, mill, log, &before, moves)
}

/// A column of 13.5 kg lies loose, 25 mm wide and 30 mm high: half of its weight leans on what stands beside it. 4 mm hold that
/// 15 mm high, 9 mm as high as it is.
fn loose_column(mill: MillRecord, mut log: LogRecord) -> World {
    log.density = 45_000;
    let mut before = vec![Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    before.extend([corner([0, 25]), Move::Cut(cut(ENDS[2]))]);
    before.extend([Move::Swing(Angle::Upright), Move::Cut(cut(ENDS[0]))]);
    let places = [[9, 25], [9, 45], [9, 40], [14, 25], [19, 30]];
    let mut moves: Vec<Move> = places.map(corner).to_vec();
    moves.extend(ENDS.map(|end| Move::Cut(cut(end))));
    moves.push(hold(Act::Unload));
    world("a loose column", mill, log, &before, moves)
}

/// The timber ends at 75 mm over its bark of 15 mm: a flat kerf takes the last of it or only bark, in one pass or two, an upright
/// one on the entry side too.
fn thick_bark(mut mill: MillRecord, log: LogRecord) -> World {
    mill.aid = Some(PullBackAid {
        widest: Length::mm(50),
        on_at_start: false,
    });
    let places = [
        [50, 70],
        [50, 75],
        [50, 80],
        [0, 70],
        [-30, 20],
        [-25, 20],
        [-35, 20],
    ];
    let mut moves: Vec<Move> = places.map(corner).to_vec();
    moves.extend([ENDS[0], ENDS[2]].map(|end| Move::Cut(cut(end))));
    moves.extend([Move::Swing(Angle::Upright), hold(Act::AidOn)]);
    let before = [Move::Spin(true), go(ENDS[0]), Move::Swing(Angle::Flat)];
    World {
        // Nobody says whose the lip of bark beyond a rim is.
        fine: true,
        ..world("thick bark", mill, log, &before, moves)
    }
}

/// Two upright kerfs leave 5 mm between them; freed 40 mm high that stands, 45 mm high it topples.
fn narrow_foot(mill: MillRecord, log: LogRecord) -> World {
    let mut before = vec![Move::Spin(true), go(ENDS[0])];
    for (at, end) in [[0, 10], [10, 10]].into_iter().zip([ENDS[2], ENDS[0]]) {
        before.extend([corner(at), Move::Cut(cut(end))]);
    }
    let mut moves: Vec<Move> = [[10, 10], [10, 15], [0, 10], [25, 30]].map(corner).to_vec();
    moves.extend([ENDS[0], ENDS[2]].map(|end| Move::Cut(cut(end))));
    moves.extend(Angle::ALL.map(Move::Swing));
    moves.push(hold(Act::Unload));
    world("a narrow foot", mill, log, &before, moves)
}

/// Packs up to 0 mm, wedges on them up to 5 mm from 30 to 80 mm across, a dog up to 15 mm that closes from 45 mm on the timber's side
/// at 30 mm: over each of them, and beside, 5 mm are kept.
fn low_in_the_air(mut mill: MillRecord, log: LogRecord) -> World {
    for bunk in &mut mill.bunks {
        bunk.top = Position::mm(-8);
    }
    mill.wedges.reach = Length::mm(50);
    mill.dogs.push(block([300, 45, 0], [320, 60, 15])).expect("room");
    let places = [[40, 5], [40, 10], [40, 15], [40, 20], [70, 10], [90, 0], [90, 5]];
    let mut moves: Vec<Move> = places.map(corner).to_vec();
    moves.extend(ENDS.map(go));
    moves.extend([Move::Cut(cut(ENDS[2])), Move::Swing(Angle::Flat)]);
    let before = [Move::Spin(true), go(ENDS[0]), corner([40, 60])];
    world("low in the air", mill, log, &before, moves)
}

/// A bunk at the log's end reaches out to under the blade, with a pack on it and wedges on that.
fn swings_over_a_pack(mut mill: MillRecord, log: LogRecord) -> World {
    for bunk in &mut mill.bunks {
        bunk.top = Position::mm(-8);
    }
    (mill.bunks[0].travel, mill.bunks[0].half_size) = (Position::mm(200), Length::mm(90));
    let places = [[0, 5], [0, 10], [0, 20], [0, 30], [0, 35], [60, 40], [90, 10]];
    let mut moves: Vec<Move> = places.map(corner).to_vec();
    moves.extend(Angle::ALL.map(Move::Swing));
    moves.push(Move::Spin(false));
    let name = match mill.swing.turn {
        Turn::Over => "swings over, above a pack",
        Turn::Under => "swings under, above a pack",
    };
    World {
        fine: true,
        ..world(name, mill, log, &[Move::Spin(true), go(ENDS[0])], moves)
    }
}

/// Ends nearer to the log than the blade's radius: what the disc clears, the boxes around it may not.
fn close_by(mill: MillRecord, log: LogRecord) -> World {
    let mut moves: Vec<Move> = [[0, 30], [-30, 45], [-35, 80], [0, 80]].map(corner).to_vec();
    moves.extend([160, 195, 610, ENDS[2]].map(go));
    moves.extend([160, 195, 610, ENDS[2]].map(|end| Move::Cut(cut(end))));
    moves.extend(Angle::ALL.map(Move::Swing));
    moves.extend([Move::Spin(false), hold(Act::Unload)]);
    let name = match mill.swing.turn {
        Turn::Over => "close by, swings over",
        Turn::Under => "close by, swings under",
    };
    World {
        fine: true,
        ..world(name, mill, log, &[Move::Spin(true), go(ENDS[0])], moves)
    }
}
