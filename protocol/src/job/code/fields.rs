//! The numbers of the move code: first bytes, and the fields within them.

/// Swing to flat.
pub(crate) const SWING_FLAT: u8 = 0x02;
/// Swing to upright.
pub(crate) const SWING_UPRIGHT: u8 = 0x03;
/// Let the blade run down.
pub(crate) const SPIN_DOWN: u8 = 0x04;
/// Bring the blade up to speed.
pub(crate) const SPIN_UP: u8 = 0x05;
/// Hold; the acts follow.
pub(crate) const HOLD: u8 = 0x06;
/// Hold for the first act; the others follow in the order of [`crate::Act::ALL`].
pub(crate) const HOLD_ONE: u8 = 0x10;
/// A cut with any targets: release in bit 4, label in bits 3 and 2, speed in bits 1 and 0.
pub(crate) const CUT_ANY: u8 = 0x20;
/// A go: travel in bits 5 and 4, across in bits 3 and 2, height in bits 1 and 0.
pub(crate) const GO: u8 = 0x40;
/// A cut along the rails: release in bit 6, label in bits 5 and 4, end in bits 3 and 2, speed in bits 1 and 0.
pub(crate) const CUT: u8 = 0x80;

/// How a go code names a target along the rails (`tt`).
pub(crate) mod travel {
    pub(crate) const NONE: u8 = 0;
    /// The end before the one where the carriage stands, and the one before that.
    pub(crate) const ENDS: [u8; 2] = [1, 2];
    /// As a difference from the end before.
    pub(crate) const NEW: u8 = 3;
}

/// How a go code names a target across the bed (`aa`) or above it (`hh`).
pub(crate) mod step {
    pub(crate) const NONE: u8 = 0;
    /// The last step of this axis again.
    pub(crate) const AGAIN: u8 = 1;
    /// The last step of this axis, the other way.
    pub(crate) const BACK: u8 = 2;
    /// As a difference from where the axis stands.
    pub(crate) const NEW: u8 = 3;
}

/// How a cut along the rails names its end (`ee`).
pub(crate) mod end {
    /// The end before the one where the carriage stands, and the two before that.
    pub(crate) const ENDS: [u8; 3] = [0, 1, 2];
    /// As a difference from the end before.
    pub(crate) const NEW: u8 = 3;
}

/// How a cut names its feed label (`ff`).
pub(crate) mod label {
    pub(crate) const NONE: u8 = 0;
    pub(crate) const CLIMB: u8 = 1;
    pub(crate) const FORWARD: u8 = 2;
}

/// How a cut names its speed (`ss`).
pub(crate) mod speed {
    /// As the last cut at this angle with this label.
    pub(crate) const LAST: u8 = 0;
    /// The speed used there before that one.
    pub(crate) const OTHER: u8 = 1;
    /// New, in whole millimetres a second.
    pub(crate) const NEW_MM: u8 = 2;
    /// New, in micrometres a second, not a whole number of millimetres.
    pub(crate) const NEW_UM: u8 = 3;
}
