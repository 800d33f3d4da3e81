//! Limits in the technician's words, per group of vehicles that share them.
//!
//! In: a spec, or a measuring step. Out: values, and the table of what each result means on each vehicle.

use super::frame::{Frame, same_key};
use super::page::{Link, Row, Table};
use crate::model::{Band, Condition, Limits, Measure, Procedure, Set, Spec, SpecIx, Step, Vehicle};
use crate::quantity::{Amount, Domain, Phrase, Quantity, SpecLimits, Unit, evaluate};

/// What stands where a value is known to be missing.
pub const PLACEHOLDER: &str = "not known yet: use the maker's information";
/// What stands where a vehicle has no value.
pub const NONE: &str = "no value";

/// Vehicles that share one entry of a spec (`None`: that have none), in file order.
pub fn groups(spec: &Spec, on: &Set<Vehicle>) -> Vec<(Option<usize>, Set<Vehicle>)> {
    let mut groups: Vec<(Option<usize>, Set<Vehicle>)> = Vec::new();
    for vehicle in on.iter() {
        let entry = spec.by_vehicle.get(vehicle.raw()).copied().flatten();
        match groups.iter_mut().find(|(known, _)| *known == entry) {
            Some((_, set)) => set.insert(vehicle),
            None => groups.push((entry, Set::one(vehicle))),
        }
    }
    groups
}

/// The spec's value on each group of these vehicles: the text, and after it the vehicles.
pub fn values_per_group(frame: &Frame<'_>, ix: SpecIx, on: &Set<Vehicle>) -> Vec<Link> {
    let spec = &frame.base.specs[ix];
    let groups = groups(spec, on);
    let alone = groups.len() == 1;
    let mut values = Vec::new();
    for (entry, set) in groups {
        let mut link = Link::text(value_text(frame, spec, entry));
        if !alone {
            link = link.more(frame.vehicle_titles(&set)).on(frame.on(&set));
        }
        values.push(link);
    }
    values
}

/// One entry as a text: its bands as written, and in the shop's unit where that is another.
pub fn value_text(frame: &Frame<'_>, spec: &Spec, entry: Option<usize>) -> String {
    match entry.and_then(|i| spec.entries.get(i)).map(|e| &e.limits) {
        None => NONE.to_owned(),
        Some(Limits::Placeholder) => PLACEHOLDER.to_owned(),
        Some(Limits::Bands(bands)) => bands
            .iter()
            .map(|band| match (band.name.as_str(), bands.len()) {
                ("in spec", 1) => band_text(frame, spec, band),
                (name, _) => format!("{name}: {}", band_text(frame, spec, band)),
            })
            .collect::<Vec<_>>()
            .join("; "),
    }
}

/// A band as written, and in the shop's unit where that is another.
pub fn band_text(frame: &Frame<'_>, spec: &Spec, band: &Band) -> String {
    let quantity = spec.quantity.value;
    let written = unit_of(&band.phrase);
    match shop_unit(frame, quantity) {
        Some(shop) if written.is_some_and(|unit| unit != shop) => {
            let domain = Domain::new(quantity, spec.names_negative);
            format!("{} ({})", band.text.value, band.set.words(shop, &domain))
        }
        _ => band.text.value.clone(),
    }
}

fn unit_of(phrase: &Phrase) -> Option<Unit> {
    phrase.ends().next().map(|end| end.amount.unit)
}

/// The amounts that a phrase names.
pub fn amounts(phrase: &Phrase) -> impl Iterator<Item = &Amount> {
    phrase.ends().map(|end| &end.amount)
}

/// The unit that the shop reads a quantity in, where it names one.
pub fn shop_unit(frame: &Frame<'_>, quantity: Quantity) -> Option<Unit> {
    let (_, symbol) = frame.base.shop.units.iter().find(|(of, _)| *of == quantity)?;
    Unit::find(symbol, quantity).ok()
}

/// What each result of a measuring step means in amounts, one row per group of vehicles. Nothing where the results say it
/// themselves.
pub fn table(frame: &Frame<'_>, procedure: &Procedure, step: &Step, measure: &Measure) -> Option<Table> {
    let spec = &frame.base.specs[measure.spec.as_ref()?.value];
    let phrases: Vec<(&str, &Phrase)> = step
        .results
        .iter()
        .filter_map(|result| match &result.condition {
            Condition::Reading(phrase) => Some((result.text.value.as_str(), phrase)),
            _ => None,
        })
        .collect();
    let negative = spec.names_negative
        || procedure
            .steps
            .iter()
            .filter(|(_, _, other)| same_key(&other.key, &step.key))
            .flat_map(|(_, _, other)| &other.results)
            .any(|result| matches!(&result.condition, Condition::Reading(phrase) if phrase.names_negative()));
    let domain = Domain::new(measure.quantity, negative);
    let mut table = Table::default();
    table.columns.push("Vehicle".into());
    table.columns.extend(phrases.iter().map(|(text, _)| (*text).to_owned()));
    for (entry, set) in groups(spec, &procedure.applies) {
        let mut cells = vec![vec![Link::text(capital(&frame.vehicle_titles(&set)))]];
        match entry.and_then(|i| spec.entries.get(i)).map(|e| &e.limits) {
            Some(Limits::Bands(bands)) => cells.extend(cells_of(frame, bands, &phrases, &domain)),
            missing => {
                let text = if missing.is_some() { PLACEHOLDER } else { NONE };
                cells.push(vec![Link::text(text)]);
            }
        }
        table.rows.push(Row { on: frame.on(&set), cells });
    }
    Some(table)
}

fn cells_of(frame: &Frame<'_>, bands: &[Band], phrases: &[(&str, &Phrase)], domain: &Domain) -> Vec<Vec<Link>> {
    let limits = SpecLimits {
        in_spec: bands.iter().find(|b| b.name == "in spec").map(|b| b.phrase.clone()),
        bands: bands.iter().filter(|b| b.name != "in spec").map(|b| (b.name.clone(), b.phrase.clone())).collect(),
    };
    let only: Vec<&Phrase> = phrases.iter().map(|(_, phrase)| *phrase).collect();
    let written = limits.phrases().find_map(unit_of).or_else(|| only.iter().find_map(|phrase| unit_of(phrase)));
    let written = written.unwrap_or_else(|| Unit::default_of(domain.quantity()));
    let shop = shop_unit(frame, domain.quantity()).filter(|unit| *unit != written);
    let amounts: Vec<&Amount> = limits.phrases().chain(only.iter().copied()).flat_map(amounts).collect();
    evaluate(&only, Some(&limits), domain)
        .iter()
        .map(|set| {
            if set.is_empty() {
                return vec![Link::text("not on these")];
            }
            let cell = Link::text(set.words_as(written, domain, &amounts));
            vec![match shop {
                Some(unit) => cell.more(set.words_as(unit, domain, &amounts)),
                None => cell,
            }]
        })
        .collect()
}

/// The text with a capital first letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}
