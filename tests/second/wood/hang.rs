//! On what bark hangs that has no wood under it.

use super::{Owner, Um, Wood, around, meet, shared};

/// Whose the bark is that hangs on no wood any more.
const GONE: Owner = Owner::Piece(u32::MAX);

impl Wood {
    /// Bark without wood belongs to the wood beside it in its slice; where there is none at its height it has gone.
    pub(super) fn hand_out_bark(&mut self) {
        let mut own: Vec<Option<Owner>> = self
            .rods
            .iter()
            .map(|rod| rod.has_wood().then_some(rod.owner))
            .collect();
        if own.iter().all(Option::is_some) {
            return;
        }
        let places: Vec<usize> = (0..self.whole.len()).collect();
        let back: Vec<usize> = places.iter().rev().copied().collect();
        for (order, toward) in [(&places, -1), (&back, 1), (&places, -1)] {
            for place in order {
                let column = Um::try_from(place % self.strips).expect("few") + toward;
                if column < 0 || column >= Um::try_from(self.strips).expect("few") {
                    continue;
                }
                let other = place.wrapping_add_signed(isize::try_from(toward).expect("one"));
                for rod in self.firsts[*place]..self.firsts[place + 1] {
                    let beside = self.firsts[other]..self.firsts[other + 1];
                    // Bark hangs on wood beside it at its own height, or on bark that does.
                    let holds = |next: &usize| {
                        let beside = &self.rods[*next];
                        let by = if beside.has_wood() {
                            beside.wood
                        } else {
                            beside.rough
                        };
                        shared(by, self.rods[rod].rough) > 0
                    };
                    own[rod] = own[rod].or_else(|| beside.filter(holds).find_map(|next| own[next]));
                }
            }
        }
        for place in 0..self.whole.len() {
            let held = self.firsts[place]..self.firsts[place + 1];
            for (rod, own) in held.clone().zip(&mut own[held]) {
                *own = own.or_else(|| self.wood_along(place, rod));
            }
        }
        for (rod, own) in self.rods.iter_mut().zip(&own) {
            rod.owner = own.unwrap_or(GONE);
        }
        self.keep(|rod| rod.owner != GONE);
    }

    /// Whose the wood is that a rod's bark comes to at its own height, level through the bark of wood that stands higher or lower.
    fn wood_along(&self, place: usize, rod: usize) -> Option<Owner> {
        let strip = place % self.strips;
        let entry = (0..strip).rev().map(|other| place - strip + other);
        let exit = (strip + 1..self.strips).map(|other| place - strip + other);
        self.first_wood(entry, rod).or_else(|| self.first_wood(exit, rod))
    }

    fn first_wood(&self, places: impl Iterator<Item = usize>, rod: usize) -> Option<Owner> {
        let mut level = self.rods[rod].rough;
        for place in places {
            let rods = &self.rods[self.firsts[place]..self.firsts[place + 1]];
            if let Some(found) = rods
                .iter()
                .find(|next| next.has_wood() && shared(next.wood, level) > 0)
            {
                return Some(found.owner);
            }
            let bark = rods.iter().map(|next| meet(next.rough, level));
            level = bark.filter(|[lo, hi]| lo < hi).reduce(around)?;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Length, Position};

    use super::super::{Bx, Hard};
    use super::{Owner, Wood};
    use crate::attack::good::Mills;

    /// A log of 300 mm in bark of 19 mm. 131 mm out its wood ends 96 mm above the bed, inside the kerf; its bark, 92.5 mm above
    /// the bed and below, goes on round the flank to wood that stands there further in.
    #[test]
    fn bark_beyond_a_rim_hangs_on_the_bark_under_the_wood_beside_it() {
        let (_, mut log) = Mills::new().records();
        log.bark = Length::mm(19);
        log.stations.truncate(2);
        for (station, end) in log.stations.iter_mut().zip([600, 2_600]) {
            station.travel = Position::mm(end);
            (station.centre_across, station.centre_height) = (Position::mm(0), Position::mm(169));
            (station.half_width, station.half_height) = (Length::mm(150), Length::mm(150));
            station.skew = Length::ZERO;
        }
        let z = [600_000, 2_600_000];
        let mut wood = Wood::new(&log, 1_000, &[], vec![z[0], 1_600_000, z[1]], &[]);
        let flank = |wood: &Wood, y: [i64; 2]| {
            let x = [-150_000, -135_000];
            wood.meets(Bx { z, x, y }, Hard::SureBark, |owner| owner == Owner::Body)
        };
        let [under, inside] = [[85_000, 92_000], [93_000, 97_000]];
        assert_eq!([under, inside].map(|y| flank(&wood, y)), [true; 2]);
        let kerf = Bx {
            z,
            x: [-400_000, -131_000],
            y: [92_500, 97_500],
        };
        assert_eq!(wood.carve(kerf), []);
        assert_eq!([under, inside].map(|y| flank(&wood, y)), [true, false]);
    }
}
