//! In: the price and the fitting time of a cause's part, and the minutes of testing as written. Out: [`PartFirst`],
//! whether it pays to fit the part untested.

/// The part of a cause, and what labour costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Position of the cause.
    pub cause: usize,
    /// In the shop's currency.
    pub price: f64,
    /// Minutes to fit it.
    pub minutes: f64,
    /// The shop's labour rate, per minute.
    pub rate: f64,
}

/// Fit the part first, or test first. Costs are in the shop's currency; the other repairs cost the same either way and
/// are left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartFirst {
    /// The odds that this part is it.
    pub cures: f64,
    /// Fit it untested, go on as written when that does not cure it.
    pub cost_part_first: f64,
    /// Test as written, fit the part where the tests end at its cause.
    pub cost_test_first: f64,
    /// Fitting it untested pays where the odds are above this.
    pub break_even: f64,
}

/// Weighs a part against the tests: `odds` of each cause (adding up to 1), expected `minutes` of testing given each.
///
/// ```text
/// part first = P + r F + r Σ(x≠c) p(x) m(x)
/// test first = r Σ p(x) m(x) + p (P + r F)
/// break even = (P + r F) / (P + r F + r m(c))
/// ```
pub fn part_first(part: Part, odds: &[f64], minutes: &[f64]) -> PartFirst {
    let cures = odds.get(part.cause).copied().unwrap_or(0.0);
    let own = minutes.get(part.cause).copied().unwrap_or(0.0);
    let fit = part.price + part.rate * part.minutes;
    let all: f64 = odds.iter().zip(minutes).map(|(odds, minutes)| odds * minutes).sum();
    let others: f64 = odds
        .iter()
        .zip(minutes)
        .enumerate()
        .filter(|(cause, _)| *cause != part.cause)
        .map(|(_, (odds, minutes))| odds * minutes)
        .sum();
    let stake = fit + part.rate * own;
    PartFirst {
        cures,
        cost_part_first: fit + part.rate * others,
        cost_test_first: part.rate * all + cures * fit,
        // a part that costs nothing against tests that cost nothing: neither loses
        break_even: if stake > 0.0 { fit / stake } else { 0.0 },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At the break-even odds both cost the same, whatever the rest.
    #[test]
    fn both_ways_cost_the_same_at_the_break_even_odds() {
        let part = |cause| Part { cause, price: 140.0, minutes: 45.0, rate: 1.2 };
        let minutes = [400.0, 20.0, 35.0];
        let even = part_first(part(0), &[0.5, 0.3, 0.2], &minutes).break_even;
        let rest = 1.0 - even;
        let found = part_first(part(0), &[even, rest * 0.6, rest * 0.4], &minutes);
        assert!((found.cost_part_first - found.cost_test_first).abs() < 1e-9);
        assert!((even - 194.0 / (194.0 + 480.0)).abs() < 1e-12);
    }

    /// By hand: 100 + 10 + 0.25 × 40 against 0.75 × 20 + 0.25 × 40 + 0.75 × 110.
    #[test]
    fn a_worked_example() {
        let part = Part { cause: 0, price: 100.0, minutes: 10.0, rate: 1.0 };
        let found = part_first(part, &[0.75, 0.25], &[20.0, 40.0]);
        assert!((found.cost_part_first - 120.0).abs() < 1e-12);
        assert!((found.cost_test_first - 107.5).abs() < 1e-12);
        assert!((found.break_even - 110.0 / 130.0).abs() < 1e-12);
    }

    #[test]
    fn a_free_part_against_free_tests_is_no_division_by_nothing() {
        let part = Part { cause: 0, price: 0.0, minutes: 0.0, rate: 1.0 };
        assert!(part_first(part, &[1.0], &[0.0]).break_even.abs() < 1e-12);
    }
}
