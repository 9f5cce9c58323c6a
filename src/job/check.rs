//! What is odd about a log and how it lies, judged between the values of a job.

use bunkside_planner::geometry::{Block, Interval, Shape};
use bunkside_planner::limits::DOG_POINTS;
use bunkside_planner::machine::ends_beyond;
use bunkside_planner::stock::{Pick, Stock};
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Length, LogRecord, MillRecord, Position};

use super::shape::Measured;
use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::input::Node;
use crate::measure::millimetres;

/// Taper beyond which the ends are likely in two units, micrometres of diameter a metre: 80 mm. Butt flare of a short
/// log comes near it (common practice, no source).
const TAPER_UM_A_METRE: i64 = 80_000;

/// Logs are hardly ever sawn so that are thicker (common practice, no source).
const THICKEST: Length = Length::mm(1_500);

/// Where the value at a path stands; where it is left out, what it is left out of.
pub(super) fn place(node: &Node, path: &str) -> Span {
    node.get(path).map_or(node.span, |node| node.span)
}

/// What was warned of, a sentence each: it belongs beside the plan too, which is read where the terminal is not.
pub(super) fn doubts(said: &[Diagnostic]) -> Vec<String> {
    let warned = said.iter().filter(|one| one.severity == Severity::Warning);
    warned
        .map(|one| format!("{}: {}", one.message, one.help))
        .collect()
}

/// The longest log that the rails of a mill take, in whole centimetres: past both its ends the blade has to run out, and stop.
#[must_use]
pub fn longest_log(mill: &MillRecord) -> Length {
    let rails = Interval::new(mill.travel.min, mill.travel.max);
    let past = ends_beyond(mill, rails).map_or_else(|missing| missing, |_| Length::ZERO);
    let um = (rails.length() - past.times(2)).wide();
    Length::um((um - um.rem_euclid(10_000)).max(0))
}

/// A butt that is smaller than the small end, and a taper that no stem has.
pub(super) fn butt(root: &Node, log: &Measured, said: &mut Vec<Diagnostic>) {
    let butt_is_near = root.word("log.butt_at") == Some("near");
    let (butt, small) = if butt_is_near {
        (log.near, log.far)
    } else {
        (log.far, log.near)
    };
    let size = |[across, height]: [Length; 2]| across.wide() * height.wide();
    if size(butt) < size(small) {
        let message = "the butt is smaller than the small end";
        let help = "taken as written, the log is thicker at its small end; if the two are swapped, mend it";
        said.push(Diagnostic::warning(place(root, "log.butt"), message).with_help(help));
    }
    let taper = (0..2)
        .map(|axis| (butt[axis] - small[axis]).abs().wide())
        .max()
        .unwrap_or(0);
    if taper * 1_000_000 > TAPER_UM_A_METRE * log.length.wide() {
        let a_metre = Length::um(taper * 1_000_000 / log.length.wide().max(1));
        let message = format!("the log tapers {a_metre} a metre");
        let help = "taken as written; look at the units of length, small_end and butt";
        said.push(Diagnostic::warning(place(root, "log.butt"), message).with_help(help));
    }
}

/// Sizes that are more likely written in another unit than true: a log thicker than any that is sawn so, bark thicker than a
/// tenth of it (common practice, no source).
pub(super) fn sizes(root: &Node, log: &Measured, said: &mut Vec<Diagnostic>) {
    let diameters = || log.near.into_iter().chain(log.far);
    let (thick, thin) = (diameters().max(), diameters().min());
    let (thick, thin) = (thick.unwrap_or(Length::ZERO), thin.unwrap_or(Length::ZERO));
    let mut warn = |path: &str, message: String, help: &str| {
        said.push(Diagnostic::warning(place(root, path), message).with_help(help));
    };
    if thick > THICKEST {
        let help = "taken as written; look at the units of small_end and butt";
        warn("log.butt", format!("the log is {thick} thick"), help);
    }
    if log.bark.times(10) > thin {
        let message = format!("the bark is {} thick on a log of {thin}", log.bark);
        warn(
            "log.bark",
            message,
            "taken as written; look at its unit: it is measured on one side",
        );
    }
}

/// Boards that are longer than what is left between the end trims.
pub(super) fn lengths(root: &Node, length: Length, said: &mut Vec<Diagnostic>) {
    let Some(trim) = root.length("log.end_trim") else {
        return;
    };
    let usable = length - trim.times(2);
    if usable <= Length::ZERO {
        let message = format!("an end trim of {trim} at both ends leaves nothing of {length}");
        said.push(Diagnostic::error(place(root, "log.end_trim"), message).with_help("write a shorter trim"));
        return;
    }
    for board in root.items("board") {
        let name = board.text("name").unwrap_or("board");
        for node in board.items("lengths") {
            let Some(board) = node.as_length().filter(|board| *board > usable) else {
                continue;
            };
            let message = format!("no {name} of {board} comes out of this log");
            let help = if trim == Length::ZERO {
                format!("it is {length} long; the length is left out of the layout")
            } else {
                format!(
                    "{length} less {trim} at each end leaves {usable}; the length is left out of the layout"
                )
            };
            said.push(Diagnostic::warning(node.span, message).with_help(help));
        }
    }
}

/// A log that lies on fewer than two bunks, or where the blade cannot reach both its ends.
pub(super) fn bunks(root: &Node, log: &Measured, mill: &MillRecord, said: &mut Vec<Diagnostic>) {
    let (near, far): (Position, Position) = (log.near_end_at, log.near_end_at + log.length);
    let under = mill
        .bunks
        .iter()
        .filter(|bunk| (near..=far).contains(&bunk.travel))
        .count();
    let span = place(root, "setting.near_end_at");
    if under < 2 {
        let count = if under == 0 {
            "no bunk stands"
        } else {
            "only one bunk stands"
        };
        let message = format!("{count} under this log, which lies from {near} to {far}");
        let places: Vec<String> = mill.bunks.iter().map(|bunk| bunk.travel.to_string()).collect();
        let shift = over_two(log, mill).map_or_else(
            || "set bunks".to_owned(),
            |by| {
                let end = if by > Length::ZERO { "far" } else { "near" };
                format!("shift the log {} towards its {end} end, or set bunks", by.abs())
            },
        );
        let help = format!("{shift}; they stand at {}", places.join(", "));
        said.push(Diagnostic::warning(span, message).with_help(help));
    }
    if near < Position::ZERO {
        let message = format!(
            "the log reaches {} to the operator's side of the rails' zero mark, and the blade further",
            Position::ZERO - near
        );
        let help = "taken as written; nobody stands there while the blade turns. If it is a slip, `near_end_at` grows away from \
                    that mark: leave out its minus";
        said.push(Diagnostic::warning(span, message).with_help(help));
    }
    if near < mill.travel.min || far > mill.travel.max {
        let message = format!("the log lies from {near} to {far}, beyond the rails");
        let help = format!(
            "the blade travels from {} to {}, and runs out past both ends of a log: the longest that these rails take is {} long",
            mill.travel.min,
            mill.travel.max,
            longest_log(mill)
        );
        said.push(Diagnostic::error(span, message).with_help(help));
    }
}

/// The least shift, outbound above zero, that brings a log over the whole width of two bunks; none where it is too short for
/// any two.
fn over_two(log: &Measured, mill: &MillRecord) -> Option<Length> {
    let (near, far) = (log.near_end_at, log.near_end_at + log.length);
    let pairs = mill.bunks.iter().zip(mill.bunks.iter().skip(1));
    let shifts = pairs.filter_map(|(first, last)| {
        let most = (first.travel - first.half_size) - near;
        let least = (last.travel + last.half_size) - far;
        (least <= most).then(|| Length::ZERO.clamp(least, most))
    });
    shifts.min_by_key(|by| by.abs())
}

/// A keep-out box that lies in the log, so that no kerf could be cut there, and a dog of which nothing stands out of it, or more
/// than its points stands in its wood.
pub(super) fn boxes(root: &Node, log: &LogRecord, mill: &MillRecord, said: &mut Vec<Diagnostic>) {
    let Ok(shape) = Shape::new(log) else { return };
    let span = place(root, "setting.near_end_at");
    let stock = Stock::new(&shape, []);
    for (number, record) in mill.keep_out.iter().enumerate() {
        if stock
            .touched(&shape, Block::from_record(record), Pick::Any, true)
            .is_some()
        {
            let message = format!(
                "keep-out box {} of the mill lies in the log: {}",
                number + 1,
                lies(record)
            );
            let help = "lay the log elsewhere, or mend `keep_out` of the mill: no kerf may be cut there";
            said.push(Diagnostic::error(span, message).with_help(help));
        }
    }
    for (number, record) in mill.dogs.iter().enumerate() {
        if is_inside(&shape, record) {
            let message = format!(
                "dog {} of the mill lies all in the log: {}",
                number + 1,
                lies(record)
            );
            let help = "lay the log elsewhere, or mend `dog` of the mill: it stands beside the log, and only its point is in the wood";
            said.push(Diagnostic::error(span, message).with_help(help));
        } else if let Some(depth) = bites(&shape, record).filter(|depth| *depth > DOG_POINTS) {
            let message = format!(
                "dog {} of the mill stands in the log's wood, by more than the {DOG_POINTS} of its points: {}",
                number + 1,
                lies(record)
            );
            let help = format!(
                "lay the log elsewhere, or mend `dog` of the mill, whose box stands open beside the log: drawn back across by {}, it is \
                 clear of this log's wood",
                millimetres(depth, 1)
            );
            said.push(Diagnostic::error(span, message).with_help(help));
        }
    }
}

/// How deep a dog stands in the log's wood at the worst place: so far it has to be drawn back across to stand clear of it.
fn bites(shape: &Shape, record: &Box3) -> Option<Length> {
    let dog = Block::from_record(record);
    let held = dog.travel.meet(shape.travel());
    if held.is_empty() {
        return None;
    }
    let depth = |place| {
        let wood = shape.wood_at(place)?.across_in(Interval::ALL, dog.height)?;
        Some((wood.hi - dog.across.lo).min(dog.across.hi - wood.lo))
    };
    let middle = held.lo + held.length().half_floor();
    [held.lo, middle, held.hi].into_iter().filter_map(depth).max()
}

/// One person who would unload beside a turning blade.
pub(super) fn people(root: &Node, said: &mut Vec<Diagnostic>) {
    if root.number::<u8>("setting.people") == Some(1) && root.flag("setting.stop_to_unload") == Some(false) {
        let message = "one person alone does not unload beside a turning blade";
        let help = "leave `stop_to_unload` out, so that the blade stands, or write how many people there are";
        said.push(Diagnostic::error(place(root, "setting.stop_to_unload"), message).with_help(help));
    }
}

/// That metal stands out of the log, further than its box may be too large: the blade runs there as in air.
fn proud(shape: &Shape, record: &Box3, node: &Node) -> Option<Diagnostic> {
    let metal = Block::from_record(record);
    let held = metal.travel.meet(shape.travel());
    let around = [held.lo, held.hi]
        .into_iter()
        .filter_map(|place| shape.rough_at(place))
        .map(|section| (section.width(), section.height()))
        .reduce(|(wide, high), (width, height)| (wide.join(width), high.join(height)))?;
    let out = [
        around.0.lo - metal.across.lo,
        metal.across.hi - around.0.hi,
        around.1.lo - metal.height.lo,
        metal.height.hi - around.1.hi,
    ];
    let most = out.into_iter().max().filter(|most| *most > PROUD)?;
    let message = format!(
        "this metal stands out of the log, by {} at least",
        millimetres(most, 0)
    );
    let help = "pull it or cut it off flush before the log is sawn: rules know of metal only where there is wood or bark";
    Some(Diagnostic::warning(node.span, message).with_help(help))
}

/// So much a box may be too large for safety before what it holds is told to stand out.
const PROUD: Length = Length::mm(20);

/// A place with metal that lies all beside the log, above it or below it.
pub(super) fn metal(root: &Node, log: &LogRecord, said: &mut Vec<Diagnostic>) {
    let Ok(shape) = Shape::new(log) else { return };
    let (stock, offset) = (
        Stock::new(&shape, []),
        root.length("setting.offset").unwrap_or(Length::ZERO),
    );
    for (node, record) in root.items("log.metal").zip(&log.metal) {
        let block = Block::from_record(record).grown(Length::um(1));
        let whole = Block {
            across: Interval::ALL,
            height: Interval::ALL,
            ..block
        };
        // Beyond the log's ends it is told of where it is read, and one that runs backwards as well.
        let along = stock.touched(&shape, whole, Pick::Any, true);
        let Some((_, at)) = along.filter(|_| !block.is_empty()) else {
            continue;
        };
        if stock.touched(&shape, block, Pick::Any, true).is_some() {
            said.extend(proud(&shape, record, node));
            continue;
        }
        let Some(section) = shape.rough_at(at) else {
            continue;
        };
        let (across, height) = (section.width(), section.height());
        let mm = |length: Length| millimetres(length, 0);
        let key = if across.overlaps(block.across) {
            "height"
        } else {
            "across"
        };
        let span = node.get(key).map_or(node.span, |node| node.span);
        let message = format!(
            "this metal lies outside the log, which reaches there from {} to {} across and from {} to {} above the bed, with its bark",
            mm(across.lo.from_origin() - offset),
            mm(across.hi.from_origin() - offset),
            mm(height.lo.from_origin()),
            mm(height.hi.from_origin())
        );
        let help = "measure `across` from the line between the end centres, the entry side negative, and `height` from the bed, \
                    both as the log is set; to be sure, make the box larger, not smaller";
        said.push(Diagnostic::error(span, message).with_help(help));
    }
}

/// Whether the log's sections hold a box at both of its ends; between them the log is no thinner than its sections.
fn is_inside(shape: &Shape, record: &Box3) -> bool {
    let block = Block::from_record(record);
    [block.travel.lo, block.travel.hi].into_iter().all(|travel| {
        let section = shape.rough_at(travel);
        section.is_some_and(|section| section.holds(block.across, block.height))
    })
}

fn lies(record: &Box3) -> String {
    let Box3 { min, max } = record;
    let [travel, across, height] = [0, 1, 2].map(|axis| (min[axis], max[axis]));
    format!(
        "{} to {} along the rails, {} to {} across, {} to {} high",
        travel.0, travel.1, across.0, across.1, height.0, height.1
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::example;

    /// Somewhere on the rails the longest log fits, and one that is a centimetre and two steps of the grid longer fits nowhere.
    #[test]
    fn the_longest_log_fits_and_no_longer_one() {
        for name in ["g-04", "p-07"] {
            let mill = example(name).mill;
            let fits = |length: Length| {
                let starts = (mill.travel.min.as_um()..mill.travel.max.as_um()).step_by(1_000);
                let mut starts = starts.map(|um| Position::um(i64::from(um)));
                starts.any(|near| ends_beyond(&mill, Interval::new(near, near + length)).is_ok())
            };
            let longest = longest_log(&mill);
            assert!(longest > Length::mm(3_000), "{longest}");
            assert!(fits(longest - Length::mm(1)), "{name} {longest}");
            assert!(
                !fits(longest + Length::mm(10) + mill.grid.times(2)),
                "{name} {longest}"
            );
        }
    }
}
