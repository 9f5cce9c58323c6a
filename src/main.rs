//! The command line: arguments in, texts and exit status out.
#![forbid(unsafe_code)]

use std::io::{ErrorKind, Result, Write};
use std::process::ExitCode;

use bunkside::command::Exit;

fn main() -> ExitCode {
    let arguments: Vec<_> = std::env::args_os().skip(1).collect();
    let answer = bunkside::cli::run(&arguments);
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

/// Writes a text to its end. A reader that goes away early, such as `head`, is no fault.
fn tell(mut to: impl Write, text: &str) -> Result<()> {
    match to.write_all(text.as_bytes()).and_then(|()| to.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}
