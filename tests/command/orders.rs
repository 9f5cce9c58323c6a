//! `order`.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use serde_json::Value;

use super::json::parsed;
use super::{call, fails, folder, quiet};

const BARN: &str = "examples/orders/barn.toml";

/// What a run tells, without how long it took.
fn timeless(text: &str) -> String {
    let line = |line: &str| {
        if line.starts_with("time      ") {
            "time      [...]".to_owned()
        } else {
            line.to_owned()
        }
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn an_order_is_told_with_what_to_saw_of_each_log() {
    let folder = folder("order-text");
    let text = quiet(&folder, &format!("order {BARN}"), Exit::Good);
    insta::assert_snapshot!("order-barn", timeless(&text));
}

/// Whatever is counted twice agrees: by logs, by products, by rows; no limit is passed and the bound holds.
#[test]
fn figures_agree() {
    let folder = folder("order-json");
    let report = parsed(
        &quiet(&folder, &format!("order {BARN} --json -o {{}}/out"), Exit::Good),
        "bunkside-order",
    );
    let number = |value: &Value| value.as_f64().unwrap();
    let plans = report["plans"].as_array().unwrap();
    let of_plans: f64 = plans.iter().map(|plan| number(&plan["brings"])).sum();
    assert!((of_plans - number(&report["brings"])).abs() < 1e-6);
    let net = number(&report["brings"]) - number(&report["missing_costs"]);
    assert!((net - number(&report["net"])).abs() < 1e-6);
    assert!(number(&report["net"]) <= number(&report["bound"]) + 1e-9);
    assert_eq!(report["proven"], number(&report["gap"]) == 0.0);
    let mut missing = 0.0;
    for product in report["products"].as_array().unwrap() {
        let made: i64 = plans
            .iter()
            .flat_map(|plan| plan["boards"].as_array().unwrap())
            .filter(|boards| boards["product"] == product["name"])
            .map(|boards| boards["count"].as_i64().unwrap())
            .sum();
        assert_eq!(product["count"], made, "{product}");
        assert!(
            product["most"].as_i64().is_none_or(|most| made <= most),
            "{product}"
        );
        missing += number(&product["short"]) * number(&product["missing_costs_each"]);
    }
    assert!((missing - number(&report["missing_costs"])).abs() < 1e-6);
    let rows = fs::read_to_string(folder.join("out/boards.csv")).unwrap();
    assert_eq!(
        rows.lines().count() - 1,
        report["boards"].as_u64().unwrap() as usize
    );
    let of_rows: f64 = rows
        .lines()
        .skip(1)
        .map(|row| row.rsplit(',').next().unwrap().parse::<f64>().unwrap())
        .sum();
    assert!((of_rows - of_plans).abs() < 1e-6);
    let told: Value =
        serde_json::from_str(&fs::read_to_string(folder.join("out/order.json")).unwrap()).unwrap();
    assert_eq!(told["plans"], report["plans"]);
}

/// Each log's folder is one as of `plan`, with a job that goes with it: everything can be asked of it.
#[test]
fn each_log_has_a_plan_that_holds() {
    let folder = folder("order-plans");
    let report: Value = serde_json::from_str(&quiet(
        &folder,
        &format!("order {BARN} --json -o {{}}"),
        Exit::Good,
    ))
    .unwrap();
    for plan in report["plans"].as_array().unwrap() {
        let log = plan["log"].as_str().unwrap();
        let line = format!("audit {{}}/{log}/moves.job --job {{}}/{log}/job.toml --json");
        // A log may be too short for some lengths, which its job then warns of.
        let answer = call(&folder, &line);
        assert_eq!(answer.exit, Exit::Good, "{log}: {}", answer.said);
        let audit: Value = serde_json::from_str(&answer.out).unwrap();
        assert_ne!(audit["verdict"], "refused", "{log}");
        assert!(audit["made_for_another"].as_array().unwrap().is_empty(), "{log}");
    }
    let first = report["plans"][0]["log"].as_str().unwrap();
    let line =
        format!("sequence {{}}/{first}/plan.cut --job {{}}/{first}/job.toml --by-habit --json -o {{}}/again");
    // Planned anew by itself, a log's job brings the boards that the order has of it.
    let anew = format!("plan {{}}/{first}/job.toml --json -o {{}}/anew");
    for line in [line, anew] {
        let again: Value = serde_json::from_str(&call(&folder, &line).out).unwrap();
        assert!(again["owed"].as_array().unwrap().is_empty(), "{line}");
        assert!(again["spoilt"].as_array().unwrap().is_empty(), "{line}");
    }
}

/// A job is an order over one log; the other way round it is told what to do.
#[test]
fn one_log_is_an_order_and_an_order_is_no_job() {
    let folder = folder("order-kinds");
    let report: Value = serde_json::from_str(&quiet(
        &folder,
        "order examples/jobs/g-04.toml --json",
        Exit::Good,
    ))
    .unwrap();
    assert_eq!(
        (&report["logs"], &report["proven"]),
        (&1.into(), &true.into()),
        "{report}"
    );
    let said = fails(&folder, &format!("plan {BARN}"), Exit::BadInput);
    assert!(
        said.contains("is an order over many logs, not a job") && said.contains("`bunkside order"),
        "{said}"
    );
    let said = fails(&folder, "order examples/mills/powered-165.toml", Exit::BadInput);
    assert!(
        said.contains("a mill profile, not an order over many logs"),
        "{said}"
    );
    let said = fails(
        &folder,
        &format!("order {BARN} --stop-after soon"),
        Exit::BadInput,
    );
    assert!(
        said.contains("--stop-after soon") && said.contains("30 s"),
        "{said}"
    );
}

/// With no time at all there is still an answer: nothing is claimed that is not known.
#[test]
fn what_is_stopped_says_so() {
    let folder = folder("order-stopped");
    let answer = call(&folder, &format!("order {BARN} --stop-after 0s --json"));
    let report: Value = serde_json::from_str(&answer.out).unwrap();
    assert_eq!(
        (&report["stopped"], &report["proven"]),
        (&true.into(), &false.into()),
        "{report}"
    );
}

/// A log that is not sawn any more leaves no moves behind.
#[test]
fn what_an_earlier_order_left_is_gone() {
    let folder = folder("order-left");
    let mill = fs::canonicalize("examples/mills/powered-165.toml").unwrap();
    let order = |most: u32, logs: &str| {
        let text = format!(
            "mill = \"{}\"\nlogs = \"logs.csv\"\n[every_log]\nspecies = \"western larch\"\nbark = \"10 mm\"\n[setting]\nnear_end_at = \"0.6 m\"\n[[board]]\nname = \"post\"\n\
             thickness = \"100 mm\"\nwidth = \"100 mm\"\nlengths = [\"3.6 m\"]\nprice = {{ each = 9 }}\nmost = {most}\n",
            mill.display()
        );
        fs::write(folder.join("order.toml"), text).unwrap();
        let sheet = "name;length (m);small_end (mm);butt (mm);butt_at\nA;3.7;240;270;far\n";
        fs::write(folder.join("logs.csv"), format!("{sheet}{logs}")).unwrap();
        quiet(&folder, "order {}/order.toml -o {}/out", Exit::Good)
    };
    let moves = |log: &str| Path::new(&folder).join(format!("out/{log}/moves.job")).exists();
    let both = "B;3.7;240;270;far\n";
    order(9, both);
    assert!(moves("A") && moves("B"));
    // Of B nothing is told any more; what somebody planned there by itself stays.
    let own = folder.join("out/C");
    fs::create_dir_all(&own).unwrap();
    fs::write(own.join(".bunkside"), "log C\n0000000000000001 moves.job\n").unwrap();
    fs::write(own.join("moves.job"), "moves").unwrap();
    order(9, "");
    assert!(moves("A") && !moves("B") && moves("C"));
    assert!(!folder.join("out/B/job.toml").exists());
    order(9, both);
    let text = order(1, both);
    assert!(moves("A") != moves("B"), "{text}");
    assert!(
        text.contains("nothing that comes out of it is wanted beside the other logs"),
        "{text}"
    );
}

/// A spreadsheet takes what begins so for a formula, whoever wrote it.
#[test]
fn no_name_is_a_formula_in_the_table_of_boards() {
    let folder = folder("order-formula");
    let mills = fs::canonicalize("examples/mills").unwrap();
    let order = fs::read_to_string(BARN).unwrap();
    let order = order.replace("../mills", mills.to_str().unwrap());
    let order = order.replace("\"stud\"", "\"=stud, 2 m\"");
    fs::write(folder.join("order.toml"), order).unwrap();
    let table = fs::read_to_string("examples/orders/barn.csv").unwrap();
    let few: Vec<&str> = table.lines().take(3).collect();
    fs::write(folder.join("barn.csv"), few.join("\n").replace("L-01", "@L-01")).unwrap();
    let answer = call(&folder, "order {}/order.toml -o {}/out");
    assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
    let rows = fs::read_to_string(folder.join("out/boards.csv")).unwrap();
    assert!(
        rows.contains(",\"'=stud, 2 m\",") && rows.contains(",'@L-01,"),
        "{rows}"
    );
    assert!(
        !rows.contains(",=") && !rows.contains(",@") && !rows.contains(",\"="),
        "{rows}"
    );
}

/// Where rings tell how large a board is sawn, the table of boards has it as it comes out of its place, not as large as anywhere.
#[test]
fn the_table_of_boards_has_sizes_by_their_grain() {
    let folder = folder("order-grain");
    let mills = fs::canonicalize("examples/mills").unwrap();
    let order = fs::read_to_string(BARN).unwrap();
    let order = order.replace("../mills", mills.to_str().unwrap()).replace(
        "[every_log]\n",
        "[finish]\ngrain = \"as_it_lies\"\nmoisture_percent = 12\n\n[every_log]\n",
    );
    fs::write(folder.join("order.toml"), order).unwrap();
    let table = fs::read_to_string("examples/orders/barn.csv").unwrap();
    let few: Vec<&str> = table.lines().take(4).collect();
    fs::write(folder.join("barn.csv"), few.join("\n")).unwrap();
    let answer = call(&folder, "order {}/order.toml --json -o {}/out");
    assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
    let rows = fs::read_to_string(folder.join("out/boards.csv")).unwrap();
    let mut sizes: Vec<[&str; 3]> = rows
        .lines()
        .skip(1)
        .map(|row| {
            let cells: Vec<&str> = row.split(',').collect();
            [cells[2], cells[4], cells[5]]
        })
        .collect();
    sizes.sort_unstable();
    sizes.dedup();
    let products: std::collections::BTreeSet<&str> = sizes.iter().map(|[product, ..]| *product).collect();
    assert!(sizes.len() > products.len(), "{sizes:?}");
}
