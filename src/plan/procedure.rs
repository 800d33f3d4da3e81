//! The page of a procedure.
//!
//! In: a procedure that was analysed, and what only its driver knows ([`Extras`]). Out: [`Page`].

use std::collections::BTreeMap;

use super::address::PageKind;
use super::frame::Frame;
use super::page::{Body, Fact, Link, Page};
use super::procedure_page::{CauseRow, ProcedurePage, SectionView};
use super::step::{minutes, view};
use super::words::words;
use super::{job_repair, limits, odds, order, picture};
use crate::graph::Analysis;
use crate::graph::undos::OpenUndos;
use crate::model::{Fix, Hazard, Kind, Limits, Procedure, Section, Set};

/// What the driver knows of a procedure beside its text.
#[derive(Clone, Debug, Default)]
pub struct Extras {
    /// Alternative texts of pictures by file name (an SVG's `<title>`).
    pub figure_titles: BTreeMap<String, String>,
}

/// The page of a procedure that was analysed.
pub fn page(frame: &Frame<'_>, analysis: &Analysis<'_>, extras: &Extras) -> Page {
    let procedure = analysis.procedure;
    let address = PageKind::Procedures.page(&procedure.id);
    let come = |ix| if procedure.sound { analysis.vehicles_perhaps_at(ix) } else { procedure.applies.clone() };
    let undos = OpenUndos::new(analysis);
    let steps: Vec<_> = procedure
        .steps
        .indexes()
        .map(|ix| {
            let figure = procedure.steps[ix].shared.figure.as_ref();
            let alt = figure.and_then(|name| extras.figure_titles.get(&name.value).cloned());
            view(frame, procedure, ix, &come(ix), &undos, alt)
        })
        .collect();
    let met = procedure.steps.iter().flat_map(|(_, _, step)| frame.base.hazards_met(procedure, step));
    let hazards: Set<Hazard> = met.map(|there| there.hazard).collect();
    let (odds, each) = odds::odds(frame, procedure);
    let body = ProcedurePage {
        id: procedure.id.clone(),
        job: (procedure.sound && !procedure.steps.is_empty()).then(|| super::job::job_address(&procedure.id)),
        complaint: (procedure.title != procedure.complaint.value).then(|| procedure.complaint.value.clone()),
        facts: facts(frame, procedure),
        minutes: odds::minutes(frame, analysis),
        orders: order::orders(frame, analysis),
        faster: order::faster(frame, procedure),
        odds,
        causes: causes(frame, procedure, each),
        cautions: frame.cautions(hazards.iter()),
        intro: words(frame, procedure.intro, &procedure.applies, &address),
        picture: picture::picture(frame, procedure, come),
        steps,
        after: job_repair::views(frame, procedure),
        repairs: sections(frame, procedure, &address, true),
        notes: sections(frame, procedure, &address, false),
        review: review(frame, procedure),
        sources: sources(frame, procedure),
        has_placeholder: has_placeholder(frame, procedure),
    };
    Page {
        address,
        title: procedure.title.clone(),
        kind: Some(PageKind::Procedures.one()),
        trail: trail(frame, procedure),
        on: frame.on(&procedure.applies),
        body: Body::Procedure(Box::new(body)),
    }
}

fn system_link(frame: &Frame<'_>, procedure: &Procedure) -> Option<Link> {
    let ix = procedure.system.as_ref()?.value;
    let table = &frame.base.systems;
    Some(Link::to(&table[ix].title, PageKind::Systems.page(table.id(ix))))
}

fn trail(frame: &Frame<'_>, procedure: &Procedure) -> Vec<Link> {
    let list = Link::to(PageKind::Procedures.many(), PageKind::Procedures.list());
    std::iter::once(list).chain(system_link(frame, procedure)).collect()
}

fn facts(frame: &Frame<'_>, procedure: &Procedure) -> Vec<Fact> {
    let base = frame.base;
    let mut equipment = BTreeMap::new();
    let mut setups = BTreeMap::new();
    for (_, _, step) in procedure.steps.iter() {
        for ix in step.all_equipment().iter() {
            equipment.entry(ix).or_insert_with(|| frame.equipment(ix));
        }
        for setup in &step.shared.setup {
            let row = &base.setups[setup.value];
            let link = Link::to(&row.title, PageKind::Setups.page(base.setups.id(setup.value)));
            let link = row.minutes.iter().fold(link, |link, m| link.more(minutes(m)));
            setups.entry(setup.value).or_insert(link);
        }
    }
    let text = |items: &[String]| items.iter().map(Link::text).collect::<Vec<_>>();
    let all = [
        ("Also said", text(&procedure.also)),
        ("Fault codes", procedure.codes.iter().map(|c| frame.code(c.value)).collect()),
        ("Vehicles", frame.vehicles(&procedure.applies)),
        ("System", system_link(frame, procedure).into_iter().collect()),
        ("Equipment", equipment.into_values().collect()),
        ("Preparation", setups.into_values().collect()),
    ];
    all.into_iter().filter(|(_, says)| !says.is_empty()).map(|(name, says)| Fact { name: name.into(), says }).collect()
}

fn causes(frame: &Frame<'_>, procedure: &Procedure, odds: Vec<Vec<Option<String>>>) -> Vec<CauseRow> {
    let has_heading = |id: &str| procedure.sections.iter().any(|s| s.id.as_ref().is_some_and(|i| i.value == id));
    procedure
        .causes
        .iter()
        .zip(odds)
        .map(|((_, id, cause), odds)| CauseRow {
            id: Some(id.to_owned()).filter(|id| !has_heading(id)),
            title: cause.title.clone(),
            on: frame.on(&cause.on).filter(|_| !procedure.applies.is_subset(&cause.on)),
            odds,
            fix: cause.fix.as_ref().and_then(|fix| fix_link(frame, procedure, &fix.value)),
            part: cause.part.as_ref().map(|part| part_text(frame, part)).filter(|text| !text.is_empty()),
        })
        .collect()
}

pub(super) fn fix_link(frame: &Frame<'_>, procedure: &Procedure, fix: &Fix) -> Option<Link> {
    match fix {
        Fix::Heading(at) => {
            let section = procedure.sections.get(*at)?;
            Some(Link::to(&section.title, format!("#{}", section.id.as_ref()?.value)))
        }
        Fix::Repair(ix) => {
            let table = &frame.base.repairs;
            Some(Link::to(&table[*ix].title, PageKind::Repairs.page(table.id(*ix))))
        }
    }
}

fn part_text(frame: &Frame<'_>, part: &crate::model::Part) -> String {
    use crate::quantity::number::{fixed, show};
    let price = part.price.as_ref().map(|price| {
        let amount = if price.is_integer() { show(price) } else { fixed(price, 2) };
        format!("{amount} {}", frame.base.shop.currency).trim().to_owned()
    });
    let fit = part.minutes.as_ref().map(|m| format!("{} min to fit", show(m)));
    part.name.iter().chain(&part.number).cloned().chain(price).chain(fit).collect::<Vec<_>>().join(", ")
}

/// Sections of the body: those that causes name as their repair, or the ordinary ones.
fn sections(frame: &Frame<'_>, procedure: &Procedure, page: &str, repairs: bool) -> Vec<SectionView> {
    let is_repair = |at: usize| {
        procedure
            .causes
            .iter()
            .any(|(_, _, c)| matches!(&c.fix, Some(f) if matches!(f.value, Fix::Heading(h) if h == at)))
    };
    // A heading inside a section stands in that section's words.
    let is_inner = |section: &Section| {
        let holds = |other: &Section| {
            other.level > 1 && other.content.start <= section.heading.start && section.heading.end <= other.content.end
        };
        procedure.sections.iter().any(holds)
    };
    let is_step = |at: usize| procedure.steps.iter().any(|(_, _, s)| s.section == Some(at));
    procedure
        .sections
        .iter()
        .enumerate()
        .filter(|(at, section)| section.level > 1 && !is_inner(section) && !is_step(*at) && is_repair(*at) == repairs)
        .map(|(_, section)| SectionView {
            id: section.id.as_ref().map(|id| id.value.clone()),
            title: section.title.clone(),
            words: words(frame, section.content, &procedure.applies, page),
        })
        .collect()
}

fn review(frame: &Frame<'_>, procedure: &Procedure) -> String {
    let Some(review) = &procedure.reviewed else { return "Not reviewed yet.".into() };
    let now = frame.digest(procedure.ix).and_then(|digest| digest.meaning.as_ref());
    let stale = review.of.as_ref().zip(now).is_some_and(|(of, now)| of.value != *now);
    let since = if stale { ", but it has changed since" } else { "" };
    format!("Reviewed by {} on {}{since}.", review.by, review.on)
}

/// Each value that the page reads, and its source.
fn sources(frame: &Frame<'_>, procedure: &Procedure) -> Vec<Fact> {
    let mut facts: Vec<Fact> = Vec::new();
    for (_, _, step) in procedure.steps.iter() {
        let Kind::Measure(measure) = &step.kind else { continue };
        let source = match &measure.spec {
            Some(spec) => frame.base.specs[spec.value].source.as_ref(),
            None => measure.source.as_ref(),
        };
        let name = if measure.spec.is_some() { frame.reading(measure) } else { step.title.clone() };
        let text = source.map_or_else(|| "no source given".to_owned(), |s| s.value.clone());
        if !facts.iter().any(|f| f.name == name) {
            facts.push(Fact { name, says: vec![Link::text(text)] });
        }
    }
    facts
}

fn has_placeholder(frame: &Frame<'_>, procedure: &Procedure) -> bool {
    procedure.steps.iter().filter_map(|(_, _, step)| step.measure()?.spec.as_ref()).any(|spec| {
        let spec = &frame.base.specs[spec.value];
        limits::groups(spec, &procedure.applies)
            .iter()
            .filter_map(|(entry, _)| spec.entries.get((*entry)?))
            .any(|entry| matches!(entry.limits, Limits::Placeholder))
    })
}
