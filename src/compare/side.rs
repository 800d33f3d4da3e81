//! One of the two bases.
//!
//! In: a base that was judged. Out: [`Side`], from which procedures are read one at a time.

use std::collections::BTreeSet;

use crate::load::Files;
use crate::model::meaning;
use crate::model::{Base, Procedure};
use crate::pipeline::{self, Linted};
use crate::resolve::{CaseFile, RuleLevels};

/// A base, judged.
pub struct Side {
    /// What the user called it.
    pub name: String,
    /// The base.
    pub linted: Linted,
    rules: Vec<(&'static str, crate::finding::Level)>,
}

/// A procedure of a side.
#[derive(Clone, Copy)]
pub struct Held<'a> {
    /// The side.
    pub side: &'a Side,
    /// The procedure.
    pub procedure: &'a Procedure,
}

impl Held<'_> {
    /// The tables.
    pub fn base(&self) -> &Base {
        self.side.base()
    }
}

impl Side {
    /// Reads and judges a base.
    ///
    /// # Errors
    /// One sentence, where it can't be read.
    pub fn read(name: impl Into<String>, files: &dyn Files) -> Result<Self, String> {
        let name = name.into();
        let linted = pipeline::lint(files).map_err(|why| format!("{name}: {why}"))?;
        Ok(Self { name, linted, rules: pipeline::rule_levels() })
    }

    /// The tables.
    pub fn base(&self) -> &Base {
        &self.linted.tables.base
    }

    /// The rules, for a reader of names.
    pub fn rules(&self) -> &RuleLevels {
        &self.rules
    }

    /// A procedure, where its names resolve.
    pub fn procedure(&self, id: &str) -> Option<Procedure> {
        let ix = self.base().procedures.find(id)?;
        let resolved = pipeline::read_procedure(&self.linted.loaded, &self.linted.tables, &self.rules, ix);
        resolved.procedure.filter(|p| p.sound)
    }

    /// The text of a procedure's file.
    pub fn text_of(&self, id: &str) -> Option<&str> {
        let ix = self.base().procedures.find(id)?;
        Some(self.linted.loaded.sources.file(self.base().procedures[ix]).text())
    }

    /// The cases of a procedure.
    pub fn cases<'a>(&'a self, procedure: &'a str) -> impl Iterator<Item = &'a CaseFile> {
        self.linted.tables.cases.iter().filter(move |c| c.procedure().is_some_and(|p| p.value == procedure))
    }
}

/// Whether a procedure that went and one that came are the same under another name: they mean the same, or share three of four of the
/// ids of their steps and causes.
pub fn are_one(old: &Side, was: &str, new: &Side, is: &str) -> bool {
    let (Some(a), Some(b)) = (old.procedure(was), new.procedure(is)) else { return false };
    if meaning::meaning(old.base(), &a) == meaning::meaning(new.base(), &b) {
        return true;
    }
    let ids = |p: &Procedure| -> BTreeSet<String> { p.steps.ids().chain(p.causes.ids()).map(str::to_owned).collect() };
    let (a, b) = (ids(&a), ids(&b));
    4 * a.intersection(&b).count() >= 3 * a.union(&b).count()
}
