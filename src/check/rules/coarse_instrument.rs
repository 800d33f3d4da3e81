//! In: the measuring steps, their instruments and ranges. Out: a finding per step whose worst instrument is too coarse for its
//! finest limit.
#![doc = include_str!("coarse_instrument.md")]

use crate::check::places::within;
use crate::check::ranges::{Used, used};
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Base, EquipmentIx, InstrumentRange, Measure, Set, Step, Vehicle, WorkedOut};
use crate::quantity::{Amount, Quantity, Rational, number};
use crate::source::Span;

/// The rule.
pub static RULE: Rule = Rule {
    name: "coarse-instrument",
    family: Family::Instruments,
    levels: &[Level::Warning, Level::Note],
    summary: "The instrument is not fine enough for the limit",
    page: include_str!("coarse_instrument.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (ix, id, step) in unit.procedure.steps.iter() {
        let Some(measure) = step.measure() else { continue };
        if step.shared.with.is_empty() {
            continue;
        }
        let mut judged: Vec<(Set<Vehicle>, Judged<'_>)> = Vec::new();
        for (vehicles, ranges) in used(unit.base, step, measure, &unit.analysis.vehicles_at(ix)) {
            let all = ranges.iter().flat_map(|range| judge(unit.base, step, measure, range));
            judged.extend(all.min_by(|a, b| a.ratio.cmp(&b.ratio)).map(|worst| (vehicles, worst)));
        }
        judged.retain(|(_, j)| j.ratio < number::ratio(4, 1));
        let Some((_, worst)) = judged.iter().min_by(|(_, a), (_, b)| a.ratio.cmp(&b.ratio)) else { continue };
        let vehicles = judged.iter().fold(Set::new(), |all, (vehicles, _)| all.or(vehicles));
        let vehicles = vehicles.iter().map(|v| unit.base.vehicles.id(v));
        out.push(told(unit.base, step, worst).in_procedure(&unit.procedure.id).at_step(id).on_vehicles(vehicles));
    }
}

/// How fine an instrument is for an end point.
struct Judged<'a> {
    ratio: Rational,
    end: &'a Amount,
    span: Span,
    /// Half the width of the range, else the end point itself; base unit.
    room: Rational,
    half: bool,
    /// How far the instrument may be off there; base unit.
    error: Rational,
    instrument: EquipmentIx,
    with: Span,
    data: &'a InstrumentRange,
    parts: usize,
}

fn judge<'a>(base: &'a Base, step: &Step, measure: &Measure, range: &Used<'a>) -> Vec<Judged<'a>> {
    let worked = measure.spec.as_ref().and_then(|s| base.specs[s.value].worked_out.as_ref());
    let mut judged = Vec::new();
    for end in range.ends() {
        let Some((room, half)) = room(measure.quantity, range, end) else { continue };
        for with in &step.shared.with {
            for instrument in &with.value {
                let Some((data, error, parts)) = error(base, *instrument, measure.quantity, worked, end) else {
                    continue;
                };
                let ratio = &room / &error;
                let (span, with, room) = (range.span, with.span, room.clone());
                judged.push(Judged { ratio, end, span, room, half, error, instrument: *instrument, with, data, parts });
            }
        }
    }
    judged
}

/// What the accuracy is held against: half the width of a range that is bounded on both sides with neither end at zero,
/// else the end point itself. Nothing for one-sided temperatures, whose zero means nothing, and for an end at zero.
fn room(quantity: Quantity, range: &Used<'_>, end: &Amount) -> Option<(Rational, bool)> {
    let is_temperature = quantity == Quantity::Temperature;
    match (range.low, range.high) {
        (Some(low), Some(high)) if is_temperature || (!low.value.is_zero() && !high.value.is_zero()) => {
            Some(((&high.value - &low.value) / number::ratio(2, 1), true))
        }
        _ if is_temperature || end.value.is_zero() => None,
        _ => Some((end.value.abs(), false)),
    }
}

/// How far an instrument may be off at an end point, where it measures the quantity and states its accuracy. A worked-out
/// reading counts if its limit has the unit of its parts: the accuracy at the end of the range, for each part.
fn error<'a>(
    base: &'a Base,
    instrument: EquipmentIx,
    quantity: Quantity,
    worked: Option<&WorkedOut>,
    end: &Amount,
) -> Option<(&'a InstrumentRange, Rational, usize)> {
    let measured = worked.map_or(quantity, |w| w.of);
    if worked.is_some() && !end.unit.serves(measured) {
        return None;
    }
    let data = base.equipment[instrument].measures.iter().find(|m| m.quantity.value == measured)?;
    let accuracy = data.accuracy.as_ref()?;
    let resolution = data.resolution.as_ref().map_or_else(Rational::zero, |r| r.value.clone());
    let (error, parts) = match worked {
        None => (accuracy.error_at(&end.value, &resolution), 1),
        Some(worked) => {
            let top = data.range.as_ref()?.set.highest()?.value()?.clone();
            let parts = worked.names.len().max(2);
            (accuracy.error_at(&top, &resolution) * number::ratio(parts as i128, 1), parts)
        }
    };
    (!error.is_zero()).then_some((data, error, parts))
}

fn told(base: &Base, step: &Step, worst: &Judged<'_>) -> Finding {
    let level = if worst.ratio < number::ratio(1, 1) { Level::Warning } else { Level::Note };
    let unit = worst.end.unit;
    // Room and error are differences: written by the scale of the unit, without a temperature's offset.
    let show = |value: &Rational| {
        let number = value / unit.scale();
        let text = number::exact(&number).filter(|t| t.len() < 8).unwrap_or_else(|| number::rounded(&number, 3));
        unit.join(&text)
    };
    let room =
        if worst.half { format!("half the range is {}", show(&worst.room)) } else { "the limit itself".to_owned() };
    let over = if worst.parts > 1 { format!(" over {} parts", worst.parts) } else { String::new() };
    let message = format!(
        "`{}` is good to ±{}{over} at {}, {room}: {}:1",
        base.equipment.id(worst.instrument),
        show(&worst.error),
        worst.end.show_in(worst.end.unit),
        number::rounded(&worst.ratio, 2),
    );
    let help = if level == Level::Warning {
        "name a finer instrument: the reading says less than the meter may be off"
    } else {
        "name a finer instrument if there is one: at least 4:1 is usual"
    };
    let mut finding = Finding::new(RULE.name, level, within(step, worst.with), message)
        .label(worst.span, format!("the limit {}", worst.end.show_in(worst.end.unit)))
        .help(help);
    if let Some(accuracy) = &worst.data.accuracy {
        finding = finding.label(accuracy.span, "its accuracy");
    }
    finding
}
