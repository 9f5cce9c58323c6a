//! Sizes by which softwood lumber is called, and what they measure.
//!
//! American Softwood Lumber Standard, PS 20-20, table 3: the dry sizes, at 19 % moisture or less, as transcribed; of the green ones
//! 2 by 4 as transcribed, the others from memory. A price for a board foot counts the size a board is called by.

use bunkside_protocol::Length;

use crate::measure::{self, Rules};

/// Quarters of an inch that a thickness is called by; what it measures dry and green, 32nds of an inch.
const THICK: [[i64; 3]; 6] = [
    [4, 24, 25],
    [5, 32, 33],
    [6, 40, 41],
    [8, 48, 50],
    [12, 80, 82],
    [16, 112, 114],
];

/// The same of widths.
const WIDE: [[i64; 3]; 8] = [
    [8, 48, 50],
    [12, 80, 82],
    [16, 112, 114],
    [20, 144, 148],
    [24, 176, 180],
    [32, 232, 240],
    [40, 296, 304],
    [48, 360, 368],
];

/// From this thickness on it is a timber, quarters of an inch, and up to that.
const TIMBER: [i64; 2] = [20, 60];

/// A size by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Nominal {
    /// Thickness and width that it is called by.
    pub(super) called: [Length; 2],
    /// What it measures at 19 % moisture or less.
    pub(super) dry: [Length; 2],
    /// What it measures green.
    pub(super) green: [Length; 2],
}

impl Nominal {
    /// The size of this name, such as `2 x 6` or `5/4 x 6`; none where there is none.
    pub(super) fn named(name: &str) -> Option<Self> {
        let (thick, wide) = name.split_once(['x', 'X', '×'])?;
        let [thick, wide] = [quarters(thick)?, quarters(wide)?];
        let sizes = if thick >= TIMBER[0] {
            [timber(thick)?, timber(wide)?]
        } else {
            [listed(&THICK, thick)?, listed(&WIDE, wide)?]
        };
        (thick <= wide).then(|| Self {
            called: [thick, wide].map(|quarters| thirty_seconds(quarters * 8)),
            dry: sizes.map(|[dry, _]| thirty_seconds(dry)),
            green: sizes.map(|[_, green]| thirty_seconds(green)),
        })
    }
}

fn quarters(text: &str) -> Option<i64> {
    let text = text.trim().trim_end_matches(['"', '″']).trim_end();
    let length = measure::length(&format!("{text} in"), Rules::POSITIVE)
        .ok()?
        .value;
    let quarters = length.wide() * 4;
    (quarters % 25_400 == 0).then_some(quarters / 25_400)
}

fn listed(sizes: &[[i64; 3]], quarters: i64) -> Option<[i64; 2]> {
    let [_, dry, green] = sizes.iter().find(|[called, ..]| *called == quarters)?;
    Some([*dry, *green])
}

/// Half an inch less than it is called up to 6 inches, then three quarters dry and half an inch green.
fn timber(quarters: i64) -> Option<[i64; 2]> {
    let inches = quarters % 4 == 0 && (TIMBER[0]..=TIMBER[1]).contains(&quarters);
    let dry = if quarters <= 24 { 16 } else { 24 };
    inches.then_some([quarters * 8 - dry, quarters * 8 - 16])
}

/// To the nearest micrometre.
fn thirty_seconds(count: i64) -> Length {
    Length::um((count * 25_400 + 16) / 32)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dry(name: &str) -> Option<[i32; 2]> {
        Nominal::named(name).map(|size| size.dry.map(|side| (side.as_um() + 500) / 1_000))
    }

    /// PS 20-20, table 3, dry sizes in whole millimetres.
    #[test]
    fn sizes_are_those_of_the_standard() {
        assert_eq!(dry("1 x 4"), Some([19, 89]));
        assert_eq!(dry("2x4"), Some([38, 89]));
        assert_eq!(dry("2 × 6"), Some([38, 140]));
        assert_eq!(dry("2 x 8"), Some([38, 184]));
        assert_eq!(dry("3 x 10"), Some([64, 235]));
        assert_eq!(dry("4\" x 12\""), Some([89, 286]));
        // 6 by 6 is 5 1/2, 8 by 8 7 1/4 inches.
        assert_eq!(dry("6 x 6"), Some([140, 140]));
        assert_eq!(dry("8 x 8"), Some([184, 184]));
        // Green, 2 by 4 is 1 9/16 by 3 9/16.
        let green = Nominal::named("2x4").map(|size| size.green.map(Length::as_um));
        assert_eq!(green, Some([39_688, 90_488]));
    }

    #[test]
    fn a_size_is_called_by_inches_and_fractions() {
        assert_eq!(dry("5/4 x 6"), dry("1-1/4 x 6"));
        assert!(dry("5/4 x 6").is_some());
        for name in [
            "",
            "x",
            "2",
            "2 x",
            "2 x 5.3",
            "0 x 4",
            "2 x 7",
            "6 x 2",
            "-2 x 4",
            "2 x 4 x 8",
            "20 x 20",
        ] {
            assert_eq!(dry(name), None, "{name}");
        }
    }

    /// A board of 2 by 6 inches and 12 ft holds 12 board feet, by what it is called (old handbook, gluedideas.com).
    #[test]
    fn what_it_is_called_counts_for_board_feet() {
        let called = Nominal::named("2 x 6").map(|size| size.called);
        assert_eq!(called, Some([Length::um(50_800), Length::um(152_400)]));
    }
}
