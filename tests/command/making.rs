//! `plan` and `sequence`.

use std::fs;

use bunkside::command::Exit;
use bunkside::diagnostic::Source;
use bunkside::moves_json::{self, Sequence};
use bunkside_protocol::job::JobReader;

use super::{JOBS, call, example, fails, folder, planned, quiet, shortened};

#[test]
fn every_example_is_planned_audited_and_run_dry() {
    for job in JOBS {
        let folder = folder(&format!("plan-{job}"));
        let toml = example(job);
        let summary = quiet(&folder, &format!("plan {toml} -o {{}}"), Exit::Good);
        insta::assert_snapshot!(format!("plan-{job}"), files_on_one_line(&summary));
        let audit = quiet(
            &folder,
            &format!("audit {{}}/moves.json --job {toml}"),
            Exit::Good,
        );
        insta::assert_snapshot!(format!("audit-{job}"), shortened(&audit));
        let dry = quiet(
            &folder,
            &format!("dry-run {{}}/moves.job --job {toml}"),
            Exit::Good,
        );
        insta::assert_snapshot!(format!("dry-run-{job}"), shortened(&dry));
    }
}

#[test]
fn forces_and_margins_are_told_of_every_cut() {
    let folder = planned("feeds", "g-04");
    let line = format!("audit {{}}/moves.json --job {} --feeds", example("g-04"));
    insta::assert_snapshot!("feeds-g-04", quiet(&folder, &line, Exit::Good));
}

/// Where the list of files is wrapped depends on how long the folder's name is on this machine.
fn files_on_one_line(summary: &str) -> String {
    let Some((before, after)) = summary.split_once("\nfiles ") else {
        return summary.to_owned();
    };
    let (files, rest) = after.split_once("\n\n").unwrap_or((after, ""));
    let files: Vec<&str> = files.split_whitespace().collect();
    format!("{before}\nfiles     {}\n\n{rest}", files.join(" "))
}

#[test]
fn results_agree_with_each_other() {
    for job in JOBS {
        let folder = planned("agree", job);
        let toml = example(job);
        let audit = quiet(
            &folder,
            &format!("audit {{}}/moves.job --job {toml} --json"),
            Exit::Good,
        );
        assert_eq!(
            audit,
            fs::read_to_string(folder.join("audit.json")).unwrap(),
            "{job}"
        );
        let bytes = fs::read(folder.join("moves.job")).unwrap();
        let stored = JobReader::open(&bytes).unwrap();
        let moves = stored.moves().collect::<Result<Vec<_>, _>>().unwrap();
        let json = fs::read_to_string(folder.join("moves.json")).unwrap();
        let (sequence, _) = moves_json::read_sequence(&Source::new("moves.json", json.clone()));
        let Sequence { log, mill, .. } = sequence.unwrap();
        let (log, mill) = (log.unwrap(), mill.unwrap());
        assert_eq!(json, moves_json::write_for(&log, &mill, &moves), "{job}");
        let job = fs::read_to_string(&toml).unwrap();
        assert!(job.contains(&format!("name = \"{log}\"")), "{log}");
        assert!(job.contains(&format!("mills/{mill}.toml")), "{mill}");
    }
}

/// A cut plan that `plan` wrote gives the same moves and the same summary again.
#[test]
fn a_plan_can_be_sequenced_again() {
    for job in JOBS {
        let folder = planned("again", job);
        let toml = example(job);
        let first = quiet(&folder, &format!("plan {toml} -o {{}}"), Exit::Good);
        let moves = fs::read(folder.join("moves.job")).unwrap();
        let line = format!("sequence {{}}/plan.cut --job {toml} -o {{}}");
        assert_eq!(quiet(&folder, &line, Exit::Good), first, "{job}");
        assert_eq!(fs::read(folder.join("moves.job")).unwrap(), moves, "{job}");
    }
}

/// What an earlier run made must not stand beside a plan that has no moves.
#[test]
fn a_plan_that_fails_leaves_no_old_moves() {
    let folder = planned("fails", "g-04");
    let plan = folder.join("mine.cut");
    fs::write(
        &plan,
        "plan \"G-04\"\nlayer down to 150 mm\n  take board \"deck\" 3.6 m to 110 mm\n  take waste to edge\n",
    )
    .unwrap();
    let line = format!("sequence {{}}/mine.cut --job {} -o {{}}", example("g-04"));
    insta::assert_snapshot!("unplanned", fails(&folder, &line, Exit::Refused));
    for gone in ["moves.job", "moves.json", "audit.json"] {
        assert!(!folder.join(gone).exists(), "{gone}");
    }
    assert_eq!(
        fs::read(folder.join("plan.cut")).unwrap(),
        fs::read(&plan).unwrap(),
        "the plan is kept"
    );
    let answer = call(&folder, &format!("{line} --json"));
    let told: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
    assert_eq!(told["verdict"], "unplanned");
    assert_eq!(
        (&told["problem"]["layer"], &told["problem"]["column"]),
        (&1.into(), &1.into())
    );
}

#[test]
fn what_fits_nowhere_is_told() {
    let folder = folder("nowhere");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let job = job
        .replace(
            "../mills/",
            concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
        )
        .replace("\"140 mm\"", "\"400 mm\"")
        .replace("\"75 mm\"", "\"400 mm\"")
        .replace("width = \"50 mm\"", "width = \"400 mm\"");
    fs::write(folder.join("wide.toml"), job).unwrap();
    let said = fails(&folder, "plan {}/wide.toml -o {}/out", Exit::Refused);
    insta::assert_snapshot!("nothing-fits", said);
    assert!(!folder.join("out").exists(), "nothing to keep");
}

/// A staple moved up to where a kerf runs: the layout does not know of it, so the plan stops there.
#[test]
fn no_kerf_goes_through_metal() {
    let folder = folder("metal");
    let job = fs::read_to_string(example("a-02")).unwrap();
    let job = job
        .replace(
            "../mills/",
            concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
        )
        .replace("\"100 mm\", \"115 mm\"", "\"160 mm\", \"180 mm\"");
    fs::write(folder.join("stapled.toml"), job).unwrap();
    let said = fails(&folder, "plan {}/stapled.toml -o {}/out", Exit::Refused);
    insta::assert_snapshot!("metal", said);
}

/// A log that tapers too much to be levelled by its centre line: bunk by bunk, what cannot be packed.
#[test]
fn a_log_that_cannot_be_packed_is_not_planned() {
    let folder = folder("packing");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let job = job
        .replace("../mills/", mills)
        .replace("\"215 mm\"", "\"140 mm\"");
    fs::write(folder.join("thin.toml"), job).unwrap();
    let said = fails(&folder, "plan {}/thin.toml -o {}/out", Exit::Refused);
    insta::assert_snapshot!("packing", said);
}

/// Boards of a hand-written plan are held against their products.
#[test]
fn columns_that_are_no_boards_do_not_count() {
    let folder = planned("spoilt", "g-04");
    let plan = fs::read_to_string(folder.join("plan.cut")).unwrap();
    // The deck board of the second layer 20 mm too narrow, and that of the third 15 mm into the wane.
    let plan = plan
        .replace("to 74.8 mm", "to 54.8 mm")
        .replace("-95.4 mm", "-110.4 mm")
        .replace("to 50.1 mm", "to 35.1 mm");
    fs::write(folder.join("plan.cut"), plan).unwrap();
    let line = format!("sequence {{}}/plan.cut --job {} -o {{}}", example("g-04"));
    let summary = quiet(&folder, &line, Exit::Good);
    let warnings: Vec<&str> = summary.lines().filter(|line| line.contains("warning:")).collect();
    insta::assert_snapshot!("spoilt", warnings.join("\n"));
    // Who saws sees the report only: its head, its cards and its list of pieces call them the same, and tell why.
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    for said in [
        "column 2) does not count as deck: it comes out 120 x 50 mm",
        ". Frees piece 4, board that does not count as deck (it comes out 120 x 50 mm, too small for 140 x 50 mm)",
        "<span>Take away piece 4, board that does not count as deck (it comes out",
        "<li value=\"4\">board that does not count as deck (it comes out 120 x 50 mm, too small for 140 x 50 mm); about",
    ] {
        assert!(report.contains(said), "{said}");
    }
    assert!(
        !report.contains(": deck, "),
        "no board of this plan counts as deck"
    );
}

/// Who mends a plan is told all that can be found in it at once: here the second layer is too low for its wide column, and the
/// lowest begins with no column of waste.
#[test]
fn several_faults_of_a_plan_are_told_together() {
    let folder = planned("faults", "g-04");
    let plan = "plan \"G-04\"\nlayer down to 259 mm\n  slab\nlayer down to 203.5 mm\n  take waste to -70.7 mm\n  take waste to edge\n\
                layer down to 60 mm\n  take board \"deck\" 2400 mm to edge\n";
    fs::write(folder.join("plan.cut"), plan).unwrap();
    let line = format!("sequence {{}}/plan.cut --job {} -o {{}}", example("g-04"));
    let said = fails(&folder, &line, Exit::Refused);
    assert!(said.contains("    layer 2 of 3"), "{said}");
    assert!(said.contains("    layer 3 of 3"), "{said}");
    assert_eq!(said.matches("what would free it").count(), 2, "{said}");
}

#[test]
fn names_of_the_order_are_looked_up() {
    let folder = folder("names");
    fs::write(
        folder.join("p.cut"),
        "plan \"G-05\"\nlayer down to 250 mm\n  take board \"dek\" to edge\n",
    )
    .unwrap();
    let line = format!("sequence {{}}/p.cut --job {} -o {{}}", example("g-04"));
    insta::assert_snapshot!("other-names", fails(&folder, &line, Exit::BadInput));
    assert!(!folder.join("plan.cut").exists());
}

/// Nothing is written where no layout is found; what lies there is somebody's earlier plan, and that is told.
#[test]
fn moves_of_an_earlier_plan_are_told_where_nothing_fits() {
    let folder = planned("earlier", "g-04");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let (log, _) = job.split_once("[[board]]").unwrap();
    let beam = "[[board]]\nname = \"beam\"\nthickness = \"400 mm\"\nwidth = \"400 mm\"\nlengths = [\"3 m\"]\nprice = { each = 9 }\n";
    fs::write(folder.join("job.toml"), log.replace("../mills/", mills) + beam).unwrap();
    let told = "the moves that lie in DIR are of an earlier plan";
    assert!(fails(&folder, "plan {}/job.toml -o {}", Exit::Refused).contains(told));
    assert!(folder.join("moves.job").exists());
    assert!(!fails(&folder, "plan {}/job.toml -o {}/none", Exit::Refused).contains("earlier plan"));
}

/// The blade stands while somebody unloads, unless the job asks for it to turn; it takes what the summary says it would.
#[test]
fn the_blade_is_stopped_to_unload_unless_the_job_asks_for_it_to_turn() {
    let folder = folder("stop-to-unload");
    let json = |job: &str, out: &str| -> serde_json::Value {
        let out = quiet(&folder, &format!("plan {job} -o {{}}/{out} --json"), Exit::Good);
        serde_json::from_str(&out).unwrap()
    };
    let stopped = json(&example("g-04"), "standing");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let job = job
        .replace(
            "../mills/",
            concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
        )
        .replace("[setting]", "[setting]\nstop_to_unload = false");
    fs::write(folder.join("j.toml"), job).unwrap();
    let usual = json(folder.join("j.toml").to_str().unwrap(), "turning");
    let totals = |of: &serde_json::Value| of["totals"].clone();
    let (usual, stopped) = (totals(&usual), totals(&stopped));
    assert_eq!(
        (&usual["unloads_turning"], &stopped["unloads_turning"]),
        (&12.into(), &0.into())
    );
    assert_eq!(stopped["stopping_s"], 0.0);
    let all = |of: &serde_json::Value| of["seconds"]["all"].as_f64().unwrap();
    // At the last of the twelve the blade is stopped anyway, so that no spin-up is needed behind it; and where every unloading
    // takes so long, another order may do with fewer of them.
    let report = |name: &str| fs::read_to_string(folder.join(name).join("report.html")).unwrap();
    let first = "The blade turns while pieces are taken away, at 12 holds. To have it stopped, write <code>stop_to_unload = true</code>";
    assert!(report("turning").contains(first) && !report("standing").contains("turns while pieces"));
    let longer = all(&stopped) - all(&usual);
    let told = usual["stopping_s"].as_f64().unwrap();
    assert!(
        (told - 11.0 * 33.0).abs() < 1e-9 && longer > 0.0 && longer < told + 1e-6,
        "{longer} {told}"
    );
}

/// A cut plan that somebody changed stays where the plan is made anew, and it is said where; what is planned twice keeps
/// nothing.
#[test]
fn a_plan_that_was_changed_by_hand_is_kept() {
    let folder = planned("changed", "g-04");
    let line = format!("plan {} -o {{}}", example("g-04"));
    quiet(&folder, &line, Exit::Good);
    let mine = format!("# mine\n{}", fs::read_to_string(folder.join("plan.cut")).unwrap());
    fs::write(folder.join("plan.cut"), &mine).unwrap();
    let answer = call(&folder, &line);
    assert_eq!(answer.exit, Exit::Good);
    assert!(answer.said.contains("kept as plan.1.cut"), "{}", answer.said);
    assert_eq!(answer.said.lines().count(), 1, "{}", answer.said);
    assert_eq!(fs::read_to_string(folder.join("plan.1.cut")).unwrap(), mine);
    quiet(&folder, &line, Exit::Good);
}

/// Every verb is handed every file of another kind, and says what it is and which verb takes it, in one error.
#[test]
fn the_wrong_kind_of_file_is_told_once() {
    let folder = planned("kinds", "g-04");
    quiet(
        &folder,
        &format!(
            "export {{}}/moves.json --job {} --as hex -o {{}}/moves.hex",
            example("g-04")
        ),
        Exit::Good,
    );
    fs::write(folder.join("log.png"), b"\x89PNG\r\n\x1a\n\0\0").unwrap();
    fs::write(folder.join("nothing"), "").unwrap();
    let (job, mill) = (example("g-04"), "examples/mills/powered-165.toml".to_owned());
    let files = [
        (job.clone(), "a job", "`bunkside plan"),
        (mill, "a mill profile", "a job names its mill"),
        ("{}/plan.cut".to_owned(), "a cut plan", "`bunkside sequence"),
        ("{}/moves.json".to_owned(), "a list of moves", "`bunkside audit"),
        ("{}/moves.job".to_owned(), "a stored job", "`bunkside audit"),
        (
            "{}/moves.hex".to_owned(),
            "a stored job as Intel HEX",
            "`bunkside audit",
        ),
        (
            "{}/audit.json".to_owned(),
            "an answer for programs",
            "no verb reads it again",
        ),
        ("{}/report.html".to_owned(), "a page", "in a browser"),
        ("{}/side.svg".to_owned(), "a drawing", "in a browser"),
        ("{}/log.png".to_owned(), "a picture", "the file you mean"),
        (
            "README.md".to_owned(),
            "a text of another kind",
            "the file you mean",
        ),
        ("{}/nothing".to_owned(), "empty", "the file you mean"),
    ];
    let with = format!("--job {job}");
    for (verb, takes, rest) in [
        ("plan", &["a job"][..], String::new()),
        ("sequence", &["a cut plan"], with.clone()),
        (
            "audit",
            &["a list of moves", "a stored job", "a stored job as Intel HEX"],
            with.clone(),
        ),
        (
            "dry-run",
            &["a list of moves", "a stored job", "a stored job as Intel HEX"],
            with.clone(),
        ),
        (
            "export",
            &["a list of moves", "a stored job", "a stored job as Intel HEX"],
            format!("--as json {with}"),
        ),
    ] {
        for (file, kind, help) in &files {
            if takes.contains(kind) {
                continue;
            }
            let said = fails(&folder, &format!("{verb} {file} {rest}"), Exit::BadInput);
            assert!(
                said.contains(&format!(" is {kind}")) && said.contains(help),
                "{verb}: {said}"
            );
            assert_eq!(said.lines().count(), 2, "{verb}: {said}");
        }
    }
    for line in [
        "plan LICENSE-MIT".to_owned(),
        "plan Cargo.toml".to_owned(),
        format!("sequence LICENSE-MIT {with}"),
    ] {
        let said = fails(&folder, &line, Exit::BadInput);
        assert!(said.contains(" is a text of another kind, not "), "{said}");
        assert_eq!(said.lines().count(), 2, "{said}");
    }
}
