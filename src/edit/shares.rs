//! New shares for the causes of a procedure, as edits.
//!
//! In: a procedure's front matter and a share for each cause, in parts of 100. Out: one edit per cause; formatting stays.

use crate::finding::Edit;
use crate::parse::yaml::{Kind, Node};
use crate::source::Span;

/// Replaces each `share`, or adds one as the first key of its cause.
pub fn shares(tree: &Node, text: &str, new: &[(String, String)]) -> Vec<Edit> {
    let Some(causes) = tree.get("causes") else { return Vec::new() };
    new.iter().filter_map(|(id, share)| one(causes.get(id)?, text, share)).collect()
}

fn one(cause: &Node, text: &str, share: &str) -> Option<Edit> {
    if !matches!(cause.kind, Kind::Map(_)) {
        return None;
    }
    if let Some(old) = cause.get("share") {
        return Some(Edit { span: old.span, text: share.to_owned() });
    }
    let first = cause.entries().first()?.key.span;
    let at = first.start as usize;
    let line = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let indent = &text[line..at];
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let new =
        if indent.trim().is_empty() { format!("share: {share}{newline}{indent}") } else { format!("share: {share}, ") };
    Some(Edit { span: Span::new(first.file, at, at), text: new })
}
