//! Runs a move sequence, anybody's, on the mill and the log, and tells of every move what it really does.

mod cutting;
mod doubt;
#[cfg(test)]
mod tests;

use bunkside_protocol::{Act, Angle, Feed, Length, LogRecord, MillRecord, Move, Position, Speed, Stroke};

pub use cutting::{CutFacts, beside};

use crate::geometry::{Block, Shape, ShapeError};
use crate::machine::{Pose, chord, swept, thread};
use crate::physics::bed::Bed;
use crate::physics::body::{Solid, Standing};
use crate::physics::sag::sound_down_to;
use crate::physics::slices::Slices;
use crate::physics::strain::{Pass, Strain};
use crate::physics::under;
use crate::stock::{NotJudged, Stock, Threads};

/// The mill and the log that a sequence runs on.
#[derive(Clone, Debug)]
pub struct Setup<'a> {
    /// The mill.
    pub mill: &'a MillRecord,
    /// The log.
    pub log: &'a LogRecord,
    /// The log's shape, sampled.
    pub shape: Shape,
    /// A box around all that a swing of the blade sweeps, as it lies from the blade's centre and the corner.
    pub(crate) swept: Block,
    /// The highest that anything under the log stands; as low as can be where there is nothing.
    pub(crate) under: Position,
    /// The log in slices, for volumes.
    pub(crate) slices: Slices,
    /// On what it lies.
    pub(crate) bed: Bed,
    /// Down to here the lower part of the log carries all of it, whatever is cut; none where nothing does.
    pub(crate) sound: Option<Position>,
}

impl<'a> Setup<'a> {
    /// Puts a log on a mill.
    ///
    /// # Errors
    ///
    /// [`ShapeError`] where the log record cannot be used.
    pub fn new(mill: &'a MillRecord, log: &'a LogRecord) -> Result<Self, ShapeError> {
        // In place: it is too large to be handed on in parts.
        let mut setup = Self {
            mill,
            log,
            shape: Shape::none(),
            swept: swept(mill),
            under: Position::MIN,
            slices: Slices::none(),
            bed: Bed::NONE,
            sound: None,
        };
        setup.shape.sample(log)?;
        setup.under = under::highest(mill, &setup.shape);
        setup.slices.cut(&setup.shape);
        setup.bed = Bed::new(mill, log, &setup.shape);
        setup.sound = sound_down_to(mill, log, &setup.shape);
        Ok(setup)
    }

    /// The uncut log on the mill's bunks.
    #[must_use]
    pub fn stock(&self) -> Stock {
        let rests = self.mill.bunks.iter().map(|bunk| bunk.travel);
        let thread = thread(self.mill);
        Stock::with_thread(
            &self.shape,
            rests,
            [thread, chord(self.mill.blade.radius, thread)],
        )
    }
}

/// What one move does.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// Number of the move, from 0.
    pub index: u16,
    /// The move.
    pub told: Move,
    /// Where everything stood before it.
    pub before: Pose,
    /// Where everything stands after it.
    pub after: Pose,
    /// Which way the carriage runs; none where it stands.
    pub stroke: Option<Stroke>,
    /// What a cut really is at this stroke and angle.
    pub feed: Option<Feed>,
    /// What a cut meets and frees.
    pub cut: Option<CutFacts>,
    /// What stood on the bunks before it.
    pub body: Solid,
    /// How far a cut that meets wood is from rolling, sliding or lifting it.
    pub strain: Option<Strain>,
    /// Why the outcome cannot be told; the stock is then left as it was.
    pub not_judged: Option<NotJudged>,
}

/// A sequence being run.
#[derive(Clone, Debug)]
pub struct Replay<'a> {
    setup: &'a Setup<'a>,
    stock: Stock,
    /// What stood before the last step, unless a trial has been made since.
    previous: Stock,
    /// The numbers of what stands on the bunks.
    standing: Standing,
    /// The same as volume and centroid.
    body: Solid,
    /// Whether the two stocks are no longer the same.
    apart: bool,
    pose: Pose,
    index: u16,
    doubts: u8,
    assumed: u8,
    /// Whether parts that hang by a thread come free, once it has been asked.
    threads_break: Option<bool>,
}

impl<'a> Replay<'a> {
    /// Starts with the uncut log and the parked carriage.
    ///
    /// `assumed` says how strokes turn out whose end is in doubt: bit `n` set means that the `n`th of them runs
    /// through.
    #[must_use]
    pub fn new(setup: &'a Setup<'a>, assumed: u8) -> Self {
        let standing = Standing::new(&setup.slices, &setup.shape);
        Self {
            setup,
            stock: setup.stock(),
            previous: setup.stock(),
            standing,
            body: standing.solid(),
            apart: false,
            pose: Pose::parked(setup.mill),
            index: 0,
            doubts: 0,
            assumed,
            threads_break: None,
        }
    }

    /// What stands now.
    #[must_use]
    pub const fn stock(&self) -> &Stock {
        &self.stock
    }

    /// What stands on the bunks now: volume and centroid.
    #[must_use]
    pub const fn body(&self) -> Solid {
        self.body
    }

    /// The same wood with carriage and blade elsewhere: for what would follow from there.
    #[must_use]
    pub const fn posed(mut self, pose: Pose) -> Self {
        self.pose = pose;
        self
    }

    /// The same where strokes in doubt turn out otherwise from here on; see [`Self::new`]. What has been settled stays so.
    #[must_use]
    pub const fn assuming(mut self, assumed: u8) -> Self {
        self.assumed = assumed;
        self
    }

    /// Whether as many strokes so far had an end in doubt as in another replay, and the same was made of threads.
    #[must_use]
    pub fn doubts_as(&self, other: &Self) -> bool {
        (self.doubts, self.threads_break) == (other.doubts, other.threads_break)
    }

    /// What stood before the last step.
    #[must_use]
    pub const fn previous(&self) -> &Stock {
        &self.previous
    }

    /// How many pieces a kerf would free, were it cut now, whatever has been assumed of threads.
    ///
    /// # Errors
    ///
    /// [`NotJudged`] where the outcome cannot be represented.
    pub(crate) fn would_free(&mut self, kerf: Block) -> Result<usize, NotJudged> {
        self.catch_up();
        self.apart = true;
        self.previous.ask_of_threads();
        self.previous.carve(&self.setup.shape, kerf)
    }

    /// How many pieces the last kerf would have freed, had what it left hanging by a thread broken off. They are the newest of
    /// [`Self::previous`], which is what stood before no more.
    ///
    /// # Errors
    ///
    /// [`NotJudged`] where the outcome cannot be represented.
    pub(crate) fn had_broken(&mut self, kerf: Block) -> Result<usize, NotJudged> {
        self.apart = true;
        self.previous.say_of_threads(Threads::Break);
        self.previous.carve(&self.setup.shape, kerf)
    }

    /// The body that would be left, were these kerfs cut now, and what they free taken away; what hangs by a thread stays.
    ///
    /// # Errors
    ///
    /// [`NotJudged`] where the outcome cannot be represented.
    pub(crate) fn would_leave(&mut self, kerfs: &[Block]) -> Result<Solid, NotJudged> {
        self.catch_up();
        self.apart = true;
        self.previous.say_of_threads(Threads::Hold);
        let Setup { slices, shape, .. } = self.setup;
        let mut standing = self.standing;
        for kerf in kerfs {
            standing.carve(slices, shape, &mut self.previous, *kerf)?;
        }
        Ok(standing.solid())
    }

    /// Lets the stock before the next step be the one that stands now.
    fn catch_up(&mut self) {
        if self.apart {
            self.previous.copy_from(&self.stock);
            self.apart = false;
        }
    }

    /// Where everything stands now.
    #[must_use]
    pub const fn pose(&self) -> &Pose {
        &self.pose
    }

    /// How many strokes so far had an end in doubt.
    #[must_use]
    pub const fn doubts(&self) -> u8 {
        self.doubts
    }

    /// Runs one move.
    pub fn step(&mut self, told: &Move) -> Step {
        self.catch_up();
        let before = self.pose;
        let mut step = Step {
            index: self.index,
            told: *told,
            before,
            after: before,
            stroke: None,
            feed: None,
            cut: None,
            body: self.body,
            strain: None,
            not_judged: None,
        };
        self.index = self.index.saturating_add(1);
        match told {
            Move::Go(targets) => step.after = before.at(targets),
            Move::Swing(angle) => step.after.angle = *angle,
            Move::Spin(on) => step.after.spinning = *on,
            Move::Hold(hold) => {
                step.after = before.after(hold.acts, self.setup.mill);
                if hold.acts.contains(Act::Unload) {
                    self.unload();
                }
            }
            Move::Cut(cut) => {
                step.after = before.at(&cut.to);
                step.stroke = Stroke::between(before.travel, step.after.travel);
                step.feed = step
                    .stroke
                    .map(|stroke| self.setup.mill.feed(before.angle, stroke));
                match self.run_cut(&step, cut.speed) {
                    Ok((facts, strain)) => (step.cut, step.strain) = (Some(facts), strain),
                    Err(reason) => step.not_judged = Some(reason),
                }
            }
        }
        if step.stroke.is_none() {
            step.stroke = Stroke::between(before.travel, step.after.travel);
        }
        self.pose = step.after;
        step
    }

    /// Takes away what is free, and breaks off what hangs by a thread.
    fn unload(&mut self) {
        if self.stock.is_in_doubt() {
            // No kerf, but a look at what hangs together.
            let nothing = Block::out_of_the_way();
            let (Setup { slices, shape, .. }, standing) = (self.setup, self.standing);
            self.stock.say_of_threads(Threads::Break);
            let broken = self.standing.carve(slices, shape, &mut self.stock, nothing);
            if broken.is_err() {
                // There are more of them than it holds: they hang on.
                self.stock.copy_from(&self.previous);
                self.standing = standing;
            }
            self.body = self.standing.solid();
        }
        self.stock.unload();
        self.stock.ask_of_threads();
        self.apart = true;
    }

    fn run_cut(&mut self, step: &Step, speed: Speed) -> Result<(CutFacts, Option<Strain>), NotJudged> {
        if step.before.across != step.after.across || step.before.height != step.after.height {
            return Err(NotJudged::CombinedAxes);
        }
        let (setup, travel) = (self.setup, self.settled_travel(step)?);
        let mut facts = cutting::before(setup, &self.stock, step, travel);
        let pass = match (facts.met, step.stroke) {
            (Some(met), Some(stroke)) => Some(Pass::engaged(
                setup,
                &self.stock,
                &step.body,
                &step.before,
                stroke,
                facts.kerf,
                met.travel,
            )),
            _ => None,
        };
        let standing = self.standing;
        let carved = self.carve_settled(facts.kerf, pass.as_ref());
        let freed = carved.and_then(|freed| u8::try_from(freed).map_err(|_| NotJudged::TooManyPieces));
        match freed {
            Ok(freed) => {
                self.apart = true;
                facts.freed = freed;
                self.body = self.standing.solid();
                let strain = pass.map(|pass| pass.strain(setup, speed, &self.body));
                Ok((facts, strain))
            }
            Err(reason) => {
                self.stock.copy_from(&self.previous);
                self.standing = standing;
                Err(reason)
            }
        }
    }

    /// Takes a kerf out of stock and body, threads hanging on or not, as is assumed. On its own, so that what it takes on the
    /// stack is there once.
    #[inline(never)]
    fn carve_settled(&mut self, kerf: Block, pass: Option<&Pass>) -> Result<usize, NotJudged> {
        let standing = self.standing;
        loop {
            let carved = self.carve(kerf, pass);
            if carved != Err(NotJudged::Thread) {
                return carved;
            }
            self.stock.copy_from(&self.previous);
            self.standing = standing;
            self.settle_threads()?;
        }
    }

    /// Takes a kerf out of stock and body; in air there is nothing to take from the body.
    fn carve(&mut self, kerf: Block, pass: Option<&Pass>) -> Result<usize, NotJudged> {
        let Setup { slices, shape, .. } = self.setup;
        match pass {
            Some(pass) => self
                .standing
                .carve_taken(slices, shape, &mut self.stock, kerf, pass.taken()),
            None => self.standing.carve(slices, shape, &mut self.stock, kerf),
        }
    }
}

impl CutFacts {
    /// Bite or cover at an angle, from the corner to the outermost wood.
    pub(crate) fn depth(angle: Angle, pose: &Pose, wood: &Block) -> Length {
        match angle {
            Angle::Flat => pose.across - wood.across.lo,
            Angle::Upright => wood.height.hi - pose.height,
        }
    }
}
