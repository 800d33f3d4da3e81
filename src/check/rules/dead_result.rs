//! In: one procedure. Out: results that no possible path takes, with the earlier results that exclude them.
#![doc = include_str!("dead_result.md")]

use std::sync::Arc;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::{Paths, Via};
use crate::graph::witness::{self, Lesson};
use crate::model::{Condition, Kind, Set, Step, StepIx, Vehicle};
use crate::quantity::{CellSet, Domain, Phrase};

/// The rule.
pub static RULE: Rule = Rule {
    name: "dead-result",
    family: Family::Flow,
    levels: &[Level::Error, Level::Note],
    summary: "No possible reading takes this result",
    page: include_str!("dead_result.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (at, _, step) in unit.procedure.steps.iter() {
        let entering: Vec<&(Class, Arc<Paths>)> =
            unit.analysis.classes.iter().filter(|(_, p)| p.may_enter(at)).collect();
        if entering.is_empty() || matches!(step.kind, Kind::Do(_)) {
            continue;
        }
        for result in 0..step.results.len() {
            let dead: Vec<&&(Class, Arc<Paths>)> = entering
                .iter()
                .filter(|(c, p)| !p.takes(at, Via::Result(result)) && !is_empty_rest(c, at, step, result))
                .collect();
            // Past the limit: a class that only may enter proves nothing by itself.
            if !dead.iter().any(|(_, p)| p.enters(at)) {
                continue;
            }
            let everywhere = dead.len() == entering.len();
            // At a `which`, a result for some vehicles only is what it is there for.
            if everywhere || !matches!(step.kind, Kind::Which) {
                out.push(finding(unit, at, result, &dead, everywhere));
            }
        }
    }
    out.extend(past_the_limit(unit));
}

/// Says that some ways were joined, and what that means: it is this kind of finding that joining may lose.
fn past_the_limit(unit: &Unit<'_>) -> Option<Finding> {
    let classes = unit.analysis.classes.iter().enumerate();
    let joined: Vec<usize> = classes.filter(|(_, (_, paths))| !paths.is_exact()).map(|(at, _)| at).collect();
    let (_, paths) = &unit.analysis.classes[*joined.first()?];
    let first = unit.procedure.start()?;
    let message = format!("there are too many possible ways to follow each: the first {} states were", paths.len());
    Some(
        words::at_step(unit.procedure, first, RULE.name, Level::Note, unit.procedure.complaint.span, message)
            .on_vehicles(words::of_classes(unit, joined))
            .fact("what is reported of this procedure is certain")
            .fact(
                "findings about what no way comes to (`unreachable-step`, `dead-result`, `never-found`) and about ways that come \
                 late may be missing; `no-way-out` and `slow-order` are not judged",
            )
            .help("split the procedure where its tests don't bear on each other"),
    )
}

/// `any other reading` where the other results leave none: a net under them, and fine.
fn is_empty_rest(class: &Class, at: StepIx, step: &Step, result: usize) -> bool {
    let Condition::Reading(phrase) = &step.results[result].condition else { return false };
    phrase.parts().contains(&Phrase::AnyOther) && wanted(class, at, result).is_some_and(|(_, cells)| cells.is_empty())
}

fn finding(unit: &Unit<'_>, at: StepIx, result: usize, dead: &[&&(Class, Arc<Paths>)], everywhere: bool) -> Finding {
    let procedure = unit.procedure;
    let (id, step) = (procedure.steps.id(at), &procedure.steps[at]);
    let text = &step.results[result].text;
    let certain = dead.iter().filter(|(_, p)| p.enters(at));
    let vehicles = certain.clone().fold(Set::<Vehicle>::new(), |all, (c, _)| all.or(&c.vehicles));
    // A vehicle on which earlier results exclude it says more than one that has no such reading at all.
    let nearest = certain.min_by_key(|(c, p)| {
        let none = wanted(c, at, result).is_some_and(|(_, cells)| cells.is_empty());
        (none, p.at(at).next().map(|s| p.depth(s)))
    });
    let (class, paths) = nearest.unwrap_or(&dead[0]);
    let (lessons, path) = proof(unit, class, paths, at, result);
    let by_itself = wanted(class, at, result).is_some_and(|(_, cells)| cells.is_empty());
    let shown = &text.value;
    let message = match (&step.kind, everywhere) {
        (Kind::Which, _) => format!("no vehicle of this page comes to `{shown}` at `{id}`"),
        (_, true) if by_itself => format!("no reading at `{id}` is `{shown}`"),
        (_, true) => format!("no possible way takes the result `{shown}` of `{id}`"),
        (_, false) => format!("the result `{shown}` of `{id}` can't be taken on some vehicles"),
    };
    let level = if everywhere { Level::Error } else { Level::Note };
    let mut finding = words::at_step(procedure, at, RULE.name, level, text.span, message)
        .on_vehicles(words::vehicles(unit.base, &vehicles));
    for lesson in &lessons {
        finding = finding.label(lesson.span, format!("taken at `{}` before", procedure.steps.id(lesson.step)));
    }
    finding.path = path;
    let more = paths.at(at).len().saturating_sub(1);
    if !lessons.is_empty() && more > 0 {
        finding = finding.fact(format!("and {} in", words::count(more, "other way")));
    }
    helped(unit, finding, at, result, &lessons, everywhere)
}

/// The unit of a result `below 0 V`, where negative readings are asked for only if a negative amount is named.
fn below_zero(step: &Step, result: usize) -> Option<&'static str> {
    let (Kind::Measure(measure), Condition::Reading(phrase)) = (&step.kind, &step.results[result].condition) else {
        return None;
    };
    let [Phrase::Range { low: None, high: Some(end) }] = phrase.parts() else { return None };
    let asked = |named| Domain::new(measure.quantity, named);
    (end.amount.number.is_zero() && !end.included && asked(true) != asked(false)).then(|| end.amount.unit.symbol())
}

fn helped(
    unit: &Unit<'_>,
    finding: Finding,
    at: StepIx,
    result: usize,
    lessons: &[Lesson],
    everywhere: bool,
) -> Finding {
    let procedure = unit.procedure;
    let step = &procedure.steps[at];
    let mut finding = finding;
    if let Some(lesson) = lessons.first().filter(|_| everywhere) {
        let key = match &step.key {
            crate::model::FactKey::Spec(spec) => unit.base.specs.id(*spec),
            _ => procedure.steps.id(lesson.step),
        };
        let between = between(unit, lesson.step, at);
        let who = between.map_or("a step between".to_owned(), |s| format!("`{}`", procedure.steps.id(s)));
        finding = finding.help(format!("if {who} changes this reading, add `changes: [{key}]` there"));
    }
    if !everywhere {
        return finding;
    }
    if let Some(unit) = below_zero(step, result) {
        finding = finding.help(format!("if readings below zero are meant, name one, such as `at most -0.1 {unit}`"));
    }
    let else_ = if finding.help.is_empty() { "" } else { "else " };
    finding = finding.help(format!("{else_}take the result out"));
    // A step keeps at least one result: the last one is no mend. Nor is one whose readings would fall to a net that is empty now: it would
    // be dead in its place.
    let classes = || unit.analysis.classes.iter().map(|(class, _)| class);
    let others = (0..step.results.len()).filter(|other| *other != result);
    let leaves_net = others.into_iter().any(|other| classes().any(|class| is_empty_rest(class, at, step, other)));
    if step.results.len() > 1 && !leaves_net {
        let span = words::whole_item(unit.sources, step.results[result].span);
        finding = finding.mend(format!("take out `{}`", step.results[result].text.value), span, "");
    }
    finding
}

/// A `do` between the two steps, if there is exactly the kind of step that would change a reading.
fn between(unit: &Unit<'_>, from: StepIx, to: StepIx) -> Option<StepIx> {
    let procedure = unit.procedure;
    unit.analysis.arrows.reached_from(from).into_iter().find(|s| {
        *s != from
            && *s != to
            && matches!(procedure.steps[*s].kind, Kind::Do(_))
            && unit.analysis.arrows.reached_from(*s).contains(&to)
    })
}

/// The cells that a result takes by itself, and their key.
fn wanted(class: &Class, at: StepIx, result: usize) -> Option<(usize, &CellSet)> {
    match &class.meets[at.raw()] {
        Meets::Test { key, takes } => takes.get(result).map(|t| (*key, t)),
        _ => None,
    }
}

/// The nearest way in, and the earlier results on it that exclude the result.
fn proof(unit: &Unit<'_>, class: &Class, paths: &Paths, at: StepIx, result: usize) -> (Vec<Lesson>, Vec<PathStep>) {
    let Some(to) = paths.at(at).next() else { return (Vec::new(), Vec::new()) };
    let path = witness::column_to(unit.procedure, paths, to);
    match wanted(class, at, result) {
        Some((key, cells)) if !cells.is_empty() => {
            (witness::excluding(unit.procedure, class, paths, to, key, cells), path)
        }
        _ => (Vec::new(), Vec::new()),
    }
}
