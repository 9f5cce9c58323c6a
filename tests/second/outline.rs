//! Sections of a log as told by its stations, in floats.

use bunkside_protocol::{Form, LogRecord, Position, Sawn, Station};

use super::boxes::Um;

/// A section's half-diameters and centre, in floats.
#[derive(Clone, Copy)]
pub(crate) struct Ellipse {
    form: Form,
    centre: [f64; 2],
    half: [f64; 2],
    skew: f64,
    /// Between which places across and which heights faces that were sawn before leave anything.
    left: [[f64; 2]; 2],
}

impl Ellipse {
    fn between(log: &LogRecord, a: &Station, b: &Station, z: f64) -> Self {
        let um = |place: i32| f64::from(place);
        let (from, to) = (um(a.travel.as_um()), um(b.travel.as_um()));
        let part = ((z - from) / (to - from)).clamp(0.0, 1.0);
        let mix = |a: i32, b: i32| um(a) + (um(b) - um(a)) * part;
        let face = |at: Option<Position>, none: f64| at.map_or(none, |at| um(at.as_um()));
        let Sawn {
            entry,
            exit,
            bottom,
            top,
        } = log.sawn;
        let beyond = f64::INFINITY;
        Self {
            form: log.form,
            left: [[entry, exit], [bottom, top]].map(|[lo, hi]| [face(lo, -beyond), face(hi, beyond)]),
            centre: [
                mix(a.centre_across.as_um(), b.centre_across.as_um()),
                mix(a.centre_height.as_um(), b.centre_height.as_um()),
            ],
            half: [
                mix(a.half_width.as_um(), b.half_width.as_um()),
                mix(a.half_height.as_um(), b.half_height.as_um()),
            ],
            skew: mix(a.skew.as_um(), b.skew.as_um()),
        }
    }

    pub(crate) fn at(log: &LogRecord, z: f64) -> Self {
        let pairs = log.stations.windows(2);
        let last = log.stations.len() - 2;
        let (_, pair) = pairs
            .enumerate()
            .find(|(number, pair)| z <= f64::from(pair[1].travel.as_um()) || *number == last)
            .expect("a log has two stations");
        Self::between(log, &pair[0], &pair[1], z)
    }

    /// The standing chord at a place across, with so much bark, as far as faces leave it.
    pub(crate) fn standing(&self, x: f64, bark: f64) -> Option<[Um; 2]> {
        let [across, up] = self.left.map(|left| left.map(|at| at as Um));
        let place = x.round() as Um;
        let [lo, hi] = self
            .whole(x, bark)
            .filter(|_| (across[0]..=across[1]).contains(&place))?;
        let left = [lo.max(up[0]), hi.min(up[1])];
        (left[0] < left[1]).then_some(left)
    }

    /// The same of what it was before.
    fn whole(&self, x: f64, bark: f64) -> Option<[Um; 2]> {
        let [wide, tall] = self.half.map(|half| half + bark);
        let u = x - self.centre[0];
        let [lo, hi] = match self.form {
            Form::Square if u.abs() < wide => [-tall, tall],
            Form::Square => return None,
            Form::Round => {
                // s·sin t + a·cos t = reach·cos(t − f) is u.
                let reach = wide.hypot(self.skew);
                if u.abs() >= reach {
                    return None;
                }
                let (f, off) = (self.skew.atan2(wide), (u / reach).acos());
                let ends = [(f + off).sin() * tall, (f - off).sin() * tall];
                [ends[0].min(ends[1]), ends[0].max(ends[1])]
            }
        };
        let place = |up: f64| (self.centre[1] + up).round() as Um;
        Some([place(lo), place(hi)])
    }

    /// Where across its lowest point lies; the middle of a face that it lies on.
    pub(crate) fn lowest(&self, bark: f64) -> f64 {
        let [across, up] = self.left;
        let [wide, tall] = self.half.map(|half| half + bark);
        let down = (up[0] - self.centre[1]) / tall;
        if self.form == Form::Square || down <= -1.0 {
            return (self.centre[0] - self.skew).clamp(across[0], across[1]);
        }
        // Where the face meets the rim: down is sin t.
        let out = wide * (1.0 - down * down).max(0.0).sqrt();
        let ends =
            [-out, out].map(|out| (self.centre[0] + self.skew * down + out).clamp(across[0], across[1]));
        f64::midpoint(ends[0], ends[1])
    }

    /// Whether it lies on a face that reaches so far out on both sides of its lowest line.
    pub(crate) fn lies_flat(&self, out: [Um; 2]) -> bool {
        let (line, foot) = (self.lowest(0.0), self.left[1][0]);
        let on_face = |x: f64| self.standing(x, 0.0).is_some_and(|rod| rod[0] as f64 <= foot);
        foot.is_finite() && on_face(line - out[0] as f64) && on_face(line + out[1] as f64)
    }
}
