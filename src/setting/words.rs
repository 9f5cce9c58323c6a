//! The sheet in sentences, in the reader's system.

use bunkside_planner::limits::SEAT;
use bunkside_protocol::{Length, Speed};

use super::{
    BoardPart, Bow, BunkRow, DogRow, EndRow, FirstBoard, FlawKind, FlawRow, Laid, Lies, Role, Sheet, Way,
};
use crate::account::bark::with_its;
use crate::job::Setting;
use crate::measure::System;

/// How figures are told.
#[derive(Clone, Copy, Debug)]
pub struct Words {
    /// In which system.
    pub system: System,
    /// Whether the other system stands behind each, for a page that is read beside the log.
    pub both: bool,
}

impl Words {
    /// A size, in both systems where the page is read beside the log.
    #[must_use]
    pub fn size(self, length: Length) -> String {
        if self.both {
            self.system.size_both(length)
        } else {
            self.system.size(length)
        }
    }

    /// A size that something may have at most, rounded down.
    pub fn size_at_most(self, length: Length) -> String {
        let told = self.system.size_at_most(length);
        if self.both {
            format!("{told} ({})", self.system.other().size_at_most(length))
        } else {
            told
        }
    }

    /// A size that something has to have at least, rounded up.
    fn size_at_least(self, length: Length) -> String {
        let told = self.system.size_at_least(length);
        if self.both {
            format!("{told} ({})", self.system.other().size_at_least(length))
        } else {
            told
        }
    }

    fn run(self, length: Length) -> String {
        if self.both {
            self.system.run_both(length)
        } else {
            self.system.run(length)
        }
    }

    /// How far a place is from the near end: `0.3 m from the near end`; before it where it is short of it.
    fn place_along(self, along: Length) -> String {
        let way = if along < Length::ZERO { "before" } else { "from" };
        format!("{} {way} the near end", self.run(along.abs()))
    }

    fn speed(self, speed: Speed) -> String {
        let told = self.system.speed(speed);
        if self.both {
            format!("{told} ({})", self.system.other().speed(speed))
        } else {
            told
        }
    }

    /// What is done at a bunk: `0.3 m from the near end: pack 35.4 mm`.
    #[must_use]
    pub fn bunk(self, row: &BunkRow) -> String {
        let from = self.place_along(row.from_near_end_um);
        let act = self.act(row);
        let bare = match (row.bare_um, row.shift_um) {
            (None, _) => String::new(),
            (Some(bare), Some(by)) => format!(
                "; {} of its width lie beyond the log's end: to mend that, do not push the log, for these cuts are planned for where it is to lie; {} `near_end_at` in the job and plan again",
                self.size(bare),
                if by > Length::ZERO {
                    format!("add {} to", self.size_at_least(by))
                } else {
                    format!("take {} off", self.size_at_least(by.abs()))
                }
            ),
            (Some(bare), None) => format!(
                "; {} of its width lie beyond the log's end: the log is too short for the bunks that carry it, set them nearer together",
                self.size(bare)
            ),
        };
        format!("{from}: {act}{bare}")
    }

    fn act(self, row: &BunkRow) -> String {
        let gap = self.size(row.gap_um);
        match (row.role, row.lies) {
            (_, Lies::TooHigh) => format!(
                "the log lies {gap} above it, and {} can be packed: it cannot be set so",
                self.size(row.most_um)
            ),
            (_, Lies::Sunk) => format!(
                "the log would lie {} in it: it cannot be set so",
                self.size(-row.gap_um)
            ),
            (Role::Carries, Lies::Above) => format!("pack {gap}{}", self.slender(row)),
            (Role::Carries, Lies::OnIt) => "the log lies on it".to_owned(),
            (Role::Between, Lies::OnIt) if row.on_face => "the log just meets it".to_owned(),
            (Role::Between, Lies::OnIt) => "the log just meets it; wedge it last".to_owned(),
            (Role::Between, Lies::Above) if row.on_face => {
                format!("{gap} open; pack it last{}", self.slender(row))
            }
            (Role::Between, Lies::Above) if row.wood_um == row.gap_um => {
                format!("{gap} open; pack and wedge it last{}", self.slender(row))
            }
            (Role::Between, Lies::Above) => {
                let wood = self.size(row.wood_um);
                format!(
                    "{gap} open, {wood} to the wood; pack and wedge it last{}",
                    self.slender(row)
                )
            }
        }
    }

    /// What is to be done about a pack that is higher than its bunk is wide; empty where it is not.
    fn slender(self, row: &BunkRow) -> String {
        if row.gap_um <= row.wide_um {
            return String::new();
        }
        format!(
            ", higher than the bunk is wide ({}): build it as a crib, planks crosswise, and brace it along the rails",
            self.size(row.wide_um)
        )
    }

    /// Which way a bow faces; none where the log is as good as straight.
    #[must_use]
    pub fn bow(self, sheet: &Sheet) -> Option<String> {
        let Bow { up_um, across_um } = sheet.bow;
        let told = |by: Length| by.abs() > SEAT;
        let height = told(up_um).then(|| {
            let way = if up_um > Length::ZERO { "up" } else { "down" };
            format!("{} {way}", self.size(up_um.abs()))
        });
        let beside = told(across_um)
            .then(|| format!("{} to the {} side", self.size(across_um.abs()), side(across_um)));
        let ways: Vec<String> = height.into_iter().chain(beside).collect();
        (!ways.is_empty()).then(|| {
            format!(
                "The log is bowed: roll it until its middle lies {} of the straight line between the centres of its ends.",
                ways.join(" and ")
            )
        })
    }

    /// Where the centre of an end must stand: `245.5 mm above the bed, on its centre line`.
    #[must_use]
    pub fn end(self, row: &EndRow) -> String {
        let up = self.size(row.centre_height_um.from_origin());
        let across = row.centre_across_um.from_origin();
        let beside = if across == Length::ZERO {
            "on its centre line".to_owned()
        } else {
            format!(
                "{} off its centre line towards the {} side",
                self.size(across.abs()),
                side(across)
            )
        };
        format!("centre {up} above the bed, {beside}")
    }

    /// How far the ends rise from where the log lies bare on the two bunks that carry it; none without two such bunks.
    #[must_use]
    pub fn raise(self, sheet: &Sheet) -> Option<String> {
        let way = |by: Length| match by {
            by if by > SEAT => format!("rises {}", self.size(by)),
            by if by < -SEAT => format!("goes down {}", self.size(-by)),
            _ => "stays".to_owned(),
        };
        let [near, far] = self.both_ends(sheet, |end| end.raise_um, way)?;
        let mut words = format!(
            "From where the log lies bare on {}: the near end {near}, the far end {far}.",
            carriers(sheet)
        );
        if let Some(bunk) = sheet.rocks_on {
            words.push_str(&format!(
                " Before it is packed it rocks on bunk {bunk}: chock it, and keep hands out from under it."
            ));
        }
        Some(words)
    }

    /// How far the ends go sideways from where the log lies centred on the two bunks that carry it; none where neither
    /// moves.
    #[must_use]
    pub fn shift(self, sheet: &Sheet) -> Option<String> {
        let moves = |end: &EndRow| end.shift_um.is_some_and(|by| by.abs() > SEAT);
        if !sheet.ends.iter().any(moves) {
            return None;
        }
        let way = |by: Length| {
            if by.abs() > SEAT {
                format!("goes {} towards the {} side", self.size(by.abs()), side(by))
            } else {
                "stays".to_owned()
            }
        };
        let [near, far] = self.both_ends(sheet, |end| end.shift_um, way)?;
        Some(format!(
            "From where the log lies centred on them: the near end {near}, the far end {far}."
        ))
    }

    fn both_ends(
        self,
        sheet: &Sheet,
        what: impl Fn(&EndRow) -> Option<Length>,
        way: impl Fn(Length) -> String,
    ) -> Option<[String; 2]> {
        let [near, far] = &sheet.ends;
        Some([way(what(near)?), way(what(far)?)])
    }

    /// What is wrong with how the log would lie.
    #[must_use]
    pub fn flaw(self, row: &FlawRow) -> String {
        let figure = |length: Option<Length>| self.size(length.unwrap_or_default());
        let um = figure(row.um);
        let limit = self.size_at_most(row.limit_um.unwrap_or_default());
        match row.kind {
            FlawKind::Bunks => "fewer than two bunks carry the log".to_owned(),
            FlawKind::Spacing => format!("two bunks that carry it stand {um} apart, and {limit} is the most"),
            FlawKind::Overhang => format!("{um} of it lie beyond its last bunk, and {limit} is the most"),
            FlawKind::Packing => format!("it lies {um} above a bunk, and {limit} can be packed"),
            FlawKind::Pile => format!("the pack on a bunk would be {um} high, and falls over above {limit}"),
            FlawKind::Sunk => format!("it would lie {um} below the top of a bunk"),
            FlawKind::Tips => "it balances beyond its last bunk and would tip".to_owned(),
        }
    }

    /// Where the log lies on a face that was sawn before, and needs no wedges; none where it lies on none.
    #[must_use]
    pub fn on_face(self, sheet: &Sheet) -> Option<String> {
        let rows = sheet.bunks.iter().filter(|row| row.on_face);
        let numbers: Vec<String> = rows.map(|row| row.bunk.to_string()).collect();
        let (last, before) = numbers.split_last()?;
        let bunks = match before {
            [] => format!("bunk {last}"),
            before => format!("bunks {} and {last}", before.join(", ")),
        };
        Some(format!(
            "It lies flat on the face that was sawn before, at {bunks}: brush both clean, so that it does not rock. It needs no wedges there."
        ))
    }

    /// What wedges stand on, and how high they reach at every bunk; none where no bunk has any.
    #[must_use]
    pub fn wedges(self, sheet: &Sheet, height: Length) -> Option<String> {
        let tops = sheet.bunks.iter().filter_map(|row| {
            let top = self.size_at_most(row.wedge_top_um?.from_origin());
            Some(format!("{top} at bunk {}", row.bunk))
        });
        let tops: Vec<String> = tops.collect();
        (!tops.is_empty()).then(|| {
            format!(
                "Set the wedges on the bunk, or on the pack where there is one. They are no higher than {}, and reach no higher above the bed than {}.",
                self.size_at_most(height),
                tops.join(", ")
            )
        })
    }

    /// What is wrong with a dog: `dog 2 does not reach the log and holds nothing`; none where nothing is.
    #[must_use]
    pub fn dog(self, row: &DogRow) -> Option<String> {
        let lacks = match (row.reaches, row.bites) {
            (false, _) => "does not reach the log and holds nothing",
            (true, false) => {
                "meets only bark and holds nothing: leave it open; to use it, set it higher or cut the bark away there, and plan again"
            }
            (true, true) => "",
        };
        if !lacks.is_empty() {
            return Some(format!(
                "dog {}, {}, {lacks}",
                row.dog,
                self.place_along(row.from_near_end_um)
            ));
        }
        let wedge = row.wedge?;
        let side = match wedge.side {
            Way::Entry => "entry",
            Way::Exit => "exit",
        };
        Some(format!(
            "dog {} stands in the place of the {side} side's wedge of bunk {}: set the wedge beside it, along the log",
            row.dog, wedge.bunk
        ))
    }

    /// Along which part of the log a board's sizes hold.
    fn part(self, part: BoardPart) -> String {
        let trim = match part.trim {
            Length::ZERO => String::new(),
            trim => format!(", after {} of trim", self.size(trim)),
        };
        format!(
            " of the {} from the {} end{trim}:",
            self.run(part.length),
            part.end
        )
    }

    /// What the first board should measure.
    #[must_use]
    pub fn first_board(self, board: &FirstBoard) -> String {
        let sizes = [
            ("thick", board.thickness_um, board.thickness_off_um),
            ("wide", board.width_um, board.width_off_um),
        ];
        let alike = board.thickness_off_um == board.width_off_um;
        let told = sizes.map(|(what, size, off)| match off {
            Some(off) if !alike => {
                format!("{} {what}, give or take {}", self.size(size), self.size(off))
            }
            Some(_) => format!("{} {what}", self.size(size)),
            None => format!("{} {what} to the log's own edge", self.size(size)),
        });
        let mut words = format!(
            "piece {}, {}, at both ends{} {}",
            board.piece,
            board.name,
            board.part.map_or_else(String::new, |part| self.part(part)),
            told.join(", ")
        );
        if let Some(off) = board.thickness_off_um.filter(|_| alike) {
            words.push_str(&format!(", give or take {}", self.size(off)));
        }
        for (name, end) in ["near", "far"].iter().zip(&board.ends) {
            let across = match board.lies {
                Laid::Flat => end.width_um,
                Laid::OnEdge => end.thickness_um,
            };
            for (face, wood) in [("upper", end.upper_face_um), ("lower", end.lower_face_um)] {
                if wood + Length::mm(1) < across {
                    let wood = self.size(wood);
                    words.push_str(&format!("; its {face} face {wood} at the {name} end, with wane"));
                }
            }
        }
        words
    }

    /// How the log is brought on, a sentence each: what is done before, how it comes, and what the next one keeps clear of.
    /// Common practice, no source.
    #[must_use]
    pub fn staging(self, sheet: &Sheet) -> Vec<String> {
        let mut lines = self.stage(sheet);
        lines.extend(self.bring_on(sheet));
        lines.push(self.next_one(sheet));
        lines
    }

    /// What is done before it comes.
    #[must_use]
    pub fn stage(self, sheet: &Sheet) -> Vec<String> {
        let staging = &sheet.staging;
        let mut lines = vec![from_where(sheet)];
        let bearers: Vec<String> = staging
            .bearers
            .iter()
            .map(|one| format!("{} at bunk {}", self.size(one.top_um.from_origin()), one.bunk))
            .collect();
        if !bearers.is_empty() {
            lines.push(format!(
                "Bearers: {} above the bed, level with what is packed there, so that the log comes on without a climb or a drop.",
                bearers.join(", ")
            ));
        }
        lines
    }

    /// What the next one keeps clear of while this one is sawn.
    #[must_use]
    pub fn next_one(self, sheet: &Sheet) -> String {
        let staging = &sheet.staging;
        let side = match staging.side {
            Way::Entry => "entry",
            Way::Exit => "exit",
        };
        format!(
            "While this log is sawn, the blade turning or not, nothing waits on the {side} side nearer to the bed's centre line than {}, and what is longer than this log waits clear of the carriage's whole way.",
            self.run(staging.clear_told())
        )
    }

    /// How it comes.
    #[must_use]
    pub fn bring_on(self, sheet: &Sheet) -> Vec<String> {
        let staging = &sheet.staging;
        let [near, far] = &sheet.ends;
        let thick = |end: &EndRow| end.top_um - end.bottom_um;
        let ahead = match (thick(near) - thick(far)).wide() {
            more if more > SEAT.wide() => " The near end is thicker and runs ahead: hold it back.",
            less if less < -SEAT.wide() => " The far end is thicker and runs ahead: hold it back.",
            _ => "",
        };
        let mut lines = vec![format!(
            "It weighs about {}{}. Chock it on the bearers, and let it down onto the bunks with a winch, a chain or a loader that holds it all the way. Never let it roll free; nobody stands downhill of it or between it and the bed.{ahead}",
            self.system.mass(staging.mass_kg),
            with_its(staging.bark_um)
        )];
        lines.extend(staging.roll.map(|roll| {
            let rise = self.size(roll.rise_um);
            format!(
                "The wedges do not stop a rolling log: at {}, which a fall of {rise} gives it, a log of any weight may climb over them.",
                self.speed(roll.speed_um_per_s)
            )
        }));
        lines
    }
}

/// How far a log is rolled from how it was measured; none where it is not.
#[must_use]
pub fn rolled(setting: &Setting) -> Option<String> {
    if setting.turn == 0 {
        return None;
    }
    let side = if setting.turn > 0 { "entry" } else { "exit" };
    let degrees = f64::from(setting.turn.abs()) / 1e3;
    Some(format!("top rolled {degrees} degrees towards the {side} side"))
}

fn from_where(sheet: &Sheet) -> String {
    let staging = &sheet.staging;
    let wedged = sheet.bunks.iter().any(|row| !row.on_face);
    let hand = match staging.hand {
        super::Hand::Left => "left",
        super::Hand::Right => "right",
    };
    let mut words = match staging.side {
        Way::Entry if !wedged => {
            format!("Stage it on the entry side, the {hand} hand looking outbound, with its face down.")
        }
        Way::Exit if !wedged => format!(
            "Stage it on the exit side, the {hand} hand looking outbound, for the entry side is barred, with its face down."
        ),
        Way::Entry => format!(
            "Stage it on the entry side, the {hand} hand looking outbound, and set the wedges of the exit side first: it is laid against them, and they hold it against the saw."
        ),
        Way::Exit => format!(
            "Stage it on the exit side, the {hand} hand looking outbound, for the entry side is barred; set the wedges of the entry side first: it is laid against them."
        ),
    };
    if staging.barred {
        words.push_str(" A dog or a keep-out box bars this side: open it, or lift the log over.");
    }
    words
}

/// `bunks 1 and 3`.
fn carriers(sheet: &Sheet) -> String {
    let carry = sheet.bunks.iter().filter(|row| row.role == Role::Carries);
    let numbers: Vec<String> = carry.map(|row| row.bunk.to_string()).collect();
    format!("bunks {}", numbers.join(" and "))
}

/// Which end of the log lies that way along the rails.
pub(crate) fn end(along: Length) -> &'static str {
    if along > Length::ZERO { "far" } else { "near" }
}

fn side(across: Length) -> &'static str {
    if across > Length::ZERO { "exit" } else { "entry" }
}
