//! Boards that may be sawn, and the ways they may lie.

use bunkside_protocol::Length;

use super::grain::{Grain, Side};
use super::heart::Heart;
use super::wane::Wane;
use crate::limits::{PRODUCTS_MAX, STANDS_ALONE};

/// A board that may be sawn, green.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wanted<'a> {
    /// Its thickness, wherever it lies.
    pub thickness: Length,
    /// Its width, wherever it lies.
    pub width: Length,
    /// None lies so high, if that is asked.
    pub without: Option<Length>,
    /// Its thickness and width where it lies flat sawn as a whole, and where it lies quarter sawn, if it need not be as large there.
    pub by_grain: [Option<[Length; 2]>; 2],
    /// Whether it may stand on edge, as high as it is wide.
    pub on_edge: bool,
    /// Its lengths; any order.
    pub lengths: &'a [Length],
    /// What one of each length is worth.
    pub worth: &'a [i64],
    /// What may be missing at its corners.
    pub wane: Wane,
    /// Whether it may lie across the core.
    pub heart: Heart,
}

impl Wanted<'_> {
    /// Whether it has another size where its rings lie so.
    pub(super) fn lies_by_grain(&self) -> bool {
        self.by_grain.iter().any(Option::is_some)
    }
}

/// One way of a wanted board to lie.
#[derive(Clone, Copy)]
pub(super) struct Laid<'a> {
    pub(super) product: u8,
    pub(super) height: Length,
    pub(super) width: Length,
    pub(super) on_edge: bool,
    /// How its rings have to lie.
    pub(super) grain: Grain,
    pub(super) wanted: &'a Wanted<'a>,
}

impl Laid<'_> {
    /// On which sides of the pith it may lie, each as a whole.
    pub(super) const fn sides(&self) -> &'static [Side] {
        Side::of(self.grain, self.on_edge)
    }
}

/// Every way of the boards of an order to lie.
pub(super) fn laid<'a>(wanted: &'a [Wanted<'a>]) -> impl Iterator<Item = Laid<'a>> + Clone {
    numbered(wanted).map(|(_, laid)| laid)
}

/// The same, each with its number.
pub(super) fn numbered<'a>(wanted: &'a [Wanted<'a>]) -> impl Iterator<Item = (u16, Laid<'a>)> + Clone {
    let all = u16::try_from(wanted.len().saturating_mul(WAYS)).unwrap_or(u16::MAX);
    (0..all).filter_map(|number| Some((number, laid_at(wanted, number)?)))
}

/// How many ways a board may have to lie: lying and on edge, in each of its sizes.
const WAYS: usize = 6;

/// One way of a board to lie, by number; none where it does not lie so.
pub(super) fn laid_at<'a>(wanted: &'a [Wanted<'a>], number: u16) -> Option<Laid<'a>> {
    let (product, way) = (usize::from(number) / WAYS, usize::from(number) % WAYS);
    let wanted = wanted.get(product)?;
    let sizes = [
        (Grain::Mixed, Some([wanted.thickness, wanted.width])),
        (Grain::Flat, wanted.by_grain[0]),
        (Grain::Quarter, wanted.by_grain[1]),
    ];
    let (grain, size) = *sizes.get(way / 2)?;
    let [thickness, width] = size?;
    let on_edge = way % 2 == 1;
    if on_edge && !(wanted.on_edge && wanted.thickness != wanted.width) {
        return None;
    }
    let (height, width) = if on_edge {
        (width, thickness)
    } else {
        (thickness, width)
    };
    let stands = height <= width.times(STANDS_ALONE) && wanted.without != Some(height);
    stands.then_some(Laid {
        product: u8::try_from(product).ok()?,
        height,
        width,
        on_edge,
        grain,
        wanted,
    })
}

/// Most ways of the boards of an order to lie.
pub(super) const LAID_MAX: usize = WAYS * PRODUCTS_MAX;

/// Ways of boards to lie that are equally high, by number.
#[derive(Clone, Copy)]
pub(super) struct SoHigh<'a> {
    pub(super) wanted: &'a [Wanted<'a>],
    pub(super) numbers: &'a [u16],
}

impl<'a> SoHigh<'a> {
    pub(super) fn laid(self) -> impl Iterator<Item = Laid<'a>> + Clone {
        self.numbers
            .iter()
            .filter_map(move |number| laid_at(self.wanted, *number))
    }
}
