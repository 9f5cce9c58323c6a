//! Memory for small logs, as tests look for layouts in them.

use std::vec;
use std::vec::Vec;

use bunkside_protocol::{Length, Position};

use super::best::{Ground, Memory};
use super::counted::{Desk, Label, Lent};
use super::knap::Sum;
use super::row::Way;
use super::stack::Rise;
use super::stairs::Stair;
use super::ways::State;
use super::{CLASSES_MAX, Class, Crests, Item, Mark, One, Rising, Tier, Um};
use crate::geometry::Interval;
use crate::replay::Setup;

/// Memory for a small log.
pub(super) struct Small {
    pairs: [Vec<(Um, Um)>; 3],
    classes: Vec<Class>,
    tiers: [Vec<Tier>; 3],
    items: [Vec<Item>; 3],
    rising: Vec<Rising>,
    marks: Vec<Mark>,
    crests: Vec<Crests>,
    ways: Vec<Way>,
    numbers: [Vec<u32>; 3],
    seen: Vec<One>,
    stairs: Vec<Stair>,
    sums: Vec<Sum>,
    rises: [Vec<Rise>; 3],
    labels: Vec<Label>,
    states: Vec<State>,
    boards: Vec<u16>,
    caps: Vec<i64>,
}

impl Small {
    pub(super) fn new() -> Self {
        Self {
            pairs: [600_000, 8_000, 8_000].map(|count| vec![(0, 0); count]),
            classes: vec![Class::default(); CLASSES_MAX],
            tiers: [0; 3].map(|_| vec![Tier::default(); 320]),
            rising: vec![Rising::default(); 320],
            marks: vec![Mark::default(); 320],
            crests: vec![Crests::default(); 320],
            items: [8_000, 8_000, 8_000].map(|count| vec![Item::default(); count]),
            ways: vec![Way::default(); 20_000],
            numbers: [4_000, 20_000, 5_000].map(|count| vec![0; count]),
            seen: vec![One::default(); 60],
            stairs: vec![Stair::default(); 64 * 320],
            sums: vec![Sum::default(); 20_000],
            rises: [5_000, 5_000, 40_000].map(|count| vec![Rise::default(); count]),
            labels: vec![Label::default(); 20_000],
            states: vec![State::default(); 5_000],
            boards: vec![0; 200_000],
            caps: vec![0; 40_000],
        }
    }

    pub(super) fn lend(&mut self) -> (Memory<'_>, Lent<'_>) {
        let [chords, rooms, more_rooms] = &mut self.pairs;
        let [items, more_items, items_at] = &mut self.items;
        let [tiers, more_tiers, tiers_at] = &mut self.tiers;
        let [front, heap, order] = &mut self.numbers;
        let [rises, more_rises, rises_at] = &mut self.rises;
        let memory = Memory {
            chords,
            classes: &mut self.classes,
            tiers,
            items,
            rising: &mut self.rising,
            marks: &mut self.marks,
            ways: &mut self.ways,
            front,
            rooms,
            seen: &mut self.seen,
            stairs: &mut self.stairs,
            rises,
            sums: &mut self.sums,
        };
        let desk = Desk {
            labels: &mut self.labels,
            heap,
            states: &mut self.states,
            order,
            boards: &mut self.boards,
            caps: &mut self.caps,
            rooms: more_rooms,
            crests: &mut self.crests,
            tiers: tiers_at,
            more: items_at,
            rises: rises_at,
        };
        let lent = Lent {
            desk,
            tiers: more_tiers,
            items: more_items,
            rises: more_rises,
        };
        (memory, lent)
    }
}

impl<'a> Ground<'a> {
    /// Where tests look for layouts: of all that stands between two heights and up to its ends, on a step of so many micrometres, the blade
    /// reaching so far both ways.
    pub(super) fn of(
        setup: &'a Setup<'a>,
        usable: Interval,
        [lowest, top]: [Position; 2],
        step: i64,
        reach: Length,
    ) -> Self {
        Self {
            setup,
            usable,
            lowest,
            reached: None,
            top,
            flat_top: false,
            apart: false,
            barred: &[],
            step: Length::um(step),
            reach: [reach; 2],
            core: None,
            standing: None,
            off_metal: false,
            relaxed: false,
        }
    }
}
