//! The command line: arguments in, texts and exit status out.
#![forbid(unsafe_code)]

use std::ffi::OsString;
use std::io::{ErrorKind, IsTerminal, Result, Write};
use std::process::ExitCode;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use bunkside::command::Exit;

fn main() -> ExitCode {
    let arguments: Vec<_> = std::env::args_os().skip(1).collect();
    let (done, working) = channel::<()>();
    if std::io::stderr().is_terminal() && searches(&arguments) {
        thread::spawn(move || tell_to_wait(&working));
    }
    let answer = bunkside::cli::run(&arguments);
    drop(done);
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
    matches!(verb, Some("plan" | "sequence")) && !arguments.iter().any(|one| one == "--by-habit")
}

/// Says that the program is still at work, where it is.
fn tell_to_wait(working: &Receiver<()>) {
    if working.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
        let _ = tell(
            std::io::stderr().lock(),
            "bunkside: looking for the fastest order of cuts; many narrow boards can take a minute or two (Ctrl-C ends it, \
             --by-habit looks for none)\n",
        );
    }
}

/// Writes a text to its end. A reader that goes away early, such as `head`, is no fault.
fn tell(mut to: impl Write, text: &str) -> Result<()> {
    match to.write_all(text.as_bytes()).and_then(|()| to.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}
