//! Shares as what they mean: parts, of which only the proportion counts.
//!
//! In: the shares of a procedure's causes as written. Out: the same in the smallest whole numbers (30, 20 and 50 are 3, 2 and 5).

use num_bigint::BigInt;
use num_traits::Zero;
use serde_json::{Value, json};

use crate::quantity::Rational;

/// The shares in their smallest whole numbers; nothing where a cause has none.
pub fn in_proportion(shares: &[Option<&Rational>]) -> Vec<Value> {
    let given: Vec<&Rational> = shares.iter().copied().flatten().collect();
    let scale = given.iter().fold(BigInt::from(1), |all, s| lcm(&all, s.denom()));
    let divisor = given.iter().fold(BigInt::zero(), |all, s| gcd(all, (*s * &scale).to_integer()));
    let whole = |share: &Rational| {
        let number = (share * &scale).to_integer();
        if divisor.is_zero() { number } else { number / &divisor }
    };
    shares.iter().map(|s| s.map_or(Value::Null, |s| json!(whole(s).to_string()))).collect()
}

/// Euclid's algorithm.
fn gcd(mut a: BigInt, mut b: BigInt) -> BigInt {
    while !b.is_zero() {
        let rest = &a % &b;
        a = b;
        b = rest;
    }
    a
}

fn lcm(a: &BigInt, b: &BigInt) -> BigInt {
    a / gcd(a.clone(), b.clone()) * b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::number::ratio;

    #[test]
    fn only_the_proportion_counts() {
        let parts = |list: &[(i128, i128)]| {
            let shares: Vec<Rational> = list.iter().map(|(a, b)| ratio(*a, *b)).collect();
            in_proportion(&shares.iter().map(Some).collect::<Vec<_>>())
        };
        assert_eq!(parts(&[(30, 1), (20, 1), (50, 1)]), parts(&[(3, 2), (1, 1), (5, 2)]));
        assert_ne!(parts(&[(30, 1), (20, 1)]), parts(&[(20, 1), (30, 1)]));
        assert_eq!(parts(&[(0, 1), (0, 1)]), ["0", "0"]);
        assert_eq!(in_proportion(&[Some(&ratio(4, 1)), None]), [json!("1"), Value::Null]);
    }
}
