//! What a reader sees of a step.
//!
//! In: a step of a procedure. Out: [`StepView`].

use super::address::PageKind;
use super::frame::Frame;
use super::limits::{self, capital};
use super::page::{Fact, Link, Words};
use super::procedure_page::{FigureView, ResultRow, StepView, WayView};
use super::ways;
use super::words::words;
use crate::graph::paths::Via;
use crate::graph::undos::OpenUndos;
use crate::model::{Condition, FactKey, Kind, Outcome, Procedure, Set, Step, StepIx, Vehicle, Way};
use crate::quantity::{Rational, number};

/// What a reader sees of a step. `page` is the address of the procedure's page, `figure` the picture's alternative text.
pub fn view(
    frame: &Frame<'_>,
    procedure: &Procedure,
    ix: StepIx,
    come: &Set<Vehicle>,
    undos: &OpenUndos,
    figure_alt: Option<String>,
) -> StepView {
    let step = &procedure.steps[ix];
    let page = PageKind::Procedures.page(&procedure.id);
    let put_back = |via, way: &Way| -> Vec<String> {
        if way.is_ending() { undos.after(ix, via).map(str::to_owned).collect() } else { Vec::new() }
    };
    let (kind, measure) = match &step.kind {
        Kind::Measure(measure) => ("measure", Some(measure)),
        Kind::Observe(_) => ("observe", None),
        Kind::Do(_) => ("do", None),
        Kind::Which => ("which", None),
    };
    StepView {
        id: procedure.steps.id(ix).to_owned(),
        number: ix.raw() + 1,
        title: step.title.clone(),
        kind,
        ask: ways::ask(&step.kind, &step.title),
        on: frame.on(come),
        cautions: frame.cautions(frame.base.hazards_met(procedure, step).iter().map(|there| there.hazard)),
        facts: facts(frame, procedure, step),
        words: step_words(frame, procedure, step, &page),
        figure: step.shared.figure.as_ref().map(|name| FigureView {
            to: format!("figures/{}", name.value),
            alt: figure_alt.unwrap_or_else(|| step.title.clone()),
        }),
        limits: measure.and_then(|m| limits::table(frame, procedure, step, m)),
        results: step
            .results
            .iter()
            .enumerate()
            .map(|(at, result)| row(frame, procedure, result, put_back(Via::Result(at), &result.way)))
            .collect(),
        without: step.without.as_ref().map(|without| WayView {
            put_back: put_back(Via::Without, &without.way),
            ..ways::way(frame, procedure, &without.way)
        }),
        afterwards: afterwards(frame, procedure, step),
        record: step.shared.record.clone(),
    }
}

fn step_words(frame: &Frame<'_>, procedure: &Procedure, step: &Step, page: &str) -> Vec<Words> {
    let own = step.section.and_then(|at| procedure.sections.get(at)).map(|section| section.content);
    let check = step.check.as_ref().map(|check| frame.base.checks[check.value].body);
    let of = |span| words(frame, span, &procedure.applies, page);
    own.into_iter()
        .map(of)
        // Two steps may use one check.
        .chain(check.map(|span| Words { anchors: false, ..of(span) }))
        .filter(|words| !words.text.trim().is_empty())
        .collect()
}

fn row(frame: &Frame<'_>, procedure: &Procedure, result: &Outcome, put_back: Vec<String>) -> ResultRow {
    let on = match &result.condition {
        Condition::Vehicles(set) => frame.on(set),
        _ => None,
    };
    let links = |list: &[crate::source::Spanned<crate::model::CauseIx>]| -> Vec<Link> {
        list.iter().map(|c| ways::cause(procedure, c.value)).collect()
    };
    ResultRow {
        text: ways::condition_text(frame, result).map(|text| capital_vehicles(result, &text)),
        on,
        rules_out: links(&result.clears),
        leaves: result.leaves.as_deref().map(links).unwrap_or_default(),
        note: result.note.clone(),
        way: WayView { put_back, ..ways::way(frame, procedure, &result.way) },
    }
}

/// A result stands as written; only our own words about vehicles get a capital.
fn capital_vehicles(result: &Outcome, text: &str) -> String {
    match result.condition {
        Condition::Vehicles(_) => capital(text),
        _ => text.to_owned(),
    }
}

/// `4 min`.
pub fn minutes(value: &Rational) -> String {
    format!("{} min", number::show(value))
}

/// Equipment as links, alternatives joined by "or".
pub fn with(frame: &Frame<'_>, list: &[crate::source::Spanned<Vec<crate::model::EquipmentIx>>]) -> Vec<Link> {
    let mut links = Vec::new();
    for item in list {
        for (at, ix) in item.value.iter().enumerate() {
            let link = frame.equipment(*ix);
            links.push(if at + 1 < item.value.len() { link.more("or") } else { link });
        }
    }
    links
}

fn facts(frame: &Frame<'_>, procedure: &Procedure, step: &Step) -> Vec<Fact> {
    let base = frame.base;
    let mut facts = Vec::new();
    let mut say = |name: &str, says: Vec<Link>| {
        if !says.is_empty() {
            facts.push(Fact { name: name.to_owned(), says });
        }
    };
    if let Kind::Measure(measure) = &step.kind {
        let spec = measure.spec.as_ref().map(|s| s.value);
        let link = spec.map_or_else(|| Link::text(capital(measure.quantity.name())), |ix| frame.spec(ix));
        say("Reading", vec![link]);
        let of = |own: &Option<String>, shared: fn(&crate::model::Spec) -> &Option<String>| -> Vec<Link> {
            let text = spec.map_or(own.as_ref(), |ix| shared(&base.specs[ix]).as_ref());
            text.map(Link::text).into_iter().collect()
        };
        say("Where", of(&measure.at, |s| &s.at));
        say("When", of(&measure.when, |s| &s.when));
        if let Some(worked) = spec.and_then(|ix| base.specs[ix].worked_out.as_ref()) {
            say("Worked out", vec![Link::text(worked_out(worked))]);
        }
    }
    say("With", with(frame, &step.shared.with));
    let setups = step
        .shared
        .setup
        .iter()
        .map(|s| Link::to(&base.setups[s.value].title, PageKind::Setups.page(base.setups.id(s.value))));
    say("Prepare", setups.collect());
    let check = step
        .check
        .as_ref()
        .map(|c| Link::to(&base.checks[c.value].title, PageKind::Checks.page(base.checks.id(c.value))));
    say("Check", check.into_iter().collect());
    let after = step
        .after
        .iter()
        .map(|s| Link::to(&procedure.steps[s.value].title, format!("#{}", procedure.steps.id(s.value))));
    say("Only after", after.collect());
    say("Time", step.shared.minutes.iter().map(|m| Link::text(minutes(m))).collect());
    say("Wait", step.shared.wait.iter().map(|m| Link::text(minutes(m))).collect());
    facts
}

/// How a worked-out reading is made, in a sentence.
pub fn worked_out(worked: &crate::model::WorkedOut) -> String {
    use crate::model::Take;
    let parts = if worked.names.is_empty() { "the readings".to_owned() } else { worked.names.join(" and ") };
    let of = worked.of.name();
    match worked.take {
        Take::LowestOfHighest => format!("take the {of} of {parts}; the lowest as a part of the highest, in %"),
        Take::Difference => format!("take the {of} of {parts}; the first minus the second"),
        Take::Spread => format!("take the {of} of {parts}; the highest minus the lowest"),
    }
}

fn afterwards(frame: &Frame<'_>, procedure: &Procedure, step: &Step) -> Vec<String> {
    let mut sentences = Vec::new();
    if let Some(undo) = &step.shared.undo {
        sentences.push(format!("Put back later: {}", undo.value));
    }
    let undone: Vec<&str> = step
        .undoes
        .iter()
        .filter_map(|s| procedure.steps[s.value].shared.undo.as_ref())
        .map(|u| u.value.as_str())
        .collect();
    if !undone.is_empty() {
        sentences.push(format!("Put back here: {}", undone.join("; ")));
    }
    if step.changes.all {
        sentences.push("Take every reading again after this.".into());
    } else if !step.changes.keys.is_empty() {
        let names: Vec<&str> = step
            .changes
            .keys
            .iter()
            .map(|key| match &key.value {
                FactKey::Spec(ix) => frame.base.specs[*ix].title.as_str(),
                FactKey::Check(ix) | FactKey::Labels(ix, _) => frame.base.checks[*ix].title.as_str(),
                FactKey::Step(ix) => procedure.steps[*ix].title.as_str(),
            })
            .collect();
        sentences.push(format!("No longer counts after this, take it again: {}", names.join("; ")));
    }
    sentences
}
