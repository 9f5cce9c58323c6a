//! What a controller does with jobs that are not what they were.

#[path = "../fixtures/mod.rs"]
mod fixtures;

use bunkside_firmware::{MakeError, OpenJob, Refusal, ReplanError, Rest, make, replan};
use bunkside_planner::audit::Verdict;
use bunkside_planner::replay::Setup;
use bunkside_protocol::job::{EncodeError, JobReader, decode_mill};
use bunkside_protocol::{Length, MillRecord, Move};
use fixtures::{DONE, Fixture, JOBS, PLAN, PLANNED, REST};

fn job(name: &str) -> &'static Fixture<'static> {
    JOBS.iter().find(|fixture| fixture.name == name).unwrap()
}

fn mill(fixture: &Fixture<'_>) -> MillRecord {
    decode_mill(fixture.mill).unwrap()
}

#[test]
fn leave_is_given_for_what_is_to_pass_and_nothing_else() {
    for fixture in JOBS {
        let mill = mill(fixture);
        let report = OpenJob::new(fixture.job, &mill).and_then(|job| job.judge());
        let leave = report.is_ok_and(|report| report.verified().is_some());
        assert_eq!(leave, fixture.passes, "{}", fixture.name);
    }
}

/// Any single damaged byte, any cut: refused before a rule is asked.
#[test]
fn no_damaged_job_is_opened() {
    let whole = job("g-04");
    let mill = mill(whole);
    for place in 0..whole.job.len() {
        for flip in [0x01, 0x80, 0xFF] {
            let mut bytes = whole.job.to_vec();
            bytes[place] ^= flip;
            let opened = OpenJob::new(&bytes, &mill).map(drop);
            assert!(
                matches!(opened, Err(Refusal::Bytes(_))),
                "byte {place}: {opened:?}"
            );
        }
        let opened = OpenJob::new(&whole.job[..place], &mill).map(drop);
        assert!(
            matches!(opened, Err(Refusal::Bytes(_))),
            "{place} bytes: {opened:?}"
        );
    }
}

#[test]
fn a_job_of_another_mill_is_not_judged() {
    let other = mill(job("p-07"));
    let opened = OpenJob::new(job("g-04").job, &other).map(drop);
    assert_eq!(opened, Err(Refusal::OtherMill));
    // A profile that differs in one number is another mill.
    let mut near = mill(job("g-04"));
    near.blade.hub += Length::um(1);
    assert_eq!(
        OpenJob::new(job("g-04").job, &near).map(drop),
        Err(Refusal::OtherMill)
    );
}

/// The bytes of a tampered job are whole: only the rules can tell, and they do.
#[test]
fn a_tampered_order_is_refused_by_the_rules_and_gives_no_leave() {
    let (whole, tampered) = (job("g-04"), job("g-04-tampered"));
    let mill = mill(whole);
    let report = OpenJob::new(whole.job, &mill).unwrap().judge().unwrap();
    // It unloads within an arm's reach of the turning blade.
    assert_eq!(report.verdict, Verdict::Warned);
    assert!(report.verified().is_some());
    let report = OpenJob::new(tampered.job, &mill).unwrap().judge().unwrap();
    assert_eq!(report.verdict, Verdict::Refused);
    assert_eq!(report.findings[0].rule, "free-piece");
    assert_eq!(report.verified(), None);
}

#[test]
fn a_plan_that_does_not_fit_its_buffer_says_so() {
    let mill = mill(PLANNED);
    let stored = JobReader::open(PLANNED.job).unwrap();
    let setup = Setup::new(&mill, stored.log()).unwrap();
    for room in 0..PLANNED.job.len() {
        let made = make(&setup, &PLAN, &mut vec![0; room]);
        assert_eq!(made, Err(MakeError::Store(EncodeError::Full)), "{room} bytes");
    }
}

/// After any number of moves: what comes of it begins with those that are done and is refused by no rule, and a layout is worth no
/// more than its bound.
#[test]
fn what_stands_is_laid_out_again_and_never_refused() {
    let mill = mill(PLANNED);
    let stored = JobReader::open(PLANNED.job).unwrap();
    let setup = Setup::new(&mill, stored.log()).unwrap();
    let old: Vec<Move> = stored.moves().map(Result::unwrap).collect();
    let (mut made, mut none, mut worth, mut bound) = (0, 0, 0, 0);
    for done in 0..=u16::try_from(old.len()).unwrap() {
        let mut bytes = vec![0; 4096];
        match replan(&setup, &old.iter().copied(), done, &REST, &mut bytes) {
            Ok(came) => {
                assert!(came.done >= done && came.worth <= came.bound, "{done}: {came:?}");
                // The one that the image lays out.
                assert!(done != DONE || came.worth == came.bound, "{came:?}");
                let job = OpenJob::new(&bytes[..came.made.len], &mill).unwrap();
                let moves: Vec<Move> = job.stored().moves().map(Result::unwrap).collect();
                let kept = usize::from(came.done);
                assert_eq!(moves[..kept], old[..kept], "{done}");
                assert_ne!(job.judge().unwrap().verdict, Verdict::Refused, "{done}");
                made += 1;
                (worth, bound) = (worth + came.worth, bound + came.bound);
            }
            Err(ReplanError::NothingFits | ReplanError::NoWay) => none += 1,
            Err(error) => panic!("{done}: {error}"),
        }
    }
    // With rot all along and one deck wanted; where little stands, nothing fits.
    assert!(made > 2 * none && none > 0, "{made} {none}");
    println!("{made} jobs worth {worth} of {bound}, {none} times none");
}

/// What a controller is told wrongly, or has no memory for, is told.
#[test]
fn what_cannot_be_laid_out_again_is_told() {
    let mill = mill(PLANNED);
    let stored = JobReader::open(PLANNED.job).unwrap();
    let setup = Setup::new(&mill, stored.log()).unwrap();
    let old: Vec<Move> = stored.moves().map(Result::unwrap).collect();
    let came = |moves: &[Move], done, rest: &Rest<'_>, room| {
        replan(&setup, &moves.iter().copied(), done, rest, &mut vec![0; room])
    };
    assert_eq!(
        came(&old, 30, &REST, 100).unwrap_err(),
        ReplanError::Store(EncodeError::Full)
    );
    // No step that is tried is as coarse as would be needed.
    let fine = Rest {
        step: Length::um(100),
        ..REST
    };
    assert_eq!(came(&old, 0, &fine, 4096).unwrap_err(), ReplanError::Full);
    let nothing = Rest { wanted: &[], ..REST };
    assert_eq!(
        came(&old, 30, &nothing, 4096).unwrap_err(),
        ReplanError::NothingFits
    );
    // A stroke that ends in the log.
    let cut = old.iter().position(|told| matches!(told, Move::Cut(_))).unwrap();
    let mut short = old.clone();
    if let Move::Cut(cut) = &mut short[cut] {
        cut.to.travel = Some(bunkside_protocol::Position::mm(2_000));
    }
    let done = u16::try_from(cut).unwrap() + 1;
    assert_eq!(
        came(&short, done, &REST, 4096).unwrap_err(),
        ReplanError::InTheLog
    );
}
