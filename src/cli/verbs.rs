//! The verbs, in the order that help lists them.

use super::Verb;
use crate::command::{audit, dry_run, explain, export, help, layout, order, plan, rules, sequence};

/// Every verb.
pub static VERBS: &[Verb] = &[
    plan::VERB,
    layout::VERB,
    order::VERB,
    sequence::VERB,
    audit::VERB,
    dry_run::VERB,
    explain::VERB,
    export::VERB,
    rules::VERB,
    help::VERB,
];
