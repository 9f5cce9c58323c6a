//! The products that are wanted, and what one of each length brings.

use bunkside_planner::layout::exact::{Grain, Heart, Placed, Wane};
use bunkside_planner::limits::STANDS_ALONE;
use bunkside_protocol::Length;

use super::check::place;
use super::finish::Finish;
use super::nominal::Nominal;
use crate::diagnostic::Diagnostic;
use crate::input::{Node, Value};

/// What a price is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PriceBy {
    /// One board.
    Each,
    /// A metre of its length.
    Metre,
    /// A cubic metre.
    CubicMetre,
    /// A board foot.
    BoardFoot,
}

impl PriceBy {
    const ALL: [(&'static str, Self); 4] = [
        ("each", Self::Each),
        ("per_m", Self::Metre),
        ("per_m3", Self::CubicMetre),
        ("per_bf", Self::BoardFoot),
    ];

    /// What one board brings at a price in thousandths, in thousandths, half away from zero.
    ///
    /// A board foot is thickness and width in inches times length in feet over 12; stock under one inch counts as
    /// one inch.
    #[must_use]
    pub fn value(self, price: i64, thickness: Length, width: Length, length: Length) -> i64 {
        const INCH: i128 = 25_400;
        let (price, thickness, width, length) = (
            i128::from(price),
            i128::from(thickness.wide()),
            i128::from(width.wide()),
            i128::from(length.wide()),
        );
        let (num, den) = match self {
            Self::Each => (price, 1),
            Self::Metre => (price * length, 1_000_000),
            Self::CubicMetre => (price * thickness * width * length, 1_000_000_000_000_000_000),
            Self::BoardFoot => (
                price * thickness.max(INCH) * width * length,
                INCH * INCH * (12 * INCH) * 12,
            ),
        };
        i64::try_from((num * 2 + den) / (den * 2)).unwrap_or(i64::MAX)
    }
}

/// A product.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardSpec {
    /// What it is called.
    pub name: String,
    /// Thickness as it is sawn.
    pub thickness: Length,
    /// Width as it is sawn.
    pub width: Length,
    /// Thickness and width as it is sawn where it lies flat sawn as a whole, and where it lies quarter sawn, if it is smaller there.
    pub by_grain: [Option<[Length; 2]>; 2],
    /// Thickness and width that are wanted, where it is sawn larger.
    pub wanted: Option<[Length; 2]>,
    /// Thickness and width that board feet count: what it is called by, or as it is wanted.
    pub called: [Length; 2],
    /// Lengths that can be sold, as they were written.
    pub lengths: Vec<Length>,
    /// What one board of each length brings, in thousandths of the currency; beside `lengths`.
    pub values: Vec<i64>,
    /// What the price was for.
    pub price_by: PriceBy,
    /// How many are owed.
    pub least: u32,
    /// How many can be used, if there is a limit.
    pub most: Option<u32>,
    /// How much may be missing or bark at an edge.
    pub wane: Wane,
    /// Whether it may lie across the log's core.
    pub core: Heart,
    /// Whether the best layout may stand it on edge in the log.
    pub on_edge: bool,
}

impl BoardSpec {
    /// Whether none of its lengths brings anything: the best layout never takes it.
    #[must_use]
    pub fn brings_nothing(&self) -> bool {
        self.values.iter().all(|value| *value == 0)
    }

    /// How its rings lie and its thickness and width there: first those that do wherever it lies.
    pub fn sizes(&self) -> impl Iterator<Item = (Grain, [Length; 2])> + use<> {
        let [flat, quarter] = self.by_grain;
        let anywhere = (Grain::Mixed, Some([self.thickness, self.width]));
        let sizes = [anywhere, (Grain::Flat, flat), (Grain::Quarter, quarter)];
        sizes.into_iter().filter_map(|(grain, size)| Some((grain, size?)))
    }

    /// Whether its size follows from how its rings lie.
    #[must_use]
    pub fn is_by_grain(&self) -> bool {
        self.by_grain.iter().any(Option::is_some)
    }

    /// Whether a board of a layout stands on edge, and its thickness and width.
    #[must_use]
    pub fn laid(&self, board: &Placed) -> (bool, [Length; 2]) {
        let ways = [false, true].into_iter().flat_map(|on_edge| {
            let grain = board.side.grain(on_edge);
            self.sizes()
                .filter_map(move |(own, size)| (own == grain).then_some((on_edge, size)))
        });
        let mut alike = ways.filter(|(on_edge, [thickness, width])| {
            let lies = if *on_edge {
                [*width, *thickness]
            } else {
                [*thickness, *width]
            };
            board.tall >= lies[0] && board.wide == lies[1]
        });
        let usual = (board.wide != self.width, [self.thickness, self.width]);
        alike.next().unwrap_or(usual)
    }

    /// What one board of a length brings, in thousandths of the currency; none where it is not sold by that length.
    #[must_use]
    pub fn value(&self, length: Length) -> Option<i64> {
        let at = self.lengths.iter().position(|other| *other == length)?;
        self.values.get(at).copied()
    }
}

/// The products of a job; none for one that cannot be used, and then it is said.
pub(super) fn boards(
    root: &Node,
    finish: Option<&Finish>,
    said: &mut Vec<Diagnostic>,
) -> Option<Vec<BoardSpec>> {
    let mut names: Vec<String> = Vec::new();
    let mut read = Vec::new();
    for (index, node) in root.items("board").enumerate() {
        if let Some(name) = node.text("name") {
            if names.iter().any(|other| other == name) {
                let message = format!("two products are called \"{name}\"");
                let help = "give each its own name, or one of them more lengths";
                said.push(Diagnostic::error(place(node, "name"), message).with_help(help));
            }
            names.push(name.to_owned());
        }
        read.push(board(node, index, finish, said));
    }
    read.into_iter().collect()
}

fn board(
    node: &Node,
    index: usize,
    finish: Option<&Finish>,
    said: &mut Vec<Diagnostic>,
) -> Option<BoardSpec> {
    let (least, most) = (node.number::<u32>("least"), node.number::<u32>("most"));
    if let (Some(least), Some(most)) = (least, most)
        && least > most
    {
        let message = format!("`least` is {least}, more than `most`, which is {most}");
        said.push(
            Diagnostic::error(place(node, "least"), message).with_help("write the smaller behind `least`"),
        );
    }
    let sizes = Sizes::of(node, index, finish, said);
    let wane = wane(node, sizes.as_ref(), said);
    let lengths: Option<Vec<Length>> = node
        .get("lengths")
        .and_then(Node::all)
        .map(|all| all.into_iter().filter_map(Node::as_length).collect());
    let price = price(node, lengths.as_ref().map(Vec::len), said);
    let (price_by, prices) = price?;
    let (sizes, lengths) = (sizes?, lengths?);
    let called = sizes.called.unwrap_or(sizes.wanted);
    let [thickness, width] = if price_by == PriceBy::BoardFoot {
        called
    } else {
        sizes.wanted
    };
    let values = lengths
        .iter()
        .zip(prices.iter().cycle())
        .map(|(length, price)| price_by.value(*price, thickness, width, *length))
        .collect();
    let [thickness, width] = sizes.sawn;
    let by_grain = sizes.by_grain;
    Some(BoardSpec {
        name: node.text("name")?.to_owned(),
        thickness,
        width,
        by_grain,
        called,
        wanted: (sizes.wanted != sizes.sawn).then_some(sizes.wanted),
        lengths,
        values,
        price_by,
        least: least?,
        most,
        wane: wane?,
        core: match node.word("core")? {
            "inside" => Heart::Inside,
            "any" => Heart::Any,
            _ => Heart::Clear,
        },
        on_edge: node.flag("on_edge")?,
    })
}

/// The sizes of a product, thickness and width.
struct Sizes {
    /// As they are wanted.
    wanted: [Length; 2],
    /// As they are sawn.
    sawn: [Length; 2],
    /// The same where it lies flat sawn, and where it lies quarter sawn, if it is smaller there.
    by_grain: [Option<[Length; 2]>; 2],
    /// By what they are called, where they are called so.
    called: Option<[Length; 2]>,
}

impl Sizes {
    fn of(node: &Node, index: usize, finish: Option<&Finish>, said: &mut Vec<Diagnostic>) -> Option<Self> {
        let finish = finish.filter(|_| node.flag("as_sawn") != Some(true));
        let (wanted, called) = match node.get("nominal") {
            Some(told) => {
                let size = nominal(node, told, said)?;
                let dried = finish.is_some_and(|finish| finish.moisture.is_some());
                (if dried { size.dry } else { size.green }, Some(size.called))
            }
            None => (written(node, index, said)?, None),
        };
        let sawn = finish.map_or(wanted, |finish| finish.sawn(wanted));
        let by_grain = finish.map_or([None; 2], |finish| finish.sawn_by_grain(wanted));
        Some(Self {
            wanted,
            sawn,
            by_grain,
            called,
        })
    }
}

/// Thickness and width as they are written.
fn written(node: &Node, index: usize, said: &mut Vec<Diagnostic>) -> Option<[Length; 2]> {
    for (key, example) in [("thickness", "50 mm"), ("width", "140 mm")] {
        if node.get(key).is_none() {
            let message = format!("`board[{}].{key}` is missing", index + 1);
            let help = format!("add {key} = \"{example}\", or nominal = \"2 x 6\" for thickness and width");
            said.push(Diagnostic::error(node.span, message).with_help(help));
        }
    }
    let [thickness, width] = [node.length("thickness")?, node.length("width")?];
    if thickness > width.times(STANDS_ALONE) {
        let name = node.text("name").unwrap_or("the board");
        let message = format!(
            "{name} is {thickness} thick and {width} wide: it would stand more than {STANDS_ALONE} times as high as its foot is wide, and topple into the blade when it comes free"
        );
        let help = "if the two are swapped, mend it; a thin board is sawn lying";
        said.push(Diagnostic::error(place(node, "thickness"), message).with_help(help));
    } else if thickness > width {
        let message = format!("thicker than wide: {thickness} by {width}");
        let help = "taken as written; if the two are swapped, mend it";
        said.push(Diagnostic::warning(place(node, "thickness"), message).with_help(help));
    }
    Some([thickness, width])
}

/// The size of the name that is told.
fn nominal(node: &Node, told: &Node, said: &mut Vec<Diagnostic>) -> Option<Nominal> {
    for key in ["thickness", "width"] {
        if let Some(twice) = node.get(key) {
            let message = format!("`nominal` and `{key}` both tell the size");
            said.push(Diagnostic::error(twice.span, message).with_help("keep one of them"));
            return None;
        }
    }
    let Value::Text(name) = &told.value else {
        return None;
    };
    let size = Nominal::named(name);
    if size.is_none() {
        let message = format!("no softwood size is called \"{name}\"");
        let help = "write thickness by width in inches, such as \"2 x 6\": 1, 5/4, 3/2, 2, 3 or 4 thick and 2, 3, 4, 5, 6, 8, 10 or 12 wide, or a timber of 5 to 15 by 5 to 15; or write thickness and width";
        said.push(Diagnostic::error(told.span, message).with_help(help));
    }
    size
}

fn wane(node: &Node, sizes: Option<&Sizes>, said: &mut Vec<Diagnostic>) -> Option<Wane> {
    if node.word("wane") == Some("none") {
        return Some(Wane::NONE);
    }
    let told = node.get("wane")?;
    let table = matches!(told.value, Value::Table(_));
    let (face, face_at) = if table {
        (told.length("face")?, place(told, "face"))
    } else {
        (told.as_length()?, told.span)
    };
    let edge = told.length("edge").filter(|_| table);
    let along = told.number::<u16>("along_percent").filter(|_| table);
    let sides = [
        (Some(face), face_at, 1, "edges"),
        (edge, place(told, "edge"), 0, "faces"),
    ];
    for (wane, at, of, both) in sides {
        let size = sizes.map(|sizes| sizes.wanted[of]);
        if let (Some(wane), Some(size)) = (wane, size)
            && wane.times(2) > size
        {
            let message = format!("wane of {wane} at both {both} leaves nothing of {size}");
            let help = format!("write at most {}", size.half_floor());
            said.push(Diagnostic::error(at, message).with_help(help));
        }
    }
    Some(Wane {
        face,
        edge,
        whole: along.map_or(0, |percent| 1_000_u16.saturating_sub(percent * 10)),
    })
}

/// One price for all lengths, or one for each.
fn price(node: &Node, lengths: Option<usize>, said: &mut Vec<Diagnostic>) -> Option<(PriceBy, Vec<i64>)> {
    let table = node.get("price")?;
    if !matches!(table.value, Value::Table(_)) {
        return None;
    }
    let mut found = PriceBy::ALL
        .iter()
        .filter_map(|(key, by)| Some((*by, table.get(key)?)));
    let Some((by, price)) = found.next() else {
        let message = "no price is given";
        let help = "write one of each, per_m, per_m3 or per_bf: price = { each = 9.50 }";
        said.push(Diagnostic::error(table.span, message).with_help(help));
        return None;
    };
    if let Some((_, second)) = found.next() {
        let message = "two prices for one product";
        let help = "keep one of each, per_m, per_m3 and per_bf";
        said.push(Diagnostic::error(second.span, message).with_help(help));
        return None;
    }
    if let Some(price) = price.whole() {
        return Some((by, vec![price]));
    }
    let prices: Vec<i64> = price.all()?.into_iter().map(Node::whole).collect::<Option<_>>()?;
    if lengths.is_some_and(|lengths| lengths != prices.len()) {
        let message = format!("{} prices for {} lengths", prices.len(), lengths.unwrap_or(0));
        let help = "write one price for all, or one for each length in their order";
        said.push(Diagnostic::error(price.span, message).with_help(help));
        return None;
    }
    Some((by, prices))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed board-foot examples: 1 ft × 16 ft × 1 in is 16, 2 × 6 in × 12 ft is 12 (old handbook, gluedideas.com);
    /// 144 cubic inches is 0.002 359 737 2 m³.
    #[test]
    fn prices_by_board_foot_follow_the_definition() {
        let inch = |count: i64| Length::um(count * 25_400);
        let value = |thickness, width, length| PriceBy::BoardFoot.value(1_000, thickness, width, length);
        assert_eq!(value(inch(1), inch(12), inch(16 * 12)), 16_000);
        assert_eq!(value(inch(2), inch(6), inch(12 * 12)), 12_000);
        assert_eq!(
            value(Length::mm(19), inch(6), inch(12 * 12)),
            6_000,
            "under one inch counts as one"
        );
        let cubic = PriceBy::CubicMetre.value(1_000_000, inch(1), inch(12), inch(12));
        assert_eq!(cubic, 2_360, "thousandths of a thousand a cubic metre");
    }

    #[test]
    fn prices_by_length_and_piece() {
        let value = |by: PriceBy| by.value(2_500, Length::mm(50), Length::mm(140), Length::mm(3_600));
        assert_eq!(value(PriceBy::Each), 2_500);
        assert_eq!(value(PriceBy::Metre), 9_000);
        assert_eq!(value(PriceBy::CubicMetre), 63);
    }
}
