//! In: the causes. Out: a finding per cause without a repair (`no-fault` needs none).
#![doc = include_str!("no_fix.md")]

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::NO_FAULT;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-fix",
    family: Family::Repair,
    levels: &[Level::Warning],
    summary: "A cause that does not say how it is put right",
    page: include_str!("no_fix.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (_, id, cause) in unit.procedure.causes.iter() {
        if id == NO_FAULT || cause.fix_named {
            continue;
        }
        out.push(
            Finding::new(RULE.name, Level::Warning, cause.place.key, format!("cause `{id}` has no `fix`"))
                .help("add `fix:` with the id of a `##` heading of this file or of a shared repair")
                .in_procedure(&unit.procedure.id)
                .of_cause(id),
        );
    }
}
