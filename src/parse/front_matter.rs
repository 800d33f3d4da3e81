//! Front matter.

use std::ops::Range;

use super::problem::Problem;
use crate::source::{FileId, Span};

/// The two parts of a file.
#[derive(Debug)]
pub struct Split {
    /// The YAML.
    pub yaml: Option<Range<usize>>,
    /// The Markdown.
    pub body: Range<usize>,
    /// Faults.
    pub problems: Vec<Problem>,
}

/// Splits.
pub fn split(file: FileId, text: &str) -> Split {
    if !text.starts_with("---\n") {
        return Split {
            yaml: None,
            body: 0..text.len(),
            problems: vec![Problem::yaml(Span::new(file, 0, 0), "no front matter")],
        };
    }
    match text.find("\n---\n") {
        Some(end) => Split { yaml: Some(4..end + 1), body: end + 5..text.len(), problems: vec![] },
        None => Split {
            yaml: None,
            body: text.len()..text.len(),
            problems: vec![Problem::yaml(Span::new(file, 0, 3), "front matter is not closed")],
        },
    }
}
