//! Findings, each at its place on a page.
//!
//! In: the report. Out: for each page of the site the findings that concern it, each with the id of the step, cause or
//! repair that it stands at; and all of them for the front page.

use std::collections::BTreeMap;

use crate::finding::Finding;
use crate::load::Role;
use crate::pipeline::Linted;
use crate::plan::PageKind;

/// The page that holds what belongs to no page of its own.
pub const FRONT: &str = "index.html";

/// Findings by the address of their page, in the report's order.
pub struct Placed<'a> {
    pages: BTreeMap<String, Vec<(Option<&'a str>, &'a Finding)>>,
}

impl<'a> Placed<'a> {
    /// Sorts the findings onto pages.
    pub fn new(linted: &'a Linted) -> Self {
        let mut pages: BTreeMap<String, Vec<(Option<&str>, &Finding)>> = BTreeMap::new();
        for finding in &linted.report.findings {
            let (address, anchor) = place(linted, finding);
            pages.entry(address).or_default().push((anchor, finding));
        }
        Self { pages }
    }

    /// The findings of one page, each with the id that it stands at.
    pub fn on(&self, address: &str) -> &[(Option<&'a str>, &'a Finding)] {
        self.pages.get(address).map_or(&[], Vec::as_slice)
    }

    /// All of them, page by page.
    pub fn all(&self) -> impl Iterator<Item = (&str, Option<&'a str>, &'a Finding)> {
        self.pages.iter().flat_map(|(address, list)| list.iter().map(move |(at, f)| (address.as_str(), *at, *f)))
    }
}

fn place<'a>(linted: &'a Linted, finding: &'a Finding) -> (String, Option<&'a str>) {
    let Linted { loaded, tables, digests, .. } = linted;
    let file = finding.span.file;
    let role = loaded.roles.get(file.0 as usize);
    let own = match role {
        Some(Role::Procedure(id)) => Some(id.as_str()),
        _ => None,
    };
    if let Some(id) = finding.procedure.as_deref().or(own) {
        let anchor = finding.step.as_deref().or(finding.cause.as_deref()).or_else(|| {
            let at = digests.iter().find(|d| d.id == id && d.file == file)?;
            at.step_at(finding.span)
        });
        return (PageKind::Procedures.page(id), anchor);
    }
    let address = match role {
        Some(Role::System(id)) => PageKind::Systems.page(id),
        Some(Role::Check(id)) => PageKind::Checks.page(id),
        Some(Role::Repair(id)) => PageKind::Repairs.page(id),
        Some(Role::Specs) => {
            let inside = |whole: crate::source::Span| {
                whole.file == file && whole.start <= finding.span.start && finding.span.end <= whole.end
            };
            let spec = tables.base.specs.iter().find(|(_, _, spec)| inside(spec.place.whole));
            spec.map_or_else(|| FRONT.to_owned(), |(_, id, _)| PageKind::Specs.page(id))
        }
        _ => FRONT.to_owned(),
    };
    (address, None)
}
