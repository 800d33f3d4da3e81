//! Meaning without text: what a knowledge base says once every name is resolved.
//!
//! In: nothing (nouns only). Out: the types that `resolve` fills and every later stage reads. A wrong
//! reference cannot be represented: references are indexes made by `resolve`.
//!
//! A base without vehicles has one nameless vehicle, whose id is the empty text.

mod hazards;
mod index;
pub mod meaning;
mod procedure;
mod step;
mod tables;

pub use hazards::{HazardFrom, There};
pub use index::{Ix, Set, Table};
pub use procedure::{
    AfterRepair, Case, CaseCause, CaseReading, Cause, CauseIx, Confirm, Fix, NO_FAULT, Part, Procedure, ProcedureIx,
    Repair, RepairIx, Reviewed, Section, StepIx,
};
pub use step::{Changes, Check, CheckIx, Condition, FactKey, Kind, Measure, Outcome, Shared, Step, Way, Without};
pub use tables::{
    Band, Base, Bay, Code, CodeIx, Equipment, EquipmentIx, Hazard, HazardIx, InstrumentRange, Limits, Place, Range,
    Setup, SetupIx, Shop, Signal, Spec, SpecEntry, SpecIx, System, SystemIx, Take, Term, TermIx, Vehicle, VehicleIx,
    WorkedOut,
};
