//! Against looking at every floor and every corner.

use std::vec;
use std::vec::Vec;

use super::heart::{EVERYWHERE, FLOORS};
use super::order::{Bar, Rows};
use super::reach::{Reach, Reaches};
use super::row::{Bench, Way};
use super::stack::{Rank, Span, Work, levels};
use super::stairs::Stair;
use super::{Item, Mark, Rising, Tier, Um};
use crate::testing::Dice;

/// Rooms of stretches, height by height, as of ellipses in which all of them have to lie.
struct Case {
    chords: Vec<(Um, Um)>,
    heights: usize,
    step: Um,
    rows: Vec<(usize, usize, Vec<Item>)>,
    /// Between which heights the floor of each lies.
    floors: Vec<(usize, usize)>,
}

const NONE: (Um, Um) = (Um::MAX / 4, Um::MIN / 4);

/// The rooms of a stretch: of two ellipses, which lie somewhere.
fn stretch(
    within: &mut impl FnMut(i64, i64) -> i64,
    tall: i64,
    (heights, step): (usize, Um),
    bent: bool,
) -> Vec<(Um, Um)> {
    let mut ellipse = || {
        let half = tall as f64 * within(35, 50) as f64 / 100.0;
        let wide = half * within(80, 120) as f64 / 100.0;
        let up = tall as f64 / 2.0 + if bent { within(-6_000, 6_000) as f64 } else { 0.0 };
        let off = if bent { within(-8_000, 8_000) as f64 } else { 0.0 };
        [half, wide, up, off]
    };
    let ellipses = [ellipse(), ellipse()];
    let at = |height: usize| {
        let y = (height as i64 * i64::from(step)) as f64;
        let room = ellipses
            .iter()
            .fold((f64::MIN, f64::MAX), |room, [half, wide, up, off]| {
                let lean = (y - up) / half;
                let share = 1.0 - lean * lean;
                if share <= 0.0 {
                    return (f64::MAX, f64::MIN);
                }
                let reach = wide * libm::sqrt(share);
                (room.0.max(off - reach), room.1.min(off + reach))
            });
        if room.0 < room.1 {
            (room.0.ceil() as Um, room.1.floor() as Um)
        } else {
            NONE
        }
    };
    (0..heights).map(at).collect()
}

/// Of the rooms of a stretch what a board has at its underside, and at its face, that may lack so much at either side, and so
/// many steps of its edges: both as wide as they have to be there, and where the edges begin to be whole.
fn waned(raw: &[(Um, Um)], side: Um, up: usize) -> [Vec<(Um, Um)>; 2] {
    let at = |height: Option<usize>| height.and_then(|height| raw.get(height)).copied().unwrap_or(NONE);
    let of = |height: usize, whole: Option<usize>| {
        let ((lo, hi), whole) = (at(Some(height)), at(whole));
        ((lo - side).max(whole.0), (hi + side).min(whole.1))
    };
    let under = (0..raw.len()).map(|height| of(height, Some(height + up)));
    let over = (0..raw.len()).map(|height| of(height, height.checked_sub(up)));
    [under.collect(), over.collect()]
}

/// The reach of a stretch of so many, whole, or as of boards that may lack something.
fn reach(number: u16, lacks: Option<u16>) -> Reach {
    let Some(whole) = lacks else {
        return Reach::whole(number);
    };
    let under = whole + 2 * number;
    Reach {
        under,
        over: under + 1,
        ..Reach::default()
    }
}

/// The floors of rows: in half of all cases something thin lies across, which no board holds.
fn floors(
    within: &mut impl FnMut(i64, i64) -> i64,
    heights: usize,
    rows: &mut Vec<(usize, usize, Vec<Item>)>,
) -> Vec<(usize, usize)> {
    let (at, thin) = (heights * within(30, 70) as usize / 100, within(1, 5) as usize);
    if within(0, 1) == 0 {
        return vec![FLOORS; rows.len()];
    }
    let below = rows.iter().map(|row| (0, at.saturating_sub(row.0)));
    let above = rows.iter().map(|_| (at + thin, usize::MAX));
    let floors = below.chain(above).collect();
    rows.extend(rows.clone());
    floors
}

fn case(seed: u64) -> Case {
    let mut dice = Dice::new(seed);
    let mut within = |from: i64, to: i64| from + dice.below((to - from + 1) as u64) as i64;
    let step = [100, 500, 1_000][within(0, 2) as usize];
    let tall = within(60, 160) * 1000;
    let heights = usize::try_from(tall / i64::from(step) + 1).unwrap();
    let reaches = within(1, 4);
    let bent = within(0, 1) == 1;
    let mut chords = Vec::new();
    for _ in 0..reaches {
        chords.extend(stretch(&mut within, tall, (heights, step), bent));
    }
    // Those of boards that may lack something: no board is lower than 8 mm, and 2 mm of an edge are whole.
    for reach in 0..reaches as usize {
        let raw = chords[reach * heights..(reach + 1) * heights].to_vec();
        let up = within(0, 3_000 / i64::from(step)) as usize;
        chords.extend(waned(&raw, within(0, 8_000) as Um, up).into_iter().flatten());
    }
    let kerf = within(2_000, 6_000) as Um;
    let up = |size: Um| (size + step - 1) / step * step;
    let mut rows = (0..within(1, 4))
        .map(|_| {
            let height = within(8_000, 40_000) as Um;
            let items = (0..within(1, 5)).map(|_| {
                let width = within(9_000, 60_000) as Um;
                let first = within(0, reaches - 1) as u16;
                let second = if within(0, 3) == 0 {
                    within(0, reaches - 1) as u16
                } else {
                    first
                };
                let lacks = within(0, 1) == 1;
                let of = |number: u16| reach(number, lacks.then_some(reaches as u16));
                Item {
                    width,
                    advance: up(width + kerf),
                    reach: [first, second].map(of),
                    within: EVERYWHERE,
                    worth: within(1, 50),
                    boards: [None; 2],
                }
            });
            (
                usize::try_from(up(height + kerf) / step).unwrap(),
                usize::try_from(kerf / step).unwrap(),
                items.collect(),
            )
        })
        .collect::<Vec<_>>();
    let floors = floors(&mut within, heights, &mut rows);
    Case {
        floors,
        chords,
        heights,
        step,
        rows,
    }
}

/// What a row is worth over a floor, corner by corner.
fn plain_row(case: &Case, (advance, kerf, items): &(usize, usize, Vec<Item>), floor: usize) -> i64 {
    let step = case.step;
    let (left, right) = (-200_000 / step, 200_000 / step);
    let count = usize::try_from(right - left + 1).unwrap();
    let mut best = vec![0_i64; count + 1];
    let rooms: Vec<(Um, Um)> = items
        .iter()
        .map(|item| {
            let of = |reach: u16, height: usize| case.chords[usize::from(reach) * case.heights + height];
            let all = item
                .reach
                .into_iter()
                .flat_map(|reach| [of(reach.under, floor + kerf), of(reach.over, floor + advance)]);
            all.fold((Um::MIN, Um::MAX), |room, chord| {
                (room.0.max(chord.0), room.1.min(chord.1))
            })
        })
        .collect();
    for place in (0..count).rev() {
        let corner = (left + place as Um) * step;
        let mut here = best[place + 1];
        for (item, room) in items.iter().zip(&rooms) {
            if corner >= room.0 && corner + item.width <= room.1 {
                let next = place + usize::try_from(item.advance / step).unwrap();
                here = here.max(item.worth + best[next.min(count)]);
            }
        }
        best[place] = here;
    }
    best[0]
}

/// The best stack, face by face: what is between two layers is nothing, or so much at least.
fn plain_stack(case: &Case, span: Span<'_>) -> i64 {
    let (lowest, apart, under) = (span.lowest, span.apart, span.under);
    let tables: Vec<Vec<i64>> = case
        .rows
        .iter()
        .zip(&case.floors)
        .map(|(row, (from, to))| {
            let floors = 0..case.heights.saturating_sub(row.0);
            floors
                .map(|floor| {
                    let barred = span.barred.iter().any(|bar| bar.holds(row.0, floor));
                    if barred || floor < lowest || floor < *from || floor > *to {
                        0
                    } else {
                        plain_row(case, row, floor)
                    }
                })
                .collect()
        })
        .collect();
    // The best stack whose face lies just there.
    let mut worth = vec![0_i64; case.heights];
    let below = |worth: &[i64], floor: usize| {
        let all = worth.iter().take(floor + 1).enumerate();
        let may = all.filter(|(face, _)| *face == floor || face + apart <= floor);
        may.map(|(_, worth)| *worth).max().unwrap_or(0)
    };
    for face in lowest..case.heights {
        for (row, table) in case.rows.iter().zip(&tables) {
            // A row that brings nothing is none.
            if face >= row.0 + lowest && table[face - row.0] > 0 {
                let all = table[face - row.0] + below(&worth, face - row.0);
                worth[face] = worth[face].max(all);
            }
        }
    }
    if under {
        below(&worth, case.heights - 1)
    } else {
        *worth.iter().max().unwrap()
    }
}

/// Everything; then layers apart, under what is below and under a face; and some of what has been found barred.
fn spans<'b>(seed: u64, case: &Case, bars: &'b mut Vec<Bar>) -> [Span<'b>; 4] {
    let lowest = case.heights / 20;
    let mut dice = Dice::new(seed + 7_000);
    let mut below = |count: usize| dice.below(count as u64) as usize;
    for row in &case.rows {
        let from = below(case.heights);
        bars.push(Bar::of(row.0, (from, from + below(case.heights / 3 + 1))));
    }
    let all = Span { lowest, ..Span::ALL };
    let apart = Span {
        apart: case.heights / (4 + seed as usize % 20),
        ..all
    };
    let under = Span { under: true, ..apart };
    let barred = Span {
        apart: if below(2) == 0 { 1 } else { apart.apart },
        barred: bars,
        ..all
    };
    [all, apart, under, barred]
}

/// The stack of a span, and its layers, held against looking at everything; what it is worth.
fn held(case: &Case, (reaches, rows): (&Reaches<'_>, &Rows<'_>), span: Span<'_>, work: &mut Work<'_>) -> i64 {
    let (rank, found) = Rank::stack(reaches, rows, span, work).unwrap();
    let told = plain_stack(case, span);
    let (mut above, mut wrong) = (case.heights - 1, 0);
    let sum = levels(&rank, reaches, rows, work, &mut |level| {
        let advance = rows.get(level.row).unwrap().advance;
        let gap = above - (level.floor + advance);
        let counts = span.under || above + 1 < case.heights;
        wrong += usize::from(counts && gap > 0 && gap < span.apart);
        wrong += span
            .barred
            .iter()
            .filter(|bar| bar.holds(advance, level.floor))
            .count();
        above = level.floor;
    });
    assert_eq!((found, sum.unwrap(), wrong), (told, told, 0), "{span:?}");
    found
}

#[test]
fn the_stack_is_worth_what_looking_at_everything_finds() {
    let runs = std::env::var("BUNKSIDE_RUNS").map_or(60, |runs| runs.parse().unwrap());
    let (mut equal, mut filled, mut less) = (0, 0, 0);
    for seed in 1..=runs {
        let case = case(seed);
        let mut chords = case.chords.clone();
        let reaches = Reaches::new(&mut chords, case.heights, case.step);
        let (mut tiers, mut items) = (Vec::new(), Vec::new());
        for ((advance, kerf, own), floors) in case.rows.iter().zip(&case.floors) {
            let begun = items.len();
            items.extend_from_slice(own);
            tiers.push(Tier {
                advance: *advance,
                kerf: *kerf,
                floors: *floors,
                begun,
                end: items.len(),
            });
        }
        let mut rising = vec![Rising::default(); tiers.len()];
        let mut marks = vec![Mark::default(); tiers.len()];
        let rows = Rows::told(&mut tiers, &mut items);
        let mut ways = vec![Way::default(); 4_000];
        let mut front = vec![0; 1_000];
        let mut rooms = vec![(0, 0); 64];
        let mut steps = vec![Stair::default(); 8_000];
        let mut sums = vec![super::knap::Sum::default(); 5_000];
        let mut rises = vec![super::stack::Rise::default(); case.heights];
        let mut work = Work {
            bench: Bench {
                ways: &mut ways,
                front: &mut front,
                rooms: &mut rooms,
                sums: &mut sums,
                widest_gap: 0,
                filled: 0,
            },
            rising: &mut rising,
            marks: &mut marks,
            stairs: &mut steps,
            rises: &mut rises,
        };
        let mut last = i64::MAX;
        for span in spans(seed, &case, &mut Vec::new()) {
            let found = held(&case, (&reaches, &rows), span, &mut work);
            filled += work.bench.filled;
            less += usize::from(found < last && span.apart > 0);
            last = found;
        }
        equal += 1;
    }
    std::println!("{equal} of {runs} equal, {filled} rows filled; {less} worth less apart");
    assert!(less * 20 > equal, "{less}");
}
