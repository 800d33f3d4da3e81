//! A file with front matter and a Markdown body.
//!
//! In: a file's text. Out: a [`Page`]: the tree (nothing where it could not be read), the body, and findings.

use super::front_matter;
use super::markdown::{self, Body};
use super::yaml::{self, Node};
use crate::finding::Finding;
use crate::source::{FileId, SourceFile};

/// A file with front matter.
#[derive(Debug)]
pub struct Page {
    /// The front matter, where it could be read.
    pub tree: Option<Node>,
    /// The Markdown.
    pub body: Body,
}

/// Reads a file with front matter.
pub fn read(id: FileId, file: &SourceFile, out: &mut Vec<Finding>) -> Page {
    let split = front_matter::split(id, file.text());
    out.extend(split.problems.into_iter().map(super::problem_finding));
    let tree = split.yaml.and_then(|range| {
        let (tree, problems) = yaml::parse(id, &file.text()[range.clone()], range.start);
        out.extend(problems.into_iter().map(super::problem_finding));
        tree
    });
    Page { tree, body: markdown::parse(id, file.text(), split.body) }
}

/// Reads a file that is YAML throughout.
pub fn table(id: FileId, file: &SourceFile, out: &mut Vec<Finding>) -> Option<Node> {
    let (tree, problems) = yaml::parse(id, file.text(), 0);
    out.extend(problems.into_iter().map(super::problem_finding));
    tree
}
