//! Reading the move code.

use crate::job::error::{DecodeError, DecodeFault, EncodeError};
use crate::moves::{Act, Acts, Angle, Cut, Feed, Hold, Move, Targets};
use crate::units::{Length, Position, Speed};

use super::encode::write_move;
use super::fields::{self, end, label, speed, step, travel};
use super::memory::{AxisMemory, Memory};
use super::{MOVE_MAX, Sink, varint};

/// Reads moves from any run of bytes, and stops for good at the first error.
///
/// It holds at most 144 bytes and looks at each byte once, so a controller may feed it from storage, record by record. Each
/// move is written again and compared with the bytes it came from: what is accepted has no second form.
#[derive(Clone, Debug)]
pub struct CodeReader<I> {
    bytes: Taken<I>,
    memory: Memory,
    left: u32,
    done: bool,
}

/// What it holds beside the run of bytes, so that a controller can count on it.
const _: () = assert!(size_of::<CodeReader<()>>() <= 144);

impl<I: Iterator<Item = u8>> CodeReader<I> {
    /// A reader of so many moves on a grid. None where the grid cannot be one.
    #[must_use]
    pub fn new(grid: Length, count: u32, bytes: I) -> Option<Self> {
        Some(Self {
            bytes: Taken {
                bytes,
                offset: 0,
                taken: [0; MOVE_MAX],
                len: 0,
            },
            memory: Memory::new(grid)?,
            left: count,
            done: false,
        })
    }

    /// How many moves are still to come, if no error does.
    #[must_use]
    pub const fn left(&self) -> u32 {
        self.left
    }

    /// How many bytes were taken.
    #[must_use]
    pub const fn offset(&self) -> usize {
        self.bytes.offset
    }

    fn read(&mut self) -> Result<Move, DecodeError> {
        let start = self.bytes.offset;
        self.bytes.len = 0;
        let next = read_move(&self.memory, &mut self.bytes)?;
        let mut same = Same {
            rest: self.bytes.taken.get(..self.bytes.len).unwrap_or_default(),
        };
        // A difference in any byte is told as a full sink; a target off the grid cannot come from a step.
        let written = write_move(&mut self.memory, &mut same, next);
        if written.is_err() || !same.rest.is_empty() {
            return Err(DecodeFault::Form.at(start));
        }
        Ok(next)
    }
}

impl<I: Iterator<Item = u8>> Iterator for CodeReader<I> {
    type Item = Result<Move, DecodeError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.done {
            return None;
        }
        let Some(left) = self.left.checked_sub(1) else {
            self.done = true;
            let offset = self.bytes.offset;
            return self
                .bytes
                .bytes
                .next()
                .map(|_| Err(DecodeFault::Trailing.at(offset)));
        };
        let next = self.read();
        match next {
            Ok(_) => self.left = left,
            Err(_) => self.done = true,
        }
        Some(next)
    }
}

/// The bytes, with those of the present move kept for comparison.
#[derive(Clone, Debug)]
struct Taken<I> {
    bytes: I,
    offset: usize,
    taken: [u8; MOVE_MAX],
    len: usize,
}

impl<I: Iterator<Item = u8>> Taken<I> {
    fn byte(&mut self) -> Result<u8, DecodeError> {
        let byte = self.bytes.next().ok_or(DecodeFault::Short.at(self.offset))?;
        let place = self
            .taken
            .get_mut(self.len)
            .ok_or(DecodeFault::Form.at(self.offset))?;
        *place = byte;
        self.len = self.len.saturating_add(1);
        self.offset = self.offset.saturating_add(1);
        Ok(byte)
    }

    fn number(&mut self) -> Result<u32, DecodeError> {
        let start = self.offset;
        let mut number = 0_u32;
        for shift in [0, 7, 14, 21, 28] {
            let byte = self.byte()?;
            let bits = u32::from(byte & 0x7F);
            if shift == 28 && bits > 0x0F {
                break;
            }
            number |= bits << shift;
            if byte & 0x80 == 0 {
                return Ok(number);
            }
        }
        Err(DecodeFault::Number.at(start))
    }

    /// A place that lies so many steps, which follow, from another one.
    fn steps_from(&mut self, from: i32) -> Result<i32, DecodeError> {
        let start = self.offset;
        let by = varint::unzigzag(self.number()?);
        from.checked_add(by).ok_or(DecodeFault::Range.at(start))
    }
}

/// Compares what is written with what was read.
struct Same<'a> {
    rest: &'a [u8],
}

impl Sink for Same<'_> {
    fn put(&mut self, byte: u8) -> Result<(), EncodeError> {
        match self.rest.split_first() {
            Some((first, rest)) if *first == byte => {
                self.rest = rest;
                Ok(())
            }
            _ => Err(EncodeError::Full),
        }
    }
}

fn read_move<I: Iterator<Item = u8>>(memory: &Memory, bytes: &mut Taken<I>) -> Result<Move, DecodeError> {
    let start = bytes.offset;
    let code = bytes.byte()?;
    Ok(match code {
        fields::SWING_FLAT => Move::Swing(Angle::Flat),
        fields::SWING_UPRIGHT => Move::Swing(Angle::Upright),
        fields::SPIN_DOWN => Move::Spin(false),
        fields::SPIN_UP => Move::Spin(true),
        fields::HOLD => {
            let acts = u16::try_from(bytes.number()?)
                .ok()
                .and_then(|bits| Acts::try_from(bits).ok());
            let acts = acts.ok_or(DecodeFault::Range.at(start))?;
            Move::Hold(Hold { acts })
        }
        fields::HOLD_ONE..fields::CUT_ANY => {
            let number = usize::from(code - fields::HOLD_ONE);
            let act = Act::ALL.get(number).ok_or(DecodeFault::Code(code).at(start))?;
            Move::Hold(Hold {
                acts: Acts::one(*act),
            })
        }
        fields::CUT_ANY..fields::GO => {
            let feed = read_label(code >> 2 & 3).ok_or(DecodeFault::Code(code).at(start))?;
            let second = bytes.offset;
            let to = bytes.byte()?;
            if !(fields::GO..fields::CUT).contains(&to) {
                return Err(DecodeFault::Code(to).at(second));
            }
            let to = read_targets(memory, bytes, to)?;
            let speed = read_speed(memory, bytes, feed, code & 3)?;
            let release = code & 0x10 != 0;
            Move::Cut(Cut {
                to,
                speed,
                feed,
                release,
            })
        }
        fields::GO..fields::CUT => Move::Go(read_targets(memory, bytes, code)?),
        fields::CUT.. => {
            let feed = read_label(code >> 4 & 3).ok_or(DecodeFault::Code(code).at(start))?;
            let to = Targets::travel(read_end(memory, bytes, code >> 2 & 3)?);
            let speed = read_speed(memory, bytes, feed, code & 3)?;
            let release = code & 0x40 != 0;
            Move::Cut(Cut {
                to,
                speed,
                feed,
                release,
            })
        }
        _ => return Err(DecodeFault::Code(code).at(start)),
    })
}

/// The label of two bits; none where they mean nothing.
const fn read_label(bits: u8) -> Option<Option<Feed>> {
    match bits {
        label::NONE => Some(None),
        label::CLIMB => Some(Some(Feed::Climb)),
        label::FORWARD => Some(Some(Feed::Forward)),
        _ => None,
    }
}

fn read_end<I: Iterator<Item = u8>>(
    memory: &Memory,
    bytes: &mut Taken<I>,
    bits: u8,
) -> Result<Position, DecodeError> {
    let start = bytes.offset;
    let to = match memory.other_ends().get(usize::from(bits)) {
        Some(known) => *known,
        // `end::NEW`: there is no fourth other end.
        None => bytes.steps_from(memory.end_before())?,
    };
    position(memory, to, start)
}

fn read_targets<I: Iterator<Item = u8>>(
    memory: &Memory,
    bytes: &mut Taken<I>,
    code: u8,
) -> Result<Targets, DecodeError> {
    let travel = match code >> 4 & 3 {
        travel::NONE => None,
        travel::NEW => Some(read_end(memory, bytes, end::NEW)?),
        // Codes 1 and 2 of a go are ends 0 and 1 of a cut.
        known => Some(read_end(memory, bytes, known - 1)?),
    };
    Ok(Targets {
        travel,
        across: read_step(memory, bytes, memory.across, code >> 2 & 3)?,
        height: read_step(memory, bytes, memory.height, code & 3)?,
    })
}

fn read_step<I: Iterator<Item = u8>>(
    memory: &Memory,
    bytes: &mut Taken<I>,
    axis: AxisMemory,
    bits: u8,
) -> Result<Option<Position>, DecodeError> {
    let start = bytes.offset;
    let to = match bits {
        step::NONE => return Ok(None),
        step::AGAIN => axis.at.wrapping_add(axis.step),
        step::BACK => axis.at.wrapping_sub(axis.step),
        _ => bytes.steps_from(axis.at)?,
    };
    position(memory, to, start).map(Some)
}

fn position(memory: &Memory, steps: i32, offset: usize) -> Result<Position, DecodeError> {
    let um = steps
        .checked_mul(memory.grid)
        .and_then(|um| Position::try_from(um).ok());
    um.ok_or(DecodeFault::Range.at(offset))
}

fn read_speed<I: Iterator<Item = u8>>(
    memory: &Memory,
    bytes: &mut Taken<I>,
    feed: Option<Feed>,
    bits: u8,
) -> Result<Speed, DecodeError> {
    let known = memory.speeds(feed);
    let start = bytes.offset;
    let um = match bits {
        speed::LAST => return Ok(known.last),
        speed::OTHER => return Ok(known.other),
        speed::NEW_MM => bytes.number()?.checked_mul(1000),
        _ => Some(bytes.number()?),
    };
    um.and_then(|um| Speed::try_from(um).ok())
        .ok_or(DecodeFault::Range.at(start))
}
