//! The handbook: how procedures are written, in the order in which to read it.
//!
//! In: Markdown of our own, kept in `templates/handbook`, and the table of all keys. Out: [`Page`]s. Its examples are bases that
//! `tests/it/handbook.rs` checks; a line `# error[rule]: words` in them is the finding that the line above gives.

use super::sheet;
use crate::parse::keys::{self, Keys};
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::page::{Link, Page, Row, Sheet, Target, Words};
use crate::plan::words::{linked, without_title};

/// One page of the handbook.
#[derive(Debug)]
pub struct Chapter {
    /// Its id in addresses.
    pub id: &'static str,
    /// Its text: a title, a paragraph that says what it is about, sections.
    pub text: &'static str,
}

macro_rules! chapters {
    ($($id:literal),+ $(,)?) => {
        &[$(Chapter { id: $id, text: include_str!(concat!("../../../templates/handbook/", $id, ".md")) }),+]
    };
}

/// All pages, in the order in which to read them.
pub const CHAPTERS: &[Chapter] = chapters![
    "first-procedure",
    "readings",
    "values",
    "evidence",
    "routes",
    "safety",
    "bays",
    "order",
    "sharing",
    "solved-jobs",
    "after-repair",
    "review",
    "keys",
    "fine-points",
];

impl Chapter {
    /// What its first line says.
    pub fn title(&self) -> &'static str {
        self.text.lines().next().and_then(|line| line.strip_prefix("# ")).unwrap_or(self.id)
    }

    /// Its first paragraph.
    pub fn summary(&self) -> &'static str {
        without_title(self.text).trim_start().split("\n\n").next().unwrap_or_default()
    }
}

pub(super) fn page(_: &Frame<'_>, at: usize) -> Option<Page> {
    let chapter = CHAPTERS.get(at)?;
    let mut out = Sheet::default();
    out.words(words(&with_names(without_title(chapter.text))));
    if chapter.id == "keys" {
        for keys in keys::ALL {
            out.table(&of(keys), &["Key", "What it means", "Needed"], rows(keys));
        }
    }
    let to = |chapter: &Chapter| Link::to(chapter.title(), PageKind::Writing.page(chapter.id));
    let before = at.checked_sub(1).and_then(|before| CHAPTERS.get(before));
    out.links("Read on", CHAPTERS.get(at + 1).map(to).into_iter().collect());
    out.links("Go back", before.map(to).into_iter().collect());
    Some(sheet(PageKind::Writing, chapter.id, chapter.title(), None, out))
}

fn of(keys: &Keys) -> String {
    format!("The keys of {}", keys.of.replace('`', ""))
}

fn rows(keys: &Keys) -> Vec<Row> {
    let row = |key: &keys::Key| Row {
        on: None,
        cells: vec![
            vec![Link::text(key.name)],
            vec![Link::text(key.doc.replace('`', ""))],
            vec![Link::text(if key.required { "yes" } else { "" })],
        ],
    };
    keys.keys.iter().map(row).collect()
}

/// The text with the name of each example's file above it.
fn with_names(text: &str) -> String {
    let mut out = String::new();
    for line in text.split_inclusive('\n') {
        if let Some(path) = line.strip_prefix("````").map(str::trim).filter(|path| !path.is_empty()) {
            out.push_str(&format!("`{path}`:\n\n"));
        }
        out.push_str(line);
    }
    out
}

/// Our own words: their links lead to other pages of the handbook, to rules, or out.
fn words(text: &str) -> Words {
    linked(text, |dest| {
        if dest.contains(':') {
            return Target::Outside;
        }
        let to = dest.strip_prefix("../").map_or_else(|| format!("writing/{dest}"), str::to_owned);
        Target::Page { to, title: dest.to_owned() }
    })
}
