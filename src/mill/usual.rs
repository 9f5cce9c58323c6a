//! What is hardly true of any mill: a slip of the unit or the pen, which would make the rules blind.
//!
//! Every stretch is wide; what lies outside it is taken as written, and warned of. Common practice, no source.

use bunkside_protocol::Length;
use bunkside_protocol::mill::Axis;

use crate::diagnostic::{Diagnostic, Span};
use crate::input::{Node, in_unit, thousandths};
use crate::measure::Quantity;

/// How a value is told.
#[derive(Clone, Copy)]
enum Told {
    In(Quantity),
    Thousandths,
    Count,
}

impl Told {
    fn words(self, value: i64) -> String {
        match self {
            Self::In(quantity) => in_unit(quantity, value),
            Self::Thousandths => thousandths(value),
            Self::Count => value.to_string(),
        }
    }
}

const LENGTH: Told = Told::In(Quantity::Length);
const SPEED: Told = Told::In(Quantity::Speed);
const TIME: Told = Told::In(Quantity::Time);
const POWER: Told = Told::In(Quantity::Power);
const FORCE: Told = Told::In(Quantity::Force);
const MASS: Told = Told::In(Quantity::Mass);
const ENERGY: Told = Told::In(Quantity::CuttingEnergy);
const PURE: Told = Told::Thousandths;

/// The key, how its value is told, and from where to where it usually lies, in base units (common practice, no source).
const USUAL: &[(&str, Told, i64, i64)] = &[
    ("blade.kerf", LENGTH, 2_000, 9_000),
    ("blade.radius", LENGTH, 150_000, 800_000),
    ("blade.hub", LENGTH, 20_000, 300_000),
    ("blade.teeth", Told::Count, 4, 80),
    ("blade.rim_speed", SPEED, 30_000_000, 100_000_000),
    ("blade.spin_up", TIME, 1_000, 60_000),
    ("blade.run_down", TIME, 3_000, 300_000),
    ("swing.time", TIME, 500, 60_000),
    ("carriage.holding_force", FORCE, 50, 20_000),
    ("carriage.push", FORCE, 50, 400),
    ("loose.drops", MASS, 1, 40),
    ("loose.tips", MASS, 5, 150),
    ("loose.on_blade", MASS, 10, 400),
    ("power.engine", POWER, 2_000, 150_000),
    ("power.efficiency", PURE, 500, 950),
    ("cutting_energy.soft", ENERGY, 10, 100),
    ("cutting_energy.medium", ENERGY, 15, 150),
    ("cutting_energy.hard", ENERGY, 20, 180),
    ("travel.rapid", SPEED, 100_000, 3_000_000),
    ("across.rapid", SPEED, 5_000, 1_000_000),
    ("height.rapid", SPEED, 5_000, 1_000_000),
    ("travel.tolerance", LENGTH, TRUEST_UM, 10_000),
    ("across.tolerance", LENGTH, TRUEST_UM, 3_000),
    ("height.tolerance", LENGTH, TRUEST_UM, 3_000),
    ("wedges.height", LENGTH, 5_000, 200_000),
    ("clearance.bed", LENGTH, 5_000, 200_000),
    ("factor.roll", PURE, 1_100, 3_000),
    ("factor.slip", PURE, 1_100, 3_000),
    ("factor.lift", PURE, 1_100, 3_000),
    ("factor.thrust", PURE, 100, 1_000),
    ("factor.shock", PURE, 1_200, 3_000),
    ("factor.grip_barked", PURE, 200, 800),
    ("factor.grip_smooth", PURE, 100, 600),
    ("factor.grip_iced", PURE, 50, 250),
];

const TRUEST_UM: i64 = Axis::TRUEST.as_um() as i64;

/// The clearances, and the axes that may bring what they keep apart together.
const CLEARANCES: &[(&str, &[&str])] = &[
    ("clearance.bed", &["across.tolerance", "height.tolerance"]),
    ("clearance.run_out", &["travel.tolerance"]),
    (
        "clearance.body",
        &["travel.tolerance", "across.tolerance", "height.tolerance"],
    ),
];

fn place(root: &Node, path: &str) -> Span {
    root.get(path).map_or(root.span, |node| node.span)
}

/// Warns of every value outside its stretch.
pub(super) fn values(root: &Node, said: &mut Vec<Diagnostic>) {
    for (path, told, least, most) in USUAL {
        let Some(value) = root
            .number::<i64>(path)
            .filter(|value| !(*least..=*most).contains(value))
        else {
            continue;
        };
        let message = format!("`{path}` is {}, which hardly any mill has", told.words(value));
        let taken = if path.ends_with("tolerance") && value < TRUEST_UM {
            format!("taken as {}, for no axis is truer", Axis::TRUEST)
        } else {
            "taken as written".to_owned()
        };
        let help = format!(
            "{taken}; {} to {} is usual: look at its unit, or measure it",
            told.words(*least),
            told.words(*most)
        );
        said.push(Diagnostic::warning(place(root, path), message).with_help(help));
    }
}

/// Warns of a clearance smaller than what an axis may be off.
pub(super) fn clearances(root: &Node, said: &mut Vec<Diagnostic>) {
    for (path, axes) in CLEARANCES {
        let Some(clearance) = root.length(path) else {
            continue;
        };
        let off = axes.iter().filter_map(|axis| Some((root.length(axis)?, *axis)));
        let most: Option<(Length, &str)> = off.max_by_key(|(length, _)| *length);
        let Some((tolerance, axis)) = most.filter(|(tolerance, _)| *tolerance > clearance) else {
            continue;
        };
        let message = format!("`{path}` is {clearance}, less than `{axis}` of {tolerance}");
        let help = format!(
            "along that axis {tolerance} is kept, so that things stay apart where it is off; write a larger clearance, or mend the tolerance"
        );
        said.push(Diagnostic::warning(place(root, path), message).with_help(help));
    }
}
