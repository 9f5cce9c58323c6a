//! How far a ruled log bulges between two samples.
//!
//! Let two samples be circles of radius `h`, the smaller one, with centres `Δ` apart across and in height. At a
//! fixed height the quantity `r² - x² - y²`, taken from the centre, runs as a parabola along the log, bent by at
//! most `-2Δ²` over the gap `L²`. At a place `δ` beyond both chord ends it is below `-2Hδ` at both samples, `H` the
//! shorter half chord, so that it stays below zero all along unless `8Hδ <= Δ²`. With `H >= h/4`:
//!
//! ```text
//! δ <= Δ² / (2h)
//! ```
//!
//! Taper alone never bulges. Similar ellipses become circles under one skewing of the plane, which turns `Δ` into
//! `(across - skew/half_height × height, half_width/half_height × height)`. Where ovality or turn change along the
//! gap, the change `ε` of the half diameters adds to the shift across, and bends the chord by itself: with
//! `e = (Δc + Δh)/h` by at most `e(1 + 9e)ε`.

use bunkside_protocol::{Form, Length};

use super::Section;

/// Anything larger is no log: keeps products of three such numbers over a half-diameter within `i64`.
const CAP: i64 = 100_000_000;

/// How much further a chord may reach between two samples than at either of them, where at both it is at least a
/// quarter of the middle one.
pub(super) fn bulge(a: &Section, b: &Section) -> Length {
    if a.form() == Form::Square {
        return Length::ZERO;
    }
    let [wa, ha, sa] = wide(a);
    let [wb, hb, sb] = wide(b);
    let thin = ha.min(hb);
    let across = (b.centre_across() - a.centre_across()).wide().abs();
    let height = (b.centre_height() - a.centre_height()).wide().abs();
    // What is left of the change of a half diameter once the first section has been scaled to the second's height.
    let change = share_up((wb * ha - wa * hb).abs(), 1, ha) + share_up((sb * ha - sa * hb).abs(), 1, ha);
    // A standing chord is moved by this change up to four times as far as a lying one.
    let change = share_up(4 * change.min(CAP), ha.max(wa), wa).min(CAP);
    let shift = (across + share_up(sa.abs(), height, ha) + change).min(CAP);
    let lift = share_up(wa.max(ha), height, ha).min(CAP);
    let narrow = (wa * thin / ha).min(thin).max(1);
    let bent = share_up(height + (hb - ha).abs(), change, thin).min(CAP);
    let bent = bent + share_up(9 * bent, height + (hb - ha).abs(), thin);
    Length::um(share_up(shift * shift + lift * lift, 1, 2 * narrow) + bent)
}

fn wide(section: &Section) -> [i64; 3] {
    let (half_width, half_height, skew) = section.half_diameters();
    [half_width.wide(), half_height.wide(), skew.wide()]
}

/// `a * b / c`, rounded up; for numbers that are not negative, and `c` above zero.
const fn share_up(a: i64, b: i64, c: i64) -> i64 {
    (a * b + c - 1) / c
}
