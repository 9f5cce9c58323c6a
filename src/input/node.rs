//! What was read from a file, every value with its place.

use bunkside_protocol::{Length, Millis, Position, Speed};

use crate::diagnostic::Span;

/// A value with its place in the file.
#[derive(Clone, Debug)]
pub struct Node {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub value: Value,
}

/// A value that fits its shape.
#[derive(Clone, Debug)]
pub enum Value {
    /// A measurement in base units, a number in thousandths, or a count.
    Whole(i64),
    /// A text.
    Text(String),
    /// One of the words of its shape.
    Word(&'static str),
    /// Yes or no.
    Flag(bool),
    /// A table: the keys that were written or stand by default.
    Table(Vec<(&'static str, Node)>),
    /// A list; none for an item that could not be read.
    List(Vec<Option<Node>>),
    /// Something that did not fit its shape; a diagnostic says why.
    Faulty,
}

impl Node {
    /// The value at a dotted path of keys; none where it is left out.
    #[must_use]
    pub fn get(&self, path: &str) -> Option<&Self> {
        path.split('.').try_fold(self, |node, name| match &node.value {
            Value::Table(fields) => fields.iter().find(|field| field.0 == name).map(|field| &field.1),
            _ => None,
        })
    }

    /// The number that this is.
    #[must_use]
    pub const fn whole(&self) -> Option<i64> {
        match self.value {
            Value::Whole(number) => Some(number),
            _ => None,
        }
    }

    /// The length that this is.
    #[must_use]
    pub fn as_length(&self) -> Option<Length> {
        self.whole().map(Length::um)
    }

    /// The place that this is.
    #[must_use]
    pub fn as_position(&self) -> Option<Position> {
        self.whole().map(Position::um)
    }

    /// The number at a path, in any type that can hold it.
    #[must_use]
    pub fn number<T: TryFrom<i64>>(&self, path: &str) -> Option<T> {
        self.get(path)?
            .whole()
            .and_then(|number| T::try_from(number).ok())
    }

    /// The length at a path.
    #[must_use]
    pub fn length(&self, path: &str) -> Option<Length> {
        self.get(path)?.as_length()
    }

    /// The place at a path.
    #[must_use]
    pub fn position(&self, path: &str) -> Option<Position> {
        self.get(path)?.as_position()
    }

    /// The time at a path.
    #[must_use]
    pub fn millis(&self, path: &str) -> Option<Millis> {
        self.number(path).map(Millis::new)
    }

    /// The speed at a path.
    #[must_use]
    pub fn speed(&self, path: &str) -> Option<Speed> {
        self.number(path).map(Speed::um_per_s)
    }

    /// The word at a path.
    #[must_use]
    pub fn word(&self, path: &str) -> Option<&'static str> {
        match self.get(path)?.value {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The text at a path.
    #[must_use]
    pub fn text(&self, path: &str) -> Option<&str> {
        match &self.get(path)?.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The flag at a path.
    #[must_use]
    pub fn flag(&self, path: &str) -> Option<bool> {
        match self.get(path)?.value {
            Value::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// The items of the list at a path that could be read.
    pub fn items(&self, path: &str) -> impl Iterator<Item = &Self> {
        let items: &[Option<Self>] = match self.get(path).map(|node| &node.value) {
            Some(Value::List(items)) => items,
            _ => &[],
        };
        items.iter().flatten()
    }

    /// The items of this list, if all could be read.
    #[must_use]
    pub fn all(&self) -> Option<Vec<&Self>> {
        match &self.value {
            Value::List(items) => items.iter().map(Option::as_ref).collect(),
            _ => None,
        }
    }
}
