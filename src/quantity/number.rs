//! Exact numbers: made from digits, written back as decimals.

use num_bigint::BigInt;

pub use super::rational::Rational;

/// Most significant digits that [`show`] writes for a decimal that ends; a longer one is rounded.
const EXACT_DIGITS: usize = 12;

/// Significant digits that [`show`] rounds to.
pub const ROUNDED_DIGITS: u32 = 6;

/// `numerator / denominator`; a denominator of zero counts as one.
pub fn ratio(numerator: i128, denominator: i128) -> Rational {
    Rational::new(numerator, denominator)
}

/// The number that some digits with at most one point among them say: `124` or `12.4`.
pub fn decimal(text: &str) -> Rational {
    let decimals = text.find('.').map_or(0, |point| text.len() - point - 1) as u32;
    let digits = text.bytes().filter(u8::is_ascii_digit);
    // Eighteen digits fit a machine word.
    if text.len() <= 18 {
        let whole = digits.fold(0, |sum: i64, digit| sum * 10 + i64::from(digit - b'0'));
        return Rational::new(whole.into(), 10_i64.pow(decimals).into());
    }
    let digits: Vec<u8> = digits.collect();
    Rational::scaled(BigInt::parse_bytes(&digits, 10).unwrap_or_default(), decimals)
}

/// One in the last of so many decimals: `last_place(2)` is 0.01.
pub fn last_place(decimals: u32) -> Rational {
    ratio(1, 10).pow(decimals.cast_signed())
}

/// The nearest floating-point number, for drawings and sums of odds; never for a comparison of limits.
pub fn to_f64(value: &Rational) -> f64 {
    value.to_f64()
}

/// How many decimals the number needs, if its decimal ends within `most` decimals.
pub fn decimals_of(value: &Rational, most: u32) -> Option<u32> {
    value.decimals().filter(|decimals| *decimals <= most)
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
    let units = (value.abs() * ratio(10, 1).pow(decimals.cast_signed())).round();
    let sign = if value.is_negative() && !units.is_zero() { "-" } else { "" };
    if decimals == 0 {
        return format!("{sign}{units}");
    }
    let width = decimals as usize + 1;
    let digits = format!("{:0>width$}", units.to_string());
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
        return size.floor().to_string().len().try_into().unwrap_or(i32::MAX);
    }
    let ten = Rational::from_integer(10);
    let mut zeros = 0;
    let mut grown = size * &ten;
    while grown < Rational::one() && zeros < 60 {
        grown *= &ten;
        zeros += 1;
    }
    -zeros
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_digits() {
        assert_eq!(decimal("12.4"), ratio(124, 10));
        assert_eq!(decimal("0450"), ratio(450, 1));
        assert_eq!(decimal(".5"), ratio(1, 2));
        assert_eq!(decimal("123456789012345678.9"), ratio(1_234_567_890_123_456_789, 10));
        assert_eq!(decimal("12345678901234567890123.45"), ratio(1_234_567_890_123_456_789_012_345, 100));
    }

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
}
