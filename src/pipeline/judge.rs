//! One procedure, read, analysed and judged.
//!
//! In: the base and the procedure's index. Out: [`Judged`]: what it says of itself, apart from all other procedures.

use std::collections::BTreeMap;

use super::read_procedure;
use crate::check::{self, Unit};
use crate::finding::{Allowance, Finding};
use crate::graph;
use crate::load::Loaded;
use crate::model::{Case, ProcedureIx};
use crate::resolve::{self, CaseFile, Cx, Digest, Resolved, RuleLevels, Tables};
use crate::walk;

/// What is kept of a procedure, beside its digest.
#[derive(Default)]
pub struct Judged {
    /// Findings at the rules' default levels, those about its cases too.
    pub findings: Vec<Finding>,
    /// Its allowances.
    pub allowances: Vec<Allowance>,
    /// Whether it could be read.
    pub readable: bool,
}

/// Case files by their procedure, in file order.
pub type Cases<'a> = BTreeMap<ProcedureIx, Vec<&'a CaseFile>>;

/// The case files of a base by their procedure.
pub fn cases_by_procedure(tables: &Tables) -> Cases<'_> {
    let mut cases = Cases::new();
    for case in &tables.cases {
        cases.entry(case.procedure).or_default().push(case);
    }
    cases
}

/// Judges one procedure.
pub fn judge(
    loaded: &Loaded,
    tables: &Tables,
    rules: &RuleLevels,
    ix: ProcedureIx,
    cases: &Cases<'_>,
) -> (Judged, Option<Digest>) {
    let base = &tables.base;
    let Resolved { procedure, body, mut findings, .. } = read_procedure(loaded, tables, rules, ix);
    let Some(procedure) = procedure else {
        return (Judged { findings, ..Judged::default() }, None);
    };
    let mut cx = Cx::new(loaded, rules);
    let own = cases.get(&ix).into_iter().flatten();
    let cases: Vec<Case> = own.filter_map(|c| resolve::case(&mut cx, c, base, &procedure)).collect();
    findings.append(&mut cx.out);
    let analysis = graph::analyse(base, &procedure, graph::Bounds::default());
    let cases = walk::solve(&analysis, &cases);
    let digest = Digest::of(base, &procedure, &body);
    let unit = Unit {
        base,
        sources: &loaded.sources,
        procedure: &procedure,
        body: &body,
        meaning: digest.meaning.as_deref(),
        analysis: &analysis,
        cases: &cases,
    };
    for rule in check::RULES {
        rule.over_procedure(&unit, &mut findings);
    }
    (Judged { findings, allowances: procedure.allow, readable: true }, Some(digest))
}
