//! Readings and limits as they may be written for a quantity.
//!
//! In: the row of a result, case or spec. Out: offers, each of which the reading parser takes.

use lsp_types::CompletionItemKind;

use super::super::pieces::{Pieces, Root};
use super::{Here, Offer};
use crate::load::Role;
use crate::model::{Limits, Spec};
use crate::parse::keys::PROCEDURE;
use crate::parse::phrase;
use crate::parse::yaml::Node;
use crate::quantity::{Quantity, Unit};

fn offer(text: impl Into<String>, about: impl Into<String>) -> Offer {
    Offer::new(text, about, CompletionItemKind::VALUE)
}

/// Readings of the result, or of the case's step, that this row is about.
pub fn of_row(here: &Here<'_>, row: usize) -> Vec<Offer> {
    if matches!(here.role, Role::Case(_)) {
        return in_case(here, row);
    }
    let Some(step) = here.pieces.around(row).find(|r| r.keys.is_some_and(|k| k.of == "a step")) else {
        return Vec::new();
    };
    let Some(measured) = Measured::of(here, step.node) else { return labels_of_check(here, step.node) };
    let mut offers = measured.offers();
    // What the step's other results say already comes last.
    let used: Vec<&str> = ifs(step.node);
    offers.sort_by_key(|o| used.contains(&o.text.as_str()));
    offers
}

/// What a step measures.
struct Measured<'a> {
    quantity: Quantity,
    spec: Option<&'a Spec>,
}

impl<'a> Measured<'a> {
    fn of(here: &Here<'a>, step: &Node) -> Option<Self> {
        let base = &here.desk.linted()?.tables.base;
        let mut measure = step.get("measure");
        let check = step.get("check").and_then(|c| c.as_text()).and_then(|id| base.checks.get(id));
        if let Some(crate::model::Kind::Measure(m)) = check.map(|c| &c.kind) {
            return Some(Self { quantity: m.quantity, spec: m.spec.map(|s| &base.specs[s.value]) });
        }
        if let Some(spec) = measure.and_then(Node::as_text).and_then(|id| base.specs.get(id)) {
            return Some(Self { quantity: spec.quantity.value, spec: Some(spec) });
        }
        measure = measure.and_then(|m| m.get("quantity"));
        Some(Self { quantity: Quantity::from_name(measure?.as_text()?)?, spec: None })
    }

    fn offers(&self) -> Vec<Offer> {
        let mut offers = Vec::new();
        if let Some(spec) = self.spec {
            for band in spec.band_names() {
                offers.push(offer(band, limits_of(spec, band)));
            }
            for (text, about) in [
                ("below spec", "below the limits"),
                ("above spec", "above the limits"),
                ("out of spec", "below or above"),
            ] {
                if one_sided(spec) != Some(text) {
                    offers.push(offer(text, about));
                }
            }
        }
        offers.push(offer("any other reading", "what the step's other results leave"));
        if self.quantity.has_open_circuit() {
            offers.push(offer("open circuit", "the meter shows over-limit"));
        }
        offers.extend(self.ranges());
        let bands = self.spec.map(Spec::band_names).unwrap_or_default();
        offers.retain(|o| phrase::parse(&o.text, self.quantity, &bands).is_ok());
        offers
    }

    /// The forms of a range, with the spec's own ends where it has some.
    fn ranges(&self) -> Vec<Offer> {
        let ends: Vec<String> = self.spec.map(ends_of).unwrap_or_default();
        forms(self.quantity, &ends)
    }
}

/// `below A`, `A to B` and their like.
fn forms(quantity: Quantity, ends: &[String]) -> Vec<Offer> {
    let unit = Unit::default_of(quantity);
    let low = ends.first().cloned().unwrap_or_else(|| unit.join("1"));
    let high = ends.get(1).cloned().unwrap_or_else(|| unit.join("2"));
    [
        (format!("below {low}"), "the amount itself excluded"),
        (format!("at most {low}"), "the amount itself included"),
        (format!("{low} to {high}"), "both ends included"),
        (format!("{low} to below {high}"), "the upper end excluded"),
        (format!("above {low} to {high}"), "the lower end excluded"),
        (format!("at least {high}"), "the amount itself included"),
        (format!("above {high}"), "the amount itself excluded"),
    ]
    .map(|(text, about)| offer(text, about))
    .into()
}

/// The ends that a spec names, as written, the first two different ones.
fn ends_of(spec: &Spec) -> Vec<String> {
    let mut ends: Vec<String> = Vec::new();
    for entry in &spec.entries {
        let Limits::Bands(bands) = &entry.limits else { continue };
        for end in bands.iter().flat_map(|b| b.phrase.ends()) {
            let text = end.amount.unit.show(&end.amount.value, spec.quantity.value);
            if !ends.contains(&text) {
                ends.push(text);
            }
        }
        if ends.len() >= 2 {
            break;
        }
    }
    ends
}

/// `in spec: at most 0.1 V` has nothing below it.
fn one_sided(spec: &Spec) -> Option<&'static str> {
    let sets = spec.entries.iter().filter_map(|e| Some(&e.limits.band("in spec")?.set));
    let (mut below, mut above) = (false, false);
    for set in sets {
        let written = |edge: Option<&crate::quantity::Edge>| edge.is_some_and(|e| e.value().is_some());
        below |= written(set.lowest());
        above |= written(set.highest());
    }
    match (below, above) {
        (false, true) => Some("below spec"),
        (true, false) => Some("above spec"),
        _ => None,
    }
}

/// The limits of a band, per vehicle or group.
fn limits_of(spec: &Spec, band: &str) -> String {
    let lines = spec.entries.iter().filter_map(|e| {
        let text = match &e.limits {
            Limits::Placeholder => "TBD",
            Limits::Bands(_) => e.limits.band(band)?.text.value.as_str(),
        };
        Some(e.who.as_ref().map_or_else(|| text.to_owned(), |who| format!("{who}: {text}")))
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// The `if` of each result of a step.
fn ifs(step: &Node) -> Vec<&str> {
    let results = step.get("results").map(Node::as_list).unwrap_or_default();
    results.iter().filter_map(|r| r.get("if")?.as_text()).collect()
}

/// Two steps of one check carry their labels over only where both list the same.
fn labels_of_check(here: &Here<'_>, step: &Node) -> Vec<Offer> {
    let Some(check) = step.get("check").and_then(|c| c.as_text()) else { return Vec::new() };
    let own = ifs(step);
    let steps = here.pieces.rows.iter().filter(|r| r.keys.is_some_and(|k| k.of == "a step"));
    let same = steps.filter(|r| r.node.get("check").and_then(|c| c.as_text()) == Some(check));
    let mut labels: Vec<&str> = Vec::new();
    for label in same.filter(|r| !std::ptr::eq(r.node, step)).flat_map(|r| ifs(r.node)) {
        if !labels.contains(&label) && !own.contains(&label) {
            labels.push(label);
        }
    }
    labels.into_iter().map(|l| offer(l, format!("as at the other step of check {check}"))).collect()
}

/// The results of the step that a line of `confirm` names.
pub fn results_named(here: &Here<'_>, row: usize) -> Vec<Offer> {
    let Some(line) = here.pieces.rows.get(row) else { return Vec::new() };
    let Some(name) = line.node.get("step").and_then(|s| s.as_text()) else { return Vec::new() };
    let steps = here.pieces.rows.iter().filter(|r| r.noun == "step").flat_map(|r| r.node.entries());
    let found: Vec<&str> = steps.filter(|e| e.key.value == name).flat_map(|e| ifs(&e.value)).collect();
    found.into_iter().map(|l| offer(l, "")).collect()
}

/// Labels of the step, or an amount for what it measures.
fn in_case(here: &Here<'_>, row: usize) -> Vec<Offer> {
    // A reading stands behind its step's name; the row is the table of readings, the nearest name before it counts.
    let Some(parts) = here.procedure_of_case() else { return Vec::new() };
    let Some(tree) = &parts.tree else { return Vec::new() };
    let pieces = Pieces::of(tree, Root::Row(&PROCEDURE));
    let Some(readings) = here.pieces.rows.get(row) else { return Vec::new() };
    let named = readings.node.entries();
    let steps: Vec<&Node> = pieces
        .rows
        .iter()
        .filter(|r| r.noun == "step")
        .flat_map(|r| r.node.entries())
        .filter(|e| named.iter().any(|n| n.key.value == e.key.value && n.value.is_empty()))
        .map(|e| &e.value)
        .collect();
    let mut offers = Vec::new();
    for step in steps {
        match Measured::of(here, step) {
            Some(measured) => {
                let ends = measured.spec.map(ends_of).unwrap_or_default();
                let one = ends.first().cloned().unwrap_or_else(|| Unit::default_of(measured.quantity).join("1"));
                offers.push(offer(one, format!("a reading of {}", measured.quantity.name())));
            }
            None => offers.extend(ifs(step).into_iter().map(|l| offer(l, ""))),
        }
    }
    offers.push(offer("not taken", "goes the way of a bay without the equipment"));
    offers
}

/// Limits of a spec of this row's quantity.
pub fn limits(here: &Here<'_>, row: usize) -> Vec<Offer> {
    let spec = here.pieces.around(row).find(|r| r.keys.is_some_and(|k| k.of == "a spec"));
    let quantity = spec.and_then(|s| Quantity::from_name(s.node.get("quantity")?.as_text()?));
    let mut offers = vec![offer("TBD", "known to be missing")];
    if let Some(quantity) = quantity {
        offers.extend(forms(quantity, &[]));
        offers.retain(|o| o.text == "TBD" || phrase::parse_spec_range(&o.text, quantity).is_ok());
    }
    offers
}

/// Units of the quantity that this one stands behind.
pub fn units(here: &Here<'_>, row: usize) -> Vec<Offer> {
    let entries = here.pieces.rows.get(row).map(|r| r.node.entries()).unwrap_or_default();
    let waiting = entries.iter().filter(|e| e.value.is_empty() || entries.len() == 1);
    let quantities = waiting.filter_map(|e| Quantity::from_name(&e.key.value));
    quantities.flat_map(Unit::common_of).map(|u| Offer::new(u.symbol(), "", CompletionItemKind::UNIT)).collect()
}
