//! YAML, read for people who don't know it.
//!
//! In: text. Out: a tree with places, and problems. [`plain`] reads what people mostly write. Anything else `saphyr-parser`
//! reads: before, [`scan`] looks for what people type that YAML would refuse in its own words; afterwards, [`after`] for what
//! it reads silently as something else.

mod after;
mod flow;
mod node;
mod plain;
mod scan;
mod stop;
mod tree;

pub use node::{Entry, Kind, Node, Scalar, Style};

use super::problem::{Problem, Problems};
use crate::source::FileId;
use scan::Place;

/// Reads a text that begins `base` bytes into the file. No tree and no problem: nothing stands in it but comments.
pub fn parse(file: FileId, text: &str, base: usize) -> (Option<Node>, Vec<Problem>) {
    let (text, base) = match text.strip_prefix('\u{feff}') {
        Some(rest) => (rest, base + '\u{feff}'.len_utf8()),
        None => (text, base),
    };
    let place = Place { file, text, base };
    match plain::read(place) {
        Some(node) => (Some(node), Vec::new()),
        None => any(place),
    }
}

/// Reads a text that may hold anything.
fn any(place: Place<'_>) -> (Option<Node>, Vec<Problem>) {
    if let Some(problem) = stop::unreadable(place) {
        return (None, vec![problem]);
    }
    let mut problems = scan::scan(place);
    match tree::build(place) {
        Ok(node) => {
            if let Some(node) = &node {
                after::check(place, node, &mut problems);
            }
            (node, tidy(place, problems))
        }
        Err(stop) => {
            // What the scan found is why the library stopped.
            if problems.is_empty() {
                problems.push(stop::explain(place, &stop));
            }
            (None, tidy(place, problems))
        }
    }
}

/// In the order of the text. A carriage return alone ends a line to YAML and to nobody else: in a text that holds one nothing is
/// mended.
fn tidy(place: Place<'_>, problems: Problems) -> Vec<Problem> {
    let mut problems = problems.tidy();
    let bytes = place.text.as_bytes();
    if memchr::memchr_iter(b'\r', bytes).any(|at| bytes.get(at + 1) != Some(&b'\n')) {
        for problem in &mut problems {
            problem.mend = None;
        }
    }
    problems
}
