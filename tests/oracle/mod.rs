//! The stock, its sections and the physics against models that share no code with them.
//!
//! | module | model | agreement |
//! |---|---|---|
//! | [`boxes`] | a squared timber of whole units, a plain array | exact, after every kerf |
//! | [`capacity`] | a log of 1.2 m with 40 columns in a layer | every kerf judged |
//! | [`sawing`] | [`voxels`]: round logs in slices and strips | volumes, pieces, boxes and contacts within the strip |
//! | [`exact`] | the same in lines of wood, summed to a tenth of a millimetre | volume 0.1 %, centroid 0.1 mm |
//! | [`sections`] | the ellipse's formula in `f64` | 2 µm; the bulge between samples is bounded |
//! | [`beams`] | beams bent millimetre by millimetre, textbook formulae | 1e-4; on the safe side where stiffness changes |
//! | [`areas`] | polygons clipped by the `geo` crate | a millionth of the section |
#![allow(
    clippy::disallowed_methods,
    reason = "outside checks compute with what the planner must not use"
)]

mod areas;
mod beams;
mod boxes;
mod capacity;
mod exact;
mod grid;
mod logs;
mod sawing;
mod sections;
mod voxels;
