//! In: authored shares and how often each cause was the one in solved cases. Out: [`Taught`], what the cases teach.
//!
//! A Dirichlet prior of ten jobs, shared as authored: ten solved cases weigh as much as the author's word, so that few
//! never swing it.

use statrs::function::beta::inv_beta_reg;

/// How many jobs the author's word is worth.
const PSEUDO_JOBS: f64 = 10.0;
/// What lies outside the interval on either side.
const TAIL: f64 = 0.05;

/// What the solved cases say of one cause. All numbers are shares of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taught {
    /// As authored.
    pub authored: f64,
    /// With the cases taken in: what `tally --write` would write.
    pub share: f64,
    /// Lower end of the 90 % interval of `share`.
    pub low: f64,
    /// Upper end of the 90 % interval of `share`.
    pub high: f64,
    /// The cases alone speak against the authored share: it lies outside their own 90 % interval.
    pub against: bool,
}

/// Takes solved cases in. `shares` in any unit (all zero counts as all equal), one count for each.
pub fn taught(shares: &[f64], counts: &[u32]) -> Vec<Taught> {
    let total: f64 = shares.iter().sum();
    let causes = shares.len() as f64;
    let jobs: f64 = counts.iter().copied().map(f64::from).sum();
    let one = |(share, count): (&f64, &u32)| {
        let authored = if total > 0.0 { share / total } else { 1.0 / causes };
        let count = f64::from(*count);
        let alpha = PSEUDO_JOBS * authored + count;
        let (low, high) = interval(alpha, PSEUDO_JOBS + jobs - alpha);
        let (least, most) = interval(count + 0.5, jobs - count + 0.5 * (causes - 1.0));
        let outside = authored < least || most < authored;
        Taught { authored, share: alpha / (PSEUDO_JOBS + jobs), low, high, against: jobs > 0.0 && outside }
    };
    shares.iter().zip(counts).map(one).collect()
}

/// The equal-tailed 90 % interval of a beta distribution; a point where one side has no weight.
fn interval(for_it: f64, against_it: f64) -> (f64, f64) {
    // a rest that is only rounding is none
    let none = 1e-9;
    if for_it < none {
        (0.0, 0.0)
    } else if against_it < none {
        (1.0, 1.0)
    } else {
        (inv_beta_reg(for_it, against_it, TAIL), inv_beta_reg(for_it, against_it, 1.0 - TAIL))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms: Beta(1, b) has the quantile 1 − (1 − q)^(1/b).
    #[test]
    fn an_interval_with_a_closed_form() {
        for b in [1.0_f64, 3.0, 9.0, 40.0] {
            let (low, high) = interval(1.0, b);
            assert!((low - (1.0 - 0.95_f64.powf(1.0 / b))).abs() < 1e-9, "{low}");
            assert!((high - (1.0 - 0.05_f64.powf(1.0 / b))).abs() < 1e-9, "{high}");
        }
    }

    #[test]
    fn few_cases_never_swing_it() {
        let found = taught(&[80.0, 20.0], &[0, 2]);
        assert!((found[0].share - 8.0 / 12.0).abs() < 1e-12);
        assert!(!taught(&[80.0, 20.0], &[1, 1])[0].against);
        assert!(taught(&[80.0, 20.0], &[0, 12])[0].against);
    }

    #[test]
    fn no_case_speaks_against_nothing() {
        assert!(taught(&[97.0, 1.0, 1.0, 1.0], &[0; 4]).iter().all(|one| !one.against));
    }

    #[test]
    fn a_cause_that_is_never_it_and_one_that_always_is() {
        let found = taught(&[0.0, 5.0], &[0, 7]);
        assert_eq!((found[0].low, found[0].high), (0.0, 0.0));
        assert_eq!((found[1].low, found[1].high), (1.0, 1.0));
    }
}
