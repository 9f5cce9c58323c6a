//! Which of the settings that a job leaves open brings most.
//!
//! Of every setting it is first worked out what no layout there can be worth more than (`bound_on`, sizes rounded to a
//! millimetre). Then the settings are looked into from the most promising on down: the best layout there is on the job's step, and
//! after it the best that can be sawn. That ends when no setting is left that might come to more than the best one found, or to as
//! much and lies nearer to level by the centre line. Four are looked into at a time, however many cores there are, so that what is
//! found hangs on the job alone.

use bunkside_planner::replay::Setup;

use super::sawable::sawn_like;
use super::{BOUND_STEP, Layout, best, bound_on_any_step, roughly_over};
use crate::job::{Chosen, Figures, Job};
use crate::spread::{cores, each};

/// How many settings are looked into at a time.
const AT_A_TIME: usize = 4;

/// In no more settings than this it is looked for a layout that can be sawn.
const SAWN_MOST: usize = 40;

/// A setting, and what is known of it.
#[derive(Debug)]
struct Look<'j> {
    job: &'j Job,
    /// Nothing there is worth more.
    most: i64,
    /// Nor is anything wherever floors and corners lie.
    anywhere: Anywhere,
    stage: Stage,
}

/// What no layout at a setting is worth more than, wherever its floors and corners lie.
#[derive(Clone, Copy, Debug)]
struct Anywhere {
    bound: i64,
    /// Whether it was found on the job's step, and no finer one is looked for.
    fine: bool,
}

/// How far a setting was looked into.
#[derive(Debug)]
enum Stage {
    /// Not at all.
    Begun,
    /// No more is known than a bound.
    Bounded,
    /// The best layout, whether it can be sawn or not.
    Laid(Box<Layout>),
    /// All: what it brings, none where nothing can be sawn there; and the best, sawn or not.
    Known { brings: Option<i64>, any: i64 },
}

/// The job at the setting that brings most of those that it leaves open, sawn or, where nobody asks, not; the job itself where its
/// setting is told. Where nothing can be sawn at any of them, the one with the best layout. None where there is too much of it for
/// any memory.
#[must_use]
pub fn settled(job: Job, sawn: bool) -> Option<Job> {
    settled_on(job, sawn, cores())
}

/// The same on so many cores.
pub(crate) fn settled_on(job: Job, sawn: bool, cores: usize) -> Option<Job> {
    if job.choices.is_empty() {
        return Some(job);
    }
    let mut looks: Vec<Look<'_>> = job
        .choices
        .iter()
        .map(|job| Look {
            job,
            most: i64::MAX,
            anywhere: Anywhere {
                bound: i64::MAX,
                fine: false,
            },
            stage: Stage::Begun,
        })
        .collect();
    let every: Vec<usize> = (0..looks.len()).collect();
    further(&mut looks, &every, sawn, cores);
    while !looks[0].is_known() {
        further(&mut looks, &[0], sawn, cores);
    }
    let (mut all, mut asked) = (true, 1);
    loop {
        let found = best_of(&looks);
        let mut open: Vec<usize> = every
            .iter()
            .copied()
            .filter(|at| !looks[*at].is_known() && found.is_none_or(|best| looks[*at].may_beat(*at, best)))
            .collect();
        open.sort_by_key(|at| (std::cmp::Reverse(looks[*at].most), *at));
        open.truncate(AT_A_TIME);
        if open.is_empty() {
            break;
        }
        asked += open.iter().filter(|at| looks[**at].is_laid()).count();
        if sawn && asked > SAWN_MOST {
            all = false;
            break;
        }
        further(&mut looks, &open, sawn, cores);
    }
    let anywhere = anywhere(&mut looks);
    told(&looks, (sawn, all), anywhere)
}

/// What no layout at any setting is worth more than, wherever floors and corners lie: the greatest such bound is found anew on the
/// job's step until that is the greatest; none where that takes too much memory.
fn anywhere(looks: &mut [Look<'_>]) -> Option<i64> {
    loop {
        let greatest = looks.iter_mut().max_by_key(|look| look.anywhere.bound)?;
        let Anywhere { bound, fine } = greatest.anywhere;
        if fine {
            return (bound < i64::MAX).then_some(bound);
        }
        let setup = Setup::new(&greatest.job.mill, &greatest.job.log);
        let finer = setup.map_or(Some(0), |setup| bound_on_any_step(greatest.job, &setup));
        greatest.anywhere = Anywhere {
            bound: finer.map_or(bound, |finer| finer.min(bound)),
            fine: true,
        };
    }
}

impl Look<'_> {
    const fn is_known(&self) -> bool {
        matches!(self.stage, Stage::Known { .. })
    }

    const fn is_laid(&self) -> bool {
        matches!(self.stage, Stage::Laid(_))
    }

    /// Whether it may come to more than the best, or to as much and comes before it.
    const fn may_beat(&self, at: usize, (worth, best): (i64, usize)) -> bool {
        self.most > worth || (self.most == worth && at < best)
    }

    fn brings(&self) -> Option<i64> {
        match self.stage {
            Stage::Known { brings, .. } => brings,
            _ => None,
        }
    }

    /// The best there is, sawn or not, as far as it is known.
    fn any(&self) -> Option<i64> {
        match &self.stage {
            Stage::Known { any, .. } => Some(*any),
            Stage::Laid(layout) => Some(layout.found.worth),
            _ => None,
        }
    }

    /// One stage further: what it may bring at most, and what is known then.
    fn next(&self, sawn: bool) -> (i64, Stage) {
        let nothing = Stage::Known { brings: None, any: 0 };
        let Ok(setup) = Setup::new(&self.job.mill, &self.job.log) else {
            return (0, nothing);
        };
        match &self.stage {
            Stage::Begun => (
                roughly_over(self.job, &setup, BOUND_STEP).unwrap_or(i64::MAX),
                Stage::Bounded,
            ),
            Stage::Bounded => match best(self.job, &setup) {
                None => (self.most, nothing),
                Some(layout) if layout.boards.is_empty() => (layout.found.bound.min(self.most), nothing),
                Some(layout) => {
                    let (worth, most) = (layout.found.worth, layout.found.bound.min(self.most));
                    let stage = if sawn {
                        Stage::Laid(Box::new(layout))
                    } else {
                        Stage::Known {
                            brings: Some(worth),
                            any: worth,
                        }
                    };
                    (most, stage)
                }
            },
            Stage::Laid(layout) => {
                let brings = sawn_like(self.job, &setup, layout);
                let any = layout.found.worth;
                (self.most, Stage::Known { brings, any })
            }
            Stage::Known { brings, any } => (
                self.most,
                Stage::Known {
                    brings: *brings,
                    any: *any,
                },
            ),
        }
    }
}

/// The setting that brings most of those that are known, the first of several.
fn best_of(looks: &[Look<'_>]) -> Option<(i64, usize)> {
    let known = looks
        .iter()
        .enumerate()
        .filter_map(|(at, look)| Some((look.brings()?, at)));
    known.max_by_key(|(worth, at)| (*worth, std::cmp::Reverse(*at)))
}

/// Looks into some settings one stage further, on so many cores.
fn further(looks: &mut [Look<'_>], which: &[usize], sawn: bool, cores: usize) {
    let shared = &*looks;
    let made = each(which, cores, &|at| Some((*at, shared.get(*at)?.next(sawn))));
    for (at, (most, stage)) in made.into_iter().flatten() {
        if let Some(look) = looks.get_mut(at) {
            if matches!(look.stage, Stage::Begun) {
                look.anywhere.bound = most;
            }
            (look.most, look.stage) = (most, stage);
        }
    }
}

/// The job at the setting that was found.
fn told(looks: &[Look<'_>], (sawn, all): (bool, bool), anywhere: Option<i64>) -> Option<Job> {
    let found = best_of(looks);
    let any = looks
        .iter()
        .enumerate()
        .filter_map(|(at, look)| Some((look.any()?, at)));
    let any = any.max_by_key(|(worth, at)| (*worth, std::cmp::Reverse(*at)));
    let (worth, at) = found.or(any)?;
    let bound = looks.iter().map(|look| look.most).max().unwrap_or(worth);
    let first = looks.first()?;
    let setting = first.job.setting;
    let figures = Figures {
        worth,
        first: first.brings(),
        first_is: (setting.level.percent(), setting.offset, setting.turn),
        bound,
        anywhere,
        sawn: sawn && found.is_some(),
        all,
    };
    Some(Job {
        chosen: Some(Chosen {
            settings: looks.len(),
            figures: Some(figures),
        }),
        ..looks.get(at)?.job.clone()
    })
}

#[cfg(test)]
mod tests;
