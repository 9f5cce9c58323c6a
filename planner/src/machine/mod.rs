//! What the machine occupies: its pose, and the boxes that blade and head fill at rest, on the way and in a swing.

mod apart;
mod ends;
mod envelope;
mod pose;
mod swing;

pub use apart::Apart;
pub(crate) use apart::thread;
pub use ends::{come_back, ends_beyond, from_end, outward, places, reach_along};
pub use envelope::{blade_bounds, blade_boxes, chord, head_boxes, kerf_box, room_over_kerf, run_out};
pub use pose::Pose;
pub use swing::{flat_centre, head_swing_boxes, swept, swing_boxes, swing_error, upright_centre};
