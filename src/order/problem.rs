//! In: nothing. Out: [`Problem`], the question "which test first?" without names, readings or vehicles.
//!
//! A cause, a step, a set-up and a reading's key is its position in a list; whoever builds the problem keeps the names.

use super::bits::{self, Bits, Wide};

/// A set of causes (or of steps, keys, set-ups, outcomes).
pub type Set = Wide<16>;

/// The most causes, steps, keys or set-ups that a problem may hold.
pub const LIMIT: usize = Set::SIZE;

/// What can be wrong, how often, and what can be done to find out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// The share of each cause, in any unit; all zero counts as all equal.
    pub weights: Vec<f64>,
    /// Tests and `do` steps, in the author's order.
    pub steps: Vec<Step>,
    /// Preparations that steps share.
    pub setups: Vec<Setup>,
}

/// A test (with outcomes) or a `do` step (without).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Step {
    /// Working and waiting time; not negative.
    pub minutes: f64,
    /// The causes that each outcome leaves. A cause that `k` outcomes leave shows each with the odds `1/k`.
    /// Empty for a `do` step.
    pub outcomes: Vec<Set>,
    /// Steps that must have been done before: `after`, and the `do` steps that every path to it passes.
    pub needs: Set,
    /// Set-ups that the step is done in.
    pub setups: Set,
    /// The reading that a test takes. A second test of the same reading is done already, unless something changed it.
    pub key: Option<usize>,
    /// Readings that must be taken again after this step.
    pub changes: Set,
    /// Dangerous or dismantling: of two orders of equal worth, the one that needs it less often is taken.
    pub caution: bool,
}

/// A preparation: paid when a step needs it and it is not in force, until another set-up ends it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// Time to make it.
    pub minutes: f64,
    /// Set-ups that it ends.
    pub ends: Set,
}

/// Why a problem can't be worked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// More causes than [`LIMIT`]; holds their number.
    TooManyCauses(usize),
    /// More steps than [`LIMIT`]; holds their number.
    TooManySteps(usize),
    /// A test with more outcomes than [`LIMIT`]; holds their number.
    TooManyOutcomes(usize),
    /// Too many `do` steps, set-ups and repeated readings to keep track of.
    TooInvolved,
    /// A share or a time is negative or not a number.
    BadNumber,
}

impl std::fmt::Display for Unfit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooManyCauses(count) => write!(f, "{count} causes are more than the {LIMIT} that it can weigh"),
            Self::TooManySteps(count) => write!(f, "{count} steps are more than the {LIMIT} that it can weigh"),
            Self::TooManyOutcomes(count) => {
                write!(f, "a test with {count} results has more than the {LIMIT} that it can weigh")
            }
            Self::TooInvolved => f.write_str("too many actions, setups and repeated readings hang together"),
            Self::BadNumber => f.write_str("a share or a time is no usable number"),
        }
    }
}

impl Step {
    /// A test with nothing but minutes and outcomes.
    pub fn test<S: Copy + Into<Set>>(minutes: f64, outcomes: &[S]) -> Self {
        Step { minutes, outcomes: outcomes.iter().map(|outcome| (*outcome).into()).collect(), ..Step::default() }
    }

    /// A `do` step with nothing but minutes.
    pub fn action(minutes: f64) -> Self {
        Step { minutes, ..Step::default() }
    }

    /// How many outcomes leave the cause.
    pub fn ways(&self, cause: usize) -> usize {
        self.outcomes.iter().filter(|outcome| outcome.has(cause)).count()
    }
}

impl Problem {
    /// The set of all causes.
    pub fn all(&self) -> Set {
        first(self.weights.len())
    }

    /// The odds of each cause: not negative, adding up to 1 (all equal where no share is above zero).
    pub fn odds(&self) -> Vec<f64> {
        let total: f64 = self.weights.iter().sum();
        if total > 0.0 {
            self.weights.iter().map(|weight| weight / total).collect()
        } else {
            vec![1.0 / self.weights.len() as f64; self.weights.len()]
        }
    }

    /// Whether sizes and numbers allow an answer.
    pub fn fit(&self) -> Result<(), Unfit> {
        if self.weights.len() > LIMIT {
            return Err(Unfit::TooManyCauses(self.weights.len()));
        }
        if self.steps.len() > LIMIT {
            return Err(Unfit::TooManySteps(self.steps.len()));
        }
        let minutes = self.steps.iter().map(|step| step.minutes).chain(self.setups.iter().map(|setup| setup.minutes));
        let good = |number: f64| number.is_finite() && number >= 0.0;
        let total: f64 = self.weights.iter().sum();
        if minutes.chain(self.weights.iter().copied()).all(good) && total.is_finite() {
            Ok(())
        } else {
            Err(Unfit::BadNumber)
        }
    }

    /// Puts a step's set-ups in force: the minutes that it takes, and what is in force afterwards.
    ///
    /// In the order of the list: one that is not in force is paid; using one ends what it ends.
    pub fn enter(&self, in_force: Set, wanted: Set) -> (f64, Set) {
        enter(&self.setups, in_force, wanted)
    }
}

/// See [`Problem::enter`].
pub fn enter(setups: &[Setup], in_force: Set, wanted: Set) -> (f64, Set) {
    let mut minutes = 0.0;
    let mut now = in_force;
    for index in wanted.members() {
        let Some(setup) = setups.get(index) else { continue };
        if !now.has(index) {
            minutes += setup.minutes;
        }
        now = now & !setup.ends | Set::one(index);
    }
    (minutes, now)
}

/// The members of a set, smallest first.
pub fn members(set: Set) -> bits::Members<Set> {
    set.members()
}

/// The set of the first `count` positions.
pub fn first(count: usize) -> Set {
    Set::first(count)
}

/// The set of some positions.
pub fn set(positions: impl IntoIterator<Item = usize>) -> Set {
    bits::set(positions)
}
