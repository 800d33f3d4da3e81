//! YAML, read for people who don't know it.
//!
//! In: text. Out: a tree with places, and problems. [`plain`] reads what people mostly write. Anything else `saphyr-parser`
//! reads: before, [`scan`] looks for what people type that YAML would refuse in its own words; afterwards, [`after`] for what
//! it reads silently as something else, and [`told`] for what would only follow from that.

mod after;
mod flow;
mod node;
mod plain;
mod scan;
mod stop;
mod told;
mod tree;

pub use node::{Entry, Kind, Node, Scalar, Style};

use super::problem::{Problem, Problems};
use crate::source::{FileId, Span};
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
            let mut problems = tidy(place, problems);
            if let Some(node) = &node {
                told::hide(node, &mut problems);
            }
            stay_readable(place, &mut problems);
            (node, problems)
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

/// So many bytes are read to try mends, at most.
const TRIED: usize = 16 << 20;

/// A text that can be read stays one that can be: a mend that would break it, alone or beside those before it, is not offered, nor one
/// that was not tried.
fn stay_readable(place: Place<'_>, problems: &mut [Problem]) {
    let mut left = TRIED;
    let mut kept: Vec<(Span, String)> = Vec::new();
    for problem in problems {
        let Some((_, edits)) = &problem.mend else { continue };
        let is_tried = 2 * place.text.len() <= left;
        left = left.saturating_sub(2 * place.text.len());
        if !is_tried || !is_read(place, edits) {
            problem.mend = None;
            continue;
        }
        // of two that want one place the later has its turn when the text is read again
        let touches = |(span, _): &(Span, String)| {
            edits.iter().any(|(other, _)| span.start <= other.end && other.start <= span.end)
        };
        if kept.iter().any(touches) {
            continue;
        }
        let before = kept.len();
        kept.extend(edits.iter().cloned());
        if !is_read(place, &kept) {
            kept.truncate(before);
            problem.mend = None;
        }
    }
}

/// Whether the text can be read with these replacements, none of which touches another.
fn is_read(place: Place<'_>, edits: &[(Span, String)]) -> bool {
    let mut edits: Vec<_> = edits.iter().collect();
    edits.sort();
    let mut text = place.text.to_owned();
    for (span, new) in edits.into_iter().rev() {
        text.replace_range(span.start as usize - place.base..span.end as usize - place.base, new);
    }
    let mended = Place { text: &text, ..place };
    stop::unreadable(mended).is_none() && tree::build(mended).is_ok()
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
