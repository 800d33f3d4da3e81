//! Exact numbers: made from digits, written back as decimals.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// An exact number.
pub type Rational = num_rational::BigRational;

/// Most significant digits that [`show`] writes for a decimal that ends; a longer one is rounded.
const EXACT_DIGITS: usize = 12;

/// Significant digits that [`show`] rounds to.
pub const ROUNDED_DIGITS: u32 = 6;

/// `numerator / denominator`; a denominator of zero counts as one.
pub fn ratio(numerator: i128, denominator: i128) -> Rational {
    let denominator = if denominator == 0 { 1 } else { denominator };
    Rational::new(numerator.into(), denominator.into())
}

/// `digits` shifted by a number of decimals: `scaled(124, 1)` is 12.4.
pub fn scaled(digits: BigInt, decimals: u32) -> Rational {
    Rational::new(digits, power_of_ten(decimals))
}

/// One in the last of so many decimals: `last_place(2)` is 0.01.
pub fn last_place(decimals: u32) -> Rational {
    scaled(BigInt::one(), decimals)
}

/// The order of two numbers. Limits mostly fit a machine word, where multiplying crosswise is many times faster than the
/// continued fractions of the library.
pub fn compare(a: &Rational, b: &Rational) -> Ordering {
    if a.denom() == b.denom() {
        return a.numer().cmp(b.numer());
    }
    let small = |n: &BigInt| n.to_i64().map(i128::from);
    match (small(a.numer()), small(a.denom()), small(b.numer()), small(b.denom())) {
        (Some(an), Some(ad), Some(bn), Some(bd)) => (an * bd).cmp(&(bn * ad)),
        _ => (a.numer() * b.denom()).cmp(&(b.numer() * a.denom())),
    }
}

/// The nearest floating-point number, for drawings and sums of odds; never for a comparison of limits.
pub fn to_f64(value: &Rational) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}

/// How many decimals the number needs, if its decimal ends within `most` decimals.
pub fn decimals_of(value: &Rational, most: u32) -> Option<u32> {
    let ten = BigInt::from(10);
    let mut scale = BigInt::one();
    for decimals in 0..=most {
        if (&scale % value.denom()).is_zero() {
            return Some(decimals);
        }
        scale *= &ten;
    }
    None
}

/// The number as a decimal: exact where it ends within twelve significant digits, else rounded to six.
pub fn show(value: &Rational) -> String {
    exact(value).unwrap_or_else(|| rounded(value, ROUNDED_DIGITS))
}

/// The number as its shortest exact decimal, if that ends within twelve significant digits.
pub fn exact(value: &Rational) -> Option<String> {
    let decimals = decimals_of(value, 2 * EXACT_DIGITS as u32)?;
    let text = fixed(value, decimals);
    let significant = text.trim_start_matches(['-', '0', '.']).chars().filter(char::is_ascii_digit).count();
    (significant <= EXACT_DIGITS || decimals == 0).then_some(text)
}

/// The number rounded to so many significant digits (half away from zero), without trailing zeros after the point.
pub fn rounded(value: &Rational, digits: u32) -> String {
    let whole_digits = integer_digits(value);
    let decimals = u32::try_from(digits.cast_signed() - whole_digits).unwrap_or(0).min(60);
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The number with exactly so many decimals (half away from zero).
pub fn fixed(value: &Rational, decimals: u32) -> String {
    let scale = Rational::from_integer(power_of_ten(decimals));
    let units = (value.abs() * scale).round().to_integer();
    let sign = if value.is_negative() && !units.is_zero() { "-" } else { "" };
    if decimals == 0 {
        return format!("{sign}{units}");
    }
    let width = decimals as usize + 1;
    let digits = format!("{units:0>width$}");
    let (whole, part) = digits.split_at(digits.len() - decimals as usize);
    format!("{sign}{whole}.{part}")
}

/// Digits before the point; for numbers below one, minus the zeros that follow the point (0.05 gives -1).
fn integer_digits(value: &Rational) -> i32 {
    let size = value.abs();
    if size.is_zero() {
        return 1;
    }
    if size >= Rational::one() {
        return size.to_integer().to_string().len().try_into().unwrap_or(i32::MAX);
    }
    let ten = Rational::from_integer(10.into());
    let mut zeros = 0;
    let mut grown = size * &ten;
    while grown < Rational::one() && zeros < 60 {
        grown *= &ten;
        zeros += 1;
    }
    -zeros
}

fn power_of_ten(exponent: u32) -> BigInt {
    BigInt::from(10).pow(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_exact_and_rounded_decimals() {
        assert_eq!(show(&ratio(124, 10)), "12.4");
        assert_eq!(show(&ratio(-1, 20)), "-0.05");
        assert_eq!(show(&ratio(1200, 1)), "1200");
        assert_eq!(show(&ratio(1, 3)), "0.333333");
        assert_eq!(show(&ratio(200, 3)), "66.6667");
        assert_eq!(show(&ratio(1, 30000)), "0.0000333333");
        assert_eq!(rounded(&ratio(9_999_999, 10_000_000), 6), "1");
        assert_eq!(fixed(&ratio(-1, 1000), 2), "0.00");
        assert_eq!(decimals_of(&ratio(1, 8), 10), Some(3));
        assert_eq!(decimals_of(&ratio(1, 3), 10), None);
    }

    #[test]
    fn compares_as_the_library_does() {
        let big = ratio(i128::MAX, 3);
        let numbers =
            [ratio(1, 3), ratio(-1, 3), ratio(2, 6), ratio(1, 4), ratio(0, 1), big.clone(), -big, ratio(7, 1)];
        for (a, b) in numbers.iter().flat_map(|a| numbers.iter().map(move |b| (a, b))) {
            assert_eq!(compare(a, b), a.cmp(b), "{a} and {b}");
        }
    }
}
