//! In: one procedure. Out: verdicts by elimination that a possible path reaches with another cause still open.
#![doc = include_str!("unsupported_verdict.md")]

use crate::check::verdicts::{Verdict, verdicts};
use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::model::{Cause, Set, Way};

/// The rule.
pub static RULE: Rule = Rule {
    name: "unsupported-verdict",
    family: Family::Evidence,
    levels: &[Level::Error],
    summary: "A verdict that the tests on the way do not prove",
    page: include_str!("unsupported_verdict.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    for verdict in verdicts(unit) {
        let listed: Set<Cause> = match verdict.way {
            Way::Found(causes) => causes.iter().copied().collect(),
            Way::Normal(_) => Set::new(),
            Way::FoundLeft => {
                nothing_found(unit, &verdict, out);
                continue;
            }
            _ => continue,
        };
        let open = |left: &Set<Cause>| Some(left.minus(&listed)).filter(|open| !open.is_empty());
        let Some(arrivals) = verdict.arrivals(unit, open) else { continue };
        let (left, vehicles) = (arrivals.causes, arrivals.vehicles);
        let open_causes = words::causes(procedure, &left);
        let are = if left.len() == 1 { "is" } else { "are" };
        let message = match verdict.way {
            Way::Normal(_) => format!("`normal` is not proven: {open_causes} {are} not ruled out"),
            _ => format!("`found` is not proven: {open_causes} {are} still possible"),
        };
        let mut finding = words::at_step(procedure, verdict.step, RULE.name, Level::Error, verdict.span, message)
            .on_vehicles(words::vehicles(unit.base, &vehicles));
        finding.path = arrivals.path;
        finding = match verdict.way {
            Way::Found(causes) => {
                let group: Vec<String> = causes
                    .iter()
                    .copied()
                    .chain(left.iter().filter(|c| !causes.contains(c)))
                    .map(|c| procedure.causes.id(c).to_owned())
                    .collect();
                let text = format!("[{}]", group.join(", "));
                finding
                    .help("rule them out earlier with `clears`, or test for them before this verdict")
                    .help(format!("if they can't be told apart, write `found: {text}`"))
                    .mend(format!("write `found: {text}`"), verdict.span, text)
            }
            _ => finding.help("rule them out on this way, or end with `unproven:` or `refer:`"),
        };
        if let [one] = procedure.cause_ids(&left).as_slice() {
            finding = finding.of_cause(one.clone());
        }
        out.push(finding);
    }
}

/// `found: what is left` where nothing is left.
fn nothing_found(unit: &Unit<'_>, verdict: &Verdict<'_>, out: &mut Vec<Finding>) {
    let Some(arrivals) = verdict.arrivals(unit, |left| left.is_empty().then(Set::new)) else { return };
    let message = "`found: what is left`, but every cause can be ruled out here";
    let mut finding = words::at_step(unit.procedure, verdict.step, RULE.name, Level::Error, verdict.span, message)
        .on_vehicles(words::vehicles(unit.base, &arrivals.vehicles))
        .help("end this way with `refer:` or `normal:`, or check what the results before it rule out");
    finding.path = arrivals.path;
    out.push(finding);
}
