//! In: one procedure, and where all procedures jump. Out: rings that a job can go round for ever without doing anything,
//! and procedures that send it round in a ring.
#![doc = include_str!("endless_loop.md")]

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use crate::check::{Family, Rule, Run, Unit, Whole, words};
use crate::finding::{Finding, Level};
use crate::graph::rings::{Ring, endless, grouped};
use crate::graph::witness;
use crate::model::{Kind, ProcedureIx, Set, Step, StepIx};
use crate::resolve::Digest;

/// The rule.
pub static RULE: Rule = Rule {
    name: "endless-loop",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "A ring of tests that nothing on the way changes",
    page: include_str!("endless_loop.md"),
    run: Run::Both(check, jumps),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    out.extend(grouped(all(unit)).iter().filter_map(|group| finding(unit, group)));
}

/// The rings of every class; nothing to look for where not even the arrows lead round.
pub(super) fn all(unit: &Unit<'_>) -> Vec<(usize, Ring)> {
    let procedure = unit.procedure;
    if !unit.analysis.arrows.leads_round(|s| !matches!(procedure.steps[s].kind, Kind::Do(_))) {
        return Vec::new();
    }
    let classes = unit.analysis.classes.iter().enumerate();
    classes.flat_map(|(class, (_, paths))| endless(procedure, paths).into_iter().map(move |r| (class, r))).collect()
}

fn finding(unit: &Unit<'_>, group: &[(usize, Ring)]) -> Option<Finding> {
    let procedure = unit.procedure;
    let (class, ring) = group.first()?;
    let paths = &unit.analysis.classes[*class].1;
    let at = paths.step(ring.entry);
    let steps = group.iter().fold(Set::new(), |all: Set<Step>, (_, r)| all.or(&r.steps));
    let names: Vec<&str> = steps.iter().map(|s| procedure.steps.id(s)).collect();
    let message = match names.as_slice() {
        [one] => format!("`{one}` leads back to itself: nothing changes on the way round"),
        _ => format!("{} lead round in a ring: nothing changes on the way", words::list(&names)),
    };
    let mut finding = words::at_step(procedure, at, RULE.name, Level::Error, procedure.steps[at].place.key, message);
    for (state, via) in &ring.round {
        let line = witness::line(procedure, paths.step(*state), Some(*via));
        finding = finding.label(line.span, "round again");
    }
    finding.path = witness::column(procedure, paths, &paths.way(ring.entry));
    finding.path.extend(witness::column(procedure, paths, &ring.round));
    finding.path.push(witness::line(procedure, at, None));
    let vehicles = words::of_classes(unit, group.iter().map(|(class, _)| *class));
    Some(
        finding
            .on_vehicles(vehicles)
            .help("lead one of the results on, or put a `do` step into the ring that changes the reading"),
    )
}

/// Procedures that send a job round in a ring: one finding a ring, at the jump that closes it in file order.
fn jumps(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    let digests: BTreeMap<ProcedureIx, &Digest> = whole.digests.iter().filter_map(|d| Some((d.ix?, d))).collect();
    let mut walk = Walk { digests: &digests, done: BTreeMap::new(), way: Vec::new(), found: Vec::new() };
    for ix in digests.keys() {
        walk.from(*ix);
    }
    for (ring, (owner, step, span)) in walk.found {
        let names: Vec<&str> = ring.iter().filter_map(|ix| digests.get(ix)).map(|d| d.id.as_str()).collect();
        let Some(digest) = digests.get(&owner) else { continue };
        let message = match names.as_slice() {
            [one] => format!("`{one}` sends the job back to its own start"),
            _ => format!("{} send a job round in a ring", words::list(&names)),
        };
        let mut finding = Finding::new(RULE.name, Level::Error, span, message)
            .help("end one of these ways, or lead it to a step that goes on")
            .in_procedure(&digest.id);
        if let Some((id, _)) = digest.steps.get(step.raw()) {
            finding = finding.at_step(id);
        }
        for (from, to) in ring.iter().zip(ring.iter().skip(1)) {
            let jump = digests.get(from).and_then(|d| d.jump_places.iter().find(|(_, target, _)| target == to));
            if let Some((_, _, span)) = jump {
                finding = finding.label(*span, "goes on there");
            }
        }
        out.push(finding);
    }
}

/// A depth-first walk over the jumps, procedures and jumps in file order. A jump back to a procedure that is still on
/// the way closes a ring.
struct Walk<'a> {
    digests: &'a BTreeMap<ProcedureIx, &'a Digest>,
    /// Whether all its jumps have been followed; not there yet: never come to.
    done: BTreeMap<ProcedureIx, bool>,
    way: Vec<ProcedureIx>,
    found: Vec<(Vec<ProcedureIx>, (ProcedureIx, StepIx, crate::source::Span))>,
}

impl Walk<'_> {
    fn from(&mut self, start: ProcedureIx) {
        // A stack of our own: ten thousand procedures may stand in one row.
        let mut open: Vec<(ProcedureIx, usize)> = Vec::new();
        self.enter(start, &mut open);
        while let Some((at, next)) = open.last_mut() {
            let at = *at;
            let jump = self.digests.get(&at).and_then(|d| d.jump_places.get(*next)).copied();
            *next += 1;
            let Some((step, to, span)) = jump else {
                self.done.insert(at, true);
                self.way.pop();
                open.pop();
                continue;
            };
            match self.done.get(&to) {
                Some(true) => {}
                Some(false) => {
                    let from = self.way.iter().position(|ix| *ix == to).unwrap_or(0);
                    self.close(self.way[from..].to_vec(), (at, step, span));
                }
                None => self.enter(to, &mut open),
            }
        }
    }

    fn enter(&mut self, ix: ProcedureIx, open: &mut Vec<(ProcedureIx, usize)>) {
        if let Entry::Vacant(free) = self.done.entry(ix) {
            free.insert(false);
            self.way.push(ix);
            open.push((ix, 0));
        }
    }

    /// Several jumps may close one ring: it is told once.
    fn close(&mut self, ring: Vec<ProcedureIx>, by: (ProcedureIx, StepIx, crate::source::Span)) {
        if self.found.iter().all(|(other, _)| *other != ring) {
            self.found.push((ring, by));
        }
    }
}
