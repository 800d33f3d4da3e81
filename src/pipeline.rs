//! The stages run one after another.
//!
//! In: the files of a base. Out: [`Linted`]: the report, and all that later stages need to go on. Procedures are
//! read, analysed and judged one by one and in parallel; of each only its [`Digest`] and findings are kept.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::check::{self, Unit, Whole};
use crate::finding::{Allowance, Finding, Level, Report, finish};
use crate::graph;
use crate::load::{self, Files, Loaded};
use crate::model::{Case, ProcedureIx};
use crate::resolve::{self, CaseFile, Cx, Digest, Resolved, Tables};

/// A base that was read and judged.
pub struct Linted {
    /// The files.
    pub loaded: Loaded,
    /// Tables, shared files and cases.
    pub tables: Tables,
    /// One digest per procedure that could be read, in the order of the base.
    pub digests: Vec<Digest>,
    /// The findings.
    pub report: Report,
}

/// Every rule over the whole base.
///
/// # Errors
/// One sentence, where the folder cannot be read or holds no knowledge base.
pub fn lint(files: &dyn Files) -> Result<Linted, String> {
    let loaded = load::load(files)?;
    Ok(lint_loaded(loaded))
}

/// The rules that there are, each with its gravest level.
pub fn rule_levels() -> Vec<(&'static str, Level)> {
    check::RULES.iter().map(|r| (r.name, r.levels.first().copied().unwrap_or(Level::Error))).collect()
}

/// Every rule over a base that was read.
pub fn lint_loaded(loaded: Loaded) -> Linted {
    let rules = rule_levels();
    let mut tables = resolve::tables(&loaded, &rules);
    let cases = cases_by_procedure(&tables);
    let judged: Vec<Judged> = tables
        .base
        .procedures
        .indexes()
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|ix| judge(&loaded, &tables, &rules, ix, &cases))
        .collect();
    let mut findings = loaded.problems.clone();
    findings.append(&mut tables.findings);
    let mut allowances = Vec::new();
    let mut digests = Vec::new();
    let complete = judged.iter().all(|j| j.digest.is_some()) && tables.base.broken.is_empty();
    for one in judged {
        findings.extend(one.findings);
        allowances.extend(one.allowances);
        digests.extend(one.digest);
    }
    let shared = check::shared_pages(&loaded);
    let whole = Whole { base: &tables.base, sources: &loaded.sources, digests: &digests, shared: &shared, complete };
    for rule in check::RULES {
        rule.over_whole(&whole, &mut findings);
    }
    let levels = &tables.base.shop.levels;
    let unused = ("unused-allowance", Level::Warning);
    let report = finish(findings, levels, allowances, unused, &loaded.sources, tables.base.procedures.len());
    Linted { loaded, tables, digests, report }
}

struct Judged {
    findings: Vec<Finding>,
    allowances: Vec<Allowance>,
    digest: Option<Digest>,
}

/// Reads one procedure of a base.
pub fn read_procedure(loaded: &Loaded, tables: &Tables, rules: &resolve::RuleLevels, ix: ProcedureIx) -> Resolved {
    let mut cx = Cx::new(loaded, rules);
    let base = &tables.base;
    resolve::procedure(&mut cx, base, base.procedures.id(ix), ix, base.procedures[ix])
}

/// Case files by the id of their procedure, in file order.
type Cases<'a> = BTreeMap<String, Vec<&'a CaseFile>>;

fn cases_by_procedure(tables: &Tables) -> Cases<'_> {
    let mut cases = Cases::new();
    for case in &tables.cases {
        if let Some(procedure) = case.procedure() {
            cases.entry(procedure.value).or_default().push(case);
        }
    }
    cases
}

fn judge(loaded: &Loaded, tables: &Tables, rules: &resolve::RuleLevels, ix: ProcedureIx, cases: &Cases<'_>) -> Judged {
    let base = &tables.base;
    let Resolved { procedure, body, findings, .. } = read_procedure(loaded, tables, rules, ix);
    let mut findings = findings;
    let Some(procedure) = procedure else {
        return Judged { findings, allowances: Vec::new(), digest: None };
    };
    let mut cx = Cx::new(loaded, rules);
    let id = base.procedures.id(ix);
    let own = cases.get(id).into_iter().flatten();
    let cases: Vec<Case> = own.filter_map(|c| resolve::case(&mut cx, c, base, &procedure)).collect();
    findings.append(&mut cx.out);
    let analysis = graph::analyse(base, &procedure, graph::Bounds::default());
    let unit =
        Unit { base, sources: &loaded.sources, procedure: &procedure, body: &body, analysis: &analysis, cases: &cases };
    for rule in check::RULES {
        rule.over_procedure(&unit, &mut findings);
    }
    let digest = Digest::of(base, &procedure, &body);
    Judged { findings, allowances: procedure.allow, digest: Some(digest) }
}
