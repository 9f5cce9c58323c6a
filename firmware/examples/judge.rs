//! Judges the image's jobs on the host, all or those that are named, and says what the image says of them; with `plan`,
//! makes the cut plan into a job, with `again` lays out what stands after some moves. For counting instructions:
//!
//! ```sh
//! cargo build --release -p bunkside-firmware --example judge
//! perf stat -e instructions:u target/release/examples/judge w-40
//! ```

#[path = "../fixtures/mod.rs"]
mod fixtures;
#[path = "../fixtures/lines.rs"]
mod lines;

fn main() {
    let names: Vec<String> = std::env::args().skip(1).collect();
    let mut text = String::new();
    if names.is_empty() {
        text = lines::all();
    }
    for name in names {
        match fixtures::JOBS.iter().find(|fixture| fixture.name == name) {
            Some(fixture) => lines::judge(fixture, &mut text),
            None if name == "plan" => lines::remake(&mut text),
            None if name == "again" => lines::lay_out_again(&mut text),
            None => eprintln!("there is no job called {name}"),
        }
    }
    print!("{text}");
}
