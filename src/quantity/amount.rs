//! An amount as an author wrote it, and the reading it stands for.

use super::{Quantity, Rational, Unit, number};

/// An exact amount, with all that is needed to write it back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amount {
    /// What it is an amount of.
    pub quantity: Quantity,
    /// The value in the quantity's base unit.
    pub value: Rational,
    /// The number in the written unit.
    pub number: Rational,
    /// The written unit ([`Unit::NONE`] for quantities without one).
    pub unit: Unit,
    /// How many decimals were written.
    pub decimals: u32,
    /// The text as typed (for a worked-out end of `A ± B`, as we would write it).
    pub text: String,
}

/// What a meter shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reading {
    /// A value in the quantity's base unit.
    Value(Rational),
    /// Over-limit: the circuit is open.
    OpenCircuit,
}

impl Amount {
    /// An amount from a number in a unit, written with so many decimals; the text is our own.
    pub fn new(number: Rational, decimals: u32, unit: Unit, quantity: Quantity) -> Amount {
        let text = unit.join(&number::fixed(&number, decimals));
        Amount { quantity, value: unit.to_base(&number, quantity), number, unit, decimals, text }
    }

    /// One in the last written digit, in the base unit: 0.1 kΩ for `1.2 kΩ`.
    pub fn last_digit(&self) -> Rational {
        self.unit.scale() * number::last_place(self.decimals)
    }

    /// The amount in another unit of its quantity, exact where the decimal ends, else rounded.
    pub fn show_in(&self, unit: Unit) -> String {
        unit.show(&self.value, self.quantity)
    }
}
