//! `cases/*.yaml`: solved jobs.
//!
//! In: a case's tree and the procedure it names. Out: [`Case`].

use super::cx::{Cx, list, number, plain, text};
use crate::finding::{Finding, Level};
use crate::model::{Base, Case, CaseCause, CaseReading, NO_FAULT, Place, Procedure, VehicleIx};
use crate::parse::yaml::Node;
use crate::source::{FileId, Spanned};

/// A case's tree, before its procedure is read.
#[derive(Debug)]
pub struct CaseFile {
    /// Its id.
    pub id: String,
    /// Its file.
    pub file: FileId,
    /// Its tree; nothing where it did not parse.
    pub tree: Node,
    /// Where it stands.
    pub place: Place,
}

impl CaseFile {
    /// The procedure it names.
    pub fn procedure(&self) -> Option<Spanned<String>> {
        text(&self.tree, "procedure")
    }
}

/// Resolves a case against its procedure. `None` where a name it needs is not there (told).
pub fn case(cx: &mut Cx<'_>, file: &CaseFile, base: &Base, procedure: &Procedure) -> Option<Case> {
    if let Some(finding) = unfinished(file, procedure) {
        cx.push(finding);
        return None;
    }
    let vehicle = vehicle(cx, file, base, procedure);
    let cause = text(&file.tree, "cause").and_then(|name| cause(cx, &name, procedure));
    let mut readings = Vec::new();
    let mut complete = true;
    for entry in file.tree.get("readings").map(Node::entries).unwrap_or_default() {
        match cx.find(&entry.key, &procedure.steps, "step", false) {
            Some(step) => readings.push(CaseReading {
                step: Spanned::new(step, entry.key.span),
                readings: entry.value.as_list().iter().filter_map(Node::spanned).collect(),
            }),
            None => complete = false,
        }
    }
    if !complete {
        return None;
    }
    Some(Case {
        id: file.id.clone(),
        place: file.place,
        vehicle: vehicle?,
        readings,
        cause: cause?,
        minutes: number(&file.tree, "minutes").map(|m| m.value),
        note: plain(&file.tree, "note"),
    })
}

/// A case that still holds `TBD` is no solved job yet: one finding says so, and nothing more is made of it.
fn unfinished(file: &CaseFile, procedure: &Procedure) -> Option<Finding> {
    let readings = file.tree.get("readings").map(Node::entries).unwrap_or_default().iter();
    let values = readings.flat_map(|entry| entry.value.as_list()).chain(file.tree.get("cause"));
    let open: Vec<_> =
        values.filter_map(Node::spanned).filter(|text| text.value == "TBD").map(|text| text.span).collect();
    let (first, others) = open.split_first()?;
    let message = format!("case `{}` is not filled in yet", file.id);
    let finding = Finding::new("placeholder-value", Level::Warning, *first, message)
        .help("write what was read or found in place of TBD; until then the case is not counted and not judged")
        .in_procedure(&procedure.id);
    Some(others.iter().fold(finding, |finding, span| finding.label(*span, "and here")))
}

fn cause(cx: &mut Cx<'_>, name: &Spanned<String>, procedure: &Procedure) -> Option<Spanned<CaseCause>> {
    if name.value == NO_FAULT {
        return Some(Spanned::new(CaseCause::NoFault, name.span));
    }
    let cause = cx.find(name, &procedure.causes, "cause", false)?;
    Some(Spanned::new(CaseCause::Cause(cause), name.span))
}

/// The vehicle; it may be left out where the procedure is for one only.
fn vehicle(cx: &mut Cx<'_>, file: &CaseFile, base: &Base, procedure: &Procedure) -> Option<VehicleIx> {
    let Some(name) = text(&file.tree, "vehicle") else {
        if procedure.applies.len() == 1 {
            return procedure.applies.first();
        }
        let ids = base.vehicle_ids(&procedure.applies);
        let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
        cx.bad(file.place.key, "a case needs `vehicle`").help.push(format!("one of {}", list(&ids)));
        return None;
    };
    let vehicle = cx.find(&name, &base.vehicles, "vehicle", base.broken.contains("vehicles.yaml"))?;
    if !procedure.applies.contains(vehicle) {
        let ids = base.vehicle_ids(&procedure.applies);
        let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
        cx.bad(name.span, format!("procedure `{}` is not for the {}", procedure.id, name.value))
            .help
            .push(format!("it is for {}", list(&ids)));
        return None;
    }
    Some(vehicle)
}
