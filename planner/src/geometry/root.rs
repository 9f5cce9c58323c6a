//! Square roots for chords: hundreds for every cut, on a processor that divides 32 bits at once.

/// The square root, rounded down; zero for negative numbers.
pub(crate) fn root(square: i64) -> i64 {
    u64::try_from(square).map_or(0, |square| i64::from(root_of_60_bits(square)))
}

/// 256 times the square root, rounded down; zero for negative numbers. The number must be below 2^47: 11 m, squared.
pub(crate) fn fine_root(square: i64) -> i64 {
    u64::try_from(square).map_or(0, |square| i64::from(root_of_60_bits(square << 16)))
}

/// [`fine_root`] of one number after the other, quick where they change little and evenly.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Roots {
    last: i64,
    /// By how much it differed from the one before, and that from its like.
    change: [i64; 2],
}

/// Further off than this share of itself a root is not mended but found anew.
const MENDED: i64 = 256;

impl Roots {
    pub(crate) const fn new() -> Self {
        Self {
            last: 0,
            change: [0; 2],
        }
    }

    /// The next one.
    pub(crate) fn next(&mut self, square: i64) -> i64 {
        let fine = square << 16;
        let mut guess = self.last + self.change[0] + self.change[1];
        let mut over = fine - guess * guess;
        if guess <= MENDED || over.abs() / MENDED > guess {
            guess = fine_root(square);
        } else {
            if over.abs() > 4 * guess {
                // Newton's step, rounded down: what is left is less than a few.
                let by = over.div_euclid(2 * guess);
                over -= by * (2 * guess + by);
                guess += by;
            }
            while over < 0 {
                guess -= 1;
                over += 2 * guess + 1;
            }
            while over > 2 * guess {
                over -= 2 * guess + 1;
                guess += 1;
            }
        }
        let change = guess - self.last;
        self.change = [change, change - self.change[0]];
        self.last = guess;
        guess
    }
}

/// The square root, rounded down; right for any number, quick below 2^60.
///
/// One step of Karatsuba's square root (Zimmermann, INRIA report 3805): the root of the upper half of the bits, which a
/// machine word holds, and one division of words give the root of all but for a last correction.
fn root_of_60_bits(number: u64) -> u32 {
    let spare = number.leading_zeros();
    if spare < 4 {
        return u32::try_from(number.isqrt()).unwrap_or(u32::MAX);
    }
    // Moved up by an even number of bits, so that the topmost or the one below it is set.
    let moved = ((spare - 4) & !1).min(58);
    let [upper, middle, lower] = words(number << moved);
    let high = upper.isqrt();
    let left = ((upper - high * high) << 15) | middle;
    let (quotient, rest) = (left / (2 * high).max(1), left % (2 * high).max(1));
    let root = (high << 15) + quotient;
    let short = u64::from(quotient) * u64::from(quotient) > (u64::from(rest) << 15) + u64::from(lower);
    (root - u32::from(short)) >> (moved / 2)
}

/// The 30 upper of 60 bits, the next 15 and the last 15.
fn words(number: u64) -> [u32; 3] {
    let part = |shift: u32, bits: u32| u32::try_from((number >> shift) & ((1 << bits) - 1)).unwrap_or(0);
    [part(30, 30), part(15, 15), part(0, 15)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The standard library's root is the reference.
    fn check(number: u64) {
        assert_eq!(u64::from(root_of_60_bits(number)), number.isqrt(), "{number}");
    }

    #[test]
    fn small_numbers_and_the_neighbours_of_squares_have_their_roots() {
        (0..70_000).for_each(check);
        for bits in 0..30u32 {
            for root in [1u64 << bits, (1 << bits) + 1, (2 << bits) - 1, (3 << bits) / 2] {
                let square = root * root;
                for number in [square.saturating_sub(1), square, square + 1, square + 2 * root] {
                    check(number);
                }
            }
        }
        [(1 << 60) - 1, 1 << 60, (1 << 63) - 1]
            .into_iter()
            .for_each(check);
    }

    #[test]
    fn any_number_has_its_root() {
        let mut state = 0x9E37_79B9_7F4A_7C15_u64;
        for _ in 0..200_000 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            check(state >> (state % 60 + 4).min(63));
            let root = u64::from(u32::try_from(state >> 34).unwrap());
            check(root * root);
            check((root * root).saturating_sub(1));
        }
    }

    #[test]
    fn a_root_keeps_eight_binary_places() {
        assert_eq!(fine_root(-1), 0);
        assert_eq!(fine_root(4), 512);
        assert_eq!(fine_root(2), 362); // 256 times 1.41421
    }
}
