//! How a state is written down: a few machine words, so that hundreds of thousands stay cheap.
//!
//! In: one class and which keys are carried from one step to a later one. Out: a [`Code`] (where each part stands in the
//! words of a state) and the [`Arc`]s of each step as masks over those words.
//!
//! Word 0 is the step. Then come the causes left, then for each carried key one bit per cell. A fact that says nothing, and one
//! that no later step reads, is all ones: so equal knowledge is equal words, learning is `and`, forgetting and joining are `or`.

use smallvec::SmallVec;

use super::classes::{Class, KeyAt, Meets};
use super::live::{live, target};
use super::paths::Via;
use crate::model::{Cause, Ix, Procedure, Set, Step};
use crate::quantity::CellSet;

/// A state in words.
pub type Words = SmallVec<[u64; 4]>;

/// Masks over the fact words; most procedures need none or one.
type Masks = SmallVec<[u64; 2]>;

/// Where the cells of a carried key stand among the fact words.
#[derive(Clone, Copy, Debug)]
struct Slot {
    bit: usize,
    cells: usize,
}

/// What a way out asks of the facts before it can be taken.
#[derive(Debug)]
enum Asks {
    /// Nothing.
    Nothing,
    /// Some of these bits.
    Some(Masks),
}

/// A way out of a step on one class, as masks. One that no reading takes even by itself is left out.
#[derive(Debug)]
pub struct Arc {
    /// Which way.
    pub via: Via,
    /// The step that it leads to; nothing at an ending.
    pub to: Option<u32>,
    asks: Asks,
    learns: Masks,
    blanks: Masks,
    keeps: Masks,
}

/// The layout of the states of one class, and its arcs per step.
#[derive(Debug)]
pub struct Code {
    cause_words: usize,
    slots: Vec<Option<Slot>>,
    cells: Vec<usize>,
    arcs: Vec<Vec<Arc>>,
}

impl Code {
    /// Lays out the states of a class and compiles its arcs.
    pub fn new(procedure: &Procedure, class: &Class) -> Self {
        let live = live(procedure, class);
        let (slots, bits) = slots(procedure, class, &live);
        let mut code = Self {
            cause_words: procedure.causes.len().div_ceil(64),
            slots,
            cells: class.keys.iter().map(|(_, memory)| memory.len()).collect(),
            arcs: Vec::with_capacity(procedure.steps.len()),
        };
        let words = bits.div_ceil(64);
        for (at, _, step) in procedure.steps.iter() {
            let arcs = code.arcs_of(procedure, class, at.raw(), step, &live, words);
            code.arcs.push(arcs);
        }
        code
    }

    fn arcs_of(
        &self,
        procedure: &Procedure,
        class: &Class,
        at: usize,
        step: &Step,
        live: &[CellSet],
        words: usize,
    ) -> Vec<Arc> {
        let ones = || Masks::from_elem(u64::MAX, words);
        let zeros = || Masks::from_elem(0, words);
        let count = procedure.causes.len();
        let mut arcs = Vec::with_capacity(step.results.len() + 1);
        for (result, outcome) in step.results.iter().enumerate() {
            let (mut asks, mut learns) = (Asks::Nothing, ones());
            match &class.meets[at] {
                Meets::Done | Meets::Blind => {}
                Meets::Route(route) if *route == Some(result) => {}
                Meets::Route(_) => continue,
                Meets::Test { takes, .. } if takes[result].is_empty() => continue,
                Meets::Test { key, takes } => {
                    if let Some(slot) = self.slots[*key] {
                        let mut some = zeros();
                        for cell in 0..slot.cells {
                            let (word, bit) = ((slot.bit + cell) / 64, 1 << ((slot.bit + cell) % 64));
                            if takes[result].contains(cell) {
                                some[word] |= bit;
                            } else {
                                learns[word] &= !bit;
                            }
                        }
                        asks = Asks::Some(some);
                    }
                }
            }
            let to = target(&outcome.way);
            let mut blanks = zeros();
            self.blank(&mut blanks, |key| {
                class.forgets[at].contains(key) || to.is_some_and(|to| !live[to].contains(key))
            });
            let keeps = Set::all(count).minus(&outcome.rules_out(count));
            let keeps = padded(keeps.words(), self.cause_words);
            arcs.push(Arc { via: Via::Result(result), to: to.map(|t| t as u32), asks, learns, blanks, keeps });
        }
        if let Some(without) = &step.without {
            let to = target(&without.way);
            let mut blanks = zeros();
            self.blank(&mut blanks, |key| to.is_some_and(|to| !live[to].contains(key)));
            let keeps = Masks::from_elem(u64::MAX, self.cause_words);
            let to = to.map(|t| t as u32);
            arcs.push(Arc { via: Via::Without, to, asks: Asks::Nothing, learns: ones(), blanks, keeps });
        }
        arcs
    }

    /// Sets the bits of the keys that are asked for.
    fn blank(&self, masks: &mut Masks, which: impl Fn(KeyAt) -> bool) {
        for (key, slot) in self.slots.iter().enumerate() {
            if let Some(slot) = slot.filter(|_| which(key)) {
                for bit in slot.bit..slot.bit + slot.cells {
                    masks[bit / 64] |= 1 << (bit % 64);
                }
            }
        }
    }

    /// The state in which a job starts: nothing known, every cause of the class left.
    pub fn start(&self, step: usize, causes: &Set<Cause>) -> Words {
        let facts: usize = self.slots.iter().flatten().map(|s| s.bit + s.cells).max().unwrap_or(0).div_ceil(64);
        let mut words = Words::with_capacity(1 + self.cause_words + facts);
        words.push(step as u64);
        words.extend(padded(causes.words(), self.cause_words));
        words.extend(std::iter::repeat_n(u64::MAX, facts));
        words
    }

    /// The ways out of a step.
    pub fn arcs(&self, step: usize) -> &[Arc] {
        &self.arcs[step]
    }

    /// Whether a state's facts allow a way out.
    pub fn allows(&self, state: &[u64], arc: &Arc) -> bool {
        match &arc.asks {
            Asks::Nothing => true,
            Asks::Some(bits) => {
                state[1 + self.cause_words..].iter().zip(bits).any(|(known, wanted)| known & wanted != 0)
            }
        }
    }

    /// The state that a way out leads to.
    pub fn follow(&self, state: &[u64], arc: &Arc, to: u32) -> Words {
        let mut next = Words::with_capacity(state.len());
        next.push(u64::from(to));
        let (causes, facts) = state[1..].split_at(self.cause_words);
        next.extend(causes.iter().zip(&arc.keeps).map(|(left, keeps)| left & keeps));
        next.extend(facts.iter().zip(arc.learns.iter().zip(&arc.blanks)).map(|(f, (l, b))| f & l | b));
        next
    }

    /// The causes left in a state.
    pub fn left(&self, state: &[u64]) -> Set<Cause> {
        Set::from_words(&state[1..=self.cause_words])
    }

    /// The causes left once a way out of a state is taken.
    pub fn left_after(&self, state: &[u64], arc: &Arc) -> Set<Cause> {
        let words: SmallVec<[u64; 2]> =
            state[1..=self.cause_words].iter().zip(&arc.keeps).map(|(left, keeps)| left & keeps).collect();
        Set::from_words(&words)
    }

    /// What a state knows of a key.
    pub fn fact(&self, state: &[u64], key: KeyAt) -> CellSet {
        let Some(slot) = self.slots[key] else { return CellSet::full(self.cells[key]) };
        let facts = &state[1 + self.cause_words..];
        (0..slot.cells).filter(|cell| facts[(slot.bit + cell) / 64] >> ((slot.bit + cell) % 64) & 1 == 1).collect()
    }
}

/// A place for each key that some step reads and a later one still asks; keys of up to 64 cells don't straddle a word.
fn slots(procedure: &Procedure, class: &Class, live: &[CellSet]) -> (Vec<Option<Slot>>, usize) {
    let mut carried = vec![false; class.keys.len()];
    for (at, _, step) in procedure.steps.iter() {
        if let Meets::Test { key, .. } = &class.meets[at.raw()] {
            let on = || step.results.iter().filter_map(|r| target(&r.way)).any(|to| live[to].contains(*key));
            carried[*key] = carried[*key] || !class.forgets[at.raw()].contains(*key) && on();
        }
    }
    let mut next = 0;
    let slots = class.keys.iter().zip(carried).map(|((_, memory), carried)| {
        let cells = memory.len();
        carried.then(|| {
            if next % 64 + cells > 64 {
                next = usize::div_ceil(next, 64) * 64;
            }
            let slot = Slot { bit: next, cells };
            next += cells;
            slot
        })
    });
    let slots = slots.collect();
    (slots, next)
}

fn padded(words: &[u64], count: usize) -> Masks {
    let mut padded = Masks::from_slice(words);
    padded.resize(count, 0);
    padded
}

/// The step of a state.
pub fn step_of(state: &[u64]) -> Ix<Step> {
    Ix::new(state[0] as usize)
}
