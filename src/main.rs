//! The command line: arguments in, texts and exit status out.
#![forbid(unsafe_code)]

use std::io::Write;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<_> = std::env::args_os().skip(1).collect();
    let answer = bunkside::cli::run(&arguments);
    // A reader that goes away early, such as `head`, is no fault.
    let _ = std::io::stderr().lock().write_all(answer.said.as_bytes());
    let _ = std::io::stdout().lock().write_all(answer.out.as_bytes());
    ExitCode::from(answer.exit.status())
}
