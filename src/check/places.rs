//! Places that several rules need.
//!
//! In: files and steps. Out: the first line of a file, a place within a step.

use crate::model::Step;
use crate::source::{FileId, Sources, Span};

/// The first line of a file that holds something.
pub fn first_line(sources: &Sources, file: FileId) -> Span {
    let text = sources.file(file).text();
    let start = text.len() - text.trim_start_matches('\u{feff}').trim_start().len();
    let line = text[start..].lines().next().unwrap_or("").trim_end();
    Span::new(file, start, start + line.len())
}

/// A place within the step: the wanted one if it stands in the procedure's file, else the step's key.
pub fn within(step: &Step, wanted: Span) -> Span {
    if wanted.file == step.place.key.file { wanted } else { step.place.key }
}
