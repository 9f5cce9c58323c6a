//! How far things are kept apart.
//!
//! A clearance is told between targets: what the axes are off is part of it, as the head over the new face shows, which lies no
//! further from it than the clearance. So at least as much is kept as the axis in question may be off, whatever the profile
//! says; where it asks for nothing, that alone.

use bunkside_protocol::{Length, MillRecord};

use crate::limits::{LIGAMENT, METAL_CLEAR};

/// How far things are kept apart along each axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Apart {
    /// Along the rails.
    pub travel: Length,
    /// Across the bed.
    pub across: Length,
    /// Up and down.
    pub height: Length,
}

impl Apart {
    /// A clearance, and no less than what each axis may be off.
    #[must_use]
    pub fn keeping(mill: &MillRecord, clearance: Length) -> Self {
        Self {
            travel: clearance.max(mill.travel.play()),
            across: clearance.max(mill.across.play()),
            height: clearance.max(mill.height.play()),
        }
    }

    /// Blade and head from everything outside a cut.
    #[must_use]
    pub fn body(mill: &MillRecord) -> Self {
        Self::keeping(mill, mill.clearances.body)
    }

    /// A kerf from bed, packing, wedges and dogs.
    #[must_use]
    pub fn bed(mill: &MillRecord) -> Self {
        Self::keeping(mill, mill.clearances.bed)
    }

    /// A kerf from a place with metal.
    #[must_use]
    pub fn metal(mill: &MillRecord) -> Self {
        Self::keeping(mill, METAL_CLEAR)
    }
}

/// Wood that hangs by no more than this may hang or come free: both kerfs that leave it may lie off, each its own way, and
/// less than [`LIGAMENT`] breaks.
#[must_use]
pub(crate) fn thread(mill: &MillRecord) -> Length {
    let off = mill.across.play().max(mill.height.play()).times(2);
    off.max(LIGAMENT - Length::um(1))
}
