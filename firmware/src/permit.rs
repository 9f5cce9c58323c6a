//! The output that lets a job be run.

use embedded_hal::digital::{OutputPin, PinState};

use crate::Verified;

/// The run permit: one output, high only while the job at hand has passed.
///
/// It is low from the moment it is made, it goes high for a [`Verified`] and nothing else, and it goes low for every
/// job that is loaded. It is one condition among those of the mill's own stop chain, never a substitute for it.
#[derive(Debug)]
pub struct Permit<P> {
    pin: P,
    state: PinState,
}

/// The output could not be set. It is then to be taken for high: stop by other means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PinFault<E>(pub E);

impl<E> core::fmt::Display for PinFault<E> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("the run permit could not be set")
    }
}

impl<E: core::fmt::Debug> core::error::Error for PinFault<E> {}

impl<P: OutputPin> Permit<P> {
    /// Takes the pin and sets it low.
    ///
    /// # Errors
    /// [`PinFault`]
    pub fn new(pin: P) -> Result<Self, PinFault<P::Error>> {
        let mut permit = Self {
            pin,
            state: PinState::Low,
        };
        permit.withdraw()?;
        Ok(permit)
    }

    /// Sets it high: a job has passed.
    ///
    /// # Errors
    /// [`PinFault`]; it is then set low again, as far as that can be done.
    pub fn grant(&mut self, _passed: Verified) -> Result<(), PinFault<P::Error>> {
        match self.pin.set_high() {
            Ok(()) => {
                self.state = PinState::High;
                Ok(())
            }
            Err(fault) => {
                // The first fault is the one to tell.
                let _ = self.withdraw();
                Err(PinFault(fault))
            }
        }
    }

    /// Sets it low: another job is loaded, or the one at hand is done.
    ///
    /// # Errors
    /// [`PinFault`]
    pub fn withdraw(&mut self) -> Result<(), PinFault<P::Error>> {
        self.pin.set_low().map_err(PinFault)?;
        self.state = PinState::Low;
        Ok(())
    }

    /// How it was last set.
    #[must_use]
    pub const fn state(&self) -> PinState {
        self.state
    }
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use embedded_hal::digital::{ErrorKind, ErrorType};

    use super::*;

    /// Keeps what it was set to, and fails at the calls that are told.
    #[derive(Debug, Default)]
    struct Pin {
        set: Vec<PinState>,
        failing: Vec<usize>,
        calls: usize,
    }

    impl Pin {
        fn call(&mut self, state: PinState) -> Result<(), ErrorKind> {
            self.calls += 1;
            if self.failing.contains(&self.calls) {
                return Err(ErrorKind::Other);
            }
            self.set.push(state);
            Ok(())
        }
    }

    impl ErrorType for &mut Pin {
        type Error = ErrorKind;
    }

    impl OutputPin for &mut Pin {
        fn set_low(&mut self) -> Result<(), ErrorKind> {
            self.call(PinState::Low)
        }

        fn set_high(&mut self) -> Result<(), ErrorKind> {
            self.call(PinState::High)
        }
    }

    #[test]
    fn it_is_low_until_a_job_passes_and_again_afterwards() {
        let mut pin = Pin::default();
        let mut permit = Permit::new(&mut pin).unwrap();
        assert_eq!(permit.state(), PinState::Low);
        permit.grant(Verified::for_tests()).unwrap();
        assert_eq!(permit.state(), PinState::High);
        permit.withdraw().unwrap();
        assert_eq!(permit.state(), PinState::Low);
        assert_eq!(pin.set, [PinState::Low, PinState::High, PinState::Low]);
    }

    #[test]
    fn a_pin_that_cannot_be_set_low_gives_no_permit() {
        let mut pin = Pin {
            failing: [1].into(),
            ..Pin::default()
        };
        assert_eq!(Permit::new(&mut pin).unwrap_err(), PinFault(ErrorKind::Other));
    }

    #[test]
    fn a_pin_that_fails_on_the_way_up_is_set_low() {
        let mut pin = Pin {
            failing: [2].into(),
            ..Pin::default()
        };
        let mut permit = Permit::new(&mut pin).unwrap();
        assert!(permit.grant(Verified::for_tests()).is_err());
        assert_eq!(permit.state(), PinState::Low);
        assert_eq!(pin.set, [PinState::Low, PinState::Low]);
    }

    /// What could not be set low is not said to be low.
    #[test]
    fn a_permit_that_cannot_be_withdrawn_says_so() {
        let mut pin = Pin {
            failing: [3].into(),
            ..Pin::default()
        };
        let mut permit = Permit::new(&mut pin).unwrap();
        permit.grant(Verified::for_tests()).unwrap();
        assert!(permit.withdraw().is_err());
        assert_eq!(permit.state(), PinState::High);
    }
}
