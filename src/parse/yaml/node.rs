//! The tree of a YAML file: texts, maps and lists, each with its place.
//!
//! In: nothing. Out: [`Node`]. A text is never typed: `yes`, `1e3` and `0451` stay what was typed.

use crate::source::{Span, Spanned};

/// How a text was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Without quotes.
    Plain,
    /// In single quotes.
    Single,
    /// In double quotes.
    Double,
    /// Under `|` or `>`.
    Block,
}

/// A text after YAML's own quoting and folding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scalar {
    /// The text.
    pub text: String,
    /// How it was written.
    pub style: Style,
}

/// One line of a map.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The key; its span holds the quotes, if it has any.
    pub key: Spanned<String>,
    /// What stands behind the colon.
    pub value: Node,
}

/// What a node is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Nothing stands where a value should: reported already.
    Empty,
    /// A text.
    Scalar(Scalar),
    /// Keys and values in the order of the file. A key that was written twice stands twice (reported already).
    Map(Vec<Entry>),
    /// Items in the order of the file.
    List(Vec<Node>),
}

/// A value and its place: from the first to the last entry, with the brackets or quotes if it has any.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Node {
    /// The bytes of the file that it stands on.
    pub span: Span,
    /// What it is.
    pub kind: Kind,
}

impl Node {
    /// The value under a key of a map: the first, if the key stands twice.
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entry(key).map(|e| &e.value)
    }

    /// The first entry of a map with this key.
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries().iter().find(|e| e.key.value == key)
    }

    /// The entries of a map; none for anything else.
    pub fn entries(&self) -> &[Entry] {
        match &self.kind {
            Kind::Map(entries) => entries,
            _ => &[],
        }
    }

    /// The text, if it is one.
    pub fn as_text(&self) -> Option<&str> {
        match &self.kind {
            Kind::Scalar(scalar) => Some(&scalar.text),
            _ => None,
        }
    }

    /// The text with its place, if it is one.
    pub fn spanned(&self) -> Option<Spanned<String>> {
        self.as_text().map(|t| Spanned::new(t.to_owned(), self.span))
    }

    /// The items: one item stands for a list of one, nothing for an empty list.
    pub fn as_list(&self) -> &[Node] {
        match &self.kind {
            Kind::List(items) => items,
            Kind::Empty => &[],
            _ => std::slice::from_ref(self),
        }
    }

    /// Whether nothing stands here, or at a place below (told).
    pub fn lacks_something(&self) -> bool {
        match &self.kind {
            Kind::Empty => true,
            Kind::Scalar(_) => false,
            Kind::Map(entries) => entries.iter().any(|e| e.value.lacks_something()),
            Kind::List(items) => items.iter().any(Node::lacks_something),
        }
    }

    /// Whether nothing stands here.
    pub fn is_empty(&self) -> bool {
        matches!(self.kind, Kind::Empty)
    }

    /// What it is, in plain words: `a text`, `a list`, `keys and values`, `nothing`.
    pub fn what(&self) -> &'static str {
        match self.kind {
            Kind::Empty => "nothing",
            Kind::Scalar(_) => "a text",
            Kind::Map(_) => "keys and values",
            Kind::List(_) => "a list",
        }
    }

    /// The place of a part of this text (byte offsets into the text). Where the text's bytes don't stand in the
    /// source as they are (escapes, folded lines), the whole text.
    pub fn part(&self, from: usize, to: usize) -> Span {
        let Kind::Scalar(scalar) = &self.kind else { return self.span };
        let written = (self.span.end - self.span.start) as usize;
        if written == scalar.text.len() {
            self.span.part(from, to)
        } else if written == scalar.text.len() + 2 && matches!(scalar.style, Style::Single | Style::Double) {
            self.span.part(from + 1, to + 1)
        } else {
            self.span
        }
    }
}
