//! What no compiler checks about this repository: sizes, who depends on whom, and pages that name what is there.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Longest file, in lines. A longer one holds more than one idea.
const FILE_LINES_MAX: usize = 500;
/// Longest function outside tests, in lines.
const FUNCTION_LINES_MAX: usize = 60;
/// The crates that run without an operating system.
const NO_STD: [&str; 3] = ["protocol", "planner", "firmware"];
/// Where a float would decide where a cut goes, or what is said about it on the wire.
const NO_FLOATS: [&str; 4] = [
    "protocol/src",
    "planner/src/geometry",
    "planner/src/stock",
    "planner/src/plan.rs",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: impl AsRef<Path>) -> String {
    let path = root().join(path);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Every Rust file below a place, relative to the root; what cargo builds is left out.
fn rust_files(below: &str) -> Vec<PathBuf> {
    let start = root().join(below);
    let mut found = Vec::new();
    let mut open = vec![start];
    while let Some(path) = open.pop() {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        if path.is_dir() && !name.starts_with("target") && !name.starts_with('.') {
            open.extend(fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().path()));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path.strip_prefix(root()).unwrap().to_owned());
        }
    }
    found.sort();
    found
}

/// Every Rust file of the repository.
fn all_rust_files() -> Vec<PathBuf> {
    let found: Vec<PathBuf> = ["src", "tests", "protocol", "planner", "firmware"]
        .into_iter()
        .flat_map(rust_files)
        .collect();
    assert!(found.len() > 20, "the files are not where they are looked for");
    found
}

#[test]
fn files_hold_one_idea() {
    let long: Vec<String> = all_rust_files()
        .iter()
        .map(|path| (path, read(path).lines().count()))
        .filter(|(_, lines)| *lines > FILE_LINES_MAX)
        .map(|(path, lines)| format!("{}: {lines} lines", path.display()))
        .collect();
    assert!(
        long.is_empty(),
        "more than {FILE_LINES_MAX} lines:\n{}",
        long.join("\n")
    );
}

/// The functions of a file with their lengths, told by how rustfmt lays them out: the closing brace stands under the
/// beginning of the head.
fn functions(text: &str) -> Vec<(String, usize)> {
    let mut open: Vec<(usize, usize, String)> = Vec::new();
    let mut found = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let code = line.trim_start();
        let indent = line.len() - code.len();
        let head = code.split(['(', '<']).next().unwrap_or_default();
        let mut words = head.split_whitespace().rev();
        if let (Some(name), Some("fn")) = (words.next(), words.next())
            && !code.starts_with("//")
            && !code.ends_with(';')
        {
            open.push((indent, number, name.to_owned()));
        } else if code == "}"
            && let Some(last) = open.last()
            && last.0 == indent
        {
            let (_, start, name) = open.pop().unwrap();
            found.push((name, number - start + 1));
        }
    }
    found
}

#[test]
fn functions_fit_on_a_screen() {
    let own = functions(&read("tests/tidy.rs"));
    assert!(
        own.iter().any(|(name, lines)| name == "functions" && *lines > 20),
        "{own:?}"
    );
    let mut long = Vec::new();
    for path in all_rust_files() {
        let name = path.to_string_lossy();
        if name.contains("tests/") || name.ends_with("testing.rs") {
            continue;
        }
        let text = read(&path);
        let code = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
        for (function, lines) in functions(code) {
            if lines > FUNCTION_LINES_MAX {
                long.push(format!("{name}: {function}: {lines} lines"));
            }
        }
    }
    assert!(
        long.is_empty(),
        "more than {FUNCTION_LINES_MAX} lines:\n{}",
        long.join("\n")
    );
}

/// The crates of this workspace that a manifest names in a table, without their common beginning.
fn own_dependencies(manifest: &str, table: &str) -> BTreeSet<String> {
    let manifest: toml::Table = read(manifest).parse().unwrap();
    manifest
        .get(table)
        .and_then(toml::Value::as_table)
        .into_iter()
        .flat_map(|table| table.keys())
        .filter_map(|name| name.strip_prefix("bunkside-").map(str::to_owned))
        .collect()
}

#[test]
fn dependencies_point_one_way() {
    let set = |names: &[&str]| {
        names
            .iter()
            .map(|name| (*name).to_owned())
            .collect::<BTreeSet<_>>()
    };
    for (manifest, may) in [
        ("protocol/Cargo.toml", set(&[])),
        ("planner/Cargo.toml", set(&["protocol"])),
        ("firmware/Cargo.toml", set(&["protocol", "planner"])),
        ("Cargo.toml", set(&["protocol", "planner"])),
    ] {
        for table in ["dependencies", "build-dependencies"] {
            let does = own_dependencies(manifest, table);
            assert!(
                does.is_subset(&may),
                "{manifest}: [{table}] names {:?}",
                &does - &may
            );
        }
    }
    assert!(
        own_dependencies("planner/Cargo.toml", "dependencies").contains("protocol"),
        "manifests are read"
    );
}

#[test]
fn controller_crates_need_no_operating_system() {
    for name in NO_STD {
        let text = read(format!("{name}/src/lib.rs"));
        for line in ["#![no_std]", "#![forbid(unsafe_code)]"] {
            assert!(
                text.lines().any(|found| found == line),
                "{name}/src/lib.rs lacks {line}"
            );
        }
        assert!(!text.contains("extern crate alloc"), "{name} allocates");
    }
}

#[test]
fn no_float_decides_where_a_cut_goes() {
    let is_float = |word: &str| word == "f32" || word == "f64";
    for path in NO_FLOATS.into_iter().flat_map(rust_files) {
        let text = read(&path);
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (number, line) in code.lines().enumerate() {
            let mut words = line.split(|character: char| !character.is_alphanumeric() && character != '_');
            let comment = line.trim_start().starts_with("//");
            assert!(
                comment || !words.any(is_float),
                "{}:{}: a float",
                path.display(),
                number + 1
            );
        }
    }
}

/// Modules that a test file declares; a module under another path is known by its file.
fn declared(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for line in text.lines() {
        let line = line.trim();
        if let Some(path) = line
            .strip_prefix("#[path = \"")
            .and_then(|rest| rest.strip_suffix("\"]"))
        {
            found.insert(path.to_owned());
        }
        if let Some(name) = line
            .rsplit_once("mod ")
            .and_then(|(_, rest)| rest.strip_suffix(';'))
        {
            found.insert(name.to_owned());
        }
    }
    found
}

#[test]
fn every_test_file_is_run() {
    let main = declared(&read("tests/main.rs"));
    for path in rust_files("tests") {
        let path = path.strip_prefix("tests").unwrap();
        let name = path.file_stem().unwrap().to_str().unwrap();
        let folder = path.parent().filter(|folder| *folder != Path::new(""));
        let wired = match folder {
            None => name == "main" || main.contains(name),
            Some(folder) if folder.starts_with("support") => {
                name == "mod" || main.contains(path.to_str().unwrap()) || declared_beside(path, name)
            }
            Some(_) => name == "mod" || declared_beside(path, name),
        };
        assert!(wired, "tests/{} is in no module tree", path.display());
    }
}

/// Whether the module that a folder belongs to declares a file of it.
fn declared_beside(path: &Path, name: &str) -> bool {
    let folder = Path::new("tests").join(path.parent().unwrap());
    [folder.with_extension("rs"), folder.join("mod.rs")]
        .iter()
        .any(|owner| root().join(owner).exists() && declared(&read(owner)).contains(name))
}

#[test]
fn steps_add_up_to_an_hour_at_most() {
    let text = read("tests/run");
    let budgets: Vec<u32> = text
        .lines()
        .skip_while(|line| *line != "steps=(")
        .skip(1)
        .take_while(|line| *line != ")")
        .map(|line| {
            line.trim()
                .trim_matches('"')
                .split_whitespace()
                .nth(1)
                .unwrap()
                .parse()
                .unwrap()
        })
        .collect();
    assert!(budgets.len() >= 8, "{budgets:?}");
    assert!(budgets.iter().sum::<u32>() <= 60, "{budgets:?}");
}

#[test]
fn pages_name_what_is_there() {
    for page in ["README.md", "DEVELOPERS.md", "CHANGELOG.md"] {
        let text = read(page);
        let links = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
        for link in links.filter(|link| !link.starts_with("http") && !link.starts_with('#')) {
            assert!(
                root().join(link.split('#').next().unwrap()).exists(),
                "{page} links to {link}"
            );
        }
        // In tables, what stands first in back quotes with a stroke in it is a place.
        for place in text
            .lines()
            .filter_map(|line| line.strip_prefix("| `"))
            .filter_map(|rest| rest.split('`').next())
        {
            if place.contains('/') && !place.contains('{') {
                assert!(root().join(place).exists(), "{page} names {place}");
            }
        }
    }
}

#[test]
fn the_first_commands_of_the_readme_can_be_typed() {
    let text = read("README.md");
    let block = text
        .split("```sh\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .unwrap();
    let commands: Vec<Vec<&str>> = block
        .lines()
        .map(|line| line.split('#').next().unwrap().split_whitespace().collect())
        .collect();
    assert_eq!(
        commands.len(),
        2,
        "one for the main job, one for the checks: {commands:?}"
    );
    assert_eq!(commands[0][..5], ["cargo", "run", "--release", "--", "plan"]);
    assert_eq!(commands[1], ["tests/run"]);
    assert!(root().join("tests/run").exists());
    // Until `plan` is there, the page has to say so.
    let unfinished = text.contains("does not answer yet");
    assert!(
        unfinished || root().join(commands[0][5]).exists(),
        "{} is not there",
        commands[0][5]
    );
}
