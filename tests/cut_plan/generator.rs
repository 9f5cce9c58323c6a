//! Random plans, and random ways to write one down.

use bunkside::cut_plan::{OwnedLayer, OwnedPlan, act_words};
use bunkside_planner::plan::{Column, End, Freeing, Part, Use};
use bunkside_protocol::{Act, Acts, Length, Position};

use crate::dice::Dice;

/// Board names that ask something of the writer and the reader.
pub(super) const NAMES: [&str; 5] = ["deck", "2\" plank", "to # edge, \\", "Öre\tÅ \u{1}", "  take "];

/// The names as an order would hold them.
pub(super) fn names() -> Vec<String> {
    NAMES.map(str::to_owned).to_vec()
}

/// A plan in good order: 1 to 8 layers of 0 to 6 columns, floors from 2 m down, places within 1 m of the centre line.
pub(super) fn plan(dice: &mut Dice) -> OwnedPlan {
    let mut floor = 2_000_000;
    let layers = (0..dice.between(1, 8))
        .map(|_| {
            floor -= dice.between(1, 200_000);
            layer(dice, Position::um(floor))
        })
        .collect();
    OwnedPlan { layers }
}

fn layer(dice: &mut Dice, floor: Position) -> OwnedLayer {
    let mut place = -1_000_000;
    let count = if dice.once_in(4) { 0 } else { dice.between(1, 6) };
    let mut columns: Vec<Column> = (0..count)
        .map(|_| {
            place += if dice.once_in(3) {
                25_400
            } else {
                dice.between(1, 300_000)
            };
            Column {
                to: Some(Position::um(place)),
                freeing: dice.pick(&[Freeing::Take, Freeing::Release]),
                use_: what(dice),
            }
        })
        .collect();
    if let Some(last) = columns.last_mut()
        && !dice.once_in(4)
    {
        last.to = None;
    }
    OwnedLayer {
        floor,
        columns,
        passes: dice
            .once_in(3)
            .then(|| u8::try_from(dice.between(1, 20)).unwrap()),
        hold: if dice.once_in(3) { acts(dice) } else { Acts::NONE },
    }
}

fn what(dice: &mut Dice) -> Use {
    if dice.once_in(3) {
        return Use::Waste;
    }
    let Part { product, length } = part(dice);
    if dice.once_in(3) {
        return Use::Pair {
            near: Part { product, length },
            far: part(dice),
        };
    }
    Use::Board {
        product,
        length,
        end: dice.pick(&[End::Near, End::Far]),
    }
}

fn part(dice: &mut Dice) -> Part {
    let length = if dice.once_in(2) {
        304_800 * dice.between(1, 20)
    } else {
        dice.between(1, 6_000_000)
    };
    Part {
        product: u8::try_from(dice.below(NAMES.len() as u64)).unwrap(),
        length: Length::um(length),
    }
}

/// One act at least, and none that undoes another.
fn acts(dice: &mut Dice) -> Acts {
    let all = Act::ALL
        .into_iter()
        .filter(|act| !matches!(act, Act::KnifeOff | Act::AidOn));
    all.fold(Acts::one(Act::Measure), |acts, act| {
        if dice.once_in(4) { acts.and(act) } else { acts }
    })
}

/// The plan in somebody's hand: odd blanks, comments, line ends of both kinds, lengths in any unit that is exact.
pub(super) fn text(dice: &mut Dice, plan: &OwnedPlan, title: &str) -> String {
    let mut pen = Pen {
        dice,
        text: String::new(),
    };
    if pen.dice.once_in(10) {
        pen.text.push('\u{feff}');
    }
    pen.idle();
    pen.line(&["plan", &quoted(title)]);
    for layer in &plan.layers {
        pen.idle();
        pen.layer(layer);
    }
    pen.idle();
    if pen.dice.once_in(3) {
        let end = pen.text.trim_end_matches(['\r', '\n']).len();
        pen.text.truncate(end);
    }
    pen.text
}

struct Pen<'a> {
    dice: &'a mut Dice,
    text: String,
}

impl Pen<'_> {
    fn layer(&mut self, layer: &OwnedLayer) {
        for act in layer.hold.iter().collect::<Vec<_>>().chunks(3) {
            self.hold(act);
        }
        let floor = self.length(layer.floor.wide());
        let count = layer.passes.map(|count| count.to_string());
        let mut words = vec!["layer", "down", "to", &floor];
        if let Some(count) = &count {
            words.extend(["with", count, self.dice.pick(&["pass", "passes"])]);
        }
        self.line(&words);
        if layer.columns.is_empty() {
            self.line(&["slab"]);
        }
        for column in &layer.columns {
            self.idle();
            self.column(column);
        }
    }

    /// A hold; its commas may stand against the words.
    fn hold(&mut self, acts: &[Act]) {
        let blank = self.blank(1);
        let mut words = acts.iter().map(|act| act_words(*act).replace(' ', &blank));
        let mut all = words.next().unwrap();
        for word in words {
            all += &format!("{},{}{word}", self.blank(0), self.blank(0));
        }
        self.line(&["hold", &all]);
    }

    fn column(&mut self, column: &Column) {
        let mut words = vec![match column.freeing {
            Freeing::Take => "take".to_owned(),
            Freeing::Release => "release".to_owned(),
        }];
        match column.use_ {
            Use::Waste => words.push("waste".to_owned()),
            Use::Board { product, length, end } => {
                self.part(Part { product, length }, &mut words);
                match end {
                    End::Far => words.push("from far end".to_owned()),
                    End::Near if self.dice.once_in(2) => words.push("from near end".to_owned()),
                    End::Near => {}
                }
            }
            Use::Pair { near, far } => {
                self.part(near, &mut words);
                words.push("and".to_owned());
                self.part(far, &mut words);
            }
        }
        words.push("to".to_owned());
        words.push(
            column
                .to
                .map_or_else(|| "edge".to_owned(), |place| self.length(place.wide())),
        );
        self.line(&words.iter().map(String::as_str).collect::<Vec<_>>());
    }

    fn part(&mut self, part: Part, words: &mut Vec<String>) {
        words.push("board".to_owned());
        words.push(quoted(NAMES[usize::from(part.product)]));
        words.push(self.length(part.length.wide()));
    }

    /// A number of micrometres in one of the units in which it is exact.
    fn length(&mut self, um: i64) -> String {
        let (sign, size) = (if um < 0 { "-" } else { "" }, um.abs());
        let (mm, rest) = (size / 1_000, size % 1_000);
        let mut ways = vec![format!("{mm}.{rest:03} mm"), format!("{mm}.{rest:03}mm")];
        if size % 1_000 == 0 {
            ways.push(format!("{mm} mm"));
            ways.push(format!("{}.{:03} m", mm / 1_000, mm % 1_000));
        }
        if size % 12_700 == 0 && size >= 25_400 {
            let (inches, half) = (size / 25_400, if size % 25_400 == 0 { "" } else { " 1/2" });
            ways.push(format!("{inches}{half} in"));
            ways.push(format!("{inches}{half}\""));
            if inches >= 12 {
                ways.push(format!("{} ft {}{half} in", inches / 12, inches % 12));
                ways.push(format!("{}' {}{half}\"", inches / 12, inches % 12));
            }
        }
        let way = usize::try_from(self.dice.below(ways.len() as u64)).unwrap();
        format!("{sign}{}", ways[way])
    }

    /// Lines that say nothing.
    fn idle(&mut self) {
        while self.dice.once_in(4) {
            self.line(&[]);
        }
    }

    fn line(&mut self, words: &[&str]) {
        for (number, word) in words.iter().enumerate() {
            let blank = self.blank(u64::from(number > 0));
            self.text.extend([blank.as_str(), word]);
        }
        let gap = self.blank(0);
        self.text += &gap;
        if self.dice.once_in(5) {
            let comment = self.dice.pick(&[
                "#",
                "# plain",
                "#take \"waste\" to, # edge",
                "# müde \t",
                "## \r x",
            ]);
            self.text += comment;
        }
        self.text += self.dice.pick(&["\n", "\n", "\r\n"]);
    }

    fn blank(&mut self, least: u64) -> String {
        let count = if self.dice.once_in(3) {
            self.dice.below(4)
        } else {
            1
        }
        .max(least);
        (0..count)
            .map(|_| if self.dice.once_in(5) { '\t' } else { ' ' })
            .collect()
    }
}

/// A name as one may write it.
fn quoted(name: &str) -> String {
    let plain = name
        .replace('\\', "\\\\")
        .replace('"', "\\\"")
        .replace('\u{1}', "\\u{0001}");
    format!("\"{plain}\"")
}
