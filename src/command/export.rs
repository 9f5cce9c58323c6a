//! `export`: a move sequence as a stored job, as Intel HEX, or as JSON.

use bunkside_planner::audit::Verdict;
use bunkside_protocol::job::{JobParts, JobReader, mill_digest};

use super::subject::{JOB, LOG, MILL, Subject};
use super::{Done, Exit, Failure, Said, files};
use crate::account::findings::{self, verdict_words};
use crate::cli::{Arguments, Opt, Verb};
use crate::diagnostic::nearest;
use crate::export::{Figures, binary, hex, json};
use crate::trace::Trace;

/// Which form.
pub const AS: Opt = Opt {
    long: "as",
    short: None,
    value: Some("FORM"),
    about: "binary (the stored job), hex (the same as Intel HEX) or json (to look at)",
};

/// Where it goes.
pub const FILE: Opt = Opt {
    long: "output",
    short: Some('o'),
    value: Some("FILE"),
    about: "the file to write; hex and json are printed if left out",
};

/// The verb.
pub const VERB: Verb = Verb {
    name: "export",
    summary: "a move sequence as a stored job, Intel HEX or JSON",
    operands: &["MOVES"],
    options: &[JOB, MILL, LOG, AS, FILE],
    about: "\
Writes a move sequence in the form a controller or a programmer takes. It is audited first: what the rules
refuse is not handed to a machine, and can only be looked at, as json. MOVES, --job, --mill and --log are
those of `bunkside audit`. Tells how many bytes it took, for each move, cut and freed piece.",
    examples: &["bunkside export out/moves.json --job examples/jobs/g-04.toml --as hex -o out/moves.hex"],
    run,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Binary,
    Hex,
    Json,
}

const FORMS: [(&str, Form); 3] = [("binary", Form::Binary), ("hex", Form::Hex), ("json", Form::Json)];

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let form = form(arguments)?;
    let output = arguments.path(&FILE);
    if form == Form::Binary && output.is_none() {
        return Err(Failure::wrong(
            "a stored job is no text to print",
            "name a file: -o FILE",
        ));
    }
    let subject = Subject::read(arguments, said)?;
    let setup = subject.setup()?;
    let trace = Trace::run(&setup, &subject.moves);
    if trace.verdict == Verdict::Refused && form != Form::Json {
        let text = format!(
            "bunkside: not exported, {}\n{}    help: `bunkside audit` tells more; --as json shows the moves all the same\n",
            verdict_words(trace.verdict, &trace.findings),
            findings::text(&trace.findings, subject.system, 4)
        );
        return Err(Failure::ended(Exit::Refused, text));
    }
    let bytes = stored(&subject)?;
    let job = JobReader::open(&bytes).map_err(|error| our_fault(&error.to_string()))?;
    let written = match form {
        Form::Binary => bytes.clone(),
        Form::Hex => hex(&bytes, 0)
            .map_err(|error| our_fault(&error.to_string()))?
            .into_bytes(),
        Form::Json => json(&job)
            .map_err(|error| our_fault(&error.to_string()))?
            .into_bytes(),
    };
    let figures = Figures::of(&job).map_err(|error| our_fault(&error.to_string()))?;
    let pieces: u32 = trace
        .moves
        .iter()
        .map(|traced| traced.freed.iter().map(|_| 1).sum::<u32>())
        .sum();
    let per_piece = figures.code_bytes_per(pieces);
    let per_piece = per_piece
        .map(|each| format!(", {each:.2} a freed piece"))
        .unwrap_or_default();
    let figures = format!("{figures}{per_piece}\n");
    match output {
        Some(path) => {
            files::write(path, &written)?;
            Ok((Exit::Good, format!("{}: {figures}", path.display())))
        }
        None => {
            said.aside(&figures);
            Ok((Exit::Good, String::from_utf8_lossy(&written).into_owned()))
        }
    }
}

fn form(arguments: &Arguments) -> Result<Form, Failure> {
    let names = FORMS.map(|(name, _)| name);
    let list = names.join(", ");
    let Some(told) = arguments.value(&AS) else {
        return Err(Failure::wrong(
            "no form is named",
            &format!("add --as with one of {list}"),
        ));
    };
    let told = told.to_string_lossy();
    let found = FORMS.iter().find(|(name, _)| *name == told);
    found.map(|(_, form)| *form).ok_or_else(|| {
        let help = match nearest(&told, names) {
            Some(meant) => format!("did you mean {meant}? The forms are {list}"),
            None => format!("the forms are {list}"),
        };
        Failure::wrong(&format!("no form is called `{told}`"), &help)
    })
}

fn stored(subject: &Subject) -> Result<Vec<u8>, Failure> {
    let parts = JobParts {
        mill: mill_digest(&subject.mill),
        grid: subject.mill.grid,
        log: &subject.log,
        moves: &subject.moves,
        key: None,
    };
    binary(&parts).map_err(|error| {
        Failure::wrong(
            &format!("the moves cannot be stored: {error}"),
            &format!("every target lies on the mill's grid of {}", subject.mill.grid),
        )
    })
}

fn our_fault(error: &str) -> Failure {
    let text = format!("bunkside: {error}\n    This is a fault of Bunkside; please report it.\n");
    Failure::ended(Exit::Refused, text)
}
