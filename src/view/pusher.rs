//! Where whoever pushes a carriage stands at every way, cutting or empty, and when he goes round it.
//!
//! He pushes from behind it as it runs, and so goes round it wherever it runs back; on the exit side, unless something goes over
//! there, because on the entry side the flat blade comes, and an upright one that is drawn out past the log; and before the turning blade is
//! swung flat, never beside a flat one where that can be. Common practice, no source: the mill's own manual comes first, and the cards say so at every cut.

use bunkside_planner::replay::Setup;
use bunkside_protocol::{Angle, Move, Stroke};

use super::second::begins;
use super::stand::lies_near;
use super::steps::lying;
use crate::account::falls::forbidden;
use crate::trace::{Trace, Traced};

/// A side of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Beside {
    Entry,
    Exit,
}

impl Beside {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Entry => "entry side",
            Self::Exit => "exit side",
        }
    }
}

/// Where somebody stands who pushes: behind a carriage that runs this way, on this side of the log; none where there is no place.
type Place = (Stroke, Option<Beside>);

/// One way of a carriage that is pushed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Pushed {
    /// On which side of the log he pushes; none where there is no place.
    pub(super) side: Option<Beside>,
    /// How he comes there from where he pushed last; none where he is there, or where a hold lies between with the blade standing.
    pub(super) round: Option<String>,
    /// Whether he goes there before the blade is brought up to speed.
    pub(super) before_it_turns: bool,
    /// Whether he goes there before the turning blade is swung flat: never beside a flat one, where that can be.
    pub(super) before_it_lies: bool,
    /// Where to push from at an empty way; empty at a cut, whose card tells more.
    pub(super) words: String,
}

/// What each move asks of whoever pushes; none where nobody does.
pub(super) fn pushed(setup: &Setup<'_>, trace: &Trace) -> Vec<Option<Pushed>> {
    if !setup.mill.drive.is_hand() {
        return vec![None; trace.moves.len()];
    }
    let mut walk = Walk::default();
    let moves = trace.moves.iter();
    moves.map(|traced| walk.on(setup, trace, traced)).collect()
}

/// Where he is, as far as it is known.
#[derive(Default)]
struct Walk {
    place: Option<Place>,
    /// Whether the blade was brought up to speed since he pushed last.
    spun_up: bool,
    /// Whether it was swung flat since then, turning.
    swung_flat: bool,
}

impl Walk {
    fn on(&mut self, setup: &Setup<'_>, trace: &Trace, traced: &Traced) -> Option<Pushed> {
        let step = &traced.step;
        match step.told {
            Move::Hold(_) if !step.before.spinning => *self = Self::default(),
            Move::Spin(true) if !step.before.spinning => self.spun_up = true,
            Move::Swing(Angle::Flat) if step.before.angle != Angle::Flat => {
                self.swung_flat |= step.before.spinning;
            }
            Move::Go(_) | Move::Cut(_) if step.after.travel != step.before.travel => {
                return Some(self.push(setup, trace, traced));
            }
            Move::Hold(_) | Move::Spin(_) | Move::Swing(_) | Move::Go(_) | Move::Cut(_) => {}
        }
        None
    }

    fn push(&mut self, setup: &Setup<'_>, trace: &Trace, traced: &Traced) -> Pushed {
        let step = &traced.step;
        let way = if step.after.travel > step.before.travel {
            Stroke::Outbound
        } else {
            Stroke::Homebound
        };
        let falls = forbidden(trace, step.index);
        let cuts = matches!(step.told, Move::Cut(_)) && step.cut.is_some_and(|facts| facts.met.is_some());
        let comes = blade_comes(setup, traced);
        let side = side(falls, comes);
        let lay = step.index.checked_sub(1);
        let lay = lay.map_or([false; 2], |before| forbidden(trace, before));
        let turns = step.before.spinning && !self.spun_up;
        let angle = if self.swung_flat {
            Angle::Upright
        } else {
            step.before.angle
        };
        let round = self
            .place
            .and_then(|from| round(from, (way, side), lay, turns.then_some(angle)));
        let pushed = Pushed {
            side,
            round,
            before_it_turns: self.spun_up,
            before_it_lies: self.swung_flat,
            words: if cuts {
                String::new()
            } else {
                empty(setup, traced, (way, side), falls)
            },
        };
        self.place = Some((way, side));
        (self.spun_up, self.swung_flat) = (false, false);
        pushed
    }
}

/// Whether the blade comes on the entry side of the log: it turns, flat or drawn out past the log.
fn blade_comes(setup: &Setup<'_>, traced: &Traced) -> bool {
    let pose = &traced.step.before;
    let cuts = matches!(traced.step.told, Move::Cut(_));
    (cuts || pose.spinning) && (pose.angle == Angle::Flat || traced.passes_beside(setup))
}

/// On which side of the log somebody pushes, by the sides on which something goes over (entry, exit), and whether the blade comes on
/// the entry side; none where there is no place.
pub(super) const fn side([entry, exit]: [bool; 2], blade_comes: bool) -> Option<Beside> {
    match (exit, entry || blade_comes) {
        (false, _) => Some(Beside::Exit),
        (true, false) => Some(Beside::Entry),
        (true, true) => None,
    }
}

/// How somebody comes from one place to another, by the sides on which something goes over and by how the blade turns, if it does.
fn round((ran, was): Place, (runs, side): Place, lay: [bool; 2], turning: Option<Angle>) -> Option<String> {
    let (side, end) = (side?, begins(runs));
    if ran == runs {
        return (was != Some(side)).then(|| {
            format!(
                "Go over to the {} behind the carriage, off the log's end.{}",
                side.word(),
                clear(turning)
            )
        });
    }
    // Past the carriage on the side where he is, unless something goes over there or the flat blade turns there.
    let free = |one: Beside| match one {
        Beside::Entry => !lay[0] && turning != Some(Angle::Flat),
        Beside::Exit => !lay[1],
    };
    let by = was
        .into_iter()
        .chain([Beside::Exit, Beside::Entry])
        .find(|one| free(*one));
    let Some(by) = by else {
        return Some(format!(
            "Go round the carriage, to its side towards the {end} end, only once the blade stands and what lies loose is taken away."
        ));
    };
    let over = if by == side {
        String::new()
    } else {
        format!(", and there, well behind it, over to the {}", side.word())
    };
    Some(format!(
        "Go round the carriage by the {}, to where it is pushed from next, towards the {end} end{over}.{}",
        by.word(),
        clear(turning)
    ))
}

/// What to keep clear of on the way.
const fn clear(turning: Option<Angle>) -> &'static str {
    match turning {
        None => "",
        Some(Angle::Flat) => {
            " The flat blade turns at the level where you walk: let it stand first, or keep twice its width off it."
        }
        Some(Angle::Upright) => {
            " The blade turns: keep more than an arm's length off it, and out of its line."
        }
    }
}

/// What to keep out of.
pub(super) const fn plane(angle: Angle) -> &'static str {
    match angle {
        Angle::Flat => "plane",
        Angle::Upright => "line",
    }
}

/// Where to push from at an empty way.
fn empty(setup: &Setup<'_>, traced: &Traced, (way, side): Place, [entry, _]: [bool; 2]) -> String {
    let pose = &traced.step.before;
    let Some(side) = side else {
        let other = if entry {
            "and on the entry side as well"
        } else {
            "and the blade turns past the entry side"
        };
        return format!(
            " There is no place to push from: what came free goes over on the exit side, {other}. Let the blade stand and take away \
             what lies loose first."
        );
    };
    let why = match side {
        Beside::Exit => "",
        Beside::Entry => ", because what came free goes over on the exit side",
    };
    let blade = match (pose.spinning, setup.mill.teeth(pose.angle) == way) {
        (false, _) => String::new(),
        (true, true) => format!("; keep out of the blade's {}", plane(pose.angle)),
        (true, false) => format!(
            "; the blade turns and throws towards you: keep well out of its {}",
            plane(pose.angle)
        ),
    };
    format!(
        " Push from behind the carriage as it runs, on the {}{why}{blade}.{}",
        side.word(),
        lies_near(&lying(&traced.before))
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXIT: Option<Beside> = Some(Beside::Exit);
    const ENTRY: Option<Beside> = Some(Beside::Entry);
    const NEITHER: [bool; 2] = [false; 2];

    /// On the exit side, unless something goes over there; then on the entry side, unless something does there too or the blade comes.
    #[test]
    fn nobody_pushes_where_something_goes_over_or_the_blade_comes() {
        let told = [
            ([false, false], true, EXIT),
            ([true, false], true, EXIT),
            ([false, true], false, ENTRY),
            ([false, true], true, None),
            ([true, true], false, None),
        ];
        for (forbidden, comes, wanted) in told {
            assert_eq!(side(forbidden, comes), wanted, "{forbidden:?} {comes}");
        }
    }

    /// Whoever pushed outbound goes round before he pushes homebound, not where something lies, and out of reach of a blade that turns.
    #[test]
    fn he_goes_round_where_the_carriage_runs_back() {
        use Stroke::{Homebound, Outbound};
        let told = |from, to, lay, turning| round(from, to, lay, turning).unwrap_or_default();
        let back = told((Outbound, EXIT), (Homebound, EXIT), NEITHER, None);
        assert_eq!(
            back,
            "Go round the carriage by the exit side, to where it is pushed from next, towards the far end."
        );
        assert_eq!(told((Outbound, EXIT), (Outbound, EXIT), NEITHER, None), "");
        let flat = told((Homebound, EXIT), (Outbound, EXIT), NEITHER, Some(Angle::Flat));
        assert!(
            flat.contains("towards the near end. The flat blade turns"),
            "{flat}"
        );
        let lies = told((Homebound, EXIT), (Outbound, ENTRY), [false, true], None);
        assert!(lies.contains("by the entry side"), "{lies}");
        let over = told((Outbound, EXIT), (Homebound, ENTRY), NEITHER, None);
        assert!(
            over.contains("by the exit side") && over.contains("over to the entry side"),
            "{over}"
        );
        for (lay, turning) in [([true, true], None), ([false, true], Some(Angle::Flat))] {
            let waits = told((Homebound, EXIT), (Outbound, ENTRY), lay, turning);
            assert!(waits.contains("only once the blade stands"), "{waits}");
        }
        let aside = told((Outbound, EXIT), (Outbound, ENTRY), NEITHER, None);
        assert!(aside.starts_with("Go over to the entry side"), "{aside}");
    }
}
