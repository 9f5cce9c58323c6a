//! A folder that results go to, in which nothing is lost that anybody else wrote.
//!
//! Beside the results lies a list of them with their check sums. A file that is not as it was written, or that the
//! list does not know, was changed by hand or comes from elsewhere: it is kept under a numbered name.
//!
//! ```text
//! plan.cut      as it is written now
//! plan.1.cut    as somebody had changed it
//! ```

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use bunkside_protocol::job::fnv1a_64;

use super::files::{bytes, write};
use super::{Failure, Said};
use crate::account::table::wrapped;

/// The list of what was written.
const LIST: &str = ".bunkside";

/// How the line in it begins that tells whose results they are.
const LOG: &str = "log ";

/// How often a file may be kept: whoever has more of them should tidy up first.
const KEPT_MAX: u32 = 1_000;

/// Why a file is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Why {
    /// It is not as it was written.
    Changed,
    /// Nothing tells whether it is as it was written.
    Unknown,
}

/// A folder that results go to.
#[derive(Debug)]
pub(super) struct Folder {
    path: PathBuf,
    /// The log that it was made for, as the list tells; then the one that it is for now.
    log: Option<String>,
    written: Vec<String>,
    /// The check sum of every file as it was written last, by its name.
    sums: BTreeMap<String, u64>,
    /// What was kept, under which names, and why.
    kept: Vec<(String, String, Why)>,
    /// What an earlier run had made and was taken away.
    taken: Vec<String>,
}

impl Folder {
    /// Makes the folder, unless it is there.
    pub(super) fn create(path: &Path) -> Result<Self, Failure> {
        if path.exists() && !path.is_dir() {
            let message = format!("{} is there already and is no folder", path.display());
            return Err(Failure::wrong(
                &message,
                "name a folder behind -o, or move it away",
            ));
        }
        fs::create_dir_all(path).map_err(|error| {
            let message = format!("the folder {} cannot be made: {error}", path.display());
            Failure::wrong(&message, "name another behind -o")
        })?;
        let list = fs::read_to_string(path.join(LIST)).unwrap_or_default();
        let sums = list.lines().filter_map(|line| {
            let (sum, name) = line.split_once(' ')?;
            Some((name.to_owned(), u64::from_str_radix(sum, 16).ok()?))
        });
        let log = list.lines().find_map(|line| line.strip_prefix(LOG));
        Ok(Self {
            path: path.to_owned(),
            log: log.map(str::to_owned),
            written: Vec::new(),
            sums: sums.collect(),
            kept: Vec::new(),
            taken: Vec::new(),
        })
    }

    /// The folder in another that is named after a log; an error where another log's results lie in it.
    pub(super) fn named_after(within: &Path, log: &str) -> Result<Self, Failure> {
        let path = within.join(folder_name(log));
        let folder = Self::create(&path)?;
        match &folder.log {
            Some(other) if other != log => Err(Failure::wrong(
                &format!(
                    "the folder {} holds the results of log {other}, not of {log}",
                    path.display()
                ),
                "name another behind -o, or that one to write over them",
            )),
            _ => Ok(folder),
        }
    }

    /// The folders in another one that hold what was made of a log with a file of that name beside it.
    pub(super) fn all_with(within: &Path, file: &str) -> Vec<PathBuf> {
        let entries = fs::read_dir(within).into_iter().flatten().flatten();
        let made = |path: &PathBuf| {
            let list = fs::read_to_string(path.join(LIST)).unwrap_or_default();
            let log = list.lines().any(|line| line.starts_with(LOG));
            log && list
                .lines()
                .any(|line| line.split_once(' ').is_some_and(|(_, name)| name == file))
        };
        entries.map(|entry| entry.path()).filter(made).collect()
    }

    /// The same, for the results of a log.
    pub(super) fn of_log(self, log: &str) -> Self {
        Self {
            log: Some(log.to_owned()),
            ..self
        }
    }

    /// Takes away what an earlier run made, so that nothing old stands beside what is new.
    pub(super) fn clear(&mut self, names: &[&str]) -> Result<(), Failure> {
        for name in names {
            self.keep(name, None)?;
            let path = self.path.join(name);
            match fs::remove_file(&path) {
                Err(error) if error.kind() != ErrorKind::NotFound => {
                    let message = format!("the old {} cannot be taken away: {error}", path.display());
                    return Err(Failure::wrong(&message, "move it away by hand"));
                }
                Ok(()) => self.taken.push((*name).to_owned()),
                Err(_) => {}
            }
        }
        Ok(())
    }

    /// That what an earlier run made is gone, where nothing new comes in its place; empty where there was nothing.
    pub(super) fn emptied(&self) -> String {
        if self.taken.is_empty() {
            return String::new();
        }
        let words = format!(
            "so that nobody saws by an earlier plan, what it left in that folder is gone: {}",
            self.taken.join(", ")
        );
        wrapped("    ", &words, 100)
    }

    /// Writes one of its files.
    pub(super) fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        self.keep(name, Some(bytes))?;
        let path = self.path.join(name);
        // A cut plan changed by hand and carried out goes back as it stood: it is still that person's.
        let theirs = self.sums.get(name) != Some(&fnv1a_64(bytes))
            && fs::read(&path).is_ok_and(|stands| stands == bytes);
        write(&path, bytes)?;
        if !theirs {
            self.sums.insert(name.to_owned(), fnv1a_64(bytes));
        }
        let log = self.log.iter().map(|log| format!("{LOG}{log}\n"));
        let lines = self.sums.iter().map(|(name, sum)| format!("{sum:016x} {name}\n"));
        write(
            &self.path.join(LIST),
            log.chain(lines).collect::<String>().as_bytes(),
        )?;
        self.written.push(name.to_owned());
        Ok(())
    }

    /// Keeps a file that somebody else wrote or changed, unless it is what will stand there.
    fn keep(&mut self, name: &str, new: Option<&[u8]>) -> Result<(), Failure> {
        let path = self.path.join(name);
        if !fs::metadata(&path).is_ok_and(|found| found.is_file()) {
            return Ok(());
        }
        let stands = bytes(&path)?;
        let sum = self.sums.get(name);
        if new == Some(&stands) || sum == Some(&fnv1a_64(&stands)) {
            return Ok(());
        }
        let why = if sum.is_some() { Why::Changed } else { Why::Unknown };
        let (stem, ending) = name.rsplit_once('.').unwrap_or((name, ""));
        let numbered = |number: u32| format!("{stem}.{number}.{ending}");
        let beside = (1..=KEPT_MAX)
            .map(numbered)
            .find(|one| fs::symlink_metadata(self.path.join(one)).is_err());
        let Some(beside) = beside else {
            let message = format!(
                "{} was changed by hand, and there is no name left to keep it under",
                path.display()
            );
            return Err(Failure::wrong(
                &message,
                "move it away, or name another folder behind -o",
            ));
        };
        write(&self.path.join(&beside), &stands)?;
        self.kept.push((name.to_owned(), beside, why));
        Ok(())
    }

    /// Says what was kept.
    pub(super) fn tell(&self, said: &mut Said) {
        for (name, beside, _) in self.kept.iter().filter(|(.., why)| *why == Why::Changed) {
            said.warn(&format!(
                "{} was not as this tool wrote it; what stood there is kept as {beside}",
                self.path.join(name).display()
            ));
        }
        let unknown = self.kept.iter().filter(|(.., why)| *why == Why::Unknown);
        let names: Vec<&str> = unknown.map(|(_, beside, _)| beside.as_str()).collect();
        if !names.is_empty() {
            said.warn(&format!(
                "no list in {} tells whether what stood there was changed by hand, so it is kept: {}",
                self.path.display(),
                names.join(", ")
            ));
        }
    }

    /// Its path.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The files that were written, in their order.
    pub(super) fn written(&self) -> &[String] {
        &self.written
    }
}

/// A name as a folder may be called: letters, digits, hyphens.
pub(super) fn folder_name(name: &str) -> String {
    let kept = |letter: char| if letter.is_alphanumeric() { letter } else { '-' };
    let name: String = name.trim().chars().map(kept).collect();
    match name.trim_matches('-') {
        "" => "plan".to_owned(),
        name => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_have_plain_names() {
        assert_eq!(folder_name("G-04"), "G-04");
        assert_eq!(folder_name("../etc/ash \"2\""), "etc-ash--2");
        assert_eq!(folder_name(" Ö 7 "), "Ö-7");
        assert_eq!(folder_name("//"), "plan");
    }

    /// `a/b` and `a-b` would share one.
    #[test]
    fn no_folder_is_written_over_that_another_log_is_named_like() {
        let within = std::env::temp_dir().join(format!("bunkside-named-{}", std::process::id()));
        let plan = |log: &str| {
            let mut folder = Folder::named_after(&within, log)?.of_log(log);
            folder.write("plan.cut", log.as_bytes())
        };
        plan("a/b").unwrap();
        plan("a/b").unwrap();
        let said = plan("a-b").unwrap_err().text;
        assert!(
            said.contains("holds the results of log a/b, not of a-b"),
            "{said}"
        );
        let stands = || fs::read_to_string(within.join("a-b/plan.cut")).unwrap();
        assert_eq!(stands(), "a/b");
        // Whoever names the folder means it, and the next may be sure of whose it is.
        let mut named = Folder::create(&within.join("a-b")).unwrap().of_log("a-b");
        named.write("plan.cut", b"a-b").unwrap();
        assert_eq!(stands(), "a-b");
        plan("a-b").unwrap();
        assert!(plan("a/b").is_err());
        fs::remove_dir_all(within).unwrap();
    }

    /// What somebody changed is kept each time, what is as it was written is not, nor what comes out the same.
    #[test]
    fn what_was_changed_by_hand_is_kept() {
        let path = std::env::temp_dir().join(format!("bunkside-kept-{}", std::process::id()));
        let read = |name: &str| fs::read_to_string(path.join(name)).ok();
        let plan = |text: &str| {
            let mut folder = Folder::create(&path).unwrap();
            folder.clear(&["moves.json"]).unwrap();
            folder.write("plan.cut", text.as_bytes()).unwrap();
            let mut said = Said::default();
            folder.tell(&mut said);
            said.text
        };
        assert_eq!(plan("one"), "");
        assert_eq!(plan("two"), "");
        fs::write(path.join("plan.cut"), "mine").unwrap();
        fs::write(path.join("moves.json"), "theirs").unwrap();
        let said = plan("three");
        assert!(
            said.contains("plan.cut was not as this tool wrote it") && said.contains("kept as plan.1.cut"),
            "{said}"
        );
        assert!(said.contains("so it is kept: moves.1.json"), "{said}");
        assert_eq!(
            (read("plan.cut").unwrap(), read("plan.1.cut").unwrap()),
            ("three".to_owned(), "mine".to_owned())
        );
        assert_eq!(
            (read("moves.json"), read("moves.1.json").unwrap()),
            (None, "theirs".to_owned())
        );
        fs::write(path.join("plan.cut"), "mine too").unwrap();
        assert!(plan("four").contains("kept as plan.2.cut"));
        assert_eq!(read("plan.1.cut").unwrap(), "mine");
        fs::write(path.join("plan.cut"), "five").unwrap();
        assert_eq!(plan("five"), "");
        // Carried out as it was changed by hand, it is still that person's.
        assert!(plan("six").contains("kept as plan.3.cut"));
        assert_eq!(read("plan.3.cut").unwrap(), "five");
        // Whoever lost the list loses no file by it.
        fs::remove_file(path.join(LIST)).unwrap();
        assert!(plan("seven").contains("so it is kept: plan.4.cut"));
        fs::remove_dir_all(path).unwrap();
    }
}
