//! Over all examples and steps: no number of a piece lies over another, over what tells where the blade stands, or beyond its picture.

use super::super::Subject;
use super::super::labels::apart;
use super::*;
use crate::order::example;
use crate::planned::{Planned, lay_out};

/// Every number of a step's drawing, and what it covers.
fn numbers(artist: &Artist<'_, '_>, at: usize, freed: u16, told: &numbers::Told) -> Vec<(u16, Box2)> {
    let parts = artist.scene.parts.iter().map(|part| part.serial);
    let standing = parts.filter(|serial| *serial > freed && !told.moved(*serial));
    let standing = standing.filter_map(|serial| Some((serial, artist.covered(at, serial)?)));
    standing.chain(told.covered(freed)).collect()
}

#[test]
fn no_number_lies_over_another_or_beyond_its_picture() {
    let (mut steps, mut seen) = (0, 0);
    for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07", "s-11"] {
        let job = example(name);
        let setup = bunkside_planner::replay::Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        let scene = Scene::of(Subject::planned(&planned));
        let artist = Artist::new(&scene);
        for step in &scene.steps {
            let traced = &scene.subject.trace.moves[step.at];
            let at = artist.place(step, &traced.step).unwrap();
            let place = &scene.places[at];
            let (_, taken) = artist.stroke_words((at, place), step, traced);
            let told = artist.told((at, place), step, &traced.before, taken);
            let all = numbers(&artist, at, traced.before.freed(), &told);
            let figures = match step.doing {
                Doing::Cut => artist.figures(place, &traced.step),
                Doing::Hold => Vec::new(),
            };
            for (number, (serial, own)) in all.iter().enumerate() {
                let what = format!("{name}, step {}, piece {serial}: {own:?}", step.number);
                let [low, high] = own;
                assert!(low[0] >= 0.0 && high[0] <= WIDE, "{what}");
                assert!(low[1] >= 0.0 && high[1] <= artist.plane.height, "{what}");
                for (other, covers) in &all[number + 1..] {
                    assert!(apart(*own, *covers), "{what} and piece {other}: {covers:?}");
                }
                // The line from the blade's corner out to the figure runs through numbers that stand in their fields.
                for figure in figures.iter().enumerate().filter(|(line, _)| *line != 1) {
                    assert!(apart(*own, *figure.1), "{what} and a figure: {:?}", figure.1);
                }
                seen += 1;
            }
            steps += 1;
        }
    }
    assert!(steps > 200 && seen > 2_000, "{steps} {seen}");
}
