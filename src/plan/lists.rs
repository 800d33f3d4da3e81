//! The front page, the list of each kind, and the page about the base.
//!
//! In: the frame. Out: [`Page`]s.

use super::address::PageKind;
use super::frame::{Frame, by_title, rows_by_title};
use super::limits::capital;
use super::page::{Body, Front, Link, Page, Row, Sheet, Shelf};
use super::sheets::{count, fact};
use super::split::LONG;
use crate::model::Limits;

/// From this many procedures on, the front page and the list name systems only.
const MANY: usize = 400;

/// Links that a cell of a table holds at most.
const CELL: usize = 30;

/// The address of the page about the base.
pub const ABOUT: &str = "about.html";

fn plain(address: String, title: String, body: Body) -> Page {
    Page { address, title, kind: None, trail: Vec::new(), on: None, body }
}

/// The systems and their procedures; those without a system come last.
fn shelves(frame: &Frame<'_>, most: usize) -> Vec<Shelf> {
    let few = frame.digests.len() <= most;
    let mut shelves: Vec<Shelf> = frame
        .base
        .systems
        .iter()
        .map(|(ix, id, system)| {
            let procedures = frame.of_system(ix);
            Shelf {
                system: Link::to(&system.title, PageKind::Systems.page(id)),
                count: procedures.len(),
                procedures: if few { procedures } else { Vec::new() },
            }
        })
        .filter(|shelf| shelf.count > 0)
        .collect();
    shelves.sort_by_cached_key(|shelf| shelf.system.text.to_lowercase());
    let rest: Vec<Link> = frame.digests.iter().filter(|d| d.system.is_none()).map(|d| frame.procedure_of(d)).collect();
    if !rest.is_empty() {
        let system = if few { Link::text("Other") } else { Link::to("Other", PageKind::Procedures.list()) };
        shelves.push(Shelf { system, count: rest.len(), procedures: if few { rest } else { Vec::new() } });
    }
    shelves
}

/// A link to each list, with how many it holds.
pub fn lists(frame: &Frame<'_>) -> Vec<Link> {
    PageKind::ALL
        .into_iter()
        .filter(|kind| count(frame, *kind) > 0)
        .map(|kind| Link::to(kind.many(), kind.list()).more(count(frame, kind).to_string()))
        .collect()
}

/// The front page.
pub fn front(frame: &Frame<'_>) -> Page {
    let mut shelves = shelves(frame, MANY);
    if shelves.len() > LONG {
        // More systems than a page holds: the list of systems below leads to them.
        shelves.clear();
    }
    let front = Front { shelves, lists: lists(frame) };
    plain("index.html".into(), frame.base.shop.title.clone(), Body::Front(front))
}

/// The list of a kind.
pub fn list(frame: &Frame<'_>, kind: PageKind) -> Page {
    let base = frame.base;
    let mut out = Sheet::default();
    let links = |rows: Vec<(String, String)>| -> Vec<Link> {
        by_title(rows.into_iter().map(|(id, title)| Link::to(title, kind.page(&id))).collect())
    };
    macro_rules! titles {
        ($table:expr) => {
            links($table.iter().map(|(_, id, row)| (id.to_owned(), capital(&row.title))).collect())
        };
    }
    match kind {
        PageKind::Procedures => {
            let (short, long): (Vec<_>, Vec<_>) =
                shelves(frame, MANY).into_iter().partition(|shelf| shelf.procedures.is_empty());
            for shelf in long {
                out.links(&shelf.system.text.clone(), shelf.procedures);
            }
            let named = short.into_iter().filter(|shelf| shelf.system.to != Some(kind.list()));
            out.links("By system", named.map(|shelf| shelf.system.more(shelf.count.to_string())).collect());
            // With many procedures, those without a system have no other page that leads to them.
            if frame.digests.len() > MANY {
                let rest = frame.digests.iter().filter(|d| d.system.is_none()).map(|d| frame.procedure_of(d));
                out.links("Without a system", rest.collect());
            }
        }
        PageKind::Codes => {
            let rows = base.codes.iter().map(|(ix, id, code)| Row {
                on: None,
                cells: vec![
                    vec![Link::to(id, kind.page(id))],
                    vec![Link::text(&code.title)],
                    few(frame.of_code(ix), kind.page(id)),
                ],
            });
            out.table("All fault codes", &["Code", "Meaning", "Procedures"], rows_by_title(rows));
        }
        PageKind::Specs => {
            let rows = base.specs.iter().map(|(ix, _, spec)| Row {
                on: None,
                cells: vec![vec![frame.spec(ix)], vec![Link::text(spec.quantity.value.name())]],
            });
            out.table("All specs", &["Spec", "Quantity"], rows_by_title(rows));
        }
        PageKind::Systems => out.links("All systems", titles!(base.systems)),
        PageKind::Checks => out.links("All checks", titles!(base.checks)),
        PageKind::Repairs => out.links("All repairs", titles!(base.repairs)),
        PageKind::Equipment => out.links("All equipment", titles!(base.equipment)),
        PageKind::Vehicles if base.is_nameless() => {}
        PageKind::Vehicles => out.links("All vehicles", titles!(base.vehicles)),
        PageKind::Setups => out.links("All preparations", titles!(base.setups)),
        PageKind::Hazards => out.links("All hazards", titles!(base.hazards)),
        PageKind::Terms => {
            let rows = base.terms.iter().map(|(_, id, term)| Row {
                on: None,
                cells: vec![vec![Link::to(&term.title, kind.page(id))], vec![Link::text(term.also.join(", "))]],
            });
            out.table("All terms", &["Term", "Also called"], rows_by_title(rows));
        }
        PageKind::Writing => {
            let rows = super::CHAPTERS.iter().map(|chapter| Row {
                on: None,
                cells: vec![
                    vec![Link::to(chapter.title(), kind.page(chapter.id))],
                    vec![Link::text(chapter.summary())],
                ],
            });
            out.note("For whoever writes procedures, in the order in which to read it.");
            out.table("The handbook", &["Page", "What it is about"], rows.collect());
        }
        PageKind::Rules => {
            let rows = crate::check::RULES.iter().map(|rule| Row {
                on: None,
                cells: vec![vec![Link::to(rule.name, kind.page(rule.name))], vec![Link::text(rule.summary)]],
            });
            out.note("What the compiler checks before it writes this site.");
            out.table("All rules", &["Rule", "What it says"], rows.collect());
        }
    }
    plain(kind.list(), kind.many().to_owned(), Body::Sheet(out))
}

/// The page about the base: what it covers, what is allowed and why, which values are placeholders or invented.
pub fn about(frame: &Frame<'_>) -> Page {
    let base = frame.base;
    let mut out = Sheet::default();
    let counts = PageKind::ALL
        .into_iter()
        .filter(|kind| !matches!(kind, PageKind::Writing | PageKind::Rules))
        .map(|kind| fact(kind.many(), vec![Link::to(count(frame, kind).to_string(), kind.list())]));
    out.note(
        "These pages defer to the maker's information, local rules and licensed practice: where they differ, those hold. \
         A procedure assumes one fault at a time. Odds say where to look first; they prove nothing.",
    );
    out.facts(counts.chain([fact("State of the base", vec![Link::text(&frame.state)])]).collect());
    let systems = base.systems.iter().map(|(ix, id, system)| Row {
        on: None,
        cells: vec![
            vec![Link::to(&system.title, PageKind::Systems.page(id))],
            or_none(few(frame.of_system(ix), PageKind::Systems.page(id))),
        ],
    });
    out.table("Systems and their procedures", &["System", "Procedures"], rows_by_title(systems));
    let codes = base.codes.iter().map(|(ix, id, _)| Row {
        on: None,
        cells: vec![vec![frame.code(ix)], or_none(few(frame.of_code(ix), PageKind::Codes.page(id)))],
    });
    out.table("Fault codes and their procedures", &["Code", "Procedures"], rows_by_title(codes));
    let reviews = frame.digests.iter().map(|d| Row {
        on: None,
        cells: vec![
            vec![frame.procedure_of(d)],
            vec![Link::text(d.reviewed.as_ref().map_or("not yet".to_owned(), |(by, on)| format!("{by}, {on}")))],
        ],
    });
    out.table("Reviews", &["Procedure", "Reviewed"], rows_by_title(reviews));
    let allowed = frame.report.allowed.iter().map(|(allowance, uses)| Row {
        on: None,
        cells: vec![
            vec![Link::to(&allowance.procedure, PageKind::Procedures.page(&allowance.procedure))],
            vec![Link::to(allowance.rule, PageKind::Rules.page(allowance.rule))],
            vec![Link::text(&allowance.reason)],
            vec![Link::text(uses.to_string())],
        ],
    });
    out.table("What is allowed, and why", &["Procedure", "Rule", "Reason", "Findings"], rows_by_title(allowed));
    let untried = frame.report.findings.iter().filter(|finding| finding.rule == "untried-results").map(|finding| {
        let id = finding.procedure.clone().unwrap_or_default();
        let digest = frame.digests.iter().find(|d| d.id == id);
        let procedure = digest.map_or_else(|| Link::text(&id), |d| frame.procedure_of(d));
        Row { on: None, cells: vec![vec![procedure], vec![Link::text(&finding.message)]] }
    });
    out.table("Results that no solved case has taken", &["Procedure", "Results"], rows_by_title(untried));
    out.links("Values not known yet", values(frame, |spec, _| has_placeholder(spec)));
    out.links("Values invented for the demonstration", values(frame, |_, source| source.starts_with("Invented")));
    plain(ABOUT.into(), "About this base".into(), Body::Sheet(out))
}

/// The links, or how many there are and the page that has them.
fn few(links: Vec<Link>, page: String) -> Vec<Link> {
    if links.len() > CELL { vec![Link::to(format!("{} procedures", links.len()), page)] } else { links }
}

fn or_none(links: Vec<Link>) -> Vec<Link> {
    if links.is_empty() { vec![Link::text("none yet")] } else { links }
}

fn has_placeholder(spec: &crate::model::Spec) -> bool {
    spec.entries.iter().any(|entry| matches!(entry.limits, Limits::Placeholder))
}

fn values(frame: &Frame<'_>, which: impl Fn(&crate::model::Spec, &str) -> bool) -> Vec<Link> {
    let named = |spec: &crate::model::Spec| which(spec, spec.source.as_ref().map_or("", |s| s.value.as_str()));
    by_title(frame.base.specs.iter().filter(|(_, _, spec)| named(spec)).map(|(ix, _, _)| frame.spec(ix)).collect())
}
