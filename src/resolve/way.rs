//! Where a result, a `do` or a `without` leads.
//!
//! In: the keys `then`, `shows`, `found`, `normal`, `unproven`, `refer`. Out: a [`Way`], its place.

use super::cx::{Cx, list};
use crate::model::{Base, Cause, CauseIx, NO_FAULT, Set, Step, Table, Way, Without};
use crate::parse::keys::RESULT;
use crate::parse::shape::misspelt;
use crate::parse::yaml::{Entry, Node};
use crate::source::{Span, Spanned};

/// The keys that lead on or end.
pub const WAYS: [&str; 6] = ["then", "shows", "found", "normal", "unproven", "refer"];

/// What `found` names where it means all that this way has left.
const LEFT: &str = "what is left";

/// The names that a way may use.
pub struct Names<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// The causes of the procedure.
    pub causes: &'a Table<Cause>,
    /// Whether some cause could not be read (told already): a name that seems missing may be that one.
    pub causes_told: bool,
    /// Ids of its steps, in order.
    pub steps: &'a Table<()>,
}

impl Names<'_> {
    /// The index of a step.
    pub fn step(&self, cx: &mut Cx<'_>, name: &Spanned<String>) -> Option<crate::model::StepIx> {
        cx.find(name, self.steps, "step", false).map(|ix| crate::model::Ix::<Step>::new(ix.raw()))
    }

    /// The index of a cause.
    pub fn cause(&self, cx: &mut Cx<'_>, name: &Spanned<String>) -> Option<CauseIx> {
        cx.find(name, self.causes, "cause", self.causes_told)
    }

    /// Causes named one by one under a key, each with its place.
    pub fn causes_under(&self, cx: &mut Cx<'_>, row: &Node, key: &str) -> Vec<Spanned<CauseIx>> {
        super::cx::texts(row, key)
            .iter()
            .filter_map(|name| {
                if name.value == NO_FAULT && self.causes.find(NO_FAULT).is_none() {
                    // Reserved: naming it where it has no share says nothing, and is not wrong.
                    return None;
                }
                Some(Spanned::new(self.cause(cx, name)?, name.span))
            })
            .collect()
    }
}

/// The one way on of a row; none or two are `bad-value` at `owner`.
pub fn way(cx: &mut Cx<'_>, row: &Node, owner: Span, noun: &str, names: &Names<'_>) -> (Way, Span) {
    let there = ways(row);
    let [one] = there.as_slice() else {
        if there.is_empty() && WAYS.iter().any(|way| misspelt(row, &RESULT, way)) {
            cx.lost = true;
        } else if there.is_empty() {
            cx.bad(owner, format!("{noun} leads nowhere: expected one of {}", list(&WAYS)))
                .help
                .push("add `then:` with the next step, or an ending".into());
        } else {
            let keys: Vec<&str> = there.iter().map(|e| e.key.value.as_str()).collect();
            let span = there.get(1).map_or(owner, |e| e.key.span);
            cx.bad(span, format!("{noun} leads on in exactly one way: found {}", list(&keys)))
                .help
                .push("keep one of them".into());
        }
        return (Way::Unknown, owner);
    };
    (way_of(cx, one, names), one.value.span)
}

fn way_of(cx: &mut Cx<'_>, entry: &Entry, names: &Names<'_>) -> Way {
    let text = || entry.value.spanned();
    let way = match entry.key.value.as_str() {
        "then" => text().and_then(|t| then(cx, &t, names)),
        "shows" => text().and_then(|t| names.cause(cx, &t)).map(Way::Shows),
        "found" => found(cx, &entry.value, names),
        "normal" => text().map(|t| Way::Normal(t.value)),
        "unproven" => text().map(|t| Way::Unproven(t.value)),
        _ => text().map(|t| Way::Refer(t.value)),
    };
    way.unwrap_or_else(|| {
        cx.lost = true;
        Way::Unknown
    })
}

/// `STEP` or `PROCEDURE/`.
fn then(cx: &mut Cx<'_>, name: &Spanned<String>, names: &Names<'_>) -> Option<Way> {
    let Some(procedure) = name.value.strip_suffix('/') else {
        if names.steps.find(&name.value).is_none() && names.base.procedures.find(&name.value).is_some() {
            cx.lost = true;
            cx.push(
                crate::finding::Finding::new(
                    "unresolved-name",
                    crate::finding::Level::Error,
                    name.span,
                    format!("there is no step `{}`, but a procedure of that name", name.value),
                )
                .help(format!("write `{}/` to go on with the procedure", name.value))
                .respell(format!("write `{}/`", name.value), name.span, format!("{}/", name.value)),
            );
            return None;
        }
        return names.step(cx, name).map(Way::Then);
    };
    let short = Spanned::new(procedure.to_owned(), name.span);
    cx.find(&short, &names.base.procedures, "procedure", names.base.broken.contains("procedures")).map(Way::Jump)
}

fn found(cx: &mut Cx<'_>, node: &Node, names: &Names<'_>) -> Option<Way> {
    if node.as_text() == Some(LEFT) {
        return Some(Way::FoundLeft);
    }
    let mut causes: Vec<CauseIx> = Vec::new();
    let mut seen = Set::new();
    for item in node.as_list() {
        let Some(name) = item.spanned() else { continue };
        let cause = names.cause(cx, &name)?;
        if !seen.contains(cause) {
            seen.insert(cause);
            causes.push(cause);
        }
    }
    (!causes.is_empty()).then_some(Way::Found(causes))
}

/// The keys of a row that lead on or end.
fn ways(row: &Node) -> Vec<&Entry> {
    row.entries().iter().filter(|e| WAYS.contains(&e.key.value.as_str())).collect()
}

/// `without` of a step: a step's name, a jump, or an ending.
pub fn without(cx: &mut Cx<'_>, entry: &Entry, names: &Names<'_>) -> Without {
    let (way, way_span) = match entry.value.spanned() {
        Some(name) => (then(cx, &name, names).unwrap_or(Way::Unknown), name.span),
        None => way(cx, &entry.value, entry.key.span, "`without`", names),
    };
    Without { span: entry.value.span, way, way_span }
}

/// `without` of a check: an ending that names no step and no cause, since the check belongs to no procedure. A jump is one.
pub fn ending_of_check(cx: &mut Cx<'_>, entry: &Entry, base: &Base) -> Option<Without> {
    let node = &entry.value;
    let there = ways(node);
    let (key, named) = match there.as_slice() {
        _ if node.as_text().is_some() => ("then", node),
        [one] => (one.key.value.as_str(), &one.value),
        // None, or several: that is told below.
        _ => ("", node),
    };
    let mut names = named.as_list().iter().filter_map(Node::spanned);
    if let Some(step) = names.clone().find(|name| key == "then" && !name.value.ends_with('/')) {
        cx.bad(step.span, format!("expected an ending in the `without` of a check, found `{}`", step.value))
            .help
            .push("write an ending such as `{refer: ...}`, or put `without` on the step that uses the check".into());
        return None;
    }
    if let Some(cause) = names.find(|name| ["shows", "found"].contains(&key) && name.value != LEFT) {
        cx.bad(cause.span, format!("a check knows no causes: many procedures may use it, found `{}`", cause.value))
            .help
            .push(format!("write `found: {LEFT}`, or put `without` on the step that uses the check"));
        return None;
    }
    let (causes, steps) = (Table::default(), Table::default());
    Some(without(cx, entry, &Names { base, causes: &causes, causes_told: false, steps: &steps }))
}
