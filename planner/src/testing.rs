//! Mills and logs for tests inside this crate.

use bunkside_protocol::log::Form;
use bunkside_protocol::mill::{
    Axis, Blade, Box3, Bunk, BunkKind, Clearances, Factors, HeightSetting, HoldTimes, Knife, Loose, Power,
    PullBackAid, Reach, Side, Support, Swing, Turn, Wedges,
};
use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Move, Targets};
use bunkside_protocol::{
    Drive, Length, LogRecord, MillRecord, Millis, Position, Sawn, Speed, Station, Stroke, Surface, Timber,
};
use heapless::Vec;

use crate::audit::audit;
use crate::limits::HAND_PUSH;
use crate::replay::Setup;
use crate::rules::{Finding, LEFT_AT_END, NEAR, Severity};

pub(crate) fn block(min: [i32; 3], max: [i32; 3]) -> Box3 {
    Box3 {
        min: min.map(Position::mm),
        max: max.map(Position::mm),
    }
}

fn axis(min: i32, max: i32, rapid: u32, acceleration: u32) -> Axis {
    Axis {
        min: Position::mm(min),
        max: Position::mm(max),
        rapid: Speed::mm_per_s(rapid),
        acceleration: acceleration * 1000,
        tolerance: Length::um(200),
    }
}

/// A powered mill that swings over: both angles climb homebound.
pub(crate) fn powered_mill() -> MillRecord {
    let mm = Length::mm;
    let row = |soft, medium, hard| [mm(soft), mm(medium), mm(hard)];
    let knife = |off, on| [off, on];
    MillRecord {
        drive: Drive::Powered { holding_force: 900 },
        entry: Side::Left,
        blade: Blade {
            kerf: Length::um(5_500),
            radius: mm(280),
            hub: mm(70),
            teeth: 6,
            gullet: 600,
            rim_speed: Speed::mm_per_s(60_000),
            spin_up: Millis::new(8_000),
            run_down: Millis::new(20_000),
        },
        swing: Swing {
            pivot_across: Length::um(-2_750),
            pivot_height: Length::um(2_750),
            turn: Turn::Over,
            teeth_flat: Stroke::Outbound,
            time: Millis::new(2_000),
        },
        head: [
            Vec::from_slice(&[block([-120, -450, 10], [120, -211, 300])]).unwrap(),
            Vec::from_slice(&[block([-120, 10, 211], [120, 300, 450])]).unwrap(),
        ],
        reach: Reach {
            cover: [mm(205), mm(205)],
            bite: [
                [
                    knife(row(200, 180, 140), row(200, 180, 140)),
                    knife(row(200, 180, 140), row(200, 180, 140)),
                ],
                [
                    knife(row(200, 180, 140), row(200, 180, 140)),
                    knife(row(200, 180, 140), row(200, 180, 140)),
                ],
            ],
        },
        power: Power {
            watts: 18_000,
            efficiency: 850,
            feed_min: Speed::mm_per_s(50),
            feed_max: Speed::mm_per_s(500),
            bite_min: Length::um(50),
            bite_max: mm(3),
            gullet_fill: 700,
        },
        knife: Some(Knife {
            leads_homebound: true,
            homebound_limit: [mm(60), mm(200)],
            fitted_at_start: false,
        }),
        aid: Some(PullBackAid {
            widest: mm(300),
            on_at_start: false,
        }),
        travel: axis(-900, 8_000, 900, 500),
        across: axis(-1_200, 1_200, 150, 400),
        height: axis(-10, 1_500, 120, 400),
        height_setting: HeightSetting::Driven,
        bunks: [700, 2_300, 3_900]
            .into_iter()
            .map(|travel| Bunk {
                travel: Position::mm(travel),
                half_size: mm(60),
                top: Position::ZERO,
                kind: BunkKind::Steel,
            })
            .collect(),
        wedges: Wedges {
            reach: mm(60),
            height: mm(15),
            packing: mm(60),
        },
        support: Support {
            spacing: mm(2_400),
            overhang: mm(1_200),
            sag: mm(2),
        },
        dogs: Vec::new(),
        dog_hold: 0,
        keep_out: Vec::new(),
        loose: Loose {
            drops: 8,
            tips: 50,
            on_blade: 173,
        },
        clearances: Clearances {
            bed: mm(15),
            run_out: mm(50),
            body: mm(5),
            rim_overhang: mm(4),
        },
        factors: Factors {
            roll: 1_200,
            slip: 1_200,
            lift: 1_200,
            thrust: 300,
            shock: 1_500,
            grip_barked: 500,
            grip_smooth: 300,
            grip_iced: 150,
        },
        hold_times: HoldTimes {
            walk: Millis::new(10_000),
            unload: Millis::new(12_000),
            act: Millis::new(20_000),
        },
        grid: Length::um(100),
    }
}

/// A hand-pushed mill that swings under: flat outbound and upright homebound are both forward.
pub(crate) fn hand_mill() -> MillRecord {
    let mut mill = powered_mill();
    mill.drive = Drive::Hand { push: HAND_PUSH };
    mill.swing.turn = Turn::Under;
    mill.swing.teeth_flat = Stroke::Outbound;
    mill.swing.pivot_across = Length::mm(-280);
    mill.swing.pivot_height = Length::mm(280);
    mill.head = [
        Vec::from_slice(&[block([-120, -450, 10], [120, -211, 300])]).unwrap(),
        Vec::from_slice(&[block([-120, -300, 211], [120, -10, 450])]).unwrap(),
    ];
    mill.aid = None;
    mill
}

/// A straight round log of one diameter, its near end at 0.6 m, lying on the bed.
pub(crate) fn round_log(diameter_mm: i32, length_mm: i32) -> LogRecord {
    let half = Length::um(i64::from(diameter_mm) * 500);
    let station = |travel: i32| Station {
        travel: Position::mm(travel),
        centre_across: Position::ZERO,
        centre_height: Position::um(half.wide()),
        half_width: half,
        half_height: half,
        skew: Length::ZERO,
    };
    LogRecord {
        form: Form::Round,
        stations: Vec::from_slice(&[station(600), station(600 + length_mm)]).unwrap(),
        sawn: Sawn::NONE,
        bark: Length::ZERO,
        timber: Timber::Soft,
        density: 700,
        stiffness: 9_000,
        cutting_energy: 25,
        surface: Surface::Barked,
        bed_clearance: Length::mm(25),
        between_bunks: None,
        metal: Vec::new(),
    }
}

/// A straight squared timber, its near end at 0.6 m, lying on the bed.
pub(crate) fn timber(width_mm: i32, height_mm: i32, length_mm: i32) -> LogRecord {
    let mut log = round_log(height_mm, length_mm);
    log.form = Form::Square;
    for station in &mut log.stations {
        station.half_width = Length::um(i64::from(width_mm) * 500);
    }
    log
}

/// A straight log that tapers from one diameter to another, its underside level on the bed.
pub(crate) fn tapered_log(near_mm: i32, far_mm: i32, length_mm: i32) -> LogRecord {
    let mut log = round_log(near_mm, length_mm);
    let half = Length::um(i64::from(far_mm) * 500);
    if let Some(far) = log.stations.last_mut() {
        far.half_width = half;
        far.half_height = half;
        far.centre_height = Position::um(half.wide());
    }
    log
}

/// A seeded stream of numbers: xorshift with a multiplied output (constants from memory).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// From 0 to one below `count`.
    pub(crate) fn below(&mut self, count: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 8) % count
    }

    pub(crate) fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(from.len() as u64)).unwrap()]
    }
}

/// On the powered mill, a timber of 180 by 160 mm is edged on its entry side 31 mm above the bed, as a strip that
/// is cut flat outbound and upright homebound; the blade then lies flat at the near end. Common practice, no source.
pub(crate) fn edged_over_bunks() -> Script {
    Script::new()
        .swing(Angle::Flat)
        .travel(270)
        .corner(-60.0, 31.0)
        .cut(4_530)
        .swing(Angle::Upright)
        .cut(270)
        .unload()
        .swing(Angle::Flat)
}

/// A mill, a log, and what is done with them.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) mill: MillRecord,
    pub(crate) log: LogRecord,
    pub(crate) script: Script,
}

impl Case {
    pub(crate) fn new(mill: MillRecord, log: LogRecord, script: Script) -> Self {
        Self { mill, log, script }
    }

    /// On the powered mill, with a log of 300 mm by 3.6 m.
    pub(crate) fn usual(script: Script) -> Self {
        Self::new(powered_mill(), round_log(300, 3_600), script)
    }

    /// With bark on the log, the bunks so much lower.
    pub(crate) fn in_bark(mut self, bark_mm: i32) -> Self {
        self.log.bark = Length::mm(bark_mm);
        for bunk in &mut self.mill.bunks {
            bunk.top = Position::mm(-bark_mm);
        }
        self
    }

    pub(crate) fn refusals(&self) -> std::vec::Vec<&'static str> {
        self.script.refusals(&self.mill, &self.log)
    }

    pub(crate) fn warnings(&self) -> std::vec::Vec<&'static str> {
        self.script.told(&self.mill, &self.log, Severity::Warn)
    }

    /// What one rule measured and would have allowed, at its first finding, as text.
    pub(crate) fn figures(&self, rule: &str) -> Option<(std::string::String, std::string::String)> {
        let found = self.script.findings(&self.mill, &self.log);
        let finding = found.iter().find(|finding| finding.rule == rule)?;
        let objection = finding.objection;
        Some((
            std::format!("{}", objection.measured),
            std::format!("{}", objection.limit),
        ))
    }
}

/// A sequence under construction, in millimetres.
#[derive(Clone, Debug, Default)]
pub(crate) struct Script {
    pub(crate) moves: std::vec::Vec<Move>,
}

impl Script {
    pub(crate) fn new() -> Self {
        Self {
            moves: std::vec![Move::Spin(true)],
        }
    }

    /// With the blade at rest.
    pub(crate) fn at_rest() -> Self {
        Self::default()
    }

    /// The slab of a log of 300 mm by 3.6 m comes off in one wide pass homebound, climbing; the blade then lies flat
    /// at the near end. Common practice, no source.
    pub(crate) fn opened() -> Self {
        Self::new()
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(100.0, 263.0)
            .cut(270)
            .unload()
    }

    /// After [`Self::opened`], half the first layer comes off, flat outbound and upright homebound; the blade then
    /// stands upright at the near end. Common practice, no source.
    pub(crate) fn first_column(self) -> Self {
        self.corner(0.0, 206.5)
            .cut(4_530)
            .swing(Angle::Upright)
            .cut(270)
            .unload()
    }

    /// Raises the head over a timber of 160 mm and runs empty to a place.
    pub(crate) fn travel_over(self, travel: i32) -> Self {
        self.height(200.0).travel(travel)
    }

    /// Raises the head over a log of 300 mm and runs empty to a place.
    pub(crate) fn travel_by_air(self, travel: i32) -> Self {
        self.height(320.0).travel(travel)
    }

    pub(crate) fn with(mut self, told: Move) -> Self {
        self.moves.push(told);
        self
    }

    pub(crate) fn travel(self, travel: i32) -> Self {
        self.with(Move::Go(Targets::travel(Position::mm(travel))))
    }

    pub(crate) fn height(self, height: f64) -> Self {
        self.with(Move::Go(Targets {
            height: Some(mm(height)),
            ..Targets::default()
        }))
    }

    pub(crate) fn corner(self, across: f64, height: f64) -> Self {
        self.with(Move::Go(Targets::corner(mm(across), mm(height))))
    }

    pub(crate) fn swing(self, angle: Angle) -> Self {
        self.with(Move::Swing(angle))
    }

    pub(crate) fn cut(self, travel: i32) -> Self {
        self.with(Move::Cut(stroke(f64::from(travel))))
    }

    /// A stroke that ends at a place to the tenth of a millimetre.
    pub(crate) fn cut_to(self, travel: f64) -> Self {
        self.with(Move::Cut(stroke(travel)))
    }

    pub(crate) fn release(self, travel: i32) -> Self {
        self.with(Move::Cut(Cut {
            release: true,
            ..stroke(f64::from(travel))
        }))
    }

    pub(crate) fn labelled(self, travel: i32, feed: Feed) -> Self {
        self.with(Move::Cut(Cut {
            feed: Some(feed),
            ..stroke(f64::from(travel))
        }))
    }

    pub(crate) fn hold(self, acts: &[Act]) -> Self {
        let acts = acts.iter().fold(Acts::NONE, |acts, act| acts.and(*act));
        self.with(Move::Hold(Hold { acts }))
    }

    pub(crate) fn unload(self) -> Self {
        self.hold(&[Act::Unload])
    }

    /// Every finding on this mill and log but what is told of scripts that are about something else: that they end with the
    /// blade turning, a piece lying or a kerf open, and unload within an arm's reach of it, their rails being short.
    pub(crate) fn findings(&self, mill: &MillRecord, log: &LogRecord) -> std::vec::Vec<Finding> {
        let mut found = self.all_findings(mill, log);
        let beside = |note: &str| note == NEAR || LEFT_AT_END.contains(&note);
        found.retain(|finding| !beside(finding.objection.note));
        found
    }

    /// Every finding on this mill and log.
    pub(crate) fn all_findings(&self, mill: &MillRecord, log: &LogRecord) -> std::vec::Vec<Finding> {
        let setup = Setup::new(mill, log).unwrap();
        let mut found = std::vec::Vec::new();
        audit(
            &setup,
            self.moves.iter().copied(),
            &mut |_, _, _| {},
            &mut |finding| {
                if !found.contains(&finding) {
                    found.push(finding);
                }
            },
        );
        found
    }

    /// The rules that refuse, without repeats.
    pub(crate) fn refusals(&self, mill: &MillRecord, log: &LogRecord) -> std::vec::Vec<&'static str> {
        self.told(mill, log, Severity::Refuse)
    }

    /// The rules that find something of one severity, without repeats.
    pub(crate) fn told(
        &self,
        mill: &MillRecord,
        log: &LogRecord,
        severity: Severity,
    ) -> std::vec::Vec<&'static str> {
        let mut rules = std::vec::Vec::new();
        for finding in self.findings(mill, log) {
            if finding.objection.severity == severity && !rules.contains(&finding.rule) {
                rules.push(finding.rule);
            }
        }
        rules
    }
}

/// A stroke at 150 mm/s, its feed not told.
pub(crate) fn stroke(travel: f64) -> Cut {
    Cut {
        to: Targets::travel(mm(travel)),
        speed: Speed::mm_per_s(150),
        feed: None,
        release: false,
    }
}

/// A place in millimetres, to the micrometre.
pub(crate) fn mm(place: f64) -> Position {
    #[expect(clippy::cast_possible_truncation, reason = "test places are small")]
    Position::um((place * 1000.0).round() as i64)
}
