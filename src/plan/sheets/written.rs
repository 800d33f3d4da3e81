//! Pages with an author's words of their own: systems, checks, repairs.
//!
//! In: a system, check or repair. Out: [`Page`].

use super::{fact, sheet, text};
use crate::model::{CheckIx, Confirm, Kind, RepairIx, Set, SystemIx, Vehicle};
use crate::parse::front_matter;
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::page::{Block, Link, Page, Sheet};
use crate::plan::step::{minutes, with};
use crate::plan::words::{without_title, words, words_of};
use crate::source::Span;

fn all(frame: &Frame<'_>) -> Set<Vehicle> {
    Set::all(frame.base.vehicles.len())
}

/// Vehicles of the procedures that use it; all, if none does.
fn of_users(frame: &Frame<'_>, uses: impl Fn(&crate::resolve::Digest) -> bool) -> Set<Vehicle> {
    let set = frame.digests.iter().filter(|d| uses(d)).fold(Set::new(), |all, d| all.or(&d.applies));
    if set.is_empty() { all(frame) } else { set }
}

pub(super) fn system(frame: &Frame<'_>, ix: SystemIx) -> Page {
    let table = &frame.base.systems;
    let row = &table[ix];
    let mut out = Sheet::default();
    out.cautions(frame.cautions(row.hazards.iter().map(|h| h.value)));
    let page = PageKind::Systems.page(table.id(ix));
    out.words(body_of(frame, row.place.whole, &page));
    out.links("Procedures", frame.of_system(ix));
    sheet(PageKind::Systems, table.id(ix), &row.title, None, out)
}

/// The words of a file after its front matter and its title.
fn body_of(frame: &Frame<'_>, whole: Span, page: &str) -> crate::plan::page::Words {
    let file = frame.sources.file(whole.file);
    let body = front_matter::split(whole.file, file.text()).body;
    words_of(frame, without_title(&file.text()[body]), file.path(), &all(frame), page)
}

pub(super) fn check(frame: &Frame<'_>, ix: CheckIx) -> Page {
    let table = &frame.base.checks;
    let row = &table[ix];
    let base = frame.base;
    let hazards = row
        .shared
        .hazards
        .iter()
        .chain(row.shared.setup.iter().flat_map(|s| base.setups[s.value].hazards.iter()))
        .map(|h| h.value);
    let mut out = Sheet::default();
    out.cautions(frame.cautions(hazards));
    let (what, reading) = match &row.kind {
        Kind::Measure(measure) => {
            let spec = measure.spec.as_ref().map(|s| frame.spec(s.value));
            ("Reading", vec![spec.unwrap_or_else(|| Link::text(measure.quantity.name()))])
        }
        Kind::Observe(text) => ("Look", vec![Link::text(&text.value)]),
        Kind::Do(text) => ("Do", vec![Link::text(&text.value)]),
        Kind::Which => ("", Vec::new()),
    };
    let setups = row
        .shared
        .setup
        .iter()
        .map(|s| Link::to(&base.setups[s.value].title, PageKind::Setups.page(base.setups.id(s.value))));
    out.facts(vec![
        fact(what, reading),
        fact("With", with(frame, &row.shared.with)),
        fact("Prepare", setups.collect()),
        fact("Time", row.shared.minutes.iter().map(|m| Link::text(minutes(m))).collect()),
        fact("Wait", row.shared.wait.iter().map(|m| Link::text(minutes(m))).collect()),
        fact("Put back later", text(row.shared.undo.as_ref().map(|u| u.value.as_str()))),
    ]);
    let on = of_users(frame, |d| d.checks.contains(ix));
    out.words(words(frame, row.body, &on, &PageKind::Checks.page(table.id(ix))));
    if let Some(figure) = &row.shared.figure {
        let text = format!("![{}](figure:)", row.title);
        let target = crate::plan::page::Target::Figure { to: format!("figures/{}", figure.value) };
        let links = std::iter::once(("figure:".to_owned(), target)).collect();
        out.blocks.push(Block::Words { words: crate::plan::page::Words { text, anchors: false, links } });
    }
    out.links("Used in", frame.of_check(ix));
    sheet(PageKind::Checks, table.id(ix), &row.title, None, out)
}

pub(super) fn repair(frame: &Frame<'_>, ix: RepairIx) -> Page {
    let table = &frame.base.repairs;
    let row = &table[ix];
    let mut out = Sheet::default();
    out.cautions(frame.cautions(row.hazards.iter().map(|h| h.value)));
    out.facts(vec![
        fact("With", with(frame, &row.with)),
        fact("Time", row.minutes.iter().map(|m| Link::text(minutes(m))).collect()),
    ]);
    let on = of_users(frame, |d| d.repairs.contains(ix));
    out.words(words(frame, row.body, &on, &PageKind::Repairs.page(table.id(ix))));
    let confirm = row.after.confirm.iter().filter_map(|confirm| match confirm {
        Confirm::Check { check, result } => {
            let checks = &frame.base.checks;
            let link = Link::to(&checks[check.value].title, PageKind::Checks.page(checks.id(check.value)));
            Some(link.more(&result.value))
        }
        Confirm::Named { step, result } => Some(Link::text(&step.value).more(&result.value)),
        Confirm::Step { .. } => None,
    });
    out.facts(vec![
        fact("Confirm", confirm.collect()),
        fact("Fault codes", text(row.after.clear_codes.then_some("clear them"))),
        fact("Trips", row.after.trips.iter().map(|t| Link::text(t.value.to_string())).collect()),
        fact("Put back", text(row.undo.as_ref().map(|u| u.value.as_str()))),
    ]);
    out.links("Mends, in", frame.of_repair(ix));
    sheet(PageKind::Repairs, table.id(ix), &row.title, None, out)
}
