//! `layout`.

use std::fs;

use bunkside::command::Exit;
use serde_json::Value;

use super::{JOBS, call, example, folder, quiet};

fn told(job: &str, options: &str) -> Value {
    let folder = folder(&format!("layout-{job}{options}"));
    let line = format!("layout {} --json {options}", example(job));
    serde_json::from_str(&quiet(&folder, &line, Exit::Good)).unwrap()
}

#[test]
fn boards_are_told_with_what_they_are_worth() {
    let folder = folder("layout-text");
    let text = quiet(&folder, &format!("layout {}", example("g-04")), Exit::Good);
    insta::assert_snapshot!("layout-g-04", text);
}

/// Prices are in the jobs. A kerf of A-02's best layout passes within 10 mm of its metal: of that one something else is told that
/// can be sawn, with what it gives up.
#[test]
fn every_examples_best_layout_can_be_sawn_and_its_bound_is_told() {
    for job in JOBS {
        let report = told(job, "");
        let less = job == "a-02";
        let free = told(job, "--geometry-only");
        assert_eq!(free["rules"], Value::Null, "{job}");
        assert_eq!(free["proven"], true, "{job}");
        assert_eq!(free["value"], free["bound"], "{job}");
        assert_eq!(free["bound"], report["bound"], "{job}");
        assert_eq!(report["proven"], !less, "{job}");
        assert_eq!(report["value"] != report["bound"], less, "{job}");
        assert_ne!(report["rules"], "refused", "{job}");
        assert!(!report["boards"].as_array().unwrap().is_empty(), "{job}");
    }
}

/// A product that may not stand on edge lies in every board.
#[test]
fn boards_stand_on_edge_only_where_they_may() {
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml.replace("../mills", mills.to_str().unwrap());
    let edges = |toml: &str| -> (usize, f64) {
        let folder = folder("layout-on-edge");
        fs::write(folder.join("job.toml"), toml).unwrap();
        let report: Value =
            serde_json::from_str(&quiet(&folder, "layout {}/job.toml --json", Exit::Good)).unwrap();
        let boards = report["boards"].as_array().unwrap();
        let on_edge = boards.iter().filter(|board| board["on_edge"] == true).count();
        (on_edge, report["value"].as_f64().unwrap())
    };
    let (some, most) = edges(&toml);
    let (none, less) = edges(&toml.replace("\nthickness", "\non_edge = false\nthickness"));
    assert!(some > 0 && most > less, "{some} {most} {less}");
    assert_eq!(none, 0);
}

/// A job that asks for the best layout is planned with it, and what no layout brings more than is told beside it.
#[test]
fn a_job_may_ask_for_the_best_layout() {
    let folder = folder("layout-asked");
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml
        .replace("\n[setting]\n", "\n[setting]\nlayout = \"best\"\n")
        .replace("../mills", mills.to_str().unwrap());
    fs::write(folder.join("job.toml"), toml).unwrap();
    let plan = |job: &str| -> Value {
        let line = format!("plan {job} -o {{}}/out --json");
        serde_json::from_str(&quiet(&folder, &line, Exit::Good)).unwrap()
    };
    assert_eq!(plan(&example("g-04"))["value"], Value::Null);
    let best = plan("{}/job.toml");
    assert_eq!(best["verdict"], "pass");
    assert_eq!(best["value"]["brings"], best["value"]["bound"]);
    assert_eq!(best["value"]["gap_percent"], 0.0);
    assert_eq!(best["value"]["brings"], told("g-04", "")["value"]);
    let text = quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
    assert!(text.contains("no layout of this log brings more"), "{text}");
    assert_eq!(best["value"]["obstacle"], Value::Null);
}

/// What stands in the way of the layout that brings most is told, and what would free it.
#[test]
fn why_the_best_layout_is_not_planned_is_told() {
    let folder = folder("layout-barred");
    let toml = fs::read_to_string(example("a-02")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml
        .replace("\n[setting]\n", "\n[setting]\nlayout = \"best\"\n")
        .replace("../mills", mills.to_str().unwrap());
    fs::write(folder.join("job.toml"), toml).unwrap();
    let told: Value =
        serde_json::from_str(&quiet(&folder, "plan {}/job.toml -o {}/out --json", Exit::Good)).unwrap();
    let why = told["value"]["obstacle"].as_str().unwrap();
    assert!(told["value"]["gap_percent"].as_f64().unwrap() > 3.0);
    for words in [
        "layer 8 of 9, down to 107.5 mm",
        "too near to the metal",
        "what would free it: take the metal out",
    ] {
        assert!(why.contains(words), "{why}");
    }
    let text = quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains(&format!(
            "in the way of the layout that brings most stands: {why}; `bunkside layout --geometry-only"
        )),
        "{text}"
    );
}

/// Between two rows of boards on edge 1.9 mm are left beside the core, which would topple: the board beside it comes out wider.
#[test]
fn a_sliver_beside_the_core_is_sawn_with_the_board_beside_it() {
    let folder = folder("layout-sliver");
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = format!(
        "mill = \"{}/powered-165.toml\"\n{}",
        mills.display(),
        include_str!("sliver.toml")
    );
    fs::write(folder.join("job.toml"), toml).unwrap();
    let told: Value =
        serde_json::from_str(&quiet(&folder, "plan {}/job.toml -o {}/out --json", Exit::Good)).unwrap();
    assert_eq!(told["value"]["brings"], told["value"]["bound"]);
    assert_eq!(told["larger"].as_array().unwrap().len(), 1, "{}", told["larger"]);
    // A side of it drops.
    assert_eq!(told["verdict"], "warned");
    let found = told["findings"].as_array().unwrap();
    assert!(found.iter().all(|one| one["rule"] == "falls-off"), "{found:?}");
}

/// The job says `most = 4` of beams and nothing of planks.
#[test]
fn no_more_boards_are_laid_out_than_are_wanted() {
    let report = told("b-01", "--geometry-only");
    let of = |name: &str| {
        let boards = report["boards"].as_array().unwrap();
        boards.iter().filter(|board| board["product"] == name).count()
    };
    assert!(of("beam") <= 4, "{}", of("beam"));
    assert!(of("plank") > 4, "{}", of("plank"));
}

/// The mill sets places to a tenth of a millimetre: a step of a quarter of one is taken as three tenths, and said so.
#[test]
fn boards_lie_on_the_mills_grid_whatever_the_step() {
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let toml = toml.replace("\n[setting]\n", "\n[setting]\nstep = \"0.25 mm\"\n");
    let mill = fs::canonicalize("examples/mills").unwrap();
    let toml = toml.replace("../mills", mill.to_str().unwrap());
    let folder = folder("layout-step");
    fs::write(folder.join("job.toml"), toml).unwrap();
    let report: Value =
        serde_json::from_str(&quiet(&folder, "layout {}/job.toml --json", Exit::Good)).unwrap();
    assert_eq!(report["step_um"], 300);
    for board in report["boards"].as_array().unwrap() {
        for place in ["across_um", "height_um"] {
            assert_eq!(board[place].as_i64().unwrap() % 100, 0, "{board}");
        }
    }
}

/// A board that fits into no log of a hand's breadth.
#[test]
fn an_order_of_which_nothing_fits_is_told_as_by_plan() {
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mill = fs::canonicalize("examples/mills").unwrap();
    let toml = toml.replace("../mills", mill.to_str().unwrap());
    let toml = toml
        .replace("thickness = \"50 mm\"", "thickness = \"290 mm\"")
        .replace("\"25 mm\"\nwidth", "\"290 mm\"\nwidth");
    let folder = folder("layout-nothing");
    fs::write(folder.join("job.toml"), toml).unwrap();
    for verb in ["layout", "plan"] {
        let answer = call(&folder, &format!("{verb} {{}}/job.toml"));
        assert_eq!(answer.exit, Exit::Refused, "{verb}");
        let told = answer.said.contains("no board of the order fits into this log");
        assert!(told, "{verb}: {}", answer.said);
    }
    let toml = fs::read_to_string(folder.join("job.toml")).unwrap();
    fs::write(folder.join("none.toml"), toml.replace("most = 2\n", "most = 0\n")).unwrap();
    let said = call(&folder, "plan {}/none.toml").said;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("deck: the job wants none of it (`most = 0`);"),
        "{said}"
    );
}

/// What the best layout would bring is what it does bring, and it is told only beside the hand habit's.
#[test]
fn what_the_best_layout_would_bring_is_told_beside_the_hand_habit() {
    let folder = folder("layout-better");
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml.replace("../mills", mills.to_str().unwrap());
    let asked = toml.replace("\n[setting]\n", "\n[setting]\nlayout = \"best\"\n");
    fs::write(folder.join("best.toml"), asked).unwrap();
    let told = |line: &str| -> Value {
        let out = quiet(&folder, &format!("{line} --json"), Exit::Good);
        super::json::parsed(&out, "bunkside-plan")
    };
    let habit = format!("plan {} -o {{}}/habit", example("g-04"));
    let better = told(&habit)["better_layout"].clone();
    let best = told("plan {}/best.toml -o {}/best");
    assert_eq!(better["brings"], best["value"]["brings"]);
    let boards = best["boards"].as_array().unwrap().iter();
    let count: u64 = boards.map(|row| row["count"].as_u64().unwrap()).sum();
    assert_eq!(better["boards"], count);
    let [now, then] = ["planned_brings", "brings"].map(|key| better[key].as_f64().unwrap());
    assert!((better["more_percent"].as_f64().unwrap() - (then / now - 1.0) * 100.0).abs() < 1e-9);
    assert!(best["better_layout"].is_null(), "it is asked for");
    let out = quiet(&folder, &habit, Exit::Good);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = format!(
        "worth {now:.2} in the job's money; the best layout that can be sawn would bring {count} boards worth {then:.2}, {:.0} % more, but the order would not be filled as it is now (rail: 2 owed, 0 out of this log): write `layout = \"best\"` under [setting] only where that may be",
        (then / now - 1.0) * 100.0
    );
    assert!(out.contains(&words), "{out}");
    // Where nothing is owed it is offered without more.
    fs::write(folder.join("free.toml"), toml.replace("least = 2\n", "")).unwrap();
    assert_eq!(
        told("plan {}/free.toml -o {}/free")["better_layout"]["leaves_out"],
        Value::Array(Vec::new())
    );
    let free = quiet(&folder, "plan {}/free.toml -o {}/free", Exit::Good);
    let free = free.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        free.contains("% more: write `layout = \"best\"` under [setting] and plan again"),
        "{free}"
    );
    // Carried out as it was written it is the same; somebody's own cut plan is not held against another.
    let text = fs::read_to_string(folder.join("habit/plan.cut")).unwrap();
    let (own, _) = text.split_at(text.rfind("\nlayer").unwrap());
    fs::write(folder.join("own.cut"), own).unwrap();
    let again = |plan: &str| {
        told(&format!(
            "sequence {{}}/{plan} --job {} -o {{}}/own",
            example("g-04")
        ))["better_layout"]
            .take()
    };
    assert_eq!(again("habit/plan.cut"), better);
    assert!(again("own.cut").is_null());
    // The best layout is the hand habit's: one board that fits once.
    let (head, _) = toml.split_once("[[board]]").unwrap();
    let one = format!(
        "{head}[[board]]\nname = \"deck\"\nthickness = \"50 mm\"\nwidth = \"140 mm\"\nlengths = [\"3.6 m\"]\nprice = {{ each = 9.5 }}\nmost = 1\n"
    );
    fs::write(folder.join("one.toml"), one).unwrap();
    let one = told("plan {}/one.toml -o {}/one");
    assert!(
        one["better_layout"].is_null() && one["boards"][0]["count"] == 1,
        "{one}"
    );
    // Past A-02's metal it takes more than a few layouts that are run.
    let metal = told(&format!("plan {} -o {{}}/metal --by-habit", example("a-02")));
    assert!(metal["better_layout"].is_null());
}

/// What `-o` writes is the layout: its cut plan brings what was told, and nothing of an earlier plan is left beside it.
#[test]
fn a_layout_is_written_to_a_folder() {
    let folder = super::planned("layout-folder", "g-04");
    let own = fs::read_to_string(folder.join("plan.cut")).unwrap() + "# mine\n";
    fs::write(folder.join("plan.cut"), &own).unwrap();
    let line = format!("layout {} -o {{}}", example("g-04"));
    let answer = call(&folder, &line);
    assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
    assert!(
        answer
            .out
            .contains("files     DIR: plan.cut, ends.svg, layout.json\n"),
        "{}",
        answer.out
    );
    assert!(answer.said.contains("plan.1.cut"), "{}", answer.said);
    assert_eq!(fs::read_to_string(folder.join("plan.1.cut")).unwrap(), own);
    for old in [
        "moves.job",
        "moves.json",
        "audit.json",
        "report.html",
        "side.svg",
        "setting.svg",
    ] {
        assert!(!folder.join(old).exists(), "{old}");
    }
    let kept: Value = serde_json::from_slice(&fs::read(folder.join("layout.json")).unwrap()).unwrap();
    assert_eq!(kept, told("g-04", ""));
    let line = format!(
        "sequence {{}}/plan.cut --job {} -o {{}}/sawn --json",
        example("g-04")
    );
    let sawn: Value = serde_json::from_str(&quiet(&folder, &line, Exit::Good)).unwrap();
    let boards = sawn["boards"].as_array().unwrap().iter();
    let count: u64 = boards.map(|row| row["count"].as_u64().unwrap()).sum();
    assert_eq!(count, kept["boards"].as_array().unwrap().len() as u64);
    let ends = |folder: &std::path::Path| fs::read_to_string(folder.join("ends.svg")).unwrap();
    let pieces = |drawing: &str| drawing.matches("<text").count();
    assert_eq!(pieces(&ends(&folder)), pieces(&ends(&folder.join("sawn"))));
    // Nobody asked the rules, so that there are no moves to draw.
    let line = format!("layout {} --geometry-only -o {{}}/free", example("g-04"));
    let out = quiet(&folder, &line, Exit::Good);
    assert!(
        out.contains("files     DIR/free: plan.cut, layout.json\n"),
        "{out}"
    );
    assert!(!quiet(&folder, &format!("layout {}", example("g-04")), Exit::Good).contains("files "));
}

/// Nine boards of 50 by 20 mm on edge, the kerf half a step more than five: a column is up to a step larger than its board, which is
/// looked for inside it. The best layout finds as many as a cut plan brings that somebody wrote.
#[test]
fn a_board_counts_by_its_own_size_inside_a_larger_column() {
    let folder = folder("layout-nine");
    let mill = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/powered-165.toml");
    let job = format!(
        "mill = {mill:?}\n[log]\nname = \"T\"\nspecies = \"western larch\"\nstate = \"fresh\"\nlength = \"3 m\"\n\
         small_end = \"160 mm\"\nbutt = \"160 mm\"\nbutt_at = \"far\"\nbark = \"0 mm\"\nsmooth = false\n[setting]\n\
         near_end_at = \"0.6 m\"\nbed_clearance = \"25 mm\"\nstep = \"1 mm\"\nlayout = \"best\"\n[[board]]\nname = \"b0\"\n\
         thickness = \"20 mm\"\nwidth = \"50 mm\"\nlengths = [\"3 m\"]\nprice = {{ each = 1 }}\n"
    );
    fs::write(folder.join("job.toml"), job).unwrap();
    let mut plan = "plan \"T\"\nlayer down to 156 mm\n  slab\n".to_owned();
    let layers: [(i32, i32, &[i32]); 3] = [
        (130, -26, &[30]),
        (104, -62, &[-6, 50]),
        (48, -75, &[-49, -23, 3, 29, 55, 81]),
    ];
    for (floor, first, boards) in layers {
        plan.push_str(&format!("layer down to {floor} mm\n  take waste to {first} mm\n"));
        for to in boards {
            plan.push_str(&format!("  take board \"b0\" 3000 mm to {to} mm\n"));
        }
        if floor > 48 {
            plan.push_str("  take waste to edge\n");
        }
    }
    fs::write(folder.join("plan.cut"), plan).unwrap();
    for line in [
        "plan {}/job.toml -o {}/out --json",
        "sequence {}/plan.cut --job {}/job.toml -o {}/out --json",
    ] {
        let told: Value = serde_json::from_str(&quiet(&folder, line, Exit::Good)).unwrap();
        assert_eq!(told["boards"][0]["count"], 9, "{line}");
        assert_eq!(told["value"]["brings"], told["value"]["bound"], "{line}");
    }
}

/// Where the job says that the log has a core, it is drawn, and the key says what it is.
#[test]
fn a_core_is_drawn_where_it_lies() {
    let folder = folder("layout-core-drawn");
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml.replace("../mills", mills.to_str().unwrap());
    let drawn = |toml: &str| -> Vec<bool> {
        fs::write(folder.join("job.toml"), toml).unwrap();
        quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
        let page = |file: &str| fs::read_to_string(folder.join("out").join(file)).unwrap();
        let marks = ["ends.svg", "side.svg", "report.html"].map(|file| page(file).contains("class=\"core\""));
        let words = page("ends.svg").contains("core, 60 mm thick, 0.0 m to 3.0 m from the near end");
        marks.into_iter().chain([words]).collect()
    };
    assert_eq!(drawn(&toml), [false; 4]);
    let core = "[log.core]\nthick = \"60 mm\"\nfrom = \"0 m\"\nto = \"3 m\"\n\n[setting]";
    assert_eq!(drawn(&toml.replacen("[setting]", core, 1)), [true; 4]);
}

/// A price of nothing is no lack of room, and one too small to be kept is refused where it stands.
#[test]
fn a_price_of_nothing_is_told_as_that() {
    let folder = folder("priceless");
    let mills = fs::canonicalize("examples/mills").unwrap();
    let text = fs::read_to_string(example("g-04")).unwrap();
    let text = text.replace("../mills", &mills.display().to_string());
    let text = text.replace("level = ", "layout = \"best\"\nlevel = ");
    let priced = |verb: &str, price: &str, rest: &str| {
        let text = text.replace("{ per_m = 0.55 }", &format!("{{ per_m = {price} }}"));
        let text = text.replace("[9.50, 6.00]", rest).replace("4.20", rest);
        fs::write(folder.join("job.toml"), text).unwrap();
        let out = if verb == "plan" { "-o {}/out" } else { "" };
        let answer = call(&folder, &format!("{verb} {{}}/job.toml {out}"));
        let told = format!("{}{}", answer.said, answer.out);
        (answer.exit, told.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let (exit, told) = priced("layout", "0", "0");
    assert_eq!(exit, Exit::Refused, "{told}");
    assert!(
        told.contains("no board of the order brings anything at its price"),
        "{told}"
    );
    assert!(
        told.contains("write under `price` what the boards bring") && !told.contains("fits"),
        "{told}"
    );
    let (exit, told) = priced("plan", "0", "0");
    assert_eq!(exit, Exit::Good, "by the hand habit: {told}");
    assert!(!told.contains("brings nothing at its price"), "{told}");
    let nothing = "0.00 in the job's money: no board of the order brings anything at its price, so it is laid out by the hand habit";
    assert!(told.contains(nothing), "{told}");
    for verb in ["plan", "layout"] {
        let (exit, told) = priced(verb, "0.0004", "1");
        assert_eq!(exit, Exit::BadInput, "{told}");
        assert!(
            told.contains("per_m` is 0.0004, and less than a thousandth counts as nothing"),
            "{told}"
        );
        assert!(told.contains("write 0.001 or more, or 0"), "{told}");
    }
    assert_eq!(
        priced("layout", "0.0005", "1").0,
        Exit::Good,
        "rounded up, as ever"
    );
    let (exit, told) = priced("plan", "0", "4");
    assert_eq!(exit, Exit::Good, "{told}");
    assert!(
        told.contains("none of lath: it brings nothing at its price"),
        "{told}"
    );
}

/// What there is beside the best layout is told, drawn side by side and written as cut plans that can be sawn; without it in
/// the same folder all of that is gone again.
#[test]
fn other_layouts_are_told_drawn_and_written() {
    let folder = folder("layout-others");
    let line = format!("layout {} --others", example("p-07"));
    let text = quiet(&folder, &line, Exit::Good);
    insta::assert_snapshot!("layout-others-p-07", text);
    quiet(&folder, &(line + " -o {}/out"), Exit::Good);
    let told = told("p-07", "--others");
    let rows = told["others"].as_array().unwrap();
    assert_eq!(rows[0]["brings"], told["value"]);
    assert_eq!(rows[0]["bound"], told["bound"]);
    assert!(rows.len() > 3);
    let picture = fs::read_to_string(folder.join("out/others.svg")).unwrap();
    for row in rows {
        let number = row["number"].as_u64().unwrap();
        assert!(picture.contains(&format!(">{number}: the best of ")), "{number}");
        if number == 1 {
            continue;
        }
        assert!(row["brings"].as_f64() <= rows[0]["brings"].as_f64());
        let line = format!(
            "sequence {{}}/out/other-{number}.cut --job {} -o {{}}/sawn --json",
            example("p-07")
        );
        let sawn: Value = serde_json::from_str(&quiet(&folder, &line, Exit::Good)).unwrap();
        assert_eq!(sawn["totals"]["seconds"]["all"], row["seconds"], "{number}");
    }
    let line = format!("layout {} -o {{}}/out", example("p-07"));
    quiet(&folder, &line, Exit::Good);
    assert!(!folder.join("out/others.svg").exists() && !folder.join("out/other-2.cut").exists());
}

/// Where nobody asks whether it can be sawn, there is no time either.
#[test]
fn other_layouts_have_no_time_where_no_rule_is_asked() {
    let told = told("p-07", "--others --geometry-only");
    for row in told["others"].as_array().unwrap() {
        assert_eq!(row["seconds"], Value::Null);
        assert_eq!(row["unbeaten"], Value::Null);
    }
}
