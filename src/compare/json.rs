//! A comparison for programs.
//!
//! In: a [`Comparison`]. Out: one JSON object; its shape stands in the README.

use serde_json::{Value, json};

use super::{CaseChange, Change, Comparison, Fate, FindingChange, ProcedureChange};

/// The whole comparison.
pub fn render(comparison: &Comparison) -> String {
    let shared: Vec<Value> = comparison
        .shared
        .iter()
        .map(|row| {
            let mut value = change(&row.change);
            value["procedures"] = json!(row.procedures);
            value
        })
        .collect();
    let value = json!({
        "tool": {"name": "ruleout", "version": env!("CARGO_PKG_VERSION")},
        "old": comparison.names.0,
        "new": comparison.names.1,
        "same_meaning": comparison.is_empty(),
        "shared": shared,
        "procedures": comparison.procedures.iter().map(procedure).collect::<Vec<_>>(),
        "findings": {
            "gained": comparison.gained.iter().map(finding).collect::<Vec<_>>(),
            "lost": comparison.lost.iter().map(finding).collect::<Vec<_>>(),
        },
    });
    format!("{value:#}\n")
}

fn procedure(row: &ProcedureChange) -> Value {
    let (fate, was) = match &row.fate {
        Fate::Kept => ("changed", None),
        Fate::Added => ("added", None),
        Fate::Removed => ("removed", None),
        Fate::Renamed(was) => ("renamed", Some(was)),
        Fate::Unread(_) => ("not compared", None),
    };
    let mut value = json!({
        "procedure": row.id,
        "fate": fate,
        "changes": row.changes.iter().chain(&row.minutes).map(change).collect::<Vec<_>>(),
        "cases": row.cases.iter().map(case).collect::<Vec<_>>(),
    });
    if let Some(was) = was {
        value["was"] = json!(was);
    }
    if let Fate::Unread(side) = row.fate {
        value["unread"] = json!(side);
    }
    value
}

fn change(change: &Change) -> Value {
    json!({
        "kind": change.kind.name(),
        "what": change.subject,
        "old": change.old,
        "new": change.new,
        "vehicles": change.vehicles,
        "shared": change.shared,
    })
}

fn case(case: &CaseChange) -> Value {
    json!({"case": case.case, "readings_of": case.of, "old": case.old, "new": case.new})
}

fn finding(finding: &FindingChange) -> Value {
    json!({
        "rule": finding.rule,
        "level": finding.level.name(),
        "message": finding.message,
        "file": finding.file,
        "line": finding.line,
    })
}
