//! `cases/*.yaml`: solved jobs.
//!
//! In: a case's tree, then the procedure it names. Out: [`CaseFile`], small, so that tens of thousands fit; then [`Case`].

use smallvec::SmallVec;

use super::cx::{Cx, list, number};
use crate::finding::{Finding, Level};
use crate::model::{Base, Case, CaseCause, CaseReading, NO_FAULT, Place, Procedure, ProcedureIx, VehicleIx};
use crate::parse::yaml::Node;
use crate::quantity::Rational;
use crate::source::{FileId, Sources, Span, Spanned};

/// A case, before its procedure is read.
#[derive(Debug)]
pub struct CaseFile {
    /// Its id.
    pub id: Box<str>,
    /// Its file.
    pub file: FileId,
    /// Where it stands.
    pub place: Place,
    /// The procedure it names.
    pub procedure: ProcedureIx,
    vehicle: Option<Said>,
    cause: Option<Said>,
    /// Steps, each with the readings of its visits.
    readings: Box<[(Said, SmallVec<[Said; 1]>)]>,
    minutes: Option<Rational>,
    note: Option<Said>,
}

/// A text: where it stands, and what it says where that is not what stands there (quotes, folded lines).
#[derive(Debug)]
struct Said {
    span: Span,
    #[allow(
        clippy::box_collection,
        reason = "rare, and there are half a million of these: one pointer, not two words"
    )]
    other: Option<Box<String>>,
}

impl Said {
    fn new(text: &str, span: Span, sources: &Sources) -> Self {
        Self { span, other: (sources.text(span) != text).then(|| Box::new(text.to_owned())) }
    }

    fn of(node: &Node, sources: &Sources) -> Option<Self> {
        node.as_text().map(|text| Self::new(text, node.span, sources))
    }

    fn as_str<'s>(&'s self, sources: &'s Sources) -> &'s str {
        self.other.as_deref().map_or_else(|| sources.text(self.span), String::as_str)
    }

    fn text(&self, sources: &Sources) -> Spanned<String> {
        Spanned::new(self.as_str(sources).to_owned(), self.span)
    }
}

impl CaseFile {
    /// Keeps what a tree of the right shape says.
    pub fn new(id: &str, place: Place, tree: &Node, procedure: ProcedureIx, sources: &Sources) -> Self {
        let said = |key: &str| tree.get(key).and_then(|node| Said::of(node, sources));
        let readings = tree.get("readings").map(Node::entries).unwrap_or_default().iter().map(|entry| {
            let visits = entry.value.as_list().iter().filter_map(|node| Said::of(node, sources)).collect();
            (Said::new(&entry.key.value, entry.key.span, sources), visits)
        });
        Self {
            id: id.into(),
            file: place.key.file,
            place,
            procedure,
            vehicle: said("vehicle"),
            cause: said("cause"),
            readings: readings.collect(),
            minutes: number(tree, "minutes").map(|m| m.value),
            note: said("note"),
        }
    }
}

/// Resolves a case against its procedure. `None` where a name it needs is not there (told).
pub fn case(cx: &mut Cx<'_>, file: &CaseFile, base: &Base, procedure: &Procedure) -> Option<Case> {
    let sources = &cx.loaded.sources;
    if let Some(finding) = unfinished(file, procedure, sources) {
        cx.push(finding);
        return None;
    }
    let vehicle = vehicle(cx, file, base, procedure);
    let cause = file.cause.as_ref().and_then(|name| cause(cx, &name.text(sources), procedure));
    let mut readings = Vec::new();
    let mut complete = true;
    for (step, visits) in &*file.readings {
        match cx.find(&step.text(sources), &procedure.steps, "step", false) {
            Some(ix) => readings.push(CaseReading {
                step: Spanned::new(ix, step.span),
                readings: visits.iter().map(|visit| visit.text(sources)).collect(),
            }),
            None => complete = false,
        }
    }
    if !complete {
        return None;
    }
    Some(Case {
        id: file.id.to_string(),
        place: file.place,
        vehicle: vehicle?,
        readings,
        cause: cause?,
        minutes: file.minutes.clone(),
        note: file.note.as_ref().map(|note| note.text(sources).value),
    })
}

/// A case that still holds `TBD` is no solved job yet: one finding says so, and nothing more is made of it.
fn unfinished(file: &CaseFile, procedure: &Procedure, sources: &Sources) -> Option<Finding> {
    let values = file.readings.iter().flat_map(|(_, visits)| visits).chain(&file.cause);
    let open: Vec<Span> = values.filter(|said| said.as_str(sources) == "TBD").map(|said| said.span).collect();
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
    let Some(name) = file.vehicle.as_ref().map(|name| name.text(&cx.loaded.sources)) else {
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
        // Where a name under `applies` is not there (told), it may be the vehicle's.
        if !procedure.sound {
            return None;
        }
        let ids = base.vehicle_ids(&procedure.applies);
        let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
        cx.bad(name.span, format!("procedure `{}` is not for the {}", procedure.id, name.value))
            .help
            .push(format!("it is for {}", list(&ids)));
        return None;
    }
    Some(vehicle)
}
