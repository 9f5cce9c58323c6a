//! Help, written from the tables.

use bunkside_protocol::Timber;

use super::arguments::Opt;
use super::{VERBS, Verb};
use crate::account::table::{Side, Table, wrapped};
use crate::caution::CAUTION_LINES;
use crate::{input, job, mill, species, yard};

/// The option that every verb has.
pub const HELP_OPTION: Opt = Opt {
    long: "help",
    short: Some('h'),
    value: None,
    about: "tell about this verb",
};

/// Something else to read about.
#[derive(Debug)]
pub struct Topic {
    /// As it is typed.
    pub name: &'static str,
    /// What it tells, in one line.
    pub summary: &'static str,
    text: fn() -> String,
}

/// Everything else to read about.
pub static TOPICS: &[Topic] = &[
    Topic {
        name: "job",
        summary: "every key of a job: log, setting, products",
        text: || JOB.to_owned() + &input::describe(job::KEYS) + &species_words(),
    },
    Topic {
        name: "order-file",
        summary: "every key of an order over many logs, and its table of logs",
        text: || ORDER.to_owned() + &input::describe(yard::KEYS),
    },
    Topic {
        name: "mill",
        summary: "every key of a mill profile",
        text: || MILL.to_owned() + &input::describe(mill::KEYS),
    },
    Topic {
        name: "cut-plan",
        summary: "the language of cut plans, in short",
        text: || CUT_PLAN.to_owned(),
    },
    Topic {
        name: "moves",
        summary: "move sequences as JSON",
        text: || MOVES.to_owned(),
    },
];

const JOB: &str = "\
A job is a TOML file: one log, how it lies, the mill and the boards that are wanted. Lengths are written
with their unit: 3.6 m, 228 mm, 5 1/2 in, 12'6\". Start from one in examples/jobs/.

";

const ORDER: &str = "\
An order over many logs is a TOML file with all that a job has, but many logs: each a [[log]] of the file,
or a row of a table that `logs` names, or both. Start from the one in examples/orders/.

    logs = \"barn.csv\"                   # before the first table

    name,length (m),small_end (mm),butt (mm),butt_at,sweep.bow (mm),sweep.toward
    L-01,3.7,310,352,far,12,up
    L-02,4.9,295,340,near,,

The table is what a spreadsheet saves as CSV in UTF-8. Its first row names keys of a log, `sweep.bow` one within
another, a unit for all of a column in brackets behind it. A cell may say its own unit, `12 ft 4 in`; two
diameters are written 310 mm x 295 mm; an empty cell is a key left out. What holds of every log goes under
[every_log].

";

/// The species that have data, whence it comes, and what to give of another.
fn species_words() -> String {
    let names: Vec<&str> = species::ALL.iter().map(|one| one.name).collect();
    format!(
        "\nspecies\n{}\n{}\n{}",
        wrapped("  ", &names.join("; "), 100),
        wrapped("  ", SPECIES, 100),
        wrapped("  ", &class_words(), 100)
    )
}

/// How hard they saw, and by what that goes.
fn class_words() -> String {
    let of = |class: Timber| {
        let found = species::ALL.iter().filter(|one| one.class() == class);
        found.map(|one| one.name).collect::<Vec<_>>().join("; ")
    };
    let [medium, hard] = species::CLASS_GRAVITY.map(|hundredths| hundredths * 10);
    let [heavy, heaviest] = species::CLASS_DENSITY;
    format!(
        "How hard fresh wood saws goes by its basic density, oven-dry mass on green volume: soft below {medium} kg/m3, medium \
         below {hard}, from there hard (common practice, no source). Medium: {}. Hard: {}. The others are soft. Dry wood saws \
         one class harder, frozen wood hard. Of wood that is not listed density as it lies counts: soft below {heavy} kg/m3, \
         medium below {heaviest}. `timber` says otherwise.",
        of(Timber::Medium),
        of(Timber::Hard)
    )
}

const SPECIES: &str = "\
These have data, all of North America: shrinkage, basic density and stiffness from the Wood Handbook of the USDA Forest \
Service (FPL-GTR-190, FPL-GTR-282), moisture of green logs, bark and some densities from the reference table of its \
forest inventory (Miles and Smith 2009, NRS-38); stiffness and the shrinkage of ponderosa pine are quoted from memory. \
A kind of the same name from elsewhere is another species. Of one that is not listed give density as it lies, weighed \
or looked up; if it is known also stiffness (bending modulus, green) and cutting_energy, else the least stiffness of \
the list counts, and a cutting energy by timber. A cutting energy that is not given in the job or measured on the mill \
is an estimate, 40 % off either way: feeds and forces are planned and judged at its upper end. Say it where the wood saws \
harder than its density tells, or where it is known to saw easier.";

const MILL: &str = "\
A mill profile is a TOML file: what the machine is, can and may do. Measure your own mill and write what
you find; start from one in examples/mills/. Places are told from the corner, where the two new faces of
what remains meet: across grows from the entry side to the exit side, height upwards, travel outbound.

";

/// The example in it is read by a test.
const CUT_PLAN: &str = "\
A cut plan says what comes out of a log and how it is freed, from the top to the bed, one statement a line.

    plan \"G-04\"                           # which log it is for

    layer down to 187.5 mm                # the flat kerf lies on this height above the bed
      slab                                # the whole layer comes off as waste
    hold measure                          # a stop before the next layer
    layer down to 132 mm with 2 passes    # the flat kerf in two strokes
      take waste to -69.9 mm              # freed by its own notch; the place of its upright kerf
      take board \"deck\" 2.4 m from far end to 75.6 mm
      take waste to edge                  # to the wood's own edge
    layer down to 76.5 mm
      release waste to -75 mm             # edged by an upright kerf, then freed with its neighbours
      release board \"deck\" 3.6 m to 70 mm
      take waste to edge

Columns run from the entry side (negative) to the exit side. Heights count from the bed, places across from
its centre line. Boards are called as in the job; without a length they are as long as the log. A layer may
ask for 1 to 20 passes.
Holds are for: unload, re-seat, wedge log, wedge kerf, dog, knife on, knife off, measure, sweep, sharpen,
aid on, aid off; what is asked for at one hold is done in this order, however it is listed. `bunkside plan`
writes such a text; change it and hand it to `bunkside sequence`.
";

/// The example in it is read by a test.
const MOVES: &str = "\
A move sequence is a JSON file, whoever made it:

    {\"format\": \"bunkside-moves\", \"version\": 1, \"log\": \"G-04\", \"mill\": \"powered-165\", \"moves\": [
      {\"spin\": \"up\"},
      {\"swing\": \"flat\"},
      {\"go\": {\"travel_um\": 4700000, \"across_um\": 60000, \"height_um\": 180000}},
      {\"cut\": {\"travel_um\": 200000, \"speed_um_per_s\": 250000, \"feed\": \"climb\"}},
      {\"spin\": \"down\"},
      {\"hold\": [\"unload\"]}
    ]}

log and mill name what the moves were made for, and may be left out; where they are run on something else, that
is told. Lengths are whole micrometres. travel is where the blade's centre stands along the rails, from the
rails' zero mark outbound; across and height are the corner, where the two new faces of what remains
meet. An axis that is not named stays. Before move 0 the carriage stands parked, and a verdict rests on that: at the
least travel and across (the operator's end, drawn back to the entry side) and the greatest height of the profile, the
blade upright and at rest, knife and pull-back aid as the profile says; bring it there before a sequence runs. Moves are numbered from 0, cuts and pieces from 1. A cut may say
what its feed is held to be (climb or forward) and that it is meant to release columns (release). What a hold
names is a set: it is done in the order that `bunkside help cut-plan` gives, however it is listed. A sequence
holds at most 65535 moves.
";

/// What the tool is for, and its verbs.
#[must_use]
pub fn overview() -> String {
    let mut verbs = Table::new(&[("", Side::Left), ("", Side::Left)]);
    for verb in VERBS {
        verbs.row([usage(verb), verb.summary.to_owned()]);
    }
    let mut topics = Table::new(&[("", Side::Left), ("", Side::Left)]);
    for topic in TOPICS {
        topics.row([format!("help {}", topic.name), topic.summary.to_owned()]);
    }
    format!(
        "\
Bunkside turns a measured log and a board order into a cutting sequence for a swing-blade sawmill carriage,
and proves the sequence against interlock rules before anything moves.

usage: bunkside VERB ...

{}
{}
`bunkside help VERB` tells about one verb. `--version` tells the version.
Exit status: 0 good, 1 the rules refuse or the log cannot be planned, 2 bad input, 3 link or machine.

{}
",
        verbs.text(2),
        topics.text(2),
        CAUTION_LINES.join("\n")
    )
}

/// A verb with its operands.
fn usage(verb: &Verb) -> String {
    [&[verb.name], verb.operands].concat().join(" ")
}

/// All about one verb.
#[must_use]
pub fn verb_help(verb: &Verb) -> String {
    let mut options = Table::new(&[("", Side::Left), ("", Side::Left)]);
    for option in verb.options.iter().chain([&HELP_OPTION]) {
        let short = option
            .short
            .map(|letter| format!("-{letter}, "))
            .unwrap_or_default();
        let value = option.value.map(|value| format!(" {value}")).unwrap_or_default();
        options.row([
            format!("{short}--{}{value}", option.long),
            option.about.to_owned(),
        ]);
    }
    let examples: String = verb.examples.iter().map(|line| format!("  {line}\n")).collect();
    format!(
        "usage: bunkside {}\n\n{}\n\noptions:\n{}\nto try:\n{examples}",
        usage(verb),
        verb.about.trim_end(),
        options.text(2),
    )
}

/// The text of a topic.
#[must_use]
pub fn topic(name: &str) -> Option<String> {
    let topic = TOPICS.iter().find(|topic| topic.name == name)?;
    Some((topic.text)())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cut_plan;
    use crate::diagnostic::{Source, render_all};
    use crate::moves_json;
    use bunkside_protocol::Length;

    /// The indented block of a text.
    fn block(text: &str) -> String {
        let lines = text
            .lines()
            .skip_while(|line| !line.starts_with("    "))
            .take_while(|line| line.starts_with("    ") || line.is_empty());
        lines
            .map(|line| format!("{}\n", line.trim_start_matches("    ")))
            .collect()
    }

    #[test]
    fn the_example_of_a_cut_plan_is_one() {
        let source = Source::new("help", block(CUT_PLAN));
        let (document, said) = cut_plan::parse(&source);
        assert!(said.is_empty(), "{}", render_all(&source, &said));
        let (plan, said) = document.lower(&["deck".to_owned()], Length::mm(3_660));
        assert!(said.is_empty());
        assert_eq!(plan.unwrap().layers.len(), 3);
        for act in bunkside_protocol::Act::ALL {
            assert!(CUT_PLAN.contains(cut_plan::act_words(act)));
        }
    }

    #[test]
    fn the_example_of_moves_is_one() {
        let source = Source::new("help", block(MOVES));
        let (moves, said) = moves_json::read(&source);
        assert!(said.is_empty(), "{}", render_all(&source, &said));
        assert_eq!(moves.unwrap().len(), 6);
    }

    #[test]
    fn the_table_of_verbs_is_whole() {
        let mut names: Vec<&str> = VERBS.iter().map(|verb| verb.name).collect();
        names.extend(TOPICS.iter().map(|topic| topic.name));
        names.sort_unstable();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count, "a name stands for one thing");
        for verb in VERBS {
            assert!(!verb.summary.ends_with('.') && verb.about.trim_end().ends_with('.'));
            assert!(verb.examples.iter().all(|line| line.starts_with("bunkside ")));
            let mut letters: Vec<char> = verb.options.iter().filter_map(|option| option.short).collect();
            letters.sort_unstable();
            letters.dedup();
            let all = verb.options.iter().filter(|option| option.short.is_some());
            assert_eq!(letters.len(), all.count());
            for line in verb_help(verb).lines().chain(overview().lines()) {
                assert!(line.chars().count() <= 120, "{line}");
            }
        }
    }
}
