//! What the steps of one procedure say otherwise.
//!
//! In: the steps' meaning on both sides. Out: [`Change`]s.

use serde_json::Value;

use super::change::{Change, Kind};
use super::side::Held;
use super::{outcomes, rows, words};

/// Compares step by step.
pub fn compare(old: Held<'_>, new: Held<'_>, before: &Value, after: &Value, out: &mut Vec<Change>) {
    for (id, was, is) in rows::union(before, after) {
        let subject = format!("step {id}");
        match (was, is) {
            (Some(was), Some(is)) if was == is => {}
            (Some(was), Some(is)) => {
                fields(&subject, was, is, out);
                outcomes::compare(old, new, &id, (was, is), out);
            }
            (None, Some(is)) => {
                out.push(Change::added(Kind::Step, &subject, words::kind(is)));
                outcomes::list(new, &id, out);
            }
            (Some(was), None) => out.push(Change::removed(Kind::Step, &subject, words::kind(was))),
            (None, None) => {}
        }
    }
}

type Told = fn(&Value) -> String;

/// Key of the meaning, kind of the change, what stands behind the step's name, and how a value is said.
const FIELDS: [(&str, Kind, &str, Told); 10] = [
    ("with", Kind::Equipment, ", equipment", words::plain),
    ("without", Kind::Route, ", where the equipment is lacking", words::way),
    ("setup", Kind::Setup, ", setup", words::plain),
    ("minutes", Kind::Minutes, ", minutes", words::minutes),
    ("wait", Kind::Minutes, ", minutes of waiting", words::minutes),
    ("hazards", Kind::Hazard, ", hazards", words::plain),
    ("after", Kind::Order, ", never before", words::plain),
    ("changes", Kind::Evidence, ", makes unknown again", words::plain),
    ("undo", Kind::Step, ", leaves something to put back", words::plain),
    ("undoes", Kind::Step, ", puts back what was left by", words::plain),
];

fn fields(subject: &str, was: &Value, is: &Value, out: &mut Vec<Change>) {
    if was["kind"] != is["kind"] || was["check"] != is["check"] {
        out.push(Change::turned(Kind::Step, subject, words::kind(was), words::kind(is)));
    }
    for (key, kind, field, told) in FIELDS {
        if was[key] != is[key] {
            out.push(Change::turned(kind, format!("{subject}{field}"), told(&was[key]), told(&is[key])));
        }
    }
}
