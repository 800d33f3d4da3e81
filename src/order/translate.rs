//! In: a procedure and one class of vehicles. Out: [`Translated`]: the same question without names, and whose position is whose.

use std::collections::BTreeMap;

use smallvec::SmallVec;

use super::bits::Bits;
use super::joint::{Joint, Side, join};
use super::problem::{Problem, Set as Places, Setup, Step, set};
use super::roads::Roads;
use super::shares::Odds;
use super::written::last_resort;
use crate::graph::arrows::Arrows;
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::Paths;
use crate::model::{Base, Kind, NO_FAULT, Procedure, Set, Signal, Step as Row, StepIx, Way};
use crate::quantity::CellSet;
use crate::quantity::number::to_f64;

/// The minutes and setups of every step.
pub struct Minutes {
    /// Work and waiting; a test without minutes takes the shop's default.
    pub steps: Vec<f64>,
    /// The setups that some step needs, in the order of the base.
    pub table: Vec<Setup>,
    /// Per step, those that it needs, in the order of the base.
    pub setups: Vec<SmallVec<[usize; 2]>>,
    /// Tests that took the default.
    pub assumed: Vec<StepIx>,
}

impl Minutes {
    /// Reads them off.
    pub fn new(base: &Base, procedure: &Procedure) -> Self {
        let default = base.shop.default_minutes.as_ref().map_or(0.0, to_f64);
        let used: Set<crate::model::Setup> =
            procedure.steps.iter().flat_map(|(_, _, s)| &s.shared.setup).map(|s| s.value).collect();
        let place = |setup| used.iter().position(|s| s == setup);
        let table = used.iter().map(|s| Setup {
            minutes: base.setups[s].minutes.as_ref().map_or(0.0, to_f64),
            ends: set(base.setups[s].ends.iter().filter_map(|e| place(e.value))),
        });
        let mut all = Self { steps: Vec::new(), table: table.collect(), setups: Vec::new(), assumed: Vec::new() };
        for (at, _, step) in procedure.steps.iter() {
            let wait = step.shared.wait.as_ref().map_or(0.0, to_f64);
            let work = match &step.shared.minutes {
                Some(minutes) => to_f64(minutes),
                None if step.is_test() => {
                    all.assumed.push(at);
                    default
                }
                None => 0.0,
            };
            all.steps.push(work + wait);
            let mut setups: SmallVec<[usize; 2]> = step.shared.setup.iter().filter_map(|s| place(s.value)).collect();
            setups.sort_unstable();
            all.setups.push(setups);
        }
        all
    }
}

/// A procedure as a question without names.
pub struct Translated {
    /// The question.
    pub problem: Problem,
    /// The step at each position of [`Problem::steps`].
    pub steps: Vec<StepIx>,
    /// Per position, the tests of its reading, itself first: they are done together (none for a `do`).
    pub tests: Vec<Vec<StepIx>>,
    /// Per position and outcome, the result of each of these tests; nothing where a test has no result for the readings.
    pub answers: Vec<Vec<Vec<Option<usize>>>>,
}

impl Translated {
    /// The position at which a step is done, itself or with another that takes the same reading.
    pub fn position(&self, step: StepIx) -> Option<usize> {
        let own = self.steps.iter().position(|s| *s == step);
        own.or_else(|| self.tests.iter().position(|tests| tests.contains(&step)))
    }
}

/// Translates the steps that a class of vehicles can come to while everything is at hand.
pub fn translate(
    base: &Base,
    procedure: &Procedure,
    arrows: &Arrows,
    class: &Class,
    paths: &Paths,
    odds: &Odds,
    minutes: &Minutes,
) -> Translated {
    let roads = Roads::new(procedure, arrows, paths);
    let all: Vec<StepIx> = procedure
        .steps
        .iter()
        .filter(|(at, _, s)| roads.reach(*at) && (s.is_test() || matches!(s.kind, Kind::Do(_))))
        .map(|(at, ..)| at)
        .collect();
    let tests: Vec<Test> = all.iter().map(|at| test(procedure, class, *at, odds)).collect();
    let first = |at: &StepIx| -> Vec<StepIx> {
        let after = procedure.steps[*at].after.iter().map(|a| a.value);
        after.chain(roads.passed(procedure, *at)).filter(|a| a != at).collect()
    };
    let needs: Vec<Vec<StepIx>> = all.iter().map(first).collect();
    let caution: Vec<bool> = all.iter().map(|at| is_cautious(base, procedure, &procedure.steps[*at])).collect();
    let groups = groups(class, &all, &needs, &tests, minutes, &caution);
    let mut translated =
        Translated { problem: Problem::default(), steps: Vec::new(), tests: Vec::new(), answers: Vec::new() };
    translated.problem.weights.clone_from(&odds.weights);
    translated.problem.setups.clone_from(&minutes.table);
    // done by itself, or else with another that takes its reading
    let place = |step: StepIx| {
        let own = groups.iter().position(|g| all[g.members[0]] == step);
        own.or_else(|| groups.iter().position(|g| g.members.iter().any(|m| all[*m] == step)))
    };
    for (position, group) in groups.iter().enumerate() {
        let at = all[group.members[0]];
        let needs = needs[group.members[0]].iter().filter_map(|n| place(*n)).filter(|p| *p != position);
        let key = match &class.meets[at.raw()] {
            Meets::Test { key, .. } => Some(*key),
            _ => None,
        };
        let changes = set(class.forgets[at.raw()].iter());
        translated.problem.steps.push(Step {
            minutes: minutes.steps[at.raw()],
            outcomes: group.outcomes.iter().map(|o| o.side.leaves).collect(),
            needs: set(needs),
            setups: set(minutes.setups[at.raw()].iter().copied()),
            key,
            changes,
            caution: caution[group.members[0]],
        });
        translated.steps.push(at);
        translated
            .tests
            .push(group.members.iter().map(|m| all[*m]).filter(|s| procedure.steps[*s].is_test()).collect());
        let result = |joint: &Joint| -> Vec<Option<usize>> {
            let of = joint.answers.iter().zip(&group.members);
            of.map(|(answer, member)| tests[*member].results.get(*answer).copied()).collect()
        };
        translated.answers.push(group.outcomes.iter().map(result).collect());
    }
    translated
}

/// What one step tells.
struct Test {
    /// The results that readings of this class lead to.
    results: Vec<usize>,
    /// What each of them leaves, and the readings that lead to it.
    sides: Vec<Side>,
}

/// Steps that are done together: one, or several tests of one reading with the one that is taken first.
struct Group {
    members: Vec<usize>,
    outcomes: Vec<Joint>,
}

/// Joins the tests that take one reading with no change between: those of one key that the same changes come before. Whichever is taken,
/// the others are done with it; which one costs least depends on what was done before, so that each that may be taken first is a group
/// of its own, but for those that another beats everywhere. `all` in file order, and so are the groups.
fn groups(
    class: &Class,
    all: &[StepIx],
    needs: &[Vec<StepIx>],
    tests: &[Test],
    minutes: &Minutes,
    caution: &[bool],
) -> Vec<Group> {
    let mut readers: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, step) in all.iter().enumerate() {
        // a test that changes its own reading leaves nothing for another to share
        if let Meets::Test { key, .. } = &class.meets[step.raw()]
            && !class.forgets[step.raw()].contains(*key)
            && class.keys[*key].1.len() <= super::problem::LIMIT
        {
            readers.entry(*key).or_default().push(at);
        }
    }
    let mut alike: BTreeMap<(usize, Vec<StepIx>), Vec<usize>> = BTreeMap::new();
    for (key, readers) in readers.into_iter().filter(|(_, readers)| readers.len() > 1) {
        for at in readers {
            let changers = before(all, needs, at).into_iter().filter(|s| class.forgets[s.raw()].contains(key));
            alike.entry((key, changers.collect())).or_default().push(at);
        }
    }
    let mut groups: Vec<Group> = Vec::new();
    let mut done: Vec<usize> = Vec::new();
    for members in alike.into_values().filter(|m| m.len() > 1) {
        // those that can be asked before the others; none: each stands for itself
        let fit: Vec<Group> = members.iter().filter_map(|first| together(*first, &members, tests)).collect();
        if fit.is_empty() {
            continue;
        }
        let firsts: Vec<usize> = fit.iter().map(|group| group.members[0]).collect();
        let must = |at: usize| before(all, needs, at);
        let beats = |a: usize, b: usize| {
            let (x, y) = (all[a].raw(), all[b].raw());
            let before = |at: usize| needs[at].iter().filter(|s| !members.iter().any(|m| all[*m] == **s));
            minutes.steps[x] <= minutes.steps[y]
                && minutes.setups[x] == minutes.setups[y]
                && class.forgets[x] == class.forgets[y]
                && caution[a] <= caution[b]
                && before(a).all(|need| before(b).any(|other| other == need))
                && !must(a).contains(&all[b])
        };
        let beaten = |b: usize| firsts.iter().any(|a| *a != b && beats(*a, b) && (*a < b || !beats(b, *a)));
        groups.extend(fit.into_iter().filter(|group| !beaten(group.members[0])));
        done.extend(members);
    }
    let alone = |at: usize| {
        let outcomes = tests[at].sides.iter().enumerate().map(|(o, side)| Joint { answers: vec![o], side: *side });
        Group { members: vec![at], outcomes: outcomes.collect() }
    };
    groups.extend((0..all.len()).filter(|at| !done.contains(at)).map(alone));
    groups.sort_by_key(|group| group.members[0]);
    groups
}

/// All that must be done before a step.
fn before(all: &[StepIx], needs: &[Vec<StepIx>], at: usize) -> Vec<StepIx> {
    let mut found: Vec<StepIx> = needs[at].clone();
    let mut next = 0;
    while let Some(step) = found.get(next).copied() {
        next += 1;
        let more = all.iter().position(|s| *s == step).map_or(&[][..], |p| &needs[p]);
        found.extend(more.iter().filter(|s| !found.contains(s)).copied().collect::<Vec<_>>());
    }
    found.sort_unstable();
    found
}

/// The tests of a reading with `first` before the others; nothing where one would lack a result for what those before it leave
/// open, or where they contradict each other about a cause.
fn together(first: usize, members: &[usize], tests: &[Test]) -> Option<Group> {
    let order: Vec<usize> = [first].into_iter().chain(members.iter().copied().filter(|m| *m != first)).collect();
    let mut asked: Vec<Vec<Side>> = Vec::new();
    let any = tests[first].sides.iter().fold(Places::NONE, |all, side| all | side.readings);
    for at in &order {
        let mut sides = tests[*at].sides.clone();
        let open = any & !sides.iter().fold(Places::NONE, |all, side| all | side.readings);
        if !open.is_none() {
            sides.push(Side { readings: open, leaves: !Places::NONE });
        }
        asked.push(sides);
    }
    let outcomes = join(&asked);
    let silent = |joint: &Joint, at: usize| joint.answers[at] >= tests[order[at]].sides.len();
    let told = |at: usize| {
        outcomes.iter().all(|one| {
            let same = |other: &&Joint| other.answers[..at] == one.answers[..at];
            outcomes.iter().filter(same).all(|other| silent(other, at) == silent(one, at))
        })
    };
    let all = members.iter().flat_map(|m| &tests[*m].sides).fold(Places::NONE, |all, side| all | side.readings);
    let shown = |sides: &[Side]| sides.iter().fold(Places::NONE, |all, side| all | side.leaves);
    let agreed = shown(&outcomes.iter().map(|o| o.side).collect::<Vec<_>>());
    let fits = any == all && (0..order.len()).all(told) && shown(&tests[first].sides).is_within(agreed);
    fits.then_some(Group { members: order, outcomes })
}

/// The possible results of a test with the causes that each leaves; none for a `do`.
///
/// A cause that every result rules out says nothing about the test: the author did not think of it there, since earlier tests had
/// ruled it out. It may then show any of them.
fn test(procedure: &Procedure, class: &Class, at: StepIx, odds: &Odds) -> Test {
    let row = &procedure.steps[at];
    if !row.is_test() {
        return Test { results: Vec::new(), sides: Vec::new() };
    }
    let readings = |takes: &CellSet| set(takes.iter());
    let (results, readings): (Vec<usize>, Vec<Places>) = match &class.meets[at.raw()] {
        Meets::Test { takes, .. } => {
            takes.iter().enumerate().filter(|(_, t)| !t.is_empty()).map(|(r, t)| (r, readings(t))).unzip()
        }
        _ => (0..row.results.len()).map(|r| (r, !Places::NONE)).unzip(),
    };
    let count = procedure.causes.len();
    let ruled_out: Vec<_> = results.iter().map(|r| row.results[*r].rules_out(count)).collect();
    let leaves = |at: usize, cause| {
        !ruled_out[at].contains(cause) && !matches!(row.results[results[at]].way, Way::Shows(shown) if shown != cause)
    };
    let mut sides: Vec<Side> = readings.into_iter().map(|readings| Side { readings, leaves: Places::NONE }).collect();
    for (bit_at, cause) in odds.causes.iter().enumerate() {
        let no_fault = procedure.causes.id(*cause) == NO_FAULT;
        let mut shown: SmallVec<[usize; 8]> = (0..sides.len()).filter(|o| leaves(*o, *cause)).collect();
        if shown.is_empty() {
            shown = (0..sides.len()).collect();
        }
        let fair = |o: &usize| !last_resort(&row.results[results[*o]].way, no_fault);
        let any_fair = shown.iter().any(fair);
        for o in shown.into_iter().filter(|o| !any_fair || fair(o)) {
            sides[o].leaves.insert(bit_at);
        }
    }
    Test { results, sides }
}

/// Dismantling (an `undo` or a setup) or dangerous (a hazard of signal danger or warning).
pub fn is_cautious(base: &Base, procedure: &Procedure, row: &Row) -> bool {
    let dismantles = row.shared.undo.is_some() || !row.shared.setup.is_empty();
    dismantles
        || base
            .hazards_met(procedure, row)
            .iter()
            .any(|there| matches!(base.hazards[there.hazard].signal, Signal::Danger | Signal::Warning))
}
