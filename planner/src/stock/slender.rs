//! How thick wood has to be that stands or hangs beside the blade.

use bunkside_protocol::{Angle, Length, MillRecord};

use crate::limits::{LIGAMENT, SHEET_WIDE, YIELDS};

/// No wood a hundred millimetres thick is thin, however far it reaches: no log is so large.
const STOUT: Length = Length::mm(100);

/// The push that [`YIELDS`] is worked out for, newtons.
const PUSH: i64 = 10;

/// A push of a ton: nothing leans on a screen with more.
const PUSH_MOST: i64 = 10_000;

/// A lath or a skin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Thin {
    /// How thick it is, by the targets of its two kerfs.
    pub thick: Length,
    /// How far it reaches: a lath up, a skin across.
    pub reach: Length,
}

/// What holds beside the blade, and what breaks off: a strip that is held along one edge and pushed at the other. A push P
/// bears on as much of it as lies within 45 degrees, which is twice the reach h at the held edge; so a cantilever of that
/// width, as thick as t, gives way by 2 P h² ÷ (E t³) (textbook formula; the 45 degrees are common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slender {
    /// How much thinner it may be than its targets say.
    off: Length,
    /// [`YIELDS`] for the push that it bears.
    yields: Length,
}

impl Slender {
    /// Between two kerfs of a mill at one blade angle: either may be off by what its axis may be.
    #[must_use]
    pub fn between(mill: &MillRecord, angle: Angle) -> Self {
        let axis = match angle {
            Angle::Upright => &mill.across,
            Angle::Flat => &mill.height,
        };
        Self {
            off: axis.play().times(2),
            yields: YIELDS,
        }
    }

    /// The same of wood against which something leans with so many newtons, where that is more than the push of 10 N.
    #[must_use]
    pub fn leant_on(self, newtons: i64) -> Self {
        // In proportion; more than this nothing less thick than it is bears.
        let push = newtons.clamp(PUSH, PUSH_MOST);
        Self {
            yields: Length::um(YIELDS.wide() * push / PUSH),
            ..self
        }
    }

    /// How thick wood has to be that comes free in order not to be a skin.
    #[must_use]
    pub fn least_free(self) -> Length {
        LIGAMENT + self.off
    }

    /// Whether wood holds what leans on it, however little of it there is: it is no thinner than [`LIGAMENT`], nor too thin for
    /// how far it reaches.
    #[must_use]
    pub fn holds(self, thin: Thin) -> bool {
        thin.thick - self.off >= LIGAMENT && !self.bends(thin)
    }

    /// Whether wood is too thin for how far it reaches.
    #[must_use]
    pub fn breaks(self, thin: Thin) -> bool {
        let thick = (thin.thick - self.off).max(Length::ZERO);
        thin.reach >= SHEET_WIDE && (thick < LIGAMENT || self.bends(thin))
    }

    /// Whether the push moves it by more than 2 mm.
    fn bends(self, Thin { thick, reach }: Thin) -> bool {
        let thick = (thick - self.off).max(Length::ZERO);
        let cube = thick.wide() * thick.wide() * thick.wide();
        thick < STOUT && cube < self.yields.wide() * reach.wide() * reach.wide()
    }

    /// Whether a board, so wide and so high as it lies, would be thin between its two flat kerfs or its two upright ones.
    #[must_use]
    pub fn board([flat, upright]: [Self; 2], [width, height]: [Length; 2]) -> bool {
        let thin = |thick, reach| Thin { thick, reach };
        flat.breaks(thin(height, width)) || upright.breaks(thin(width, height))
    }

    /// How thick wood has to be that reaches so far.
    #[must_use]
    pub fn least(self, reach: Length) -> Length {
        let (mut thin, mut holds) = (Length::ZERO, STOUT + self.off);
        if !self.breaks(Thin { thick: thin, reach }) {
            return thin;
        }
        while holds - thin > Length::um(1) {
            let thick = thin + (holds - thin).half_floor();
            if self.breaks(Thin { thick, reach }) {
                thin = thick;
            } else {
                holds = thick;
            }
        }
        holds
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::powered_mill;

    fn least(reach: i32) -> i32 {
        let axes = Slender::between(&powered_mill(), Angle::Upright);
        axes.least(Length::mm(reach)).as_um()
    }

    /// 2 P h² ÷ (E t³) worked out by hand for P = 10 N, E = 500 N/mm², and 2 mm: t³ = h² × 0.02 mm. The mill's axes may be off
    /// by 0.2 mm each.
    #[test]
    fn wood_has_to_be_thicker_the_further_it_reaches() {
        assert_eq!(least(29), 0);
        assert_eq!(least(30), 3_400);
        assert_eq!(least(36), 3_400);
        assert_eq!(least(144), 7_458 + 400);
        assert_eq!(least(200), 9_284 + 400);
        assert_eq!(least(4_000), 68_400 + 400);
    }

    /// The limit itself holds: 3.38 mm and 43.94 mm are 20 µm × 13² and 20 µm × 13³, so that 3.38³ is 0.02 × 43.94² to the last
    /// micrometre. And 100 mm hold however far they reach: 8 m would ask for (0.02 × 8000²)^⅓ = 108.6 mm.
    #[test]
    fn just_as_much_as_it_takes_holds() {
        let axes = Slender::between(&powered_mill(), Angle::Flat);
        let breaks = |thick: i64, reach: i64| {
            let [thick, reach] = [thick, reach].map(Length::um);
            axes.breaks(Thin {
                thick: thick + Length::um(400),
                reach,
            })
        };
        assert!(!breaks(3_380, 43_940) && breaks(3_380, 43_941) && breaks(3_379, 43_940));
        assert!(!breaks(100_000, 8_000_000) && breaks(99_999, 8_000_000));
        assert_eq!(least(8_000), 100_400);
    }

    /// An upright kerf lies off across by what the across axis is true to, a flat one up or down by what the height axis is.
    #[test]
    fn wood_is_thinner_by_what_both_kerfs_may_be_off() {
        let mut mill = powered_mill();
        (mill.across.tolerance, mill.height.tolerance) = (Length::mm(1), Length::um(500));
        let least = |angle| Slender::between(&mill, angle).least(Length::mm(30)).as_um();
        assert_eq!([Angle::Upright, Angle::Flat].map(least), [5_000, 4_000]);
    }

    /// A board is thin one way or the other: lying, between its flat kerfs; on edge, between its upright ones.
    #[test]
    fn a_board_is_thin_either_way() {
        let mut mill = powered_mill();
        (mill.across.tolerance, mill.height.tolerance) = (Length::mm(1), Length::um(500));
        let thin = Angle::ALL.map(|angle| Slender::between(&mill, angle));
        let board = |width: i64, height: i64| Slender::board(thin, [width, height].map(Length::um));
        assert!(board(100_000, 6_848) && !board(100_000, 6_849));
        assert!(board(7_848, 100_000) && !board(7_849, 100_000));
    }

    /// Boards that people order, common practice, no source: thickness and width in millimetres.
    #[test]
    fn boards_that_people_order_hold() {
        let axes = Slender::between(&powered_mill(), Angle::Flat);
        for (thick, reach) in [(12, 200), (12, 250), (15, 300), (19, 400), (25, 600)] {
            let [thick, reach] = [thick, reach].map(Length::mm);
            assert!(!axes.breaks(Thin { thick, reach }), "{thick} by {reach}");
        }
    }
}
