//! The emulated board, `mps2-an385`: a lamp, a clock, the stack.

#![expect(
    unsafe_code,
    reason = "registers and the stack's paint are read and written by address, each in one line"
)]

use core::convert::Infallible;
use core::ptr::{addr_of, read_volatile, write_volatile};

use cortex_m_rt::STACK_PAINT_VALUE;
use embedded_hal::digital::{ErrorType, OutputPin, StatefulOutputPin};

/// The board's lamps: one bit each, as written (FPGA system registers, offset 0).
const LAMPS: *mut u32 = 0x4002_8000 as *mut u32;
/// Timer 0: control, value, reload. It counts down at [`CLOCK_HZ`].
const TIMER_CONTROL: *mut u32 = 0x4000_0000 as *mut u32;
const TIMER_VALUE: *mut u32 = 0x4000_0004 as *mut u32;
const TIMER_RELOAD: *mut u32 = 0x4000_0008 as *mut u32;

/// What the timer counts at.
pub(crate) const CLOCK_HZ: u64 = 25_000_000;

/// Lamp 0, which stands for the run permit.
pub(crate) struct Lamp(());

impl Lamp {
    /// There is one: `main` takes it once.
    pub(crate) const fn take() -> Self {
        Self(())
    }

    fn set(on: bool) {
        // SAFETY: the register is there on this board, and nothing else uses it.
        unsafe {
            let others = read_volatile(LAMPS) & !1;
            write_volatile(LAMPS, others | u32::from(on));
        }
    }

    fn is_on() -> bool {
        // SAFETY: as above.
        unsafe { read_volatile(LAMPS) & 1 != 0 }
    }
}

impl ErrorType for Lamp {
    type Error = Infallible;
}

impl OutputPin for Lamp {
    fn set_low(&mut self) -> Result<(), Infallible> {
        Self::set(false);
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        Self::set(true);
        Ok(())
    }
}

impl StatefulOutputPin for Lamp {
    fn is_set_high(&mut self) -> Result<bool, Infallible> {
        Ok(Self::is_on())
    }

    fn is_set_low(&mut self) -> Result<bool, Infallible> {
        Ok(!Self::is_on())
    }
}

/// Counts instructions: under `-icount shift=5` one takes 32 ns, the timer's count 40 ns.
pub(crate) struct Clock(());

impl Clock {
    /// Starts it. It runs for 170 s before it comes round.
    pub(crate) fn start() -> Self {
        // SAFETY: the timer is there on this board, and nothing else uses it.
        unsafe {
            write_volatile(TIMER_RELOAD, u32::MAX);
            write_volatile(TIMER_VALUE, u32::MAX);
            write_volatile(TIMER_CONTROL, 1);
        }
        Self(())
    }

    fn value(&self) -> u32 {
        // SAFETY: as above.
        unsafe { read_volatile(TIMER_VALUE) }
    }

    /// Runs something, and tells how many instructions it took.
    pub(crate) fn instructions<T>(&self, run: impl FnOnce() -> T) -> (T, u32) {
        let start = self.value();
        let result = run();
        let counts = u64::from(start.wrapping_sub(self.value()));
        let nanoseconds = counts.saturating_mul(1_000_000_000 / CLOCK_HZ);
        (result, u32::try_from(nanoseconds / 32).unwrap_or(u32::MAX))
    }
}

unsafe extern "C" {
    static _stack_start: u32;
    static _stack_end: u32;
}

/// How many bytes of the stack have been used since the start: all above the last word that is still painted.
pub(crate) fn stack_used() -> usize {
    let (mut at, top) = (addr_of!(_stack_end), addr_of!(_stack_start));
    while at < top {
        // SAFETY: both symbols come from the linker, and between them lies the stack, word by word.
        if unsafe { read_volatile(at) } != STACK_PAINT_VALUE {
            break;
        }
        at = at.wrapping_add(1);
    }
    top.addr() - at.addr()
}

/// A fault ends the emulation as a panic does.
#[cortex_m_rt::exception(trampoline = false)]
unsafe fn HardFault() -> ! {
    crate::end(false)
}
