//! Two knowledge bases to what changed in meaning, never in text.
//!
//! In: two [`Side`]s, judged. Out: a [`Comparison`]: per procedure what its meaning says otherwise, what procedures share, minutes
//! and best orders, cases that end elsewhere, findings gained and lost; drawn by [`text`], [`markdown`] and [`json`].
//!
//! What a procedure means is [`crate::model::meaning`]: a change is told exactly where that value differs, so that a review goes stale exactly
//! when this has something to tell of the procedure (cases, findings and worked-out minutes aside).

mod cases;
mod change;
mod findings;
pub mod json;
pub mod markdown;
mod minutes;
mod outcomes;
mod procedure;
mod rows;
mod side;
mod steps;
pub mod text;
mod words;

pub use cases::CaseChange;
pub use change::{Change, Kind};
pub use findings::FindingChange;
use side::Likeness;
pub use side::Side;

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::model::meaning;

/// What became of a procedure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It is in both.
    Kept,
    /// Only the new one has it.
    Added,
    /// Only the old one had it.
    Removed,
    /// It had this name before.
    Renamed(String),
    /// In one of the two its names don't resolve: what it means is not known.
    Unread(&'static str),
}

/// One procedure that says something else.
#[derive(Clone, Debug)]
pub struct ProcedureChange {
    /// Its id, the new one where it was renamed.
    pub id: String,
    /// What became of it.
    pub fate: Fate,
    /// What its meaning says otherwise, with the shared tables that it uses.
    pub changes: Vec<Change>,
    /// Worked-out minutes and best orders.
    pub minutes: Vec<Change>,
    /// Solved jobs that end elsewhere.
    pub cases: Vec<CaseChange>,
}

/// A change of what procedures share, and which procedures are concerned.
#[derive(Clone, Debug)]
pub struct SharedChange {
    /// The change, for all vehicles.
    pub change: Change,
    /// Procedures whose meaning it changes.
    pub procedures: Vec<String>,
}

/// All that changed.
#[derive(Clone, Debug, Default)]
pub struct Comparison {
    /// The names of the two sides.
    pub names: (String, String),
    /// What procedures share.
    pub shared: Vec<SharedChange>,
    /// Procedures with a change, by id.
    pub procedures: Vec<ProcedureChange>,
    /// Findings that only the new one has.
    pub gained: Vec<FindingChange>,
    /// Findings that only the old one had.
    pub lost: Vec<FindingChange>,
}

impl Comparison {
    /// Whether nothing means something else (findings aside).
    pub fn is_empty(&self) -> bool {
        self.shared.is_empty() && self.procedures.is_empty()
    }

    /// All solved jobs that end elsewhere.
    pub fn cases(&self) -> impl Iterator<Item = &CaseChange> {
        self.procedures.iter().flat_map(|p| &p.cases)
    }
}

/// Compares.
pub fn compare(old: &Side, new: &Side) -> Comparison {
    let pairs = pairs(old, new);
    let procedures: Vec<ProcedureChange> =
        pairs.par_iter().filter_map(|(a, b)| one(old, new, a.as_deref(), b.as_deref())).collect();
    let (before, after) = (meaning::shared(old.base()), meaning::shared(new.base()));
    let shared = rows::shared(old, new, &before, &after)
        .into_iter()
        .map(|change| {
            let concerned = procedures.iter().filter(|p| p.changes.iter().any(|c| c.is_same_but_for_vehicles(&change)));
            let procedures = concerned.map(|p| p.id.clone()).collect();
            SharedChange { change, procedures }
        })
        .collect();
    let renamed: BTreeMap<&str, &str> = procedures
        .iter()
        .filter_map(|p| match &p.fate {
            Fate::Renamed(was) => Some((was.as_str(), p.id.as_str())),
            _ => None,
        })
        .collect();
    let (gained, lost) = findings::compare(old, new, &renamed);
    Comparison { names: (old.name.clone(), new.name.clone()), shared, procedures, gained, lost }
}

/// Old and new ids that belong together, in the order of the new ones (removed ones by their own).
fn pairs(old: &Side, new: &Side) -> Vec<(Option<String>, Option<String>)> {
    let ids = |side: &Side| -> BTreeSet<String> { side.base().procedures.ids().map(str::to_owned).collect() };
    let (before, after) = (ids(old), ids(new));
    let likeness = |side: &Side, ids: &[String]| -> Vec<Option<Likeness>> {
        ids.par_iter().map(|id| Likeness::of(side, id)).collect()
    };
    let mut gone: Vec<String> = before.difference(&after).cloned().collect();
    let came: Vec<String> = after.difference(&before).cloned().collect();
    let mut pairs: Vec<(Option<String>, Option<String>)> = Vec::new();
    if !gone.is_empty() && !came.is_empty() {
        let (mut were, are) = (likeness(old, &gone), likeness(new, &came));
        for (id, is) in came.iter().zip(&are) {
            let alike = |was: &Option<Likeness>| matches!((was, is), (Some(a), Some(b)) if a.is_like(b));
            let at = were.iter().position(alike);
            let was = at.map(|at| {
                were.remove(at);
                gone.remove(at)
            });
            pairs.push((was, Some(id.clone())));
        }
    } else {
        pairs.extend(came.into_iter().map(|id| (None, Some(id))));
    }
    pairs.extend(after.intersection(&before).map(|id| (Some(id.clone()), Some(id.clone()))));
    pairs.extend(gone.into_iter().map(|id| (Some(id), None)));
    pairs.sort_by_key(|(was, is)| is.clone().or_else(|| was.clone()));
    pairs
}

fn one(old: &Side, new: &Side, was: Option<&str>, is: Option<&str>) -> Option<ProcedureChange> {
    let (before, after) = (was.map(|id| old.procedure(id)), is.map(|id| new.procedure(id)));
    let id = is.or(was)?.to_owned();
    let none = ProcedureChange { id, fate: Fate::Kept, changes: Vec::new(), minutes: Vec::new(), cases: Vec::new() };
    match (before, after) {
        (Some(Some(a)), Some(Some(b))) => {
            let fate = if a.id == b.id { Fate::Kept } else { Fate::Renamed(a.id.clone()) };
            let (pa, pb) = (side::Held { side: old, procedure: &a }, side::Held { side: new, procedure: &b });
            let changes = procedure::compare(pa, pb);
            let same_shop = old.base().shop.default_minutes == new.base().shop.default_minutes;
            if changes.is_empty() && same_shop {
                return (fate != Fate::Kept).then_some(ProcedureChange { fate, ..none });
            }
            let minutes = minutes::compare(pa, pb);
            let cases = cases::compare(pa, pb);
            let nothing = changes.is_empty() && minutes.is_empty() && fate == Fate::Kept;
            (!nothing).then_some(ProcedureChange { fate, changes, minutes, cases, ..none })
        }
        (None, _) => Some(ProcedureChange { fate: Fate::Added, ..none }),
        (Some(Some(a)), None) => {
            let cases = cases::homeless(side::Held { side: old, procedure: &a });
            Some(ProcedureChange { fate: Fate::Removed, cases, ..none })
        }
        (_, None) => Some(ProcedureChange { fate: Fate::Removed, ..none }),
        (Some(None), Some(None)) => {
            unread(old, new, was, is).then_some(ProcedureChange { fate: Fate::Unread("both"), ..none })
        }
        (Some(None), _) => Some(ProcedureChange { fate: Fate::Unread("old"), ..none }),
        (_, Some(None)) => Some(ProcedureChange { fate: Fate::Unread("new"), ..none }),
    }
}

/// Whether a procedure that can't be read in either has another text, so that something may have changed.
fn unread(old: &Side, new: &Side, was: Option<&str>, is: Option<&str>) -> bool {
    was.and_then(|id| old.text_of(id)) != is.and_then(|id| new.text_of(id))
}
