//! The image for the emulated board: judges the jobs it was given, makes a job from a cut plan, and says what came of
//! it. It ends with status 0 where every job met the fate it was to meet, and 1 otherwise.
#![no_std]
#![no_main]

mod board;
#[path = "../../../fixtures/mod.rs"]
mod fixtures;
mod log;

use bunkside_firmware::{OpenJob, Permit, Report, make, replan};
use bunkside_planner::replay::Setup;
use bunkside_protocol::MillRecord;
use bunkside_protocol::job::{JobReader, decode_mill};
use cortex_m as _; // its critical section
use cortex_m_semihosting::debug::{EXIT_FAILURE, EXIT_SUCCESS, exit};
use defmt_semihosting as _;
use embedded_hal::digital::StatefulOutputPin;

use board::{Clock, Lamp};
use fixtures::{DONE, Fixture, JOBS, PLAN, PLANNED, REST};

/// Room for the job that the cut plan becomes, or what stands of its log.
const MADE_MAX: usize = 2048;

#[cortex_m_rt::entry]
fn main() -> ! {
    let clock = Clock::start();
    let judged = JOBS.iter().filter(|fixture| judge(&clock, fixture)).count();
    let made = remake(&clock);
    log::stack("judging", board::stack_used());
    let again = lay_out_again(&clock);
    log::stack("replanning", board::stack_used());
    end(judged == JOBS.len() && made && again)
}

/// Judges one job; answers whether it met its fate.
#[inline(never)]
fn judge(clock: &Clock, fixture: &Fixture<'_>) -> bool {
    let Ok(mut permit) = Permit::new(Lamp::take());
    let report = report(clock, fixture);
    let verified = report.as_ref().and_then(Report::verified);
    if let Some(verified) = verified {
        let Ok(()) = permit.grant(verified);
    }
    // Read back from the board, not from what was meant.
    let Ok(high) = Lamp::take().is_set_high();
    log::permit(fixture.name, high);
    high == fixture.passes
}

#[inline(never)]
fn report(clock: &Clock, fixture: &Fixture<'_>) -> Option<Report> {
    let name = fixture.name;
    let Ok(mill) = decode_mill(fixture.mill) else {
        log::failed("a mill profile cannot be read");
        return None;
    };
    let (opened, opening) = clock.instructions(|| OpenJob::new(fixture.job, &mill));
    let job = opened.inspect_err(|refusal| log::refused(name, refusal)).ok()?;
    log::opened(name, job.stored().header().move_count, fixture.job.len());
    let (judged, judging) = clock.instructions(|| job.judge());
    let report = judged.inspect_err(|refusal| log::refused(name, refusal)).ok()?;
    log::judged(name, &report);
    log::spent("opening", name, opening, report.cuts);
    log::spent("judging", name, judging, report.cuts);
    Some(report)
}

/// Makes a job from the cut plan; answers whether it has the very bytes that the host made of the same plan.
#[inline(never)]
fn remake(clock: &Clock) -> bool {
    let (Ok(mill), Ok(stored)) = (decode_mill(PLANNED.mill), JobReader::open(PLANNED.job)) else {
        log::failed("the planned job cannot be read");
        return false;
    };
    let Ok(setup) = Setup::new(&mill, stored.log()) else {
        log::failed("the planned log cannot be used");
        return false;
    };
    let mut bytes = [0; MADE_MAX];
    let (result, spent) = clock.instructions(|| make(&setup, &PLAN, &mut bytes));
    match result {
        Ok(made) => {
            let same = bytes.get(..made.len) == Some(PLANNED.job);
            log::made(PLANNED.name, &made, same);
            let cuts = stored
                .moves()
                .flatten()
                .filter(|told| matches!(told, bunkside_protocol::Move::Cut(_)));
            log::spent(
                "making",
                PLANNED.name,
                spent,
                u16::try_from(cuts.count()).unwrap_or(u16::MAX),
            );
            same
        }
        Err(_) => {
            log::failed("the plan could not be made into a job");
            false
        }
    }
}

/// Lays out what stands after some moves; answers whether what comes of it passes.
#[inline(never)]
fn lay_out_again(clock: &Clock) -> bool {
    let (Ok(mill), Ok(stored)) = (decode_mill(PLANNED.mill), JobReader::open(PLANNED.job)) else {
        log::failed("the job that was begun cannot be read");
        return false;
    };
    let mut bytes = [0; MADE_MAX];
    let Some(len) = again(clock, &mill, &stored, &mut bytes) else {
        return false;
    };
    let fixture = Fixture {
        name: "g-04-again",
        mill: PLANNED.mill,
        job: bytes.get(..len).unwrap_or(&[]),
        passes: true,
    };
    judge(clock, &fixture)
}

#[inline(never)]
fn again(clock: &Clock, mill: &MillRecord, stored: &JobReader<'_>, bytes: &mut [u8]) -> Option<usize> {
    let Ok(setup) = Setup::new(mill, stored.log()) else {
        log::failed("the log that was begun cannot be used");
        return None;
    };
    let moves = stored.moves().flatten();
    let (came, spent) = clock.instructions(|| replan(&setup, &moves, DONE, &REST, bytes));
    match came {
        Ok(came) => {
            log::replanned(&came);
            log::spent("replanning", PLANNED.name, spent, 1);
            Some(came.made.len)
        }
        Err(error) => {
            log::not_replanned(&error);
            None
        }
    }
}

/// Ends the emulation.
fn end(good: bool) -> ! {
    let status = if good { EXIT_SUCCESS } else { EXIT_FAILURE };
    loop {
        exit(status);
    }
}

#[panic_handler]
fn panicked(info: &core::panic::PanicInfo<'_>) -> ! {
    match info.location() {
        Some(at) => defmt::error!("panicked at {=str}, line {=u32}", at.file(), at.line()),
        None => log::failed("panicked"),
    }
    end(false)
}
