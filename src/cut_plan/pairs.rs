//! What can be wrong with two boards end to end that only a whole job tells: what the trims leave of the log, which
//! lengths a product has, and how large it is.

use bunkside_protocol::{Length, Position};

use super::document::{ColumnLine, Document, Pair, Statement, What};
use crate::account::cuts::times;
use crate::diagnostic::Diagnostic;
use crate::job::{BoardSpec, Job};
use crate::measure::System;

impl Document {
    /// What is wrong with the columns of two boards, given the job that the plan is for. What [`Document::lower`] tells
    /// is not told again.
    #[must_use]
    pub fn check_pairs(&self, job: &Job) -> Vec<Diagnostic> {
        let mut check = Check {
            job,
            system: System::of(job.inches),
            floors: [None; 2],
            corner: None,
            said: Vec::new(),
        };
        for statement in self.statements() {
            match statement {
                Statement::Layer(line) => {
                    check.floors = [check.floors[1], Some(line.floor.value)];
                    check.corner = None;
                }
                Statement::Column(line) => check.column(line),
                // Nobody knows where the next column begins, or the layer ends.
                Statement::Broken(_) => {
                    check.floors = [None; 2];
                    check.corner = None;
                }
                Statement::Plan(_) | Statement::Hold(_) | Statement::Slab(_) => {}
            }
        }
        check.said
    }
}

struct Check<'a> {
    job: &'a Job,
    system: System,
    /// The floor of the layer above and of this one.
    floors: [Option<Position>; 2],
    /// The place that the next column begins at.
    corner: Option<Position>,
    said: Vec<Diagnostic>,
}

impl Check<'_> {
    fn column(&mut self, line: &ColumnLine) {
        let begins = core::mem::replace(&mut self.corner, line.place.value);
        let What::Pair(pair) = &line.what else {
            return;
        };
        self.lengths(pair);
        let [Some(near), Some(far)] = [&pair.near, &pair.far].map(|board| self.spec(&board.name.value))
        else {
            return;
        };
        let of_far: Vec<[Length; 2]> = far.sizes().map(|(_, size)| size).collect();
        let sizes = near.sizes().map(|(_, size)| size);
        let both: Vec<[Length; 2]> = sizes.filter(|size| of_far.contains(size)).collect();
        let Some([thick, wide]) = both.first().copied() else {
            let message = format!(
                "\"{}\" is {} and \"{}\" is {}",
                near.name.escape_debug(),
                times(self.system, near.width, near.thickness),
                far.name.escape_debug(),
                times(self.system, far.width, far.thickness)
            );
            let help = "two boards of one column have one section: put them in columns of their own";
            self.said
                .push(Diagnostic::error(pair.far.name.span, message).with_help(help));
            return;
        };
        let kerf = self.job.mill.blade.kerf;
        let grid = self.job.mill.grid;
        let between = |low: Option<Position>, high: Option<Position>| {
            Some(high?.snapped(grid) - low?.snapped(grid) - kerf)
        };
        let width = between(begins, line.place.value);
        let height = between(self.floors[1], self.floors[0]);
        let reaches = |size: Option<Length>, wanted: Length| size.is_none_or(|size| size + grid >= wanted);
        let fits = |across, up| reaches(width, across) && reaches(height, up);
        let large = |[thick, wide]: &[Length; 2]| fits(*wide, *thick) || fits(*thick, *wide);
        if !both.iter().any(large) {
            let size = |size: Option<Length>| size.map_or("any".to_owned(), |size| self.system.size(size));
            let message = format!(
                "this column is {} wide and {} high without the kerfs, too small for {}",
                size(width),
                size(height),
                times(self.system, wide, thick)
            );
            let help = "move its place or its floor, or name products that fit";
            self.said
                .push(Diagnostic::error(pair.span(), message).with_help(help));
        }
    }

    fn spec(&self, name: &str) -> Option<&BoardSpec> {
        self.job.boards.iter().find(|spec| spec.name == name)
    }

    /// Whether each has a length of its product, and both have room between the trims.
    fn lengths(&mut self, pair: &Pair) {
        let (log, trim) = (self.job.length.wide(), self.job.end_trim);
        let mut together = 0;
        for board in [&pair.near, &pair.far] {
            let Some(length) = &board.length else {
                return;
            };
            together += length.value.wide();
            let Some(spec) = self.spec(&board.name.value) else {
                continue;
            };
            if length.value.wide() <= log && !spec.lengths.contains(&length.value) {
                let message = format!(
                    "\"{}\" is not ordered {} long",
                    spec.name.escape_debug(),
                    self.system.run(length.value)
                );
                let known: Vec<String> = spec.lengths.iter().map(|one| self.system.run(*one)).collect();
                let help = format!("its lengths are {}", known.join(", "));
                self.said
                    .push(Diagnostic::error(length.span, message).with_help(help));
            }
        }
        let usable = log - 2 * trim.wide();
        if usable < together && together <= log {
            let [together, usable] = [together, usable].map(|um| self.system.run(Length::um(um.max(0))));
            let message = format!(
                "two boards of {together} together, and {usable} of the log are left between the trims"
            );
            let help = format!(
                "write shorter lengths, or one board; {} is trimmed at each end (`log.end_trim` of the job)",
                self.system.size(trim)
            );
            self.said
                .push(Diagnostic::error(pair.span(), message).with_help(help));
        }
    }
}
