//! Findings as one JSON object for the run.
//!
//! In: findings and sources. Out: the object of `lint --format json`; keys are stable, new ones may be added.
//! Files are relative to the knowledge base; lines and columns count from 1, columns in characters.

use serde_json::{Map, Value, json};

use crate::finding::{Finding, Report};
use crate::source::{Sources, Span};

/// The whole run.
pub fn render(report: &Report, sources: &Sources) -> String {
    let findings: Vec<Value> = report.findings.iter().map(|f| finding(f, sources)).collect();
    let summary = &report.summary;
    let mut value = json!({
        "tool": {"name": "ruleout", "version": env!("CARGO_PKG_VERSION")},
        "summary": {
            "procedures": summary.procedures,
            "errors": summary.errors,
            "warnings": summary.warnings,
            "notes": summary.notes,
        },
        "findings": findings,
    });
    if summary.known > 0 {
        value["summary"]["known"] = json!(summary.known);
    }
    format!("{value:#}\n")
}

/// One finding.
pub fn finding(finding: &Finding, sources: &Sources) -> Value {
    let mut map = Map::new();
    map.insert("rule".into(), json!(finding.rule));
    map.insert("level".into(), json!(finding.level.name()));
    map.insert("message".into(), json!(finding.message));
    for (key, value) in [("procedure", &finding.procedure), ("step", &finding.step), ("cause", &finding.cause)] {
        if let Some(value) = value {
            map.insert(key.into(), json!(value));
        }
    }
    map.extend(place(finding.span, sources));
    let labels: Vec<Value> = finding
        .labels
        .iter()
        .map(|label| {
            let mut map = Map::new();
            map.insert("message".into(), json!(label.message));
            map.extend(place(label.span, sources));
            Value::Object(map)
        })
        .collect();
    map.insert("labels".into(), json!(labels));
    map.insert("help".into(), json!(finding.help));
    for (key, list) in [("facts", &finding.facts), ("vehicles", &finding.vehicles), ("readings", &finding.readings)] {
        if !list.is_empty() {
            map.insert(key.into(), json!(list));
        }
    }
    if !finding.path.is_empty() {
        let path: Vec<Value> = finding.path.iter().map(|p| json!({"step": p.step, "result": p.result})).collect();
        map.insert("path".into(), json!(path));
    }
    if let Some(mend) = &finding.mend {
        let edits: Vec<Value> = mend
            .edits
            .iter()
            .map(|edit| {
                let mut map = place(edit.span, sources);
                map.insert("text".into(), json!(edit.text));
                Value::Object(map)
            })
            .collect();
        map.insert("mend".into(), json!({"title": mend.title, "safe": mend.safe, "edits": edits}));
    }
    Value::Object(map)
}

fn place(span: Span, sources: &Sources) -> Map<String, Value> {
    let file = sources.file(span.file);
    let (from, to) = (file.position(span.start), file.position(span.end));
    let mut map = Map::new();
    map.insert("file".into(), json!(file.path()));
    map.insert("line".into(), json!(from.line));
    map.insert("column".into(), json!(from.column));
    map.insert("end_line".into(), json!(to.line));
    map.insert("end_column".into(), json!(to.column));
    map
}
