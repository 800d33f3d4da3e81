//! The results of a step.
//!
//! In: the list under `results`. Out: [`Outcome`]s, their phrases read for the step's quantity.

use super::cx::{Cx, read, text, texts};
use super::way::{Names, way};
use crate::finding::{Finding, Label, Level};
use crate::model::{Condition, Kind, Outcome, Set, Vehicle};
use crate::parse::keys::{RESULT, STEP};
use crate::parse::phrase;
use crate::parse::shape::misspelt;
use crate::parse::yaml::{Entry, Kind as NodeKind, Node};
use crate::source::{Span, Spanned};

/// Reads the results of a test or a `which`.
pub fn results(cx: &mut Cx<'_>, step: &Entry, kind: &Kind, names: &Names<'_>, applies: &Set<Vehicle>) -> Vec<Outcome> {
    let Some(list) = step.value.entry("results") else {
        if misspelt(&step.value, &STEP, "results") {
            cx.lost = true;
            return Vec::new();
        }
        cx.bad(step.key.span, format!("step `{}` needs `results`", step.key.value))
            .help
            .push("add `results:` with a line for each reading or label".into());
        return Vec::new();
    };
    let items: Vec<&Node> = list.value.as_list().iter().filter(|n| matches!(n.kind, NodeKind::Map(_))).collect();
    if list.value.as_list().is_empty() {
        cx.bad(list.key.span, format!("step `{}` has no result", step.key.value));
    }
    let routes = matches!(kind, Kind::Which);
    let mut outcomes: Vec<Outcome> = items.iter().filter_map(|row| outcome(cx, row, kind, names)).collect();
    if routes {
        route(cx, step, &items, &mut outcomes, names, applies);
    } else if matches!(kind, Kind::Observe(_)) {
        twice(cx, &outcomes);
    }
    outcomes
}

fn outcome(cx: &mut Cx<'_>, row: &Node, kind: &Kind, names: &Names<'_>) -> Option<Outcome> {
    let (wanted, unwanted) = if matches!(kind, Kind::Which) { ("for", "if") } else { ("if", "for") };
    let first = row.entries().first().map_or(row.span, |e| e.key.span);
    if let Some(wrong) = row.entry(unwanted) {
        cx.bad(wrong.key.span, format!("a result of this step is told by `{wanted}`, not by `{unwanted}`"));
        row.get(wanted)?;
    }
    let Some(said) = row.entry(wanted) else {
        if misspelt(row, &RESULT, wanted) {
            cx.lost = true;
            return None;
        }
        cx.bad(first, format!("a result needs `{wanted}`")).help.push(format!("add `{wanted}:`"));
        return None;
    };
    let written = match said.value.spanned() {
        Some(text) => text,
        None if wanted == "for" => Spanned::new(
            texts(row, "for").iter().map(|t| t.value.clone()).collect::<Vec<_>>().join(", "),
            said.value.span,
        ),
        None => return None,
    };
    let condition = match kind {
        Kind::Measure(measure) => {
            let spec = measure.spec.map(|s| &names.base.specs[s.value]);
            let bands = spec.map(crate::model::Spec::band_names).unwrap_or_default();
            let told = cx.out.len();
            let read = read(cx, &said.value, |t| phrase::parse(t, measure.quantity, &bands));
            if spec.is_some_and(|s| s.is_faulty) {
                cx.out.truncate(told); // what seems missing may stand in the part that could not be read
            }
            read.map_or(Condition::Unknown, Condition::Reading)
        }
        Kind::Which => Condition::Vehicles(Set::new()),
        _ => Condition::Label(written.value.clone()),
    };
    let clears = names.causes_under(cx, row, "clears");
    let leaves = row.get("leaves").is_some().then(|| names.causes_under(cx, row, "leaves"));
    let (way, way_span) = way(cx, row, first, "a result", names);
    Some(Outcome {
        span: row.span,
        text: written,
        condition,
        clears,
        leaves,
        way,
        way_span,
        note: text(row, "note").map(|t| t.value),
    })
}

/// Each vehicle of `applies` belongs to exactly one result of a `which`.
fn route(
    cx: &mut Cx<'_>,
    step: &Entry,
    rows: &[&Node],
    outcomes: &mut [Outcome],
    names: &Names<'_>,
    applies: &Set<Vehicle>,
) {
    let lost_before = cx.lost;
    cx.lost = false;
    let mut taken: Set<Vehicle> = Set::new();
    let mut twice: Set<Vehicle> = Set::new();
    let mut rest: Option<usize> = None;
    let with_for: Vec<&&Node> = rows.iter().filter(|r| r.get("for").is_some()).collect();
    for (at, (outcome, row)) in outcomes.iter_mut().zip(with_for).enumerate() {
        if outcome.text.value == "any other vehicle" {
            if rest.replace(at).is_some() {
                cx.bad(outcome.text.span, "`any other vehicle` stands twice");
            }
            continue;
        }
        let some = cx.vehicles(row, "for", names.base).unwrap_or_default();
        twice = twice.or(&taken.and(&some));
        taken = taken.or(&some);
        outcome.condition = Condition::Vehicles(some);
    }
    if let Some(at) = rest {
        outcomes[at].condition = Condition::Vehicles(applies.minus(&taken));
        taken = taken.or(applies);
    }
    if !cx.lost {
        unrouted(cx, step.key.span, &twice.and(applies), &applies.minus(&taken), names);
    }
    cx.lost |= lost_before;
}

fn unrouted(cx: &mut Cx<'_>, span: Span, twice: &Set<Vehicle>, none: &Set<Vehicle>, names: &Names<'_>) {
    if twice.is_empty() && none.is_empty() {
        return;
    }
    let ids = |set: &Set<Vehicle>| names.base.vehicle_ids(set);
    let quoted = |set: &Set<Vehicle>| {
        let ids = ids(set);
        super::cx::list(&ids.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let message = match (none.is_empty(), twice.is_empty()) {
        (false, true) => format!("no result here is for {}", quoted(none)),
        (true, _) => format!("two results here are for {}", quoted(twice)),
        (false, false) => format!("no result here is for {}, and two are for {}", quoted(none), quoted(twice)),
    };
    let all: Vec<String> = ids(&twice.or(none));
    cx.lost = true;
    let mut finding = Finding::new("bad-value", Level::Error, span, message).on_vehicles(all);
    if !none.is_empty() {
        finding = finding.help("add a result `for: any other vehicle`, or name the vehicle in one");
    }
    cx.push(finding);
}

/// One label on two results of a step.
fn twice(cx: &mut Cx<'_>, outcomes: &[Outcome]) {
    for (at, outcome) in outcomes.iter().enumerate() {
        if let Some(first) = outcomes[..at].iter().find(|o| o.text.value == outcome.text.value) {
            let span = first.text.span;
            let finding =
                cx.bad(outcome.text.span, format!("the label `{}` stands on two results", outcome.text.value));
            finding.labels.push(Label { span, message: "first here".into() });
        }
    }
}
