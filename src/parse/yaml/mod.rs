//! YAML, read for people who don't know it.
//!
//! In: text. Out: a tree with places, and problems. `saphyr-parser` reads it; before, [`scan`] looks for what people type that YAML
//! would refuse in its own words; afterwards, [`after`] for what it reads silently as something else.

mod after;
mod flow;
mod node;
mod scan;
mod stop;
mod tree;

pub use node::{Entry, Kind, Node, Scalar, Style};

use super::problem::Problem;
use crate::source::{FileId, Span, Spanned};
use scan::Place;

/// Reads a text that begins `base` bytes into the file. No tree and no problem: nothing stands in it but comments.
pub fn parse(file: FileId, text: &str, base: usize) -> (Option<Node>, Vec<Problem>) {
    let (text, base) = match text.strip_prefix('\u{feff}') {
        Some(rest) => (rest, base + '\u{feff}'.len_utf8()),
        None => (text, base),
    };
    let place = Place { file, text, base };
    if let Some(problem) = stop::unreadable(place) {
        return (None, vec![problem]);
    }
    let mut problems = scan::scan(place);
    match tree::build(text) {
        Ok(tree) => {
            let node = tree.map(|t| placed(file, base, t));
            if let Some(node) = &node {
                after::check(place, node, &mut problems);
            }
            tidy(&mut problems);
            (node, problems)
        }
        Err(stop) => {
            // What the scan found is why the library stopped.
            if problems.is_empty() {
                problems.push(stop::explain(place, &stop));
            }
            tidy(&mut problems);
            (None, problems)
        }
    }
}

/// In the order of the text; one fault told in two ways is told once.
fn tidy(problems: &mut Vec<Problem>) {
    problems.sort_by_key(|p| (p.span.start, p.span.end));
    let mut last: Option<Span> = None;
    problems.retain(|p| {
        let covered = last.is_some_and(|l| p.span.start < l.end || p.span == l);
        if !covered {
            last = Some(p.span);
        }
        !covered
    });
}

fn placed(file: FileId, base: usize, tree: tree::Tree) -> Node {
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
                    value: placed(file, base, value),
                })
                .collect(),
        ),
        tree::Tree::List(_, items) => Kind::List(items.into_iter().map(|t| placed(file, base, t)).collect()),
    };
    Node { span, kind }
}
