//! `export`: a move sequence as a stored job, as Intel HEX, or as JSON.

use std::fs;
use std::path::Path;

use bunkside_planner::audit::Verdict;
use bunkside_protocol::job::{JobParts, JobReader, mill_digest};
use serde::Serialize;

use super::another::Another;
use super::kind::Kind;
use super::subject::{JOB, LOG, MILL, Subject};
use super::{Done, Exit, Failure, JSON, Said, files, json as json_of};
use crate::account::findings::{self, second_person_cuts, second_person_words, verdict_word, verdict_words};
use crate::caution::CAUTION;
use crate::cli::{Arguments, Opt, Verb};
use crate::diagnostic::nearest;
use crate::export::{Figures, binary, hex, json};

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

/// That moves of another log are meant for this one.
pub const OF_ANOTHER: Opt = Opt {
    long: "of-another",
    short: None,
    value: None,
    about: "also moves that were made for another log or mill, or for another shape of the log",
};

/// The verb.
pub const VERB: Verb = Verb {
    name: "export",
    summary: "a move sequence as a stored job, Intel HEX or JSON",
    operands: &["MOVES"],
    options: &[JOB, MILL, LOG, AS, FILE, OF_ANOTHER, JSON],
    about: "\
Writes a move sequence in the form a controller or a programmer takes. It is audited first: what the rules
refuse is not handed to a machine, and can only be looked at, as json; nor are moves that say they were made
for another log or mill, unless --of-another tells that they are meant. MOVES, --job, --mill and --log are
those of `bunkside audit`. Tells how many bytes it took, for each move, cut and freed piece; with --json to
programs, which needs a file to write. What was exported, in any form, is read again by audit, dry-run, explain
and export. protocol/WIRE.md, among the sources, says the stored job byte by byte.",
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
    let form = form(arguments).map_err(|formless| what_lacks(formless, arguments, said))?;
    let output = arguments.path(&FILE);
    if form == Form::Binary && output.is_none() {
        return Err(Failure::wrong(
            "a stored job is no text to print",
            "name a file: -o FILE",
        ));
    }
    if arguments.has(&JSON) && output.is_none() {
        return Err(Failure::wrong(
            "--json tells what was written, and no file is named",
            "name a file: -o FILE; --as json shows the moves themselves",
        ));
    }
    let subject = Subject::read(arguments, said)?;
    if let Some(path) = output {
        spared(path, arguments)?;
    }
    if !subject.made_for_another.is_empty() && form != Form::Json && !arguments.has(&OF_ANOTHER) {
        return Err(Failure::wrong(
            "not exported, these moves were made for another log or mill",
            "name the job they were made for, or plan this log anew; --of-another exports them all the same",
        ));
    }
    let setup = subject.setup()?;
    let trace = subject.judged(&setup);
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
    let written = in_form(form, &bytes, &job)?;
    let figures = Figures::of(&job).map_err(|error| our_fault(&error.to_string()))?;
    let pieces: usize = trace.moves.iter().map(|traced| traced.freed.len()).sum();
    let made = Made {
        form,
        figures,
        pieces: u32::try_from(pieces).unwrap_or(u32::MAX),
        bytes: written.len(),
        second: second_person_cuts(&trace.findings),
        made_for_another: subject.made_for_another,
    };
    let Some(path) = output else {
        said.aside(&format!("{}\n", made.words()));
        return Ok((Exit::Good, String::from_utf8_lossy(&written).into_owned()));
    };
    files::write(path, &written)?;
    let out = if arguments.has(&JSON) {
        json_of(&made.report(path, trace.verdict))
    } else {
        format!("{}: {}\n", path.display(), made.words())
    };
    Ok((Exit::Good, out))
}

/// A stored job in the form that is asked for.
fn in_form(form: Form, bytes: &[u8], job: &JobReader<'_>) -> Result<Vec<u8>, Failure> {
    Ok(match form {
        Form::Binary => bytes.to_vec(),
        Form::Hex => hex(bytes, 0)
            .map_err(|error| our_fault(&error.to_string()))?
            .into_bytes(),
        Form::Json => json(job)
            .map_err(|error| our_fault(&error.to_string()))?
            .into_bytes(),
    })
}

/// Refuses to write over what the command line reads, and over all that is no moves: a job, a mill profile, a cut plan, a picture.
fn spared(path: &Path, arguments: &Arguments) -> Result<(), Failure> {
    let named = [&JOB, &MILL, &LOG].map(|option| arguments.path(option));
    let read = named
        .into_iter()
        .flatten()
        .chain(arguments.operand(0).map(Path::new));
    let same = |other: &Path| match (fs::canonicalize(path), fs::canonicalize(other)) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    };
    let shown = path.display();
    if read.into_iter().any(same) {
        return Err(Failure::wrong(
            &format!("{shown} is read by this very line, and would be written over"),
            "name another file behind -o",
        ));
    }
    let stands = fs::metadata(path).is_ok_and(|found| found.is_file());
    let kind = stands.then(|| files::bytes(path)).transpose()?;
    let Some(bytes) = kind else { return Ok(()) };
    let what = match Kind::of(&bytes) {
        Some(Kind::Moves | Kind::Stored | Kind::Hex | Kind::Empty) => return Ok(()),
        Some(kind) => kind.to_string(),
        None => "something else than moves".to_owned(),
    };
    Err(Failure::wrong(
        &format!("{shown} is {what}, which would be written over"),
        "name another file behind -o, or move that one away",
    ))
}

/// What was made.
struct Made {
    form: Form,
    figures: Figures,
    pieces: u32,
    bytes: usize,
    /// At how many cuts a second person is needed.
    second: usize,
    /// What the moves say they were made for, where that is something else.
    made_for_another: Vec<Another>,
}

/// What was written, for programs.
#[derive(Serialize)]
struct Report {
    format: &'static str,
    version: u32,
    verdict: &'static str,
    #[serde(rename = "as")]
    form: &'static str,
    file: String,
    bytes: usize,
    job_bytes: usize,
    code_bytes: u32,
    moves: u32,
    cuts: u32,
    pieces: u32,
    second_person_cuts: usize,
    made_for_another: Vec<Another>,
    code_bytes_per_move: Option<f64>,
    code_bytes_per_cut: Option<f64>,
    code_bytes_per_piece: Option<f64>,
    caution: &'static str,
}

impl Made {
    /// How long it is, and what the stored job takes.
    fn words(&self) -> String {
        let per_piece = self.figures.code_bytes_per(self.pieces);
        let per_piece = per_piece
            .map(|each| format!(", {each:.2} a freed piece"))
            .unwrap_or_default();
        let figures = format!("{}{per_piece}", self.figures);
        let figures = match self.form {
            Form::Binary => figures,
            Form::Hex | Form::Json => format!("{} bytes; the stored job has {figures}", self.bytes),
        };
        match second_person_words(self.second) {
            Some(words) => format!("{figures}\n{words}"),
            None => figures,
        }
    }

    fn report(&self, path: &Path, verdict: Verdict) -> Report {
        let figures = &self.figures;
        let named = FORMS.iter().find(|(_, form)| *form == self.form);
        Report {
            format: "bunkside-export",
            version: 1,
            verdict: verdict_word(verdict),
            form: named.map_or("", |(name, _)| name),
            file: path.to_string_lossy().into_owned(),
            bytes: self.bytes,
            job_bytes: figures.bytes,
            code_bytes: figures.code_bytes,
            moves: figures.moves,
            cuts: figures.cuts,
            pieces: self.pieces,
            second_person_cuts: self.second,
            made_for_another: self.made_for_another.clone(),
            code_bytes_per_move: figures.code_bytes_per(figures.moves),
            code_bytes_per_cut: figures.code_bytes_per(figures.cuts),
            code_bytes_per_piece: figures.code_bytes_per(self.pieces),
            caution: CAUTION,
        }
    }
}

/// Where no form is named: that there are no moves to export, if that is so, stands in the way first.
fn what_lacks(formless: Failure, arguments: &Arguments, said: &mut Said) -> Failure {
    let read = match arguments.value(&AS) {
        Some(_) => None,
        None => Subject::read(arguments, said).err(),
    };
    read.unwrap_or(formless)
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
