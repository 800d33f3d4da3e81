//! A base that stays in memory while its files change: the preview and the language server keep one.
//!
//! In: the files once, then changed texts. Out: the same [`Linted`] that a fresh run would give, and an [`Update`] that
//! names what was judged again. A procedure's own text touches that procedure alone, a case the procedures it names or
//! named; any other file may touch all. A file that comes or goes starts afresh.

use std::collections::BTreeSet;
use std::sync::Arc;

use rayon::prelude::*;

use super::judge::{Judged, cases_by_procedure, judge};
use super::{Linted, rule_levels};
use crate::check::{self, Drawing, SharedPage, Whole};
use crate::finding::{Allowance, Finding, Level, Report, finish};
use crate::load::{self, Files, Loaded, Role};
use crate::model::ProcedureIx;
use crate::resolve::{self, Tables};
use crate::source::{FileId, SourceFile};

/// What a change touched.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Update {
    /// No text changed.
    Nothing,
    /// These procedures were judged again; all others, the tables and every place in another file stand as they did.
    Procedures(Vec<ProcedureIx>),
    /// Everything was judged again; indexes and places from before are void.
    Everything,
}

/// A base, judged, that can be changed.
pub struct Engine {
    linted: Linted,
    judged: Vec<Judged>,
    shared: Vec<SharedPage>,
    drawings: Vec<Drawing>,
    rules: Vec<(&'static str, Level)>,
    /// Procedures that a change touched and that were not judged since.
    waiting: BTreeSet<ProcedureIx>,
    /// Whether something changed since the report was made.
    unreported: bool,
}

impl Engine {
    /// Judges a base that was read.
    pub fn new(loaded: Loaded) -> Self {
        let mut engine = Self::read(loaded);
        engine.advance(usize::MAX);
        engine
    }

    /// Judges a base that was read and will not change: its findings are moved into the report.
    pub fn once(loaded: Loaded) -> Linted {
        let mut engine = Self::read(loaded);
        let all = std::mem::take(&mut engine.waiting);
        engine.judge_some(&all);
        let complete = engine.is_complete();
        let mut findings = engine.common_findings();
        let mut allowances = Vec::new();
        for one in std::mem::take(&mut engine.judged) {
            findings.extend(one.findings);
            allowances.extend(one.allowances);
        }
        engine.linted.report = engine.finished(findings, allowances, complete);
        engine.linted
    }

    /// Reads the tables; every procedure waits.
    fn read(loaded: Loaded) -> Self {
        let rules = rule_levels();
        let tables = resolve::tables(&loaded, &rules);
        let linted = Linted { loaded, tables, digests: Vec::new(), report: Report::default() };
        let waiting = BTreeSet::new();
        let mut engine = Self {
            linted,
            judged: Vec::new(),
            shared: Vec::new(),
            drawings: Vec::new(),
            rules,
            waiting,
            unreported: true,
        };
        engine.wait_for_all();
        engine
    }

    /// Reads and judges a base.
    ///
    /// # Errors
    /// One sentence, where the folder cannot be read or holds no knowledge base.
    pub fn open(files: &dyn Files) -> Result<Self, String> {
        Ok(Self::new(load::load(files)?))
    }

    /// The base as it stands.
    pub fn linted(&self) -> &Linted {
        &self.linted
    }

    /// Reads all files again and judges what changed.
    ///
    /// # Errors
    /// One sentence, where the folder cannot be read or holds no knowledge base; all stands as before.
    pub fn reload(&mut self, files: &dyn Files) -> Result<Update, String> {
        let new = load::load(files)?;
        let old = &self.linted.loaded;
        let same_files = old.roles == new.roles
            && old.figures == new.figures
            && old.unreadable == new.unreadable
            && old.problems == new.problems
            && old.sources.iter().zip(new.sources.iter()).all(|((_, a), (_, b))| a.path() == b.path());
        if !same_files {
            *self = Self::new(new);
            return Ok(Update::Everything);
        }
        let texts = new.sources.iter().map(|(id, file)| (id, file.shared_text())).collect();
        Ok(self.replace(texts))
    }

    /// Gives files other texts and judges what that touches. Files that the base does not hold need [`Engine::reload`].
    pub fn replace(&mut self, texts: Vec<(FileId, Arc<str>)>) -> Update {
        let update = self.start(texts);
        self.advance(usize::MAX);
        update
    }

    /// Gives files other texts, and judges nothing yet: [`Engine::advance`] does. Until that is done the report is the one
    /// from before, and its places are void in the files that changed.
    pub fn start(&mut self, texts: Vec<(FileId, Arc<str>)>) -> Update {
        let sources = &mut self.linted.loaded.sources;
        let mut changed = BTreeSet::new();
        for (id, text) in texts {
            if sources.file(id).text() != &*text {
                let path = sources.file(id).path().to_owned();
                sources.replace(id, SourceFile::new(path, text));
                changed.insert(id);
            }
        }
        if changed.is_empty() {
            return Update::Nothing;
        }
        self.unreported = true;
        let Some(touched) = self.touched(&changed) else {
            self.linted.tables = resolve::tables(&self.linted.loaded, &self.rules);
            self.wait_for_all();
            return Update::Everything;
        };
        self.waiting.extend(&touched);
        Update::Procedures(touched.into_iter().collect())
    }

    /// Judges up to so many of the procedures that wait. True: none is left, and the report is made.
    pub fn advance(&mut self, count: usize) -> bool {
        let some: BTreeSet<ProcedureIx> = self.waiting.iter().copied().take(count).collect();
        if some.is_empty() && !self.unreported {
            return true;
        }
        self.waiting.retain(|ix| !some.contains(ix));
        self.judge_some(&some);
        if !self.waiting.is_empty() {
            return false;
        }
        self.linted.report = self.report();
        self.unreported = false;
        true
    }

    /// The procedures that these files touch; `None` where all may be. Re-reads the cases among them.
    fn touched(&mut self, changed: &BTreeSet<FileId>) -> Option<BTreeSet<ProcedureIx>> {
        let roles = &self.linted.loaded.roles;
        let role = |id: &FileId| roles.get(id.0 as usize);
        if !changed.iter().all(|id| matches!(role(id), Some(Role::Procedure(_) | Role::Case(_)))) {
            return None;
        }
        // A finding of the tables that stands in a procedure's file (two of one name) has its place there.
        let tables = &self.linted.tables;
        let in_procedure = |id: FileId| matches!(role(&id), Some(Role::Procedure(_)));
        let places = |f: &crate::finding::Finding| {
            std::iter::once(f.span.file).chain(f.labels.iter().map(|l| l.span.file)).collect::<Vec<_>>()
        };
        if tables.findings.iter().flat_map(places).any(|id| in_procedure(id) && changed.contains(&id)) {
            return None;
        }
        let base = &tables.base;
        let mut touched: BTreeSet<ProcedureIx> =
            base.procedures.iter().filter(|(_, _, file)| changed.contains(file)).map(|(ix, _, _)| ix).collect();
        if changed.iter().all(|id| in_procedure(*id)) {
            return Some(touched);
        }
        let named = |tables: &Tables| -> Vec<ProcedureIx> {
            let cases = tables.cases.iter().filter(|c| changed.contains(&c.file));
            cases.map(|c| c.procedure).collect()
        };
        touched.extend(named(tables));
        resolve::reread_cases(&self.linted.loaded, &self.rules, &mut self.linted.tables);
        touched.extend(named(&self.linted.tables));
        Some(touched)
    }
}

impl Engine {
    fn wait_for_all(&mut self) {
        let all: Vec<ProcedureIx> = self.linted.tables.base.procedures.indexes().collect();
        self.judged = all.iter().map(|_| Judged::default()).collect();
        self.linted.digests.clear();
        self.shared = check::shared_pages(&self.linted.loaded);
        self.drawings = check::drawings(&self.linted.tables.base, &self.linted.loaded.sources);
        self.waiting = all.into_iter().collect();
        self.unreported = true;
    }

    fn judge_some(&mut self, some: &BTreeSet<ProcedureIx>) {
        let Linted { loaded, tables, digests, .. } = &mut self.linted;
        let cases = cases_by_procedure(tables);
        let rules = &self.rules;
        let some: Vec<ProcedureIx> = some.iter().copied().collect();
        digests.reserve_exact(some.len().saturating_sub(digests.len()));
        let judged: Vec<_> = some.par_iter().map(|ix| (*ix, judge(loaded, tables, rules, *ix, &cases))).collect();
        for (ix, (judged, digest)) in judged {
            self.judged[ix.raw()] = judged;
            // Digests stand in the order of the base, those that could not be read left out.
            let at = digests.partition_point(|d| d.ix < Some(ix));
            let there = digests.get(at).is_some_and(|d| d.ix == Some(ix));
            match (digest, there) {
                (Some(digest), true) => digests[at] = digest,
                (Some(digest), false) => digests.insert(at, digest),
                (None, true) => {
                    digests.remove(at);
                }
                (None, false) => {}
            }
        }
    }

    fn report(&self) -> Report {
        let mut findings = self.common_findings();
        findings.extend(self.judged.iter().flat_map(|one| &one.findings).cloned());
        let allowances = self.judged.iter().flat_map(|one| &one.allowances).cloned().collect();
        self.finished(findings, allowances, self.is_complete())
    }

    /// Whether every procedure and table could be read.
    fn is_complete(&self) -> bool {
        self.judged.iter().all(|j| j.readable) && self.linted.tables.base.broken.is_empty()
    }

    /// The findings that no single procedure has.
    fn common_findings(&self) -> Vec<Finding> {
        let Linted { loaded, tables, .. } = &self.linted;
        loaded.problems.iter().chain(&tables.findings).chain(&tables.case_findings).cloned().collect()
    }

    /// Adds what the rules over the whole base find, and sorts.
    fn finished(&self, mut findings: Vec<Finding>, allowances: Vec<Allowance>, complete: bool) -> Report {
        let Linted { loaded, tables, digests, .. } = &self.linted;
        let whole = Whole {
            base: &tables.base,
            sources: &loaded.sources,
            digests,
            shared: &self.shared,
            drawings: &self.drawings,
            complete,
        };
        for rule in check::RULES {
            rule.over_whole(&whole, &mut findings);
        }
        let levels = &tables.base.shop.levels;
        let unused = ("unused-allowance", Level::Warning);
        finish(findings, levels, allowances, unused, &loaded.sources, tables.base.procedures.len())
    }
}
