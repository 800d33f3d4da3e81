//! What one procedure names, for rules that look across files and for the pages of the site.
//!
//! In: a procedure. Out: its [`Digest`]: small, so that a base of ten thousand fits.

use crate::model::meaning;
use crate::model::{
    Base, Check, Code, CodeIx, Equipment, FactKey, Fix, Hazard, Kind, Procedure, ProcedureIx, Repair, Set, Setup,
    SetupIx, Spec, StepIx, SystemIx, Vehicle, Way,
};
use crate::parse::markdown::{Body, Link};
use crate::source::{FileId, Span, Spanned};

/// A cause in a few words.
#[derive(Clone, Debug)]
pub struct CauseDigest {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Other words for it and the part's name and number, for search.
    pub also: Vec<String>,
}

/// What one procedure names.
#[derive(Clone, Debug, Default)]
pub struct Digest {
    /// The procedure's id.
    pub id: String,
    /// Its index in the base.
    pub ix: Option<ProcedureIx>,
    /// Title.
    pub title: String,
    /// The complaint.
    pub complaint: String,
    /// The customer's words.
    pub also: Vec<String>,
    /// Fault codes, in written order.
    pub codes: Vec<CodeIx>,
    /// Vehicles it applies to.
    pub applies: Set<Vehicle>,
    /// The system.
    pub system: Option<SystemIx>,
    /// The causes, in written order.
    pub causes: Vec<CauseDigest>,
    /// Each step's id and title, in written order.
    pub steps: Vec<(String, String)>,
    /// Where each step stands.
    pub step_spans: Vec<Span>,
    /// Codes it names, as a set.
    pub code_set: Set<Code>,
    /// Specs that its steps measure.
    pub specs: Set<Spec>,
    /// Shared checks that its steps use.
    pub checks: Set<Check>,
    /// Shared repairs that its causes name.
    pub repairs: Set<Repair>,
    /// Equipment in any alternative of any step.
    pub equipment: Set<Equipment>,
    /// Setups that its steps name.
    pub setups: Set<Setup>,
    /// Hazards that it or its steps name.
    pub hazards: Set<Hazard>,
    /// Procedures that its results jump to.
    pub jumps: Set<FileId>,
    /// Who reviewed it and when, as written.
    pub reviewed: Option<(String, String)>,
    /// The digest of its meaning, where the review names one.
    pub meaning: Option<String>,
    /// Its file.
    pub file: FileId,
    /// Figures that its steps name.
    pub figures: Vec<Spanned<String>>,
    /// Where it jumps: the step, the other procedure, the place.
    pub jump_places: Vec<(StepIx, ProcedureIx, Span)>,
    /// Anchors of its page: steps, causes, headings with an id.
    pub anchors: Vec<String>,
    /// Its links and pictures.
    pub links: Vec<Link>,
    /// Raw HTML in its words.
    pub raw_html: Vec<Span>,
    /// Vehicles and groups that it names, as written.
    pub who: Vec<String>,
    /// Specs that its `changes` name.
    pub changed: Set<Spec>,
    /// Hazards that its `away-from` name.
    pub waived: Set<Hazard>,
    /// Setups that its steps name, each with the hazards that such a step meets before any `away-from`.
    pub setup_hazards: Vec<(SetupIx, Set<Hazard>)>,
    /// Whether it is sound enough to be judged.
    pub sound: bool,
}

impl Digest {
    /// The digest of a procedure.
    pub fn of(base: &Base, procedure: &Procedure, body: &Body) -> Self {
        let shared = || procedure.steps.iter().map(|(_, _, step)| &step.shared);
        let ways = procedure.steps.iter().flat_map(|(_, _, step)| {
            step.results.iter().map(|r| &r.way).chain(step.without.iter().map(|w| &w.way)).collect::<Vec<_>>()
        });
        Self {
            id: procedure.id.clone(),
            ix: Some(procedure.ix),
            title: procedure.title.clone(),
            complaint: procedure.complaint.value.clone(),
            also: procedure.also.clone(),
            codes: procedure.codes.iter().map(|c| c.value).collect(),
            applies: procedure.applies.clone(),
            system: procedure.system.as_ref().map(|s| s.value),
            causes: procedure.causes.iter().map(|(_, id, cause)| cause_digest(id, cause)).collect(),
            steps: procedure.steps.iter().map(|(_, id, step)| (id.to_owned(), step.title.clone())).collect(),
            step_spans: procedure.steps.iter().map(|(_, _, step)| step.place.whole).collect(),
            code_set: procedure.codes.iter().map(|c| c.value).collect(),
            specs: procedure
                .steps
                .iter()
                .filter_map(|(_, _, step)| Some(step.measure()?.spec.as_ref()?.value))
                .collect(),
            checks: procedure.steps.iter().filter_map(|(_, _, step)| Some(step.check.as_ref()?.value)).collect(),
            repairs: procedure
                .causes
                .iter()
                .filter_map(|(_, _, cause)| match cause.fix.as_ref()?.value {
                    Fix::Repair(repair) => Some(repair),
                    Fix::Heading(_) => None,
                })
                .collect(),
            equipment: shared().flat_map(|s| s.with.iter().flat_map(|w| w.value.iter().copied())).collect(),
            setups: shared().flat_map(|s| s.setup.iter().map(|x| x.value)).collect(),
            hazards: procedure
                .hazards
                .iter()
                .map(|h| h.value)
                .chain(shared().flat_map(|s| s.hazards.iter().map(|h| h.value)))
                .collect(),
            jumps: ways
                .filter_map(|way| match way {
                    Way::Jump(to) => Some(*to),
                    _ => None,
                })
                .collect(),
            reviewed: procedure.reviewed.as_ref().map(|r| (r.by.clone(), r.on.clone())),
            meaning: procedure
                .reviewed
                .as_ref()
                .filter(|review| review.of.is_some())
                .map(|_| meaning::digest(base, procedure)),
            file: procedure.file,
            figures: shared().filter_map(|s| s.figure.clone()).collect(),
            jump_places: jump_places(procedure),
            anchors: anchors(procedure),
            links: body.links.clone(),
            raw_html: body.raw_html.clone(),
            who: who(procedure),
            changed: changed(procedure),
            waived: shared().flat_map(|s| s.away_from.iter().map(|h| h.value)).collect(),
            setup_hazards: procedure
                .steps
                .iter()
                .flat_map(|(_, _, step)| {
                    let there: Set<Hazard> = base.hazards_there(procedure, step).iter().map(|t| t.hazard).collect();
                    step.shared.setup.iter().map(move |s| (s.value, there.clone()))
                })
                .collect(),
            sound: procedure.sound,
        }
    }
}

/// Vehicles and groups named by `applies` and by every `for`.
fn who(procedure: &Procedure) -> Vec<String> {
    let routes = procedure.steps.iter().filter(|(_, _, s)| matches!(s.kind, Kind::Which));
    let routes = routes.flat_map(|(_, _, s)| s.results.iter().flat_map(|r| r.text.value.split(", ")));
    let causes = procedure.causes.iter().flat_map(|(_, _, c)| c.on_text.iter().map(String::as_str));
    let applies = procedure.applies_text.iter().map(|t| t.value.as_str());
    applies.chain(causes).chain(routes).map(str::to_owned).collect()
}

fn changed(procedure: &Procedure) -> Set<Spec> {
    let keys = procedure.steps.iter().flat_map(|(_, _, s)| s.changes.keys.iter().map(|k| &k.value));
    keys.filter_map(|key| match key {
        FactKey::Spec(spec) => Some(*spec),
        _ => None,
    })
    .collect()
}

impl Digest {
    /// The step that holds a place.
    pub fn step_at(&self, span: Span) -> Option<&str> {
        let at = self.step_spans.iter().position(|s| s.start <= span.start && span.end <= s.end)?;
        self.steps.get(at).map(|(id, _)| id.as_str())
    }
}

fn jump_places(procedure: &Procedure) -> Vec<(StepIx, ProcedureIx, Span)> {
    let mut places = Vec::new();
    for (at, _, step) in procedure.steps.iter() {
        let ways = step.results.iter().map(|r| (&r.way, r.way_span));
        for (way, span) in ways.chain(step.without.iter().map(|w| (&w.way, w.way_span))) {
            if let Way::Jump(to) = way {
                places.push((at, *to, span));
            }
        }
    }
    places
}

fn anchors(procedure: &Procedure) -> Vec<String> {
    let headings = procedure.sections.iter().filter_map(|s| s.id.as_ref()).map(|i| i.value.as_str());
    procedure.steps.ids().chain(procedure.causes.ids()).chain(headings).map(str::to_owned).collect()
}

fn cause_digest(id: &str, cause: &crate::model::Cause) -> CauseDigest {
    let part = cause.part.iter().flat_map(|p| p.name.iter().chain(&p.number));
    CauseDigest {
        id: id.to_owned(),
        title: cause.title.clone(),
        also: cause.also.iter().chain(part).cloned().collect(),
    }
}
