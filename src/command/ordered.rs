//! What `order` found, for people and programs.

use std::time::Duration;

use bunkside_planner::plan::{Board, End};
use bunkside_protocol::Length;
use serde::Serialize;

use crate::account::grain::as_sawn;
use crate::account::pieces::{Region, regions};
use crate::account::table::{Side, Table, count, listed, wrapped};
use crate::account::value::money_words;
use crate::allot::{Allotment, Demand, Lot, Pattern, Sawn, brings};
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::layout::money;
use crate::measure::System;
use crate::yard::Yard;

/// Characters of a line.
const WIDTH: usize = 100;

/// What the answer is made from.
pub(super) struct Shared<'s> {
    /// The order's file.
    pub(super) name: &'s str,
    pub(super) yard: &'s Yard,
    pub(super) lots: &'s [Lot<'s>],
    pub(super) allotment: &'s Allotment,
    pub(super) threads: usize,
}

#[derive(Serialize)]
pub(super) struct Report {
    format: &'static str,
    version: u32,
    mill: String,
    logs: usize,
    /// How many boards come out of all logs.
    pub(super) boards: usize,
    brings: f64,
    missing_costs: f64,
    net: f64,
    bound: Option<f64>,
    gap: Option<f64>,
    gap_percent: Option<f64>,
    proven: bool,
    stopped: bool,
    products: Vec<Product>,
    plans: Vec<Plan>,
    left: Vec<Left>,
    seconds: f64,
    rounds: u32,
    layouts: usize,
    caution: &'static str,
}

/// How many of a product are wanted, and how many come out.
#[derive(Serialize)]
struct Product {
    name: String,
    least: u32,
    most: Option<u32>,
    count: u32,
    short: u32,
    missing_costs_each: f64,
}

/// What is sawn of a log.
#[derive(Serialize)]
struct Plan {
    log: String,
    brings: f64,
    fills: f64,
    boards: Vec<Boards>,
    #[serde(skip)]
    rows: Vec<Row>,
}

/// Boards of a log that are alike.
#[derive(Serialize)]
struct Boards {
    product: String,
    length_um: Length,
    count: u32,
}

/// One board as a row of a table.
struct Row {
    product: String,
    /// Length, thickness, width.
    sizes: [Length; 3],
    end: &'static str,
    brings: f64,
}

/// A log that is not sawn.
#[derive(Serialize)]
struct Left {
    log: String,
    why: &'static str,
}

impl Report {
    pub(super) fn of(shared: &Shared<'_>, sawn: &[Option<Sawn>], took: Duration) -> Self {
        let demands = &shared.yard.demands;
        let patterns: Vec<Option<Pattern>> = sawn
            .iter()
            .map(|sawn| Some(sawn.as_ref()?.pattern.clone()))
            .collect();
        let net = brings(&patterns, demands);
        let gross: i64 = patterns.iter().flatten().map(|pattern| pattern.worth).sum();
        let gap = shared.allotment.bound.map(|bound| (bound - net).max(0));
        let share = |gap: i64| (gross > 0).then(|| 100.0 * money(gap) / money(gross));
        let plans: Vec<Plan> = sequence(&patterns, demands)
            .into_iter()
            .filter_map(|(log, fills)| Some(plan(&shared.lots[log], sawn[log].as_ref()?, fills)))
            .collect();
        Self {
            format: "bunkside-order",
            version: 1,
            mill: shared
                .lots
                .first()
                .map(|lot| lot.job.mill_name.clone())
                .unwrap_or_default(),
            logs: shared.lots.len(),
            boards: plans.iter().map(|plan| plan.rows.len()).sum(),
            brings: money(gross),
            missing_costs: money(gross - net),
            net: money(net),
            bound: shared.allotment.bound.map(|bound| money(bound.max(net))),
            gap: gap.map(money),
            gap_percent: gap.and_then(share),
            proven: gap == Some(0),
            stopped: shared.allotment.stopped,
            products: products(shared, &patterns),
            left: left(shared, sawn),
            plans,
            seconds: took.as_secs_f64(),
            rounds: shared.allotment.rounds,
            layouts: shared.allotment.known,
            caution: CAUTION,
        }
    }

    /// For people.
    pub(super) fn text(&self, shared: &Shared<'_>, files: &str) -> String {
        let line = |head: &str, words: &str| wrapped(head, words, WIDTH);
        let stopped = if self.stopped {
            ", stopped before it was done"
        } else {
            ""
        };
        let effort = format!(
            "{:.1} s on {}{stopped}; {} compared, their prices set in {}",
            self.seconds,
            count(shared.threads as u64, "core"),
            count(self.layouts as u64, "layout"),
            count(self.rounds, "round"),
        );
        let mut text = format!(
            "{}: {} on {}\n\n",
            shared.name,
            count(self.logs as u64, "log"),
            self.mill
        );
        text.push_str(&line("value     ", &self.value_words()));
        text.push_str(&line("proof     ", &self.proof_words()));
        if let Some(short) = self.short_words() {
            text.push_str(&line("short     ", &short));
        }
        for left in &self.left {
            text.push_str(&line("not sawn  ", &format!("{}: {}", left.log, left.why)));
        }
        if !files.is_empty() {
            text.push_str(&line("files     ", files));
        }
        text.push_str(&line("time      ", &effort));
        text.push_str(&format!("\n{}\n", self.products_text()));
        if !self.plans.is_empty() {
            let rule = "next is always the log that brings most, what is still owed counted at what missing it would cost";
            text.push_str(&line("saw first what stands first: ", rule));
            text.push_str(&format!("\n{}\n", self.plans_text(shared)));
        }
        text + &CAUTION_LINES.join("\n") + "\n"
    }

    fn value_words(&self) -> String {
        let brings = format!(
            "{} in the job's money from {}",
            money_words(self.brings),
            count(self.boards as u64, "board")
        );
        if self.missing_costs > 0.0 {
            format!(
                "{brings}; with what is owed and missing counted as {} against it, {}",
                money_words(self.missing_costs),
                money_words(self.net)
            )
        } else {
            brings
        }
    }

    fn proof_words(&self) -> String {
        let (Some(bound), Some(gap)) = (self.bound, self.gap) else {
            return "none: it was stopped before every log was looked at".to_owned();
        };
        if self.proven {
            return "proven: no choice of layouts of these logs brings more, on the step they are searched on".to_owned();
        }
        let percent = self.gap_percent.map_or_else(String::new, |percent| {
            // Not rounded down to nothing.
            let percent = (percent * 100.0).ceil() / 100.0;
            format!(", {percent:.2} % of what the boards bring")
        });
        format!(
            "not proven: no choice of layouts brings more than {}, sawn or not; the gap is {}{percent}",
            money_words(bound),
            money_words(gap)
        )
    }

    fn short_words(&self) -> Option<String> {
        let short = self.products.iter().filter(|product| product.short > 0);
        let short: Vec<String> = short
            .map(|product| format!("{} of {} {}", product.short, product.least, product.name))
            .collect();
        (!short.is_empty()).then(|| format!("these are owed and come out of no log: {}", listed(&short)))
    }

    fn products_text(&self) -> String {
        let mut table = Table::new(&[
            ("product", Side::Left),
            ("owed", Side::Right),
            ("can be used", Side::Right),
            ("come out", Side::Right),
            ("short", Side::Right),
        ]);
        for product in &self.products {
            let short = if product.short > 0 {
                product.short.to_string()
            } else {
                String::new()
            };
            table.row([
                product.name.clone(),
                product.least.to_string(),
                product
                    .most
                    .map_or_else(|| "any".to_owned(), |most| most.to_string()),
                product.count.to_string(),
                short,
            ]);
        }
        table.text(0)
    }

    fn plans_text(&self, shared: &Shared<'_>) -> String {
        let inches = shared.lots.first().is_some_and(|lot| lot.job.inches);
        let system = System::of(inches);
        let mut table = Table::new(&[
            ("", Side::Right),
            ("log", Side::Left),
            ("brings", Side::Right),
            ("boards", Side::Left),
        ]);
        for (number, plan) in self.plans.iter().enumerate() {
            table.row([
                format!("{}.", number + 1),
                plan.log.clone(),
                money_words(plan.brings),
                "|".to_owned(),
            ]);
        }
        let heads = table.text(0);
        let mut lines = heads.lines();
        let mut text = lines.next().map_or_else(String::new, |line| format!("{line}\n"));
        for (head, plan) in lines.zip(&self.plans) {
            let boards: Vec<String> = plan
                .boards
                .iter()
                .map(|boards| {
                    format!(
                        "{} {} {}",
                        boards.count,
                        boards.product,
                        system.run(boards.length_um)
                    )
                })
                .collect();
            // No board parts from its length at a line's end.
            let whole = boards.iter().map(|boards| boards.replace(' ', "\u{a0}"));
            let words = whole.collect::<Vec<_>>().join(", ");
            text.push_str(&wrapped(head.trim_end_matches('|'), &words, WIDTH).replace('\u{a0}', " "));
        }
        text
    }

    /// A row for each board, in the order to saw the logs in.
    pub(super) fn boards_csv(&self, inches: bool) -> String {
        let unit = if inches { "in" } else { "mm" };
        let mut text =
            format!("order,log,product,length ({unit}),thickness ({unit}),width ({unit}),from,brings\n");
        for (number, plan) in self.plans.iter().enumerate() {
            for row in &plan.rows {
                let [length, thickness, width] = row.sizes.map(|size| decimal(size, inches));
                text.push_str(&format!(
                    "{},{},{},{length},{thickness},{width},{} end,{}\n",
                    number + 1,
                    cell(&plan.log),
                    cell(&row.product),
                    row.end,
                    row.brings
                ));
            }
        }
        text
    }
}

/// A length as a plain number.
fn decimal(length: Length, inches: bool) -> String {
    let unit = if inches { 25_400 } else { 1_000 };
    let thousandths = (length.wide() * 1_000 + unit / 2) / unit;
    crate::input::thousandths(thousandths)
}

/// A text as a cell; one that a spreadsheet would work out as a formula begins with an apostrophe, as those take it for text (common
/// practice, no source).
fn cell(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@']) {
        return cell(&format!("'{text}"));
    }
    if text.contains([',', ';', '"', '\n', '\r', '\t']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// The logs in the order to saw them in, each with what it brings as what is owed stands then: next is the one that brings most so.
fn sequence(patterns: &[Option<Pattern>], demands: &[Demand]) -> Vec<(usize, i64)> {
    let mut left = demands.to_vec();
    let mut open: Vec<usize> = (0..patterns.len())
        .filter(|log| patterns[*log].is_some())
        .collect();
    let mut order = Vec::new();
    loop {
        let brings = |log: usize| {
            let Some(pattern) = &patterns[log] else { return 0 };
            let saved = left.iter().zip(&pattern.counts);
            let saved = saved.map(|(left, count)| i64::from(left.least.min(*count)) * left.missing);
            pattern.worth + saved.sum::<i64>()
        };
        // Of several alike the first.
        let best = open.iter().copied().rev().max_by_key(|log| brings(*log));
        let Some(log) = best else { return order };
        order.push((log, brings(log)));
        open.retain(|other| *other != log);
        for (left, count) in left
            .iter_mut()
            .zip(patterns[log].iter().flat_map(|pattern| &pattern.counts))
        {
            left.least = left.least.saturating_sub(*count);
        }
    }
}

fn products(shared: &Shared<'_>, patterns: &[Option<Pattern>]) -> Vec<Product> {
    let Some(lot) = shared.lots.first() else {
        return Vec::new();
    };
    let demands = &shared.yard.demands;
    let made = crate::allot::made(patterns, demands.len());
    let all = lot.job.boards.iter().zip(demands).zip(made);
    all.map(|((board, demand), count)| Product {
        name: board.name.clone(),
        least: demand.least,
        most: demand.most,
        count,
        short: demand.least.saturating_sub(count),
        missing_costs_each: money(demand.missing),
    })
    .collect()
}

fn plan(lot: &Lot<'_>, sawn: &Sawn, fills: i64) -> Plan {
    let job = lot.job;
    let mut boards: Vec<Boards> = Vec::new();
    let mut rows = Vec::new();
    let regions = regions(&lot.setup, &sawn.plan);
    let mut placed: Vec<(&Region, Board)> = Vec::new();
    for region in &regions {
        placed.extend(region.use_.boards().map(|board| (region, board)));
    }
    placed.sort_by_key(|(_, board)| (board.product, board.length));
    for (region, board) in placed {
        let spec = &job.boards[usize::from(board.product)];
        // Where rings tell its size, that of its place.
        let sized = as_sawn((job, &lot.setup), region, spec, board);
        let sized = sized.as_deref().unwrap_or(spec);
        match boards.last_mut() {
            Some(last) if last.product == spec.name && last.length_um == board.length => last.count += 1,
            _ => boards.push(Boards {
                product: spec.name.clone(),
                length_um: board.length,
                count: 1,
            }),
        }
        rows.push(Row {
            product: spec.name.clone(),
            sizes: [board.length, sized.thickness, sized.width],
            end: match board.end {
                End::Near => "near",
                End::Far => "far",
            },
            brings: money(spec.value(board.length).unwrap_or(0)),
        });
    }
    Plan {
        log: job.name.clone(),
        brings: money(sawn.pattern.worth),
        fills: money(fills),
        boards,
        rows,
    }
}

/// The logs that are not sawn, and why.
fn left(shared: &Shared<'_>, sawn: &[Option<Sawn>]) -> Vec<Left> {
    let logs = shared.lots.iter().zip(sawn).zip(&shared.allotment.chosen);
    logs.filter(|((_, sawn), _)| sawn.is_none())
        .map(|((lot, _), chosen)| Left {
            log: lot.job.name.clone(),
            why: match chosen {
                Some(_) => "what was to come out of it cannot be sawn by rule of thumb; plan it by itself",
                None if shared.allotment.stopped => "it was stopped before anything was found for it",
                None => "nothing that comes out of it is wanted beside the other logs",
            },
        })
        .collect()
}
