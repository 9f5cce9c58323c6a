//! Jobs that share all but their log.

use std::path::Path;

use toml::de::DeTable;

use super::{Job, board, finish, in_inches, lower, mill_of};
use crate::diagnostic::{Diagnostic, Source, any_error};
use crate::input::{self, Node};
use crate::mill::Profile;

/// Reads one log of several by its table, the mill read already; also what was read. Places are those of the text.
pub(crate) fn read_one(
    text: &str,
    keys: &'static [input::Key],
    table: &DeTable<'_>,
    mill: Option<Profile>,
) -> (Option<Job>, Node, Vec<Diagnostic>) {
    let (root, mut said) = input::held(text, keys, table, false);
    let finish = finish::finish(&root, &mut said);
    let boards = board::boards(&root, finish.as_ref(), &mut said);
    let wanted = boards.map(|boards| (boards, finish));
    let length = table.get("log").and_then(|log| log.get_ref().get("length"));
    let written = length.and_then(|length| length.get_ref().as_str());
    let inches = in_inches(written.unwrap_or_default(), root.word("unit"));
    for key in ["setting.level", "setting.offset", "setting.turn"] {
        let best = root.get(key).filter(|_| root.word(key) == Some("best"));
        said.extend(best.map(|node| {
            let message = "how logs are set is not chosen for an order over many of them";
            let help = "write a figure here; to have it chosen for one log, plan that log by itself";
            Diagnostic::error(node.span, message).with_help(help)
        }));
    }
    let job = lower::job(&root, mill, wanted, inches, &mut said).filter(|_| !any_error(&said));
    (job, root, said)
}

/// The mill of a file that names it or holds it, and its profile as text where that stands by itself.
pub(crate) fn read_mill(
    source: &Source,
    keys: &'static [input::Key],
    table: &DeTable<'_>,
    load: &dyn Fn(&Path) -> std::io::Result<String>,
    reports: &mut Vec<(Source, Vec<Diagnostic>)>,
) -> (Option<Profile>, Vec<Diagnostic>) {
    let (root, mut said) = input::held(&source.text, keys, table, false);
    let mill = mill_of(source, &root, &mut said, load, reports);
    (mill, said)
}
