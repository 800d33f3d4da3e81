//! A comparison as people read it.
//!
//! In: a [`Comparison`]. Out: one text: what procedures share, then procedure by procedure, then cases, findings, and a summary.

use super::{Change, Comparison, Fate, FindingChange, ProcedureChange};
use crate::finding::Level;
use crate::report::escape;

/// Draws it.
pub fn render(comparison: &Comparison) -> String {
    let mut text = String::new();
    if comparison.is_empty() {
        text.push_str("no change in meaning\n");
    }
    if !comparison.shared.is_empty() {
        text.push_str("what procedures share\n");
        for row in &comparison.shared {
            let within =
                if row.procedures.is_empty() { String::new() } else { format!(" [{}]", row.procedures.join(", ")) };
            text.push_str(&format!("{}{}\n", line(&row.change), escape(&within)));
        }
        text.push('\n');
    }
    for procedure in &comparison.procedures {
        text.push_str(&one(procedure));
    }
    let findings = [("new", &comparison.gained), ("gone", &comparison.lost)];
    if findings.iter().any(|(_, list)| !list.is_empty()) {
        text.push_str(if comparison.is_empty() { "\nfindings\n" } else { "findings\n" });
        for (word, list) in findings {
            for finding in list.iter().filter(|f| f.level > Level::Note) {
                text.push_str(&format!("  {word:9} {}\n", found(finding)));
            }
        }
        if let Some(notes) = notes(comparison) {
            text.push_str(&format!("  {notes}\n"));
        }
        text.push('\n');
    }
    if !comparison.is_empty() || findings.iter().any(|(_, list)| !list.is_empty()) {
        text.push_str(&format!("{}\n", summary(comparison)));
    }
    text
}

fn line(change: &Change) -> String {
    format!("  {:9} {}", change.kind.name(), escape(&change.words()))
}

fn one(procedure: &ProcedureChange) -> String {
    let own: Vec<&Change> = procedure.changes.iter().filter(|c| !c.shared).chain(&procedure.minutes).collect();
    if own.is_empty() && procedure.cases.is_empty() && procedure.fate == Fate::Kept {
        return String::new();
    }
    let mut text = format!("{}{}\n", escape(&procedure.id), escape(&fate(&procedure.fate)));
    for change in own {
        text.push_str(&format!("{}\n", line(change)));
    }
    for case in &procedure.cases {
        let told = format!("{} (readings of the {} base): {} → {}", case.case, case.of, case.old, case.new);
        text.push_str(&format!("  {:9} {}\n", "case", escape(&told)));
    }
    text.push('\n');
    text
}

/// What stands behind a procedure's id.
pub fn fate(fate: &Fate) -> String {
    match fate {
        Fate::Kept => String::new(),
        Fate::Added => ": is new".into(),
        Fate::Removed => ": is gone".into(),
        Fate::Renamed(was) => format!(": was called {was}"),
        Fate::Unread("both") => ": can't be compared, its names don't resolve on either side".into(),
        Fate::Unread(side) => format!(": can't be compared, its names don't resolve in the {side} base"),
    }
}

fn found(finding: &FindingChange) -> String {
    let place = format!("{}:{}", escape(&finding.file), finding.line);
    format!("{}[{}] {place}: {}", finding.level.name(), finding.rule, escape(&finding.message))
}

/// Notes are counted: they are for the author's leisure.
pub fn notes(comparison: &Comparison) -> Option<String> {
    let of = |list: &[FindingChange]| list.iter().filter(|f| f.level == Level::Note).count();
    let (gained, lost) = (of(&comparison.gained), of(&comparison.lost));
    (gained + lost > 0).then(|| format!("and {} new, {lost} gone", count(gained, "note")))
}

/// `2 procedures changed, 1 is new; 1 case ends elsewhere; 1 finding is new, 2 are gone`.
pub fn summary(comparison: &Comparison) -> String {
    let of = |wanted: fn(&Fate) -> bool| comparison.procedures.iter().filter(|p| wanted(&p.fate)).count();
    let changed = of(|f| matches!(f, Fate::Kept | Fate::Renamed(_)));
    let counts = [
        (of(|f| *f == Fate::Added), "new"),
        (of(|f| *f == Fate::Removed), "gone"),
        (of(|f| matches!(f, Fate::Unread(_))), "not compared"),
    ];
    let mut text = format!("{} changed", count(changed, "procedure"));
    for (n, word) in counts.iter().filter(|(n, _)| *n > 0) {
        text.push_str(&format!(", {n} {word}"));
    }
    let cases = comparison.cases().count();
    if cases > 0 {
        text.push_str(&format!(
            "; {} elsewhere",
            if cases == 1 { "1 case ends".into() } else { format!("{cases} cases end") }
        ));
    }
    let (gained, lost) = (comparison.gained.len(), comparison.lost.len());
    if gained + lost > 0 {
        text.push_str(&format!("; {} new, {lost} gone", count(gained, "finding")));
    }
    text
}

fn count(n: usize, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}
