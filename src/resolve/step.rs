//! One step of a procedure.
//!
//! In: its tree. Out: a [`Step`] with its check merged in.

use super::cx::{Cx, texts};
use super::results::results;
use super::test_keys::{Choice, kind, merge, merge_changes, shared};
use super::way::{Names, WAYS, way, without};
use crate::model::{Changes, Check, Condition, FactKey, Ix, Kind, Outcome, Set, Step, StepIx, Vehicle};
use crate::parse::keys::STEP;
use crate::parse::shape::misspelt;
use crate::parse::yaml::{Entry, Kind as NodeKind};
use crate::source::Spanned;

const KINDS: [&str; 5] = ["measure", "observe", "do", "check", "which"];

/// Reads one step. `at` is its index; `heading` its section and title in the body. Its `changes` are read later,
/// when the keys of all steps are known. `None` where it has no kind (told).
pub fn step(
    cx: &mut Cx<'_>,
    entry: &Entry,
    at: StepIx,
    heading: Option<(usize, String)>,
    names: &Names<'_>,
    applies: &Set<Vehicle>,
) -> Option<Step> {
    let row = &entry.value;
    if !matches!(row.kind, NodeKind::Map(_)) {
        cx.lost = true;
        return None;
    }
    let noun = format!("step `{}`", entry.key.value);
    let Some((kind, check)) = what(cx, entry, &noun, names) else {
        other_names(cx, entry, names);
        return None;
    };
    let used: Option<&Check> = check.map(|c| &names.base.checks[c.value]);
    let results = outcomes(cx, entry, &kind, names, applies);
    let own = shared(cx, row, names.base);
    let own_away_from = own.away_from.clone();
    let own_without = row.entry("without").map(|e| without(cx, e, names));
    let mut after = names_of_steps(cx, entry, "after", names);
    if let Some(own) = after.iter().find(|a| a.value == at) {
        let span = own.span;
        cx.bad(span, format!("{noun} can't come after itself")).help.push("name the step that comes before it".into());
        after.retain(|a| a.value != at);
    }
    let undoes = names_of_steps(cx, entry, "undoes", names);
    let key = key(at, &kind, check, &results);
    let title = title(heading.as_ref(), &kind, used, names);
    Some(Step {
        place: super::tables::place(entry),
        title: title.unwrap_or_else(|| entry.key.value.clone()),
        section: heading.map(|h| h.0),
        key,
        results,
        shared: match used {
            Some(check) => merge(&check.shared, own),
            None => own,
        },
        without: own_without.or_else(|| used.and_then(|c| c.without.clone())),
        after,
        changes: used.map(|c| c.changes.clone()).unwrap_or_default(),
        undoes,
        own_away_from,
        kind,
        check,
    })
}

/// The results of a test or a `which`; the one way on of a `do`.
fn outcomes(cx: &mut Cx<'_>, entry: &Entry, kind: &Kind, names: &Names<'_>, applies: &Set<Vehicle>) -> Vec<Outcome> {
    if matches!(kind, Kind::Do(_)) {
        return vec![done(cx, entry, names)];
    }
    let id = &entry.key.value;
    let Some(then) = entry.value.entry("then").map(|e| e.key.span) else {
        return results(cx, entry, kind, names, applies);
    };
    if entry.value.get("results").is_none() {
        cx.bad(then, format!("step `{id}` needs `results`: `then` belongs into each of them"))
            .help
            .push("add `results:` with a line for each reading or label, or make it a `do`".into());
        return Vec::new();
    }
    cx.bad(then, format!("step `{id}` has results: `then` belongs into each of them"))
        .help
        .push("move `then` into the result it belongs to".into());
    results(cx, entry, kind, names, applies)
}

/// The step's kind, and the check it uses.
fn what(
    cx: &mut Cx<'_>,
    entry: &Entry,
    noun: &str,
    names: &Names<'_>,
) -> Option<(Kind, Option<Spanned<crate::model::CheckIx>>)> {
    match kind(cx, &entry.value, entry.key.span, noun, &KINDS, names.base)? {
        Choice::Own(kind) => Some((kind, None)),
        Choice::Which => Some((Kind::Which, None)),
        Choice::Check(name) => {
            let broken = names.base.broken.contains("checks");
            let ix = cx.find(&name, &names.base.checks, "check", broken)?;
            Some((names.base.checks[ix].kind.clone(), Some(Spanned::new(ix, name.span))))
        }
    }
}

/// What a step of no known kind names is judged all the same: one run tells all faults.
fn other_names(cx: &mut Cx<'_>, entry: &Entry, names: &Names<'_>) {
    let row = &entry.value;
    shared(cx, row, names.base);
    if let Some(entry) = row.entry("without") {
        without(cx, entry, names);
    }
    names_of_steps(cx, entry, "after", names);
    names_of_steps(cx, entry, "undoes", names);
    let Some(results) = row.get("results") else {
        if row.get("then").is_some() {
            done(cx, entry, names);
        }
        return;
    };
    for result in results.as_list().iter().filter(|n| matches!(n.kind, NodeKind::Map(_))) {
        names.causes_under(cx, result, "clears");
        names.causes_under(cx, result, "leaves");
        let first = result.entries().first().map_or(result.span, |e| e.key.span);
        way(cx, result, first, "a result", names);
    }
}

/// What the step's readings are kept under.
fn key(at: StepIx, kind: &Kind, check: Option<Spanned<crate::model::CheckIx>>, results: &[Outcome]) -> FactKey {
    match (kind, check) {
        (Kind::Measure(m), _) if m.spec.is_some() => m.spec.map_or(FactKey::Step(at), |s| FactKey::Spec(s.value)),
        (Kind::Measure(_), Some(check)) => FactKey::Check(check.value),
        (Kind::Observe(_), Some(check)) => {
            let mut labels: Vec<String> = results.iter().map(|r| r.text.value.clone()).collect();
            labels.sort();
            FactKey::Labels(check.value, labels)
        }
        _ => FactKey::Step(at),
    }
}

fn title(heading: Option<&(usize, String)>, kind: &Kind, check: Option<&Check>, names: &Names<'_>) -> Option<String> {
    if let Some((_, title)) = heading {
        return Some(title.clone());
    }
    match (kind, check) {
        (Kind::Which, _) => Some("Which vehicle".to_owned()),
        (_, Some(check)) => Some(check.title.clone()),
        (Kind::Observe(text) | Kind::Do(text), None) => Some(text.value.clone()),
        (Kind::Measure(measure), None) => measure.spec.map(|s| names.base.specs[s.value].title.clone()),
    }
}

/// The `then` of a `do`.
fn done(cx: &mut Cx<'_>, entry: &Entry, names: &Names<'_>) -> Outcome {
    let row = &entry.value;
    if let Some(results) = row.entry("results") {
        cx.bad(results.key.span, format!("step `{}` is a `do`: it has `then`, not `results`", entry.key.value))
            .help
            .push("make it an `observe` if something is to be seen, or write `then:`".into());
    }
    let then: Vec<Entry> = row.entries().iter().filter(|e| e.key.value == "then").cloned().collect();
    let only = crate::parse::yaml::Node { span: row.span, kind: NodeKind::Map(then) };
    let (way, way_span) = if row.get("then").is_none() {
        // An ending here is told as a key that a step does not have.
        let told = WAYS.iter().chain(&["results"]).any(|key| row.get(key).is_some()) || misspelt(row, &STEP, "then");
        if !told {
            cx.bad(entry.key.span, format!("step `{}` leads nowhere: a `do` needs `then`", entry.key.value))
                .help
                .push("add `then:` with the next step".into());
        }
        cx.lost = true;
        (crate::model::Way::Unknown, entry.key.span)
    } else {
        way(cx, &only, entry.key.span, &format!("step `{}`", entry.key.value), names)
    };
    let span = row.entry("then").map_or(entry.key.span, |e| e.key.span.to(e.value.span));
    Outcome {
        span,
        text: Spanned::new(String::new(), span),
        condition: Condition::Done,
        clears: Vec::new(),
        leaves: None,
        way,
        way_span,
        note: None,
    }
}

fn names_of_steps(cx: &mut Cx<'_>, entry: &Entry, key: &str, names: &Names<'_>) -> Vec<Spanned<StepIx>> {
    texts(&entry.value, key).iter().filter_map(|name| Some(Spanned::new(names.step(cx, name)?, name.span))).collect()
}

/// Reads `changes` of a step: steps first, then specs; `all` forgets everything. The check's come first.
pub fn changes(cx: &mut Cx<'_>, entry: &Entry, step: &Step, keys: &[Option<FactKey>], names: &Names<'_>) -> Changes {
    let listed = texts(&entry.value, "changes");
    let span = entry.value.entry("changes").map(|e| e.key.span);
    let mut own = Changes { all: false, keys: Vec::new(), span };
    for name in &listed {
        if name.value == "all" {
            own.all = true;
            continue;
        }
        if let Some(ix) = names.steps.find(&name.value) {
            if let Some(Some(key)) = keys.get(ix.raw()) {
                own.keys.push(Spanned::new(key.clone(), name.span));
            }
        } else if let Some(spec) = names.base.specs.find(&name.value) {
            own.keys.push(Spanned::new(FactKey::Spec(spec), name.span));
        } else {
            let there: Vec<&str> = names.steps.ids().chain(names.base.specs.ids()).collect();
            cx.unresolved(name, there, "step or spec", names.base.broken.contains("specs"));
        }
    }
    merge_changes(&step.changes, own)
}

/// The index of a step that may not exist as a [`Step`] yet.
pub fn index(at: usize) -> StepIx {
    Ix::new(at)
}
