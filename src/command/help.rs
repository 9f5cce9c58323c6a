//! `help`: tells about verbs, files and languages.

use super::{Done, Exit, Failure, Said};
use crate::cli::{Arguments, TOPICS, VERBS, Verb, overview, topic, verb, verb_help};
use crate::diagnostic::nearest;
use crate::input::{describe_key, key_paths};
use crate::{job, mill, yard};

/// The verb.
pub const VERB: Verb = Verb {
    name: "help",
    summary: "tell about a verb, or about job, mill, cut-plan or moves",
    operands: &["[VERB]", "[KEY]"],
    options: &[],
    about: "\
Tells what there is to know about a verb, or about the files: job, mill, cut-plan, moves. Of a job or a mill
profile also about one KEY of it and the keys within, by its path or its last word.",
    examples: &[
        "bunkside help plan",
        "bunkside help job",
        "bunkside help job log.sweep",
    ],
    run,
};

fn run(arguments: &Arguments, _said: &mut Said) -> Done {
    let Some(name) = arguments.operand(0) else {
        return Ok((Exit::Good, overview()));
    };
    let name = name.to_string_lossy();
    if let Some(key) = arguments.operand(1) {
        return Ok((Exit::Good, of_key(&name, &key.to_string_lossy())?));
    }
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

/// What there is to know about one key of a file.
fn of_key(file: &str, key: &str) -> Result<String, Failure> {
    let keys = match file {
        "job" => job::KEYS,
        "mill" => mill::KEYS,
        "order-file" => yard::KEYS,
        _ => {
            return Err(Failure::wrong(
                &format!("`{file}` has no keys"),
                "a job has, and a mill profile: `bunkside help job log.sweep`",
            ));
        }
    };
    let told = describe_key(keys, key);
    if told.is_empty() {
        let paths = key_paths(keys);
        let help = match nearest(key, paths.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("`bunkside help {file}` lists them"),
        };
        return Err(Failure::wrong(&format!("a {file} has no key `{key}`"), &help));
    }
    Ok(told)
}
