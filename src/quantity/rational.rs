//! Exact numbers: two machine words each, as nearly all are in a workshop; as long as need be where they grow beyond.
//!
//! In: whole numbers, digits. Out: [`Rational`], always in lowest terms, so that equal numbers are equal bit for bit.

use std::cmp::Ordering;
use std::fmt;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub};

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};

/// An exact number.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Rational(Repr);

#[derive(Clone, PartialEq, Eq, Hash)]
enum Repr {
    /// Numerator and denominator in lowest terms, the denominator above zero.
    Small(i64, i64),
    /// A number that does not fit two words.
    Big(Box<BigRational>),
}

use Repr::{Big, Small};

/// Whole numbers below this are exact as floating-point numbers.
const EXACT_F64: u64 = 1 << 53;

impl Rational {
    /// `numerator / denominator`; a denominator of zero counts as one.
    pub fn new(numerator: i128, denominator: i128) -> Self {
        if denominator == 1
            && let Ok(whole) = i64::try_from(numerator)
            && whole != i64::MIN
        {
            return Self::from_integer(whole);
        }
        let denominator = if denominator == 0 { 1 } else { denominator };
        let common = gcd(numerator.unsigned_abs(), denominator.unsigned_abs());
        let (over, under) = (numerator.unsigned_abs() / common, denominator.unsigned_abs() / common);
        let negative = (numerator < 0) != (denominator < 0);
        match (i64::try_from(over), i64::try_from(under)) {
            (Ok(over), Ok(under)) => Self(Small(if negative { -over } else { over }, under)),
            _ => Self::from_big(BigRational::new(numerator.into(), denominator.into())),
        }
    }

    /// A whole number.
    pub const fn from_integer(value: i64) -> Self {
        Self(Small(value, 1))
    }

    /// Zero.
    pub const fn zero() -> Self {
        Self::from_integer(0)
    }

    /// One.
    pub const fn one() -> Self {
        Self::from_integer(1)
    }

    /// A whole number of any length divided by a power of ten.
    pub fn scaled(digits: BigInt, decimals: u32) -> Self {
        Self::from_big(BigRational::new(digits, BigInt::from(10).pow(decimals)))
    }

    fn from_big(value: BigRational) -> Self {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            // The lowest word has no positive counterpart.
            (Some(over), Some(under)) if over != i64::MIN => Self(Small(over, under)),
            _ => Self(Big(Box::new(value))),
        }
    }

    fn to_big(&self) -> BigRational {
        match &self.0 {
            Small(over, under) => BigRational::new_raw((*over).into(), (*under).into()),
            Big(value) => value.as_ref().clone(),
        }
    }

    /// Whether it is 0.
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Small(0, _))
    }

    /// Whether it is below 0.
    pub fn is_negative(&self) -> bool {
        match &self.0 {
            Small(over, _) => *over < 0,
            Big(value) => value.is_negative(),
        }
    }

    /// Whether it is whole.
    pub fn is_integer(&self) -> bool {
        match &self.0 {
            Small(_, under) => *under == 1,
            Big(value) => value.is_integer(),
        }
    }

    /// Its distance from 0.
    pub fn abs(&self) -> Self {
        if self.is_negative() { -self } else { self.clone() }
    }

    /// The largest whole number that is not above it.
    pub fn floor(&self) -> Self {
        match &self.0 {
            Small(over, under) => Self::from_integer(over.div_euclid(*under)),
            Big(value) => Self::from_big(value.floor()),
        }
    }

    /// The smallest whole number that is not below it.
    pub fn ceil(&self) -> Self {
        -(-self).floor()
    }

    /// The nearest whole number; a half goes away from zero.
    pub fn round(&self) -> Self {
        let rounded = (self.abs() + Self::new(1, 2)).floor();
        if self.is_negative() { -rounded } else { rounded }
    }

    /// The number times itself so often; below zero its inverse (that of 0 is 0).
    pub fn pow(&self, exponent: i32) -> Self {
        let grown = (0..exponent.unsigned_abs()).fold(Self::one(), |product, _| product * self);
        if exponent < 0 { Self::one() / grown } else { grown }
    }

    /// How many decimals it needs, if its decimal ends.
    pub fn decimals(&self) -> Option<u32> {
        let mut under = match &self.0 {
            Small(_, under) => i128::from(*under),
            Big(value) => return big_decimals(value.denom()),
        };
        let mut take = |factor: i128| {
            let mut times = 0;
            while under % factor == 0 {
                under /= factor;
                times += 1;
            }
            times
        };
        let decimals = take(2).max(take(5));
        (under == 1).then_some(decimals)
    }

    /// The nearest floating-point number.
    pub fn to_f64(&self) -> f64 {
        match &self.0 {
            Small(over, under) if over.unsigned_abs() < EXACT_F64 && under.unsigned_abs() < EXACT_F64 => {
                *over as f64 / *under as f64
            }
            _ => self.to_big().to_f64().unwrap_or(f64::NAN),
        }
    }
}

/// The decimals of a fraction with a denominator of any length.
fn big_decimals(under: &BigInt) -> Option<u32> {
    let mut scale = BigInt::from(1);
    for decimals in 0..=u32::try_from(under.bits()).unwrap_or(u32::MAX) {
        if (&scale % under).is_zero() {
            return Some(decimals);
        }
        scale *= 10;
    }
    None
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        // Division of single words is many times faster, and nearly all are.
        if let (Ok(mut small), Ok(mut other)) = (u64::try_from(a), u64::try_from(b)) {
            while other != 0 {
                (small, other) = (other, small % other);
            }
            return u128::from(small);
        }
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// An operator by words where both numbers are small, by the library where one is not.
macro_rules! operator {
    ($trait:ident, $method:ident, |$a:ident, $b:ident, $c:ident, $d:ident| $over:expr, $under:expr) => {
        impl $trait<&Rational> for &Rational {
            type Output = Rational;
            fn $method(self, other: &Rational) -> Rational {
                match (&self.0, &other.0) {
                    // No product of two words, nor a sum of two such products, leaves an i128.
                    (Small($a, $b), Small($c, $d)) => {
                        let ($a, $b, $c, $d) = (i128::from(*$a), i128::from(*$b), i128::from(*$c), i128::from(*$d));
                        Rational::new($over, $under)
                    }
                    _ => Rational::from_big(self.to_big().$method(other.to_big())),
                }
            }
        }
        impl $trait<Rational> for Rational {
            type Output = Rational;
            fn $method(self, other: Rational) -> Rational {
                (&self).$method(&other)
            }
        }
        impl $trait<&Rational> for Rational {
            type Output = Rational;
            fn $method(self, other: &Rational) -> Rational {
                (&self).$method(other)
            }
        }
        impl $trait<Rational> for &Rational {
            type Output = Rational;
            fn $method(self, other: Rational) -> Rational {
                self.$method(&other)
            }
        }
    };
}

operator!(Add, add, |a, b, c, d| a * d + c * b, b * d);
operator!(Sub, sub, |a, b, c, d| a * d - c * b, b * d);
operator!(Mul, mul, |a, b, c, d| a * c, b * d);

impl Div<&Rational> for &Rational {
    type Output = Rational;
    /// Division by 0 gives 0: no caller divides by it, and none may be stopped by it.
    fn div(self, other: &Rational) -> Rational {
        match &other.0 {
            Small(0, _) => Rational::zero(),
            Small(over, under) => self * Rational::new(i128::from(*under), i128::from(*over)),
            Big(value) => self * Rational::from_big(value.recip()),
        }
    }
}

impl Div<Rational> for Rational {
    type Output = Rational;
    fn div(self, other: Rational) -> Rational {
        &self / &other
    }
}

impl Div<&Rational> for Rational {
    type Output = Rational;
    fn div(self, other: &Rational) -> Rational {
        &self / other
    }
}

impl Div<Rational> for &Rational {
    type Output = Rational;
    fn div(self, other: Rational) -> Rational {
        self / &other
    }
}

impl AddAssign for Rational {
    fn add_assign(&mut self, other: Rational) {
        *self = &*self + other;
    }
}

impl AddAssign<&Rational> for Rational {
    fn add_assign(&mut self, other: &Rational) {
        *self = &*self + other;
    }
}

impl MulAssign<&Rational> for Rational {
    fn mul_assign(&mut self, other: &Rational) {
        *self = &*self * other;
    }
}

impl Neg for &Rational {
    type Output = Rational;
    fn neg(self) -> Rational {
        match &self.0 {
            Small(over, under) => Rational(Small(-over, *under)),
            Big(value) => Rational::from_big(-value.as_ref().clone()),
        }
    }
}

impl Neg for Rational {
    type Output = Rational;
    fn neg(self) -> Rational {
        -&self
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Small(a, b), Small(c, d)) if b == d => a.cmp(c),
            (Small(a, b), Small(c, d)) => (i128::from(*a) * i128::from(*d)).cmp(&(i128::from(*c) * i128::from(*b))),
            _ => self.to_big().cmp(&other.to_big()),
        }
    }
}

impl fmt::Display for Rational {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Small(over, 1) => write!(f, "{over}"),
            Small(over, under) => write!(f, "{over}/{under}"),
            Big(value) => write!(f, "{value}"),
        }
    }
}

impl fmt::Debug for Rational {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
#[path = "rational_tests.rs"]
mod tests;
