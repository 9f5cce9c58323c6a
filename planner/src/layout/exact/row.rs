//! The best boards side by side in a layer.
//!
//! Boards are set from the entry side on, each as far to that side as it may stand. Of two ways to come to a corner the one
//! that is worth no less and stands no further on is as good for whatever follows, so that only a front of ways is kept.

use heapless::Vec;

use super::knap::{Knap, Sum};
use super::reach::{Over, Reaches};
use super::{Item, Row, Um};

/// Most boards side by side: 4 m of them, 40 mm wide.
pub(crate) const BOARDS_MAX: usize = 96;

/// The boards of a layer, by number of the item, from the entry side on.
pub(crate) type Pattern = Vec<u16, BOARDS_MAX>;

/// A way to come so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Way {
    /// The next corner.
    pub(super) corner: Um,
    /// The boards so far are worth this.
    pub(super) worth: i64,
    /// The way before its last board, and that board.
    before: u32,
    pub(super) item: u16,
    boards: u16,
}

/// Where rows are filled: memory for ways, for the front of them and for the room of every item.
#[derive(Debug)]
pub(crate) struct Bench<'w> {
    pub(crate) ways: &'w mut [Way],
    pub(crate) front: &'w mut [u32],
    pub(crate) rooms: &'w mut [(Um, Um)],
    /// The sums of all rows.
    pub(crate) sums: &'w mut [Sum],
    /// No board lies further from the next corner.
    pub(crate) widest_gap: Um,
    /// How many rows were filled.
    pub(crate) filled: usize,
}

/// There is no more memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Full;

/// What a row's boards are where all of them have room.
#[derive(Clone, Debug, Default)]
pub(super) struct Middle {
    /// Its sums, among those of all rows.
    sums: (usize, usize),
    /// The best board of each width.
    best: Vec<u16, WIDTHS_MAX>,
    /// The least that lies between the end of one and the next corner.
    gap: Um,
}

/// Most widths in a row.
pub(super) const WIDTHS_MAX: usize = 64;

impl Bench<'_> {
    /// Of a row whose room is nowhere wider. Its sums are written behind those that were `made` before.
    pub(super) fn middle(&mut self, items: &[Item], room: Um, made: &mut usize) -> Result<Middle, Full> {
        let mut best: Vec<u16, WIDTHS_MAX> = Vec::new();
        for (number, item) in (0..).zip(items) {
            let of = |other: u16| items.get(usize::from(other));
            let alike = |other: &&mut u16| of(**other).is_some_and(|other| other.width == item.width);
            match best.iter_mut().find(alike) {
                Some(other) if of(*other).is_some_and(|other| other.worth < item.worth) => *other = number,
                Some(_) => {}
                None => best.push(number).map_err(|_| Full)?,
            }
        }
        let mut front = Front::new(self.ways, self.front);
        front.push(Way::default())?;
        let mut next = 0;
        while let Some((before, way)) = front.at(next) {
            for number in &best {
                let Some(item) = items.get(usize::from(*number)) else {
                    continue;
                };
                let corner = way.corner + item.advance;
                if corner <= room {
                    let worth = way.worth + item.worth;
                    front.reach(
                        next,
                        Way {
                            corner,
                            worth,
                            before,
                            item: *number,
                            boards: 1,
                        },
                    )?;
                }
            }
            next += 1;
        }
        let begun = *made;
        let out = self.sums.get_mut(begun..).ok_or(Full)?;
        *made += Knap::keep((0..front.length).filter_map(|place| front.way(place)), out)?;
        let gaps = best.iter().filter_map(|number| items.get(usize::from(*number)));
        let gap = gaps.map(|item| item.advance - item.width).min().unwrap_or(0);
        Ok(Middle {
            sums: (begun, *made),
            best,
            gap,
        })
    }

    /// No more than this is worth whatever stands in a room.
    pub(super) fn at_most(&self, middle: &Middle, (lo, hi): (Um, Um)) -> i64 {
        let (begun, end) = middle.sums;
        let knap = Knap::new(self.sums.get(begun..end).unwrap_or(&[]));
        // Behind the last board the kerf lies outside.
        let widest = self.widest_gap;
        knap.worth(hi - lo + widest)
    }

    /// What the best boards over a floor are worth; they are left in `pattern` where it is given.
    pub(super) fn fill(
        &mut self,
        reaches: &Reaches<'_>,
        row: &Row<'_>,
        over: Over,
        middle: &Middle,
        pattern: Option<&mut Pattern>,
    ) -> Result<i64, Full> {
        self.filled += 1;
        let items = row.items;
        let rooms = self.rooms.get_mut(..items.len()).ok_or(Full)?;
        for (room, item) in rooms.iter_mut().zip(items) {
            *room = reaches.item(row, item, over);
        }
        // Where every board of the middle has room.
        let mut all = (Um::MIN / 4, Um::MAX / 4);
        for number in &middle.best {
            if let Some(room) = rooms.get(usize::from(*number)) {
                all = (all.0.max(room.0), all.1.min(room.1));
            }
        }
        leave_out(items, rooms);
        let (begun, end) = middle.sums;
        let knap = Knap::new(self.sums.get(begun..end).unwrap_or(&[]));
        let gap = middle.gap;
        let step = reaches.step;
        let half = self.ways.len() / 2;
        let (left_ways, right_ways) = self.ways.split_at_mut(half);
        let half = self.front.len() / 2;
        let (left_front, right_front) = self.front.split_at_mut(half);
        let mut left = Front::new(left_ways, left_front);
        left.spread(items, rooms, all.0, &|item, room, corner| {
            set(item, room, corner, step)
        })?;
        let mut right = Front::new(right_ways, right_front);
        right.spread(items, rooms, -(all.1 + gap), &|item, room, corner| {
            before(item, room, corner, step)
        })?;
        let pair = pairs(&left, &right, all.0, -(all.1 + gap), &knap);
        if let Some(pattern) = pattern {
            pattern.clear();
            if let Some((_, way)) = left.at(pair.left) {
                left.back(&way, pattern)?;
                pattern.reverse();
            }
            if let (Some((_, from)), Some((_, to)), true) =
                (left.at(pair.left), right.at(pair.right), pair.between)
            {
                let mut full = false;
                knap.boards(-to.corner - from.corner, items, &mut |number| {
                    full |= pattern.push(number).is_err();
                });
                if full {
                    return Err(Full);
                }
            }
            if let Some((_, way)) = right.at(pair.right) {
                right.back(&way, pattern)?;
            }
        }
        Ok(pair.worth)
    }
}

/// What the best boards from a place on are worth.
pub(super) struct Ends<'e> {
    ways: Front<'e>,
}

impl Ends<'_> {
    /// From this place on.
    pub(super) fn rest(&self, from: Um) -> i64 {
        let (mut low, mut high) = (0, self.ways.length);
        while low < high {
            let middle = low.midpoint(high);
            if self.ways.way(middle).is_some_and(|way| -way.corner >= from) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        let best = low.checked_sub(1).and_then(|last| self.ways.way(last));
        best.map_or(0, |way| way.worth)
    }
}

impl Bench<'_> {
    /// What the best boards over a floor are worth, from whatever place on.
    pub(super) fn ends(
        &mut self,
        reaches: &Reaches<'_>,
        row: &Row<'_>,
        over: Over,
    ) -> Result<Ends<'_>, Full> {
        let items = row.items;
        let rooms = self.rooms.get_mut(..items.len()).ok_or(Full)?;
        for (room, item) in rooms.iter_mut().zip(items) {
            *room = reaches.item(row, item, over);
        }
        leave_out(items, rooms);
        let step = reaches.step;
        let mut ways = Front::new(self.ways, self.front);
        ways.spread(items, rooms, Um::MAX / 2, &|item, room, corner| {
            before(item, room, corner, step)
        })?;
        Ok(Ends { ways })
    }
}

/// Leaves no room to boards in the place of which another one as wide may always stand that is worth more, or as much and told
/// before.
fn leave_out(items: &[Item], rooms: &mut [(Um, Um)]) {
    let mut begun = 0;
    for alike in items.chunk_by(|a, b| a.width == b.width) {
        let Some(rooms) = rooms.get_mut(begun..begun + alike.len()) else {
            return;
        };
        begun += alike.len();
        for number in 0..alike.len() {
            let (Some(item), Some(room)) = (alike.get(number), rooms.get(number).copied()) else {
                continue;
            };
            let better = |(other, (beside, around)): (usize, (&Item, &(Um, Um)))| {
                let more = beside.worth > item.worth || (beside.worth == item.worth && other < number);
                more && around.0 <= room.0 && around.1 >= room.1
            };
            let empty = room.0 >= room.1;
            if !empty
                && alike.iter().zip(&*rooms).enumerate().any(better)
                && let Some(room) = rooms.get_mut(number)
            {
                *room = (Um::MAX / 4, Um::MIN / 4);
            }
        }
    }
}

/// Where a board ends up that is set as far on as it has room before a corner, both told backwards; none where it has none.
fn before(item: &Item, room: (Um, Um), corner: Um, step: Um) -> Option<Um> {
    let last = (room.1 - item.width).min(-corner - item.advance);
    let at = last - last.rem_euclid(step);
    (at >= room.0).then_some(-at)
}

/// The best way from the left with the best way from the right, and whether boards stand between.
#[derive(Clone, Copy)]
struct Pair {
    left: usize,
    right: usize,
    between: bool,
    worth: i64,
}

fn pairs(left: &Front<'_>, right: &Front<'_>, ready_left: Um, ready_right: Um, knap: &Knap<'_>) -> Pair {
    let mut best = Pair {
        left: 0,
        right: 0,
        between: false,
        worth: 0,
    };
    let mut other = right.length;
    let mut first = right.length;
    while first > 0 && right.way(first - 1).is_some_and(|way| way.corner >= ready_right) {
        first -= 1;
    }
    for number in 0..left.length {
        let Some(mine) = left.way(number) else { continue };
        // The best that begins no sooner than this one ends.
        while other > 0 && right.way(other - 1).is_some_and(|way| -way.corner < mine.corner) {
            other -= 1;
        }
        if let Some(way) = other.checked_sub(1).and_then(|other| right.way(other))
            && mine.worth + way.worth > best.worth
        {
            best = Pair {
                left: number,
                right: other - 1,
                between: false,
                worth: mine.worth + way.worth,
            };
        }
        if mine.corner < ready_left {
            continue;
        }
        for number_right in first.max(1)..other {
            let Some(way) = right.way(number_right) else {
                continue;
            };
            let worth = mine.worth + way.worth + knap.worth(-way.corner - mine.corner);
            if worth > best.worth {
                best = Pair {
                    left: number,
                    right: number_right,
                    between: true,
                    worth,
                };
            }
        }
    }
    best
}

/// The corner after a board that is set as soon as it has room from a corner on; none where it has none.
pub(super) fn set(item: &Item, room: (Um, Um), corner: Um, step: Um) -> Option<Um> {
    let at = up(corner.max(room.0), step);
    (at + item.width <= room.1).then_some(at + item.advance)
}

/// The next place on the step.
pub(super) const fn up(place: Um, step: Um) -> Um {
    let over = place.rem_euclid(step);
    if over == 0 { place } else { place + step - over }
}

/// Whether boards have room where they are asked for, in their order.
pub(super) fn holds(reaches: &Reaches<'_>, row: &Row<'_>, over: Over, pattern: &Pattern) -> bool {
    let mut corner = Um::MIN / 2;
    pattern.iter().all(|number| {
        let Some(item) = row.items.get(usize::from(*number)) else {
            return false;
        };
        let room = reaches.item(row, item, over);
        match set(item, room, corner, reaches.step) {
            Some(next) => {
                corner = next;
                true
            }
            None => false,
        }
    })
}

/// The left corner of each board of a pattern.
pub(super) fn corners(
    reaches: &Reaches<'_>,
    row: &Row<'_>,
    over: Over,
    pattern: &Pattern,
) -> Vec<Um, BOARDS_MAX> {
    let mut corner = Um::MIN / 2;
    let mut all = Vec::new();
    for item in pattern
        .iter()
        .filter_map(|number| row.items.get(usize::from(*number)))
    {
        let room = reaches.item(row, item, over);
        if let Some(next) = set(item, room, corner, reaches.step) {
            // As many as in the pattern: there is room.
            let _ = all.push(next - item.advance);
            corner = next;
        }
    }
    all
}

/// Where the next corner is after an item in its room, from a corner on; none where it has none there.
type Set<'s> = &'s dyn Fn(&Item, (Um, Um), Um) -> Option<Um>;

/// The ways that no other is as good as, by corner.
struct Front<'w> {
    ways: &'w mut [Way],
    front: &'w mut [u32],
    made: usize,
    length: usize,
}

impl<'w> Front<'w> {
    fn new(ways: &'w mut [Way], front: &'w mut [u32]) -> Self {
        Self {
            ways,
            front,
            made: 0,
            length: 0,
        }
    }

    /// Sets boards one after the other, from nothing on, until a corner lies so far on.
    fn spread(&mut self, items: &[Item], rooms: &[(Um, Um)], until: Um, set: Set<'_>) -> Result<(), Full> {
        self.push(Way {
            corner: Um::MIN / 4,
            ..Way::default()
        })?;
        let mut next = 0;
        while let Some((number, way)) = self.at(next) {
            let open = way.boards == 0 || way.corner < until;
            if open && usize::from(way.boards) < BOARDS_MAX {
                let there = (0..)
                    .zip(items.iter().zip(rooms))
                    .filter(|(_, (_, room))| room.0 < room.1);
                for (index, (item, room)) in there {
                    if let Some(corner) = set(item, *room, way.corner) {
                        let way = Way {
                            corner,
                            worth: way.worth + item.worth,
                            before: number,
                            item: index,
                            boards: way.boards + 1,
                        };
                        self.reach(next, way)?;
                    }
                }
            }
            next += 1;
        }
        Ok(())
    }

    fn at(&self, place: usize) -> Option<(u32, Way)> {
        let number = *self.front.get(..self.length)?.get(place)?;
        let way = self.ways.get(usize::try_from(number).ok()?)?;
        Some((number, *way))
    }

    fn way(&self, place: usize) -> Option<&Way> {
        let number = *self.front.get(place)?;
        self.ways.get(usize::try_from(number).ok()?)
    }

    fn push(&mut self, way: Way) -> Result<(), Full> {
        let place = self.length;
        self.put(place, place, way)
    }

    /// Takes a way in after a place, unless another is as good; those that are no better than it are left out.
    fn reach(&mut self, after: usize, way: Way) -> Result<(), Full> {
        let mut place = self.length;
        while place > after + 1 && self.way(place - 1).is_some_and(|other| other.corner > way.corner) {
            place -= 1;
        }
        if self.way(place - 1).is_some_and(|other| other.worth >= way.worth) {
            return Ok(());
        }
        if place > after + 1
            && self
                .way(place - 1)
                .is_some_and(|other| other.corner == way.corner)
        {
            place -= 1;
        }
        let mut end = place;
        while end < self.length && self.way(end).is_some_and(|other| other.worth <= way.worth) {
            end += 1;
        }
        self.put(place, end, way)
    }

    /// Puts a way in the place of those between two.
    fn put(&mut self, place: usize, end: usize, way: Way) -> Result<(), Full> {
        *self.ways.get_mut(self.made).ok_or(Full)? = way;
        let length = self.length + 1 - (end - place);
        if length > self.front.len() {
            return Err(Full);
        }
        self.front.copy_within(end..self.length, place + 1);
        *self.front.get_mut(place).ok_or(Full)? = u32::try_from(self.made).map_err(|_| Full)?;
        self.made += 1;
        self.length = length;
        Ok(())
    }

    /// Adds the boards of a way, last first.
    fn back(&self, best: &Way, pattern: &mut Pattern) -> Result<(), Full> {
        let mut way = *best;
        while way.boards > 0 {
            pattern.push(way.item).map_err(|_| Full)?;
            way = *self
                .ways
                .get(usize::try_from(way.before).map_err(|_| Full)?)
                .ok_or(Full)?;
        }
        Ok(())
    }
}
