//! The best order against all orders there are: a recursion over full histories, written from the definition.
#![allow(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use proptest::prelude::*;
use ruleout::order::best::{Best, Effort, THOROUGH, best};
use ruleout::order::bits::Bits;
use ruleout::order::problem::{Problem, Set, Setup, Step};
use ruleout::order::tree::Tree;

/// Only the search; only the table; only rules of thumb.
const SEARCH: Effort = Effort { guess: 0, search: 1_000_000, long_search: 1_000_000, table: false, nodes: 1_000_000 };
const TABLE: Effort = Effort { guess: 0, search: 0, long_search: 1_000_000, table: true, nodes: 1_000_000 };
const THUMB: Effort = Effort { guess: 1_000_000, search: 0, long_search: 0, table: false, nodes: 1_000_000 };

/// What was done so far, step by step, with the outcome of each test.
type History = Vec<(usize, usize)>;

struct Brute<'a> {
    problem: &'a Problem,
    odds: Vec<f64>,
    /// Steps whose needs don't go round in a ring.
    usable: Vec<bool>,
}

impl Brute<'_> {
    /// Odds of the history given a cause.
    fn likely(&self, history: &History, cause: usize) -> f64 {
        let mut odds = 1.0;
        for &(step, outcome) in history {
            let outcomes = &self.problem.steps[step].outcomes;
            if outcomes.is_empty() {
                continue;
            }
            let ways = outcomes.iter().filter(|set| set.has(cause)).count();
            odds = if outcomes[outcome].has(cause) { odds / ways as f64 } else { return 0.0 };
        }
        odds
    }

    fn left(&self, history: &History) -> Vec<usize> {
        (0..self.odds.len()).filter(|&cause| self.likely(history, cause) > 0.0).collect()
    }

    /// Set-ups in force, by replaying the history; and the minutes of the set-ups of one more step.
    fn setup_minutes(&self, history: &History, next: usize) -> f64 {
        let mut force: Vec<bool> = vec![false; self.problem.setups.len()];
        let mut last = 0.0;
        for step in history.iter().map(|done| done.0).chain([next]) {
            last = 0.0;
            for setup in 0..force.len() {
                if self.problem.steps[step].setups.has(setup) {
                    if !force[setup] {
                        last += self.problem.setups[setup].minutes;
                    }
                    for (other, in_force) in force.iter_mut().enumerate() {
                        *in_force &= !self.problem.setups[setup].ends.has(other);
                    }
                    force[setup] = true;
                }
            }
        }
        last
    }

    /// Whether the step's reading was taken and not changed since.
    fn taken(&self, history: &History, step: usize) -> bool {
        let Some(key) = self.problem.steps[step].key else { return false };
        let mut taken = false;
        for &(done, _) in history {
            taken |= self.problem.steps[done].key == Some(key);
            taken &= !self.problem.steps[done].changes.has(key);
        }
        taken
    }

    fn rules_out(&self, step: usize, left: &[usize]) -> bool {
        self.problem.steps[step].outcomes.iter().any(|outcome| {
            let kept = left.iter().filter(|cause| outcome.has(**cause)).count();
            kept != 0 && kept != left.len()
        })
    }

    /// Expected minutes from here, times the odds of being here; endless where something can't be isolated any more.
    fn value(&self, history: &mut History) -> f64 {
        let left = self.left(history);
        let past: Vec<usize> = history.iter().map(|done| done.0).collect();
        let done = |step: usize| past.contains(&step);
        if !(0..self.problem.steps.len()).any(|step| self.usable[step] && !done(step) && self.rules_out(step, &left)) {
            return 0.0;
        }
        let mass: f64 = left.iter().map(|&cause| self.odds[cause] * self.likely(history, cause)).sum();
        let mut least = f64::INFINITY;
        for step in 0..self.problem.steps.len() {
            let needs = (0..self.problem.steps.len()).filter(|need| self.problem.steps[step].needs.has(*need));
            let ready = needs.into_iter().all(|need| done(need) || self.taken(history, need));
            let tells = |outcome: &Set| left.iter().any(|cause| outcome.has(*cause));
            let outcomes = &self.problem.steps[step].outcomes;
            let possible = outcomes.is_empty() || outcomes.iter().any(tells);
            if !self.usable[step] || done(step) || !ready || !possible || self.taken(history, step) {
                continue;
            }
            let mut sum = mass * (self.problem.steps[step].minutes + self.setup_minutes(history, step));
            for outcome in 0..outcomes.len().max(1) {
                if (outcomes.is_empty() || tells(&outcomes[outcome])) && sum < least {
                    history.push((step, outcome));
                    sum += self.value(history);
                    history.pop();
                }
            }
            least = least.min(sum);
        }
        least
    }
}

fn brute(problem: &Problem) -> f64 {
    let total: f64 = problem.weights.iter().sum();
    let even = 1.0 / problem.weights.len() as f64;
    let odds = problem.weights.iter().map(|weight| if total > 0.0 { weight / total } else { even }).collect();
    let mut usable = vec![false; problem.steps.len()];
    for _ in 0..usable.len() {
        for step in 0..usable.len() {
            usable[step] = (0..usable.len()).all(|need| !problem.steps[step].needs.has(need) || usable[need]);
        }
    }
    Brute { problem, odds, usable }.value(&mut Vec::new())
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1e-3)
}

/// Every leaf is one: no test not done can rule anything out.
fn isolates(problem: &Problem, tree: &Tree, done: Set) -> bool {
    match tree {
        Tree::Stop(left) => (0..problem.steps.len()).all(|step| {
            done.has(step) || problem.steps[step].outcomes.iter().all(|out| !out.meets(*left) || left.is_within(*out))
        }),
        Tree::All(..) => false,
        Tree::Do(step, then) => isolates(problem, then, done | Set::one(*step)),
        Tree::Ask(step, results) => results.iter().all(|(_, then)| isolates(problem, then, done | Set::one(*step))),
    }
}

fn minutes() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), (1u32..6).prop_map(f64::from), (1u32..500).prop_map(|tenths| f64::from(tenths) / 10.0)]
}

fn weight() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 6 => (1u32..100).prop_map(f64::from)]
}

/// A test whose causes each have one outcome.
fn plain_step(causes: usize) -> impl Strategy<Value = Step> {
    (minutes(), 2usize..=3, prop::collection::vec(0usize..3, causes)).prop_map(|(minutes, width, choice)| {
        let mut outcomes = vec![0_u128; width];
        choice.iter().enumerate().for_each(|(cause, outcome)| outcomes[outcome % width] |= 1 << cause);
        Step::test(minutes, &outcomes)
    })
}

/// A test with any outcomes at all: causes in several, and causes in none.
fn shared_step(causes: usize) -> impl Strategy<Value = Step> {
    (minutes(), prop::collection::vec(0u128..1 << causes, 1..=3))
        .prop_map(|(minutes, outcomes)| Step::test(minutes, &outcomes))
}

fn problem(wild: bool) -> impl Strategy<Value = Problem> {
    (2usize..=5).prop_flat_map(move |causes| {
        let step = if wild {
            prop_oneof![2 => plain_step(causes), 1 => shared_step(causes), 1 => minutes().prop_map(Step::action)]
                .boxed()
        } else {
            prop_oneof![2 => plain_step(causes), 1 => shared_step(causes)].boxed()
        };
        (prop::collection::vec(weight(), causes), prop::collection::vec(step, 1..=4))
            .prop_map(|(weights, steps)| Problem { weights, steps, setups: Vec::new() })
    })
}

/// Adds what must come first, set-ups and readings that tests share.
fn involved() -> impl Strategy<Value = Problem> {
    let extra = (0u128..32, 0u128..8, prop::option::weighted(0.4, 0usize..2), 0u128..4, any::<[bool; 4]>());
    let setup = (minutes(), 0u128..8).prop_map(|(minutes, ends)| Setup { minutes, ends: ends.into() });
    (problem(true), prop::collection::vec(extra, 4), prop::collection::vec(setup, 0..=3)).prop_map(
        |(mut problem, extras, setups)| {
            problem.setups = setups;
            let known = (1_u128 << problem.setups.len()) - 1;
            let steps = (1_u128 << problem.steps.len()) - 1;
            for (index, (step, (needs, wanted, key, changes, pick))) in problem.steps.iter_mut().zip(extras).enumerate()
            {
                step.needs = if pick[0] { (needs & steps & !(1 << index)).into() } else { Set::NONE };
                step.setups = if pick[1] { (wanted & known).into() } else { Set::NONE };
                step.key = if step.outcomes.is_empty() { None } else { key };
                step.changes = if pick[2] { changes.into() } else { Set::NONE };
            }
            problem
        },
    )
}

fn judge(problem: &Problem, found: &Best) -> Result<(), TestCaseError> {
    let truth = brute(problem);
    if truth.is_infinite() {
        // something can't be had: the answer gives it up
        prop_assert!(found.figures.minutes.is_finite());
        return Ok(());
    }
    prop_assert!(found.exact);
    prop_assert!(
        near(found.figures.minutes, truth),
        "{} but the best is {truth}: {problem:?} {:?}",
        found.figures.minutes,
        found.tree
    );
    prop_assert!(isolates(problem, &found.tree, Set::NONE) || problem.steps.iter().any(|step| !step.needs.is_none()));
    Ok(())
}

/// What a test needs is a reading that another test takes too, without the set-up.
#[test]
fn a_reading_that_is_needed_may_come_from_its_cheaper_test() {
    let with = |outcomes: &[u128], key, setups: u128, needs: u128| Step {
        key,
        setups: setups.into(),
        needs: needs.into(),
        ..Step::test(0.0, outcomes)
    };
    let steps = vec![with(&[3, 0], Some(1), 0, 0), with(&[1], None, 0, 4), with(&[3, 0], Some(1), 1, 0)];
    let setups = vec![Setup { minutes: 1.0, ends: Set::NONE }];
    for weights in [vec![0.5, 0.5], vec![0.0, 0.0]] {
        let problem = Problem { weights, steps: steps.clone(), setups: setups.clone() };
        judge(&problem, &best(&problem, THOROUGH).unwrap()).unwrap();
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn search_and_table_find_the_best_of_all_orders(problem in problem(false)) {
        judge(&problem, &best(&problem, SEARCH).unwrap())?;
        judge(&problem, &best(&problem, TABLE).unwrap())?;
    }

    #[test]
    fn needs_setups_and_shared_readings_are_kept(problem in involved()) {
        judge(&problem, &best(&problem, THOROUGH).unwrap())?;
    }

    #[test]
    fn an_estimate_isolates_as_far_and_its_bound_holds(problem in involved()) {
        let found = best(&problem, THUMB).unwrap();
        let truth = brute(&problem);
        if truth.is_finite() {
            prop_assert!(found.figures.minutes >= truth - 1e-9 * truth, "{} is below {truth}", found.figures.minutes);
            prop_assert!(found.bound <= truth + 1e-9 * truth, "bound {} is above {truth}: {problem:?}", found.bound);
        }
    }
}
