//! Where a search stands.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Angle, Position, Stroke};

/// The wood of a layer, as far as the cuts so far tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Wood {
    /// How far the flat kerf has gone: the number of a rim, 0 for none.
    pub(super) rim: u8,
    /// Which upright kerfs are cut, a bit each.
    pub(super) cut: u64,
    /// An upright kerf that is begun: its edge, in how many passes it is cut, how many are made.
    pub(super) part: Option<(u8, u8, u8)>,
    /// Whether a shallow pass has been made over the bunks since something last came free.
    pub(super) shallow: bool,
    /// Flat passes since something last came free, up to as many as the author asks for.
    pub(super) made: u8,
    /// Where pieces wait to be taken away: how many columns had come off before the first of them, and which edges were cut
    /// beside what hangs loose.
    pub(super) since: Option<(u8, u64)>,
    /// Whether something hangs by a thread: nobody can say whether it came free.
    pub(super) hangs: bool,
    /// Which of the layer's threads have broken, a bit each.
    pub(super) broken: u64,
}

impl Wood {
    pub(super) const UNTOUCHED: Self = Self {
        rim: 0,
        cut: 0,
        part: None,
        shallow: false,
        made: 0,
        since: None,
        hangs: false,
        broken: 0,
    };

    /// The same, the freed pieces taken away.
    pub(super) const fn unloaded(mut self) -> Self {
        self.since = None;
        self.hangs = false;
        self
    }
}

/// The wood, and where carriage and blade stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    pub(super) wood: Wood,
    pub(super) pose: Pose,
}

/// What tells one state from another.
pub(super) type StateKey = (Wood, (i32, i32, i32), (Angle, bool, bool, bool));

impl State {
    /// The same for all states that differ in nothing but where the corner stands across.
    pub(super) const fn key_along(&self) -> StateKey {
        let (wood, (travel, _, height), stand) = self.key();
        (wood, (travel, 0, height), stand)
    }

    pub(super) const fn key(&self) -> StateKey {
        let Pose {
            travel,
            across,
            height,
            angle,
            spinning,
            knife,
            aid,
            ..
        } = self.pose;
        let places = (travel.as_um(), across.as_um(), height.as_um());
        (self.wood, places, (angle, spinning, knife, aid))
    }
}

/// A pass of a kerf.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Kerf {
    /// A pass of an upright one: number `pass` of `of`, from 1.
    Upright { edge: u8, of: u8, pass: u8 },
    /// The flat one as far as a rim; `made` is what the state says after it.
    Flat { to: u8, made: u8 },
}

/// A pass, and where the corner stands in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Placed {
    pub(super) kerf: Kerf,
    pub(super) angle: Angle,
    pub(super) across: Position,
    pub(super) height: Position,
    /// Whether it is called a release.
    pub(super) release: bool,
}

/// What is done next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Deed {
    /// Nothing: the search starts here, or a layer ends.
    Begin,
    /// A stroke.
    Cut(Placed, Stroke),
    /// The freed pieces are taken away.
    Unload,
    /// The knife is fitted or taken off, what is free taken away.
    Knife,
}
