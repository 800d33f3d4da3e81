//! One procedure, for the commands that are about one.
//!
//! In: the base and the procedure's name. Out: it, read; or why it can't be worked with.

use std::path::Path;

use super::output::Output;
use super::place;
use crate::finding::{Finding, Level, Levels, finish};
use crate::load::{Disk, Loaded};
use crate::model::VehicleIx;
use crate::parse::near::nearest;
use crate::pipeline::{self, rule_levels};
use crate::resolve::{self, Resolved, Tables};

/// So many names are listed where none is near.
const FEW: usize = 12;

/// What stands behind a name that is not there: the nearest one, else the few there are; nothing where there are many, or none.
pub fn meant<'n>(name: &str, there: impl Iterator<Item = &'n str>) -> String {
    let there: Vec<&str> = there.filter(|n| !n.is_empty()).collect();
    match nearest(name, there.iter().copied()) {
        Some(near) => format!(": did you mean `{near}`?"),
        None if (1..=FEW).contains(&there.len()) => {
            let all: Vec<String> = there.iter().map(|n| format!("`{n}`")).collect();
            format!(": there is {}", all.join(", "))
        }
        None => String::new(),
    }
}

/// A base and one of its procedures.
pub struct One {
    /// The files.
    pub loaded: Loaded,
    /// The tables.
    pub tables: Tables,
    /// The procedure as read.
    pub resolved: Resolved,
    prefix: String,
}

/// Reads a base and one procedure.
///
/// # Errors
/// The folder can't be read, or there is no such procedure (with the nearest name).
pub fn read(kb: Option<&Path>, name: &str) -> Result<One, String> {
    let base = place::base(kb);
    let loaded = crate::load::load(&Disk::new(&base)).map_err(|why| format!("{}: {why}", base.display()))?;
    let rules = rule_levels();
    let tables = resolve::tables(&loaded, &rules);
    let Some(ix) = tables.base.procedures.find(name) else {
        return Err(format!("there is no procedure `{name}`{}", meant(name, tables.base.procedures.ids())));
    };
    let resolved = pipeline::read_procedure(&loaded, &tables, &rules, ix);
    Ok(One { prefix: place::prefix(&base), loaded, tables, resolved })
}

impl One {
    /// Whether the procedure's names resolve; where they don't, the findings are printed (the command ends with 1).
    pub fn is_sound(&self, output: &Output) -> bool {
        if self.resolved.procedure.as_ref().is_some_and(|p| p.sound) {
            return true;
        }
        let mut findings: Vec<Finding> = self.loaded.problems.clone();
        findings.extend(self.tables.findings.iter().chain(&self.resolved.findings).cloned());
        findings.retain(|f| f.level == Level::Error);
        let report =
            finish(findings, &Levels::default(), Vec::new(), ("unused-allowance", Level::Off), &self.loaded.sources, 1);
        let look = crate::report::text::Look { colour: false, notes: false, prefix: &self.prefix };
        output.say(crate::report::text::render(&report, &self.loaded.sources, look).trim_end());
        false
    }

    /// The vehicle of a name, else the first that the procedure applies to.
    ///
    /// # Errors
    /// There is no such vehicle, or the procedure is not for it.
    pub fn vehicle(&self, named: Option<&str>) -> Result<VehicleIx, String> {
        let base = &self.tables.base;
        let Some(procedure) = &self.resolved.procedure else { return Err("the procedure could not be read".into()) };
        let ids = base.vehicle_ids(&procedure.applies);
        match named {
            None => procedure.applies.first().ok_or_else(|| "the procedure applies to no vehicle".to_owned()),
            Some(name) => match base.vehicles.find(name) {
                Some(vehicle) if procedure.applies.contains(vehicle) => Ok(vehicle),
                Some(_) => {
                    Err(format!("procedure `{}` is not for `{name}`: it is for {}", procedure.id, ids.join(", ")))
                }
                None => Err(format!("there is no vehicle `{name}`{}", meant(name, ids.iter().map(String::as_str)))),
            },
        }
    }

    /// "kb/" or nothing: what stands before a file's path.
    pub fn prefix(&self) -> &str {
        &self.prefix
    }
}
