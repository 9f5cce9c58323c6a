//! Wedges in kerfs: which kerfs a hold drives them into, and how long they stay.

use bunkside_protocol::{Act, Acts, Angle, MillRecord};

use super::auditor::any;
use super::machine::{At, Say, Slack, blade};
use super::wood::{Bx, Hard, Um, Wood};

/// So near beside a kerf wood has to stand.
const BESIDE: Um = 1_000;

/// So far wedges stay from where the next kerf meets theirs.
const APART: Um = 10_000;

/// The kerfs since the last hold, and the wedges.
#[derive(Clone, Default)]
pub(crate) struct Wedges {
    open: Vec<(Angle, Bx)>,
    held: bool,
    driven: Vec<Wedge>,
}

/// A wedge, and how surely it is there.
#[derive(Clone, Copy)]
struct Wedge {
    angle: Angle,
    bx: Bx,
    say: Say,
}

impl Wedges {
    pub(crate) fn cut(&mut self, angle: Angle, kerf: Bx) {
        if std::mem::take(&mut self.held) {
            self.open.clear();
        }
        self.open.push((angle, kerf));
    }

    pub(crate) fn hold(&mut self, acts: Acts, wood: &Wood, kerf: Um, slack: Slack) {
        self.held = true;
        if acts.contains(Act::Unload) {
            self.driven.retain_mut(|wedge| {
                wedge.say = wedge.say.and(wedge.held(wood, slack));
                wedge.say != Say::No
            });
        }
        if acts.contains(Act::WedgeKerf) {
            for (angle, mut bx) in self.open.drain(..) {
                match angle {
                    Angle::Flat => bx.x[1] -= kerf + APART,
                    Angle::Upright => bx.y[0] += kerf + APART,
                }
                let say = Say::Yes;
                let mut wedge = Wedge { angle, bx, say };
                wedge.say = wedge.held(wood, slack);
                if wedge.say != Say::No {
                    wedge.clip(wood);
                    self.driven.push(wedge);
                }
            }
        }
    }

    /// Whether the blade meets one on its way.
    pub(crate) fn met(&self, mill: &MillRecord, at: &At, to: &At, slack: Slack) -> Say {
        let hit = |bx: Bx, sure: bool| {
            let mut wedges = self.driven.iter();
            wedges.any(|wedge| match sure {
                true => {
                    let inner = wedge.bx.grown(-2 * slack.along, -2 * slack.by);
                    wedge.say == Say::Yes && inner.overlaps(&bx)
                }
                false => wedge.bx.grown(2 * slack.along, 2 * slack.by).overlaps(&bx),
            })
        };
        blade(mill, [at, to], [0; 3], hit)
    }
}

impl Wedge {
    fn sides(&self) -> [Bx; 2] {
        let bx = self.bx;
        let beside = |[lo, hi]: [Um; 2]| [[lo - BESIDE, lo], [hi, hi + BESIDE]];
        match self.angle {
            Angle::Flat => beside(bx.y).map(|y| Bx { y, ..bx }),
            Angle::Upright => beside(bx.x).map(|x| Bx { x, ..bx }),
        }
    }

    /// Whether wood stands on both sides.
    fn held(&self, wood: &Wood, slack: Slack) -> Say {
        let stands = |side: Bx| {
            let room = |times: Um| side.grown(times * slack.along, times * slack.by);
            match (
                wood.meets(room(-2), Hard::Wood, any),
                wood.meets(room(2), Hard::Wood, any),
            ) {
                (true, _) => Say::Yes,
                (false, true) => Say::Unsure,
                (false, false) => Say::No,
            }
        };
        let [one, other] = self.sides();
        stands(one).and(stands(other))
    }

    /// No further than the wood beside it reaches.
    fn clip(&mut self, wood: &Wood) {
        let mut around: Option<Bx> = None;
        for side in self.sides() {
            let found = wood.extent(side, any);
            around = around.map_or(found, |around| {
                Some(found.map_or(around, |found| found.join(around)))
            });
        }
        let Some(around) = around else { return };
        let meet = |a: [Um; 2], b: [Um; 2]| [a[0].max(b[0]), a[1].min(b[1])];
        self.bx.z = meet(self.bx.z, around.z);
        match self.angle {
            Angle::Flat => self.bx.x = meet(self.bx.x, around.x),
            Angle::Upright => self.bx.y = meet(self.bx.y, around.y),
        }
    }
}
