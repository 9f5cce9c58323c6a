//! Whether the log lies on its bunks across the bed.

use bunkside_planner::geometry::Shape;
use bunkside_protocol::{Length, LogRecord};

use super::check::place;
use crate::diagnostic::Diagnostic;
use crate::input::Node;
use crate::mill::Profile;

/// A log that lies so far to one side that a wedge would have no bunk under it.
pub(super) fn bunks(root: &Node, log: &LogRecord, mill: &Profile, said: &mut Vec<Diagnostic>) {
    let Ok(shape) = Shape::new(log) else { return };
    let (half, wedge) = (mill.bunk_width.half_floor(), mill.record.wedges.reach);
    let lies = mill.record.bunks.iter().filter_map(|bunk| {
        let line = shape.rough_at(bunk.travel)?.lowest_across().from_origin();
        Some((line.abs() + wedge, line, bunk.travel))
    });
    let Some((reach, line, at)) = lies.max().filter(|(reach, ..)| *reach > half) else {
        return;
    };
    let side = if line > Length::ZERO { "exit" } else { "entry" };
    let message = format!(
        "over the bunk at {at} the log lies {} off the bed's middle, so that its wedge on the {side} side stands {reach} from there, and the bunk ends at {half}",
        line.abs()
    );
    let towards = if line > Length::ZERO { "entry" } else { "exit" };
    let help = format!(
        "shift the log {} or more towards the {towards} side, or, where the bunks are longer across the bed, write `bunk_width` in [support] of the mill",
        reach - half
    );
    let span = if root.get("setting.offset").is_some() {
        place(root, "setting.offset")
    } else {
        place(root, "setting")
    };
    said.push(Diagnostic::error(span, message).with_help(help));
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use crate::diagnostic::Source;
    use crate::job::{Outcome, read};

    /// A straight log whose wedges stand 120 mm beside its lowest line, on bunks that end 600 mm beside the bed's middle.
    fn set(text: &str, with: &str) -> Outcome {
        let path = "examples/bad/jobs/beside-the-bunks.toml";
        let load = |path: &Path| std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
        let job = load(Path::new(path)).unwrap();
        assert!(job.contains(text), "{text}");
        read(&Source::new(path, job.replace(text, with)), &load)
    }

    #[test]
    fn a_wedge_stands_on_its_bunk_up_to_its_end() {
        for (offset, good) in [
            ("480 mm", true),
            ("480.1 mm", false),
            ("-480 mm", true),
            ("-480.1 mm", false),
        ] {
            let outcome = set("700 mm", offset);
            assert_eq!(outcome.job.is_some(), good, "{offset}: {}", outcome.rendered());
        }
    }
}
