//! The causes of a procedure.
//!
//! In: the rows under `causes`, the headings of the body. Out: [`Cause`]s, their repairs found.

use super::cx::{Cx, number, plain, plains, text};
use crate::finding::{Finding, Level};
use crate::model::{Base, Cause, Fix, NO_FAULT, Part, Section, Set, Table};
use crate::parse::keys::CAUSE;
use crate::parse::shape::misspelt;
use crate::parse::yaml::{Kind, Node};
use crate::source::Spanned;

/// Reads the causes; `fix` is found later, when the headings are known.
pub fn causes(cx: &mut Cx<'_>, tree: &Node, base: &Base) -> Table<Cause> {
    let mut causes = Table::default();
    for entry in tree.get("causes").map(Node::entries).unwrap_or_default() {
        let row = &entry.value;
        if !matches!(row.kind, Kind::Map(_)) {
            continue;
        }
        let title = plain(row, "title");
        let missing = row.get("title").is_none() && !misspelt(row, &CAUSE, "title");
        if title.is_none() && entry.key.value != NO_FAULT && missing {
            cx.bad(entry.key.span, format!("cause `{}` needs `title`", entry.key.value))
                .help
                .push("add `title:` with the words a technician would use".into());
        }
        let default = if entry.key.value == NO_FAULT { "No fault found" } else { &entry.key.value };
        let cause = Cause {
            place: super::tables::place(entry),
            title: title.unwrap_or_else(|| default.to_owned()),
            share: number(row, "share"),
            share_named: names(row, "share"),
            fix: None,
            fix_named: names(row, "fix"),
            on: cx.vehicles(row, "for", base).unwrap_or_else(|| Set::all(base.vehicles.len())),
            on_text: plains(row, "for"),
            part: row.get("part").map(part),
            also: plains(row, "also"),
        };
        causes.insert(entry.key.value.clone(), cause);
    }
    causes
}

/// Whether a cause has the key, be it under a wrong spelling (told).
fn names(row: &Node, key: &str) -> bool {
    row.get(key).is_some() || misspelt(row, &CAUSE, key)
}

fn part(node: &Node) -> Part {
    Part {
        name: plain(node, "name"),
        number: plain(node, "number"),
        price: number(node, "price").map(|n| n.value),
        minutes: number(node, "minutes").map(|n| n.value),
        span: node.span,
    }
}

/// Finds the repair of each cause: a `##` heading with its id that is no step's, else a shared repair.
pub fn fixes(cx: &mut Cx<'_>, tree: &Node, base: &Base, causes: &mut Table<Cause>, sections: &[Section], id: &str) {
    let lost = cx.lost;
    for entry in tree.get("causes").map(Node::entries).unwrap_or_default() {
        let Some(name) = text(&entry.value, "fix") else { continue };
        let heading =
            sections.iter().position(|s| s.level == 2 && s.id.as_ref().is_some_and(|i| i.value == name.value));
        let step = tree.get("steps").and_then(|steps| steps.entry(&name.value));
        let own = heading.filter(|_| step.is_none()).map(Fix::Heading);
        let fix = own.or_else(|| base.repairs.find(&name.value).map(Fix::Repair)).or(heading.map(Fix::Heading));
        if let (Some(step), Some(Fix::Heading(_))) = (step, &fix) {
            let message = format!("`{}` names a step and a repair", name.value);
            let finding = Finding::new("duplicate-id", Level::Error, name.span, message).in_procedure(id);
            cx.push(finding.label(step.key.span, "the step").help("give one of them another id"));
        }
        match (fix, causes.find(&entry.key.value)) {
            (Some(fix), Some(cause)) => causes[cause].fix = Some(Spanned::new(fix, name.span)),
            (None, _) => unresolved(cx, &name, sections, base, id),
            _ => {}
        }
    }
    cx.lost = lost; // a missing repair does not make the steps unsound
}

fn unresolved(cx: &mut Cx<'_>, name: &Spanned<String>, sections: &[Section], base: &Base, id: &str) {
    if base.broken.contains("repairs") {
        return;
    }
    let headings = sections.iter().filter(|s| s.level == 2).filter_map(|s| s.id.as_ref()).map(|i| i.value.as_str());
    let there: Vec<&str> = base.repairs.ids().chain(headings).collect();
    let mut finding = Finding::new(
        "unresolved-name",
        Level::Error,
        name.span,
        format!("there is no repair `{}`: neither a heading here nor a shared repair", name.value),
    )
    .in_procedure(id);
    if let Some(near) = crate::parse::near::nearest(&name.value, there.iter().copied()) {
        let helped = finding.help(format!("did you mean `{near}`?"));
        finding = match crate::parse::near::sure(&name.value, there) {
            Some(near) => crate::parse::near::offer(helped, &name.value, near, name.span, near),
            None => helped.mend(format!("write `{near}`"), name.span, near),
        };
    } else {
        finding =
            finding.help(format!("add a heading `## ... {{#{}}}`, or a file `repairs/{}.md`", name.value, name.value));
    }
    cx.push(finding);
}
