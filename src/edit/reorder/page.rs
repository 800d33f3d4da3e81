//! The page around the new steps.
//!
//! In: the old text, the new block of steps. Out: the new text: the review and what is allowed for nothing are gone, the words of each step
//! stand at each of its places, those of steps that are no more are gone too.

use super::Trims;
use super::plan::Laid;
use crate::edit::apply;
use crate::finding::Edit;
use crate::model::Procedure;
use crate::parse::yaml::{Entry, Node};
use crate::source::Span;

/// What may be told of an order that is as good as can be, each with the reason why it is allowed.
const REASONS: [(&str, &str); 3] = [
    ("never-found", "In this order the readings that end in normal are not taken."),
    ("no-news", "A test that has one result here is taken since a later step must come after it."),
    ("slow-order", "Written as the best order: a test in several places counts as several tests."),
];

/// The rows of `allow` that are new.
fn allowed(trims: &Trims) -> Vec<String> {
    let wanted = REASONS.iter().filter(|(rule, _)| trims.allow.contains(rule));
    wanted.map(|(rule, why)| format!("{rule}: \"{why}\"")).collect()
}

/// Writes it.
pub fn page(
    procedure: &Procedure,
    text: &str,
    tree: &Node,
    laid: &Laid,
    trims: &Trims,
    steps: &str,
    mut edits: Vec<Edit>,
) -> Result<String, String> {
    let more = allowed(trims);
    let block = if more.is_empty() { String::new() } else { format!("allow: {{{}}}\n", more.join(", ")) };
    for entry in tree.entries() {
        match entry.key.value.as_str() {
            "steps" => edits.push(Edit {
                span: Span { end: full_line(text, entry.value.span.end as usize), ..entry.key.span },
                text: if tree.entry("allow").is_none() { format!("{block}{steps}") } else { steps.to_owned() },
            }),
            "reviewed" => edits.push(gone(text, entry)),
            "allow" => {
                let idle = |e: &&Entry| trims.allowances.contains(&e.key.value);
                if entry.value.entries().iter().all(|e| idle(&e)) {
                    edits.push(Edit { text: block.clone(), ..gone(text, entry) });
                } else {
                    edits.extend(entry.value.entries().iter().filter(idle).map(|e| gone(text, e)));
                    let kept = entry.value.entries().iter().find(|e| !idle(e)).filter(|_| !more.is_empty());
                    edits.extend(kept.map(|e| before(text, e, &more)));
                }
            }
            _ => {}
        }
    }
    for section in &procedure.sections {
        let Some(id) = &section.id else { continue };
        let Some(step) = procedure.steps.find(&id.value) else { continue };
        let ids: Vec<&str> = laid.places(step).map(|(_, id)| id).collect();
        let whole = Span { end: section.content.end, ..section.heading };
        if ids.is_empty() {
            // what a link leads to stays
            if !text.contains(&format!("#{})", id.value)) {
                edits.push(Edit { span: whole, text: String::new() });
            }
            continue;
        }
        let words = &text[whole.start as usize..whole.end as usize];
        let (from, to) = ((id.span.start - whole.start) as usize, (id.span.end - whole.start) as usize);
        let again: String =
            ids.iter().filter(|other| **other != id.value).map(|other| again(words, from, to, other)).collect();
        if !again.is_empty() {
            let gap = if words.ends_with("\n\n") {
                ""
            } else if words.ends_with('\n') {
                "\n"
            } else {
                "\n\n"
            };
            edits.push(Edit { span: Span { start: whole.end, ..whole }, text: format!("{gap}{again}") });
        }
    }
    apply(text, &edits).map_err(|_| "its front matter and its words can't be told apart".to_owned())
}

/// The words of a step once more, under another id.
fn again(words: &str, from: usize, to: usize, id: &str) -> String {
    let brace = words[..from].rfind('{').unwrap_or(from);
    let title = words[..brace].trim_end();
    let rest = words[to..].trim_end();
    format!("{title} (again) {}{id}{rest}\n\n", &words[brace..from])
}

/// Takes an entry out, with its whole lines where it has them.
fn gone(text: &str, entry: &Entry) -> Edit {
    let from = entry.key.span.start as usize;
    let line = text[..from].rfind('\n').map_or(0, |at| at + 1);
    let alone = text[line..from].trim().is_empty();
    let end = full_line(text, entry.value.span.end as usize);
    let start = if alone { line } else { from };
    Edit { span: Span { start: start as u32, end, ..entry.key.span }, text: String::new() }
}

/// Puts rows before an entry: on lines of their own where the entry has one.
fn before(text: &str, entry: &Entry, rows: &[String]) -> Edit {
    let from = entry.key.span.start as usize;
    let lead = &text[text[..from].rfind('\n').map_or(0, |at| at + 1)..from];
    let gap = if lead.trim().is_empty() { format!("\n{lead}") } else { ", ".to_owned() };
    let text = rows.iter().map(|row| format!("{row}{gap}")).collect();
    Edit { span: Span { end: from as u32, ..entry.key.span }, text }
}

/// The end of the line on which a place is, its line break included; the place itself where more stands behind it.
fn full_line(text: &str, at: usize) -> u32 {
    let rest = &text[at..];
    let line = rest.find('\n').map_or(rest.len(), |end| end + 1);
    let behind = rest[..line].trim();
    (if behind.is_empty() || behind.starts_with('#') { at + line } else { at }) as u32
}
