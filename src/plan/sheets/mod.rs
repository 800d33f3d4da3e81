//! Pages to look something up on: one small function a kind of page.
//!
//! In: the frame and a row of a table. Out: [`Page`]s.

mod code;
mod handbook;
mod hazard;
mod instrument;
mod rule;
mod spec;
mod vehicle;
mod written;

pub use self::handbook::{CHAPTERS, Chapter};
use super::address::PageKind;
use super::frame::Frame;
use super::page::{Body, Fact, Link, Page, Sheet};

pub(super) fn fact(name: &str, says: Vec<Link>) -> Fact {
    Fact { name: name.into(), says }
}

pub(super) fn text(says: Option<&str>) -> Vec<Link> {
    says.map(Link::text).into_iter().collect()
}

fn sheet(kind: PageKind, id: &str, title: &str, on: Option<String>, sheet: Sheet) -> Page {
    Page {
        address: kind.page(id),
        title: title.to_owned(),
        kind: Some(kind.one()),
        trail: vec![Link::to(kind.many(), kind.list())],
        on,
        body: Body::Sheet(sheet),
    }
}

/// How many pages there are of a kind.
pub fn count(frame: &Frame<'_>, kind: PageKind) -> usize {
    let base = frame.base;
    match kind {
        PageKind::Procedures => frame.digests.len(),
        PageKind::Codes => base.codes.len(),
        PageKind::Specs => base.specs.len(),
        PageKind::Systems => base.systems.len(),
        PageKind::Checks => base.checks.len(),
        PageKind::Repairs => base.repairs.len(),
        PageKind::Equipment => base.equipment.len(),
        PageKind::Vehicles if base.is_nameless() => 0,
        PageKind::Vehicles => base.vehicles.len(),
        PageKind::Setups => base.setups.len(),
        PageKind::Hazards => base.hazards.len(),
        PageKind::Terms => base.terms.len(),
        PageKind::Writing => CHAPTERS.len(),
        PageKind::Rules => crate::check::RULES.len(),
    }
}

/// The page of the row `at` of a kind; nothing for procedures (they are planned from their text) or past the end.
pub fn page(frame: &Frame<'_>, kind: PageKind, at: usize) -> Option<Page> {
    use crate::model::Ix;
    if at >= count(frame, kind) {
        return None;
    }
    Some(match kind {
        PageKind::Procedures => return None,
        PageKind::Codes => code::page(frame, Ix::new(at)),
        PageKind::Specs => spec::page(frame, Ix::new(at)),
        PageKind::Systems => written::system(frame, Ix::new(at)),
        PageKind::Checks => written::check(frame, Ix::new(at)),
        PageKind::Repairs => written::repair(frame, Ix::new(at)),
        PageKind::Equipment => instrument::page(frame, Ix::new(at)),
        PageKind::Vehicles => vehicle::page(frame, Ix::new(at)),
        PageKind::Setups => instrument::setup(frame, Ix::new(at)),
        PageKind::Hazards => hazard::page(frame, Ix::new(at)),
        PageKind::Terms => hazard::term(frame, Ix::new(at)),
        PageKind::Writing => handbook::page(frame, at)?,
        PageKind::Rules => rule::page(frame, crate::check::RULES.get(at)?),
    })
}
