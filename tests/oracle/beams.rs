//! How far what remains of a log sags, against beams whose bending is summed up millimetre by millimetre, and against the
//! formulae that every table of beams has (standard textbook formulae, as in Machinery's Handbook; from memory):
//!
//! ```text
//! on two supports, uniform load         5 w L⁴/384 EI      load in the middle   P L³/48 EI
//! held in a wall, uniform load          w a⁴/8 EI          load at the end      P a³/3 EI
//! overhang a beyond a span L, loaded    w a³ (3 a + 4 L)/24 EI                  P a² (a + L)/3 EI
//! half circle about its centroid        I = r⁴ (π/8 − 8/(9 π))
//! ```

use std::f64::consts::PI;

use bunkside::diagnostic::Source;
use bunkside::job;
use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::physics::GRAVITY;
use bunkside_planner::physics::sag::{Burden, between, beyond, sag};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Stock;
use bunkside_protocol::{Length, Position};

/// A beam in steps of a millimetre: load and stiffness of each, newtons a millimetre and newton square millimetres.
struct Beam {
    load: Vec<f64>,
    stiffness: Vec<f64>,
}

impl Beam {
    fn even(length: usize, burden: &Burden) -> Self {
        Self {
            load: vec![burden.weight; length],
            stiffness: vec![burden.stiffness; length],
        }
    }

    /// How far each step gives way on supports at two places, with single forces at others; down is positive.
    fn bend(&self, [left, right]: [usize; 2], forces: &[(usize, f64)]) -> Vec<f64> {
        let steps = self.load.iter().enumerate();
        let mut down: Vec<(f64, f64)> = steps.map(|(step, load)| (step as f64 + 0.5, *load)).collect();
        down.extend(forces.iter().map(|(place, force)| (*place as f64, *force)));
        let about = |at: f64| {
            down.iter()
                .map(|(place, force)| force * (place - at))
                .sum::<f64>()
        };
        let (from, to) = (left as f64, right as f64);
        let last = about(from) / (to - from);
        let first = -about(to) / (to - from);
        down.extend([(from, -first), (to, -last)]);
        down.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        // Moment in the middle of each step, from what lies before it.
        let (mut next, mut force, mut moment, mut before) = (0, 0.0, 0.0, 0.0);
        let (mut slope, mut sunk, mut bent) = (0.0, 0.0, vec![0.0]);
        for (step, stiffness) in self.stiffness.iter().enumerate() {
            let middle = step as f64 + 0.5;
            while let Some((place, more)) = down.get(next).filter(|(place, _)| *place < middle) {
                moment -= force * (place - before);
                (before, force) = (*place, force + more);
                next += 1;
            }
            moment -= force * (middle - before);
            before = middle;
            // A moment that hollows the beam from above slows its way down.
            let curve = moment / stiffness;
            sunk += slope - curve / 8.0;
            slope -= curve;
            bent.push(sunk);
            sunk -= curve * 3.0 / 8.0;
        }
        let tilt = (bent[right] - bent[left]) / (to - from);
        let line = |place: usize| bent[left] + tilt * (place as f64 - from);
        (0..bent.len()).map(|place| bent[place] - line(place)).collect()
    }

    /// The same on a third support between the two, by the force there that lifts it back to their line.
    fn bend_on_three(&self, [left, middle, right]: [usize; 3]) -> Vec<f64> {
        let free = self.bend([left, right], &[]);
        let light = Self {
            load: vec![0.0; self.load.len()],
            stiffness: self.stiffness.clone(),
        };
        let lifted = light.bend([left, right], &[(middle, -1.0)]);
        let force = -free[middle] / lifted[middle];
        free.iter()
            .zip(&lifted)
            .map(|(free, lifted)| free + force * lifted)
            .collect()
    }
}

fn near(told: f64, expected: f64, share: f64) {
    assert!(
        (told - expected).abs() <= share * expected.abs(),
        "{told} is not {expected}"
    );
}

fn greatest(bent: &[f64]) -> f64 {
    bent.iter().copied().fold(0.0, f64::max)
}

const BURDEN: Burden = Burden {
    weight: 0.4,
    press: 300.0,
    stiffness: 2.0e11,
};

const UNPRESSED: Burden = Burden { press: 0.0, ..BURDEN };

#[test]
fn stretches_between_two_bunks_agree_with_tables_and_sums() {
    let length = 2_400.0_f64;
    let (w, p, stiff) = (BURDEN.weight, BURDEN.press, BURDEN.stiffness);
    let (weight, press) = (
        5.0 * w * length.powi(4) / (384.0 * stiff),
        p * length.powi(3) / (48.0 * stiff),
    );
    near(between(length, &UNPRESSED), weight, 1e-12);
    near(between(length, &BURDEN), weight + press, 1e-12);
    let summed = Beam::even(2_400, &BURDEN).bend([0, 2_400], &[(1_200, p)]);
    near(summed[1_200], weight + press, 1e-5);
    near(greatest(&summed), summed[1_200], 1e-12);
}

#[test]
fn free_ends_agree_with_tables_and_sums() {
    let (w, p, stiff) = (BURDEN.weight, BURDEN.press, BURDEN.stiffness);
    let free = 900.0_f64;
    let in_a_wall = w * free.powi(4) / (8.0 * stiff) + p * free.powi(3) / (3.0 * stiff);
    near(beyond(free, 0.0, &BURDEN), in_a_wall, 1e-12);
    for stretch in [600, 1_500, 2_400] {
        let span = f64::from(stretch);
        let weight = w * free.powi(3) * (3.0 * free + 4.0 * span) / (24.0 * stiff);
        let press = p * free.powi(2) * (free + span) / (3.0 * stiff);
        near(beyond(free, span, &BURDEN), weight + press, 1e-12);
        // The weight between the bunks would lift the end and is left out on both sides.
        let stretch = usize::try_from(stretch).unwrap();
        let mut beam = Beam::even(stretch + 900, &BURDEN);
        beam.load[..stretch].fill(0.0);
        let summed = beam.bend([0, stretch], &[(stretch + 900, p)]);
        near(summed[stretch + 900], weight + press, 1e-4);
    }
}

/// A cylinder of 300 mm, 3.6 m long, whose bunks stand 0.3, 1.8 and 3.3 m from its near end.
fn with_cylinder<T>(use_it: impl FnOnce(&Setup<'_>) -> T) -> T {
    with_log(300, use_it)
}

/// The same, so thick at its far end; millimetres.
fn with_log<T>(butt: i32, use_it: impl FnOnce(&Setup<'_>) -> T) -> T {
    let text = format!(
        "mill = \"../mills/powered-165.toml\"\n\n[log]\nname = \"BEAM\"\nspecies = \"western larch\"\n\
                state = \"fresh\"\nlength = \"3.6 m\"\nsmall_end = \"300 mm\"\nbutt = \"{butt} mm\"\nbutt_at = \"far\"\n\
                bark = \"0 mm\"\n\n[setting]\nlevel = \"centre\"\nnear_end_at = \"0.6 m\"\nbed_clearance = \"25 mm\"\n\n\
                [[board]]\nname = \"plank\"\nthickness = \"50 mm\"\nwidth = \"120 mm\"\nlengths = [\"3.5 m\"]\n\
                price = {{ each = 5.00 }}\n"
    );
    let load = |path: &std::path::Path| std::fs::read_to_string(path);
    let outcome = job::read(&Source::new("examples/jobs/beam.toml", text), &load);
    let job = outcome.job.unwrap();
    use_it(&Setup::new(&job.mill, &job.log).unwrap())
}

const RADIUS: f64 = 150.0;
const SPAN: f64 = 1_500.0;

/// The log on its bunks, a flat kerf from its middle up to a place along the rails.
fn halved(setup: &Setup<'_>, to: Position) -> Stock {
    let bunks = setup.mill.bunks.iter().map(|bunk| bunk.travel);
    let mut stock = Stock::new(&setup.shape, bunks);
    let centre = setup.shape.wood()[0].centre_height();
    let kerf = Block {
        travel: Interval::new(Position::MIN, to),
        across: Interval::ALL,
        height: Interval::new(centre, centre + Length::mm(6)),
    };
    stock.carve(&setup.shape, kerf).unwrap();
    stock
}

fn burden(setup: &Setup<'_>, area: f64, second: f64) -> Burden {
    Burden {
        weight: area * f64::from(setup.log.density) * 1e-9 * GRAVITY,
        press: 0.0,
        stiffness: second * f64::from(setup.log.stiffness),
    }
}

/// Whole: a circle, π r² and π r⁴/4.
fn whole(setup: &Setup<'_>) -> Burden {
    burden(setup, PI * RADIUS.powi(2), PI * RADIUS.powi(4) / 4.0)
}

/// What stands below its middle.
fn half(setup: &Setup<'_>) -> Burden {
    let second = RADIUS.powi(4) * (PI / 8.0 - 8.0 / (9.0 * PI));
    burden(setup, PI * RADIUS.powi(2) / 2.0, second)
}

#[test]
fn a_whole_log_and_a_half_one_sag_as_circle_and_half_circle() {
    with_cylinder(|setup| {
        let table = |burden: &Burden| 5.0 * burden.weight * SPAN.powi(4) / (384.0 * burden.stiffness);
        let bunks = setup.mill.bunks.iter().map(|bunk| bunk.travel);
        let uncut = Stock::new(&setup.shape, bunks);
        near(sag(setup, &uncut, 0.0), table(&whole(setup)), 1e-6);
        let mut stock = halved(setup, Position::MAX);
        assert_eq!(stock.pieces().len(), 1);
        // The upper half lies on the lower one, but for the kerf's wood, and stiffens nothing.
        let kerf = 6.0 * 2.0 * RADIUS;
        let laden = burden(
            setup,
            PI * RADIUS.powi(2) - kerf,
            half(setup).stiffness / f64::from(setup.log.stiffness),
        );
        near(sag(setup, &stock, 0.0), table(&laden), 1e-4);
        stock.unload();
        near(sag(setup, &stock, 0.0), table(&half(setup)), 1e-6);
        // A force in the middle of a stretch, or at the end of the log, whichever bends more.
        let press = 500.0;
        let pressed = Burden { press, ..half(setup) };
        let most = table(&pressed) + press * SPAN.powi(3) / (48.0 * pressed.stiffness);
        near(sag(setup, &stock, press), most, 1e-6);
    });
}

/// With the blade in the middle of a stretch half of it is half a log: what is told is no less than such a stepped beam
/// gives way, and no more than if all of it were half a log under the weight of a whole one.
#[test]
fn a_stretch_that_is_sawn_part_way_is_told_on_the_safe_side() {
    with_cylinder(|setup| {
        let (whole, half) = (whole(setup), half(setup));
        // From the near end to 0.75 m beyond the first bunk, at 0.9 m.
        let stock = halved(setup, Position::mm(1_650));
        assert!(stock.pieces().is_empty(), "it hangs on");
        let told = sag(setup, &stock, 0.0);
        let mut beam = Beam::even(1_500, &whole);
        // The upper half hangs on where the blade has come to, and lies on the lower one before.
        beam.stiffness[..750].fill(half.stiffness);
        let summed = greatest(&beam.bend([0, 1_500], &[]));
        let most = 5.0 * whole.weight * SPAN.powi(4) / (384.0 * half.stiffness);
        assert!(
            summed <= told && told <= most * 1.000_001,
            "{told} not from {summed} to {most}"
        );
    });
}

/// Half a tapered log counts as half of it where it is thinnest all along: no less than its sections give way, each with its own
/// weight and second moment.
#[test]
fn a_tapered_log_is_told_on_the_safe_side() {
    for butt in [310, 354, 420] {
        with_log(butt, |setup| {
            let mut stock = halved(setup, Position::MAX);
            stock.unload();
            let half = half(setup);
            let mut beam = Beam::even(1_500, &half);
            let steps = beam.load.iter_mut().zip(&mut beam.stiffness).enumerate();
            for (step, (load, stiffness)) in steps {
                let along = 300.0 + step as f64 + 0.5;
                let grown = 1.0 + (f64::from(butt) - 300.0) / 2.0 / RADIUS * along / 3_600.0;
                *load *= grown.powi(2);
                *stiffness *= grown.powi(4);
            }
            let summed = greatest(&beam.bend([0, 1_500], &[]));
            let told = sag(setup, &stock, 0.0);
            assert!(
                summed <= told && told <= summed * 1.2,
                "{butt}: {told} not {summed}"
            );
        });
    }
}

/// Bunk after bunk a log holds itself: what neighbouring stretches take back is not counted. The whole log lies on three, and
/// gives way less between them, and at its ends, than is told.
#[test]
fn a_log_on_three_bunks_gives_way_less_than_is_told() {
    with_cylinder(|setup| {
        for (burden, stock) in [
            (whole(setup), Stock::new(&setup.shape, [])),
            (half(setup), {
                let mut stock = halved(setup, Position::MAX);
                stock.unload();
                stock
            }),
        ] {
            let beam = Beam::even(3_600, &burden);
            let bent = beam.bend_on_three([300, 1_800, 3_300]);
            for bunk in [300, 1_800, 3_300] {
                assert!(bent[bunk].abs() < 1e-9, "it lies on its bunks");
            }
            let told = sag(setup, &stock, 0.0);
            // A beam over two equal spans: w L⁴/185 EI (as above), less what its ends lift.
            let held = burden.weight * SPAN.powi(4) / (185.0 * burden.stiffness);
            let summed = greatest(&bent);
            assert!(
                summed < told && summed < held * 1.01,
                "{summed}, {held}, {told} told"
            );
        }
    });
}
