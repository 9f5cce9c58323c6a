//! Products of which more bring less: no more than so many, or only so many that are owed.
//!
//! Two products that are the same but for what they bring, the dearer one limited, are one: so many of its boards bring more
//! than the rest. What a number of boards gains over their worth never grows with the number, so that a price for one board more
//! tells all of it, and of two layouts with the same boards none has to be looked at twice for whose they are.

use heapless::Vec;

use super::laid::Wanted;
use super::sheet::Sheet;
use crate::limits::PRODUCTS_MAX;

/// Taken off a product of which there are to be no boards.
pub(super) const OUT: i64 = i64::MAX / 4;

/// No price is higher, so that no sum of as many boards as can be told runs over: more than any board is worth.
const DEAREST: i64 = 1 << 40;

/// Where there may be any number.
const OPEN: u16 = u16::MAX;

/// A product whose boards are counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Group {
    /// The product.
    pub(super) product: u8,
    /// The same one as it brings more, if there is one.
    twin: Option<u8>,
    /// So many boards bring so much more.
    first: u16,
    /// See [`Group::first`].
    pub(super) bonus: i64,
    /// No more than so many.
    most: u16,
}

/// The products that are counted.
pub(super) type Groups = Vec<Group, PRODUCTS_MAX>;

/// Finds the products that are counted, where there are no more than `most` of each.
pub(super) fn groups(wanted: &[Wanted<'_>], most: &[Option<u16>]) -> Groups {
    let mut groups = Groups::new();
    let limit = |at: usize| most.get(at).copied().flatten();
    let mut taken = [false; PRODUCTS_MAX];
    for (at, one) in wanted.iter().enumerate() {
        let Some(own) = limit(at).filter(|_| !taken.get(at).copied().unwrap_or(true)) else {
            continue;
        };
        // The dearest of those that may stand in for it.
        let mut twin: Option<(usize, i64)> = None;
        for (other, beside) in wanted.iter().enumerate() {
            let free = other != at && !taken.get(other).copied().unwrap_or(true);
            if let Some(more) = brings_more(one, beside).filter(|_| free)
                && twin.is_none_or(|(_, least)| more < least)
            {
                twin = Some((other, more));
            }
        }
        let alone = Group::limit(number(at), own);
        let group = twin.map_or(alone, |(other, bonus)| Group {
            twin: Some(number(at)),
            ..Group::owed(number(other), own, bonus, limit(other))
        });
        for at in [Some(at), twin.map(|(other, _)| other)].into_iter().flatten() {
            if let Some(taken) = taken.get_mut(at) {
                *taken = true;
            }
        }
        // No more than there are products: there is room.
        let _ = groups.push(group);
    }
    groups
}

fn number(at: usize) -> u8 {
    u8::try_from(at).unwrap_or(u8::MAX)
}

/// How much more each length of a product brings than of one that is the same else; none where it is not, or they differ.
fn brings_more(one: &Wanted<'_>, other: &Wanted<'_>) -> Option<i64> {
    let same = Wanted {
        worth: other.worth,
        ..*one
    };
    if same != *other || one.worth.len() != other.worth.len() || one.worth.is_empty() {
        return None;
    }
    let mut pairs = one.worth.iter().zip(other.worth);
    let brings = pairs.clone().all(|(mine, beside)| *mine > 0 && *beside > 0);
    let more = pairs.next().map(|(mine, beside)| mine - beside)?;
    let alike = pairs.all(|(mine, beside)| mine - beside == more);
    (brings && alike && more >= 0).then_some(more)
}

impl Group {
    /// A product of which there are no more than so many.
    pub(super) fn limit(product: u8, most: u16) -> Self {
        Self {
            product,
            most,
            ..Self::default()
        }
    }

    /// A product of which the first so many bring more, and then so many at most, if there is a limit.
    pub(super) fn owed(product: u8, first: u16, bonus: i64, more: Option<u16>) -> Self {
        Self {
            product,
            twin: None,
            first,
            bonus,
            most: more.map_or(OPEN, |more| more.saturating_add(first)),
        }
    }

    /// What is left of it after so many boards.
    pub(super) const fn left(self, count: u16) -> Self {
        Self {
            first: self.first.saturating_sub(count),
            most: if self.most == OPEN {
                OPEN
            } else {
                self.most.saturating_sub(count)
            },
            ..self
        }
    }

    /// What so many boards gain.
    pub(super) fn gains(&self, count: u16) -> i64 {
        self.bonus * i64::from(count.min(self.first))
    }

    /// The number with one board more, no more told than matters; none where there may not be so many.
    pub(super) fn more(&self, count: u16) -> Option<u16> {
        if self.most == OPEN {
            Some(count.saturating_add(1).min(self.first))
        } else {
            (count < self.most).then_some(count + 1)
        }
    }

    /// No more boards than so many, if there is a limit.
    pub(super) fn most(&self) -> Option<u16> {
        (self.most != OPEN).then_some(self.most)
    }

    /// Prices lie between these.
    pub(super) fn prices(&self) -> (i64, i64) {
        (-self.bonus, if self.most == OPEN { 0 } else { DEAREST })
    }

    /// The numbers of boards that a price is best for.
    pub(super) fn best_at(&self, price: i64) -> (i64, i64) {
        let (first, most) = (i64::from(self.first), i64::from(self.most));
        let most = if self.most == OPEN { i64::MAX / 4 } else { most };
        match price {
            1.. => (most, most),
            0 if self.bonus == 0 => (0, most),
            0 => (first, most),
            _ if price > -self.bonus => (first, first),
            _ => (0, first),
        }
    }

    /// The price near another one where there are so many boards that `over` tells how far it goes up for those over a number.
    pub(super) fn near(&self, from: i64, over: impl Fn(i64) -> i64) -> i64 {
        let (low, high) = self.prices();
        let owed = (from + over(i64::from(self.first))).clamp(low, 0);
        if owed < 0 || high == 0 {
            return owed;
        }
        (from + over(i64::from(self.most))).clamp(0, high)
    }

    /// The most that boards beyond so many gain, and those before, where each costs so much.
    pub(super) fn tail(&self, price: i64, count: u16) -> i64 {
        let end = match price {
            1.. => self.most,
            _ => count.max(self.first),
        };
        self.gains(end) + price * i64::from(end.saturating_sub(count))
    }

    /// How many products it stands for.
    pub(super) fn products(&self) -> usize {
        1 + usize::from(self.twin.is_some())
    }

    /// What boards beyond so many bring at most, with what they gain; none where there may be any number.
    pub(super) fn brings(&self, count: u16, wanted: &[Wanted<'_>]) -> Option<i64> {
        let most = self.most()?;
        let more = i64::from(most.saturating_sub(count));
        Some(more * self.dearest(wanted) + self.gains(most) - self.gains(count))
    }

    /// What a board of it brings at most, but for what it gains by its number.
    pub(super) fn dearest(&self, wanted: &[Wanted<'_>]) -> i64 {
        let own = wanted.get(usize::from(self.product));
        let most = own.and_then(|own| own.worth.iter().copied().max());
        most.unwrap_or(0).max(0)
    }

    /// What a board more costs at most later on, beside what it brings itself: its price, and what it gains.
    pub(super) fn loss(&self, wanted: &[Wanted<'_>]) -> i64 {
        self.bonus
            + if self.most == OPEN {
                0
            } else {
                self.dearest(wanted)
            }
    }
}

/// What is taken off each product at the prices of groups.
pub(super) fn taken_off(groups: &[Group], prices: &[i64]) -> [i64; PRODUCTS_MAX] {
    let mut less = [0; PRODUCTS_MAX];
    for (group, price) in groups.iter().zip(prices) {
        if let Some(less) = less.get_mut(usize::from(group.product)) {
            *less = *price;
        }
        if let Some(less) = group.twin.and_then(|twin| less.get_mut(usize::from(twin))) {
            *less = OUT;
        }
    }
    less
}

/// What the number of a product's boards changes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Few {
    /// Whether there may be no more than so many.
    pub(super) limited: bool,
    /// What each of the first ones gains.
    pub(super) bonus: i64,
}

/// The same of each product.
pub(super) fn few(groups: &[Group]) -> [Few; PRODUCTS_MAX] {
    let mut few = [Few::default(); PRODUCTS_MAX];
    for group in groups {
        if let Some(few) = few.get_mut(usize::from(group.product)) {
            *few = Few {
                limited: group.most != OPEN,
                bonus: group.bonus,
            };
        }
    }
    few
}

/// Tells of the boards of a sheet which are those that bring more: the first of each group.
pub(super) fn name<const BOARDS: usize>(groups: &[Group], sheet: &mut Sheet<BOARDS>) {
    for group in groups {
        let Some(twin) = group.twin else { continue };
        let boards = sheet
            .boards
            .iter_mut()
            .flat_map(|board| board.item.boards.iter_mut().zip(board.keeps));
        let own = boards
            .filter_map(|(board, keeps)| board.as_mut().filter(|board| keeps && board[0] == group.product));
        for board in own.take(usize::from(group.first)) {
            board[0] = twin;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWED: Group = Group {
        product: 1,
        twin: Some(0),
        first: 3,
        bonus: 50,
        most: OPEN,
    };
    const LIMITED: Group = Group {
        product: 1,
        twin: None,
        first: 0,
        bonus: 0,
        most: 4,
    };
    const BOTH: Group = Group { most: 5, ..OWED };

    /// Against trying every number.
    #[test]
    fn a_tail_is_the_most_of_all_numbers() {
        for group in [OWED, LIMITED, BOTH] {
            let (low, high) = group.prices();
            for price in low..=high.min(100) {
                for count in 0..=group.most().unwrap_or(9) {
                    let numbers = count..=group.most().unwrap_or(40);
                    let most = numbers
                        .clone()
                        .map(|number| group.gains(number) + price * i64::from(number - count))
                        .max()
                        .unwrap();
                    assert_eq!(group.tail(price, count), most, "{group:?} {price} {count}");
                }
                let of = |number: i64| group.gains(number as u16) + price * number;
                let (from, to) = group.best_at(price);
                let all: Vec<i64, 64> = (0..=i64::from(group.most().unwrap_or(40))).collect();
                let most = all.iter().map(|number| of(*number)).max().unwrap();
                for number in all {
                    let best = of(number) == most;
                    assert_eq!(best, (from..=to).contains(&number), "{group:?} {price} {number}");
                }
            }
        }
    }

    #[test]
    fn numbers_that_tell_nothing_more_are_not_told() {
        assert_eq!(
            [0, 2, 3].map(|count| OWED.more(count)),
            [Some(1), Some(3), Some(3)]
        );
        assert_eq!(
            [0, 3, 4].map(|count| LIMITED.more(count)),
            [Some(1), Some(4), None]
        );
        assert_eq!(BOTH.more(5), None);
    }
}
