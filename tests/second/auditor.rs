//! The second auditor: what each rule holds, said again over the rods.

use std::collections::BTreeMap;
use std::rc::Rc;

use bunkside_protocol::{Act, Angle, Cut, Feed, Form, LogRecord, MillRecord, Move, Stroke, Targets};

use super::bed::Lying;
use super::machine::{At, Say, Slack, blade, head, kept, kerf_of, play, um};
use super::open::open;
use super::wedges::Wedges;
use super::wood::{Bx, FAR, Hard, Owner, Um, Wood, around, shared};
use super::{bark, bed, falls, neck, practice, strokes, thin};

/// A rule's id and whether it refuses, else it warns.
pub(crate) type Key = (&'static str, bool);

/// What is said of one move.
pub(crate) type Said = BTreeMap<Key, Say>;

/// A piece that lies free.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) bx: Bx,
    /// Whether its entry and its exit side are the log's own all along.
    pub(crate) natural: [Say; 2],
    pub(crate) bark: Say,
}

/// The stroke that freed the last group near the bed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Last {
    pub(crate) index: usize,
    pub(crate) angle: Angle,
    pub(crate) feed: Option<Feed>,
    pub(crate) shallow: bool,
    pub(crate) edged: Say,
    pub(crate) aid: bool,
}

/// The mill and the log, and how exactly the log is known.
#[derive(Clone)]
pub(crate) struct Ground<'a> {
    pub(crate) mill: &'a MillRecord,
    pub(crate) log: &'a LogRecord,
    pub(crate) slack: Slack,
    /// The box around the log, bark included.
    pub(crate) bounds: Bx,
    /// The lowest height at which the sequence cuts.
    pub(crate) lowest: Option<Um>,
}

/// A sequence on its way, in one of its worlds.
#[derive(Clone)]
pub(crate) struct Second<'a> {
    pub(crate) ground: Ground<'a>,
    pub(crate) wood: Wood,
    pub(crate) pieces: Vec<Piece>,
    pub(crate) at: At,
    pub(crate) index: usize,
    shallow: Option<Um>,
    last: Option<Last>,
    pub(crate) wedges: Wedges,
    /// Packs, wedges and dogs under the log.
    pub(crate) lying: Rc<[Lying]>,
    /// Which strokes in doubt run through, and how many there were.
    assumed: u8,
    pub(crate) doubts: u8,
    /// Whether a stroke ended in the log, where the round blade leaves less than its kerf does.
    pub(crate) ended_inside: bool,
}

/// What a stroke does: its kerf, and the wood in it and beside it.
pub(crate) struct Stroked {
    pub(crate) told: Cut,
    pub(crate) kerf: Bx,
    pub(crate) stroke: Option<Stroke>,
    pub(crate) feed: Option<Feed>,
    pub(crate) met: Option<Bx>,
    /// Whether it meets so little that it may be none.
    pub(crate) grazed: bool,
    pub(crate) bite: Um,
    pub(crate) cover: Um,
}

pub(crate) fn body(owner: Owner) -> bool {
    owner == Owner::Body
}

/// The bark that counts where something is sure, and where it may be.
pub(crate) const fn hard(sure: bool) -> Hard {
    if sure { Hard::SureBark } else { Hard::AnyBark }
}

pub(crate) fn any(_: Owner) -> bool {
    true
}

impl<'a> Second<'a> {
    pub(crate) fn new(ground: Ground<'a>, wood: Wood, at: At, assumed: u8) -> Self {
        let lying = bed::lying(ground.mill, ground.log).into();
        Self {
            ground,
            wood,
            pieces: Vec::new(),
            at,
            index: 0,
            shallow: None,
            last: None,
            wedges: Wedges::default(),
            lying,
            assumed,
            doubts: 0,
            ended_inside: false,
        }
    }

    /// How far blade and head are kept from everything.
    pub(crate) fn clearance(&self) -> [Um; 3] {
        let mill = self.ground.mill;
        kept(mill, um(mill.clearances.body.as_um()))
    }

    fn targets(&self, to: &Targets) -> At {
        At {
            z: to.travel.map_or(self.at.z, |place| place.as_um().into()),
            x: to.across.map_or(self.at.x, |place| place.as_um().into()),
            y: to.height.map_or(self.at.y, |place| place.as_um().into()),
            ..self.at
        }
    }

    /// Runs one move and says what the rules have to say of it; none where its outcome cannot be told and the
    /// sequence ends, but for what is said of it.
    pub(crate) fn step(&mut self, told: &Move) -> (Said, bool) {
        let mut said = Said::new();
        let from = self.at;
        let to = match told {
            Move::Go(targets) => self.targets(targets),
            Move::Cut(cut) => self.targets(&cut.to),
            Move::Swing(angle) => At {
                angle: *angle,
                ..from
            },
            Move::Spin(on) => At {
                spinning: *on,
                ..from
            },
            Move::Hold(hold) => self.after(|act| hold.acts.contains(act)),
        };
        strokes::judge(self, told, &to, &mut said);
        practice::judge(self, told, &to, &mut said);
        let mut judged = true;
        match told {
            Move::Cut(cut) if from.x != to.x || from.y != to.y => {
                add(&mut said, "straight", true, Say::Yes);
                let feed = Stroke::between(mark(from.z), mark(to.z)).map(|stroke| self.feed(stroke));
                practice::label(cut, feed, &mut said);
                judged = false;
            }
            Move::Cut(cut) => judged = self.cut(cut, &to, &mut said),
            Move::Hold(hold) => {
                if hold.acts.contains(Act::Unload) {
                    self.wood.unload();
                    self.pieces.clear();
                }
                let kerf = um(self.ground.mill.blade.kerf.as_um());
                self.wedges.hold(hold.acts, &self.wood, kerf, self.ground.slack);
            }
            _ => {}
        }
        if !judged {
            add(&mut said, "not-judged", true, Say::Yes);
        }
        self.at = to;
        self.index += 1;
        said.retain(|_, say| *say != Say::No);
        (said, judged)
    }

    fn after(&self, has: impl Fn(Act) -> bool) -> At {
        let fitted = |was: bool, on: Act, off: Act, there: bool| ((was || has(on)) && !has(off)) && there;
        let mill = self.ground.mill;
        At {
            knife: fitted(self.at.knife, Act::KnifeOn, Act::KnifeOff, mill.knife.is_some()),
            aid: fitted(self.at.aid, Act::AidOn, Act::AidOff, mill.aid.is_some()),
            ..self.at
        }
    }

    pub(crate) fn feed(&self, stroke: Stroke) -> Feed {
        // The teeth at the working rim run outbound or homebound; where they meet the carriage's way it climbs.
        let mill = self.ground.mill;
        let under = mill.swing.turn == bunkside_protocol::mill::Turn::Under;
        let flat = mill.swing.teeth_flat;
        let other = match flat {
            Stroke::Outbound => Stroke::Homebound,
            Stroke::Homebound => Stroke::Outbound,
        };
        let teeth = if self.at.angle == Angle::Upright && under {
            other
        } else {
            flat
        };
        if teeth == stroke {
            Feed::Forward
        } else {
            Feed::Climb
        }
    }

    /// What a stroke meets, before it is cut.
    fn stroked(&self, told: &Cut, z: [Um; 2], stroke: Option<Stroke>) -> Stroked {
        let (mill, at) = (self.ground.mill, self.at);
        let kerf = kerf_of(mill, &at, z);
        let met = self.wood.extent(kerf, body);
        let little = |[lo, hi]: [Um; 2]| hi - lo < 2 * self.ground.slack.by;
        let grazed = met.is_some_and(|met| little(met.x) && little(met.y));
        let beside = match at.angle {
            Angle::Flat => Bx {
                y: [kerf.y[0], kerf.y[1] + BESIDE],
                ..kerf
            },
            Angle::Upright => Bx {
                x: [kerf.x[0] - BESIDE, kerf.x[1] + BESIDE],
                ..kerf
            },
        };
        let over = self.wood.extent(beside, body);
        let depth = |bx: Option<Bx>| match (at.angle, bx) {
            (_, None) => 0,
            (Angle::Flat, Some(bx)) => (at.x - bx.x[0]).max(0),
            (Angle::Upright, Some(bx)) => (bx.y[1] - at.y).max(0),
        };
        Stroked {
            told: *told,
            kerf,
            stroke,
            feed: stroke.map(|stroke| self.feed(stroke)),
            met,
            grazed,
            bite: depth(met),
            cover: depth(over),
        }
    }

    /// Cuts; answers whether the outcome could be told.
    fn cut(&mut self, told: &Cut, to: &At, said: &mut Said) -> bool {
        let stroke = Stroke::between(mark(self.at.z), mark(to.z));
        practice::label(told, stroke.map(|stroke| self.feed(stroke)), said);
        let Some(z) = self.settled(to, stroke) else {
            return false;
        };
        let [near, far] = self.wood.length();
        self.ended_inside |= [z[0], z[1]].iter().any(|end| near < *end && *end < far);
        let stroked = self.stroked(told, z, stroke);
        strokes::judge_cut(self, &stroked, to, said);
        bed::judge(self, &stroked, to, said);
        practice::judge_cut(self, &stroked, said);
        if stroked.grazed {
            for rule in OF_WOOD_MET {
                said.insert((rule, true), Say::Unsure);
            }
            said.insert(("knife", false), Say::Unsure);
        }
        if z[0] < z[1] {
            self.wedges.cut(self.at.angle, stroked.kerf);
            let sheets = bark::beyond(self, &stroked);
            let freed = self.wood.carve(stroked.kerf);
            let pieces: Vec<Piece> = freed.iter().map(|(id, bx)| self.piece(*id, *bx)).collect();
            falls::judge(self, &freed, &pieces, said);
            let freed = pieces;
            practice::judge_freed(self, &stroked, &freed, said);
            bark::judge(self, &stroked, &sheets, said);
            if stroked.met.is_some() {
                let left = thin::left(self, &stroked).or(neck::hangs(self));
                let left = if stroked.grazed {
                    left.and(Say::Unsure)
                } else {
                    left
                };
                add(said, "thin-wood", true, left);
            }
            self.note(&stroked, &freed);
            self.pieces.extend(freed);
        } else {
            self.note(&stroked, &[]);
        }
        true
    }

    /// The stretch over which the kerf has its depth. Where its end leaves wood if the carriage falls short by its
    /// play and none if it overruns by as much, it is as assumed; none where that has been so too often.
    fn settled(&mut self, to: &At, stroke: Option<Stroke>) -> Option<[Um; 2]> {
        let from = self.at.z;
        let between = |a: Um, b: Um| [a.min(b), a.max(b)];
        let [play, ..] = play(self.ground.mill);
        let out = match stroke {
            Some(Stroke::Outbound) => play,
            Some(Stroke::Homebound) => -play,
            None => 0,
        };
        let beyond = |end: Um| {
            let z = if out > 0 { [end, FAR] } else { [-FAR, end] };
            self.wood
                .meets(kerf_of(self.ground.mill, &self.at, z), Hard::Wood, body)
        };
        if out == 0 || !beyond(to.z - out) || beyond(to.z + out) {
            return Some(between(from, to.z));
        }
        if self.doubts == 3 {
            return None;
        }
        let through = self.assumed >> self.doubts & 1 == 1;
        self.doubts += 1;
        Some(between(from, if through { to.z + out } else { to.z - out }))
    }

    /// What a piece is like that has just come free.
    fn piece(&self, id: u32, bx: Bx) -> Piece {
        let own = Owner::Piece(id);
        let mut natural = [Say::Yes; 2];
        let mut bark = Say::No;
        for slice in 0..self.wood.slices() {
            let z = self.wood.slice(slice);
            let here = Bx { z, ..bx };
            let rods: Vec<_> = self
                .wood
                .within(here)
                .filter(|(at, _, rod)| *at == slice && rod.owner == own && rod.wood[0] < rod.wood[1])
                .collect();
            let (Some(first), Some(last)) = (rods.first(), rods.last()) else {
                continue;
            };
            let sides = [(first.1, first.1.checked_sub(1)), (last.1, Some(last.1 + 1))];
            for (side, (outermost, next)) in sides.into_iter().enumerate() {
                let beyond = self.wood.uncut(slice, next);
                // What lies furthest out may be lower than the piece.
                let own = rods.iter().filter(|(_, strip, _)| *strip == outermost);
                let own = own.map(|(.., rod)| rod.wood).reduce(around).unwrap_or(bx.y);
                let held = beyond.map_or(0, |rod| shared(rod.wood, own));
                let face = [self.ground.log.sawn.entry, self.ground.log.sawn.exit][side];
                let at_face = face.is_some_and(|face| um(face.as_um()) == self.wood.across(outermost)[side]);
                let say = match held {
                    // One that was sawn before is no edge of its own.
                    ..=0 if at_face => Say::No,
                    ..=0 => Say::Yes,
                    held if held > 4 * self.ground.slack.by => Say::No,
                    _ => Say::Unsure,
                };
                natural[side] = natural[side].and(say);
                // Where the log's own surface is no further off than a strip, a corner may lack a hair of wood.
                if self.ground.log.form == Form::Round && held < bx.y[1] - bx.y[0] {
                    bark = bark.or(Say::Unsure);
                }
            }
            bark = bark.or(self.wane(slice, &rods));
        }
        Piece { bx, natural, bark }
    }

    /// Whether a piece lacks wood at a corner in a slice: one of its rods ends at the log's own surface, short of
    /// the others.
    fn wane(&self, slice: usize, rods: &[(usize, usize, super::wood::Rod)]) -> Say {
        let low = rods.iter().map(|(_, _, rod)| rod.wood[0]).min().unwrap_or(0);
        let high = rods.iter().map(|(_, _, rod)| rod.wood[1]).max().unwrap_or(0);
        let mut say = Say::No;
        for (_, strip, rod) in rods {
            let Some(uncut) = self.wood.uncut(slice, Some(*strip)) else {
                continue;
            };
            for (own, end, outer) in [
                (uncut.wood[0], rod.wood[0], low),
                (uncut.wood[1], rod.wood[1], high),
            ] {
                if own == end {
                    // A round log has no corners; how much is missing may be too little to see.
                    if self.ground.log.form == Form::Round {
                        say = say.or(Say::Unsure);
                    }
                    let short = (end - outer).abs();
                    say = say.or(Say::over(
                        short,
                        2 * self.ground.slack.by + 50,
                        2 * self.ground.slack.by,
                    ));
                }
            }
        }
        say
    }

    /// Whether a height is near the bed: in the lowest quarter of the log.
    pub(crate) fn near_bed(&self, y: Um) -> bool {
        let [lo, hi] = self.ground.bounds.y;
        y < lo + (hi - lo) / 4
    }

    /// Whether the aid is down and as wide as all of these together.
    pub(crate) fn aid_bears(&self, freed: &[Piece]) -> bool {
        let Some(aid) = self.ground.mill.aid.filter(|_| self.at.aid) else {
            return false;
        };
        let left = freed.iter().map(|piece| piece.bx.x[0]).min();
        let right = freed.iter().map(|piece| piece.bx.x[1]).max();
        right
            .zip(left)
            .is_none_or(|(right, left)| right - left <= um(aid.widest.as_um()))
    }

    fn note(&mut self, stroked: &Stroked, freed: &[Piece]) {
        let y = self.at.y;
        if stroked.met.is_none() || !self.near_bed(y) {
            return;
        }
        let group: Vec<&Piece> = freed
            .iter()
            .filter(|piece| piece.bx.y[0] >= y - self.ground.slack.by)
            .collect();
        if !group.is_empty() {
            let natural = group.iter().map(|piece| piece.natural[0]).max();
            self.last = Some(Last {
                index: self.index,
                angle: self.at.angle,
                feed: stroked.feed,
                shallow: self.shallow == Some(y),
                edged: not(natural.unwrap_or(Say::No)),
                aid: self.aid_bears(freed),
            });
            self.shallow = None;
        } else if self.at.angle == Angle::Flat && stroked.feed == Some(Feed::Forward) {
            self.shallow = Some(y);
        }
    }

    /// What is said when a sequence ends here, and of which move.
    pub(crate) fn end(&self) -> Vec<(usize, Key, Say)> {
        let mut found = Vec::new();
        let left = Say::of(self.at.spinning || !self.pieces.is_empty());
        let last = self.index.saturating_sub(1);
        found.push((last, ("hold-parked", true), practice::parked(self).or(left)));
        found.push((last, ("hold-parked", false), open(self)));
        if let Some(last) = &self.last {
            let powered = !self.ground.mill.drive.is_hand();
            let wanted = if powered { Feed::Climb } else { Feed::Forward };
            let say = if last.angle == Angle::Upright {
                Say::Yes
            } else {
                let unaided = Say::of(!last.aid && (!last.shallow || last.feed != Some(wanted)));
                not(last.edged).or(unaided)
            };
            found.push((last.index, ("bed-board", true), say));
        }
        found.retain(|(_, _, say)| *say != Say::No);
        found
    }

    /// Whether the blade between two poses meets wood, with so much room around.
    pub(crate) fn blade_in_wood(&self, way: [&At; 2], pad: [Um; 3], takes: fn(Owner) -> bool) -> Say {
        let hit = |bx: Bx, sure: bool| self.wood.meets(bx, hard(sure), takes);
        blade(self.ground.mill, way, pad, hit)
    }

    pub(crate) fn head_in_wood(&self, way: [&At; 2], pad: [Um; 3], takes: fn(Owner) -> bool) -> Say {
        let hit = |bx: Bx, sure: bool| self.wood.meets(bx, hard(sure), takes);
        head(self.ground.mill, way, pad, hit)
    }
}

/// Rules that ask whether a stroke meets wood.
const OF_WOOD_MET: [&str; 6] = [
    "range",
    "reach",
    "knife",
    "climb-powered",
    "edge-then-release",
    "rim-edge",
];

/// How far beside a kerf wood counts as standing over it.
const BESIDE: Um = 1_000;

pub(crate) const fn not(say: Say) -> Say {
    match say {
        Say::No => Say::Yes,
        Say::Unsure => Say::Unsure,
        Say::Yes => Say::No,
    }
}

pub(crate) fn add(said: &mut Said, rule: &'static str, refuses: bool, say: Say) {
    let held = said.entry((rule, refuses)).or_insert(Say::No);
    *held = (*held).max(say);
}

fn mark(um: Um) -> bunkside_protocol::Position {
    bunkside_protocol::Position::um(um)
}
