//! `rules`: what the auditor holds every sequence to.

use bunkside_planner::rules::{RULES, Rule, by_id};
use serde::Serialize;

use super::{Done, Exit, Failure, JSON, Said, json};
use crate::account::table::wrapped;
use crate::account::wanted::{ALONE, STOP, STRESS};
use crate::cli::{Arguments, Verb};
use crate::diagnostic::nearest;

/// The verb.
pub const VERB: Verb = Verb {
    name: "rules",
    summary: "the rules every sequence is held to, with reason and basis",
    operands: &["[ID]"],
    options: &[JSON],
    about: "\
Lists the interlock rules: what each one holds, why it is there, and what it rests on. With the id of a rule,
only that one. The limits come from the mill profile.",
    examples: &["bunkside rules", "bunkside rules reach"],
    run,
};

#[derive(Serialize)]
struct Report {
    format: &'static str,
    version: u32,
    rules: Vec<RuleEntry>,
}

#[derive(Serialize)]
struct RuleEntry {
    number: u8,
    id: &'static str,
    title: &'static str,
    reason: &'static str,
    basis: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    except: Option<&'static str>,
}

/// What a rule lets pass although its title reads otherwise.
fn except(id: &str) -> Option<&'static str> {
    match id {
        "flat-first" => Some(
            "two columns or more that one flat stroke frees together, a stroke that the moves call a release, and the board on the \
             bed, which bed-board wants edged first; inner columns may be cut either way",
        ),
        _ => None,
    }
}

impl From<&Rule> for RuleEntry {
    fn from(rule: &Rule) -> Self {
        Self {
            number: rule.number,
            id: rule.id,
            title: rule.title,
            reason: rule.reason,
            basis: rule.basis.to_string(),
            except: except(rule.id),
        }
    }
}

fn run(arguments: &Arguments, _said: &mut Said) -> Done {
    let chosen = match arguments.operand(0) {
        None => RULES.iter().map(RuleEntry::from).collect(),
        Some(id) => vec![RuleEntry::from(find(&id.to_string_lossy())?)],
    };
    let report = Report {
        format: "bunkside-rules",
        version: 1,
        rules: chosen,
    };
    let out = if arguments.has(&JSON) {
        json(&report)
    } else {
        let rules: Vec<String> = report.rules.iter().map(text).collect();
        rules.join("\n")
    };
    Ok((Exit::Good, out))
}

fn find(id: &str) -> Result<&'static Rule, Failure> {
    by_id(id).ok_or_else(|| {
        let help = match nearest(id, RULES.iter().map(|rule| rule.id)) {
            _ if [STRESS, STOP, ALONE].contains(&id) => {
                "moves are held under this name against what a job asks for: see `bunkside help audit`"
                    .to_owned()
            }
            Some(meant) => format!("did you mean `{meant}`?"),
            None => "`bunkside rules` lists them".to_owned(),
        };
        Failure::wrong(&format!("no rule is called `{id}`"), &help)
    })
}

fn text(rule: &RuleEntry) -> String {
    let except = rule.except.map(|words| wrapped("    but:   ", words, 100));
    format!(
        "{}: {}\n    why:   {}\n    basis: {}\n{}",
        rule.id,
        rule.title,
        rule.reason,
        rule.basis,
        except.unwrap_or_default()
    )
}
