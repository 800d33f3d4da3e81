//! In: the links of all pages that name things of the base (`term:cpk`). Out: a finding per name that is not there; every other
//! name is judged by the stage that resolves it.
#![doc = include_str!("unresolved_name.md")]

use crate::check::pages::{Page, pages};
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level};
use crate::parse::near::{nearest, offer, sure};

/// The rule.
pub static RULE: Rule = Rule {
    name: "unresolved-name",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "A name that stands for nothing in the knowledge base",
    page: include_str!("unresolved_name.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    for page in pages(whole) {
        for link in page.links.iter().filter(|l| !l.is_image) {
            let Some((kind, name)) = link.to.value.split_once(':') else { continue };
            let Some(names) = names(whole, &page, kind) else { continue };
            if names.contains(&name) {
                continue;
            }
            let message = match (kind, page.procedure) {
                ("cause", None) => format!("`cause:{name}` is known in a procedure only"),
                _ => format!("there is no {} `{name}`", noun(kind)),
            };
            let finding = Finding::new(RULE.name, Level::Error, link.to.span, message);
            let finding = match nearest(name, names.iter().copied()) {
                Some(near) => finding.help(format!("did you mean `{kind}:{near}`?")),
                None => finding,
            };
            out.push(page.name(match sure(name, names) {
                Some(near) => offer(finding, name, near, link.to.span, format!("{kind}:{near}")),
                None => finding,
            }));
        }
    }
}

fn noun(kind: &str) -> &str {
    match kind {
        "code" => "fault code",
        "equipment" => "instrument",
        other => other,
    }
}

/// The names that a kind of link can have; nothing where it is no such kind, or its table could not be read.
fn names<'a>(whole: &'a Whole<'_>, page: &Page<'a>, kind: &str) -> Option<Vec<&'a str>> {
    let base = whole.base;
    let (table, names): (&str, Vec<&str>) = match kind {
        "spec" => ("specs", base.specs.ids().collect()),
        "code" => ("codes.yaml", base.codes.ids().collect()),
        "term" => ("terms.yaml", base.terms.ids().collect()),
        "equipment" => ("equipment.yaml", base.equipment.ids().collect()),
        "hazard" => ("hazards.yaml", base.hazards.ids().collect()),
        "vehicle" => ("vehicles.yaml", base.vehicles.ids().filter(|id| !id.is_empty()).collect()),
        "cause" => ("", page.procedure.map(|d| d.causes.iter().map(|c| c.id.as_str()).collect()).unwrap_or_default()),
        _ => return None,
    };
    (!base.broken.contains(table)).then_some(names)
}
