//! What the results of one step say otherwise.
//!
//! In: a step of both sides. Out: [`Change`]s: a result is the same where its condition is, however it is written; of those left over,
//! one that leads and rules out the same is the same under another condition.

use serde_json::Value;

use super::change::{Change, Kind};
use super::side::Held;
use super::words;
use crate::model::meaning;
use crate::model::{Condition, Step};
use crate::quantity::Edge;

/// One result: what it means, and its condition as written.
struct Row {
    meaning: Value,
    text: String,
}

/// The results of a step, in written order.
fn rows(held: Held<'_>, id: &str) -> Vec<Row> {
    let (base, procedure) = (held.base(), held.procedure);
    let Some(step) = procedure.steps.get(id) else { return Vec::new() };
    step.results
        .iter()
        .map(|outcome| {
            let meaning = meaning::outcome(base, procedure, step, outcome);
            let text = match &outcome.condition {
                Condition::Done => "when done".to_owned(),
                Condition::Vehicles(_) => format!("for {}", words::plain(&meaning["if"])),
                _ => format!("`{}`", outcome.text.value),
            };
            Row { meaning, text }
        })
        .collect()
}

/// Compares the results of one step.
pub fn compare(old: Held<'_>, new: Held<'_>, id: &str, (was, is): (&Value, &Value), out: &mut Vec<Change>) {
    if was["results"] == is["results"] {
        return;
    }
    let (mut before, mut after) = (rows(old, id), rows(new, id));
    let mut pairs: Vec<(Row, Row)> = Vec::new();
    take_pairs(&mut before, &mut after, &mut pairs, |a, b| a.meaning == b.meaning);
    pairs.clear();
    take_pairs(&mut before, &mut after, &mut pairs, |a, b| a.meaning["if"] == b.meaning["if"]);
    let rest = |row: &Row| (row.meaning["way"].clone(), row.meaning["clears"].clone(), row.meaning["leaves"].clone());
    take_pairs(&mut before, &mut after, &mut pairs, |a, b| rest(a) == rest(b));
    take_pairs(&mut before, &mut after, &mut pairs, |a, b| a.meaning["way"] == b.meaning["way"]);
    if before.len() == 1 && after.len() == 1 {
        take_pairs(&mut before, &mut after, &mut pairs, |_, _| true);
    }
    for (a, b) in &pairs {
        pair(old, new, id, a, b, out);
    }
    for row in before {
        out.push(Change::removed(Kind::Result, subject(id, &row.text), said(&row.meaning)));
    }
    for row in after {
        out.push(Change::added(Kind::Result, subject(id, &row.text), said(&row.meaning)));
    }
}

/// All results of a step that came.
pub fn list(held: Held<'_>, id: &str, out: &mut Vec<Change>) {
    for row in rows(held, id) {
        out.push(Change::added(Kind::Result, subject(id, &row.text), said(&row.meaning)));
    }
}

fn subject(id: &str, text: &str) -> String {
    format!("step {id}, {text}")
}

fn said(outcome: &Value) -> String {
    match (words::way(&outcome["way"]), words::evidence(outcome)) {
        (way, nothing) if nothing == "rules nothing out" => way,
        (way, evidence) => format!("{evidence}, {way}"),
    }
}

/// Moves pairs that are alike out of both lists, the first that fit.
fn take_pairs(
    before: &mut Vec<Row>,
    after: &mut Vec<Row>,
    pairs: &mut Vec<(Row, Row)>,
    alike: impl Fn(&Row, &Row) -> bool,
) {
    let mut at = 0;
    while at < before.len() {
        match after.iter().position(|b| alike(&before[at], b)) {
            Some(other) => pairs.push((before.remove(at), after.remove(other))),
            None => at += 1,
        }
    }
}

fn pair(old: Held<'_>, new: Held<'_>, id: &str, a: &Row, b: &Row, out: &mut Vec<Change>) {
    let named = subject(id, &b.text);
    if a.meaning["if"] != b.meaning["if"] {
        if a.text == b.text {
            // The same words hold other readings: whether readings below zero are asked for has changed.
            out.push(Change::turned(Kind::Result, &named, below_zero(old, id), below_zero(new, id)));
        } else {
            out.push(Change::turned(Kind::Result, format!("step {id}, result"), &a.text, &b.text));
        }
    }
    if a.meaning["clears"] != b.meaning["clears"] || a.meaning["leaves"] != b.meaning["leaves"] {
        let (was, is) = (words::evidence(&a.meaning), words::evidence(&b.meaning));
        out.push(Change::turned(Kind::Evidence, &named, was, is));
    }
    let (was, is) = (&a.meaning["way"], &b.meaning["way"]);
    if was != is {
        let kind = if words::is_verdict(was) || words::is_verdict(is) { Kind::Verdict } else { Kind::Route };
        out.push(Change::turned(kind, &named, words::way(was), words::way(is)));
    }
}

fn below_zero(held: Held<'_>, id: &str) -> &'static str {
    let step: Option<&Step> = held.procedure.steps.get(id);
    let domain = step.and_then(|s| Some(meaning::domain(held.base(), held.procedure, s, s.measure()?)));
    match domain.as_ref().and_then(|d| d.readings().lowest()) {
        Some(Edge::Bottom) => "with readings below zero",
        _ => "without readings below zero",
    }
}
