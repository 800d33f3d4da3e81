//! In: a [`Problem`]. Out: [`Space`], the same problem made small, and its states with the ways from one to the next.
//!
//! Made small: causes that no test tells apart are one, steps that can never matter are gone, and a state remembers only
//! what can still matter. Values are in *mass*: odds times minutes, not divided by the odds of the state, so that the
//! value of a test is its minutes times the mass of the state plus the values of the states behind it.

use crate::order::problem::{Problem, Set, Setup, enter, first, members};
use std::collections::BTreeMap;

/// Prefers, among orders of equal minutes, the one that needs cautious steps less often.
const CAUTION: f64 = 1e-10;
/// Prefers, after that, the author's order.
const AUTHORED: f64 = 1e-11;

/// A problem made small; see the module.
#[derive(Debug)]
pub struct Space {
    /// The odds of each class of causes.
    pub weights: Vec<f64>,
    /// The causes of each class.
    pub classes: Vec<Set>,
    /// The steps that can matter.
    pub steps: Vec<Part>,
    /// The set-ups.
    pub setups: Vec<Setup>,
    /// No state needs anything but its causes.
    pub plain: bool,
    /// Every test that remembers being done has several outcomes for a cause, and nothing else is remembered.
    pub shared_only: bool,
    /// A test whose reading was taken counts as done, even where it could still rule something out.
    pub give_up: bool,
    key_shift: u32,
    setup_shift: u32,
}

/// A step of a [`Space`].
#[derive(Debug)]
pub struct Part {
    /// Its position in the problem.
    pub origin: usize,
    /// Minutes, raised by a ten-thousand-millionth or less so that ties fall as they should.
    pub minutes: f64,
    /// The classes that each outcome leaves.
    pub outcomes: Vec<Set>,
    /// For each class: one over the number of outcomes that leave it.
    pub share: Vec<f64>,
    /// Some class has several outcomes.
    pub shared: bool,
    /// Each class has exactly one outcome.
    pub partition: bool,
    /// Some class has no outcome.
    pub gaps: bool,
    /// Position of its "done" in a state's memory.
    pub bit: Option<u32>,
    needs: Set,
    setups: Set,
    key: Option<usize>,
    changes: Set,
    /// Steps after which the reading may be taken again.
    changers: Set,
    /// Steps that take the same reading.
    twins: Set,
}

/// What is left, and what was done on the way that still matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct State {
    /// Classes left.
    pub left: Set,
    /// Steps done, set-ups in force, readings taken.
    pub memory: u64,
}

/// One way on.
#[derive(Clone, Debug)]
pub struct Move {
    /// Position of the step in [`Space::steps`].
    pub step: usize,
    /// Minutes of the step and of its set-ups.
    pub minutes: f64,
    /// Outcome (its position in [`Part::outcomes`]), the state behind it, and the factor of its mass.
    pub next: Vec<(usize, State, f64)>,
}

/// What can be done in a state.
#[derive(Clone, Debug)]
pub enum Options {
    /// Nothing more can be ruled out.
    Leaf,
    /// What could still be ruled out needs a reading that was taken too early.
    Dead,
    /// At least one way on.
    Moves(Vec<usize>),
}

impl Space {
    /// Makes the problem small. None when it has more to remember than a state can hold.
    pub fn new(problem: &Problem, give_up: bool) -> Option<Space> {
        let kept = matter(problem);
        let (classes, weights) = merge(problem, &kept);
        let read = repeated(problem, &kept);
        let needed = kept.iter().fold(0, |sum, &step| sum | problem.steps[step].needs);
        let place: BTreeMap<usize, usize> = kept.iter().enumerate().map(|(new, &old)| (old, new)).collect();
        let mut bits = 0;
        let mut steps = Vec::new();
        for &old in &kept {
            let mut part = Part::new(problem, old, &classes);
            part.needs = members(part.needs).filter_map(|step| place.get(&step)).fold(0, |set, &step| set | 1 << step);
            let again = part.key.is_some_and(|key| read >> key & 1 == 1) || part.changes & read != 0;
            if part.shared || again || needed >> old & 1 == 1 {
                part.bit = Some(bits);
                bits += 1;
            }
            steps.push(part);
        }
        // where steps hang together, a test that tells less may be cheaper on some way; and where a test rules a cause
        // out whatever it shows, to know more may be to spend more
        let gaps = |part: &Part| !part.outcomes.is_empty() && part.gaps;
        if problem.setups.is_empty() && !steps.iter().any(|part| part.needs != 0 || gaps(part)) {
            drop_twins(&mut steps);
        }
        pair_keys(&mut steps, read);
        let keys = steps.iter().filter_map(|part| part.key).max().map_or(0, |key| key as u32 + 1);
        let used = steps.iter().fold(0, |sum, part| sum | part.setups);
        let setups = if used == 0 { Vec::new() } else { problem.setups.clone() };
        let all = bits + keys + setups.len() as u32;
        let shared_only = keys == 0 && setups.is_empty() && steps.iter().all(|part| part.needs == 0);
        let space = Space {
            weights,
            classes,
            steps,
            setups,
            plain: all == 0,
            shared_only,
            give_up,
            key_shift: bits,
            setup_shift: bits + keys,
        };
        (all <= 64).then_some(space)
    }

    /// Where the work starts.
    pub fn start(&self) -> State {
        self.canon(first(self.classes.len()), 0).0
    }

    /// The weight of a class, given what was done: one over `k` for each shared test.
    pub fn weight(&self, class: usize, memory: u64) -> f64 {
        let mut weight = self.weights[class];
        if memory != 0 && !self.plain {
            for part in self.steps.iter().filter(|part| part.shared && part.done(memory)) {
                weight *= part.share[class];
            }
        }
        weight
    }

    /// The mass of a state.
    pub fn mass(&self, state: State) -> f64 {
        members(state.left).map(|class| self.weight(class, state.memory)).sum()
    }

    /// The causes of the classes in a set.
    pub fn causes(&self, left: Set) -> Set {
        members(left).fold(0, |sum, class| sum | self.classes[class])
    }

    /// What can be done.
    pub fn options(&self, state: State) -> Options {
        if self.shared_only {
            let moves: Vec<usize> = (0..self.steps.len()).filter(|&step| self.useful(step, state)).collect();
            return if moves.is_empty() { Options::Leaf } else { Options::Moves(moves) };
        }
        let (useful, wanted) = self.wanted(state.left, state.memory, false);
        let open = members(useful).filter(|&step| !self.taken(&self.steps[step], state.memory)).count();
        if useful == 0 || self.give_up && open == 0 {
            return Options::Leaf;
        }
        let ready = |&step: &usize| {
            let part = &self.steps[step];
            !self.taken(part, state.memory)
                && (part.outcomes.is_empty() || part.outcomes.iter().any(|outcome| state.left & outcome != 0))
                && members(part.needs).all(|need| self.met(need, state.memory))
        };
        let moves: Vec<usize> = members(wanted).filter(ready).collect();
        match (moves.is_empty(), self.give_up) {
            (false, _) => Options::Moves(moves),
            (true, true) => Options::Leaf,
            (true, false) => Options::Dead,
        }
    }

    /// Does a step.
    pub fn go(&self, state: State, step: usize) -> Move {
        let part = &self.steps[step];
        let mut minutes = part.minutes;
        let mut memory = state.memory;
        if !self.plain {
            if part.setups != 0 {
                let (extra, now) = enter(&self.setups, Set::from(memory >> self.setup_shift), part.setups);
                minutes += extra;
                memory = memory & ((1 << self.setup_shift) - 1) | shifted(now, self.setup_shift);
            }
            memory |= part.bit.map_or(0, |bit| 1 << bit);
            memory |= part.key.map_or(0, |key| 1 << (key as u32 + self.key_shift));
            memory &= !shifted(part.changes, self.key_shift);
        }
        let mut next = Vec::with_capacity(part.outcomes.len());
        if part.outcomes.is_empty() {
            let (there, factor) = self.canon(state.left, memory);
            next.push((0, there, factor));
        }
        for (outcome, leaves) in part.outcomes.iter().enumerate() {
            if state.left & leaves != 0 {
                let (there, factor) = self.canon(state.left & leaves, memory);
                next.push((outcome, there, factor));
            }
        }
        Move { step, minutes, next }
    }

    /// Whether a step that must come first was done, or its reading taken by another.
    fn met(&self, step: usize, memory: u64) -> bool {
        self.steps[step].done(memory) || self.taken(&self.steps[step], memory)
    }

    fn taken(&self, part: &Part, memory: u64) -> bool {
        part.key.is_some_and(|key| memory >> (key as u32 + self.key_shift) & 1 == 1)
    }

    /// The tests that could still rule something out, and these with all that must come before them.
    fn wanted(&self, left: Set, memory: u64, might: bool) -> (Set, Set) {
        let useful = (0..self.steps.len())
            .filter(|&step| self.useful(step, State { left, memory }))
            .fold(0, |set: Set, step| set | 1 << step);
        let wanted = members(useful).fold(useful, |sum, step| sum | self.path(step, memory, might));
        (useful, wanted)
    }

    /// Whether a step was not done and can rule something out.
    pub fn useful(&self, step: usize, state: State) -> bool {
        !self.steps[step].done(state.memory) && self.steps[step].splits(state.left)
    }

    /// A step and all that must still be done before it; or, where a reading may have to be taken again, might.
    pub fn path(&self, step: usize, memory: u64, might: bool) -> Set {
        let mut path: Set = 1 << step;
        let mut rest = path;
        while rest != 0 {
            let step = rest.trailing_zeros() as usize;
            rest &= rest - 1;
            let part = &self.steps[step];
            let again = if might || self.taken(part, memory) { part.changers } else { 0 };
            let missing = members(part.needs).filter(|&need| might || !self.met(need, memory));
            let more = missing.fold(again, |set, need| set | 1 << need | self.steps[need].twins);
            let more = members(more & !path)
                .filter(|&need| !self.steps[need].done(memory))
                .fold(0, |set: Set, need| set | 1 << need);
            path |= more;
            rest |= more;
        }
        path
    }

    /// Forgets what can't matter any more. A shared test that is forgotten leaves its `1/k` as a factor.
    fn canon(&self, left: Set, memory: u64) -> (State, f64) {
        if self.plain || memory == 0 {
            return (State { left, memory: 0 }, 1.0);
        }
        if left.is_power_of_two() {
            let class = left.trailing_zeros() as usize;
            return (
                State { left, memory: 0 },
                self.weight(class, memory) / self.weights[class].max(f64::MIN_POSITIVE),
            );
        }
        let wanted = if self.shared_only { 0 } else { self.wanted(left, memory, true).1 };
        let mut keep = 0_u64;
        let mut factor = 1.0;
        let (mut needs, mut keys, mut setups): (Set, Set, Set) = (0, 0, 0);
        for part in members(wanted).map(|step| &self.steps[step]) {
            needs |= members(part.needs).fold(part.changers, |set, need| set | 1 << need | self.steps[need].twins);
            setups |= part.setups;
            let read = members(part.needs).filter_map(|need| self.steps[need].key).chain(part.key);
            keys = read.fold(keys, |set, key| set | 1 << key);
        }
        for (index, part) in self.steps.iter().enumerate().filter(|(_, part)| part.done(memory)) {
            let bit = part.bit.map_or(0, |bit| 1 << bit);
            if needs >> index & 1 == 1 || part.shared && part.splits(left) {
                keep |= bit;
            } else if part.shared {
                // it no longer splits what is left, so that every class left has the same outcomes, and the same share
                factor *= part.share[left.trailing_zeros() as usize];
            }
        }
        keep |= shifted(keys, self.key_shift) | shifted(setups, self.setup_shift);
        (State { left, memory: memory & keep }, factor)
    }
}

impl Part {
    fn new(problem: &Problem, origin: usize, classes: &[Set]) -> Part {
        let step = &problem.steps[origin];
        let place = origin as f64 / problem.steps.len() as f64;
        let raise = 1.0 + AUTHORED * place + if step.caution { CAUTION } else { 0.0 };
        let to_classes = |outcome: &Set| {
            let inside = |&class: &usize| classes[class] & outcome != 0;
            (0..classes.len()).filter(inside).fold(0, |set: Set, class| set | 1 << class)
        };
        let ways: Vec<usize> = classes.iter().map(|class| step.ways(class.trailing_zeros() as usize)).collect();
        Part {
            origin,
            minutes: step.minutes * raise,
            outcomes: step.outcomes.iter().map(to_classes).collect(),
            share: ways.iter().map(|&ways| 1.0 / ways.max(1) as f64).collect(),
            shared: ways.iter().any(|&ways| ways > 1),
            partition: ways.iter().all(|&ways| ways == 1),
            gaps: ways.contains(&0),
            bit: None,
            needs: step.needs,
            setups: step.setups,
            key: step.key,
            changes: step.changes,
            changers: 0,
            twins: 0,
        }
    }

    /// Whether an outcome rules something of these classes out (and leaves something).
    pub fn splits(&self, left: Set) -> bool {
        self.outcomes.iter().any(|outcome| left & outcome != 0 && left & outcome != left)
    }

    /// Whether other steps decide if it can be used at all.
    pub fn depends(&self) -> bool {
        self.key.is_some() || self.needs != 0
    }

    /// Whether a state's memory says that it was done.
    pub fn done(&self, memory: u64) -> bool {
        self.bit.is_some_and(|bit| memory >> bit & 1 == 1)
    }
}

/// A set at its place in a state's memory (which holds 64).
fn shifted(set: Set, by: u32) -> u64 {
    (set as u64).checked_shl(by).unwrap_or(0)
}

/// The steps that can matter: tests that rule something out and can be reached at all, and what they need.
fn matter(problem: &Problem) -> Vec<usize> {
    let all = problem.all();
    let mut reachable: Set = 0;
    loop {
        let more = (0..problem.steps.len())
            .filter(|&step| problem.steps[step].needs & !reachable == 0)
            .fold(reachable, |set, step| set | 1 << step);
        if more == reachable {
            break;
        }
        reachable = more;
    }
    let splits = |step: &usize| problem.steps[*step].outcomes.iter().any(|out| all & out != 0 && all & out != all);
    let mut kept = members(reachable).filter(splits).fold(0, |set: Set, step| set | 1 << step);
    loop {
        let steps: Vec<usize> = members(kept).collect();
        let read = repeated(problem, &steps);
        let changes = |step: &usize| problem.steps[*step].changes & read != 0;
        let needs = members(kept).fold(0, |set, step| set | problem.steps[step].needs);
        let twin = |step: &usize| {
            let key = problem.steps[*step].key;
            key.is_some() && members(needs).any(|need| problem.steps[need].key == key)
        };
        let more = members(reachable)
            .filter(|step| changes(step) || twin(step))
            .fold(needs | kept, |set, step| set | 1 << step);
        if more == kept {
            return steps;
        }
        kept = more;
    }
}

/// Causes that every test treats alike become one class; its odds are their sum.
fn merge(problem: &Problem, kept: &[usize]) -> (Vec<Set>, Vec<f64>) {
    let odds = problem.odds();
    let mut seen: BTreeMap<Vec<bool>, usize> = BTreeMap::new();
    let (mut classes, mut weights): (Vec<Set>, Vec<f64>) = (Vec::new(), Vec::new());
    for (cause, &weight) in odds.iter().enumerate() {
        let outcomes = kept.iter().flat_map(|&step| &problem.steps[step].outcomes);
        let signature: Vec<bool> = outcomes.map(|outcome| outcome >> cause & 1 == 1).collect();
        let class = *seen.entry(signature).or_insert(classes.len());
        if class == classes.len() {
            classes.push(0);
            weights.push(0.0);
        }
        classes[class] |= 1 << cause;
        weights[class] += weight;
    }
    (classes, weights)
}

/// Of tests without anything shared, one whose every outcome lies within one of a cheaper test's goes: the other tells
/// as much.
fn drop_twins(steps: &mut Vec<Part>) {
    let finer = |a: &Part, b: &Part| a.outcomes.iter().all(|x| b.outcomes.iter().any(|y| x & !y == 0));
    let simple = |part: &Part| part.partition && part.key.is_none() && part.setups == 0 && part.changes == 0;
    let mut gone = vec![false; steps.len()];
    for (b, loser) in steps.iter().enumerate() {
        gone[b] = steps.iter().enumerate().any(|(a, winner)| {
            a != b
                && simple(winner)
                && simple(loser)
                && finer(winner, loser)
                && (winner.minutes < loser.minutes
                    || winner.minutes <= loser.minutes && (a < b || !finer(loser, winner)))
        });
    }
    let mut index = 0;
    steps.retain(|_| {
        index += 1;
        !gone[index - 1]
    });
}

/// Readings that at least two of the steps take.
fn repeated(problem: &Problem, kept: &[usize]) -> Set {
    let (mut once, mut twice): (Set, Set) = (0, 0);
    for key in kept.iter().filter_map(|&step| problem.steps[step].key) {
        twice |= once & 1 << key;
        once |= 1 << key;
    }
    twice
}

/// Renumbers the readings that two tests take; the others are forgotten.
fn pair_keys(steps: &mut [Part], read: Set) {
    let number = |key: usize| (read >> key & 1 == 1).then(|| (read & first(key)).count_ones() as usize);
    for part in &mut *steps {
        part.key = part.key.and_then(number);
        part.changes = members(part.changes).filter_map(number).fold(0, |set: Set, key| set | 1 << key);
    }
    let all: Vec<(Option<usize>, Set)> = steps.iter().map(|part| (part.key, part.changes)).collect();
    for part in steps {
        let Some(key) = part.key else { continue };
        for (step, (read, changes)) in all.iter().enumerate() {
            part.changers |= (changes >> key & 1) << step;
            part.twins |= Set::from(*read == Some(key)) << step;
        }
    }
}
