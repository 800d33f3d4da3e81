//! Shares as what they mean: parts, of which only the proportion counts.
//!
//! In: the shares of a procedure's causes as written. Out: each as a part of all of them (30, 20 and 50 are 3/10, 1/5 and 1/2).

use crate::quantity::Rational;
use crate::quantity::number::ratio;

/// The shares as parts of their sum, exactly; nothing where a cause has none.
pub fn in_proportion(shares: &[Option<&Rational>]) -> Vec<Option<String>> {
    let total = shares.iter().flatten().fold(ratio(0, 1), |sum, share| &sum + *share);
    let part = |share: &Rational| if total.is_zero() { share.clone() } else { share / &total };
    shares.iter().map(|s| s.map(|s| part(s).to_string())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_proportion_counts() {
        let parts = |list: &[(i128, i128)]| {
            let shares: Vec<Rational> = list.iter().map(|(a, b)| ratio(*a, *b)).collect();
            in_proportion(&shares.iter().map(Some).collect::<Vec<_>>())
        };
        assert_eq!(parts(&[(30, 1), (20, 1), (50, 1)]), parts(&[(3, 2), (1, 1), (5, 2)]));
        assert_ne!(parts(&[(30, 1), (20, 1)]), parts(&[(20, 1), (30, 1)]));
        assert_eq!(parts(&[(0, 1), (0, 1)]), [Some("0".to_owned()), Some("0".to_owned())]);
        assert_eq!(in_proportion(&[Some(&ratio(4, 1)), None]), [Some("1".to_owned()), None]);
    }
}
