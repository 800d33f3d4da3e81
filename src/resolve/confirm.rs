//! How a repair is confirmed.
//!
//! In: `after-repair` of a procedure, `confirm` of the shared repairs it uses. Out: [`AfterRepair`], and
//! findings for steps and results that are not there.

use super::cx::{Cx, list, text, whole};
use crate::finding::{Finding, Level};
use crate::model::{AfterRepair, Base, Condition, Confirm, Fix, Outcome, Procedure, Step, StepIx};
use crate::parse::keys::{AFTER, Keys, PROCEDURE};
use crate::parse::shape::misspelt;
use crate::parse::yaml::Node;
use crate::source::Spanned;

/// Reads `after-repair`.
pub fn after_repair(cx: &mut Cx<'_>, tree: &Node, base: &Base, procedure: &Procedure) -> AfterRepair {
    let Some(entry) = tree.entry("after-repair") else {
        let unread = misspelt(tree, &PROCEDURE, "after-repair");
        return AfterRepair { confirm_named: unread, trips_unread: unread, ..AfterRepair::default() };
    };
    let lost = cx.lost;
    let mut confirm = Vec::new();
    for row in entry.value.get("confirm").map(Node::as_list).unwrap_or_default() {
        let Some(wanted) = text(row, "if") else { continue };
        match (text(row, "step"), text(row, "check")) {
            (Some(name), None) => {
                let Some(step) = cx.find(&name, &procedure.steps, "step", false) else { continue };
                if !is_read(tree, procedure, step) {
                    continue;
                }
                if let Some(result) = result(cx, &procedure.steps[step], &name.value, &wanted) {
                    confirm.push(Confirm::Step { step: Spanned::new(step, name.span), result });
                }
            }
            (None, Some(name)) => {
                let broken = base.broken.contains("checks");
                if let Some(check) = cx.find(&name, &base.checks, "check", broken) {
                    confirm.push(Confirm::Check { check: Spanned::new(check, name.span), result: wanted });
                }
            }
            _ => super::shared::one_of(cx, row),
        }
    }
    cx.lost = lost;
    AfterRepair {
        span: Some(entry.key.span),
        confirm_named: confirms(&entry.value, &AFTER),
        confirm,
        clear_codes: text(&entry.value, "codes").is_some(),
        trips: whole(&entry.value, "trips"),
        trips_unread: misspelt(&entry.value, &AFTER, "trips"),
    }
}

/// Whether it is said how a repair is confirmed, be it under a wrong spelling (told).
pub fn confirms(row: &Node, keys: &Keys) -> bool {
    row.get("confirm").is_some_and(|c| !c.as_list().is_empty()) || misspelt(row, keys, "confirm")
}

/// Whether all results of a step could be read: one that could not (told) may be the one that a repair names.
fn is_read(tree: &Node, procedure: &Procedure, at: StepIx) -> bool {
    let step = &procedure.steps[at];
    let rows = tree.get("steps").and_then(|steps| steps.get(procedure.steps.id(at))?.get("results"));
    let is_unknown = |result: &Outcome| matches!(result.condition, Condition::Unknown);
    !step.is_unread()
        && !step.results.iter().any(is_unknown)
        && rows.is_none_or(|rows| rows.as_list().len() == step.results.len())
}

/// The result of a step with exactly this `if`, or an `unresolved-name` with the step's results.
fn result(cx: &mut Cx<'_>, step: &Step, id: &str, wanted: &Spanned<String>) -> Option<usize> {
    let found = step.results.iter().position(|r| r.text.value == wanted.value);
    if found.is_none() && !step.results.is_empty() {
        let texts: Vec<&str> = step.results.iter().map(|r| r.text.value.as_str()).filter(|t| !t.is_empty()).collect();
        let mut finding = Finding::new(
            "unresolved-name",
            Level::Error,
            wanted.span,
            format!("step `{id}` has no result `{}`", wanted.value),
        );
        finding = match crate::parse::near::nearest(&wanted.value, texts.iter().copied()) {
            Some(near) => {
                let finding = finding.help(format!("did you mean `{near}`?"));
                match crate::parse::near::sure(&wanted.value, texts.iter().copied()) {
                    Some(near) => crate::parse::near::offer(finding, &wanted.value, near, wanted.span, near),
                    None => finding,
                }
            }
            None if texts.is_empty() => finding.help("it is an action: confirm with a test"),
            None => finding.help(format!("its results are {}", list(&texts))),
        };
        cx.push(finding);
    }
    found
}

/// A shared repair's `confirm` names a step (or a check) of every procedure that uses it.
pub fn shared_repairs(cx: &mut Cx<'_>, tree: &Node, base: &Base, procedure: &Procedure) {
    if procedure.steps.iter().any(|(at, _, _)| !is_read(tree, procedure, at)) {
        return;
    }
    let mut told = std::collections::BTreeSet::new();
    for (_, _, cause) in procedure.causes.iter() {
        let Some(Spanned { value: Fix::Repair(repair), span }) = &cause.fix else { continue };
        for confirm in &base.repairs[*repair].after.confirm {
            let missing = match confirm {
                Confirm::Named { step, result } => match procedure.steps.get(&step.value) {
                    None => Some(format!("step `{}`", step.value)),
                    Some(found)
                        if found.results.iter().all(|r| r.text.value != result.value) && !found.results.is_empty() =>
                    {
                        Some(format!("result `{}` at step `{}`", result.value, step.value))
                    }
                    Some(_) => None,
                },
                Confirm::Check { check, result } => {
                    let users: Vec<&Step> = procedure
                        .steps
                        .iter()
                        .map(|(_, _, s)| s)
                        .filter(|s| s.check.is_some_and(|c| c.value == check.value))
                        .collect();
                    let id = base.checks.id(check.value);
                    if users.is_empty() {
                        Some(format!("step with check `{id}`"))
                    } else if users.iter().all(|s| s.results.iter().all(|r| r.text.value != result.value)) {
                        Some(format!("result `{}` at a step with check `{id}`", result.value))
                    } else {
                        None
                    }
                }
                Confirm::Step { .. } => None,
            };
            if let Some(what) = missing {
                let id = base.repairs.id(*repair);
                if told.insert((id.to_owned(), what.clone())) {
                    cx.push(
                        Finding::new(
                            "unresolved-name",
                            Level::Error,
                            *span,
                            format!("repair `{id}` is confirmed by a {what}, which is not here"),
                        )
                        .help("add the step, or write a repair of your own for this procedure"),
                    );
                }
            }
        }
    }
}
