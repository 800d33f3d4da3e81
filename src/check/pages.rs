//! Pages as the rules on words see them: procedures, systems, checks and repairs alike.
//!
//! In: the digests of procedures, and the bodies of the shared files. Out: a [`Page`] each, with its links, anchors
//! and the vehicles that its values are quoted for.

use std::collections::BTreeMap;

use super::Whole;
use crate::finding::Finding;
use crate::load::{Loaded, Role};
use crate::model::{Set, Vehicle};
use crate::parse::front_matter;
use crate::parse::markdown::{self, Link};
use crate::resolve::Digest;
use crate::source::{FileId, Span};

/// The words of a system, check or repair.
#[derive(Debug)]
pub struct SharedPage {
    /// Its file.
    pub file: FileId,
    /// Its id.
    pub id: String,
    /// Links and pictures.
    pub links: Vec<Link>,
    /// Raw HTML.
    pub raw_html: Vec<Span>,
    /// Ids of its headings.
    pub anchors: Vec<String>,
}

/// Reads the words of every system, check and repair. (What is wrong with their front matter was told already.)
pub fn shared_pages(loaded: &Loaded) -> Vec<SharedPage> {
    let mut pages = Vec::new();
    for (file, role) in loaded.roles.iter().enumerate() {
        let (Role::System(id) | Role::Check(id) | Role::Repair(id)) = role else { continue };
        let file = FileId(file as u32);
        let text = loaded.sources.file(file).text();
        let body = markdown::parse(file, text, front_matter::split(file, text).body);
        let anchors = body.sections.into_iter().filter_map(|s| s.id).map(|id| id.value).collect();
        pages.push(SharedPage { file, id: id.clone(), links: body.links, raw_html: body.raw_html, anchors });
    }
    pages
}

/// Links of this kind name a thing of the base: `spec:charging-voltage`.
pub const KINDS: [&str; 7] = ["spec", "code", "term", "equipment", "hazard", "vehicle", "cause"];

/// The path in the base of a link's file, from the file that holds the link; nothing where it leads out of the base.
pub fn path_from(here: &str, link: &str) -> Option<String> {
    let mut parts: Vec<&str> = here.split('/').collect();
    parts.pop();
    for part in link.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            name => parts.push(name),
        }
    }
    Some(parts.join("/"))
}

/// One page of words.
pub struct Page<'a> {
    /// Its file.
    pub file: FileId,
    /// The procedure, if it is one.
    pub procedure: Option<&'a Digest>,
    /// Links and pictures.
    pub links: &'a [Link],
    /// Raw HTML.
    pub raw_html: &'a [Span],
    /// Places on it that a link can name.
    pub anchors: &'a [String],
    /// The vehicles that it speaks to.
    pub vehicles: Set<Vehicle>,
}

impl Page<'_> {
    /// The finding with the procedure's name, if this page is one.
    pub fn name(&self, finding: Finding) -> Finding {
        match self.procedure {
            Some(digest) => finding.in_procedure(&digest.id),
            None => finding,
        }
    }
}

/// Every page of the base: procedures in their order, then the shared ones in the order of their files.
pub fn pages<'a>(whole: &'a Whole<'_>) -> Vec<Page<'a>> {
    let mut pages: Vec<Page<'a>> = whole
        .digests
        .iter()
        .map(|d| Page {
            file: d.file,
            procedure: Some(d),
            links: &d.links,
            raw_html: &d.raw_html,
            anchors: &d.anchors,
            vehicles: d.applies.clone(),
        })
        .collect();
    let users = users(whole);
    pages.extend(whole.shared.iter().map(|s| Page {
        file: s.file,
        procedure: None,
        links: &s.links,
        raw_html: &s.raw_html,
        anchors: &s.anchors,
        vehicles: users.get(&s.file).cloned().unwrap_or_else(|| Set::all(whole.base.vehicles.len())),
    }));
    pages
}

/// Per check or repair that some procedure uses: the vehicles of those procedures.
fn users(whole: &Whole<'_>) -> BTreeMap<FileId, Set<Vehicle>> {
    let mut users: BTreeMap<FileId, Set<Vehicle>> = BTreeMap::new();
    for digest in whole.digests {
        let checks = digest.checks.iter().map(|c| whole.base.checks[c].place.key.file);
        let repairs = digest.repairs.iter().map(|r| whole.base.repairs[r].place.key.file);
        for file in checks.chain(repairs) {
            let set = users.entry(file).or_default();
            *set = set.or(&digest.applies);
        }
    }
    users
}
