//! What follows a verdict: the repair of each cause, how it is confirmed, what is put back afterwards.
//!
//! In: a procedure. Out: [`AfterData`] of the procedure and of each cause's shared repair, and the same for the page ([`AfterView`]). The page adds the two up, as the
//! language has it: all lines of both, and of two `trips` the larger.

use std::collections::BTreeSet;

use super::address::PageKind;
use super::frame::Frame;
use super::job_data::{AfterData, RepairData};
use super::page::Link;
use super::procedure::fix_link;
use super::procedure_page::AfterView;
use crate::model::{AfterRepair, Cause, Confirm, Fix, Procedure, RepairIx};
use crate::quantity::number;

/// The repair of a cause; nothing where none is written.
pub(super) fn repair(frame: &Frame<'_>, procedure: &Procedure, fix: &Fix) -> Option<RepairData> {
    let link = fix_link(frame, procedure, fix)?;
    let Fix::Repair(ix) = fix else { return Some(RepairData { link, ..RepairData::default() }) };
    let row = &frame.base.repairs[*ix];
    let titles = |any: &Vec<_>| {
        let each: Vec<&str> = any.iter().map(|e| frame.base.equipment[*e].title.as_str()).collect();
        each.join(" or ")
    };
    Some(RepairData {
        link,
        minutes: row.minutes.as_ref().map(number::show),
        with: row.with.iter().map(|with| titles(&with.value)).collect(),
        cautions: frame.cautions(row.hazards.iter().map(|h| h.value)),
        undo: row.undo.as_ref().map(|undo| undo.value.clone()),
        after: after(frame, procedure, &row.after),
    })
}

/// How a repair is confirmed, with the steps' titles as this procedure has them.
pub(super) fn after(frame: &Frame<'_>, procedure: &Procedure, after: &AfterRepair) -> AfterData {
    AfterData {
        confirm: after.confirm.iter().filter_map(|one| confirm(frame, procedure, one)).collect(),
        clear: after.clear_codes,
        // Left out, they count as one where something is confirmed.
        trips: after.trips.as_ref().map_or(u32::from(!after.confirm.is_empty()), |trips| trips.value),
    }
}

fn confirm(frame: &Frame<'_>, procedure: &Procedure, one: &Confirm) -> Option<Link> {
    let own = |step, result: &str| {
        let title = &procedure.steps[step].title;
        Link::to(title, format!("#{}", procedure.steps.id(step))).more(result)
    };
    match one {
        Confirm::Step { step, result } => {
            let result = procedure.steps[step.value].results.get(*result)?;
            Some(own(step.value, &result.text.value))
        }
        Confirm::Named { step, result } => Some(own(procedure.steps.find(&step.value)?, &result.value)),
        Confirm::Check { check, result } => {
            let uses =
                procedure.steps.iter().find(|(_, _, s)| s.check.as_ref().is_some_and(|c| c.value == check.value));
            Some(uses.map_or_else(
                || {
                    let table = &frame.base.checks;
                    let page = PageKind::Checks.page(table.id(check.value));
                    Link::to(&table[check.value].title, page).more(&result.value)
                },
                |(step, _, _)| own(step, &result.value),
            ))
        }
    }
}

/// How repairs are confirmed, for the page: what every repair asks for, then each shared repair that asks for more.
pub(super) fn views(frame: &Frame<'_>, procedure: &Procedure) -> Vec<AfterView> {
    let all = after(frame, procedure, &procedure.after_repair);
    let mut views =
        vec![AfterView { repair: None, confirm: all.confirm.clone(), notes: notes(frame, procedure, &all) }];
    let shared: BTreeSet<_> = procedure.causes.iter().filter_map(|(_, _, cause)| shared_repair(cause)).collect();
    for ix in shared {
        let mut own = after(frame, procedure, &frame.base.repairs[ix].after);
        own.confirm.retain(|link| !all.confirm.iter().any(|known| known.to == link.to && known.more == link.more));
        own.clear &= !all.clear;
        own.trips = if own.trips > all.trips { own.trips } else { 0 };
        let repair = fix_link(frame, procedure, &Fix::Repair(ix));
        views.push(AfterView { repair, notes: notes(frame, procedure, &own), confirm: own.confirm });
    }
    views.retain(|view| !view.confirm.is_empty() || !view.notes.is_empty());
    views
}

fn shared_repair(cause: &Cause) -> Option<RepairIx> {
    match cause.fix.as_ref()?.value {
        Fix::Repair(ix) => Some(ix),
        Fix::Heading(_) => None,
    }
}

/// Sentences about codes and trips. Trips are driven to read codes again: without codes none is asked for.
fn notes(frame: &Frame<'_>, procedure: &Procedure, after: &AfterData) -> Vec<String> {
    let codes: Vec<&str> = procedure.codes.iter().map(|code| frame.base.codes.id(code.value)).collect();
    let mut notes = Vec::new();
    if after.clear && codes.is_empty() {
        notes.push("Clear the fault codes.".to_owned());
    } else if after.clear {
        notes.push(format!("Clear the fault codes: {}.", codes.join(", ")));
    }
    if after.trips > 0 && !codes.is_empty() {
        let trips = if after.trips == 1 { "one trip".to_owned() } else { format!("{} trips", after.trips) };
        notes.push(format!("Drive {trips} and read the codes again."));
        notes.extend(monitors(frame, procedure));
    }
    notes
}

/// When the monitors of the procedure's codes run: one sentence for all that run alike.
pub(super) fn monitors(frame: &Frame<'_>, procedure: &Procedure) -> Vec<String> {
    let codes = &frame.base.codes;
    let mut alike: Vec<(&str, Vec<&str>)> = Vec::new();
    for code in &procedure.codes {
        let Some(monitor) = codes[code.value].monitor.as_deref() else { continue };
        match alike.iter_mut().find(|(known, _)| *known == monitor) {
            Some((_, ids)) => ids.push(codes.id(code.value)),
            None => alike.push((monitor, vec![codes.id(code.value)])),
        }
    }
    let said = alike.into_iter().map(|(monitor, ids)| match ids.split_last() {
        Some((last, before)) if !before.is_empty() => {
            format!("The monitors of {} and {last} run: {monitor}", before.join(", "))
        }
        _ => format!("The monitor of {} runs: {monitor}", ids.join(", ")),
    });
    said.collect()
}

/// The part of a cause: name and number.
pub(super) fn part(cause: &Cause) -> Option<String> {
    let part = cause.part.as_ref()?;
    let words: Vec<&str> = part.name.iter().chain(&part.number).map(String::as_str).collect();
    (!words.is_empty()).then(|| words.join(", "))
}
