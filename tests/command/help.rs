//! Help and rules.

use bunkside::cli::{TOPICS, VERBS};
use bunkside::command::Exit;
use bunkside_planner::rules::RULES;

use super::{fails, folder, quiet};

#[test]
fn help_teaches() {
    let folder = folder("help");
    insta::assert_snapshot!("help", quiet(&folder, "help", Exit::Good));
    assert_eq!(
        quiet(&folder, "--help", Exit::Good),
        quiet(&folder, "help", Exit::Good)
    );
    insta::assert_snapshot!("help-plan", quiet(&folder, "help plan", Exit::Good));
    for verb in VERBS {
        let text = quiet(&folder, &format!("help {}", verb.name), Exit::Good);
        assert_eq!(quiet(&folder, &format!("{} --help", verb.name), Exit::Good), text);
    }
    for topic in TOPICS {
        assert!(quiet(&folder, &format!("help {}", topic.name), Exit::Good).len() > 500);
    }
    for (topic, key) in [("job", "log.small_end"), ("mill", "reach.flat.cover")] {
        let text = quiet(&folder, &format!("help {topic}"), Exit::Good);
        assert!(text.contains(&format!("\n{key}\n")), "{key}");
    }
    let one = quiet(&folder, "help job end_trim", Exit::Good);
    assert!(
        one.starts_with("log.end_trim\n    a length, ") && one.contains(" if left out\n"),
        "{one}"
    );
    assert_eq!(one, quiet(&folder, "help job log.end_trim", Exit::Good));
    let said = fails(&folder, "help job log.end_trimm", Exit::BadInput);
    assert!(said.contains("did you mean `log.end_trim`?"), "{said}");
    assert!(quiet(&folder, "--version", Exit::Good).starts_with("bunkside 0."));
}

#[test]
fn rules_tell_why() {
    let folder = folder("rules-text");
    let all = quiet(&folder, "rules", Exit::Good);
    for rule in RULES {
        let one = quiet(&folder, &format!("rules {}", rule.id), Exit::Good);
        assert!(all.contains(&one) && one.contains(rule.reason));
    }
    let words = quiet(&folder, "rules flat-first", Exit::Good);
    assert!(
        words.contains("but:   two columns or more that one flat stroke frees"),
        "{words}"
    );
    insta::assert_snapshot!("rule", quiet(&folder, "rules reach", Exit::Good));
}
