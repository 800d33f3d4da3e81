//! Laws that the best order keeps whatever the numbers are.
#![allow(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use proptest::prelude::*;
use ruleout::order::best::{Best, Effort, THOROUGH, best};
use ruleout::order::bits::Bits;
use ruleout::order::problem::{Problem, Set, Step, members, set};
use ruleout::order::tree::Tree;

fn problem() -> impl Strategy<Value = Problem> {
    (2usize..=9).prop_flat_map(|causes| {
        let step =
            (1u32..30, 2usize..=3, prop::collection::vec(0usize..3, causes), 0..1u128 << causes, any::<[bool; 2]>());
        let step = step.prop_map(|(minutes, width, choice, extra, blur)| {
            let mut outcomes = vec![0_u128; width];
            choice.iter().enumerate().for_each(|(cause, outcome)| outcomes[outcome % width] |= 1 << cause);
            if blur == [true, true] {
                outcomes[0] |= extra;
            }
            Step::test(f64::from(minutes), &outcomes)
        });
        (prop::collection::vec(1u32..100, causes), prop::collection::vec(step, 1..=8)).prop_map(|(weights, steps)| {
            Problem { weights: weights.into_iter().map(f64::from).collect(), steps, setups: Vec::new() }
        })
    })
}

fn solve(problem: &Problem) -> Best {
    best(problem, THOROUGH).unwrap()
}

fn least(problem: &Problem) -> f64 {
    solve(problem).figures.minutes
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1e-6)
}

/// The causes in another order.
fn renamed(problem: &Problem, place: &[usize]) -> Problem {
    let mut other = problem.clone();
    for (cause, weight) in problem.weights.iter().enumerate() {
        other.weights[place[cause]] = *weight;
    }
    let moved = |old: Set| set(members(old).map(|cause| place[cause]));
    other.steps.iter_mut().flat_map(|step| &mut step.outcomes).for_each(|outcome| *outcome = moved(*outcome));
    other
}

/// All tests in the author's order, each as long as it tells something.
fn as_authored(problem: &Problem, left: Set, from: usize) -> Tree {
    let Some(step) = (from..problem.steps.len())
        .find(|&step| problem.steps[step].outcomes.iter().any(|out| out.meets(left) && !left.is_within(*out)))
    else {
        return Tree::Stop(left);
    };
    let behind = problem.steps[step].outcomes.iter().enumerate().filter(|(_, out)| out.meets(left));
    Tree::Ask(step, behind.map(|(at, out)| (at, as_authored(problem, left & *out, step + 1))).collect())
}

/// The law of total expectation, and a tree that asks nothing twice.
fn sound(problem: &Problem, found: &Best) -> Result<(), TestCaseError> {
    let odds = problem.odds();
    let sum: f64 = odds.iter().zip(&found.figures.per_cause).map(|(odds, minutes)| odds * minutes).sum();
    prop_assert!(near(sum, found.figures.minutes));
    prop_assert!(found.bound <= found.figures.minutes * (1.0 + 1e-12));
    let [one, two, three] = found.figures.isolation;
    prop_assert!(one <= two + 1e-12 && two <= three + 1e-12 && three <= 1.0 + 1e-9);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_figures_hang_together(problem in problem()) {
        sound(&problem, &solve(&problem))?;
    }

    #[test]
    fn scaling_all_shares_changes_nothing(problem in problem(), factor in 0.01f64..1000.0) {
        let mut other = problem.clone();
        other.weights.iter_mut().for_each(|weight| *weight *= factor);
        prop_assert!(near(least(&problem), least(&other)));
    }

    #[test]
    fn names_and_the_order_of_causes_change_nothing(problem in problem(), turn in 1usize..9) {
        let count = problem.weights.len();
        let place: Vec<usize> = (0..count).map(|cause| (cause + turn) % count).rev().collect();
        prop_assert!(near(least(&problem), least(&renamed(&problem, &place))));
    }

    #[test]
    fn the_order_of_tests_changes_nothing(problem in problem(), turn in 1usize..9) {
        let mut other = problem.clone();
        let by = turn % other.steps.len();
        other.steps.rotate_left(by);
        prop_assert!(near(least(&problem), least(&other)));
    }

    /// A test without shared outcomes: one with them could be taken twice for more news.
    #[test]
    fn a_test_given_twice_changes_nothing(problem in problem(), pick in 0usize..8) {
        let step = problem.steps[pick % problem.steps.len()].clone();
        if (0..problem.weights.len()).all(|cause| step.ways(cause) == 1) {
            let mut other = problem.clone();
            other.steps.push(step);
            prop_assert!(near(least(&problem), least(&other)));
        }
    }

    /// The same reading under two names: the second is done already.
    #[test]
    fn a_reading_given_twice_changes_nothing(problem in problem(), pick in 0usize..8) {
        let mut other = problem.clone();
        let pick = pick % other.steps.len();
        other.steps[pick].key = Some(5);
        other.steps.push(other.steps[pick].clone());
        prop_assert!(near(least(&problem), least(&other)));
    }

    #[test]
    fn a_free_test_never_makes_it_worse(problem in problem(), set in 1u128..511) {
        let before = solve(&problem);
        // it asks for some of the groups that are left in the end, and so tells nothing that the others can't
        let groups = before.figures.groups.iter().enumerate().filter(|(index, _)| set >> index & 1 == 1);
        let tells = groups.fold(Set::NONE, |sum, (_, group)| sum | *group);
        let mut other = problem.clone();
        other.steps.push(Step::test(0.0, &[tells, problem.all() & !tells]));
        let after = solve(&other);
        if before.figures.groups == after.figures.groups {
            prop_assert!(after.figures.minutes <= before.figures.minutes * (1.0 + 1e-9));
        }
    }

    #[test]
    fn a_cause_split_in_two_that_no_test_tells_apart_costs_the_same(problem in problem(), pick in 0usize..9) {
        let (pick, twin) = (pick % problem.weights.len(), problem.weights.len());
        let mut other = problem.clone();
        other.weights[pick] = problem.weights[pick] * 0.25;
        other.weights.push(problem.weights[pick] * 0.75);
        let outcomes = other.steps.iter_mut().flat_map(|step| &mut step.outcomes);
        outcomes.filter(|outcome| outcome.has(pick)).for_each(|outcome| *outcome |= Set::one(twin));
        prop_assert!(near(least(&problem), least(&other)));
    }

    #[test]
    fn the_best_is_never_above_the_authored_order(problem in problem()) {
        let authored = as_authored(&problem, problem.all(), 0).figures(&problem);
        prop_assert!(least(&problem) <= authored.minutes * (1.0 + 1e-9));
    }

    #[test]
    fn search_and_table_agree_and_rules_of_thumb_stay_above(problem in problem()) {
        let exact = least(&problem);
        let table = best(&problem, Effort { search: 0, ..THOROUGH }).unwrap();
        prop_assert!(table.exact && near(table.figures.minutes, exact));
        let thumb = best(&problem, Effort { search: 0, long_search: 0, table: false, ..THOROUGH }).unwrap();
        let short = best(&problem, Effort { nodes: 3, ..THOROUGH }).unwrap();
        prop_assert!(short.exact || short.figures.minutes >= exact * (1.0 - 1e-9) && short.bound <= exact * (1.0 + 1e-9));
        prop_assert!(short.bound >= exact * (1.0 - 1e-6), "the best is known, though it can't be told");
        prop_assert!(thumb.figures.minutes >= exact * (1.0 - 1e-9) && thumb.bound <= exact * (1.0 + 1e-9));
    }
}

/// Two tests of equal worth: the harmless one goes first, else the author's order stands.
#[test]
fn ties_fall_to_the_harmless_then_to_the_authored() {
    let tests = |caution: [bool; 2]| {
        let test =
            |cause: usize, caution: bool| Step { caution, ..Step::test(7.0, &[1 << cause, 7_u128 & !(1 << cause)]) };
        Problem { weights: vec![1.0; 3], steps: vec![test(0, caution[0]), test(1, caution[1])], setups: Vec::new() }
    };
    let first = |caution: [bool; 2], effort| best(&tests(caution), effort).unwrap().tree.steps()[0];
    for effort in [THOROUGH, Effort { search: 0, ..THOROUGH }] {
        assert_eq!(first([false, false], effort), 0);
        assert_eq!(first([true, false], effort), 1);
        assert_eq!(first([false, true], effort), 0);
        assert_eq!(first([true, true], effort), 0);
    }
}

#[test]
fn poor_problems_have_plain_answers() {
    use ruleout::order::problem::Unfit;
    let one = Problem { weights: vec![3.0], steps: vec![Step::test(5.0, &[1_u128])], setups: Vec::new() };
    assert_eq!(solve(&one).tree, Tree::Stop(1.into()));
    let none = Problem::default();
    assert_eq!(solve(&none).tree, Tree::Stop(0.into()));
    let zero = Problem { weights: vec![0.0; 2], steps: vec![Step::test(5.0, &[1_u128, 2])], setups: Vec::new() };
    assert!(near(least(&zero), 5.0));
    let many = Problem { weights: vec![1.0; 1200], ..Problem::default() };
    assert_eq!(best(&many, THOROUGH).unwrap_err(), Unfit::TooManyCauses(1200));
    let bad = Problem { weights: vec![f64::NAN], ..Problem::default() };
    assert_eq!(best(&bad, THOROUGH).unwrap_err(), Unfit::BadNumber);
}
