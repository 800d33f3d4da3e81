//! What the search box searches.
//!
//! In: the frame. Out: [`SearchData`]: a document a page, groups of words that mean the same, and the sets of vehicles.

use serde::Serialize;

use super::address::PageKind;
use super::frame::Frame;
use super::limits::capital;
use crate::model::{Set, Vehicle};
use crate::resolve::Digest;

/// One page, as the search sees it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Document {
    /// The address without `.html`.
    pub id: String,
    /// The title: weighs most.
    pub title: String,
    /// Other names for it: complaint, codes, synonyms.
    pub also: String,
    /// What else stands on it: causes, parts, steps.
    pub more: String,
    /// Index into [`SearchData::vehicles`]; nothing where it is for all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<usize>,
}

/// Words that mean the same.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Synonyms {
    /// The term's page, as in [`Document::id`].
    pub id: String,
    /// Its title and all that it is also called, lower case.
    pub words: Vec<String>,
}

/// All that the search box needs.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct SearchData {
    /// One document a page.
    pub documents: Vec<Document>,
    /// Words that mean the same.
    pub synonyms: Vec<Synonyms>,
    /// Sets of vehicles: their titles.
    pub vehicles: Vec<Vec<String>>,
}

impl SearchData {
    fn add(&mut self, kind: PageKind, id: &str, title: &str, also: String, more: String) -> &mut Document {
        let id = format!("{}/{id}", kind.folder());
        let title = capital(title);
        let at = self.documents.len();
        self.documents.push(Document { id, title, also, more, on: None });
        &mut self.documents[at]
    }

    fn set(&mut self, frame: &Frame<'_>, on: &Set<Vehicle>) -> Option<usize> {
        if on.len() == frame.base.vehicles.len() {
            return None;
        }
        let titles: Vec<String> = on.iter().map(|v| frame.base.vehicles[v].title.clone()).collect();
        let known = self.vehicles.iter().position(|set| *set == titles);
        Some(known.unwrap_or_else(|| {
            self.vehicles.push(titles);
            self.vehicles.len() - 1
        }))
    }
}

/// Gathers what the search box needs.
pub fn search(frame: &Frame<'_>) -> SearchData {
    let base = frame.base;
    let mut data = SearchData::default();
    for digest in frame.digests {
        procedure(frame, &mut data, digest);
    }
    let mut row = |kind: PageKind, at: usize, id: &str, title: &str, also: String, more: String| {
        let on = data.set(frame, &frame.page_vehicles(kind, at));
        data.add(kind, id, title, also, more).on = on;
    };
    for (ix, id, code) in base.codes.iter() {
        row(PageKind::Codes, ix.raw(), id, &format!("{id} {}", code.title), String::new(), String::new());
    }
    for (ix, id, spec) in base.specs.iter() {
        row(PageKind::Specs, ix.raw(), id, &spec.title, String::new(), spec.at.clone().unwrap_or_default());
    }
    macro_rules! titles {
        ($kind:expr, $table:expr) => {
            for (ix, id, of) in $table.iter() {
                row($kind, ix.raw(), id, &of.title, String::new(), String::new());
            }
        };
    }
    titles!(PageKind::Systems, base.systems);
    titles!(PageKind::Checks, base.checks);
    titles!(PageKind::Repairs, base.repairs);
    titles!(PageKind::Equipment, base.equipment);
    titles!(PageKind::Setups, base.setups);
    titles!(PageKind::Hazards, base.hazards);
    for (ix, id, vehicle) in base.vehicles.iter().filter(|(_, id, _)| !id.is_empty()) {
        let groups = vehicle.groups.iter().map(|g| g.value.as_str()).collect::<Vec<_>>().join(" ");
        row(PageKind::Vehicles, ix.raw(), id, &vehicle.title, groups, String::new());
    }
    for (ix, id, term) in base.terms.iter() {
        let means = term.means.clone().unwrap_or_default();
        row(PageKind::Terms, ix.raw(), id, &term.title, term.also.join(" "), means);
    }
    for (at, chapter) in super::CHAPTERS.iter().enumerate() {
        row(PageKind::Writing, at, chapter.id, chapter.title(), String::new(), chapter.summary().to_owned());
    }
    for (at, rule) in crate::check::RULES.iter().enumerate() {
        row(PageKind::Rules, at, rule.name, rule.name, String::new(), rule.summary.to_owned());
    }
    data.synonyms = synonyms(base);
    data
}

fn synonyms(base: &crate::model::Base) -> Vec<Synonyms> {
    let named = base.terms.iter().filter(|(_, _, term)| !term.also.is_empty());
    named
        .map(|(_, id, term)| Synonyms {
            id: format!("{}/{id}", PageKind::Terms.folder()),
            words: std::iter::once(&term.title).chain(&term.also).map(|word| word.to_lowercase()).collect(),
        })
        .collect()
}

fn procedure(frame: &Frame<'_>, data: &mut SearchData, digest: &Digest) {
    let base = frame.base;
    let mut also: Vec<&str> = Vec::new();
    if digest.complaint != digest.title {
        also.push(&digest.complaint);
    }
    also.extend(digest.also.iter().map(String::as_str));
    for code in &digest.codes {
        also.push(base.codes.id(*code));
    }
    let mut more: Vec<&str> = Vec::new();
    for cause in &digest.causes {
        more.push(&cause.title);
        more.extend(cause.also.iter().map(String::as_str));
    }
    more.extend(digest.steps.iter().map(|(_, title)| title.as_str()));
    let on = data.set(frame, &digest.applies);
    data.add(PageKind::Procedures, &digest.id, &digest.title, also.join(" "), more.join(" ")).on = on;
}
