//! Memory that a layout is looked for in.

use bunkside_planner::layout::exact::{
    CLASSES_MAX, Class, Crests, Desk, Item, Label, Lent, Mark, Memory, One, Rise, Rising, Stair, State, Sum,
    Tier, Way,
};

use super::{BLOCK, ROWS, SEEN};

/// Memory for a layout.
pub(super) struct Memories {
    rooms: Vec<(i32, i32)>,
    classes: Vec<Class>,
    rows: [Vec<Tier>; 3],
    rising: Vec<Rising>,
    marks: Vec<Mark>,
    crests: Vec<Crests>,
    boards: [Vec<Item>; 3],
    board_rooms: [Vec<(i32, i32)>; 2],
    ways: Vec<Way>,
    front: Vec<u32>,
    seen: Vec<One>,
    stairs: Vec<Stair>,
    rises: [Vec<Rise>; 3],
    sums: Vec<Sum>,
    stacks: Vec<Label>,
    states: Vec<State>,
    numbers: [Vec<u32>; 2],
    kept: Vec<u16>,
    caps: Vec<i64>,
}

impl Memories {
    /// So many times the usual.
    pub(super) fn new(heights: usize, stretches: usize, stacks: usize, times: usize) -> Self {
        let (boards, states, stacks) = (2_000 * times, 5_000 * times, stacks * times);
        Self {
            rooms: vec![(0, 0); stretches * heights],
            classes: vec![Class::default(); CLASSES_MAX],
            rows: [0; 3].map(|_| vec![Tier::default(); ROWS]),
            rising: vec![Rising::default(); ROWS],
            marks: vec![Mark::default(); ROWS],
            crests: vec![Crests::default(); ROWS],
            boards: [0; 3].map(|_| vec![Item::default(); boards]),
            board_rooms: [vec![(0, 0); boards], vec![(0, 0); boards]],
            ways: vec![Way::default(); 20_000 * times],
            front: vec![0; 4_000 * times],
            seen: vec![One::default(); SEEN],
            stairs: vec![Stair::default(); ROWS * BLOCK],
            rises: [1, 1, 8].map(|times| vec![Rise::default(); times * heights]),
            sums: vec![Sum::default(); 20_000 * times],
            stacks: vec![Label::default(); stacks],
            states: vec![State::default(); states],
            numbers: [vec![0; stacks], vec![0; states]],
            kept: vec![0; 20 * stacks],
            caps: vec![0; ROWS * (heights / BLOCK + 2)],
        }
    }

    /// How many bytes that is.
    #[cfg(test)]
    pub(super) fn bytes(&self) -> usize {
        fn of<T>(lent: &[T]) -> usize {
            size_of_val(lent)
        }
        let lists = self.boards.iter().map(|list| of(list)).sum::<usize>()
            + [&self.board_rooms[0], &self.board_rooms[1], &self.rooms]
                .map(|list| of(list))
                .iter()
                .sum::<usize>()
            + self.rises.iter().map(|list| of(list)).sum::<usize>()
            + [&self.numbers[0], &self.numbers[1], &self.front]
                .map(|list| of(list))
                .iter()
                .sum::<usize>();
        lists
            + self.rows.iter().map(|list| of(list)).sum::<usize>()
            + of(&self.classes)
            + of(&self.rising)
            + of(&self.marks)
            + of(&self.crests)
            + of(&self.ways)
            + of(&self.seen)
            + of(&self.stairs)
            + of(&self.sums)
            + of(&self.stacks)
            + of(&self.states)
            + of(&self.kept)
            + of(&self.caps)
    }

    pub(super) fn lend(&mut self) -> (Memory<'_>, Lent<'_>) {
        let ([items, more, items_at], [rooms, more_rooms]) = (&mut self.boards, &mut self.board_rooms);
        let [tiers, more_tiers, tiers_at] = &mut self.rows;
        let [heap, order] = &mut self.numbers;
        let [rises, more_rises, rises_at] = &mut self.rises;
        let memory = Memory {
            chords: &mut self.rooms,
            classes: &mut self.classes,
            tiers,
            items,
            rising: &mut self.rising,
            marks: &mut self.marks,
            ways: &mut self.ways,
            front: &mut self.front,
            rooms,
            seen: &mut self.seen,
            stairs: &mut self.stairs,
            rises,
            sums: &mut self.sums,
        };
        let desk = Desk {
            labels: &mut self.stacks,
            heap,
            states: &mut self.states,
            order,
            boards: &mut self.kept,
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
            items: more,
            rises: more_rises,
        };
        (memory, lent)
    }
}
