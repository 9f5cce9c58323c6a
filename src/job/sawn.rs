//! Faces that a log lies with because something was sawn of it before: their keys, and where they come to lie.
//!
//! Each is told from the middle of the log's ends, where a tape reaches, and laid parallel to the rails: a lying one tilts
//! the log, one that stands swings it, by as much as it lies further from the middle at the one end than at the other.

use bunkside_planner::geometry::{Section, Shape, ShapeError};
use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station};

use super::check::place;
use super::shape::Measured;
use crate::diagnostic::Diagnostic;
use crate::input::{Key, Node, Shape as Kind};

/// How far from the middle of an end a face may lie; beyond the middle it is below zero.
const FACE: Kind = Kind::mm(-1_000, 2_000);
const FACES: Kind = Kind::Either(&[
    FACE,
    Kind::List {
        of: &FACE,
        min: 2,
        max: 2,
    },
]);

/// So much may two faces that lie opposite each other be out of parallel, from end to end.
const PARALLEL: Length = Length::mm(5);

const SAWN: &[Key] = &[
    Key::may(
        "bottom",
        FACES,
        "From the middle of an end down to the face that the log lies on: one for both ends, or the near end's and the far \
         end's; below zero where less than half is left. The log then lies on it: flat on the bunks, without wedges where it \
         is as wide as they would stand apart.",
    ),
    Key::may(
        "top",
        FACES,
        "The same up to a face on top; where no face lies underneath, it is laid level.",
    ),
    Key::may(
        "entry",
        FACES,
        "The same across, to an upright face on the entry side; it is laid along the rails.",
    ),
    Key::may("exit", FACES, "The same on the exit side."),
];

/// The key of all of them, in a job's setting.
pub(super) const KEY: Key = Key::may(
    "sawn",
    Kind::Table(SAWN),
    "Faces that the log lies with, because something was sawn of it before: after a quarter or half a turn, or seated anew. The \
     diameters stay those of the round log. Measured on the ends as it lies now; `level` is left out where a face lies underneath \
     or on top, for that tells it.",
);

/// How far faces lie from the middle of the near and of the far end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Faces {
    entry: Option<[Length; 2]>,
    exit: Option<[Length; 2]>,
    bottom: Option<[Length; 2]>,
    top: Option<[Length; 2]>,
}

/// The names of the keys, and what they are called.
const NAMES: [(&str, &str); 4] = [
    ("entry", "the face on the entry side"),
    ("exit", "the face on the exit side"),
    ("bottom", "the face underneath"),
    ("top", "the face on top"),
];

impl Faces {
    /// Those of a job.
    pub(super) fn of(root: &Node) -> Self {
        let face = |name: &str| {
            let node = root.get("setting.sawn")?.get(name)?;
            match node.as_length() {
                Some(both) => Some([both; 2]),
                None => {
                    let ends = node.all()?.into_iter().map(Node::as_length);
                    ends.collect::<Option<Vec<_>>>()?.try_into().ok()
                }
            }
        };
        Self {
            entry: face("entry"),
            exit: face("exit"),
            bottom: face("bottom"),
            top: face("top"),
        }
    }

    /// Whether there is none.
    pub(super) fn is_none(&self) -> bool {
        *self == Self::default()
    }

    /// How high the middle lies at both ends over a lying face, from which the log's tilt follows; none where none lies.
    pub(super) fn tilt(&self) -> Option<[Length; 2]> {
        let under_top = || self.top.map(|top| top.map(|high| Length::ZERO - high));
        self.bottom.or_else(under_top)
    }

    /// How far the middle lies towards the exit side at both ends, from where it lies on the whole: one that stands is parallel to
    /// the rails.
    pub(super) fn swing(&self) -> [Length; 2] {
        let exit = || self.exit.map(|exit| exit.map(|out| Length::ZERO - out));
        match self.entry.or_else(exit) {
            Some([near, far]) => {
                let middle = mean([near, far]);
                [near - middle, far - middle]
            }
            None => [Length::ZERO; 2],
        }
    }

    /// Where they lie on the bed, with the stations that were made with [`Faces::tilt`] and [`Faces::swing`].
    pub(super) fn planes(&self, stations: &[Station], offset: Length) -> Sawn {
        let across = |away: Option<[Length; 2]>, way: i32| {
            away.map(|away| Position::ZERO + offset + mean(away).times(way))
        };
        let middles = match stations {
            [near, .., far] => mean([near.centre_height, far.centre_height].map(Position::from_origin)),
            _ => Length::ZERO,
        };
        let up = |away: Option<[Length; 2]>, way: i32| {
            away.map(|away| Position::ZERO + middles + mean(away).times(way))
        };
        Sawn {
            entry: across(self.entry, -1),
            exit: across(self.exit, 1),
            bottom: up(self.bottom, -1),
            top: up(self.top, 1),
        }
    }

    fn all(&self) -> [Option<[Length; 2]>; 4] {
        [self.entry, self.exit, self.bottom, self.top]
    }
}

fn mean([near, far]: [Length; 2]) -> Length {
    (near + far).half_floor()
}

/// The lowest place of all stations over bark, as faces leave them.
pub(super) fn lowest(stations: &[Station], sawn: &Sawn, bark: Length) -> Option<Position> {
    let lowest = stations.iter().map(|station| {
        let whole = Section::new(Form::Round, station, bark);
        let left = bunkside_planner::geometry::left_by(sawn);
        let height = whole.left_by(left.across, left.height).height();
        if height.is_empty() {
            whole.height().lo
        } else {
            height.lo
        }
    });
    lowest.min()
}

/// What is wrong with faces as they are told, before the log is laid on them.
pub(super) fn judge(root: &Node, log: &Measured, said: &mut Vec<Diagnostic>) {
    let faces = &log.sawn;
    if faces.is_none() {
        return;
    }
    let at = |name: &str| place(root, &format!("setting.sawn.{name}"));
    for ((name, called), away) in NAMES.into_iter().zip(faces.all()) {
        let Some(away) = away else { continue };
        let upright = matches!(name, "top" | "bottom");
        let reach = log.reach(upright);
        if away.iter().zip(reach).all(|(away, reach)| *away >= reach) {
            let message = format!(
                "{called} lies {} from the middle of the ends, and the log's wood reaches no further than {}",
                ends(away),
                ends(reach)
            );
            let help =
                "measure from the middle of the end to the face; leave the key out where nothing was sawn";
            said.push(Diagnostic::error(at(name), message).with_help(help));
        }
    }
    for (one, other, names) in [
        (faces.entry, faces.exit, ["entry", "exit"]),
        (faces.bottom, faces.top, ["bottom", "top"]),
    ] {
        let (Some([near, far]), Some([other_near, other_far])) = (one, other) else {
            continue;
        };
        let apart = [near + other_near, far + other_far];
        if (apart[0] - apart[1]).abs() > PARALLEL {
            let message = format!(
                "`{}` and `{}` lie {} apart: they are not parallel",
                names[0],
                names[1],
                ends(apart)
            );
            let help = "measure both again at both ends; faces that are more than 5 mm out of parallel are not judged";
            said.push(Diagnostic::error(at(names[1]), message).with_help(help));
        }
    }
    settings(root, faces, said);
}

/// A key of the setting that says what a face says already.
fn settings(root: &Node, faces: &Faces, said: &mut Vec<Diagnostic>) {
    let written = root
        .get("setting.level")
        .zip(root.get("setting"))
        .filter(|(level, setting)| level.span != setting.span);
    if let Some((level, _)) = written.filter(|_| faces.tilt().is_some()) {
        let message = "`level` is given, and the log lies as its sawn face does";
        let help =
            "leave `level` out: the face is laid level, and what was measured at both ends tells the tilt";
        said.push(Diagnostic::error(level.span, message).with_help(help));
    }
}

/// Faces that leave nothing to saw.
pub(super) fn left(root: &Node, log: &LogRecord, said: &mut Vec<Diagnostic>) {
    if let Err(error @ (ShapeError::SawnAway { .. } | ShapeError::FaceFar)) = Shape::new(log) {
        let help =
            "measure each face from the middle of the end, below zero only where it lies beyond the middle";
        said.push(Diagnostic::error(place(root, "setting.sawn"), error.to_string()).with_help(help));
    }
}

/// `110 mm`, or both where the ends differ.
fn ends([near, far]: [Length; 2]) -> String {
    if near == far {
        near.to_string()
    } else {
        format!("{near} (near end) and {far} (far end)")
    }
}

#[cfg(test)]
mod tests {
    use bunkside_planner::geometry::Interval;
    use bunkside_planner::physics::area::moments;

    use super::*;
    use crate::diagnostic::Source;
    use crate::job::{self, Job};
    use std::path::Path;

    fn read(name: &str, changes: &[(&str, &str)]) -> Job {
        let load = |path: &Path| std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
        let path = format!("examples/jobs/{name}.toml");
        let mut text = load(Path::new(&path)).unwrap();
        for (from, to) in changes {
            assert!(text.contains(from), "{from}");
            text = text.replace(from, to);
        }
        let outcome = job::read(&Source::new(path, text), &load);
        outcome
            .job
            .clone()
            .unwrap_or_else(|| panic!("{}", outcome.rendered()))
    }

    /// It lies on the face, which is the bed's height, whatever its taper; its middles lie as far over it as was measured.
    #[test]
    fn a_log_turned_by_half_lies_on_its_face() {
        let log = read("l-21", &[]).log;
        assert_eq!(log.sawn.bottom, Some(Position::ZERO));
        let heights: Vec<Position> = log.stations.iter().map(|station| station.centre_height).collect();
        assert_eq!(heights, [Position::mm(78); 2]);
        let tilted = read("l-21", &[("\"78 mm\"", "[\"70 mm\", \"86 mm\"]")]).log;
        let heights: Vec<Position> = tilted
            .stations
            .iter()
            .map(|station| station.centre_height)
            .collect();
        assert_eq!(heights, [70, 86].map(Position::mm));
        assert_eq!(tilted.sawn.bottom, Some(Position::ZERO));
        let wood = Shape::new(&tilted).unwrap().wood().to_vec();
        assert!(wood.iter().all(|section| section.height().lo == Position::ZERO));
        // Near end, R 200: what a chord of 2√(200² − 70²) = 374.700 mm parts off.
        let chord = wood[0].chord(Position::ZERO).unwrap();
        assert!((chord.length() - Length::um(374_700)).abs() <= Length::um(2));
    }

    /// The face runs along the rails; the middles lie as far from it at both ends as was measured.
    #[test]
    fn a_log_turned_by_a_quarter_is_swung_until_its_face_runs_along_the_rails() {
        let log = read("d-18", &[]).log;
        assert_eq!(log.sawn.entry, Some(Position::mm(-68)));
        let middles: Vec<Position> = log.stations.iter().map(|station| station.centre_across).collect();
        assert_eq!(middles, [3, -3].map(Position::mm));
        let shape = Shape::new(&log).unwrap();
        assert!(
            shape
                .wood()
                .iter()
                .all(|section| section.width().lo == Position::mm(-68))
        );
        // The lowest point of its bark lies on the bed, as that of a round log does.
        assert_eq!(shape.bounds().height.lo, Position::ZERO);
        // On the exit side the same, mirrored; and shifted with the log.
        let exit = read(
            "d-18",
            &[
                ("entry =", "exit ="),
                ("near_end_at", "offset = \"10 mm\"\nnear_end_at"),
            ],
        )
        .log;
        assert_eq!(exit.sawn.exit, Some(Position::mm(78)));
        let middles: Vec<Position> = exit
            .stations
            .iter()
            .map(|station| station.centre_across)
            .collect();
        assert_eq!(middles, [7, 13].map(Position::mm));
    }

    /// A face on top alone tilts the log until it is level; past the middle, less than half is left.
    #[test]
    fn a_face_on_top_is_laid_level_and_one_past_the_middle_leaves_less_than_half() {
        let log = read(
            "l-21",
            &[("bottom = \"78 mm\"", "top = [\"120 mm\", \"140 mm\"]")],
        )
        .log;
        let shape = Shape::new(&log).unwrap();
        let top = shape.bounds().height.hi;
        assert_eq!(log.sawn.top, Some(top));
        let over: Vec<Length> = log
            .stations
            .iter()
            .map(|station| top - station.centre_height)
            .collect();
        assert_eq!(over, [120, 140].map(Length::mm));
        assert_eq!(shape.bounds().height.lo, Position::ZERO);
        let less = read("l-21", &[("\"78 mm\"", "\"-20 mm\"")]).log;
        assert_eq!(less.stations[0].centre_height, Position::mm(-20));
        // The segment of 180 mm in R 200: A = R²/2 (θ - sin θ), θ = 2 acos(20/200) = 2.941257 rad.
        let section = Shape::new(&less).unwrap().wood()[0];
        let area = moments(&section, Interval::ALL, Interval::ALL).area;
        let angle = 2.0 * libm::acos(0.1);
        assert!(
            (area - 20_000.0 * (angle - libm::sin(angle))).abs() < 1.0,
            "{area}"
        );
    }

    /// Two that lie opposite each other are kept where they are, whatever the order.
    #[test]
    fn opposite_faces_lie_as_far_apart_as_they_were_measured() {
        let four = "bottom = \"78 mm\"\ntop = \"90 mm\"\nentry = \"100 mm\"\nexit = \"110 mm\"";
        let log = read("l-21", &[("bottom = \"78 mm\"", four)]).log;
        let expected = Sawn {
            entry: Some(Position::mm(-100)),
            exit: Some(Position::mm(110)),
            bottom: Some(Position::ZERO),
            top: Some(Position::mm(168)),
        };
        assert_eq!(log.sawn, expected);
        assert_eq!(read("g-04", &[]).log.sawn, Sawn::NONE);
    }
}
