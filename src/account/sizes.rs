//! How large boards are sawn that are wanted in another size.

use bunkside_protocol::Length;
use serde::Serialize;

use super::cuts::times;
use crate::job::Job;
use crate::measure::System;

/// A product that is sawn larger than it is wanted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Sized {
    /// What it is called.
    pub name: String,
    /// Thickness that is wanted.
    pub wanted_thickness_um: Length,
    /// Width that is wanted.
    pub wanted_width_um: Length,
    /// Thickness as it is sawn.
    pub thickness_um: Length,
    /// Width as it is sawn.
    pub width_um: Length,
    /// Thickness and width where it lies flat sawn as a whole, if it is smaller there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flat: Option<BySize>,
    /// The same where it lies quarter sawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quarter: Option<BySize>,
}

/// Thickness and width.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct BySize {
    /// Thickness.
    pub thickness_um: Length,
    /// Width.
    pub width_um: Length,
}

impl Sized {
    /// All products of a job that are sawn larger.
    #[must_use]
    pub fn all(job: &Job) -> Vec<Self> {
        let sized = job.boards.iter().filter_map(|board| {
            let [wanted_thickness_um, wanted_width_um] = board.wanted?;
            let size = |[thickness_um, width_um]: [Length; 2]| BySize {
                thickness_um,
                width_um,
            };
            let [flat, quarter] = board.by_grain.map(|by_grain| by_grain.map(size));
            Some(Self {
                name: board.name.clone(),
                wanted_thickness_um,
                wanted_width_um,
                thickness_um: board.thickness,
                width_um: board.width,
                flat,
                quarter,
            })
        });
        sized.collect()
    }

    /// What is told of them: what is allowed for, then each.
    #[must_use]
    pub fn lines(job: &Job) -> Vec<String> {
        let system = System::of(job.inches);
        let all = Self::all(job);
        let Some(finish) = job.finish.filter(|_| !all.is_empty()) else {
            return Vec::new();
        };
        let allowed = finish.words(|size| system.size(size)).join("; ");
        let each = all.iter().map(|one| {
            let by_grain = [(one.flat, "flat"), (one.quarter, "quarter")]
                .into_iter()
                .filter_map(|(size, how)| {
                    let size = size?;
                    let size = times(system, size.width_um, size.thickness_um);
                    Some(format!(", {size} where it lies {how} sawn"))
                });
            format!(
                "{}: {} wanted, {} sawn{}",
                one.name,
                times(system, one.wanted_width_um, one.wanted_thickness_um),
                times(system, one.width_um, one.thickness_um),
                by_grain.collect::<String>()
            )
        });
        std::iter::once(format!("sawn larger than wanted, by {allowed}"))
            .chain(each)
            .collect()
    }
}
