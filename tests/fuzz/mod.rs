//! What must hold whatever bytes come in: [`moves`] for the replay and the rules, [`texts`] for all that is read.
//!
//! A fuzzer that is guided by coverage feeds both (`tests/campaign fuzz`); the inputs in `corpus/` are what it found worth
//! keeping, the longer and the odder first, and every run of the tests reads them all again.

pub(crate) mod moves;
pub(crate) mod texts;

use bunkside::diagnostic::Source;
use bunkside::mill::{self, Profile};

/// A mill's profile, as a file.
pub(crate) fn mill_text(name: &str) -> Option<&'static str> {
    match name {
        "powered-165" => Some(include_str!("../../examples/mills/powered-165.toml")),
        "hand-150" => Some(include_str!("../../examples/mills/hand-150.toml")),
        _ => None,
    }
}

pub(crate) fn profile(name: &str) -> Profile {
    let text = mill_text(name).expect("a mill of the examples");
    mill::read(&Source::new(name, text)).0.expect("a good mill")
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::Path;

    use bunkside_planner::audit::Verdict;

    use super::{moves, texts};

    fn corpus(name: &str) -> Vec<Vec<u8>> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/fuzz/corpus")
            .join(name);
        let files = fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        let read = files.map(|file| fs::read(file.unwrap().path()).unwrap());
        read.collect()
    }

    #[test]
    fn the_replay_bears_every_kept_input() {
        let ran: Vec<moves::Ran> = corpus("moves").iter().map(|bytes| moves::run(bytes)).collect();
        let count = |test: fn(&moves::Ran) -> bool| ran.iter().filter(|ran| test(ran)).count();
        assert!(count(|ran| ran.moves > 8) >= 10);
        assert!(count(|ran| ran.freed > 0) >= 5);
        assert!(count(|ran| ran.verdict == Verdict::Refused) >= 10);
    }

    /// The examples, good and bad, as `tests/campaign fuzz` hands them to the fuzzer.
    fn examples() -> Vec<Vec<u8>> {
        let folders = [
            ("j", "jobs"),
            ("j", "bad/jobs"),
            ("l", "sequences"),
            ("m", "mills"),
            ("m", "bad/mills"),
            ("s", "sequences"),
            ("s", "bad"),
            ("c", "bad"),
        ];
        let mut inputs = Vec::new();
        for (kind, folder) in folders {
            let form = match kind {
                "s" => "json",
                "c" => "cut",
                _ => "toml",
            };
            let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("examples")
                .join(folder);
            let paths = fs::read_dir(folder).unwrap().map(|file| file.unwrap().path());
            for path in paths.filter(|path| path.extension().is_some_and(|end| end == form)) {
                inputs.push([kind.as_bytes(), &fs::read(path).unwrap()].concat());
            }
        }
        inputs.extend([b"c".to_vec(), b"l[log]".to_vec(), b"w\x05job".to_vec()]);
        inputs
    }

    #[test]
    fn whatever_is_read_bears_every_kept_input() {
        let mut inputs = corpus("texts");
        inputs.extend(examples());
        for kind in texts::KINDS {
            let of_kind = inputs.iter().filter(|bytes| bytes.first() == Some(kind));
            let taken: Vec<bool> = of_kind.map(|bytes| texts::run(bytes)).collect();
            let name = char::from(*kind);
            assert!(taken.contains(&true), "nothing of kind {name} is taken");
            assert!(taken.contains(&false), "everything of kind {name} is taken");
        }
    }
}
