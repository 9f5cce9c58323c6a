//! The log's core as it is drawn: a dotted box where pith or rot lies, and a line of a drawing's key that says so.

use bunkside_planner::geometry::Section;
use bunkside_planner::layout::exact::Core;

use super::plane::{Plane, um};
use super::scene::Scene;
use super::side::Rail;
use super::svg::{Anchor, Path, text};

/// Height of a line of the key.
const LINE: f64 = 56.0;

/// That of the job, if it tells of any.
fn core<'s>(scene: &'s Scene<'_>) -> Option<&'s Core> {
    scene.subject.job?.core.as_ref()
}

/// Looking along the log; nothing where it does not reach so far.
pub(super) fn in_section(scene: &Scene<'_>, plane: &Plane, section: &Section) -> String {
    let Some(core) = core(scene).filter(|core| core.travel.contains(section.travel)) else {
        return String::new();
    };
    let [across, height] = core.in_section(section);
    let [a, b] = plane.corners(across, height);
    let mut path = Path::new();
    path.rect(a, b);
    path.element("core")
}

/// From the side.
pub(super) fn from_side(scene: &Scene<'_>, rail: &Rail) -> String {
    let Some(core) = core(scene) else {
        return String::new();
    };
    let (mut over, mut under) = (Vec::new(), Vec::new());
    scene
        .subject
        .setup
        .shape
        .any_within(core.travel, false, |section| {
            let [_, height] = core.in_section(section);
            let x = rail.x(um(section.travel));
            over.push([x, rail.y(um(height.hi))]);
            under.push([x, rail.y(um(height.lo))]);
            false
        });
    let mut path = Path::new();
    path.closed(over.into_iter().chain(under.into_iter().rev()));
    path.element("core")
}

/// How high the line of the key is; nothing where there is no core.
pub(super) fn key_height(scene: &Scene<'_>) -> f64 {
    core(scene).map_or(0.0, |_| LINE)
}

/// The line of a drawing's key, from a height on.
pub(super) fn key(scene: &Scene<'_>, top: f64) -> String {
    let Some(core) = core(scene) else {
        return String::new();
    };
    let system = scene.subject.system;
    let near = scene.bounds.travel.lo;
    let words = format!(
        "core, {} thick, {} to {} from the near end",
        system.size(core.thick),
        system.run(core.travel.lo - near),
        system.run(core.travel.hi - near)
    );
    let mut path = Path::new();
    path.rect([24.0, top], [24.0 + 34.0, top + 34.0]);
    path.element("core") + &text("small", Anchor::Start, [72.0, top + 27.0], &words)
}
