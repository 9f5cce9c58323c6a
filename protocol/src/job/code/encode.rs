//! Writing the move code.

use crate::job::error::{EncodeError, JobAxis};
use crate::moves::{Act, Angle, Cut, Feed, Hold, Move, Targets};
use crate::units::{Length, Position, Speed};

use super::fields::{self, end, speed, step, travel};
use super::memory::{AxisMemory, Memory, label_bits};
use super::{Sink, varint};

/// Writes moves, one after the other, into any sink. It keeps no move: a sequencer may hand them over as it makes
/// them.
#[derive(Debug)]
pub struct CodeWriter<S> {
    memory: Memory,
    sink: S,
    count: u32,
}

impl<S: Sink> CodeWriter<S> {
    /// A writer of moves on a grid.
    ///
    /// # Errors
    /// [`EncodeError::Grid`].
    pub fn new(grid: Length, sink: S) -> Result<Self, EncodeError> {
        let memory = Memory::new(grid).ok_or(EncodeError::Grid(grid))?;
        Ok(Self {
            memory,
            sink,
            count: 0,
        })
    }

    /// Writes a move. After an error the bytes are of no use any more.
    ///
    /// # Errors
    /// [`EncodeError::OffGrid`] before any byte of the move is written; [`EncodeError::Full`];
    /// [`EncodeError::TooLong`].
    pub fn push(&mut self, next: Move) -> Result<(), EncodeError> {
        let count = self.count.checked_add(1).ok_or(EncodeError::TooLong)?;
        write_move(&mut self.memory, &mut self.sink, next).map_err(|fault| match fault {
            Fault::Sink(error) => error,
            Fault::OffGrid(axis) => EncodeError::OffGrid {
                index: self.count,
                axis,
            },
        })?;
        self.count = count;
        Ok(())
    }

    /// How many moves were written.
    #[must_use]
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// The sink as it is now.
    pub const fn sink(&self) -> &S {
        &self.sink
    }

    /// The sink.
    pub fn into_sink(self) -> S {
        self.sink
    }
}

/// Why a move could not be written.
#[derive(Debug)]
pub(super) enum Fault {
    Sink(EncodeError),
    OffGrid(JobAxis),
}

impl From<EncodeError> for Fault {
    fn from(error: EncodeError) -> Self {
        Self::Sink(error)
    }
}

/// Writes one move in its one form, and remembers it.
pub(super) fn write_move(memory: &mut Memory, sink: &mut impl Sink, next: Move) -> Result<(), Fault> {
    match next {
        Move::Go(to) => write_targets(memory, sink, to)?,
        Move::Cut(cut) => write_cut(memory, sink, cut)?,
        Move::Swing(angle) => {
            sink.put(match angle {
                Angle::Flat => fields::SWING_FLAT,
                Angle::Upright => fields::SWING_UPRIGHT,
            })?;
            memory.angle = angle;
        }
        Move::Spin(up) => sink.put(if up { fields::SPIN_UP } else { fields::SPIN_DOWN })?,
        Move::Hold(hold) => write_hold(sink, hold)?,
    }
    Ok(())
}

fn write_hold(sink: &mut impl Sink, hold: Hold) -> Result<(), EncodeError> {
    let mut code = fields::HOLD_ONE;
    for act in Act::ALL {
        if hold.acts == crate::moves::Acts::one(act) {
            return sink.put(code);
        }
        code = code.wrapping_add(1);
    }
    sink.put(fields::HOLD)?;
    varint::write(sink, u32::from(u16::from(hold.acts)))
}

fn write_cut(memory: &mut Memory, sink: &mut impl Sink, cut: Cut) -> Result<(), Fault> {
    let label = label_bits(cut.feed);
    let (speed_bits, speed_operand) = foretell_speed(memory, cut.feed, cut.speed);
    match cut.to {
        Targets {
            travel: Some(to),
            across: None,
            height: None,
        } => {
            let to = on_grid(memory, to, JobAxis::Travel)?;
            let (end_bits, end_operand) = foretell_end(memory, to, &end::ENDS, end::NEW);
            let release = u8::from(cut.release) << 6;
            sink.put(fields::CUT | release | label << 4 | end_bits << 2 | speed_bits)?;
            write_operand(sink, end_operand)?;
            memory.go_to_end(to);
        }
        to => {
            // Off the grid is told before a byte is written.
            check_grid(memory, to)?;
            let release = u8::from(cut.release) << 4;
            sink.put(fields::CUT_ANY | release | label << 2 | speed_bits)?;
            write_targets(memory, sink, to)?;
        }
    }
    write_operand(sink, speed_operand)?;
    memory.use_speed(cut.feed, cut.speed);
    Ok(())
}

fn write_targets(memory: &mut Memory, sink: &mut impl Sink, to: Targets) -> Result<(), Fault> {
    let travel_to = steps(memory, to.travel, JobAxis::Travel)?;
    let across_to = steps(memory, to.across, JobAxis::Across)?;
    let height_to = steps(memory, to.height, JobAxis::Height)?;
    let (travel_bits, travel_operand) = match travel_to {
        None => (travel::NONE, None),
        Some(to) => foretell_end(memory, to, &travel::ENDS, travel::NEW),
    };
    let (across_bits, across_operand) = foretell_step(memory.across, across_to);
    let (height_bits, height_operand) = foretell_step(memory.height, height_to);
    sink.put(fields::GO | travel_bits << 4 | across_bits << 2 | height_bits)?;
    for operand in [travel_operand, across_operand, height_operand] {
        write_operand(sink, operand)?;
    }
    if let Some(to) = travel_to {
        memory.go_to_end(to);
    }
    if let Some(to) = across_to {
        memory.across.go(to);
    }
    if let Some(to) = height_to {
        memory.height.go(to);
    }
    Ok(())
}

fn write_operand(sink: &mut impl Sink, operand: Option<u32>) -> Result<(), EncodeError> {
    operand.map_or(Ok(()), |number| varint::write(sink, number))
}

fn foretell_end(memory: &Memory, to: i32, codes: &[u8], new: u8) -> (u8, Option<u32>) {
    let known = memory.other_ends();
    let mut pairs = codes.iter().zip(known);
    match pairs.find(|(_, end)| *end == to) {
        Some((code, _)) => (*code, None),
        None => (new, Some(varint::zigzag(to.wrapping_sub(memory.end_before())))),
    }
}

fn foretell_step(axis: AxisMemory, to: Option<i32>) -> (u8, Option<u32>) {
    let Some(to) = to else {
        return (step::NONE, None);
    };
    let by = to.wrapping_sub(axis.at);
    if by == axis.step {
        (step::AGAIN, None)
    } else if by == axis.step.wrapping_neg() {
        (step::BACK, None)
    } else {
        (step::NEW, Some(varint::zigzag(by)))
    }
}

fn foretell_speed(memory: &Memory, feed: Option<Feed>, now: Speed) -> (u8, Option<u32>) {
    let known = memory.speeds(feed);
    let um = now.as_um_per_s();
    if now == known.last {
        (speed::LAST, None)
    } else if now == known.other {
        (speed::OTHER, None)
    } else if um.is_multiple_of(1000) {
        (speed::NEW_MM, Some(um / 1000))
    } else {
        (speed::NEW_UM, Some(um))
    }
}

fn check_grid(memory: &Memory, to: Targets) -> Result<(), Fault> {
    steps(memory, to.travel, JobAxis::Travel)?;
    steps(memory, to.across, JobAxis::Across)?;
    steps(memory, to.height, JobAxis::Height)?;
    Ok(())
}

fn steps(memory: &Memory, to: Option<Position>, axis: JobAxis) -> Result<Option<i32>, Fault> {
    to.map(|to| on_grid(memory, to, axis)).transpose()
}

fn on_grid(memory: &Memory, to: Position, axis: JobAxis) -> Result<i32, Fault> {
    match (
        to.as_um().checked_rem(memory.grid),
        to.as_um().checked_div(memory.grid),
    ) {
        (Some(0), Some(steps)) => Ok(steps),
        _ => Err(Fault::OffGrid(axis)),
    }
}
