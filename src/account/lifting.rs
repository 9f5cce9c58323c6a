//! Pieces that are too heavy to be lifted by those who work at the mill.

use bunkside_planner::physics::body::body_with_bark_kg;
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Pick;
use serde::Serialize;

use super::table::count;
use crate::job::Job;
use crate::measure::System;
use crate::trace::Trace;

/// What one person lifts at most, kilograms: the reference mass of ISO 11228-1 for grown people who work (from memory). Held close
/// and upright, on firm ground: what lies in a log's bed is none of that.
const ONE_LIFTS_KG: f64 = 25.0;
/// How many lift one piece together, at most: more are not counted on.
const TOGETHER: u8 = 2;

/// What is too heavy to be lifted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Lifting {
    /// How many people lift a piece: one or two.
    people: u8,
    /// What these lift at most, kilograms.
    limit_kg: f64,
    /// How many pieces weigh more, with their bark.
    pieces: usize,
    /// The number of the heaviest of those; none where there is none.
    heaviest: Option<u16>,
    /// What that one weighs, kilograms with its bark.
    heaviest_kg: Option<f64>,
    /// What is left on the bunks, where that weighs more too, kilograms with its bark.
    left_kg: Option<f64>,
}

/// How many lift one piece, and what these lift at most, kilograms.
fn limit(job: &Job) -> (u8, f64) {
    let people = job.setting.people.min(TOGETHER);
    (people, f64::from(people) * ONE_LIFTS_KG)
}

/// Whether a piece of so many kilograms is too heavy to be lifted by those who work there.
#[must_use]
pub fn is_heavy(job: &Job, kg: f64) -> bool {
    kg > limit(job).1
}

/// What is said of such a piece where it is taken away.
#[must_use]
pub const fn not_lifted(job: &Job) -> &'static str {
    if job.setting.is_alone() {
        "not to be lifted by one alone"
    } else {
        "not to be lifted by two"
    }
}

impl Lifting {
    /// That of a run; none where everything can be lifted.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Option<Self> {
        let (people, limit_kg) = limit(job);
        let freed = trace.moves.iter().flat_map(|traced| {
            let serials = traced.freed.iter().map(|piece| piece.serial);
            serials.zip(traced.freed_kg.iter().copied())
        });
        let heavy: Vec<(u16, f64)> = freed.filter(|(_, kg)| *kg > limit_kg).collect();
        let heaviest = heavy
            .iter()
            .copied()
            .reduce(|most, next| if next.1 > most.1 { next } else { most });
        let left = body_with_bark_kg(&trace.end, &setup.shape, Pick::Body, setup.log.density);
        let left_kg = Some(left).filter(|kg| *kg > limit_kg);
        let one = Self {
            people,
            limit_kg,
            pieces: heavy.len(),
            heaviest: heaviest.map(|(serial, _)| serial),
            heaviest_kg: heaviest.map(|(_, kg)| kg),
            left_kg,
        };
        (one.pieces > 0 || left_kg.is_some()).then_some(one)
    }

    /// It in a sentence.
    #[must_use]
    pub fn words(&self, system: System) -> String {
        let limit = system.mass(self.limit_kg);
        let mut what: Vec<String> = Vec::new();
        if let (Some(serial), Some(kg)) = (self.heaviest, self.heaviest_kg) {
            let (weigh, heaviest) = if self.pieces == 1 {
                ("weighs", "it is")
            } else {
                ("weigh", "the heaviest is")
            };
            what.push(format!(
                "{} {weigh} more than {limit}; {heaviest} piece {serial}, {}",
                count(self.pieces as u64, "piece"),
                system.about(kg)
            ));
        }
        if let Some(kg) = self.left_kg {
            let more = if what.is_empty() {
                format!(", more than {limit}")
            } else {
                String::new()
            };
            what.push(format!(
                "what is left on the bunks weighs {}{more}",
                system.about(kg)
            ));
        }
        let (who, way) = if self.people < TOGETHER {
            ("nobody lifts that alone", "or have a helper")
        } else {
            ("two people do not lift that", "or have a loader")
        };
        format!(
            "{}, bark counted as heavy as the wood; {who}: slide it off end by end on skids, {way} ({} for each: reference mass of ISO 11228-1, from \
             memory)",
            what.join("; "),
            system.mass(ONE_LIFTS_KG)
        )
    }
}
