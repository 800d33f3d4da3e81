//! Procedures, causes, repairs and cases.
//!
//! In: nothing (nouns only). Out: [`Procedure`] and what belongs to it.

use super::step::{CheckIx, Step};
use super::tables::{CodeIx, EquipmentIx, HazardIx, Place, SystemIx, Vehicle, VehicleIx};
use super::{Ix, Set, Table};
use crate::finding::Allowance;
use crate::quantity::Rational;
use crate::source::{FileId, Span, Spanned};

/// Index of a cause within its procedure.
pub type CauseIx = Ix<Cause>;
/// Index of a step within its procedure.
pub type StepIx = Ix<Step>;
/// Index of a shared repair.
pub type RepairIx = Ix<Repair>;
/// Index of a procedure in [`Base::procedures`](super::Base::procedures).
pub type ProcedureIx = Ix<FileId>;

/// How a cause is mended.
#[derive(Clone, Debug)]
pub enum Fix {
    /// A heading in the body: index into [`Procedure::sections`].
    Heading(usize),
    /// A shared repair.
    Repair(RepairIx),
}

/// A part that may be fitted.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub name: Option<String>,
    /// Its number.
    pub number: Option<String>,
    /// Its price in the shop's currency.
    pub price: Option<Rational>,
    /// Minutes to fit it.
    pub minutes: Option<Rational>,
    /// Where it stands.
    pub span: Span,
}

/// What may be wrong.
#[derive(Clone, Debug)]
pub struct Cause {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Authored share, in parts.
    pub share: Option<Spanned<Rational>>,
    /// Whether `share` stands there at all, readable or not.
    pub share_named: bool,
    /// How it is mended.
    pub fix: Option<Spanned<Fix>>,
    /// Whether `fix` stands there at all, found or not.
    pub fix_named: bool,
    /// Vehicles it exists on.
    pub on: Set<Vehicle>,
    /// `for` as written; nothing where absent.
    pub on_text: Vec<String>,
    /// The part that would be fitted.
    pub part: Option<Part>,
    /// Other words for it, for search.
    pub also: Vec<String>,
}

/// A result that confirms a repair.
#[derive(Clone, Debug)]
pub enum Confirm {
    /// A step of this procedure and one of its results.
    Step {
        /// The step.
        step: Spanned<StepIx>,
        /// Index of the result.
        result: usize,
    },
    /// By a shared check and the text of a result (in a shared repair).
    Check {
        /// The check.
        check: Spanned<CheckIx>,
        /// The `if` as written.
        result: Spanned<String>,
    },
    /// By the id of a step that every procedure which uses the repair has (in a shared repair).
    Named {
        /// The step's id.
        step: Spanned<String>,
        /// The `if` as written.
        result: Spanned<String>,
    },
}

/// How a repair is confirmed.
#[derive(Clone, Debug, Default)]
pub struct AfterRepair {
    /// Where `after-repair` stands.
    pub span: Option<Span>,
    /// Results to see.
    pub confirm: Vec<Confirm>,
    /// Whether `confirm` holds a line at all, found or not.
    pub confirm_named: bool,
    /// Whether `trips` stands under a wrong spelling (told).
    pub trips_unread: bool,
    /// `codes: clear`.
    pub clear_codes: bool,
    /// Trips, as written.
    pub trips: Option<Spanned<u32>>,
}

/// A repair that several procedures share.
#[derive(Clone, Debug)]
pub struct Repair {
    /// Its file.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Equipment, each item a list of alternatives.
    pub with: Vec<Spanned<Vec<EquipmentIx>>>,
    /// Minutes.
    pub minutes: Option<Rational>,
    /// Hazards.
    pub hazards: Vec<Spanned<HazardIx>>,
    /// How it is confirmed.
    pub after: AfterRepair,
    /// What must be put back.
    pub undo: Option<Spanned<String>>,
    /// Where its words begin and end.
    pub body: Span,
}

/// A record of a review.
#[derive(Clone, Debug)]
pub struct Reviewed {
    /// Who.
    pub by: String,
    /// When, as written (YYYY-MM-DD).
    pub on: String,
    /// Digest of the meaning that was reviewed.
    pub of: Option<Spanned<String>>,
    /// Where it stands.
    pub span: Span,
}

/// A heading of the body and what stands under it.
#[derive(Clone, Debug)]
pub struct Section {
    /// The id in `{#id}`.
    pub id: Option<Spanned<String>>,
    /// The heading's text.
    pub title: String,
    /// 1 to 6.
    pub level: u8,
    /// The heading.
    pub heading: Span,
    /// What stands under it, up to the next heading of the same or a higher rank that starts a section.
    pub content: Span,
}

/// A fault-isolation procedure.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Its id: the file's name.
    pub id: String,
    /// Its index in the base.
    pub ix: ProcedureIx,
    /// Its file.
    pub file: FileId,
    /// The first `#` heading, else the complaint.
    pub title: String,
    /// The complaint.
    pub complaint: Spanned<String>,
    /// The customer's words.
    pub also: Vec<String>,
    /// Fault codes.
    pub codes: Vec<Spanned<CodeIx>>,
    /// Vehicles it applies to (never empty unless the names did not resolve).
    pub applies: Set<Vehicle>,
    /// `applies` as written; nothing where absent.
    pub applies_text: Vec<Spanned<String>>,
    /// The system.
    pub system: Option<Spanned<SystemIx>>,
    /// The causes by id; `no-fault` among them if listed.
    pub causes: Table<Cause>,
    /// The steps by id; the first is the start.
    pub steps: Table<Step>,
    /// Hazards of every step.
    pub hazards: Vec<Spanned<HazardIx>>,
    /// How a repair is confirmed.
    pub after_repair: AfterRepair,
    /// Allowances.
    pub allow: Vec<Allowance>,
    /// The review.
    pub reviewed: Option<Reviewed>,
    /// Headings of the body in order.
    pub sections: Vec<Section>,
    /// The words before the first heading of a step, repair or section (its `#` title left out).
    pub intro: Span,
    /// Whether every name resolved and every result could be read: only then is it judged further.
    pub sound: bool,
}

/// The id of the cause that means "no fault".
pub const NO_FAULT: &str = "no-fault";

impl Procedure {
    /// The reserved cause, if listed.
    pub fn no_fault(&self) -> Option<CauseIx> {
        self.causes.find(NO_FAULT)
    }

    /// Causes that exist on a vehicle, `no-fault` among them.
    pub fn causes_on(&self, vehicle: VehicleIx) -> Set<Cause> {
        self.causes.iter().filter(|(_, _, c)| c.on.contains(vehicle)).map(|(ix, _, _)| ix).collect()
    }

    /// The ids of these causes, in written order.
    pub fn cause_ids(&self, set: &Set<Cause>) -> Vec<String> {
        set.iter().map(|c| self.causes.id(c).to_owned()).collect()
    }

    /// The start.
    pub fn start(&self) -> Option<StepIx> {
        self.steps.indexes().next()
    }
}

/// One reading of a case, as written.
#[derive(Clone, Debug)]
pub struct CaseReading {
    /// The step.
    pub step: Spanned<StepIx>,
    /// The readings of its visits in order, as written.
    pub readings: Vec<Spanned<String>>,
}

/// The cause that a case ended in.
#[derive(Clone, Debug)]
pub enum CaseCause {
    /// A cause of the procedure.
    Cause(CauseIx),
    /// The reserved `no-fault`.
    NoFault,
}

/// A job whose cause is known.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its id: the file's name.
    pub id: String,
    /// Its file and where it begins.
    pub place: Place,
    /// The vehicle.
    pub vehicle: VehicleIx,
    /// The readings.
    pub readings: Vec<CaseReading>,
    /// The true cause.
    pub cause: Spanned<CaseCause>,
    /// Minutes it took.
    pub minutes: Option<Rational>,
    /// A note.
    pub note: Option<String>,
}
