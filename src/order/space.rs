//! In: a [`Problem`]. Out: [`Space`], the same problem made small, and its states with the ways from one to the next.
//!
//! Made small: causes that no test tells apart are one, steps that can never matter are gone, and a state remembers only
//! what can still matter. Values are in *mass*: odds times minutes, not divided by the odds of the state, so that the
//! value of a test is its minutes times the mass of the state plus the values of the states behind it.

use crate::order::problem::{Problem, Set, Setup, enter, first, members};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
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
    /// The step whose "done" each of the first positions of a memory is.
    bits: Vec<usize>,
    /// Per reading that two tests take, these tests.
    readers: Vec<Set>,
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
    /// Steps that matter for it: those that it needs or their twins, and those after which its reading may be taken again.
    bears: Set,
    /// What it asks of a state's memory besides: readings taken, set-ups in force.
    asks: u64,
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
    pub next: SmallVec<[(usize, State, f64); 4]>,
}

/// What can be done in a state.
#[derive(Clone, Debug)]
pub enum Options {
    /// Nothing more can be ruled out.
    Leaf,
    /// What could still be ruled out needs a reading that was taken too early.
    Dead,
    /// At least one way on.
    Moves(Set),
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
        let mut space = Space {
            weights,
            classes,
            plain: all == 0,
            shared_only: keys == 0 && setups.is_empty() && steps.iter().all(|part| part.needs == 0),
            give_up,
            bits: Vec::new(),
            readers: vec![0; keys as usize],
            key_shift: bits,
            setup_shift: bits + keys,
            steps,
            setups,
        };
        space.lay_out();
        (all <= 64).then_some(space)
    }

    /// Notes what each step asks of a state's memory.
    fn lay_out(&mut self) {
        self.bits = vec![0; self.key_shift as usize];
        for index in 0..self.steps.len() {
            let part = &self.steps[index];
            let needs = || members(part.needs).map(|need| (1 << need, &self.steps[need]));
            let bears = needs().fold(part.changers, |set, (need, its)| set | need | its.twins);
            let keys = needs().filter_map(|(_, its)| its.key).chain(part.key).fold(0, |set: Set, key| set | 1 << key);
            let asks = shifted(keys, self.key_shift) | shifted(part.setups, self.setup_shift);
            if let Some(bit) = part.bit {
                self.bits[bit as usize] = index;
            }
            if let Some(key) = part.key {
                self.readers[key] |= 1 << index;
            }
            let part = &mut self.steps[index];
            (part.bears, part.asks) = (bears, asks);
        }
    }

    /// Where the work starts.
    pub fn start(&self) -> State {
        self.canon(first(self.classes.len()), 0).0
    }

    /// Whether some order comes to an end from a state without running into a dead end; nothing where more than so many states
    /// would have to be looked at.
    pub fn ends(&self, state: State, most: usize) -> Option<bool> {
        if self.readers.is_empty() {
            return Some(true);
        }
        let mut known = FxHashMap::default();
        self.ends_from(state, most, &mut known)
    }

    fn ends_from(&self, state: State, most: usize, known: &mut FxHashMap<State, bool>) -> Option<bool> {
        if let Some(ends) = known.get(&state) {
            return Some(*ends);
        }
        if known.len() >= most {
            return None;
        }
        let ends = match self.options(state) {
            Options::Leaf => true,
            Options::Dead => false,
            Options::Moves(moves) => {
                let mut some = false;
                for step in members(moves) {
                    let mut all = true;
                    for (_, next, factor) in self.go(state, step).next {
                        all = all && (factor <= 0.0 || self.ends_from(next, most, known)?);
                    }
                    some = some || all;
                    if some {
                        break;
                    }
                }
                some
            }
        };
        known.insert(state, ends);
        Some(ends)
    }

    /// The weights of some classes, given what was done: one over `k` for each shared test.
    pub fn weights(&self, state: State) -> impl Iterator<Item = f64> {
        let shared = members(self.done(state.memory)).filter(|&step| self.steps[step].shared);
        let shared: SmallVec<[&Part; 8]> = shared.map(|step| &self.steps[step]).collect();
        members(state.left).map(move |class| shared.iter().fold(self.weights[class], |w, part| w * part.share[class]))
    }

    /// The mass of a state.
    pub fn mass(&self, state: State) -> f64 {
        self.weights(state).sum()
    }

    /// The causes of the classes in a set.
    pub fn causes(&self, left: Set) -> Set {
        members(left).fold(0, |sum, class| sum | self.classes[class])
    }

    /// What can be done.
    pub fn options(&self, state: State) -> Options {
        let done = self.done(state.memory);
        let useful = self.useful(state.left, done);
        if self.shared_only {
            return if useful == 0 { Options::Leaf } else { Options::Moves(useful) };
        }
        let taken = self.taken(state.memory);
        if useful == 0 || self.give_up && useful & !taken == 0 {
            return Options::Leaf;
        }
        let wanted = self.with_what_must_come_before(useful, done, taken);
        let ready = |&step: &usize| {
            let part = &self.steps[step];
            part.needs & !(done | taken) == 0
                && (part.outcomes.is_empty() || part.outcomes.iter().any(|outcome| state.left & outcome != 0))
        };
        let moves = members(wanted & !taken).filter(ready).fold(0, |set: Set, step| set | 1 << step);
        match (moves == 0, self.give_up) {
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
        let mut next = SmallVec::new();
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

    /// The steps that a memory says were done.
    fn done(&self, memory: u64) -> Set {
        let bits = memory & !(u64::MAX.checked_shl(self.key_shift).unwrap_or(0));
        members(Set::from(bits)).fold(0, |set, bit| set | 1 << self.bits[bit])
    }

    /// The tests whose readings a memory says were taken.
    fn taken(&self, memory: u64) -> Set {
        let readers = self.readers.iter().enumerate();
        readers.fold(0, |set, (key, tests)| {
            set | if memory >> (key as u32 + self.key_shift) & 1 == 1 { *tests } else { 0 }
        })
    }

    /// The steps, of those not done, that can rule something out.
    fn useful(&self, left: Set, done: Set) -> Set {
        members(first(self.steps.len()) & !done)
            .filter(|&step| self.steps[step].splits(left))
            .fold(0, |set, step| set | 1 << step)
    }

    /// The tests that can still rule something out.
    pub fn useful_in(&self, state: State) -> Set {
        self.useful(state.left, self.done(state.memory))
    }

    /// A step and all that must still be done before it.
    pub fn path(&self, step: usize, memory: u64) -> Set {
        self.with_what_must_come_before(1 << step, self.done(memory), self.taken(memory))
    }

    /// Steps with all that must still be done before them.
    fn with_what_must_come_before(&self, steps: Set, done: Set, taken: Set) -> Set {
        closed(steps, done, |step| {
            let part = &self.steps[step];
            let again = if taken >> step & 1 == 1 { part.changers } else { 0 };
            let missing = part.needs & !(done | taken);
            members(missing).fold(again | missing, |set, need| set | self.steps[need].twins)
        })
    }

    /// Forgets what can't matter any more. A shared test that is forgotten leaves its `1/k` as a factor.
    fn canon(&self, left: Set, memory: u64) -> (State, f64) {
        if self.plain || memory == 0 {
            return (State { left, memory: 0 }, 1.0);
        }
        let done = self.done(memory);
        let mut factor = 1.0;
        if left.is_power_of_two() {
            let class = left.trailing_zeros() as usize;
            for part in members(done).map(|step| &self.steps[step]).filter(|part| part.shared) {
                factor *= part.share[class];
            }
            return (State { left, memory: 0 }, factor);
        }
        let (mut bears, mut keep): (Set, u64) = (0, 0);
        if !self.shared_only {
            // what must be done, or might have to be where a reading may have to be taken again
            let might = closed(self.useful(left, done), done, |step| self.steps[step].bears);
            for part in members(might).map(|step| &self.steps[step]) {
                bears |= part.bears;
                keep |= part.asks;
            }
        }
        for step in members(done) {
            let part = &self.steps[step];
            if bears >> step & 1 == 1 || part.shared && part.splits(left) {
                keep |= part.bit.map_or(0, |bit| 1 << bit);
            } else if part.shared {
                // it no longer splits what is left, so that every class left has the same outcomes, and the same share
                factor *= part.share[left.trailing_zeros() as usize];
            }
        }
        (State { left, memory: memory & keep }, factor)
    }
}

/// Steps with all that bear on them, and on those in turn; what is done bears on nothing.
fn closed(steps: Set, done: Set, bears: impl Fn(usize) -> Set) -> Set {
    let (mut all, mut rest) = (steps, steps);
    while rest != 0 {
        let step = rest.trailing_zeros() as usize;
        let more = bears(step) & !done & !all;
        all |= more;
        rest = rest & (rest - 1) | more;
    }
    all
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
            bears: 0,
            asks: 0,
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
