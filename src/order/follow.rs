//! What may be done next from where a search stands.

use bunkside_protocol::{Acts, Stroke};

use super::ends::{hold_time, stopped};
use super::guess::STROKES;
use super::label::Label;
use super::level::{bit, first};
use super::relaxed::stand;
use super::search::{Search, knife_act};
use super::state::{Deed, Kerf, Placed, State};
#[cfg(test)]
use super::wood::{Doubt, Outcome};

impl Search<'_, '_, '_> {
    pub(super) fn expand(&mut self, number: usize, label: &Label) {
        let wood = label.state.wood;
        if wood.since.is_some() || wood.hangs {
            self.unload(number, label);
        }
        if self.woods.setup.mill.knife.is_some() && wood.part.is_none() {
            self.turn_knife(number, label);
        }
        // What may have come free is taken away at once.
        if wood.hangs {
            return;
        }
        if let Some((edge, of, made)) = wood.part {
            let pass = made + 1;
            self.try_edge(number, label, Kerf::Upright { edge, of, pass });
            return;
        }
        for edge in 0..self.level.edges.len() {
            if wood.cut & bit(edge) == 0 {
                for of in self.guess.counts(edge) {
                    let edge = u8::try_from(edge).unwrap_or(u8::MAX);
                    self.try_edge(number, label, Kerf::Upright { edge, of, pass: 1 });
                }
                if self.ascending {
                    break;
                }
            }
        }
        // What has come off is taken away before the blade goes under it.
        if !self.level.lies_over(&wood) {
            self.flats(number, label);
        }
    }

    fn flats(&mut self, number: usize, label: &Label) {
        let (level, wood) = (self.level, label.state.wood);
        let off = level.freed(usize::from(wood.rim), wood.cut);
        for to in usize::from(wood.rim) + 1..=level.through() {
            let Some(rim) = level.rim(to) else { continue };
            let needed = first(rim.after);
            if wood.cut & needed != needed {
                break;
            }
            let comes_off = level.freed(to, wood.cut) - off;
            let made = wood.made.saturating_add(1);
            if comes_off > 0 && made < level.asked {
                continue;
            }
            let columns = off..off + comes_off;
            let release = level.is_release(to, &columns);
            let made = if comes_off > 0 || level.asked < 2 { 0 } else { made };
            let kerf = self.guess.flat_kerf(to, made.min(level.asked));
            let placed = self.guess.placed(kerf, release);
            let here = stand(&label.state.pose, self.woods.carriage.near, level, &wood);
            let in_the_way = level.lies_beside(&wood);
            for stroke in STROKES {
                if !in_the_way && self.guess.may_free(to, &columns, stroke, here) {
                    self.try_stroke(number, label, &placed, stroke);
                    continue;
                }
                #[cfg(test)]
                self.doubt(label, &placed, stroke);
            }
        }
    }

    fn try_edge(&mut self, number: usize, label: &Label, kerf: Kerf) {
        let placed = self.guess.placed(kerf, false);
        for stroke in STROKES {
            self.try_stroke(number, label, &placed, stroke);
        }
    }

    fn try_stroke(&mut self, number: usize, label: &Label, placed: &Placed, stroke: Stroke) {
        let next = self.cut(number, label, placed, stroke);
        #[cfg(test)]
        if next.is_none() && self.woods.known(&label.state, placed, stroke).is_none() {
            self.doubt(label, placed, stroke);
        }
        if let Some(next) = next {
            self.push(next);
        }
    }

    /// What is said to be impossible has to be.
    #[cfg(test)]
    fn doubt(&mut self, label: &Label, placed: &Placed, stroke: Stroke) {
        let state = &label.state;
        // Where any part may have broken off, guesses may err, and nothing is proven by them.
        let guessed = self.woods.doubted && self.woods.doubt != Doubt::Any;
        if guessed && self.approach(state, placed, stroke).is_some() {
            let outcome = self.woods.doubt(state, placed, stroke);
            let refused = match outcome {
                Outcome::Refused(_) => true,
                Outcome::Made { may_end, next, .. } => {
                    self.lowest && usize::from(next.rim) == self.level.through() && !may_end
                }
            };
            assert!(
                refused,
                "layer {} {state:?} {placed:?} {stroke:?} {outcome:?}",
                self.level.number
            );
        }
    }

    fn unload(&mut self, number: usize, label: &Label) {
        let mill = self.woods.setup.mill;
        if let Some(wood) = self.woods.unloaded(&label.state) {
            self.push(Label {
                parent: number,
                deed: Deed::Unload,
                state: State {
                    wood,
                    pose: stopped(mill, label.state.pose, self.stops || label.state.wood.hangs),
                },
                so_far: label.so_far + self.walk + if label.state.wood.hangs { self.breaks } else { 0.0 },
                ..*label
            });
        }
    }

    /// Fits the knife or takes it off, the blade stopped for it.
    fn turn_knife(&mut self, number: usize, label: &Label) {
        let mill = self.woods.setup.mill;
        let acts = Acts::one(knife_act(&label.state.pose));
        let Some(wood) = self.woods.unloaded(&label.state) else {
            return;
        };
        self.push(Label {
            parent: number,
            deed: Deed::Knife,
            state: State {
                wood,
                pose: stopped(mill, label.state.pose.after(acts, mill), true),
            },
            so_far: label.so_far + hold_time(self.woods.setup, acts),
            ..*label
        });
    }
}
