//! How far an instrument's reading may be off: ±(% of reading + digits × resolution + amount), the usual statement of a meter's
//! data sheet (common practice).

use super::{Quantity, Rational, number};

/// An instrument's accuracy, a sum of three terms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accuracy {
    /// What it measures.
    pub quantity: Quantity,
    /// Per cent of the reading.
    pub percent: Rational,
    /// How many steps of the resolution.
    pub digits: Rational,
    /// A fixed amount, in the base unit of the quantity's step (a temperature's is a difference).
    pub amount: Rational,
}

impl Accuracy {
    /// No error at all.
    pub fn exact(quantity: Quantity) -> Accuracy {
        Accuracy { quantity, percent: Rational::zero(), digits: Rational::zero(), amount: Rational::zero() }
    }

    /// The largest error at a reading, both and the resolution in the base unit. Per cent of a temperature count from 0 °C.
    pub fn error_at(&self, reading: &Rational, resolution: &Rational) -> Rational {
        let zero = match self.quantity {
            Quantity::Temperature => number::ratio(27_315, 100),
            _ => Rational::zero(),
        };
        let of_reading = (reading - zero).abs() * &self.percent / number::ratio(100, 1);
        of_reading + resolution * &self.digits + &self.amount
    }
}
