//! A file with front matter and a Markdown body.
//!
//! In: a file's text, and whether its kind can do without front matter. Out: a [`Page`]: the tree (nothing where it could
//! not be read), the body, and findings.

use super::front_matter;
use super::keys::Keys;
use super::markdown::{self, Body};
use super::problem::Problem;
use super::yaml::{self, Kind, Node};
use crate::finding::Finding;
use crate::source::{FileId, SourceFile, Span};

/// A file with front matter.
#[derive(Debug)]
pub struct Page {
    /// The front matter, where it could be read; no keys where it is empty and may be.
    pub tree: Option<Node>,
    /// The Markdown.
    pub body: Body,
}

/// Reads a file with front matter that holds these keys.
pub fn read(id: FileId, file: &SourceFile, keys: &Keys, out: &mut Vec<Finding>) -> Page {
    let text = file.text();
    let split = front_matter::split(id, text);
    let body = split.body.clone();
    out.extend(split.too_long.into_iter().map(super::problem_finding));
    let no_keys = |at: usize| Some(Node { span: Span::new(id, at, at), kind: Kind::Map(Vec::new()) });
    let tree = if keys.needs_none() && split.none_meant {
        no_keys(body.start)
    } else {
        out.extend(split.problems.into_iter().map(super::problem_finding));
        split.yaml.and_then(|range| {
            let (tree, problems) = yaml::parse(id, &text[range.clone()], range.start);
            let nothing = tree.is_none() && problems.is_empty();
            out.extend(problems.into_iter().map(super::problem_finding));
            if nothing && keys.needs_none() {
                return no_keys(range.start);
            }
            if nothing {
                out.push(super::problem_finding(empty(id, text, range.start, keys)));
            }
            tree
        })
    };
    Page { tree, body: markdown::parse(id, text, body) }
}

/// Nothing but comments stands between the two lines `---`.
fn empty(id: FileId, text: &str, start: usize, keys: &Keys) -> Problem {
    let top = text.len() - text.trim_start_matches('\u{feff}').len();
    let opening = Span::new(id, top, top + text[top..start].trim_end().len());
    let names: Vec<&str> = keys.keys.iter().filter(|k| k.required).map(|k| k.name).collect();
    let names = if names.is_empty() { keys.keys.iter().map(|k| k.name).collect() } else { names };
    Problem::yaml(opening, format!("expected the keys of {} in the front matter, found nothing", keys.of))
        .help(format!("keys of {}: {}", keys.of, names.join(", ")))
}

/// Reads a file that is YAML throughout.
pub fn table(id: FileId, file: &SourceFile, out: &mut Vec<Finding>) -> Option<Node> {
    let (tree, problems) = yaml::parse(id, file.text(), 0);
    out.extend(problems.into_iter().map(super::problem_finding));
    tree
}
