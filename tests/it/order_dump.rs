//! Problems and what we make of them, for the checks under `tests/outside` that other libraries do.
//!
//! With the folder `RULEOUT_OUT` set, writes `order.json` and `tally.json` into it; without, checks only that they can
//! be made.
#![allow(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use ruleout::order::best::{THOROUGH, best};
use ruleout::order::bits::Bits;
use ruleout::order::posterior::taught;
use ruleout::order::problem::{Problem, Set, Step, first, members};
use serde_json::{Value, json};

struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }

    fn set(&mut self, count: usize, out_of: u64) -> Set {
        (0..count).filter(|_| self.roll(out_of) == 0).fold(Set::NONE, |set, cause| set | Set::one(cause))
    }
}

fn write(name: &str, value: &Value) {
    if let Some(folder) = std::env::var_os("RULEOUT_OUT") {
        #[expect(clippy::disallowed_methods, reason = "a test hands its figures to another program")]
        std::fs::write(std::path::Path::new(&folder).join(name), value.to_string()).unwrap();
    }
}

/// A problem of middling size; `shared` of its tests leave some causes several outcomes.
fn problem(dice: &mut Dice, causes: usize, tests: usize, shared: usize) -> Problem {
    let steps = (0..tests).map(|test| {
        let odds = 2 + dice.roll(4);
        let one = dice.set(causes, odds);
        let two = if dice.roll(3) == 0 { dice.set(causes, 3) & !one } else { Set::NONE };
        let mut outcomes = vec![one, two, first(causes) & !one & !two];
        outcomes.retain(|outcome| !outcome.is_none());
        if test < shared {
            for outcome in &mut outcomes {
                *outcome |= dice.set(causes, 4);
            }
        }
        Step::test(1.0 + dice.roll(200) as f64 / 10.0, &outcomes)
    });
    let steps = steps.collect();
    Problem { weights: (0..causes).map(|_| dice.roll(40) as f64).collect(), steps, setups: Vec::new() }
}

#[test]
fn dump_order_problems() {
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    let mut rows = Vec::new();
    for round in 0..120 {
        let problem = problem(&mut dice, 7 + round % 8, 6 + round % 7, round % 4);
        let found = best(&problem, THOROUGH).unwrap();
        assert!(found.exact);
        let tests = problem.steps.iter().map(|step| {
            let outcomes: Vec<Vec<usize>> = step.outcomes.iter().map(|&set| members(set).collect()).collect();
            json!({"minutes": step.minutes, "outcomes": outcomes})
        });
        let tests: Vec<Value> = tests.collect();
        rows.push(json!({"weights": problem.weights, "tests": tests, "minutes": found.figures.minutes}));
    }
    write("order.json", &Value::from(rows));
}

#[test]
fn dump_tally_intervals() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let mut rows = Vec::new();
    for round in 0..200 {
        let causes = 2 + round % 7;
        let shares: Vec<f64> = (0..causes).map(|_| dice.roll(60) as f64).collect();
        let most = 1 + dice.roll(if round % 5 == 0 { 2000 } else { 30 });
        let counts: Vec<u32> = (0..causes).map(|_| dice.roll(most) as u32).collect();
        let found: Vec<Value> = taught(&shares, &counts)
            .iter()
            .map(|one| json!({"share": one.share, "low": one.low, "high": one.high, "against": one.against}))
            .collect();
        rows.push(json!({"shares": shares, "counts": counts, "found": found}));
    }
    write("tally.json", &Value::from(rows));
}
