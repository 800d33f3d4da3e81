//! A comparison as a review comment.
//!
//! In: a [`Comparison`]. Out: Markdown with tables (GitHub's flavour). Author text can neither end a cell nor a table, nor become a link,
//! a mention, a heading or HTML.

use super::text::{fate, notes, summary};
use super::{Change, Comparison, Fate, FindingChange, ProcedureChange};
use crate::finding::Level;

/// Draws it.
pub fn render(comparison: &Comparison) -> String {
    let (old, new) = (&comparison.names.0, &comparison.names.1);
    let mut text = format!("### What changed in meaning, {} to {}\n\n", cell(old), cell(new));
    let findings = [("new", &comparison.gained), ("gone", &comparison.lost)];
    if comparison.is_empty() {
        text.push_str("No change in meaning.\n");
    } else {
        text.push_str(&format!("{}\n", cell(&summary(comparison))));
    }
    if !comparison.shared.is_empty() {
        text.push_str("\n#### What procedures share\n\n| | what | was | now | vehicles | procedures |\n| --- | --- | --- | --- | --- | --- |\n");
        for row in &comparison.shared {
            text.push_str(&format!("{} {} |\n", line(&row.change), cell(&row.procedures.join(", "))));
        }
    }
    for procedure in &comparison.procedures {
        text.push_str(&one(procedure));
    }
    if findings.iter().any(|(_, list)| !list.is_empty()) {
        text.push_str("\n#### Findings\n\n| | rule | where | what |\n| --- | --- | --- | --- |\n");
        let told =
            |list: &'_ [FindingChange]| list.iter().filter(|f| f.level > Level::Note).cloned().collect::<Vec<_>>();
        for (word, f) in findings.iter().flat_map(|(word, list)| told(list).into_iter().map(move |f| (word, f))) {
            let place = cell(&format!("{}:{}", f.file, f.line));
            let rule = cell(&format!("{}[{}]", f.level.name(), f.rule));
            text.push_str(&format!("| {word} | {rule} | {place} | {} |\n", cell(&f.message)));
        }
        if let Some(notes) = notes(comparison) {
            text.push_str(&format!("\n{notes}\n"));
        }
    }
    text
}

fn line(change: &Change) -> String {
    let side = |text: &Option<String>| text.as_deref().map(cell).unwrap_or_default();
    format!(
        "| {} | {} | {} | {} | {} |",
        change.kind.name(),
        cell(&change.subject),
        side(&change.old),
        match (&change.old, &change.new) {
            (None, Some(new)) if new.is_empty() => "new".to_owned(),
            (None, new) => format!("new: {}", side(new)),
            (Some(_), None) => "gone".to_owned(),
            (_, new) => side(new),
        },
        cell(&change.vehicles.join(", "))
    )
}

fn one(procedure: &ProcedureChange) -> String {
    let own: Vec<&Change> = procedure.changes.iter().filter(|c| !c.shared).chain(&procedure.minutes).collect();
    if own.is_empty() && procedure.cases.is_empty() && procedure.fate == Fate::Kept {
        return String::new();
    }
    let mut text = format!("\n#### {}{}\n", cell(&procedure.id), cell(&fate(&procedure.fate)));
    if !own.is_empty() {
        text.push_str("\n| | what | was | now | vehicles |\n| --- | --- | --- | --- | --- |\n");
        for change in own {
            text.push_str(&format!("{}\n", line(change)));
        }
    }
    if !procedure.cases.is_empty() {
        text.push_str("\n| case | readings of | ended | ends |\n| --- | --- | --- | --- |\n");
        for c in &procedure.cases {
            let (case, old, new) = (cell(&c.case), cell(&c.old), cell(&c.new));
            text.push_str(&format!("| {case} | the {} base | {old} | {new} |\n", c.of));
        }
    }
    text
}

/// Author text in a cell.
fn cell(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in crate::report::escape(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            // A backslash does not keep these from being a mention or the number of an issue.
            '@' => out.push_str("&#64;"),
            '#' => out.push_str("&#35;"),
            '\\' | '|' | '`' | '*' | '_' | '[' | ']' | '~' | '$' | '!' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    // A bare address would become a link.
    out.replace("://", ":&#47;&#47;").replace("www.", "www&#46;")
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn author_text_stays_text() {
        assert_eq!(cell("a | b\n`c` <b> @me #1"), "a \\| b \\`c\\` &lt;b&gt; &#64;me &#35;1");
        assert_eq!(cell("[x](https://y)"), "\\[x\\](https:&#47;&#47;y)");
    }
}
