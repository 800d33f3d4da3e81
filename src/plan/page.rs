//! What a reader sees, as plain data.
//!
//! In: nothing (nouns only). Out: [`Page`] and its parts. Addresses are paths from the site's top; `on` holds the ids of
//! the vehicles that a thing is for, separated by spaces, and nothing where it is for all of them.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

use super::procedure_page::ProcedurePage;

/// A text that may lead somewhere.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Link {
    /// The text.
    pub text: String,
    /// Where it leads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// What stands after it, for example the title of a code.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub more: Option<String>,
    /// Vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
}

impl Link {
    /// A text that leads nowhere.
    pub fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), ..Self::default() }
    }

    /// A text that leads to an address.
    pub fn to(text: impl Into<String>, to: impl Into<String>) -> Self {
        Self { text: text.into(), to: Some(to.into()), ..Self::default() }
    }

    /// Adds what stands after it.
    pub fn more(mut self, more: impl Into<String>) -> Self {
        self.more = Some(more.into());
        self
    }

    /// Adds the vehicles that it is for.
    pub fn on(mut self, on: Option<String>) -> Self {
        self.on = on;
        self
    }
}

/// What a destination in the author's words means.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub enum Target {
    /// A page of the site.
    Page {
        /// Its address, with `#ID` where one is meant.
        to: String,
        /// The text of a link with empty brackets.
        title: String,
    },
    /// A spec's value.
    Value {
        /// The spec's page.
        to: String,
        /// The value on each group of vehicles.
        values: Vec<Link>,
    },
    /// A picture under `figures/`.
    Figure {
        /// Its address.
        to: String,
    },
    /// An address outside.
    Outside,
    /// Leads nowhere: reported already; its text stands.
    Nowhere,
}

/// An author's Markdown with all its destinations decided.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Words {
    /// The Markdown.
    pub text: String,
    /// Whether its headings keep the ids that authors gave them; not where the same words stand twice on a page.
    pub anchors: bool,
    /// Each destination in it, as written, and what it means.
    pub links: BTreeMap<String, Target>,
}

/// A hazard's words before a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// `danger`, `warning`, `caution` or `notice`.
    pub signal: &'static str,
    /// What to say.
    pub text: String,
    /// The hazard's page.
    pub to: String,
}

/// A line of a list of facts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// What it says; several stand one after the other.
    pub says: Vec<Link>,
}

/// A row of a table.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Row {
    /// Vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// The cells; the first heads the row. The last reaches to the end of the row.
    pub cells: Vec<Vec<Link>>,
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Table {
    /// The heads of the columns.
    pub columns: Vec<String>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// A part of a [`Sheet`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub enum Block {
    /// A list of facts.
    Facts {
        /// The lines.
        facts: Vec<Fact>,
    },
    /// Cautions.
    Cautions {
        /// Worst first.
        cautions: Vec<Caution>,
    },
    /// An author's words.
    Words {
        /// The words.
        words: Words,
    },
    /// A table under a heading.
    Table {
        /// The heading.
        heading: String,
        /// The table.
        table: Table,
    },
    /// Links under a heading.
    Links {
        /// The heading.
        heading: String,
        /// The links.
        links: Vec<Link>,
    },
    /// A sentence of ours.
    Note {
        /// The sentence.
        text: String,
    },
}

/// A page to look something up on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// A line under the title.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lead: Option<String>,
    /// Its parts, in order.
    pub blocks: Vec<Block>,
}

impl Sheet {
    /// Adds facts, those without a saying left out.
    pub fn facts(&mut self, facts: Vec<Fact>) {
        let facts: Vec<Fact> = facts.into_iter().filter(|f| !f.says.is_empty()).collect();
        if !facts.is_empty() {
            self.blocks.push(Block::Facts { facts });
        }
    }

    /// Adds cautions, if any.
    pub fn cautions(&mut self, cautions: Vec<Caution>) {
        if !cautions.is_empty() {
            self.blocks.push(Block::Cautions { cautions });
        }
    }

    /// Adds words, if any.
    pub fn words(&mut self, words: Words) {
        if !words.text.trim().is_empty() {
            self.blocks.push(Block::Words { words });
        }
    }

    /// Adds links, if any.
    pub fn links(&mut self, heading: &str, links: Vec<Link>) {
        if !links.is_empty() {
            self.blocks.push(Block::Links { heading: heading.into(), links });
        }
    }

    /// Adds a table, if it has a row.
    pub fn table(&mut self, heading: &str, columns: &[&str], rows: Vec<Row>) {
        if !rows.is_empty() {
            let columns = columns.iter().map(|c| (*c).to_owned()).collect();
            self.blocks.push(Block::Table { heading: heading.into(), table: Table { columns, rows } });
        }
    }

    /// Adds a sentence.
    pub fn note(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Note { text: text.into() });
    }
}

/// A system and its procedures on the front page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Shelf {
    /// The system.
    pub system: Link,
    /// How many procedures it has.
    pub count: usize,
    /// Its procedures; none where there are too many for one page.
    pub procedures: Vec<Link>,
}

/// The front page.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Front {
    /// The systems, in order.
    pub shelves: Vec<Shelf>,
    /// The lists, each with how many it holds.
    pub lists: Vec<Link>,
}

/// What a page holds.
#[derive(Clone, Debug)]
pub enum Body {
    /// The front page.
    Front(Front),
    /// A procedure.
    Procedure(Box<ProcedurePage>),
    /// Everything else.
    Sheet(Sheet),
}

/// One page of the site.
#[derive(Clone, Debug)]
pub struct Page {
    /// Its address.
    pub address: String,
    /// Its title.
    pub title: String,
    /// What kind of page it is; nothing for lists and the front page.
    pub kind: Option<&'static str>,
    /// The way to it from the front page.
    pub trail: Vec<Link>,
    /// Vehicles.
    pub on: Option<String>,
    /// What it holds.
    pub body: Body,
}
