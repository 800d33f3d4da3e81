//! In: the codes and the trips that confirm each cause's repair. Out: one finding where a code needs more.
#![doc = include_str!("too_few_trips.md")]

use crate::check::places::first_line;
use crate::check::words::{count, list};
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{AfterRepair, Cause, Code, Fix, NO_FAULT};
use crate::source::Spanned;

/// The rule.
pub static RULE: Rule = Rule {
    name: "too-few-trips",
    family: Family::Repair,
    levels: &[Level::Error],
    summary: "The repair is confirmed in fewer trips than the code needs to set",
    page: include_str!("too_few_trips.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let (procedure, base) = (unit.procedure, unit.base);
    let Some((code, named)) = slowest(unit) else { return };
    let needed = code.trips;
    let own = driven(&procedure.after_repair);
    let given = |cause: &Cause| match cause.fix.as_ref().map(|f| &f.value) {
        Some(Fix::Repair(repair)) => own.max(driven(&base.repairs[*repair].after)),
        _ => own,
    };
    let real: Vec<(&str, u32)> =
        procedure.causes.iter().filter(|(_, id, _)| *id != NO_FAULT).map(|(_, id, c)| (id, given(c))).collect();
    let short: Vec<(&str, u32)> = real.into_iter().filter(|(_, trips)| *trips < needed).collect();
    let Some(least) = short.iter().map(|(_, trips)| *trips).min() else { return };
    // Where nothing at all is said of a one-trip code, `no-confirmation` has told it.
    if least == 0 && needed < 2 && procedure.after_repair.span.is_none() {
        return;
    }
    let ids: Vec<&str> = short.iter().map(|(id, _)| *id).collect();
    let span = procedure.after_repair.span.unwrap_or_else(|| first_line(unit.sources, procedure.file));
    let mut finding = Finding::new(
        RULE.name,
        Level::Error,
        span,
        format!(
            "code `{named}` needs {} to set, the repair of {} is confirmed in {}",
            count(needed as usize, "trip"),
            list(&ids),
            count(least as usize, "trip")
        ),
    )
    .label(code.place.key, format!("sets after {}", count(needed as usize, "trip")))
    .help(format!("write `trips: {needed}` under `after-repair`"))
    .in_procedure(&procedure.id);
    if let Some(Spanned { span, .. }) = procedure.after_repair.trips {
        finding = finding.label(span, "too few").mend(format!("write {needed}"), span, needed.to_string());
    }
    out.push(finding);
}

/// The code of the procedure that needs the most trips (the first of several), with its name.
fn slowest<'a>(unit: &Unit<'a>) -> Option<(&'a Code, &'a str)> {
    let codes = unit.procedure.codes.iter().map(|c| (&unit.base.codes[c.value], unit.base.codes.id(c.value)));
    codes.rev().max_by_key(|(code, _)| code.trips)
}

/// Trips that a confirmation asks for: as written, else 1 where a step confirms, else none.
fn driven(after: &AfterRepair) -> u32 {
    if after.trips_unread {
        return u32::MAX; // as many as are needed, until it can be read
    }
    after.trips.as_ref().map_or(u32::from(after.confirm_named), |t| t.value)
}
