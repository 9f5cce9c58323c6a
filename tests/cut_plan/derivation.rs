//! Sentences drawn from the grammar page itself: what the page allows, the reader takes.

use std::collections::BTreeMap;

use bunkside::cut_plan::{Statement, parse};
use bunkside::diagnostic::Source;

use crate::dice::Dice;

/// What stands on the right of a rule.
#[derive(Debug)]
enum Form {
    /// A word as it is written.
    Word(String),
    /// Another rule.
    Rule(String),
    /// One of these.
    Either(Vec<Self>),
    /// All of these, one after the other.
    Row(Vec<Self>),
    /// It, or nothing.
    Maybe(Box<Self>),
    /// It any number of times.
    Often(Box<Self>),
}

/// The rules whose right sides are forms; the others are prose, and stand for a word that [`Drawing`] makes up.
const RULES: [&str; 9] = [
    "line", "plan", "hold", "layer", "slab", "column", "board", "pair", "act",
];

fn rules() -> BTreeMap<String, Form> {
    let page = include_str!("../../src/cut_plan/GRAMMAR.md");
    let (_, grammar) = super::fenced(page, &["ebnf"])[0];
    let mut found = BTreeMap::new();
    for rule in grammar.split(" ;\n") {
        let Some((name, right)) = rule.split_once('=') else {
            continue;
        };
        if RULES.contains(&name.trim()) {
            let spaced = ["[", "]", "{", "}", "(", ")", "|"]
                .iter()
                .fold(right.to_owned(), |text, mark| {
                    text.replace(mark, &format!(" {mark} "))
                });
            let mut tokens: Vec<&str> = spaced.split_whitespace().rev().collect();
            found.insert(name.trim().to_owned(), either(&mut tokens));
            assert!(tokens.is_empty(), "{name} is left with {tokens:?}");
        }
    }
    found
}

fn either(tokens: &mut Vec<&str>) -> Form {
    let mut ways = vec![row(tokens)];
    while tokens.last() == Some(&"|") {
        tokens.pop();
        ways.push(row(tokens));
    }
    Form::Either(ways)
}

fn row(tokens: &mut Vec<&str>) -> Form {
    let mut row = Vec::new();
    while let Some(token) = tokens.pop() {
        let form = match token {
            "[" => Form::Maybe(Box::new(inside(tokens, "]"))),
            "{" => Form::Often(Box::new(inside(tokens, "}"))),
            "(" => inside(tokens, ")"),
            "|" | "]" | "}" | ")" => {
                tokens.push(token);
                break;
            }
            word if word.starts_with('"') => Form::Word(word.trim_matches('"').to_owned()),
            rule => Form::Rule(rule.to_owned()),
        };
        row.push(form);
    }
    Form::Row(row)
}

fn inside(tokens: &mut Vec<&str>, close: &str) -> Form {
    let form = either(tokens);
    assert_eq!(tokens.pop(), Some(close));
    form
}

struct Drawing<'a> {
    rules: &'a BTreeMap<String, Form>,
    dice: Dice,
}

impl Drawing<'_> {
    fn draw(&mut self, form: &Form, out: &mut Vec<String>) {
        match form {
            Form::Word(word) => out.push(word.clone()),
            Form::Rule(name) => match self.rules.get(name) {
                Some(form) => self.draw(form, out),
                None => out.push(self.made_up(name)),
            },
            Form::Either(ways) => {
                let way = self.dice.below(ways.len() as u64);
                self.draw(&ways[usize::try_from(way).unwrap()], out);
            }
            Form::Row(row) => row.iter().for_each(|form| self.draw(form, out)),
            Form::Maybe(form) => {
                if self.dice.once_in(2) {
                    self.draw(form, out);
                }
            }
            Form::Often(form) => {
                while self.dice.once_in(2) {
                    self.draw(form, out);
                }
            }
        }
    }

    fn made_up(&mut self, rule: &str) -> String {
        let ways: &[&str] = match rule {
            "name" => &["\"deck\"", r#""\"\\\u{e9}""#, "\"take # to\""],
            "length" => &["187.5 mm", "3.6 m", "5 1/2 in", "12 ft 6 in", "1'", "9mm"],
            "count" => &["1", "20"],
            "comment" => &["#", "# to edge"],
            other => panic!("the page says nothing of `{other}`"),
        };
        self.dice.pick(ways).to_owned()
    }
}

#[test]
fn every_line_that_the_page_allows_is_read() {
    let rules = rules();
    assert_eq!(rules.len(), RULES.len());
    let mut drawing = Drawing {
        rules: &rules,
        dice: Dice::new(1),
    };
    let mut kinds = [0; 6];
    for _ in 0..5_000 {
        let mut words = Vec::new();
        drawing.draw(&rules["line"], &mut words);
        let text = words.join(" ");
        let (document, diagnostics) = parse(&Source::new("d.cut", text.clone()));
        assert_eq!(document.to_text(), text);
        let kind = match document.statements().next() {
            Some(Statement::Broken(_)) => panic!("{text}\n{diagnostics:?}"),
            None => 0,
            Some(Statement::Plan(_)) => 1,
            Some(Statement::Hold(_)) => 2,
            Some(Statement::Layer(_)) => 3,
            Some(Statement::Slab(_)) => 4,
            Some(Statement::Column(_)) => 5,
        };
        kinds[kind] += 1;
    }
    assert!(
        kinds.iter().all(|count| *count > 100),
        "some kind of line was never drawn: {kinds:?}"
    );
}
