//! Stretches and boxes in micrometres.

/// Micrometres.
pub(crate) type Um = i64;

/// No end: further than anything is.
pub(crate) const FAR: Um = 1_000_000_000;

/// A box: along, across, up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Bx {
    pub(crate) z: [Um; 2],
    pub(crate) x: [Um; 2],
    pub(crate) y: [Um; 2],
}

impl Bx {
    /// Larger by so much along, and by so much across and up; smaller where it is negative.
    pub(crate) fn grown(self, along: Um, by: Um) -> Self {
        let side = |[lo, hi]: [Um; 2], by: Um| [lo - by, hi + by];
        Self {
            z: side(self.z, along),
            x: side(self.x, by),
            y: side(self.y, by),
        }
    }

    /// Larger along, across and up by so much each.
    pub(crate) fn padded(self, [along, across, up]: [Um; 3]) -> Self {
        let side = |[lo, hi]: [Um; 2], by: Um| [lo - by, hi + by];
        Self {
            z: side(self.z, along),
            x: side(self.x, across),
            y: side(self.y, up),
        }
    }

    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        shared(self.z, other.z) > 0 && shared(self.x, other.x) > 0 && shared(self.y, other.y) > 0
    }

    pub(crate) fn join(self, other: Self) -> Self {
        Self {
            z: around(self.z, other.z),
            x: around(self.x, other.x),
            y: around(self.y, other.y),
        }
    }

    pub(crate) fn placed(self, z: Um, x: Um, y: Um) -> Self {
        let side = |[lo, hi]: [Um; 2], by: Um| [lo + by, hi + by];
        Self {
            z: side(self.z, z),
            x: side(self.x, x),
            y: side(self.y, y),
        }
    }
}

/// How long a stretch two stretches share.
pub(crate) fn shared(a: [Um; 2], b: [Um; 2]) -> Um {
    a[1].min(b[1]) - a[0].max(b[0])
}

/// From the lower of both lower ends to the higher of both upper ones.
pub(crate) fn around(a: [Um; 2], b: [Um; 2]) -> [Um; 2] {
    [a[0].min(b[0]), a[1].max(b[1])]
}

/// The stretch that two stretches share.
pub(crate) fn meet(a: [Um; 2], b: [Um; 2]) -> [Um; 2] {
    [a[0].max(b[0]), a[1].min(b[1])]
}
