//! In: the causes. Out: one finding, at the first cause without a share where another has one.
#![doc = include_str!("some_shares.md")]

use crate::check::words::list;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::NO_FAULT;

/// The rule.
pub static RULE: Rule = Rule {
    name: "some-shares",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "Some causes have a share and others have none",
    page: include_str!("some_shares.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let causes = &unit.procedure.causes;
    let with = causes.iter().find_map(|(_, _, c)| c.share.as_ref());
    let without: Vec<_> =
        causes.iter().filter(|(_, id, c)| !c.share_named && *id != NO_FAULT).map(|(_, id, c)| (id, c)).collect();
    let (Some(with), Some((first, cause))) = (with, without.first()) else { return };
    let ids: Vec<&str> = without.iter().map(|(id, _)| *id).collect();
    let verb = if ids.len() == 1 { "has" } else { "have" };
    let mut finding = Finding::new(
        RULE.name,
        Level::Warning,
        cause.place.key,
        format!("{} {verb} no share, other causes have one", list(&ids)),
    )
    .label(with.span, "a cause with a share")
    .fact("a cause without a share counts as the mean of the others")
    .help("give every cause a share, or none")
    .in_procedure(&unit.procedure.id)
    .of_cause(*first);
    for (_, other) in without.iter().skip(1) {
        finding = finding.label(other.place.key, "no share either");
    }
    out.push(finding);
}
