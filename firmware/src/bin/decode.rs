//! Turns what the image logs into text: `decode IMAGE < LOG`.
//!
//! One line for each message, `LEVEL text` for warnings and errors, the bare text for the rest.

use std::io::{Read, Write};
use std::process::ExitCode;

use defmt_decoder::{DecodeError, Table};

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("decode: {error}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args_os().nth(1).ok_or("name the image")?;
    let elf = std::fs::read(path)?;
    let table = Table::parse(&elf)?.ok_or("the image has no log table")?;
    let mut log = Vec::new();
    std::io::stdin().read_to_end(&mut log)?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(&log);
    let mut out = std::io::stdout().lock();
    loop {
        match decoder.decode() {
            Ok(frame) => {
                let text = frame.display_message().to_string();
                match frame.level().map(|level| level.as_str()) {
                    Some(level @ ("warn" | "error")) => writeln!(out, "{level} {text}")?,
                    _ => writeln!(out, "{text}")?,
                }
            }
            Err(DecodeError::UnexpectedEof) => return Ok(()),
            Err(DecodeError::Malformed) => return Err("the log holds bytes that are no message".into()),
        }
    }
}
