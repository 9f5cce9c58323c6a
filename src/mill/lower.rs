//! From what was read to the record of a mill.

use bunkside_planner::limits::HAND_PUSH;
use bunkside_planner::physics::falling::turns_under;
use bunkside_protocol::mill::{
    Axis, Blade, Box3, Bunk, BunkKind, Clearances, Drive, Factors, HeightSetting, HoldTimes, Knife, Loose,
    MillRecord, Power, PullBackAid, Reach, Side, Support, Swing, Turn, Wedges,
};
use bunkside_protocol::{Length, Stroke};

use super::{Profile, check, usual};
use crate::diagnostic::{Diagnostic, any_error};
use crate::input::{Node, Value};

/// The profile that a table holds; none where something in it is missing or wrong, and then it is said.
pub(crate) fn profile(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Profile> {
    let before = said.len();
    check::hub(root, said);
    check::order(root, said);
    check::bunks(root, said);
    check::packing(root, said);
    check::over_the_face(root, said);
    check::travel(root, said);
    usual::values(root, said);
    usual::clearances(root, said);
    let blade = blade(root);
    let swing = swing(root);
    if let (Some(blade), Some(swing)) = (&blade, &swing) {
        check::pivot(root, swing, blade, said);
        check::housed(root, blade, said);
    }
    let drive = drive(root, said);
    let height_setting = height_setting(root, said);
    let flat = boxes(root, "head.flat", said);
    let upright = boxes(root, "head.upright", said);
    let dogs = boxes(root, "dog", said);
    let keep_out = boxes(root, "keep_out", said);
    let reach = reach(root, said);
    let record = MillRecord {
        drive: drive?,
        entry: if root.word("entry")? == "left" {
            Side::Left
        } else {
            Side::Right
        },
        blade: blade?,
        swing: swing?,
        head: [flat?, upright?],
        reach: reach?,
        power: power(root)?,
        knife: optional(root, "knife", knife)?,
        aid: optional(root, "pull_back_aid", aid)?,
        travel: axis(root, "travel")?,
        across: axis(root, "across")?,
        height: axis(root, "height")?,
        height_setting: height_setting?,
        bunks: root.items("bunk").map(bunk).collect::<Option<_>>()?,
        wedges: Wedges {
            reach: root.length("wedges.reach")?,
            height: root.length("wedges.height")?,
            packing: root.length("wedges.packing")?,
        },
        support: Support {
            spacing: root.length("support.spacing")?,
            overhang: root.length("support.overhang")?,
            sag: root.length("support.sag")?,
        },
        dogs: dogs?,
        dog_hold: root.number("dog_hold")?,
        keep_out: keep_out?,
        clearances: clearances(root)?,
        loose: loose(root)?,
        factors: factors(root)?,
        hold_times: HoldTimes {
            walk: root.millis("hold.walk")?,
            unload: root.millis("hold.unload")?,
            act: root.millis("hold.act")?,
        },
        grid: root.length("grid")?,
    };
    check::climbs(root, &record, said);
    check::housing(root, &record, said);
    let energy = |class| root.number(&format!("cutting_energy.{class}"));
    let cutting_energy = [energy("soft"), energy("medium"), energy("hard")];
    let name = root.text("name")?.to_owned();
    (!any_error(&said[before..])).then_some(Profile {
        name,
        record,
        log_max: root.number("log_max"),
        bunk_width: root.length("support.bunk_width")?,
        cutting_energy,
        tips_alone: tips(root, TWO_LIFT / 2)?,
    })
}

/// A table that may be left out: none where it is there but could not be read.
fn optional<T>(root: &Node, path: &str, lower: impl Fn(&Node) -> Option<T>) -> Option<Option<T>> {
    root.get(path).map_or(Some(None), |node| lower(node).map(Some))
}

fn drive(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Drive> {
    let force = root.get("carriage.holding_force");
    let push = root.get("carriage.push");
    match (root.word("carriage.drive")?, force) {
        ("powered", _) if push.is_some() => {
            let message = "a powered carriage is not pushed";
            let help = "leave `push` out, or say drive = \"hand\"";
            said.push(Diagnostic::error(push?.span, message).with_help(help));
            None
        }
        ("powered", Some(force)) => {
            let newtons = force.whole().and_then(|force| u32::try_from(force).ok());
            newtons.map(|holding_force| Drive::Powered { holding_force })
        }
        ("powered", None) => {
            let message = "a powered carriage needs `carriage.holding_force`";
            let help = "add holding_force = \"900 N\", the pull the drive holds; without it no climb cut can be judged";
            said.push(Diagnostic::error(root.get("carriage")?.span, message).with_help(help));
            None
        }
        (_, Some(force)) => {
            let message = "a hand carriage holds nothing against a climb cut";
            let help = "leave `holding_force` out, or say drive = \"powered\"";
            said.push(Diagnostic::error(force.span, message).with_help(help));
            None
        }
        _ => Some(Drive::Hand {
            push: match push {
                Some(push) => u32::try_from(push.whole()?).ok()?,
                None => HAND_PUSH,
            },
        }),
    }
}

fn blade(root: &Node) -> Option<Blade> {
    Some(Blade {
        kerf: root.length("blade.kerf")?,
        radius: root.length("blade.radius")?,
        hub: root.length("blade.hub")?,
        teeth: root.number("blade.teeth")?,
        gullet: root.number("blade.gullet")?,
        rim_speed: root.speed("blade.rim_speed")?,
        spin_up: root.millis("blade.spin_up")?,
        run_down: root.millis("blade.run_down")?,
    })
}

fn swing(root: &Node) -> Option<Swing> {
    Some(Swing {
        pivot_across: root.length("swing.pivot.across")?,
        pivot_height: root.length("swing.pivot.height")?,
        turn: if root.word("swing.turn")? == "over" {
            Turn::Over
        } else {
            Turn::Under
        },
        teeth_flat: if root.word("swing.teeth_flat")? == "outbound" {
            Stroke::Outbound
        } else {
            Stroke::Homebound
        },
        time: root.millis("swing.time")?,
    })
}

/// From and to along an axis.
fn from_to(node: &Node, axis: &str, said: &mut Vec<Diagnostic>) -> Option<[bunkside_protocol::Position; 2]> {
    let list = node.get(axis)?;
    let pair: [Option<_>; 2] = list
        .all()?
        .into_iter()
        .map(Node::as_position)
        .collect::<Vec<_>>()
        .try_into()
        .ok()?;
    let [from, to] = [pair[0]?, pair[1]?];
    if from > to {
        let message = format!("`{axis}` runs from {from} down to {to}");
        said.push(
            Diagnostic::error(list.span, message)
                .with_help(format!("write the lower first: [\"{to}\", \"{from}\"]")),
        );
        return None;
    }
    if from == to {
        let message = format!("`{axis}` runs from {from} to {to}: such a box fills no room");
        let help = "write where the part begins and where it ends, or leave the box out";
        said.push(Diagnostic::error(list.span, message).with_help(help));
        return None;
    }
    Some([from, to])
}

/// A box.
fn box3(node: &Node, said: &mut Vec<Diagnostic>) -> Option<Box3> {
    let (travel, across, height) = (
        from_to(node, "travel", said),
        from_to(node, "across", said),
        from_to(node, "height", said),
    );
    let (travel, across, height) = (travel?, across?, height?);
    Some(Box3 {
        min: [travel[0], across[0], height[0]],
        max: [travel[1], across[1], height[1]],
    })
}

fn boxes<const N: usize>(
    root: &Node,
    path: &str,
    said: &mut Vec<Diagnostic>,
) -> Option<heapless::Vec<Box3, N>> {
    let read: Vec<Option<Box3>> = root.items(path).map(|node| box3(node, said)).collect();
    read.into_iter().collect()
}

/// Bites by knife and timber.
fn bites(root: &Node, path: &str) -> Option<[[Length; 3]; 2]> {
    let row = |name: &str| -> Option<[Length; 3]> {
        let items = root.get(&format!("{path}.{name}"))?.all()?;
        items
            .into_iter()
            .map(Node::as_length)
            .collect::<Option<Vec<_>>>()?
            .try_into()
            .ok()
    };
    let off = row("knife_off")?;
    Some([off, row("knife_on").unwrap_or(off)])
}

fn reach(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Reach> {
    let hand = root.word("carriage.drive")? == "hand";
    let mut at = |angle: &str| -> Option<(Length, [[[Length; 3]; 2]; 2])> {
        let path = format!("reach.{angle}");
        let forward = bites(root, &format!("{path}.forward"))?;
        let climb = match root.get(&format!("{path}.climb")) {
            Some(_) => bites(root, &format!("{path}.climb"))?,
            None if hand => forward,
            None => {
                let message = format!("`{path}.climb` is missing on a powered carriage");
                let help = "add climb = { knife_off = [\"165 mm\", \"120 mm\", \"80 mm\"] }: the deepest climb bites in soft, medium, hard timber";
                said.push(Diagnostic::error(root.get(&path)?.span, message).with_help(help));
                return None;
            }
        };
        Some((root.length(&format!("{path}.cover"))?, [climb, forward]))
    };
    let (flat, upright) = (at("flat"), at("upright"));
    let ((flat_cover, flat_bite), (upright_cover, upright_bite)) = (flat?, upright?);
    Some(Reach {
        cover: [flat_cover, upright_cover],
        bite: [flat_bite, upright_bite],
    })
}

fn power(root: &Node) -> Option<Power> {
    Some(Power {
        watts: root.number("power.engine")?,
        efficiency: root.number("power.efficiency")?,
        feed_min: root.speed("power.feed.slowest")?,
        feed_max: root.speed("power.feed.fastest")?,
        bite_min: root.length("power.tooth_bite.least")?,
        bite_max: root.length("power.tooth_bite.most")?,
        gullet_fill: root.number("power.gullet_fill")?,
    })
}

fn knife(node: &Node) -> Option<Knife> {
    Some(Knife {
        leads_homebound: node.flag("leads_homebound")?,
        homebound_limit: [
            node.length("homebound_limit.flat")?,
            node.length("homebound_limit.upright")?,
        ],
        fitted_at_start: node.flag("fitted")?,
    })
}

fn aid(node: &Node) -> Option<PullBackAid> {
    Some(PullBackAid {
        widest: node.length("widest")?,
        on_at_start: node.flag("fitted")?,
    })
}

fn axis(root: &Node, path: &str) -> Option<Axis> {
    let node = root.get(path)?;
    Some(Axis {
        min: node.position("min")?,
        max: node.position("max")?,
        rapid: node.speed("rapid")?,
        acceleration: node.number("acceleration")?,
        tolerance: node.length("tolerance")?,
    })
}

fn height_setting(root: &Node, said: &mut Vec<Diagnostic>) -> Option<HeightSetting> {
    let time = root.get("height.setting_time");
    match (root.word("height.set")?, time) {
        ("driven", None) => Some(HeightSetting::Driven),
        ("driven", Some(node)) => {
            let message = "`height.setting_time` is for a height that is set by hand";
            said.push(
                Diagnostic::error(node.span, message).with_help("leave it out, or say set = \"by_hand\""),
            );
            None
        }
        (_, Some(_)) => root.millis("height.setting_time").map(HeightSetting::ByHand),
        (_, None) => {
            let message = "a height that is set by hand needs `height.setting_time`";
            let help = "add setting_time = \"25 s\": the walk to both ends and the setting";
            said.push(Diagnostic::error(root.get("height")?.span, message).with_help(help));
            None
        }
    }
}

fn bunk(node: &Node) -> Option<Bunk> {
    let kind = match node.word("kind")? {
        "steel" => BunkKind::Steel,
        _ => BunkKind::Timber {
            sacrificial: node.length("sacrificial").unwrap_or(Length::ZERO),
        },
    };
    Some(Bunk {
        travel: node.position("at")?,
        half_size: node.length("size")?.half_floor(),
        top: node.position("top")?,
        kind,
    })
}

fn clearances(root: &Node) -> Option<Clearances> {
    Some(Clearances {
        bed: root.length("clearance.bed")?,
        run_out: root.length("clearance.run_out")?,
        body: root.length("clearance.body")?,
        rim_overhang: root.length("clearance.rim_overhang")?,
    })
}

/// What two people lift, kilograms, 25 kg each (ISO 11228-1, from memory).
const TWO_LIFT: u16 = 50;

/// What drops beside an upright kerf and does no great harm, kilograms (common practice, no source).
const DROPS: u16 = 18;

/// What may tip off: as it is written, or else as much as so many lift.
fn tips(root: &Node, lifted: u16) -> Option<u16> {
    match root.get("loose.tips") {
        Some(_) => root.number("loose.tips"),
        None => Some(lifted),
    }
}

/// What may lie on the blade is, where nothing is said, what engine and rim speed let it turn under.
fn loose(root: &Node) -> Option<Loose> {
    let on_blade = match root.get("loose.on_blade") {
        Some(_) => root.number("loose.on_blade")?,
        None => turns_under(&blade(root)?, &power(root)?),
    };
    let drops = match root.get("loose.drops") {
        Some(_) => root.number("loose.drops")?,
        None => DROPS,
    };
    Some(Loose {
        drops,
        tips: tips(root, TWO_LIFT)?,
        on_blade,
    })
}

fn factors(root: &Node) -> Option<Factors> {
    let node = root.get("factor")?;
    if !matches!(node.value, Value::Table(_)) {
        return None;
    }
    Some(Factors {
        roll: node.number("roll")?,
        slip: node.number("slip")?,
        lift: node.number("lift")?,
        thrust: node.number("thrust")?,
        shock: node.number("shock")?,
        grip_barked: node.number("grip_barked")?,
        grip_smooth: node.number("grip_smooth")?,
        grip_iced: node.number("grip_iced")?,
    })
}
