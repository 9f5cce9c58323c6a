//! Every capacity and physical bound of the planner, each with its reason.

use bunkside_protocol::Length;

/// Sections at which chords are tested: a sample every sixteenth of the log. A log bowed by 1 in 100 lies within a
/// 25 000th of its length of the straight lines between them.
pub const SAMPLES_MAX: usize = 17;

/// Bands of height in the stock: one for every level that still has wood of different outline. A finished layer
/// collapses, so this bounds levels within one layer and its pending kerfs, not layers in a log.
pub const BANDS_MAX: usize = 24;

/// Cells in the stock: a layer of 40 columns edged for release needs about 41 in each of the two or three bands
/// it touches.
pub const CELLS_MAX: usize = 192;

/// Free pieces that may lie on or beside the log at one time: a released layer of 40 columns and its neighbours.
pub const PIECES_MAX: usize = 48;

/// Kerfs that may hold a wedge at one time, or be open since the last hold: those between the columns of a layer of 40.
pub const WEDGED_MAX: usize = 40;

/// Wood narrower than this is not wood: rounding of chords is within two micrometres, the grid is a tenth of a
/// millimetre, and a fin this thin does not hold a board.
pub const FIN: Length = Length::um(50);

/// A freed part that is narrower or thinner than this is sawdust, not a piece, unless it is a sheet: two kerfs of the usual mill may
/// lie off by 0.4 mm together, so that nobody knows whether it is there (common practice, no source).
pub const CRUMB: Length = Length::um(500);

/// The least section of a sheet that thin, square micrometres, so 20 mm²: it lies loose, and is thrown like any piece (common
/// practice, no source).
pub const SHRED: i64 = 20_000_000;

/// A part in a smaller box than this is too small to be asked by what it hangs: 20 cm³, square millimetres times
/// micrometres.
pub const SCRAP: i64 = 20_000_000;

/// A part that hangs by less wood than this, square micrometres, so 500 mm², hangs by a thread. Green softwood bears about
/// 2 N/mm² across the grain (Wood Handbook, table of tension perpendicular to grain, from memory), so that much of it bears
/// about 1 kN where the pull is straight. That is several times what a pass pushes with; but a part that hangs at one end
/// levers at it (common practice, no source).
pub const JOINT: i64 = 500_000_000;

/// How far an arm reaches round the edge of a guard, from the shoulder: 850 mm (ISO 13857, safety distances for reaching round,
/// from memory).
pub const ARM: Length = Length::mm(850);

/// How far beside a kerf wood is looked for when cover is measured.
pub const BESIDE: Length = Length::mm(1);

/// How far a log's underside may be told below the bunk it lies on: bark gives way, and tapes tell no better (common
/// practice, no source).
pub const SEAT: Length = Length::mm(1);

/// No pack is more than so many times as high as its bunk is wide along the rails: it falls over as the log comes down on it
/// (common practice of who builds cribs, no source).
pub const PACK_SLENDER: i32 = 3;

/// Largest half-diameter a log may have: 2 m.
pub const HALF_DIAMETER_MAX: Length = Length::mm(2_000);
/// How far the centre of any of its sections may lie from the bed's centre line, and above or below the bed: further than any job
/// can lay it, so that areas and volumes stay within 64 bits.
pub const CENTRE_MAX: Length = Length::mm(5_000);

/// Longest log: 20 m.
pub const LOG_LENGTH_MAX: Length = Length::mm(20_000);

/// From how far away a target is approached when the way leads there from the wrong side: more than the play of a
/// worn screw or rack (common practice, no source).
pub const APPROACH: Length = Length::mm(3);

/// Most passes in which one kerf is cut.
pub const PASSES_MAX: usize = 12;

/// No pass is made shallower than this so that the log lies still.
pub const LEAST_PASS: Length = Length::mm(5);

/// Most layers in a drafted cut plan: a 1.2 m log in layers of 20 mm.
pub const PLAN_LAYERS_MAX: usize = 64;

/// Most columns in a drafted cut plan.
pub const PLAN_COLUMNS_MAX: usize = 768;

/// Most products in an order.
pub const PRODUCTS_MAX: usize = 75;

/// So far inside the log's end a stroke without a kerf of full depth counts as ending there: more than play along the rails,
/// less than any stroke into the log.
pub const NEAR_END: Length = Length::mm(10);

/// The best layout leaves no waste thinner than this, kerf apart: it would come off as a rag (common practice, no source).
pub const LEAST_WASTE: Length = Length::mm(3);

/// How far every kerf stays from a place with metal: one found by hand detector or by eye is known no better (common practice,
/// no source), and the rim runs at 60 m/s.
pub const METAL_CLEAR: Length = Length::mm(10);

/// How far a dog is shifted across the bed to close on the log: one that stands further off holds nothing (common practice,
/// no source).
pub const DOG_REACH: Length = Length::mm(100);

/// A sheet of bark at least so thick holds together when it is sawn off alone; less falls apart as chips and flakes (common
/// practice, no source).
pub const BARK_SHEET: Length = Length::mm(10);

/// How near to a closed dog, up, down and along the rails, there has to be wood for it to hold any (common practice, no source).
pub const DOG_BITE: Length = Length::mm(5);

/// The same across, where its points go in: through bark, which holds nothing (common practice, no source).
pub const DOG_POINTS: Length = Length::mm(20);

/// Wood less wide than this may not hold what hangs by it: it breaks, or it does not, so that both are judged; and a lath or a skin
/// less thick beside the blade breaks, however short (common practice, no source).
pub const LIGAMENT: Length = Length::mm(3);

/// What green softwood bears across the grain, N/mm²: 2 (Wood Handbook, table of tension perpendicular to grain, from memory).
pub const BEARS: i64 = 2;

/// Most columns into which a slab is parted: 4 m of log under a blade that reaches 130 mm.
pub const SLAB_COLUMNS_MAX: usize = 32;

/// How far the tips of wedges stay from where the next kerf meets theirs: they are driven by hand and eye (common practice,
/// no source).
pub const WEDGE_APART: Length = Length::mm(10);

/// How near to a loose piece no cut is made where no wood stands between: a chip or a twist of the plate reaches it (common
/// practice, no source).
pub const LOOSE_APART: Length = Length::mm(50);

/// Wood that reaches further is thin where its thickness cubed is less than this times its reach squared: 2 P ÷ (E × 2 mm), so
/// that a push of 10 N at its edge, by hand or by a chip that is caught, moves it by no more than 2 mm, less than half of a kerf
/// (common practice, no source). E is 500 N/mm²: green softwood across the grain has a twentieth of its stiffness along it, which
/// is about 10 000 N/mm² (Wood Handbook, tables of elastic ratios and of green wood, from memory).
pub const YIELDS: Length = Length::um(20);

/// Wood less thick than [`LIGAMENT`] and at least this wide is a lath or a skin, a sheet when it is free: ten times as wide as a
/// piece of sound thickness is thick (common practice, no source).
pub const SHEET_WIDE: Length = Length::mm(30);

/// A piece that weighs no more than this, kilograms, falls off the log's side as chips and splinters do (common practice, no
/// source).
pub const FALLS: f64 = 1.0;

/// What stands higher than so many times the width of its foot when it comes free topples, into the blade or onto whoever comes to
/// unload it: it balances no more than 1 in 8 from its edge, and bunks are out of level by as much (common practice, no source).
pub const STANDS_ALONE: i32 = 8;

/// The same of several that stand side by side, kerfs between them: each leans against the next, and the last leans by all those
/// kerfs. Boards 150 mm high with 5.5 mm between them are out of plumb by 1 in 27 for each; with four times the width of the
/// foot, it takes seven of them to bring the last one's balance over its edge (worked out from a box; the limit is our own
/// judgement, no source).
pub const STANDS_BESIDE: i32 = 4;

/// The hardest push that a cut may ask of whoever pushes a hand carriage, newtons, where the profile says nothing: about what nine
/// in ten grown men may start a load with now and then (ISO 11228-2, pushing and pulling, from memory).
pub const HAND_PUSH: u32 = 250;

/// Friction of steel on green wood at the speed of a rim: tables tell 0.2 to 0.6, less at speed and where sap wets it (Wood
/// Handbook, from memory).
pub const RUBS: f64 = 0.3;
