//! What steps and checks share: the kind of a test and the keys both may hold.
//!
//! In: a step's or check's tree. Out: [`Kind`], [`Shared`], [`Changes`].

use super::cx::{Cx, list, number, plain, plains, quantity, text};
use crate::model::{Base, Changes, Kind, Measure, Shared};
use crate::parse::keys::STEP;
use crate::parse::shape::misspelt;
use crate::parse::yaml::Node;
use crate::source::{Span, Spanned};

/// What a step may be besides the kinds a check may be.
pub enum Choice {
    /// Its own kind.
    Own(Kind),
    /// A shared check: its name.
    Check(Spanned<String>),
    /// `which: vehicle`.
    Which,
}

/// Reads the one kind that a step or check has; none or two are `bad-value` at the owner's key.
pub fn kind(cx: &mut Cx<'_>, row: &Node, owner: Span, noun: &str, kinds: &[&str], base: &Base) -> Option<Choice> {
    let there: Vec<&str> = kinds.iter().copied().filter(|k| row.get(k).is_some()).collect();
    let [one] = there.as_slice() else {
        // A kind that a check can't have is told as a key that it does not have.
        let is_told =
            || kinds.iter().any(|k| misspelt(row, &STEP, k)) || ["check", "which"].iter().any(|k| row.get(k).is_some());
        if there.is_empty() && is_told() {
            return None;
        }
        let found = if there.is_empty() { "none".to_owned() } else { list(&there) };
        cx.bad(owner, format!("{noun} is exactly one of {}: found {found}", list(kinds)))
            .help
            .push("keep the one that says what is done here".into());
        return None;
    };
    let node = row.get(one)?;
    match *one {
        "measure" => measure(cx, node, base).map(|m| Choice::Own(Kind::Measure(m))),
        "observe" => Some(Choice::Own(Kind::Observe(node.spanned()?))),
        "do" => Some(Choice::Own(Kind::Do(node.spanned()?))),
        "check" => Some(Choice::Check(node.spanned()?)),
        _ => Some(Choice::Which),
    }
}

fn measure(cx: &mut Cx<'_>, node: &Node, base: &Base) -> Option<Measure> {
    if let Some(name) = node.spanned() {
        let broken = base.broken.contains("specs");
        let spec = cx.find(&name, &base.specs, "spec", broken)?;
        return Some(Measure {
            quantity: base.specs[spec].quantity.value,
            spec: Some(Spanned::new(spec, node.span)),
            at: None,
            when: None,
            source: None,
            span: node.span,
        });
    }
    let quantity = quantity(cx, node, "quantity").or_else(|| {
        cx.lost = true;
        None
    })?;
    Some(Measure {
        quantity: quantity.value,
        spec: None,
        at: plain(node, "at"),
        when: plain(node, "when"),
        source: text(node, "source"),
        span: node.span,
    })
}

/// Reads the keys that steps and checks share.
pub fn shared(cx: &mut Cx<'_>, row: &Node, base: &Base) -> Shared {
    let no_hazards = base.broken.contains("hazards.yaml");
    Shared {
        with: cx.equipment(row, "with", base),
        setup: cx.names(row, "setup", &base.setups, "setup", base.broken.contains("setups.yaml")),
        minutes: number(row, "minutes").map(|m| m.value),
        wait: number(row, "wait").map(|m| m.value),
        hazards: cx.names(row, "hazards", &base.hazards, "hazard", no_hazards),
        away_from: cx.names(row, "away-from", &base.hazards, "hazard", no_hazards),
        undo: text(row, "undo"),
        record: plains(row, "record"),
        figure: text(row, "figure"),
    }
}

/// A step's keys laid over those of its check: minutes replace, lists add.
pub fn merge(check: &Shared, own: Shared) -> Shared {
    let minutes = if own.minutes.is_some() || own.wait.is_some() {
        own.minutes.or(check.minutes.clone())
    } else {
        check.minutes.clone()
    };
    Shared {
        with: check.with.iter().cloned().chain(own.with).collect(),
        setup: check.setup.iter().copied().chain(own.setup).collect(),
        minutes,
        wait: own.wait.or(check.wait.clone()),
        hazards: check.hazards.iter().copied().chain(own.hazards).collect(),
        away_from: check.away_from.iter().copied().chain(own.away_from).collect(),
        undo: own.undo.or(check.undo.clone()),
        record: check.record.iter().cloned().chain(own.record).collect(),
        figure: own.figure.or(check.figure.clone()),
    }
}

/// The changes of a check and of the step that uses it, together.
pub fn merge_changes(check: &Changes, own: Changes) -> Changes {
    Changes {
        all: check.all || own.all,
        keys: check.keys.iter().cloned().chain(own.keys).collect(),
        span: own.span.or(check.span),
    }
}
