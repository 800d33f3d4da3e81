//! One of the two bases.
//!
//! In: a base that was judged. Out: [`Side`], from which procedures are read one at a time.

use std::collections::{BTreeMap, BTreeSet};

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
    /// The cases of each procedure, by their position.
    cases: BTreeMap<String, Vec<usize>>,
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
        let mut cases: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (at, case) in linted.tables.cases.iter().enumerate() {
            let procedure = linted.tables.base.procedures.id(case.procedure);
            cases.entry(procedure.to_owned()).or_default().push(at);
        }
        Ok(Self { name, linted, rules: pipeline::rule_levels(), cases })
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
    pub fn cases(&self, procedure: &str) -> impl Iterator<Item = &CaseFile> {
        self.cases.get(procedure).into_iter().flatten().map(|at| &self.linted.tables.cases[*at])
    }
}

/// What tells one procedure from another when names don't: its meaning, and the ids of its steps and causes.
pub struct Likeness {
    digest: String,
    ids: BTreeSet<String>,
}

impl Likeness {
    /// Of a procedure; nothing where its names don't resolve.
    pub fn of(side: &Side, id: &str) -> Option<Self> {
        let procedure = side.procedure(id)?;
        let ids = procedure.steps.ids().chain(procedure.causes.ids()).map(str::to_owned).collect();
        Some(Self { digest: meaning::digest(side.base(), &procedure), ids })
    }

    /// Whether the two are one under another name: they mean the same, or share three of four ids.
    pub fn is_like(&self, other: &Self) -> bool {
        let both = self.ids.intersection(&other.ids).count();
        self.digest == other.digest || 4 * both >= 3 * (self.ids.len() + other.ids.len() - both)
    }
}
