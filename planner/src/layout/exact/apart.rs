//! The best stack whose layers lie one on the other, or so far apart that what is between them comes off as a piece.
//!
//! What lies below a floor then hangs on more than how low that is: a layer just below it is of no use, where the one that ends at
//! it is. So the best stack is kept for every face, and not only where more comes in.

use super::order::Rows;
use super::reach::Reaches;
use super::row::Full;
use super::stack::{Rank, Rise, Span, Work};

impl Rank {
    /// See [`Rank::stack`], by which the rows have been set at their first floors.
    pub(super) fn climb_apart(
        reaches: &Reaches<'_>,
        rows: &Rows<'_>,
        span: Span<'_>,
        work: &mut Work<'_>,
    ) -> Result<(Self, i64), Full> {
        let Work {
            bench,
            rising: all,
            marks,
            stairs,
            rises: lent,
        } = work;
        let marks = marks.get(..rows.len()).ok_or(Full)?;
        let end = span.end(reaches);
        let rises = lent.get_mut(..end).ok_or(Full)?;
        for face in 0..end {
            let (known, rest) = rises.split_at_mut(face);
            // What is worth no more than a stack that ends further down is of no use.
            let most = face
                .checked_sub(span.apart)
                .and_then(|far| most_up_to(known, far));
            let most = most.and_then(|at| known.get(at)).map_or(0, |rise| rise.worth);
            let mut best: Option<(i64, u16)> = None;
            for ((number, mark), rising) in (0_u16..).zip(marks).zip(&mut **all) {
                if face < mark.next {
                    continue;
                }
                let Some(row) = rows.get(usize::from(number)) else {
                    continue;
                };
                let floor = face - row.advance;
                if floor > rising.last {
                    continue;
                }
                let below = worth_at(known, place_below(known, floor, span.apart));
                let least = best.map_or(most, |best| best.0) - below;
                // A row is climbed floor by floor, those too where it may not lie.
                let barred = span.barred.iter().any(|bar| bar.holds(row.advance, floor));
                let least = if barred { i64::MAX } else { least };
                if rising.come(reaches, &row, floor, least, bench, (usize::from(number), stairs))? {
                    best = Some((below + rising.worth, number));
                }
            }
            let (worth, row) = best.unwrap_or_default();
            let before = face.checked_sub(1).and_then(|last| most_up_to(known, last));
            let highest = match before {
                Some(at) if worth_at(known, Some(at)) >= worth => at,
                _ => face,
            };
            *rest.first_mut().ok_or(Full)? = Rise {
                worth,
                face: u32::try_from(highest).map_err(|_| Full)?,
                row,
            };
        }
        let top = place_within(rises, span);
        let rank = Self {
            rises: end,
            top,
            apart: span.apart,
        };
        Ok((rank, worth_at(rises, top)))
    }
}

fn worth_at(rises: &[Rise], at: Option<usize>) -> i64 {
    at.and_then(|at| rises.get(at)).map_or(0, |rise| rise.worth)
}

/// Where the best stack is kept that ends at a face or lower; none where none does.
fn most_up_to(rises: &[Rise], face: usize) -> Option<usize> {
    let at = usize::try_from(rises.get(face)?.face).ok()?;
    rises.get(at).filter(|rise| rise.worth > 0).map(|_| at)
}

/// Where the best stack is kept that may lie below a floor, so far apart or right at it; where `apart` is 0, the last rise up to it.
pub(super) fn place_below(rises: &[Rise], floor: usize, apart: usize) -> Option<usize> {
    if apart == 0 {
        let up_to = |rise: &Rise| usize::try_from(rise.face).is_ok_and(|face| face <= floor);
        return rises.partition_point(up_to).checked_sub(1);
    }
    let far = floor.checked_sub(apart).and_then(|far| most_up_to(rises, far));
    let own = rises.get(floor).filter(|rise| rise.worth > worth_at(rises, far));
    own.map(|_| floor).or(far)
}

/// Where the best stack of a span is kept, of those that were kept for it or a higher one.
fn place_within(rises: &[Rise], span: Span<'_>) -> Option<usize> {
    let highest = match span.apart {
        0 => span.highest,
        _ => span.highest.min(rises.len().saturating_sub(1)),
    };
    if span.apart > 0 && !span.under {
        return most_up_to(rises, highest);
    }
    place_below(rises, highest, span.apart)
}

/// What the best stack of a span is worth.
pub(super) fn worth_within(rises: &[Rise], span: Span<'_>) -> i64 {
    worth_at(rises, place_within(rises, span))
}
