//! Sections against closed forms, and with faces against the points they hold.

use super::*;

fn circle(radius: i32) -> Section {
    Section::new(
        Form::Round,
        &Station {
            travel: Position::ZERO,
            centre_across: Position::ZERO,
            centre_height: Position::mm(radius),
            half_width: Length::mm(radius),
            half_height: Length::mm(radius),
            skew: Length::ZERO,
        },
        Length::ZERO,
    )
}

/// Chords of a circle of radius 100 and 200 mm: table of segments, closed form c = 2 sqrt(h(2R - h)).
#[test]
fn circle_chords_agree_with_the_segment_table() {
    for (radius, segment, chord_um) in [
        (100, 20, 120_000),
        (100, 50, 173_205),
        (100, 80, 195_959),
        (200, 60, 285_657),
    ] {
        let height = Position::mm(2 * radius - segment);
        let chord = circle(radius).chord(height).unwrap();
        assert!(
            (chord.length().as_um() - chord_um).abs() <= 2,
            "{radius} {segment} {chord:?}"
        );
    }
}

#[test]
fn a_turned_ellipse_reaches_as_far_as_its_half_diameters_say() {
    // Half axes 150 and 100 mm turned by 30 degrees: S = R diag(a², b²) Rᵀ, in exact numbers
    // Syy = 13 125, Sxy = 5 412.659, Sxx = 19 375 square millimetres.
    let half_height = 114_564; // sqrt(13 125) mm
    let skew = 47_246; // 5 412.659 / 114.564
    let half_width = 130_931; // 150 * 100 / 114.564
    let section = Section::new(
        Form::Round,
        &Station {
            travel: Position::ZERO,
            centre_across: Position::mm(10),
            centre_height: Position::mm(120),
            half_width: Length::um(half_width),
            half_height: Length::um(half_height),
            skew: Length::um(skew),
        },
        Length::ZERO,
    );
    let width = section.width().length().as_um();
    assert!((width - 2 * 139_194).abs() <= 4, "{width}"); // sqrt(19 375) = 139.194 mm
    let all = section.width_within(Interval::ALL).unwrap();
    assert!((all.length().as_um() - width).abs() <= 4);
    let tall = section.height_within(Interval::ALL).unwrap();
    assert!((tall.length() - section.height().length()).abs() <= Length::um(4));
}

#[test]
fn windows_hold_what_chords_say() {
    let section = circle(100);
    let upper = Interval::new(Position::mm(150), Position::mm(180));
    let held = section.across_in(Interval::ALL, upper).unwrap();
    assert_eq!(held, section.chord(Position::mm(150)).unwrap());
    assert!(section.holds(Interval::new(Position::mm(-59), Position::mm(59)), upper));
    assert!(!section.holds(Interval::new(Position::mm(-61), Position::mm(59)), upper));
    assert!(
        section
            .across_in(Interval::new(Position::mm(90), Position::mm(99)), upper)
            .is_none()
    );
    assert!(
        section
            .width_within(Interval::new(Position::mm(200), Position::mm(300)))
            .is_none()
    );
}

/// What is told without a root is what the roots tell.
#[test]
fn quick_answers_are_never_wrong() {
    let mut dice = crate::testing::Dice::new(11);
    let (mut quick, mut all) = (0, 0);
    for _ in 0..40_000 {
        let mut within = |from: i64, to: i64| from + i64::try_from(dice.below((to - from) as u64)).unwrap();
        let size = [2_000, 60_000, 600_000][usize::try_from(within(0, 3)).unwrap()];
        let station = Station {
            travel: Position::ZERO,
            centre_across: Position::um(within(-size, size)),
            centre_height: Position::um(within(-size, size)),
            half_width: Length::um(within(1_000, size)),
            half_height: Length::um(within(1_000, size)),
            skew: Length::ZERO,
        };
        let form = if within(0, 4) == 0 {
            Form::Square
        } else {
            Form::Round
        };
        let section = Section::new(form, &station, Length::ZERO);
        let mut window = |centre: Position| {
            let lo = centre + Length::um(within(-2 * size, 2 * size));
            let long = if within(0, 3) == 0 {
                within(-10, 120)
            } else {
                within(0, 2 * size)
            };
            Interval::new(lo, lo + Length::um(long))
        };
        let (across, height) = (window(station.centre_across), window(station.centre_height));
        let held = section.across_in(across, height);
        if section.surely_meets(across, height) {
            quick += 1;
            assert!(held.is_some(), "{section:?} {across:?} {height:?}");
        }
        if section.surely_holds(across, height) {
            let up = section.height_in(across, height);
            let thick = [held, up].map(|held| held.is_some_and(|held| held.length() > FIN));
            assert_eq!(thick, [true; 2], "{section:?} {across:?} {height:?}");
        }
        all += u32::from(held.is_some());
    }
    assert!(quick > 4_000 && quick < all, "{quick} of {all}");
}

/// Some ellipse and what some faces leave of everything.
fn faced(dice: &mut crate::testing::Dice) -> (Section, Interval, Interval) {
    let mut within = |from: i64, to: i64| from + i64::try_from(dice.below((to - from) as u64)).unwrap();
    let skew = within(-60, 60) * within(0, 2);
    let section = Section::from_numbers(
        Form::Round,
        Position::ZERO,
        [within(-50_000, 50_000), within(100_000, 300_000)],
        [within(60_000, 300_000), within(60_000, 300_000)],
        skew * 1_000,
    );
    let mut face = |of: Interval, lo: bool| {
        let at = of.lo + Length::um(of.length().wide() * within(-10, 110) / 100);
        match (within(0, 3) == 0, lo) {
            (false, _) => at,
            (true, true) => Position::MIN,
            (true, false) => Position::MAX,
        }
    };
    let (wide, high) = (section.width(), section.height());
    let across = Interval::new(face(wide, true), face(wide, false));
    let height = Interval::new(face(high, true), face(high, false));
    (section, across, height)
}

/// The box around those points of a row that an ellipse holds within a window: `(x h - s y)² + (w y)² <= (w h)²`, told from
/// its centre.
fn held(section: &Section, across: Interval, height: Interval, step: i64) -> Option<[Interval; 2]> {
    let [w, h, s] = [section.half_width, section.half_height, section.skew].map(i128::from);
    let mut found: Option<[Interval; 2]> = None;
    let steps = |stretch: Interval| {
        let count = stretch.length().wide() / step;
        (0..=count).map(move |number| {
            Position::um(stretch.lo.wide() + (stretch.length().wide() * number) / count.max(1))
        })
    };
    let reach = Interval::new(Position::mm(-800), Position::mm(800));
    let (across, height) = (across.meet(reach), height.meet(reach));
    if across.is_empty() || height.is_empty() {
        return None;
    }
    for y in steps(height) {
        for x in steps(across) {
            let (u, v) = (
                i128::from(x.wide() - section.centre_across),
                i128::from(y.wide() - section.centre_height),
            );
            let (p, q) = (u * h - s * v, v * w);
            if p * p + q * q <= w * h * w * h {
                let here = [Interval::new(x, x), Interval::new(y, y)];
                found = Some(found.map_or(here, |[wide, high]| [wide.join(here[0]), high.join(here[1])]));
            }
        }
    }
    found
}

/// What faces leave of an ellipse, in any window, is what a row of its points tells that lie between them: no less, and no more than
/// lies between two points. Where a chord is short, or a corner sharp, points lie further from it, and are not asked.
#[test]
fn faces_leave_what_lies_between_them() {
    let mut dice = crate::testing::Dice::new(31);
    let (mut asked, mut nothing) = (0, 0);
    for _ in 0..160 {
        let (whole, across, height) = faced(&mut dice);
        let left = whole.left_by(across, height);
        let mut within =
            |from: i64, to: i64| Position::um(from + i64::try_from(dice.below((to - from) as u64)).unwrap());
        let (x, y) = (within(-300_000, 100_000), within(-100_000, 300_000));
        let windows = [
            (Interval::ALL, Interval::ALL),
            (
                Interval::new(x, x + Length::mm(150)),
                Interval::new(y, y + Length::mm(120)),
            ),
        ];
        for (wide, high) in windows {
            let step = 4_000;
            let points = held(&whole, wide.meet(across), high.meet(height), step);
            let told = left.across_in(wide, high).zip(left.height_in(wide, high));
            let Some([over, up]) = points else {
                let small =
                    told.is_none_or(|(over, up)| over.length().wide().min(up.length().wide()) <= 2 * step);
                assert!(small, "{left:?} {wide:?} {high:?}: {told:?}");
                nothing += 1;
                continue;
            };
            let (told_over, told_up) = told.unwrap();
            let near = Length::um(2);
            for (told, point) in [(told_over, over), (told_up, up)] {
                assert!(
                    told.lo <= point.lo + near && point.hi <= told.hi + near,
                    "{left:?}: {told:?} {point:?}"
                );
            }
            let thin = over.length().wide().min(up.length().wide()) < 10 * step;
            if !thin {
                asked += 1;
                // The outermost point of an arc lies within half a step of a row of points, r - sqrt(r² - step²/4) inside it.
                let most = Length::um(step + 500);
                for (told, point) in [(told_over, over), (told_up, up)] {
                    assert!(
                        point.lo <= told.lo + most && told.hi <= point.hi + most,
                        "{left:?}: {told:?} {point:?}"
                    );
                }
            }
            assert!(!left.surely_meets(wide, high) || told.is_some());
        }
    }
    assert!(asked > 60 && nothing > 60, "{asked} {nothing}");
}

/// A chord with faces is the whole one up to them, and none beyond.
#[test]
fn chords_end_at_faces() {
    let mut dice = crate::testing::Dice::new(37);
    for _ in 0..400 {
        let (whole, across, height) = faced(&mut dice);
        if across.is_empty() || height.is_empty() {
            continue;
        }
        let left = whole.left_by(across, height);
        for part in -5..=105 {
            let at = |of: Interval| of.lo + Length::um(of.length().wide() * part / 100);
            let (x, y) = (at(whole.width()), at(whole.height()));
            let lying = whole.chord(y).map(|chord| chord.meet(across));
            let lying = lying.filter(|chord| height.contains(y) && !chord.is_empty());
            let standing = whole.standing_chord(x).map(|chord| chord.meet(height));
            let standing = standing.filter(|chord| across.contains(x) && !chord.is_empty());
            for (told, expected) in [(left.chord(y), lying), (left.standing_chord(x), standing)] {
                let ends = |chord: Option<Interval>| {
                    chord.map_or([0, 0], |chord| [chord.lo.wide(), chord.hi.wide()])
                };
                let ([a, b], [c, d]) = (ends(told), ends(expected));
                // The outermost point of an ellipse is rounded.
                assert!(
                    (a - c).abs() <= 2 && (b - d).abs() <= 2 || b - a <= 4 && d - c <= 4,
                    "{left:?} {told:?} {expected:?}"
                );
            }
        }
    }
}

/// A half log lies flat on its face, and one that was sawn at its side as well on the middle of what is left of it.
#[test]
fn a_face_underneath_is_what_it_lies_on() {
    let half = circle(100).left_by(Interval::ALL, Interval::new(Position::mm(100), Position::MAX));
    assert_eq!(
        half.underside(),
        Interval::new(Position::mm(-100), Position::mm(100))
    );
    assert_eq!(half.lowest_across(), Position::ZERO);
    assert_eq!(half.height(), Interval::new(Position::mm(100), Position::mm(200)));
    let beside = half.left_by(Interval::new(Position::MIN, Position::mm(40)), half.height());
    assert_eq!(
        beside.underside(),
        Interval::new(Position::mm(-100), Position::mm(40))
    );
    assert_eq!(beside.lowest_across(), Position::mm(-30));
    // Sawn at its side past the middle it lies on its lowest corner.
    let side = circle(100).left_by(Interval::new(Position::mm(60), Position::MAX), Interval::ALL);
    assert_eq!(side.height(), Interval::new(Position::mm(20), Position::mm(180)));
    assert_eq!(side.lowest_across(), Position::mm(60));
    let nothing = circle(100).left_by(Interval::new(Position::mm(120), Position::MAX), Interval::ALL);
    assert!(nothing.height().is_empty() && nothing.width().is_empty());
    assert_eq!(nothing.chord(Position::mm(100)), None);
}
