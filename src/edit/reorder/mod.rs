//! A procedure's better order, written as a new procedure.
//!
//! In: a procedure with its source text, and the best order on each class of its vehicles. Out: [`Reorder`], which writes the text of the
//! new procedure: the same words, causes, hazards and repairs; steps and routes follow the orders. Nothing is written to disk here.
//!
//! 1. [`merge`] makes one order of those of all classes; where they part, a `which` step routes
//! 2. [`plan`] makes steps of it: one test in several places is one step where its results lead to the same, else it is repeated
//! 3. [`rows`] writes the steps, [`confirm`] says what confirms a repair, [`page`] writes the page around them

mod confirm;
mod merge;
mod page;
mod plan;
mod rows;

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::RuleName;
use crate::graph::classes::Class;
use crate::graph::paths::Paths;
use crate::model::{Base, CauseIx, Procedure, StepIx};
use crate::order::named::Named;
use crate::parse::yaml::Node;

use plan::Plan;

/// The best order on one class of vehicles.
#[derive(Debug)]
pub struct OnClass<'a> {
    /// The class.
    pub class: &'a Class,
    /// Its possible paths in the old procedure.
    pub paths: &'a Paths,
    /// The order.
    pub order: Named,
    /// Whether it takes less time than the order as written, or isolates further.
    pub better: bool,
}

/// Which step of the new procedure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum At {
    /// A step of the order, by position.
    Main(usize),
    /// A step of the old procedure that only a bay without some instrument comes to: copied with all that it leads to.
    Aside(StepIx),
}

/// Where a bay goes that lacks a step's equipment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lacking {
    /// To an ending that hands the job over.
    #[default]
    HandOver,
    /// To the step that the author named, at its new place.
    Moved,
    /// To a copy of the author's own way.
    Copied,
}

/// What is written otherwise than the order alone says. Found by trial: the new text is judged, and what is told decides.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trims {
    /// Results whose readings can't occur any more: left out.
    pub dead: BTreeSet<(At, usize)>,
    /// Results that say `normal` while a cause is left: `unproven`.
    pub unproven: BTreeSet<(At, usize)>,
    /// Tests with readings that no result has: no job came to them with one before.
    pub gaps: BTreeSet<At>,
    /// Words of `clears` that say nothing: the cause is out before on every way.
    pub vain: BTreeSet<((At, usize), CauseIx)>,
    /// Causes on which no way had a verdict: an ending of the author's that is come to with one left names it.
    pub named: BTreeSet<CauseIx>,
    /// Per step with a `without` that names a step; the others hand over.
    pub lacking: BTreeMap<At, Lacking>,
    /// Allowances that allow nothing any more.
    pub allowances: BTreeSet<String>,
    /// Rules that have something to tell of the order though it is as good as can be: allowed, with the reason.
    pub allow: BTreeSet<RuleName>,
}

/// A text, and which of its steps are which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// The whole file.
    pub text: String,
    /// Per step id, the step and the old positions of its results in the order in which they stand.
    pub steps: BTreeMap<String, (At, Vec<usize>)>,
    /// Per step id, the step of the old procedure; none for one that parts the vehicles.
    pub origins: BTreeMap<String, String>,
    /// Steps whose `without` names a step in the old procedure.
    pub lacking: Vec<At>,
}

/// Writes a procedure anew.
pub struct Reorder<'a> {
    base: &'a Base,
    procedure: &'a Procedure,
    text: &'a str,
    tree: &'a Node,
    plan: Plan,
}

impl<'a> Reorder<'a> {
    /// Lays out the steps.
    ///
    /// # Errors
    /// One sentence: there is nothing to put in order, or the file is not laid out so that it can be written anew.
    pub fn new(
        base: &'a Base,
        procedure: &'a Procedure,
        text: &'a str,
        tree: &'a Node,
        orders: &[OnClass<'_>],
    ) -> Result<Self, String> {
        let order = merge::merge(procedure, orders);
        let plan = Plan::new(procedure, orders, &order)
            .ok_or("no test of it tells anything, so there is nothing to put in order")?;
        let steps = tree.entry("steps").ok_or("it has no steps")?;
        let line = text[..steps.key.span.start as usize].rfind('\n').map_or(0, |at| at + 1);
        if line != steps.key.span.start as usize {
            return Err("its front matter is written in one line: write each key on a line of its own first".into());
        }
        Ok(Self { base, procedure, text, tree, plan })
    }

    /// The text of the new procedure.
    ///
    /// # Errors
    /// One sentence, where the old text can't be edited.
    pub fn write(&self, trims: &Trims) -> Result<Text, String> {
        let laid = self.plan.lay(self.procedure, trims);
        let rows = rows::Rows {
            procedure: self.procedure,
            text: self.text,
            tree: self.tree,
            laid: &laid,
            plan: &self.plan,
            vehicles: &|vehicle| self.base.vehicles.id(vehicle).to_owned(),
            trims,
        };
        let (steps, results) = rows.write();
        let confirm = confirm::confirm(self.base, self.procedure, &laid, trims).map_err(|id| {
            format!("`{}` can't be written in another order: `{id}` confirms the repair, and no step of the best order does what it does. Name another step under `confirm` first", self.procedure.id)
        })?;
        let text = page::page(self.procedure, self.text, self.tree, &laid, trims, &steps, confirm)?;
        let lacking = laid.lacking(self.procedure);
        Ok(Text { text, steps: results, origins: laid.origins(self.procedure), lacking })
    }
}
