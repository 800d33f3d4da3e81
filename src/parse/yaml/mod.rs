//! YAML, read for people who don't know it.
//!
//! In: text. Out: a tree with places, and problems.

mod node;
mod tree;

pub use node::{Entry, Kind, Node, Scalar, Style};

use super::problem::Problem;
use crate::source::{FileId, Span, Spanned};

/// Reads a text that begins `base` bytes into the file.
pub fn parse(file: FileId, text: &str, base: usize) -> (Option<Node>, Vec<Problem>) {
    match tree::build(text) {
        Ok(tree) => (tree.map(|t| place(file, base, t)), Vec::new()),
        Err(stop) => (
            None,
            vec![Problem::yaml(
                Span::new(file, base + stop.at, base + stop.at),
                format!("not YAML: {} {:?}", stop.info, stop.why),
            )],
        ),
    }
}

fn place(file: FileId, base: usize, tree: tree::Tree) -> Node {
    let range = tree.range();
    let span = Span::new(file, base + range.start, base + range.end);
    let kind = match tree {
        tree::Tree::Empty(_) => Kind::Empty,
        tree::Tree::Scalar(_, scalar) => Kind::Scalar(scalar),
        tree::Tree::Map(_, entries) => Kind::Map(
            entries
                .into_iter()
                .map(|(r, text, value)| Entry {
                    key: Spanned::new(text, Span::new(file, base + r.start, base + r.end)),
                    value: place(file, base, value),
                })
                .collect(),
        ),
        tree::Tree::List(_, items) => Kind::List(items.into_iter().map(|t| place(file, base, t)).collect()),
    };
    Node { span, kind }
}
