//! The setting that was chosen for a log, told to people and programs.

use serde::Serialize;

use crate::job::Job;
use crate::layout::money;
use crate::measure::System;

/// A setting that was chosen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChosenSetting {
    /// How many there were to choose among.
    pub settings: usize,
    /// Hundredths of the way from level by the underside to level by the top.
    pub level_percent: u8,
    /// Centre line from the bed's, towards the exit side.
    pub offset_um: i64,
    /// Rolled from how it was measured, the top towards the entry side.
    pub turn_degrees: f64,
    /// What its best layout brings; null where a cut plan names the setting.
    pub brings: Option<f64>,
    /// The same at the first of the settings.
    pub first_brings: Option<f64>,
    /// No layout at any of them brings more, sawn or not.
    pub bound: Option<f64>,
    /// Whether the layouts were looked for that can be sawn, and one was found.
    pub sawn: bool,
    /// Whether no setting is left that might bring more.
    pub all: bool,
    /// What is written into the job to have the setting again.
    pub write: String,
    #[serde(skip)]
    first_is: String,
}

impl ChosenSetting {
    /// That of a job; none where its setting is told.
    #[must_use]
    pub fn of(job: &Job) -> Option<Self> {
        let chosen = job.chosen?;
        let figures = chosen.figures;
        let first_is = figures.map_or_else(String::new, |figures| {
            let (level, offset, turn) = figures.first_is;
            let system = System::of(job.inches);
            let shifted = if offset.wide() == 0 {
                String::new()
            } else {
                format!(", offset {}", system.size(offset))
            };
            let turned = if turn == 0 {
                String::new()
            } else {
                format!(", turned {} degrees", f64::from(turn) / 1e3)
            };
            let level = match level {
                50 => "level by the centre line".to_owned(),
                0 => "level by the underside".to_owned(),
                100 => "level by the top".to_owned(),
                other => format!("level {other}"),
            };
            format!("{level}{shifted}{turned}")
        });
        Some(Self {
            settings: chosen.settings,
            level_percent: job.setting.level.percent(),
            offset_um: job.setting.offset.wide(),
            turn_degrees: f64::from(job.setting.turn) / 1e3,
            brings: figures.map(|figures| money(figures.worth)),
            first_brings: figures.and_then(|figures| figures.first).map(money),
            bound: figures.map(|figures| money(figures.bound)),
            sawn: figures.is_some_and(|figures| figures.sawn),
            all: figures.is_none_or(|figures| figures.all),
            write: job.setting.lines(),
            first_is,
        })
    }

    /// The same in a sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let Some(brings) = self.brings else {
            return format!(
                "as it was chosen for the cut plan; to tell it in the job write in [setting]: {}",
                self.write
            );
        };
        let what = if self.sawn {
            "sawn by rule of thumb its"
        } else {
            "its"
        };
        let first = match self.first_brings {
            Some(first) => format!("{} brings {first:.2}", self.first_is),
            None => format!("{} nothing was found that can be sawn", self.first_is),
        };
        let left = if self.all {
            String::new()
        } else {
            "; not all that promise more were looked into".to_owned()
        };
        let settings = match self.settings {
            1 => "the only one that there is: no other makes a difference".to_owned(),
            many => format!("chosen among {many} settings"),
        };
        format!(
            "{settings}; {what} best layout brings {brings:.2}, {first}{left}; to have it again write in [setting]: {}",
            self.write
        )
    }
}
