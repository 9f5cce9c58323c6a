//! Which boards of a section are as good as others, wherever they may lie.

use super::Item;
use super::grain::Side;
use super::group::Few;
use super::heart::Heart;
use super::reach::Reach;

/// Whether an item is as good as another.
pub(super) struct Covers<'c> {
    pub(super) wider: &'c dyn Fn(&Reach, &Reach) -> bool,
    pub(super) limited: Option<&'c [Few]>,
}

impl Covers<'_> {
    pub(super) fn covers(&self, a: &Item, b: &Item) -> bool {
        let room = |mine: &Reach| {
            b.reach
                .iter()
                .any(|other| mine == other || (self.wider)(mine, other))
        };
        let within = a.within.0 <= b.within.0 && a.within.1 >= b.within.1;
        a.worth >= b.worth + self.gains(a, b)
            && within
            && a.reach.iter().all(room)
            && self.takes_no_more(a, b)
    }

    fn few(&self, product: u8) -> Few {
        let all = self.limited.unwrap_or(&[]);
        all.get(usize::from(product)).copied().unwrap_or_default()
    }

    /// What the second may gain by the number of its boards, over what the first gains.
    fn gains(&self, a: &Item, b: &Item) -> i64 {
        let of = |item: &Item| -> i64 {
            let boards = item.boards.iter().flatten();
            boards.map(|board| self.few(board[0]).bonus).sum()
        };
        if self.limited.is_none() || a.boards == b.boards {
            0
        } else {
            of(b)
        }
    }

    /// Whether the first takes no more boards of limited products.
    fn takes_no_more(&self, a: &Item, b: &Item) -> bool {
        if self.limited.is_none() {
            return true;
        }
        let of = |item: &Item, product: u8| {
            item.boards
                .iter()
                .flatten()
                .filter(|board| board[0] == product)
                .count()
        };
        let mut mine = a.boards.iter().flatten().map(|board| board[0]);
        mine.all(|product| !self.few(product).limited || of(a, product) <= of(b, product))
    }
}

/// A board that may be laid into a row.
#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    /// Its length, by number.
    pub(super) length: u16,
    /// What it brings.
    pub(super) paid: i64,
    /// Its product, and which length of that.
    pub(super) board: [u8; 2],
    /// What may be missing of it.
    pub(super) class: Option<u8>,
    /// Whether it may lie across the core.
    pub(super) heart: Heart,
    /// On which sides of the pith it may lie.
    pub(super) sides: &'static [Side],
}

/// Whether what may lie on some sides of the pith may lie where another may.
pub(super) fn bears(sides: &[Side], other: &[Side]) -> bool {
    sides == [Side::Any] || sides == other
}
