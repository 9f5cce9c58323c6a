//! What a run amounts to, for people and for programs: cuts, findings, pieces, boards, ways and times.
//!
//! | module | tells |
//! |---|---|
//! | [`cuts`] | every cut: stroke, angle, feed, depth, what it freed |
//! | [`energy`] | how hard the timber saws, and how sure that is |
//! | [`feeds`] | forces and margins of every cut, and what decided its stroke and feed |
//! | [`findings`] | what the rules object to, each alone or those alike together |
//! | [`kerf_wedges`] | wedges in kerfs that close: where each goes, and when it is taken away |
//! | [`metal`] | metal in the log: where it is, how near kerfs come, what it ends up in |
//! | [`pieces`] | which piece is which column of the cut plan |
//! | [`cross_cuts`] | pieces that are cross-cut into two boards, and where |
//! | [`push`] | how hard a carriage is pushed by hand |
//! | [`boards`] | which boards count, and where the rest of the log went |
//! | [`counted`] | what a piece is called that was to be a board, where it counts and where not |
//! | [`care`] | what is done about growth stress, and why |
//! | [`grain`] | how the rings lie in boards whose size follows from that |
//! | [`ice`] | what an iced or frozen log is held with |
//! | [`lifting`] | what is too heavy to be lifted |
//! | [`offered`] | what the best layout would bring in place of the plain one |
//! | [`orders`] | how near the order of cuts comes to the least time |
//! | [`sizes`] | how large boards are sawn that are wanted in another size |
//! | [`wanted`] | what a job asks of a sequence beyond the rules |
//! | [`start`] | where a sequence starts, which its moves do not say |
//! | [`totals`] | ways, times, strokes, holds |
//! | [`timeline`] | when what happens |
//! | [`table`] | columns of text |
//!
//! Every type that is told to programs serialises as `src/command/JSON.md` says: lengths are whole micrometres.

pub mod aid;
pub mod bark;
pub mod boards;
pub mod care;
pub mod chosen;
mod core;
pub mod counted;
pub mod cross_cuts;
pub mod cuts;
pub mod done;
pub mod energy;
pub mod falls;
pub mod feeds;
mod figures;
pub mod findings;
pub mod grain;
pub mod hangs;
pub mod ice;
pub mod kerf_wedges;
pub mod lifting;
pub mod metal;
pub mod offered;
pub mod orders;
pub mod others;
pub mod owed;
pub mod pieces;
pub mod push;
pub mod second;
pub mod sizes;
pub mod start;
pub mod table;
pub mod timeline;
pub mod totals;
pub mod value;
mod wane;
pub mod wanted;
