//! The record of a review, as an edit.
//!
//! In: a procedure's front matter and who, when, of what. Out: the edit that writes `reviewed`, in one line.

use crate::finding::Edit;
use crate::parse::yaml::Node;
use crate::source::Span;

/// Replaces the record, or adds one as the last key of the front matter.
pub fn review(tree: &Node, text: &str, by: &str, on: &str, of: &str) -> Edit {
    let line = format!("reviewed: {{by: {}, on: {on}, of: {of}}}", quoted(by));
    if let Some(entry) = tree.entry("reviewed") {
        return Edit { span: entry.key.span.to(entry.value.span), text: line };
    }
    let file = tree.span.file;
    // The last line of the front matter ends before the closing `---`.
    let end = tree.span.end as usize;
    let at = text.get(end..).and_then(|rest| rest.find('\n')).map_or(text.len(), |i| end + i + 1);
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    Edit { span: Span::new(file, at, at), text: format!("{line}{newline}") }
}

/// Initials as YAML: `serde_yaml` knows when quotes are needed (`no`, `1e3`, `~`); in a flow map a comma or bracket needs them too.
fn quoted(text: &str) -> String {
    let plain = serde_yaml::to_string(text).map(|t| t.trim_end().to_owned()).unwrap_or_default();
    let flow = plain.starts_with(['\'', '"']) || !plain.contains([',', '[', ']', '{', '}', ':', '#']);
    if flow && !plain.contains('\n') {
        plain
    } else {
        format!("'{}'", text.replace('\'', "''").replace(['\r', '\n'], " "))
    }
}
