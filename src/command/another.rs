//! What moves say they were made for, where they are run on something else.

use std::path::Path;

use serde::Serialize;

use super::Said;

/// One thing that moves were made for and are not run on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Another {
    /// `log` or `mill` by its name, `setting` as it was chosen, or `log-shape`: the log as a stored job holds it.
    what: &'static str,
    /// What the moves name; none for a shape.
    made_for: Option<String>,
    /// What they are run on.
    run_on: String,
}

impl Another {
    /// The log and the mill that moves name, where they are run on others: warns of each.
    pub(super) fn named(
        path: &Path,
        made_for: &[Option<String>; 2],
        names: [Option<&str>; 2],
        said: &mut Said,
    ) -> Vec<Self> {
        let all = ["log", "mill"].into_iter().zip(made_for).zip(names);
        let others = all.filter_map(|((what, made_for), name)| {
            let (made_for, name) = (made_for.as_deref()?, name?);
            (made_for != name).then(|| Self {
                what,
                made_for: Some(made_for.to_owned()),
                run_on: name.to_owned(),
            })
        });
        let others: Vec<Self> = others.collect();
        for other in &others {
            said.warn(&format!(
                "{} was made for {} {}; it is run on {}",
                path.display(),
                other.what,
                other.made_for.as_deref().unwrap_or_default(),
                other.run_on
            ));
        }
        others
    }

    /// The setting that moves were made for, where the job tells another: warns of it.
    pub(super) fn setting(
        path: &Path,
        (made_for, told): (Option<&str>, Option<&str>),
        said: &mut Said,
    ) -> Option<Self> {
        let (made_for, told) = (made_for?, told?);
        if made_for == told {
            return None;
        }
        said.warn(&format!(
            "{} was made for a log that is set otherwise: {made_for}; in the job it is {told}, and it is run on that",
            path.display()
        ));
        Some(Self {
            what: "setting",
            made_for: Some(made_for.to_owned()),
            run_on: told.to_owned(),
        })
    }

    /// A log that is not as a stored job holds it: warns of it.
    pub(super) fn shape(path: &Path, name: &str, said: &mut Said) -> Self {
        said.warn(&format!(
            "{} holds another log shape than {name} has now; it is run on {name}",
            path.display()
        ));
        Self {
            what: "log-shape",
            made_for: None,
            run_on: name.to_owned(),
        }
    }
}
