//! In: a procedure as written, and one class of vehicles. Out: [`Written`]: expected minutes, minutes per cause, how far it isolates.
//!
//! Given the fault, a step shows one of the results that do not rule that cause out and that the facts allow, each equally
//! likely where several remain. Two limits, so that odds never run out of the list: a listed cause never takes a result that ends in
//! `refer`, `normal`, `unproven` or a jump, and `no-fault` none that ends in `shows`, `found`, `refer`, `unproven` or a jump, unless no
//! other is left. A return to a state already on the path ends the walk there, its causes not isolated.

use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use super::bits::{self, Bits};
use super::shares::Odds;
use super::translate::Minutes;
use crate::graph::paths::{Move, Next, Paths, StateAt, Via, way_of};
use crate::model::{Base, Cause, CauseIx, Equipment, Procedure, Set, Way};

/// A procedure as written, weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Expected minutes.
    pub minutes: f64,
    /// Expected minutes if the fault is this cause, in the order of [`Odds::causes`].
    pub per_cause: Vec<f64>,
    /// The groups in which verdicts leave causes, each once, in written order.
    pub groups: Vec<Vec<CauseIx>>,
    /// The odds that the fault ends in a group of at most 1, 2, 3 causes.
    pub isolation: [f64; 3],
}

impl Written {
    /// Whether another order takes less time, or isolates further.
    pub fn loses_to(&self, minutes: f64, isolation: [f64; 3]) -> bool {
        minutes < self.minutes - EQUAL || isolation.iter().zip(&self.isolation).any(|(new, old)| *new > old + EQUAL)
    }
}

/// As near as minutes and odds that are equal can come out.
const EQUAL: f64 = 1e-9;

/// Where the walk of one cause ends, and how likely: the position of the group, or nothing where it is not isolated.
type Ends = SmallVec<[(Option<usize>, f64); 4]>;

#[derive(Clone)]
struct Sum {
    minutes: f64,
    ends: Ends,
    /// Whether nothing in it depended on the path that led here.
    clean: bool,
}

/// As many states as all causes together may walk through before the walk is given up: a second or two.
const MOST: usize = 1_000_000;

/// Weighs a procedure as written on one class of vehicles, by its possible paths. Nothing where it is too involved to walk.
pub fn written(base: &Base, procedure: &Procedure, paths: &Paths, odds: &Odds) -> Option<Written> {
    written_with(base, procedure, paths, odds, &Minutes::new(base, procedure), None)
}

/// The same with only some equipment at hand: a step that lacks its own goes the `without` way, or ends the walk there.
pub fn written_with(
    base: &Base,
    procedure: &Procedure,
    paths: &Paths,
    odds: &Odds,
    minutes: &Minutes,
    has: Option<&Set<Equipment>>,
) -> Option<Written> {
    if paths.is_empty() || !paths.is_exact() || minutes.table.len() > u64::SIZE {
        return None;
    }
    let mut walk = Walk {
        procedure,
        paths,
        minutes,
        setups: minutes.table.iter().map(|setup| (setup.minutes, bits::set(setup.ends.members()))).collect(),
        blocked: blocked(base, procedure, has),
        excludes: excludes(procedure),
        no_fault: procedure.no_fault(),
        groups: Vec::new(),
        cause: CauseIx::new(0),
        on_path: vec![false; paths.len()],
        depth: 0,
        known: FxHashMap::default(),
        steps: 0,
    };
    let mut all = Written { minutes: 0.0, per_cause: Vec::new(), groups: Vec::new(), isolation: [0.0; 3] };
    let mut isolating: Set<Vec<CauseIx>> = Set::new();
    for (cause, p) in odds.causes.iter().zip(&odds.odds) {
        walk.cause = *cause;
        walk.known.clear();
        let sum = walk.state(0, 0)?;
        all.minutes += p * sum.minutes;
        all.per_cause.push(sum.minutes);
        for (at, share) in sum.ends.iter().filter_map(|(group, share)| Some((group.as_ref()?, share))) {
            let group = &walk.groups[*at];
            if !group.contains(cause) {
                continue;
            }
            for (most, isolated) in all.isolation.iter_mut().enumerate() {
                if group.len() <= most + 1 {
                    *isolated += p * share;
                }
            }
            isolating.insert(crate::model::Ix::new(*at));
        }
    }
    all.groups = isolating.iter().map(|at| walk.groups[at.raw()].clone()).collect();
    all.groups.sort();
    Some(all)
}

struct Walk<'a> {
    procedure: &'a Procedure,
    paths: &'a Paths,
    minutes: &'a Minutes,
    /// Per setup, the minutes to make it, and those that it ends.
    setups: Vec<(f64, u64)>,
    /// Per step, whether its equipment is not at hand.
    blocked: Vec<bool>,
    /// Per step and result, the causes that it says it is not.
    excludes: Vec<Vec<Set<Cause>>>,
    no_fault: Option<CauseIx>,
    /// The groups that verdicts name, each once.
    groups: Vec<Vec<CauseIx>>,
    cause: CauseIx,
    on_path: Vec<bool>,
    depth: usize,
    known: FxHashMap<(StateAt, u64), Sum>,
    steps: usize,
}

impl Walk<'_> {
    fn state(&mut self, at: StateAt, in_force: u64) -> Option<Sum> {
        if self.on_path[at] {
            return Some(Sum { minutes: 0.0, ends: Ends::from_slice(&[(None, 1.0)]), clean: false });
        }
        if let Some(sum) = self.known.get(&(at, in_force)) {
            return Some(sum.clone());
        }
        self.steps += 1;
        // Deeper than this no written procedure goes; a stack has an end.
        if self.steps > MOST || self.depth > 2_000 {
            return None;
        }
        let step = self.paths.step(at).raw();
        let (setup, now) = self.enter(in_force, &self.minutes.setups[step]);
        let mut sum = Sum { minutes: setup + self.minutes.steps[step], ends: Ends::new(), clean: true };
        let moves = self.moves(at);
        self.on_path[at] = true;
        self.depth += 1;
        let share = 1.0 / moves.len().max(1) as f64;
        for m in &moves {
            match m.next {
                Next::State(next) => {
                    let below = self.state(next, now)?;
                    sum.minutes += share * below.minutes;
                    sum.clean &= below.clean;
                    for (group, odds) in below.ends {
                        add(&mut sum.ends, group, share * odds);
                    }
                }
                Next::End => {
                    let group = self.group(at, *m);
                    add(&mut sum.ends, group, share);
                }
            }
        }
        if moves.is_empty() {
            sum.ends.push((None, 1.0));
        }
        self.depth -= 1;
        self.on_path[at] = false;
        if sum.clean {
            self.known.insert((at, in_force), sum.clone());
        }
        Some(sum)
    }

    /// Puts a step's setups in force: the minutes that it takes, and what is in force afterwards.
    fn enter(&self, mut in_force: u64, wanted: &[usize]) -> (f64, u64) {
        let mut minutes = 0.0;
        for setup in wanted {
            let (extra, ends) = self.setups[*setup];
            minutes += if in_force.has(*setup) { 0.0 } else { extra };
            in_force = in_force & !ends | u64::one(*setup);
        }
        (minutes, in_force)
    }

    /// The results that this cause can show here.
    fn moves(&self, at: StateAt) -> SmallVec<[Move; 8]> {
        let step = self.paths.step(at);
        let blocked = self.blocked[step.raw()];
        let mut moves: SmallVec<[Move; 8]> =
            self.paths.moves(at).filter(|m| (m.via == Via::Without) == blocked).collect();
        if blocked {
            return moves;
        }
        // A cause that every result rules out takes any: the procedure says so itself, and is told of it elsewhere.
        keep_some(&mut moves, |m| match m.via {
            Via::Result(result) => !self.excludes[step.raw()][result].contains(self.cause),
            Via::Without => true,
        });
        let no_fault = self.no_fault == Some(self.cause);
        keep_some(&mut moves, |m| !way_of(self.procedure, step, m.via).is_some_and(|way| last_resort(way, no_fault)));
        moves
    }

    /// The position of the group that a verdict names; nothing at another ending.
    fn group(&mut self, at: StateAt, m: Move) -> Option<usize> {
        let group = match way_of(self.procedure, self.paths.step(at), m.via)? {
            Way::Shows(cause) => vec![*cause],
            Way::Found(causes) => {
                let mut causes = causes.clone();
                causes.sort_unstable();
                causes
            }
            Way::FoundLeft => {
                let left = self.paths.left_after(at, m);
                left.iter().filter(|c| Some(*c) != self.no_fault).collect()
            }
            Way::Normal(_) => vec![self.no_fault?],
            _ => return None,
        };
        let known = self.groups.iter().position(|g| *g == group);
        Some(known.unwrap_or_else(|| {
            self.groups.push(group);
            self.groups.len() - 1
        }))
    }
}

fn add(ends: &mut Ends, group: Option<usize>, odds: f64) {
    match ends.iter_mut().find(|(known, _)| *known == group) {
        Some((_, sum)) => *sum += odds,
        None => ends.push((group, odds)),
    }
}

/// Leaves out what is not wanted, unless that is all.
fn keep_some(moves: &mut SmallVec<[Move; 8]>, wanted: impl Fn(&Move) -> bool) {
    if moves.iter().any(&wanted) {
        moves.retain(|m| wanted(m));
    }
}

/// The steps whose own or whose setups' equipment is not at hand.
fn blocked(base: &Base, procedure: &Procedure, has: Option<&Set<Equipment>>) -> Vec<bool> {
    let lacks = |step: &crate::model::Step, has: &Set<Equipment>| {
        let setups = step.shared.setup.iter().flat_map(|s| &base.setups[s.value].with);
        step.shared.with.iter().chain(setups).any(|w| w.value.iter().all(|e| !has.contains(*e)))
    };
    procedure.steps.iter().map(|(_, _, s)| has.is_some_and(|has| lacks(s, has))).collect()
}

/// Per step and result, the causes that it says it is not: by `clears`, by `leaves`, or by showing another.
fn excludes(procedure: &Procedure) -> Vec<Vec<Set<Cause>>> {
    let count = procedure.causes.len();
    procedure.steps.iter().map(|(_, _, step)| step.results.iter().map(|r| r.excludes(count)).collect()).collect()
}

/// Whether a cause takes this way only where no other is left to it.
pub fn last_resort(way: &Way, no_fault: bool) -> bool {
    match way {
        Way::Refer(_) | Way::Unproven(_) | Way::Jump(_) => true,
        Way::Normal(_) => !no_fault,
        Way::Shows(_) | Way::Found(_) | Way::FoundLeft => no_fault,
        Way::Then(_) | Way::Unknown => false,
    }
}
