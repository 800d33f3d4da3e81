//! How long the best order takes for the worst shapes of problem: CPU seconds of one core, as a table.
//!
//! `cargo bench --bench order` (or `-- WORD` for the shapes whose name holds the word).
#![allow(clippy::print_stdout)]

mod used;

use ruleout::order::best::{LIGHT, THOROUGH, best};
use ruleout::order::bits::Bits;
use ruleout::order::problem::{Problem, Set, Setup, Step, first, members};
use used::{cpu, peak_of};

/// A small generator of pseudo-random numbers (xorshift), so that every run sees the same problems.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }

    fn share(&mut self) -> f64 {
        1.0 + self.roll(100) as f64
    }

    fn minutes(&mut self) -> f64 {
        1.0 + self.roll(30) as f64
    }

    /// Each cause of `count` is in with the odds `of` in `out_of`.
    fn set(&mut self, count: usize, of: u64, out_of: u64) -> Set {
        (0..count).filter(|_| self.roll(out_of) < of).fold(Set::NONE, |set, cause| set | Set::one(cause))
    }

    fn pick(&mut self, count: usize, size: u64) -> Set {
        let mut set = Set::NONE;
        while (set.count() as u64) < size {
            set |= Set::one(self.roll(count as u64) as usize);
        }
        set
    }
}

fn split(minutes: f64, causes: usize, one: Set) -> Step {
    Step::test(minutes, &[one, first(causes) & !one])
}

fn three(minutes: f64, causes: usize, one: Set, two: Set) -> Step {
    Step::test(minutes, &[one, two & !one, first(causes) & !one & !two])
}

const PEOPLE: &str = "as people write them";
/// Here the cause of every fifth test may show several results.
const SILENT: &str = "one cause, some tests say nothing";

type Shape = fn(&mut Dice, usize, usize) -> Vec<Step>;

/// The shapes of tests, each with its name.
const SHAPES: &[(&str, Shape)] = &[
    ("each singles out one cause", |dice, causes, tests| {
        (0..tests).map(|test| split(dice.minutes(), causes, Set::one(test % causes))).collect()
    }),
    ("one cause, equal minutes", |_, causes, tests| {
        (0..tests).map(|test| split(5.0, causes, Set::one(test % causes))).collect()
    }),
    ("pairs in a ring", |dice, causes, tests| {
        let pair = |test: usize| Set::one(test % causes) | Set::one((test + 1) % causes);
        (0..tests).map(|test| split(dice.minutes(), causes, pair(test))).collect()
    }),
    ("random pairs", |dice, causes, tests| {
        (0..tests).map(|_| split(dice.minutes(), causes, dice.pick(causes, 2))).collect()
    }),
    ("random threes", |dice, causes, tests| {
        (0..tests).map(|_| split(dice.minutes(), causes, dice.pick(causes, 3))).collect()
    }),
    ("random fours, equal minutes", |dice, causes, tests| {
        (0..tests).map(|_| split(5.0, causes, dice.pick(causes, 4))).collect()
    }),
    ("one in five", |dice, causes, tests| {
        (0..tests).map(|_| split(dice.minutes(), causes, dice.set(causes, 1, 5))).collect()
    }),
    ("halves", |dice, causes, tests| {
        (0..tests).map(|_| split(dice.minutes(), causes, dice.set(causes, 1, 2))).collect()
    }),
    ("first causes of a row", |dice, causes, tests| {
        (0..tests).map(|test| split(dice.minutes(), causes, first(1 + test % (causes - 1)))).collect()
    }),
    ("two singled out, three-way", |dice, causes, tests| {
        let one = |test: usize| Set::one(test % causes);
        (0..tests).map(|test| three(dice.minutes(), causes, one(test), one(test + 7))).collect()
    }),
    ("thirds", |dice, causes, tests| {
        (0..tests).map(|_| three(dice.minutes(), causes, dice.set(causes, 1, 3), dice.set(causes, 1, 2))).collect()
    }),
    ("small three-way", |dice, causes, tests| {
        (0..tests).map(|_| three(dice.minutes(), causes, dice.pick(causes, 2), dice.pick(causes, 2))).collect()
    }),
    ("half single, half pairs", |dice, causes, tests| {
        (0..tests)
            .map(|test| {
                let size = if test % 2 == 0 { 1 } else { 2 };
                split(dice.minutes(), causes, dice.pick(causes, size))
            })
            .collect()
    }),
    (SILENT, |dice, causes, tests| {
        let test = |test: usize, minutes: f64| match test % 5 {
            0 => Step::test(minutes, &[Set::one(test % causes), first(causes)]),
            _ => split(minutes, causes, Set::one(test % causes)),
        };
        (0..tests).map(|index| test(index, dice.minutes())).collect()
    }),
    (PEOPLE, people),
];

/// Most tests show one cause or clear a few; some halve; some are three-way.
fn people(dice: &mut Dice, causes: usize, tests: usize) -> Vec<Step> {
    (0..tests)
        .map(|test| match test % 5 {
            0 => split(dice.minutes(), causes, dice.set(causes, 1, 3)),
            1 | 2 => split(dice.minutes(), causes, dice.pick(causes, 1)),
            3 => {
                let size = 2 + dice.roll(3);
                split(dice.minutes(), causes, dice.pick(causes, size))
            }
            _ => three(dice.minutes(), causes, dice.pick(causes, 1), dice.set(causes, 1, 4)),
        })
        .collect()
}

/// Makes every fifth test one that several causes share: some causes may show any of its outcomes.
fn blur(dice: &mut Dice, causes: usize, steps: &mut [Step]) {
    for step in steps.iter_mut().step_by(5) {
        for outcome in &mut step.outcomes {
            *outcome |= dice.set(causes, 1, 3);
        }
    }
}

/// Hangs the steps together as procedures do: a first look before everything, some tests behind `do` steps, some in
/// set-ups that end one another, a few bound to an earlier test.
fn involve(dice: &mut Dice, problem: &mut Problem) {
    let tests = problem.steps.len();
    let setup = |minutes: f64, ends: u128| Setup { minutes, ends: ends.into() };
    problem.setups = vec![setup(10.0, 0b10), setup(15.0, 0b01), setup(5.0, 0)];
    for action in 0..3 {
        problem.steps.push(Step { needs: Set::one(0), setups: dice.pick(3, 1), ..Step::action(dice.minutes()) });
        let behind = dice.pick(tests, 3) & !Set::one(0);
        for test in members(behind) {
            problem.steps[test].needs |= Set::one(tests + action);
        }
    }
    for test in 1..tests {
        problem.steps[test].needs |= Set::one(0);
        if dice.roll(3) == 0 {
            problem.steps[test].setups = dice.pick(3, 1);
        }
        if dice.roll(6) == 0 {
            problem.steps[test].needs |= Set::one(dice.roll(test as u64) as usize);
        }
    }
}

fn seconds(work: impl FnOnce()) -> f64 {
    let before = cpu();
    work();
    cpu() - before
}

/// What is done to a shape before it is measured.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Plain,
    Shared,
    Involved,
}

fn problem(dice: &mut Dice, size: (usize, usize), shape: Shape, kind: Kind) -> Problem {
    let (causes, tests) = size;
    let mut steps = shape(dice, causes, tests);
    if kind == Kind::Shared {
        blur(dice, causes, &mut steps);
    }
    let mut problem = Problem { weights: (0..causes).map(|_| dice.share()).collect(), steps, setups: Vec::new() };
    if kind == Kind::Involved {
        involve(dice, &mut problem);
    }
    problem
}

fn measure(name: &str, size: (usize, usize), shape: Shape, kind: Kind, allowed: f64) {
    let (mut worst, mut sum, mut estimates, mut gap, mut light) = (0.0_f64, 0.0, 0, 0.0_f64, 0.0_f64);
    let rounds = 5;
    for round in 1..=rounds {
        let problem = problem(&mut Dice(round * 0x9E37_79B9_7F4A_7C15), size, shape, kind);
        let mut found = None;
        let time = seconds(|| found = best(&problem, THOROUGH).ok());
        light = light.max(seconds(|| drop(best(&problem, LIGHT))));
        if let Some(found) = found.filter(|found| !found.exact) {
            estimates += 1;
            gap = gap.max(found.figures.minutes / found.bound - 1.0);
        }
        worst = worst.max(time);
        sum += time;
    }
    let mean = sum / rounds as f64;
    let mark = if worst > allowed { "  <--" } else { "" };
    let kind = match kind {
        Kind::Plain => "",
        Kind::Shared => ", shared",
        Kind::Involved => ", involved",
    };
    let (causes, tests) = size;
    let numbers = format!("{worst:8.3} {mean:8.3} {allowed:8.1} {light:8.3} {estimates:10} {:6.1} %", gap * 100.0);
    println!("{causes:2} x {tests:2} {numbers}  {name}{kind}{mark}");
}

fn main() {
    let word = std::env::args().skip(1).find(|word| !word.starts_with('-')).unwrap_or_default();
    println!("size       worst     mean  at most    light  estimates  above bound  shape");
    for &(name, shape) in SHAPES.iter().filter(|(name, _)| name.contains(&word)) {
        measure(name, (20, 20), shape, Kind::Plain, if name == SILENT { 2.0 } else { 0.3 });
        measure(name, (20, 20), shape, Kind::Shared, 2.0);
        measure(name, (24, 24), shape, Kind::Plain, 4.0);
        measure(name, (12, 12), shape, Kind::Involved, 1.0);
        measure(name, (20, 20), shape, Kind::Involved, 4.0);
        measure(name, (28, 20), shape, Kind::Plain, if name == PEOPLE { 0.1 } else { 4.0 });
        measure(name, (60, 40), shape, Kind::Plain, 4.0);
    }
    println!("peak memory {} MB of at most 256", peak_of(std::process::id()));
}
