//! `help`: tells about verbs, files and languages.

use super::{Done, Exit, Failure, Said};
use crate::cli::{Arguments, TOPICS, VERBS, Verb, overview, topic, verb, verb_help};
use crate::diagnostic::nearest;

/// The verb.
pub const VERB: Verb = Verb {
    name: "help",
    summary: "tell about a verb, or about job, mill, cut-plan or moves",
    operands: &["[VERB]"],
    options: &[],
    about: "\
Tells what there is to know about a verb, or about the files: job, mill, cut-plan, moves.",
    examples: &["bunkside help plan", "bunkside help job"],
    run,
};

fn run(arguments: &Arguments, _said: &mut Said) -> Done {
    let Some(name) = arguments.operand(0) else {
        return Ok((Exit::Good, overview()));
    };
    let name = name.to_string_lossy();
    let text = verb(&name).map(verb_help).or_else(|| topic(&name));
    let text = text.ok_or_else(|| {
        let names = VERBS.iter().map(|verb| verb.name);
        let names = names.chain(TOPICS.iter().map(|topic| topic.name));
        let help = match nearest(&name, names) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => "`bunkside help` lists what there is".to_owned(),
        };
        Failure::wrong(&format!("there is no help on `{name}`"), &help)
    })?;
    Ok((Exit::Good, text))
}
