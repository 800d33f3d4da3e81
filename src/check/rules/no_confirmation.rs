//! In: `after-repair`, the causes and their shared repairs. Out: one finding where nothing confirms the repair of some cause.
#![doc = include_str!("no_confirmation.md")]

use crate::check::places::first_line;
use crate::check::words::list;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Cause, Fix, NO_FAULT};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-confirmation",
    family: Family::Repair,
    levels: &[Level::Warning],
    summary: "Nothing says how the repair is confirmed",
    page: include_str!("no_confirmation.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let (procedure, base) = (unit.procedure, unit.base);
    if procedure.after_repair.confirm_named {
        return;
    }
    let confirmed = |cause: &Cause| match cause.fix.as_ref().map(|f| &f.value) {
        Some(Fix::Repair(repair)) => base.repairs[*repair].after.confirm_named,
        Some(Fix::Heading(_)) => false,
        None => cause.fix_named, // a repair that could not be found was told already
    };
    let real: Vec<(&str, &Cause)> =
        procedure.causes.iter().filter(|(_, id, _)| *id != NO_FAULT).map(|(_, id, cause)| (id, cause)).collect();
    let open: Vec<&str> = real.iter().filter(|(_, cause)| !confirmed(cause)).map(|(id, _)| *id).collect();
    if open.is_empty() {
        return;
    }
    let span = procedure.after_repair.span.unwrap_or_else(|| first_line(unit.sources, procedure.file));
    let message = if open.len() == real.len() {
        "no step confirms the repair".to_owned()
    } else {
        format!("no step confirms the repair of {}", list(&open))
    };
    out.push(
        Finding::new(RULE.name, Level::Warning, span, message)
            .help("add `confirm: [{step: STEP, if: RESULT}]` under `after-repair`: the step to take again and what must be seen")
            .in_procedure(&procedure.id),
    );
}
