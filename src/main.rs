//! The command line: arguments in, texts and exit status out.
#![forbid(unsafe_code)]

use std::ffi::OsString;
use std::io::{ErrorKind, IsTerminal, Result, Write};
use std::process::ExitCode;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use bunkside::command::{Exit, at_work};

fn main() -> ExitCode {
    let arguments: Vec<_> = std::env::args_os().skip(1).collect();
    let (done, working) = channel::<()>();
    if std::io::stderr().is_terminal() && searches(&arguments) {
        let words = if arguments.iter().any(|one| one == "--others") {
            "bunkside: looking for the fastest order of cuts of each layout; many narrow boards can take minutes (Ctrl-C ends it)\n"
        } else {
            "bunkside: looking for the fastest order of cuts; many narrow boards can take a minute or two (Ctrl-C ends it, \
             --by-habit looks for none)\n"
        };
        thread::spawn(move || tell_to_wait(&working, words));
    }
    let progress = may_be_stopped(&arguments).then(|| {
        stops_with_what_there_is();
        tells_how_far_it_is()
    });
    let answer = bunkside::cli::run(&arguments);
    drop(done);
    if let Some((finished, telling)) = progress {
        drop(finished);
        let _ = telling.join();
    }
    // Where nothing can be said of it, the status tells at least.
    let said = tell(std::io::stderr().lock(), &answer.said);
    let told = tell(std::io::stdout().lock(), &answer.out);
    let Err(error) = told.and(said) else {
        return ExitCode::from(answer.exit.status());
    };
    let message = format!(
        "bunkside: not all that is to be told could be written: {error}\n    \
         help: look at where the output goes: a full disk, or a file that may not be written\n"
    );
    let _ = tell(std::io::stderr().lock(), &message);
    let exit = match answer.exit {
        Exit::Good => Exit::BadInput,
        failed => failed,
    };
    ExitCode::from(exit.status())
}

/// How long nothing is said to somebody who waits.
const PATIENCE: Duration = Duration::from_secs(5);

/// Whether a line may look for the order of cuts for long.
fn searches(arguments: &[OsString]) -> bool {
    let verb = arguments.first().and_then(|verb| verb.to_str());
    let has = |option: &str| arguments.iter().any(|one| one == option);
    match verb {
        Some("plan" | "sequence") => !has("--by-habit"),
        Some("layout") => has("--others"),
        _ => false,
    }
}

/// Whether a line asks for what may be stopped at any time, with what there is then.
fn may_be_stopped(arguments: &[OsString]) -> bool {
    arguments
        .iter()
        .find(|one| *one != "--json")
        .is_some_and(|verb| verb == "order")
}

/// Ctrl-C ends a search with the best so far; a second one ends the program.
fn stops_with_what_there_is() {
    let _ = ctrlc::set_handler(|| {
        if at_work::STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
        let words = "\nbunkside: ending with the best so far; Ctrl-C once more ends at once\n";
        let _ = tell(std::io::stderr().lock(), words);
    });
}

/// How soon it is told how far a search is, and how often on a terminal and elsewhere.
const FIRST: Duration = Duration::from_millis(1_000);
const OFTEN: Duration = Duration::from_millis(300);
const SELDOM: Duration = Duration::from_secs(5);

/// Says how far a search is as long as it lasts: on a terminal in one line, elsewhere in a line now and then.
fn tells_how_far_it_is() -> (std::sync::mpsc::Sender<()>, JoinHandle<()>) {
    let (finished, working) = channel::<()>();
    let telling = thread::spawn(move || {
        let terminal = std::io::stderr().is_terminal();
        let (mut before, mut last) = (String::new(), Instant::now());
        let mut wait = FIRST;
        while working.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
            wait = OFTEN;
            let line = at_work::told();
            let due = terminal || before.is_empty() || last.elapsed() >= SELDOM;
            if line.is_empty() || line == before || !due {
                continue;
            }
            let shown = if terminal {
                format!("\r\x1b[K{line}")
            } else {
                format!("bunkside: {line}\n")
            };
            let _ = tell(std::io::stderr().lock(), &shown);
            (before, last) = (line, Instant::now());
        }
        if terminal && !before.is_empty() {
            let _ = tell(std::io::stderr().lock(), "\r\x1b[K");
        }
    });
    (finished, telling)
}

/// Says that the program is still at work, where it is.
fn tell_to_wait(working: &Receiver<()>, words: &str) {
    if working.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
        let _ = tell(std::io::stderr().lock(), words);
    }
}

/// Writes a text to its end. A reader that goes away early, such as `head`, is no fault.
fn tell(mut to: impl Write, text: &str) -> Result<()> {
    match to.write_all(text.as_bytes()).and_then(|()| to.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}
