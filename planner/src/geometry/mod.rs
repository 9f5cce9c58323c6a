//! Where the wood is, in integers: sections, the shape of a log, intervals and boxes.

mod block;
mod bulge;
mod interval;
mod root;
mod section;
mod shape;

pub use block::Block;
pub use interval::Interval;
pub(crate) use root::{Roots, fine_root, root};
pub use section::Section;
pub use shape::{Shape, ShapeError, left_by};

/// `a * b / c`, rounded to the nearest, half away from zero; zero where `c` is zero.
///
/// Half-diameters are below 2.3 m, also with eight binary places more, so that the product stays below 2^62.
pub(crate) const fn scale(a: i64, b: i64, c: i64) -> i64 {
    if c == 0 {
        return 0;
    }
    let (product, divisor) = if c < 0 { (-a * b, -c) } else { (a * b, c) };
    if product >= 0 {
        (2 * product + divisor) / (2 * divisor)
    } else {
        (2 * product - divisor) / (2 * divisor)
    }
}
