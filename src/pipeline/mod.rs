//! The stages run one after another.
//!
//! In: the files of a base. Out: [`Linted`]: the report, and all that later stages need to go on. Procedures are
//! read, analysed and judged one by one and in parallel; of each only its [`Digest`] and findings are kept. An
//! [`Engine`] keeps them from run to run and judges again only what a change can touch.

mod engine;
mod judge;
mod reorder;

pub use engine::{Engine, Update};
pub use reorder::{as_written, best_orders, gains, reorder};

use crate::check;
use crate::finding::{Level, Report};
use crate::load::{self, Files, Loaded};
use crate::model::ProcedureIx;
use crate::resolve::{self, Cx, Digest, Resolved, Tables};

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
    Engine::once(loaded)
}

/// Reads one procedure of a base.
pub fn read_procedure(loaded: &Loaded, tables: &Tables, rules: &resolve::RuleLevels, ix: ProcedureIx) -> Resolved {
    let mut cx = Cx::new(loaded, rules);
    let base = &tables.base;
    resolve::procedure(&mut cx, base, base.procedures.id(ix), ix, base.procedures[ix])
}
