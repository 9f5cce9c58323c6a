//! Sections of a log as told by its stations, in floats.

use bunkside_protocol::{Form, LogRecord, Station};

use super::boxes::Um;

/// A section's half-diameters and centre, in floats.
#[derive(Clone, Copy)]
pub(crate) struct Ellipse {
    form: Form,
    centre: [f64; 2],
    half: [f64; 2],
    skew: f64,
}

impl Ellipse {
    fn between(form: Form, a: &Station, b: &Station, z: f64) -> Self {
        let um = |place: i32| f64::from(place);
        let (from, to) = (um(a.travel.as_um()), um(b.travel.as_um()));
        let part = ((z - from) / (to - from)).clamp(0.0, 1.0);
        let mix = |a: i32, b: i32| um(a) + (um(b) - um(a)) * part;
        Self {
            form,
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
        Self::between(log.form, &pair[0], &pair[1], z)
    }

    /// The standing chord at a place across, with so much bark.
    pub(crate) fn standing(&self, x: f64, bark: f64) -> Option<[Um; 2]> {
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

    /// Where across its lowest point lies.
    pub(crate) fn lowest(&self) -> f64 {
        self.centre[0] - self.skew
    }
}
