//! Mill profiles: TOML in, the record of a mill out.
//!
//! [`KEYS`] lists every key with a line on what it means; [`read`] reads a profile and says all that is wrong with
//! it. Places are told from the **corner** where the two new kerf faces meet; design words are in the README.

mod check;
mod keys;
mod lower;
mod usual;

use bunkside_protocol::{Length, MillRecord};

pub use check::{carried_past, pivot_of};
pub use keys::KEYS;
pub(crate) use lower::profile;

use crate::diagnostic::{Diagnostic, Source, any_error};
use crate::input;

/// A mill profile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Profile {
    /// What it is called.
    pub name: String,
    /// What the controller stores and the rules judge by.
    pub record: MillRecord,
    /// Heaviest log that bed and bunks carry, kilograms, if that is known.
    pub log_max: Option<u32>,
    /// How long the bunks are across the bed, half of it to either side of its middle.
    pub bunk_width: Length,
    /// Specific cutting energy measured on this mill, by timber class, joules a cubic centimetre.
    pub cutting_energy: [Option<u16>; 3],
    /// Heaviest piece that may tip off where one works alone, kilograms: as it is written, or what one lifts.
    pub tips_alone: u16,
}

/// Reads a mill profile. There is a profile exactly where no diagnostic is an error.
#[must_use]
pub fn read(source: &Source) -> (Option<Profile>, Vec<Diagnostic>) {
    let (root, mut said) = input::read(source, KEYS);
    let profile = profile(&root, &mut said).filter(|_| !any_error(&said));
    debug_assert_eq!(
        profile.is_none(),
        any_error(&said),
        "a profile or the reason why not"
    );
    (profile, said)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::render_all;
    use bunkside_planner::limits::HAND_PUSH;
    use bunkside_protocol::mill::{Box3, Turn};
    use bunkside_protocol::{Angle, Drive, Feed, Stroke};

    const POWERED: &str = include_str!("../../examples/mills/powered-165.toml");
    const HAND: &str = include_str!("../../examples/mills/hand-150.toml");

    fn good(text: &str) -> MillRecord {
        let source = Source::new("mill.toml", text);
        let (profile, said) = read(&source);
        assert!(said.is_empty(), "{}", render_all(&source, &said));
        profile.unwrap().record
    }

    #[test]
    fn the_powered_profile_climbs_homebound_at_both_angles() {
        let mill = good(POWERED);
        assert!(matches!(mill.drive, Drive::Powered { holding_force: 900 }));
        assert_eq!(mill.blade.kerf, Length::um(5_500));
        assert_eq!(mill.reach.cover, [Length::mm(165); 2]);
        for angle in Angle::ALL {
            assert_eq!(mill.stroke(angle, Feed::Climb), Stroke::Homebound);
        }
    }

    /// Common practice, no source: a hand carriage saws flat outbound, then upright homebound, both forward.
    #[test]
    fn the_hand_profile_saws_forward_flat_outbound_and_upright_homebound() {
        let mill = good(HAND);
        assert_eq!(mill.drive, Drive::Hand { push: HAND_PUSH });
        assert_eq!(mill.feed(Angle::Flat, Stroke::Outbound), Feed::Forward);
        assert_eq!(mill.feed(Angle::Upright, Stroke::Homebound), Feed::Forward);
        assert_eq!(mill.aid, None);
    }

    /// The boxes of the head at the two angles are one rigid body, and stand clear of the covered wood.
    #[test]
    fn the_sample_heads_swing_as_one_body_and_stay_out_of_the_cover() {
        for text in [POWERED, HAND] {
            let mill = good(text);
            let [flat, upright] = &mill.head;
            assert_eq!(flat.len(), upright.len());
            for (flat, upright) in flat.iter().zip(upright) {
                assert_eq!(swung_down(&mill, upright), *flat);
                assert!(flat.max[1].from_origin() <= -mill.reach.cover[0]);
                assert!(upright.min[2].from_origin() >= mill.reach.cover[1]);
            }
        }
    }

    fn swung_down(mill: &MillRecord, upright: &Box3) -> Box3 {
        let (px, py) = (mill.swing.pivot_across.wide(), mill.swing.pivot_height.wide());
        let turned = |x: i64, y: i64| match mill.swing.turn {
            Turn::Over => (px - (y - py), py + (x - px)),
            Turn::Under => (px + (y - py), py - (x - px)),
        };
        let (ax, ay) = turned(upright.min[1].wide(), upright.min[2].wide());
        let (bx, by) = turned(upright.max[1].wide(), upright.max[2].wide());
        let place = bunkside_protocol::Position::um;
        Box3 {
            min: [upright.min[0], place(ax.min(bx)), place(ay.min(by))],
            max: [upright.max[0], place(ax.max(bx)), place(ay.max(by))],
        }
    }

    /// Whichever line is lost, there is a profile or a reason why not, never neither and never a panic.
    #[test]
    fn every_line_can_be_lost() {
        for text in [POWERED, HAND] {
            for lost in 0..text.lines().count() {
                let kept: Vec<&str> = text
                    .lines()
                    .enumerate()
                    .filter(|(number, _)| *number != lost)
                    .map(|(_, line)| line)
                    .collect();
                let (profile, said) = read(&Source::new("mill.toml", kept.join("\n")));
                assert_eq!(profile.is_none(), any_error(&said), "line {}", lost + 1);
            }
        }
    }

    /// Every value spoilt in turn is refused at its own line.
    #[test]
    fn every_value_can_be_spoilt() {
        for (number, line) in POWERED.lines().enumerate() {
            let Some((key, _)) = line.split_once(" = ").filter(|(key, _)| !key.starts_with('#')) else {
                continue;
            };
            let mut lines: Vec<String> = POWERED.lines().map(str::to_owned).collect();
            lines[number] = format!("{key} = 1979-05-27");
            let source = Source::new("mill.toml", lines.join("\n"));
            let (profile, said) = read(&source);
            assert!(profile.is_none());
            let hits = said
                .iter()
                .filter(|one| source.place(one.span.start).line == number + 1)
                .count();
            assert!(hits >= 1, "{key}: {said:?}");
        }
    }

    /// One that reaches past the rim leaves no room at all, and no figure below nothing is told.
    #[test]
    fn a_housing_past_the_rim_is_told_without_a_figure_below_nothing() {
        let source = Source::new("mill.toml", POWERED.replace("\"-190 mm\"]", "\"-2 mm\"]"));
        let told = render_all(&source, &read(&source).1);
        assert!(
            told.contains("the boxes of [[head.flat]] keep wood ") && told.contains(" short of the rim"),
            "{told}"
        );
        assert!(!told.contains("only -") && !told.contains("help: -"), "{told}");
    }

    /// The housing of the example stands 165 mm and more over the kerf; moved 30 mm nearer it leaves less, and that is said.
    #[test]
    fn a_cover_that_the_housing_leaves_no_room_for_is_told() {
        let text = POWERED.replace("\"-190 mm\"]", "\"-160 mm\"]");
        assert_ne!(text, POWERED);
        let source = Source::new("mill.toml", text);
        let (profile, said) = read(&source);
        let told = render_all(&source, &said);
        assert!(profile.is_some(), "{told}");
        assert!(
            told.contains(
                "warning: `reach.flat.cover` is 165 mm, but the boxes of [[head.flat]] let wood come only"
            ),
            "{told}"
        );
        assert!(
            told.contains("is planned with") && !told.contains("reach.upright"),
            "{told}"
        );
    }
}
