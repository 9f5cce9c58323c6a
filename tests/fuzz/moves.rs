//! Arbitrary moves on small logs, replayed and judged by every rule.
//!
//! The first byte chooses mill and log, the second whether the rest is what a job stores or a plainer code in which nearly
//! every run of bytes means moves that a carriage could be told.

use std::sync::OnceLock;

use bunkside_planner::audit::{Verdict, audit};
use bunkside_planner::limits::{BANDS_MAX, CELLS_MAX, PIECES_MAX};
use bunkside_planner::replay::{Setup, Step};
use bunkside_planner::stock::Stock;
use bunkside_protocol::job::code::CodeReader;
use bunkside_protocol::log::Form;
use bunkside_protocol::{
    Act, Acts, Angle, Cut, Feed, Hold, Length, LogRecord, MillRecord, Move, Position, Sawn, Speed, Station,
    Surface, Targets, Timber,
};

use super::profile;

/// No sequence is longer: bounded time is asked of each move.
const MOVES_MAX: usize = 96;
/// Where the log begins and ends, millimetres.
const ENDS: [i32; 2] = [600, 2_000];

/// What is known of a sequence that ran.
#[derive(Debug, PartialEq)]
pub(crate) struct Ran {
    pub(crate) moves: usize,
    pub(crate) verdict: Verdict,
    pub(crate) freed: u16,
}

/// Replays what the bytes say, and holds what must be so of any sequence whatever.
pub(crate) fn run(bytes: &[u8]) -> Ran {
    let (world, rest) = bytes
        .split_first()
        .map_or((0, bytes), |(first, rest)| (*first, rest));
    let setups = setups();
    let setup = &setups[usize::from(world) % setups.len()];
    let moves = moves(setup, rest);
    let mut watched = Watched {
        seen: 0,
        freed: 0,
        wood: f64::INFINITY,
    };
    let mut refused = false;
    let verdict = audit(
        setup,
        moves.iter().copied(),
        &mut |step, before, after| watched.look(step, before, after),
        &mut |finding| {
            assert!(usize::from(finding.index) < moves.len().max(1), "{finding:?}");
            refused |= finding.objection.severity == bunkside_planner::rules::Severity::Refuse;
        },
    );
    assert_eq!(verdict == Verdict::Refused, refused);
    assert!(watched.seen <= moves.len());
    Ran {
        moves: moves.len(),
        verdict,
        freed: watched.freed,
    }
}

struct Watched {
    seen: usize,
    freed: u16,
    /// What stood last, cubic millimetres.
    wood: f64,
}

impl Watched {
    fn look(&mut self, step: &Step, before: &Stock, after: &Stock) {
        assert_eq!(usize::from(step.index), self.seen);
        self.seen += 1;
        for stock in [before, after] {
            let (bands, cells) = stock.in_use();
            assert!(bands <= BANDS_MAX && cells <= CELLS_MAX && stock.pieces().len() <= PIECES_MAX);
        }
        assert!(after.freed() >= before.freed());
        self.freed = after.freed();
        let wood = step.body.volume_mm3;
        assert!((0.0..=self.wood + 1.0).contains(&wood), "wood grows: {wood}");
        self.wood = wood;
        if let Some(strain) = &step.strain {
            for margins in [strain.during, strain.rest] {
                let all = [
                    margins.tip,
                    margins.turn,
                    margins.stand,
                    margins.slip,
                    margins.lift,
                ];
                assert!(all.iter().all(|margin| *margin >= 0.0), "{margins:?}");
            }
        }
        if step.not_judged.is_some() {
            assert!(step.cut.is_none() && step.strain.is_none());
        }
    }
}

/// Two mills, three logs, made once.
fn setups() -> &'static [Setup<'static>] {
    static SETUPS: OnceLock<Vec<Setup<'static>>> = OnceLock::new();
    SETUPS.get_or_init(|| {
        let mills: [&'static MillRecord; 2] =
            ["powered-165", "hand-150"].map(|name| &*Box::leak(Box::new(profile(name).record)));
        let logs: [&'static LogRecord; 3] =
            [round(), tapered(), squared()].map(|log| &*Box::leak(Box::new(log)));
        let pairs = mills.into_iter().flat_map(|mill| logs.map(|log| (mill, log)));
        pairs
            .map(|(mill, log)| Setup::new(mill, log).expect("a log"))
            .collect()
    })
}

fn station(travel: i32, half: i32, aside: i32) -> Station {
    Station {
        travel: Position::mm(travel),
        centre_across: Position::mm(aside),
        centre_height: Position::mm(half),
        half_width: Length::mm(half),
        half_height: Length::mm(half),
        skew: Length::ZERO,
    }
}

fn round() -> LogRecord {
    LogRecord {
        form: Form::Round,
        stations: ENDS.map(|end| station(end, 100, 0)).into_iter().collect(),
        sawn: Sawn::NONE,
        bark: Length::ZERO,
        timber: Timber::Soft,
        density: 700,
        stiffness: 9_000,
        cutting_energy: 25,
        surface: Surface::Barked,
        bed_clearance: Length::mm(25),
        between_bunks: None,
        metal: std::iter::empty().collect(),
    }
}

/// Bowed aside as well, in bark.
fn tapered() -> LogRecord {
    let [near, far] = ENDS;
    let stations = [station(near, 80, 0), station(1_300, 95, 12), station(far, 110, 0)];
    LogRecord {
        stations: stations.into_iter().collect(),
        bark: Length::mm(8),
        ..round()
    }
}

fn squared() -> LogRecord {
    LogRecord {
        form: Form::Square,
        ..round()
    }
}

fn moves(setup: &Setup<'_>, bytes: &[u8]) -> Vec<Move> {
    let Some((mode, rest)) = bytes.split_first() else {
        return Vec::new();
    };
    if mode % 4 == 0 {
        let count = u32::try_from(MOVES_MAX).expect("a few");
        let code = CodeReader::new(setup.mill.grid, count, rest.iter().copied());
        let told = code.expect("a mill's grid").map_while(Result::ok);
        return told.collect();
    }
    let mut code = Plain(rest);
    let mut moves = vec![Move::Spin(true)];
    while moves.len() < MOVES_MAX
        && let Some(next) = code.next()
    {
        moves.push(next);
    }
    moves
}

/// Two to five bytes a move.
struct Plain<'b>(&'b [u8]);

impl Plain<'_> {
    fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    fn next(&mut self) -> Option<Move> {
        let told = self.byte()?;
        Some(match told % 8 {
            0 => Move::Go(Targets::travel(self.travel()?)),
            1 => Move::Go(Targets {
                across: Some(self.place()?),
                ..Targets::default()
            }),
            2 => Move::Go(Targets {
                height: Some(self.place()?),
                ..Targets::default()
            }),
            3 => Move::Go(Targets::corner(self.place()?, self.place()?)),
            4 | 5 => Move::Cut(self.cut(told / 8)?),
            6 if told & 16 == 0 => Move::Swing(Angle::ALL[usize::from(told >> 7)]),
            6 => Move::Spin(told & 128 == 0),
            _ => Move::Hold(Hold {
                acts: self.acts(told / 8)?,
            }),
        })
    }

    /// Past the ends, at them and within the log.
    fn travel(&mut self) -> Option<Position> {
        let [near, far] = ENDS;
        Some(match self.byte()? {
            0..=47 => Position::mm(near - 330),
            48..=95 => Position::mm(far + 330),
            at @ 96..=127 => Position::mm(near) + Length::um(100 * (i64::from(at) - 112)),
            at @ 128..=159 => Position::mm(far) + Length::um(100 * (i64::from(at) - 144)),
            at @ 160..=223 => Position::mm(near + 20 * i32::from(at - 160)),
            at => Position::mm(-700 + 300 * i32::from(at - 224)),
        })
    }

    /// Across or up, half a millimetre at its finest.
    fn place(&mut self) -> Option<Position> {
        let coarse = Position::mm(4 * (i32::from(self.byte()?) - 70));
        Some(coarse + Length::um(500 * i64::from(self.byte()? % 8)))
    }

    fn cut(&mut self, told: u8) -> Option<Cut> {
        let mut to = Targets::travel(self.travel()?);
        if told % 16 == 15 {
            to.across = Some(self.place()?);
        }
        Some(Cut {
            to,
            speed: Speed::mm_per_s([150, 300, 20, 0, 60, 700, 200_000, 90][usize::from(told % 8)]),
            feed: [None, None, Some(Feed::Climb), Some(Feed::Forward)][usize::from(told / 8 % 4)],
            release: told >= 24,
        })
    }

    fn acts(&mut self, told: u8) -> Option<Acts> {
        let more = Act::ALL[usize::from(self.byte()?) % Act::ALL.len()];
        let acts = if told < 24 {
            Acts::one(Act::Unload)
        } else {
            Acts::NONE
        };
        Some(if told.is_multiple_of(2) {
            acts
        } else {
            acts.and(more)
        })
    }
}
