//! In: a [`Problem`] and its [`Outline`]. Out: [`Space`], the same problem made small, and its states with the ways from one to the next.
//!
//! A state remembers only what can still matter. Values are in *mass*: odds times minutes, not divided by the odds of the state, so that the
//! value of a test is its minutes times the mass of the state plus the values of the states behind it.

use crate::order::bits::{Bits, set};
use crate::order::outline::Outline;
use crate::order::problem::{Problem, Set};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
use std::collections::BTreeMap;

/// Prefers, among orders of equal minutes, the one that needs cautious steps less often.
const CAUTION: f64 = 1e-10;
/// Prefers, after that, the author's order.
const AUTHORED: f64 = 1e-11;

/// A problem made small; see the module.
#[derive(Debug)]
pub struct Space<S> {
    /// The odds of each class of causes.
    pub weights: Vec<f64>,
    /// The causes of each class.
    pub classes: Vec<Set>,
    /// The steps that can matter.
    pub steps: Vec<Part<S>>,
    /// The set-ups: minutes to make each, and what it ends, as bits of a memory.
    setups: Vec<(f64, S)>,
    /// No state needs anything but its causes.
    pub plain: bool,
    /// Every test that remembers being done has several outcomes for a cause, and nothing else is remembered.
    pub shared_only: bool,
    /// A test whose reading was taken counts as done, even where it could still rule something out.
    pub give_up: bool,
    /// The step whose "done" each of the first positions of a memory is.
    bits: Vec<usize>,
    /// Per reading that two tests take, these tests.
    readers: Vec<S>,
    /// The bits of a memory that say that a step was done.
    done_bits: S,
    key_shift: usize,
    setup_shift: usize,
}

/// A step of a [`Space`].
#[derive(Debug)]
pub struct Part<S> {
    /// Its position in the problem.
    pub origin: usize,
    /// Minutes, raised by a ten-thousand-millionth or less so that ties fall as they should.
    pub minutes: f64,
    /// The classes that each outcome leaves.
    pub outcomes: Vec<S>,
    /// For each class, the outcomes that leave it.
    pub shows: Vec<S>,
    /// For each class: one over the number of outcomes that leave it.
    pub share: Vec<f64>,
    /// For each class, those that it treats otherwise.
    pub differs: Vec<S>,
    /// For each class, those with which its way may end here: all where no outcome leaves the class.
    pub others: Vec<S>,
    /// For each class, those with which it shares no outcome.
    pub apart: Vec<S>,
    /// Some class has several outcomes.
    pub shared: bool,
    /// Each class has exactly one outcome.
    pub partition: bool,
    /// Some class has no outcome.
    pub gaps: bool,
    /// Position of its "done" in a state's memory.
    pub bit: Option<usize>,
    needs: S,
    /// Set-ups that it is done in, by position.
    setups: SmallVec<[usize; 2]>,
    key: Option<usize>,
    /// Readings that must be taken again after it.
    changes: S,
    /// Steps after which the reading may be taken again.
    changers: S,
    /// Steps that take the same reading.
    twins: S,
    /// Steps that matter for it: those that it needs or their twins, and those after which its reading may be taken again.
    bears: S,
    /// What it asks of a state's memory besides: readings taken, set-ups in force.
    asks: S,
    /// What doing it takes from a state's memory, and puts there.
    forgets: S,
    learns: S,
}

/// What is left, and what was done on the way that still matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct State<S> {
    /// Classes left.
    pub left: S,
    /// Steps done, set-ups in force, readings taken.
    pub memory: S,
}

/// One way on.
#[derive(Clone, Debug)]
pub struct Move<S> {
    /// Position of the step in [`Space::steps`].
    pub step: usize,
    /// Minutes of the step and of its set-ups.
    pub minutes: f64,
    /// Outcome (its position in [`Part::outcomes`]), the state behind it, and the factor of its mass.
    pub next: SmallVec<[(usize, State<S>, f64); 4]>,
}

/// What can be done in a state.
#[derive(Clone, Debug)]
pub enum Options<S> {
    /// Nothing more can be ruled out.
    Leaf,
    /// What could still be ruled out needs a reading that was taken too early.
    Dead,
    /// At least one way on.
    Moves(S),
}

impl<S: Bits> Space<S> {
    /// Makes the problem small. Only for an outline whose size is within [`Bits::SIZE`].
    pub fn new(problem: &Problem, outline: &Outline, give_up: bool) -> Space<S> {
        let place: BTreeMap<usize, usize> = outline.kept.iter().enumerate().map(|(new, &old)| (old, new)).collect();
        let mut bits = 0;
        let mut steps = Vec::new();
        for &old in &outline.kept {
            let mut part = Part::<S>::new(problem, old, &outline.classes);
            part.needs = set(problem.steps[old].needs.members().filter_map(|step| place.get(&step).copied()));
            if outline.remembers(problem, old) {
                part.bit = Some(bits);
                bits += 1;
            }
            steps.push(part);
        }
        // where steps hang together, a test that tells less may be cheaper on some way; and where a test rules a cause
        // out whatever it shows, to know more may be to spend more
        let gaps = |part: &Part<S>| !part.outcomes.is_empty() && part.gaps;
        if problem.setups.is_empty() && !steps.iter().any(|part| !part.needs.is_none() || gaps(part)) {
            drop_twins(&mut steps, problem);
        }
        pair_keys(&mut steps, problem, outline.read);
        let keys = steps.iter().filter_map(|part| part.key).max().map_or(0, |key| key + 1);
        let unused = steps.iter().all(|part| part.setups.is_empty());
        let setup_shift = bits + keys;
        let setups = problem.setups.iter().filter(|_| !unused);
        let setups: Vec<(f64, S)> =
            setups.map(|setup| (setup.minutes, set(setup.ends.members().map(|other| setup_shift + other)))).collect();
        let mut space = Space {
            weights: outline.weights.clone(),
            classes: outline.classes.clone(),
            plain: setup_shift + setups.len() == 0,
            shared_only: keys == 0 && setups.is_empty() && steps.iter().all(|part| part.needs.is_none()),
            give_up,
            bits: Vec::new(),
            readers: vec![S::NONE; keys],
            done_bits: S::first(bits),
            key_shift: bits,
            setup_shift,
            steps,
            setups,
        };
        space.lay_out();
        space
    }

    /// Notes what each step asks of a state's memory.
    fn lay_out(&mut self) {
        self.bits = vec![0; self.key_shift];
        let key_bit = |key: usize| S::one(self.key_shift + key);
        for index in 0..self.steps.len() {
            let part = &self.steps[index];
            let needs = || part.needs.members().map(|need| (S::one(need), &self.steps[need]));
            let bears = needs().fold(part.changers, |set, (need, its)| set | need | its.twins);
            let keys = needs().filter_map(|(_, its)| its.key).chain(part.key);
            let asks = keys.fold(S::NONE, |set, key| set | key_bit(key));
            let asks = asks | set(part.setups.iter().map(|setup| self.setup_shift + setup));
            let forgets = set(part.changes.members().map(|key| self.key_shift + key));
            let learns = part.bit.map_or(S::NONE, S::one) | part.key.map_or(S::NONE, key_bit);
            if let Some(bit) = part.bit {
                self.bits[bit] = index;
            }
            if let Some(key) = part.key {
                self.readers[key] |= S::one(index);
            }
            let part = &mut self.steps[index];
            (part.bears, part.asks, part.forgets, part.learns) = (bears, asks, forgets, learns);
        }
    }

    /// Where the work starts.
    pub fn start(&self) -> State<S> {
        self.canon(S::first(self.classes.len()), S::NONE).0
    }

    /// Whether some order comes to an end from a state without running into a dead end; nothing where more than so many states
    /// would have to be looked at.
    pub fn ends(&self, state: State<S>, most: usize) -> Option<bool> {
        if self.readers.is_empty() {
            return Some(true);
        }
        let mut known = FxHashMap::default();
        self.ends_from(state, most, &mut known)
    }

    fn ends_from(&self, state: State<S>, most: usize, known: &mut FxHashMap<State<S>, bool>) -> Option<bool> {
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
                for step in moves.members() {
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

    /// The weights of the classes left, given what was done: one over `k` for each shared test.
    pub fn weights(&self, state: State<S>) -> impl Iterator<Item = f64> {
        let shared = self.done(state.memory).members().filter(|&step| self.steps[step].shared);
        let shared: SmallVec<[&Part<S>; 8]> = shared.map(|step| &self.steps[step]).collect();
        state.left.members().map(move |class| shared.iter().fold(self.weights[class], |w, part| w * part.share[class]))
    }

    /// The same into a list.
    pub fn weights_into(&self, state: State<S>, list: &mut Vec<f64>) {
        list.clear();
        list.extend(state.left.members().map(|class| self.weights[class]));
        for part in self.done(state.memory).members().map(|step| &self.steps[step]).filter(|part| part.shared) {
            list.iter_mut().zip(state.left.members()).for_each(|(weight, class)| *weight *= part.share[class]);
        }
    }

    /// The mass of a state.
    pub fn mass(&self, state: State<S>) -> f64 {
        self.weights(state).sum()
    }

    /// The causes of the classes in a set.
    pub fn causes(&self, left: S) -> Set {
        left.members().fold(Set::NONE, |sum, class| sum | self.classes[class])
    }

    /// What can be done.
    pub fn options(&self, state: State<S>) -> Options<S> {
        let done = self.done(state.memory);
        let useful = self.useful(state.left, done);
        if self.shared_only {
            return if useful.is_none() { Options::Leaf } else { Options::Moves(useful) };
        }
        let taken = self.taken(state.memory);
        if useful.is_none() || self.give_up && useful.is_within(taken) {
            return Options::Leaf;
        }
        let wanted = self.with_what_must_come_before(useful, done, taken);
        let ready = |&step: &usize| {
            let part = &self.steps[step];
            part.needs.is_within(done | taken)
                && (part.outcomes.is_empty() || part.outcomes.iter().any(|outcome| outcome.meets(state.left)))
        };
        let moves: S = set((wanted & !taken).members().filter(ready));
        match (moves.is_none(), self.give_up) {
            (false, _) => Options::Moves(moves),
            (true, true) => Options::Leaf,
            (true, false) => Options::Dead,
        }
    }

    /// Does a step.
    pub fn go(&self, state: State<S>, step: usize) -> Move<S> {
        let part = &self.steps[step];
        let (minutes, mut memory) = self.set_up(state.memory, step);
        memory = (memory | part.learns) & !part.forgets;
        let mut next = SmallVec::new();
        if part.outcomes.is_empty() {
            let (there, factor) = self.canon(state.left, memory);
            next.push((0, there, factor));
        }
        for (outcome, &leaves) in part.outcomes.iter().enumerate() {
            if leaves.meets(state.left) {
                let (there, factor) = self.canon(state.left & leaves, memory);
                next.push((outcome, there, factor));
            }
        }
        Move { step, minutes, next }
    }

    /// The minutes that a step takes in a state, set-ups included.
    pub fn minutes(&self, state: State<S>, step: usize) -> f64 {
        self.set_up(state.memory, step).0
    }

    /// The minutes of a step with its set-ups, and the memory with them in force.
    fn set_up(&self, mut memory: S, step: usize) -> (f64, S) {
        let part = &self.steps[step];
        let mut minutes = part.minutes;
        for &setup in &part.setups {
            let (extra, ends) = self.setups[setup];
            let own = self.setup_shift + setup;
            minutes += if memory.has(own) { 0.0 } else { extra };
            memory = memory & !ends | S::one(own);
        }
        (minutes, memory)
    }

    /// Minutes that every order takes before it can tell anything: actions and set-ups that all useful tests ask for.
    pub fn toll(&self, state: State<S>) -> f64 {
        if self.shared_only || self.give_up {
            return 0.0;
        }
        let done = self.done(state.memory);
        let there = done | self.taken(state.memory);
        let (mut steps, mut setups) = (!S::NONE, !state.memory);
        for test in self.useful(state.left, done).members() {
            // a reading that another test takes too needs no test of its own
            let surely = |step: &usize| self.steps[*step].twins.is_none();
            let chain =
                closed(S::one(test), done, |step| set((self.steps[step].needs & !there).members().filter(surely)));
            steps &= chain;
            setups &= chain.members().fold(S::NONE, |all, step| all | self.steps[step].asks);
        }
        let actions = steps.members().filter(|&step| self.steps.get(step).is_some_and(|part| part.outcomes.is_empty()));
        let actions: f64 = actions.map(|step| self.steps[step].minutes).sum();
        let setup = |(minutes, _): &(f64, S), at: usize| if setups.has(self.setup_shift + at) { *minutes } else { 0.0 };
        actions + self.setups.iter().enumerate().map(|(at, row)| setup(row, at)).sum::<f64>()
    }

    /// Where two classes are left: the quickest test that can still tell something, if it can be done as things stand and parts them.
    /// Then nothing is better.
    pub fn parting(&self, state: State<S>) -> Option<usize> {
        let (one, rest) = (state.left.lowest(), state.left.rest());
        if !rest.is_one() {
            return None;
        }
        let done = self.done(state.memory);
        let minutes = |step: &usize| self.steps[*step].minutes;
        let quickest = self.useful(state.left, done).members().min_by(|a, b| minutes(a).total_cmp(&minutes(b)))?;
        let part = &self.steps[quickest];
        // set-ups that end one another are not in force together
        let there = self.minutes(state, quickest) <= part.minutes;
        let taken = self.taken(state.memory);
        let ready = there && part.needs.is_within(done | taken) && !taken.has(quickest);
        (ready && part.apart[one].meets(rest)).then_some(quickest)
    }

    /// What no order that does only what is useful can cost more than, in mass: all that could still be done, each set-up made anew.
    pub fn most(&self, state: State<S>) -> f64 {
        let all = self.paths(self.useful_in(state), state.memory);
        let minutes = all.members().map(|step| {
            let part = &self.steps[step];
            part.minutes + part.setups.iter().map(|&setup| self.setups[setup].0).sum::<f64>()
        });
        minutes.sum::<f64>() * self.mass(state)
    }

    /// All that could still be done, in an order in which it can be done.
    pub fn in_order(&self, state: State<S>) -> Vec<usize> {
        let mut rest = self.paths(self.useful_in(state), state.memory);
        let mut done = self.done(state.memory) | self.taken(state.memory);
        let mut order = Vec::new();
        while let Some(step) = rest.members().find(|&step| self.steps[step].needs.is_within(done)) {
            done |= S::one(step) | self.steps[step].twins;
            rest = !S::one(step) & rest;
            order.push(step);
        }
        order
    }

    /// The steps that a memory says were done.
    fn done(&self, memory: S) -> S {
        set((memory & self.done_bits).members().map(|bit| self.bits[bit]))
    }

    /// The tests whose readings a memory says were taken.
    fn taken(&self, memory: S) -> S {
        let readers = self.readers.iter().enumerate();
        readers.fold(S::NONE, |set, (key, tests)| if memory.has(key + self.key_shift) { set | *tests } else { set })
    }

    /// The steps, of those not done, that can rule something out.
    fn useful(&self, left: S, done: S) -> S {
        set((S::first(self.steps.len()) & !done).members().filter(|&step| self.steps[step].splits(left)))
    }

    /// The tests that can still rule something out.
    pub fn useful_in(&self, state: State<S>) -> S {
        self.useful(state.left, self.done(state.memory))
    }

    /// A step and all that must still be done before it.
    pub fn path(&self, step: usize, memory: S) -> S {
        self.paths(S::one(step), memory)
    }

    /// Steps and all that must still be done before them.
    pub fn paths(&self, steps: S, memory: S) -> S {
        self.with_what_must_come_before(steps, self.done(memory), self.taken(memory))
    }

    /// Steps with all that must still be done before them.
    fn with_what_must_come_before(&self, steps: S, done: S, taken: S) -> S {
        closed(steps, done, |step| {
            let part = &self.steps[step];
            let again = if taken.has(step) { part.changers } else { S::NONE };
            let missing = part.needs & !(done | taken);
            missing.members().fold(again | missing, |set, need| set | self.steps[need].twins)
        })
    }

    /// Forgets what can't matter any more. A shared test that is forgotten leaves its `1/k` as a factor.
    fn canon(&self, left: S, memory: S) -> (State<S>, f64) {
        if self.plain || memory.is_none() {
            return (State { left, memory: S::NONE }, 1.0);
        }
        let done = self.done(memory);
        let mut factor = 1.0;
        if left.is_one() {
            let class = left.lowest();
            for part in done.members().map(|step| &self.steps[step]).filter(|part| part.shared) {
                factor *= part.share[class];
            }
            return (State { left, memory: S::NONE }, factor);
        }
        let (mut bears, mut keep) = (S::NONE, S::NONE);
        if !self.shared_only {
            // what must be done, or might have to be where a reading may have to be taken again
            let might = closed(self.useful(left, done), done, |step| self.steps[step].bears);
            for part in might.members().map(|step| &self.steps[step]) {
                bears |= part.bears;
                keep |= part.asks;
            }
        }
        for step in done.members() {
            let part = &self.steps[step];
            if bears.has(step) || part.shared && part.splits(left) {
                keep |= part.bit.map_or(S::NONE, S::one);
            } else if part.shared {
                // it no longer splits what is left, so that every class left has the same outcomes, and the same share
                factor *= part.share[left.lowest()];
            }
        }
        (State { left, memory: memory & keep }, factor)
    }
}

/// Steps with all that bear on them, and on those in turn; what is done bears on nothing.
fn closed<S: Bits>(steps: S, done: S, bears: impl Fn(usize) -> S) -> S {
    let (mut all, mut rest) = (steps, steps);
    while !rest.is_none() {
        let more = bears(rest.lowest()) & !done & !all;
        all |= more;
        rest = rest.rest() | more;
    }
    all
}

impl<S: Bits> Part<S> {
    fn new(problem: &Problem, origin: usize, classes: &[Set]) -> Part<S> {
        let step = &problem.steps[origin];
        let place = origin as f64 / problem.steps.len() as f64;
        let raise = 1.0 + AUTHORED * place + if step.caution { CAUTION } else { 0.0 };
        let outcomes: Vec<S> = step
            .outcomes
            .iter()
            .map(|outcome| set((0..classes.len()).filter(|&class| classes[class].meets(*outcome))))
            .collect();
        let shows: Vec<S> = (0..classes.len())
            .map(|class| set((0..outcomes.len()).filter(|&outcome| outcomes[outcome].has(class))))
            .collect();
        let classes = |wanted: &dyn Fn(S) -> bool| set((0..shows.len()).filter(|&other| wanted(shows[other])));
        Part {
            origin,
            minutes: step.minutes * raise,
            share: shows.iter().map(|shows| 1.0 / shows.count().max(1) as f64).collect(),
            shared: shows.iter().any(|shows| shows.count() > 1),
            partition: shows.iter().all(|shows| shows.is_one()),
            gaps: shows.iter().any(|shows| shows.is_none()),
            differs: shows.iter().map(|&own| classes(&|other| other != own)).collect(),
            others: shows.iter().map(|&own| classes(&|other| other != own || own.is_none())).collect(),
            apart: shows.iter().map(|&own| classes(&|other| !other.meets(own))).collect(),
            outcomes,
            shows,
            bit: None,
            needs: S::NONE,
            setups: step.setups.members().filter(|&setup| setup < problem.setups.len()).collect(),
            key: step.key,
            changes: S::NONE,
            changers: S::NONE,
            twins: S::NONE,
            bears: S::NONE,
            asks: S::NONE,
            forgets: S::NONE,
            learns: S::NONE,
        }
    }

    /// Whether an outcome rules something of these classes out (and leaves something): it treats them differently.
    #[inline]
    pub fn splits(&self, left: S) -> bool {
        self.differs.get(left.lowest()).is_some_and(|others| others.meets(left))
    }

    /// Whether other steps decide if it can be used at all.
    pub fn depends(&self) -> bool {
        self.key.is_some() || !self.needs.is_none()
    }

    /// Whether a state's memory says that it was done.
    pub fn done(&self, memory: S) -> bool {
        self.bit.is_some_and(|bit| memory.has(bit))
    }
}

/// Of tests without anything shared, one whose every outcome lies within one of a cheaper test's goes: the other tells
/// as much.
fn drop_twins<S: Bits>(steps: &mut Vec<Part<S>>, problem: &Problem) {
    let finer = |a: &Part<S>, b: &Part<S>| a.outcomes.iter().all(|x| b.outcomes.iter().any(|y| x.is_within(*y)));
    let changes = |part: &Part<S>| !problem.steps[part.origin].changes.is_none();
    let simple = |part: &Part<S>| part.partition && part.key.is_none() && part.setups.is_empty() && !changes(part);
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

/// Numbers the readings that two tests take; the others are forgotten.
fn pair_keys<S: Bits>(steps: &mut [Part<S>], problem: &Problem, read: Set) {
    let number = |key: usize| read.has(key).then(|| (read & Set::first(key)).count());
    for part in &mut *steps {
        part.key = part.key.and_then(number);
        part.changes = set(problem.steps[part.origin].changes.members().filter_map(number));
    }
    let all: Vec<(Option<usize>, S)> = steps.iter().map(|part| (part.key, part.changes)).collect();
    for part in steps {
        let Some(key) = part.key else { continue };
        part.changers = set((0..all.len()).filter(|&step| all[step].1.has(key)));
        part.twins = set((0..all.len()).filter(|&step| all[step].0 == Some(key)));
    }
}
