//! Exact amounts, units, and sets of readings. No text but the symbols of units.
//!
//! In: numbers, units and the shape of a reading phrase ([`Phrase`]). Out: amounts in base units ([`Amount`]), sets of
//! readings ([`ReadingSet`]), and the cells that a step's end points cut the possible readings into ([`Cells`]).
//! All arithmetic is rational, so that limits in psi and in kPa are compared as what they are.

mod accuracy;
mod amount;
mod cells;
mod domain;
mod evaluate;
mod kind;
pub mod number;
mod phrase;
mod rational;
mod set;
mod unit;
mod unit_table;
mod wording;

pub use accuracy::Accuracy;
pub use amount::{Amount, Reading};
pub use cells::{CellSet, Cells};
pub use domain::Domain;
pub use evaluate::{SpecLimits, evaluate, limit_set};
pub use kind::Quantity;
pub use number::Rational;
pub use phrase::{End, Phrase};
pub use set::{Edge, ReadingSet, Span};
pub use unit::{Unit, UnknownUnit};
pub use wording::ANY;
