//! New files to be filled in: commented skeletons, and a whole small knowledge base.
//!
//! In: an id, and for a case the procedure it follows. Out: paths relative to the base and texts. Nothing is written here.

use crate::model::{Base, Kind, NO_FAULT, Procedure, Step};

/// The files of a small knowledge base that compiles, by path.
pub const BASE: [(&str, &str); 8] = [
    ("README.md", include_str!("../../templates/drafts/base/README.md")),
    ("shop.yaml", include_str!("../../templates/drafts/base/shop.yaml")),
    ("vehicles.yaml", include_str!("../../templates/drafts/base/vehicles.yaml")),
    ("equipment.yaml", include_str!("../../templates/drafts/base/equipment.yaml")),
    ("hazards.yaml", include_str!("../../templates/drafts/base/hazards.yaml")),
    ("specs/horn.yaml", include_str!("../../templates/drafts/base/specs/horn.yaml")),
    ("procedures/body/horn-silent.md", include_str!("../../templates/drafts/base/procedures/body/horn-silent.md")),
    ("cases/2031-001.yaml", include_str!("../../templates/drafts/base/cases/2031-001.yaml")),
];

/// A skeleton: where it goes and what it says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// Path relative to the base, with `/`.
    pub path: String,
    /// The text.
    pub text: String,
}

/// A kind of skeleton that needs no more than its id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Skeleton {
    /// `checks/ID.md`.
    Check,
    /// `repairs/ID.md`.
    Repair,
    /// `specs/ID.yaml`.
    Spec,
}

/// A skeleton of this kind.
pub fn skeleton(kind: Skeleton, id: &str) -> Draft {
    let (path, text) = match kind {
        Skeleton::Check => (format!("checks/{id}.md"), include_str!("../../templates/drafts/check.md")),
        Skeleton::Repair => (format!("repairs/{id}.md"), include_str!("../../templates/drafts/repair.md")),
        Skeleton::Spec => (format!("specs/{id}.yaml"), include_str!("../../templates/drafts/spec.yaml")),
    };
    Draft { path, text: text.replace("DRAFT-ID", id) }
}

/// A procedure, in a folder below `procedures` (nothing: in `procedures` itself).
pub fn procedure(id: &str, folder: &str) -> Draft {
    let path = if folder.is_empty() { format!("procedures/{id}.md") } else { format!("procedures/{folder}/{id}.md") };
    Draft { path, text: include_str!("../../templates/drafts/procedure.md").to_owned() }
}

/// A case of a procedure: its first step is to be filled in, the others wait behind a `#`, each with what it can say.
pub fn case(id: &str, base: &Base, procedure: &Procedure) -> Draft {
    let causes: Vec<&str> = procedure.causes.ids().filter(|c| *c != NO_FAULT).collect();
    let text = include_str!("../../templates/drafts/case.yaml")
        .replace("DRAFT-PROCEDURE", &procedure.id)
        .replace("DRAFT-VEHICLE\n", &vehicle(base, procedure))
        .replace("DRAFT-READINGS\n", &readings(procedure))
        .replace("DRAFT-CAUSES", &causes.iter().copied().chain([NO_FAULT]).collect::<Vec<_>>().join(", "));
    Draft { path: format!("cases/{id}.yaml"), text }
}

/// The line of the vehicle; none in a base without vehicles.
fn vehicle(base: &Base, procedure: &Procedure) -> String {
    let ids = base.vehicle_ids(&procedure.applies);
    match ids.iter().find(|id| !id.is_empty()) {
        None => String::new(),
        Some(first) if ids.len() == 1 => format!("vehicle: {first}\n"),
        Some(first) => format!("# one of {}\nvehicle: {first}\n", ids.join(", ")),
    }
}

fn readings(procedure: &Procedure) -> String {
    let asked = procedure.steps.iter().filter(|(_, _, step)| can_say(step).is_some());
    let mut text = String::new();
    for (_, id, step) in asked {
        let mark = if text.is_empty() { "" } else { "# " };
        text.push_str(&format!("  {mark}{id}: TBD    # {}\n", can_say(step).unwrap_or_default()));
    }
    if text.is_empty() { "  {}\n".to_owned() } else { text }
}

/// What a step's reading can be, in one line; nothing for a step that takes none.
fn can_say(step: &Step) -> Option<String> {
    let results: Vec<&str> = step.results.iter().map(|r| r.text.value.as_str()).collect();
    let line = results.join(" | ").split_whitespace().collect::<Vec<_>>().join(" ");
    match &step.kind {
        Kind::Measure(_) => Some(format!("the amount with its unit; the results are {line}")),
        Kind::Observe(_) => Some(format!("exactly one of: {line}")),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_of_the_templates_is_left() {
        for kind in [Skeleton::Check, Skeleton::Repair, Skeleton::Spec] {
            let draft = skeleton(kind, "my-own");
            assert!(!draft.text.contains("DRAFT-"), "{}", draft.text);
            assert!(draft.path.contains("/my-own."));
        }
        assert_eq!(procedure("a", "").path, "procedures/a.md");
        assert_eq!(procedure("a", "b/c").path, "procedures/b/c/a.md");
    }
}
