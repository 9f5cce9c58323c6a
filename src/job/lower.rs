//! From what was read to a job.

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::Core;
use bunkside_protocol::log::{Form, METAL_MAX};
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Length, LogRecord, Position, Surface, Timber};

use super::energy::Energy;
use super::sawn::Faces;
use super::shape::{Level, Measured, stations};
use super::{BoardSpec, Finish, GrowthStress, Job, Layouts, Setting, beside, check, mass, sawn};
use crate::account::table::wrapped;
use crate::diagnostic::{Diagnostic, nearest};
use crate::input::{Node, Value};
use crate::mill::Profile;
use crate::species::{self, Species, State};

/// The job that a table and a mill hold; none where something in them is missing or wrong, and then it is said. What
/// can be judged without the mill is judged even where there is none.
pub(super) fn job(
    root: &Node,
    mill: Option<Profile>,
    wanted: Option<(Vec<BoardSpec>, Option<Finish>)>,
    inches: bool,
    said: &mut Vec<Diagnostic>,
) -> Option<Job> {
    let species = species(root, said);
    let (metal, core) = (metal(root, said), core(root, said));
    let measured = measured(root, said);
    let first = said.len();
    if let Some(measured) = &measured {
        check::butt(root, measured, said);
        check::lengths(root, measured.length, said);
        sawn::judge(root, measured, said);
    }
    let state = state(root);
    let surface = measured
        .as_ref()
        .zip(state)
        .and_then(|(measured, state)| surface(root, measured.bark, state, said));
    let mut mill = mill?;
    if root.number::<u8>("setting.people") == Some(1) {
        mill.record.loose.tips = mill.tips_alone;
    }
    let (measured, species, state) = (measured?, species?, state?);
    check::sizes(root, &measured, said);
    let doubts = check::doubts(said.get(first..).unwrap_or_default());
    check::bunks(root, &measured, &mill.record, said);
    let (density, timber) = timber(root, species, state, said)?;
    let (boards, finish) = wanted?;
    let energy = Energy::of(root, &mill, species, (state, timber))?;
    let (stations, faces) = stations(&measured);
    let log = LogRecord {
        form: Form::Round,
        stations,
        sawn: faces,
        bark: measured.bark,
        timber,
        density,
        stiffness: match root.get("log.stiffness") {
            Some(_) => root.number("log.stiffness")?,
            None => species.map_or(species::LEAST_STIFFNESS, |species| species.stiffness),
        },
        cutting_energy: energy.planned(),
        surface: surface?,
        bed_clearance: root.length("setting.bed_clearance")?,
        between_bunks: root.length("setting.between_bunks"),
        metal: metal?,
    };
    sawn::left(root, &log, said);
    check::people(root, said);
    check::boxes(root, &log, &mill.record, said);
    check::metal(root, &log, said);
    beside::bunks(root, &log, &mill, said);
    mass::allowed(root, &log, mill.log_max, said);
    Some(Job {
        name: root.text("log.name")?.to_owned(),
        log,
        log_max: mill.log_max,
        mill_name: mill.name,
        mill: mill.record,
        boards,
        finish,
        species,
        state,
        energy,
        length: measured.length,
        end_trim: root.length("log.end_trim")?,
        core: core?,
        growth_stress: match root.word("log.growth_stress")? {
            "high" => GrowthStress::High,
            "medium" => GrowthStress::Medium,
            _ => GrowthStress::Low,
        },
        setting: Setting {
            level: measured.level,
            near_end_at: measured.near_end_at,
            offset: measured.offset,
            turn: i32::try_from(measured.turn).ok()?,
            people: root.number("setting.people")?,
            stop_to_unload: root.flag("setting.stop_to_unload")?,
        },
        step: root.length("setting.step")?,
        layout: match root.word("setting.layout")? {
            "best" => Layouts::Best,
            _ => Layouts::ByHabit,
        },
        choices: Vec::new(),
        chosen: None,
        begun: None,
        inches,
        doubts,
    })
}

/// The state that a log is sawn in.
pub(super) fn state(root: &Node) -> Option<State> {
    Some(match root.word("log.state")? {
        "frozen" => State::Frozen,
        "dry" => State::Dry,
        _ => State::Fresh,
    })
}

/// What the log is held by on its bed. Whether ice is there has to be said of a frozen log: nothing else can know, and it hardly
/// holds there.
fn surface(root: &Node, bark: Length, state: State, said: &mut Vec<Diagnostic>) -> Option<Surface> {
    let iced = root.flag("log.iced");
    if iced.is_none() && state == State::Frozen {
        let message = "the log is frozen, and it is not said whether ice is on it or on the bunks";
        let help = "add iced = false to [log] when it lies on clean bunks and ice and snow are knocked off where it is held, else \
                    iced = true: it is then reckoned with what ice holds";
        said.push(Diagnostic::error(root.get("log.state")?.span, message).with_help(help));
        return None;
    }
    let smooth = root.flag("log.smooth").unwrap_or(bark == Length::ZERO);
    Some(match (iced, smooth) {
        (Some(true), _) => Surface::Iced,
        (_, true) => Surface::Smooth,
        (_, false) => Surface::Barked,
    })
}

/// The species that is named: none of ours is well where a density is given.
fn species(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Option<&'static Species>> {
    let has_density = root.get("log.density").is_some();
    let Some(node) = root.get("log.species") else {
        if !has_density {
            let message = "neither `log.species` nor `log.density` is given";
            let help =
                "add species = \"white oak\", or density = \"820 kg/m3\" for a species that has no name here";
            said.push(Diagnostic::error(root.get("log")?.span, message).with_help(help));
            return None;
        }
        return Some(None);
    };
    let Value::Text(name) = &node.value else {
        return None;
    };
    let found = species::find(name);
    if found.is_none() && !has_density {
        let message = format!("no data for a species called \"{name}\"");
        let help = no_such_species(name);
        said.push(Diagnostic::error(node.span, message).with_help(help));
        return None;
    }
    Some(found)
}

/// What to do about a species that has no data: a name that was meant, or its own figures.
fn no_such_species(name: &str) -> String {
    const OWN: &str = "give its density as it lies, such as density = \"820 kg/m3\", and what else is known of it: \
                       `bunkside help job`";
    let quoted = |names: &[&str]| -> String {
        let quoted: Vec<String> = names.iter().map(|one| format!("\"{one}\"")).collect();
        quoted.join(", ")
    };
    let known: Vec<&str> = species::ALL.iter().map(|species| species.name).collect();
    match alike(name, &known) {
        Alike::Meant(meant) => format!("did you mean \"{meant}\"?"),
        Alike::Kin(kin) if kin.len() == 1 => format!(
            "the only one of the kind that is known is {}; if yours is another, {OWN}",
            quoted(&kin)
        ),
        Alike::Kin(kin) => format!(
            "several of the kind are known: {}; if yours is another, {OWN}",
            quoted(&kin)
        ),
        Alike::None => {
            let list = wrapped("", &known.join("; "), 90);
            format!("{OWN}; known are\n{}", list.trim_end())
        }
    }
}

/// What is known that is like a name.
#[derive(Debug, PartialEq, Eq)]
enum Alike<'a> {
    /// The one that was meant, but for its spelling.
    Meant(&'a str),
    /// Those of the same kind: `oak` in `white oak`, or `Norway spruce` beside `Engelmann spruce`.
    Kin(Vec<&'a str>),
    /// Nothing.
    None,
}

fn alike<'a>(name: &str, known: &[&'a str]) -> Alike<'a> {
    let letters = |text: &str| -> String {
        let letters = text.chars().filter(|letter| letter.is_alphanumeric());
        letters.flat_map(char::to_lowercase).collect()
    };
    let holding = |part: &str| -> Vec<&'a str> {
        let part = letters(part);
        let held = |one: &&&str| part.len() > 2 && letters(one).contains(&part);
        known.iter().filter(held).copied().collect()
    };
    let held = holding(name);
    if !held.is_empty() {
        return Alike::Kin(held);
    }
    if let Some(meant) = nearest(name, known.iter().copied()) {
        return Alike::Meant(meant);
    }
    let kin = holding(name.split_whitespace().next_back().unwrap_or_default());
    if kin.is_empty() {
        Alike::None
    } else {
        Alike::Kin(kin)
    }
}

/// Density and timber class.
fn timber(
    root: &Node,
    species: Option<&'static Species>,
    state: State,
    said: &mut Vec<Diagnostic>,
) -> Option<(u16, Timber)> {
    let density = match root.get("log.density") {
        Some(_) => root.number("log.density")?,
        None => species?.density(state),
    };
    let class = match root.word("log.timber") {
        Some("soft") => Timber::Soft,
        Some("medium") => Timber::Medium,
        Some(_) => Timber::Hard,
        None => {
            if species.is_none()
                && let Some(node) = root.get("log.density")
            {
                let message = "how hard this timber saws is guessed from its density";
                let help = "add timber = \"soft\", \"medium\" or \"hard\"";
                said.push(Diagnostic::warning(node.span, message).with_help(help));
            }
            let fresh = species.map_or(species::class_of_density(density), Species::class);
            species::class_in(fresh, state)
        }
    };
    Some((density, class))
}

/// One or two diameters: across, height.
fn diameters(root: &Node, path: &str) -> Option<[Length; 2]> {
    let node = root.get(path)?;
    match node.as_length() {
        Some(round) => Some([round; 2]),
        None => node
            .all()?
            .into_iter()
            .map(Node::as_length)
            .collect::<Option<Vec<_>>>()?
            .try_into()
            .ok(),
    }
}

pub(super) fn measured(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Measured> {
    let bark = root.length("log.bark")?;
    let over_bark = root.flag("log.over_bark")?;
    let mut under_bark = |path: &str| -> Option<[Length; 2]> {
        let measured = diameters(root, path)?;
        if !over_bark {
            return Some(measured);
        }
        let under = measured.map(|diameter| diameter - bark.times(2));
        if under.iter().any(|diameter| *diameter < Length::mm(20)) {
            let message = format!("`{path}` over bark leaves no wood inside {bark} of bark");
            let help = "look at the unit of either, or say over_bark = false";
            said.push(Diagnostic::error(root.get(path)?.span, message).with_help(help));
            return None;
        }
        Some(under)
    };
    let (small, butt) = (under_bark("log.small_end"), under_bark("log.butt"));
    let (small, butt) = (small?, butt?);
    let (near, far) = if root.word("log.butt_at")? == "near" {
        (butt, small)
    } else {
        (small, butt)
    };
    let (bow, toward) = match root.get("log.sweep") {
        Some(sweep) => (sweep.length("bow")?, toward(sweep)?),
        None => (Length::ZERO, 0),
    };
    let faces = Faces::of(root);
    Some(Measured {
        near,
        far,
        length: root.length("log.length")?,
        bark,
        bow,
        toward,
        turn: root.number("setting.turn")?,
        level: match root.number("setting.level") {
            _ if faces.tilt().is_some() => Level::Face,
            Some(percent) => Level::of_percent(percent),
            None => match root.word("setting.level")? {
                "top" => Level::Top,
                "bottom" => Level::Bottom,
                _ => Level::Centre,
            },
        },
        near_end_at: root.position("setting.near_end_at")?,
        offset: root.length("setting.offset")?,
        sawn: faces,
    })
}

/// Which way a sweep goes, in thousandths of a degree from the exit side upwards.
fn toward(sweep: &Node) -> Option<i64> {
    match sweep.word("toward") {
        Some("up") => Some(90_000),
        Some("entry") => Some(180_000),
        Some("down") => Some(270_000),
        Some(_) => Some(0),
        None => sweep.number("toward"),
    }
}

/// Pith or rot along the middle: told from the log, kept on the bed. There may be none.
fn core(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Option<Core>> {
    let Some(node) = root.get("log.core") else {
        return Some(None);
    };
    let (thick, from) = (node.length("thick")?, node.length("from")?);
    let length = root.length("log.length")?;
    let to = node.length("to").unwrap_or(length);
    let at = |key: &str| node.get(key).map_or(node.span, |node| node.span);
    let wrong = if from > to {
        Some((
            "from",
            format!("the core runs from {from} down to {to}"),
            "write the lower first",
        ))
    } else if to > length {
        let message = format!("the core ends at {to}, beyond the end of a log of {length}");
        Some((
            "to",
            message,
            "measure from the log's near end, or leave it out where it goes right through",
        ))
    } else {
        None
    };
    if let Some((key, message, help)) = wrong {
        said.push(Diagnostic::error(at(key), message).with_help(help));
    }
    let start = root.position("setting.near_end_at")?;
    Some(Some(Core {
        travel: Interval::new(start + from, start + to),
        thick,
    }))
}

/// Places with metal: told from the log, kept on the bed.
fn metal(root: &Node, said: &mut Vec<Diagnostic>) -> Option<heapless::Vec<Box3, METAL_MAX>> {
    let read: Vec<Option<Box3>> = root
        .items("log.metal")
        .map(|node| place(root, node, said))
        .collect();
    read.into_iter().collect()
}

fn place(root: &Node, node: &Node, said: &mut Vec<Diagnostic>) -> Option<Box3> {
    let pair = |key: &str| -> Option<[Length; 2]> {
        node.get(key)?
            .all()?
            .into_iter()
            .map(Node::as_length)
            .collect::<Option<Vec<_>>>()?
            .try_into()
            .ok()
    };
    let travel = [node.length("from")?, node.length("to")?];
    let (across, height) = (pair("across")?, pair("height")?);
    for (key, [from, to]) in [("from", travel), ("across", across), ("height", height)] {
        if from > to {
            let message = format!("`{key}` runs from {from} down to {to}");
            said.push(Diagnostic::error(node.get(key)?.span, message).with_help("write the lower first"));
        }
    }
    if let Some(length) = root.length("log.length").filter(|length| travel[1] > *length) {
        let message = format!("metal at {} lies beyond the end of a log of {length}", travel[1]);
        said.push(
            Diagnostic::error(node.get("to")?.span, message).with_help("measure from the log's near end"),
        );
    }
    let (start, offset) = (
        root.position("setting.near_end_at")?,
        root.length("setting.offset")?,
    );
    let corner = |number: usize| {
        [
            start + travel[number],
            Position::ZERO + offset + across[number],
            Position::ZERO + height[number],
        ]
    };
    Some(Box3 {
        min: corner(0),
        max: corner(1),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_species_is_found_by_part_of_its_name() {
        let known: Vec<&str> = species::ALL.iter().map(|species| species.name).collect();
        let kin =
            |name: &str, expected: &[&str]| assert_eq!(alike(name, &known), Alike::Kin(expected.to_vec()));
        kin("douglas fir", &["Douglas-fir, coast"]);
        kin("oak", &["white oak", "northern red oak"]);
        kin("spruce", &["Engelmann spruce"]);
        kin("Norway spruce", &["Engelmann spruce"]);
        kin("European larch", &["western larch"]);
        kin(
            "Scots pine",
            &[
                "loblolly pine",
                "longleaf pine",
                "lodgepole pine",
                "ponderosa pine",
            ],
        );
        assert_eq!(alike("sugar mapel", &known), Alike::Meant("sugar maple"));
        for stranger in ["", "rosewood", "of"] {
            assert_eq!(alike(stranger, &known), Alike::None, "{stranger}");
        }
    }

    /// One of the kind is no proof that it is the one that lies on the bed.
    #[test]
    fn a_kind_is_not_taken_for_a_species() {
        let help = no_such_species("spruce");
        assert!(
            help.contains("\"Engelmann spruce\"; if yours is another, give its density"),
            "{help}"
        );
        assert!(!help.contains("did you mean"), "{help}");
        let help = no_such_species("rosewood");
        assert!(help.lines().all(|line| line.chars().count() <= 140), "{help}");
        assert!(
            species::ALL
                .iter()
                .all(|one| help.replace('\n', " ").contains(one.name)),
            "{help}"
        );
    }
}
