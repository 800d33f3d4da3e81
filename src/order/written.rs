//! In: a procedure as written, and one class of vehicles. Out: [`Written`]: expected minutes, minutes per cause, how far it isolates.
//!
//! Given the fault, a step shows one of the results that do not rule that cause out and that the facts allow, each equally
//! likely where several remain. Two limits, so that odds never run out of the list: a listed cause never takes a result that ends in
//! `refer`, `normal`, `unproven` or a jump, and `no-fault` none that ends in `shows`, `found`, `refer`, `unproven` or a jump, unless no
//! other is left. A return to a state already on the path ends the walk there, its causes not isolated.

use std::collections::{BTreeMap, HashMap};

use super::problem::enter;
use super::shares::Odds;
use super::translate::{Minutes, setups};
use crate::graph::classes::Class;
use crate::graph::explore::{Explorer, State};
use crate::graph::paths::{Via, way_of};
use crate::model::{Base, Cause, CauseIx, Equipment, NO_FAULT, Procedure, Set, Way};

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

/// Where the walk of one cause ends, and how likely: the group, or nothing where it is not isolated.
type Ends = BTreeMap<Option<Vec<CauseIx>>, f64>;

#[derive(Clone, Default)]
struct Sum {
    minutes: f64,
    ends: Ends,
    /// Whether nothing in it depended on the path that led here.
    clean: bool,
}

/// As many states as one cause may walk through before the walk is given up.
const MOST: usize = 400_000;

/// Weighs a procedure as written on one class of vehicles. Nothing where it is too involved to walk.
pub fn written(base: &Base, procedure: &Procedure, class: &Class, odds: &Odds) -> Option<Written> {
    written_with(base, procedure, class, odds, None)
}

/// The same with only some equipment at hand: a step that lacks its own goes the `without` way, or ends the walk there.
pub fn written_with(
    base: &Base,
    procedure: &Procedure,
    class: &Class,
    odds: &Odds,
    has: Option<&Set<Equipment>>,
) -> Option<Written> {
    let start = procedure.start()?;
    let mut all = Written { minutes: 0.0, per_cause: Vec::new(), groups: Vec::new(), isolation: [0.0; 3] };
    let (setups, minutes) = (setups(base), Minutes::new(base, procedure));
    let (explorer, blocked) = (Explorer::new(procedure, class), blocked(base, procedure, has));
    for (cause, p) in odds.causes.iter().zip(&odds.odds) {
        let mut walk = Walk {
            procedure,
            explorer: &explorer,
            minutes: &minutes,
            setups: &setups,
            blocked: &blocked,
            cause: *cause,
            path: Vec::new(),
            known: HashMap::new(),
            steps: 0,
        };
        let state = walk.explorer.start(class, start);
        let sum = walk.state(state, 0)?;
        all.minutes += p * sum.minutes;
        all.per_cause.push(sum.minutes);
        for (group, share) in sum.ends {
            let Some(group) = group.filter(|g| g.contains(cause)) else { continue };
            for (most, isolated) in all.isolation.iter_mut().enumerate() {
                if group.len() <= most + 1 {
                    *isolated += p * share;
                }
            }
            if !all.groups.contains(&group) {
                all.groups.push(group);
            }
        }
    }
    all.groups.sort();
    Some(all)
}

struct Walk<'a> {
    procedure: &'a Procedure,
    explorer: &'a Explorer,
    minutes: &'a Minutes,
    setups: &'a [super::problem::Setup],
    /// Per step, whether its equipment is not at hand.
    blocked: &'a [bool],
    cause: CauseIx,
    path: Vec<State>,
    known: HashMap<(State, u128), Sum>,
    steps: usize,
}

impl Walk<'_> {
    fn state(&mut self, state: State, in_force: u128) -> Option<Sum> {
        if self.path.contains(&state) {
            return Some(Sum { minutes: 0.0, ends: BTreeMap::from([(None, 1.0)]), clean: false });
        }
        if let Some(sum) = self.known.get(&(state.clone(), in_force)) {
            return Some(sum.clone());
        }
        self.steps += 1;
        // Deeper than this no written procedure goes; a stack has an end.
        if self.steps > MOST || self.path.len() > 2_000 {
            return None;
        }
        let at = state.step();
        let (setup, now) = enter(self.setups, in_force, self.minutes.setups[at.raw()]);
        let mut sum = Sum { minutes: setup + self.minutes.steps[at.raw()], ends: Ends::new(), clean: true };
        let moves = self.moves(&state);
        self.path.push(state.clone());
        let share = 1.0 / moves.len().max(1) as f64;
        for (via, left, next) in &moves {
            match next {
                Some(next) => {
                    let below = self.state(next.clone(), now)?;
                    sum.minutes += share * below.minutes;
                    sum.clean &= below.clean;
                    for (group, odds) in below.ends {
                        *sum.ends.entry(group).or_insert(0.0) += share * odds;
                    }
                }
                None => *sum.ends.entry(self.group(&state, *via, left)).or_insert(0.0) += share,
            }
        }
        if moves.is_empty() {
            sum.ends.insert(None, 1.0);
        }
        self.path.pop();
        if sum.clean {
            self.known.insert((state, in_force), sum.clone());
        }
        Some(sum)
    }

    /// The results that this cause can show here.
    fn moves(&self, state: &State) -> Vec<(Via, Set<Cause>, Option<State>)> {
        let blocked = self.blocked[state.step().raw()];
        let all: Vec<_> =
            self.explorer.moves(state).into_iter().filter(|(via, ..)| (*via == Via::Without) == blocked).collect();
        if blocked {
            return all;
        }
        let shown: Vec<_> =
            all.iter().filter(|(via, ..)| !excludes(self.procedure, state, *via, self.cause)).cloned().collect();
        // A cause that every result rules out takes any: the procedure says so itself, and is told of it elsewhere.
        let shown = if shown.is_empty() { all } else { shown };
        let fair: Vec<_> = shown.iter().filter(|(via, ..)| !self.is_last_resort(state, *via)).cloned().collect();
        if fair.is_empty() { shown } else { fair }
    }

    fn is_last_resort(&self, state: &State, via: Via) -> bool {
        let no_fault = self.procedure.causes.id(self.cause) == NO_FAULT;
        way_of(self.procedure, state.step(), via).is_some_and(|way| last_resort(way, no_fault))
    }

    fn group(&self, state: &State, via: Via, left: &Set<Cause>) -> Option<Vec<CauseIx>> {
        match way_of(self.procedure, state.step(), via)? {
            Way::Shows(cause) => Some(vec![*cause]),
            Way::Found(causes) => {
                let mut causes = causes.clone();
                causes.sort_unstable();
                Some(causes)
            }
            Way::FoundLeft => {
                let no_fault: Set<Cause> = self.procedure.no_fault().into_iter().collect();
                Some(left.minus(&no_fault).iter().collect())
            }
            Way::Normal(_) => self.procedure.no_fault().map(|c| vec![c]),
            _ => None,
        }
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

/// Whether a result says that it is not this cause: by `clears`, by `leaves`, or by showing another.
fn excludes(procedure: &Procedure, state: &State, via: Via, cause: CauseIx) -> bool {
    let Via::Result(result) = via else { return false };
    let result = &procedure.steps[state.step()].results[result];
    result.rules_out(procedure.causes.len()).contains(cause)
        || matches!(result.way, Way::Shows(shown) if shown != cause)
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
