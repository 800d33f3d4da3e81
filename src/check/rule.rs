//! What a rule is.
//!
//! In: nothing (nouns only). Out: [`Rule`], and what one is run over.

use crate::finding::{Finding, Level, RuleName};
use crate::graph::Analysis;
use crate::model::{Base, Procedure};
use crate::parse::markdown::Body;
use crate::resolve::Digest;
use crate::source::Sources;
use crate::walk::Solved;

use super::drawings::Drawing;
use super::pages::SharedPage;

/// Families of rules, as language.md lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Files, keys, names.
    Shape,
    /// Ways through the steps.
    Flow,
    /// Limits and readings.
    Values,
    /// What the results prove.
    Evidence,
    /// What the equipment can show.
    Instruments,
    /// What may hurt.
    Safety,
    /// How a repair is confirmed.
    Repair,
    /// Minutes.
    Order,
    /// Links, pictures, raw HTML.
    Pages,
    /// Cases, reviews, allowances.
    Review,
}

/// One procedure and all that is known of it.
pub struct Unit<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// Every file.
    pub sources: &'a Sources,
    /// The procedure.
    pub procedure: &'a Procedure,
    /// Its Markdown.
    pub body: &'a Body,
    /// The digest of its meaning, where a review names one.
    pub meaning: Option<&'a str>,
    /// Its graph and possible paths.
    pub analysis: &'a Analysis<'a>,
    /// Its cases, each with the job that its readings make.
    pub cases: &'a [Solved<'a>],
}

/// The base and a digest of every procedure, for rules that look across files.
pub struct Whole<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// Every file.
    pub sources: &'a Sources,
    /// One digest per procedure that could be read, in the order of their ids in [`Base::procedures`].
    pub digests: &'a [Digest],
    /// The words of systems, checks and repairs.
    pub shared: &'a [SharedPage],
    /// Drawings of which a part is not shown.
    pub drawings: &'a [Drawing],
    /// Whether every procedure could be read: only then is "nothing names it" certain.
    pub complete: bool,
}

/// Who speaks for a rule.
#[derive(Clone, Copy)]
pub enum Run {
    /// `load`, `parse`, `resolve` or the sink, as they go.
    Elsewhere,
    /// This, over each procedure.
    Procedure(fn(&Unit<'_>, &mut Vec<Finding>)),
    /// This, over the whole base.
    Whole(fn(&Whole<'_>, &mut Vec<Finding>)),
    /// The first over each procedure, the second over the whole base.
    Both(fn(&Unit<'_>, &mut Vec<Finding>), fn(&Whole<'_>, &mut Vec<Finding>)),
    /// Nobody yet; its page says so.
    NotYet,
}

/// A rule: metadata and its check. Its page serves `ruleout why`, the site and a test.
pub struct Rule {
    /// Its name; reads well after "allow".
    pub name: RuleName,
    /// Its family.
    pub family: Family,
    /// Its default levels, gravest first.
    pub levels: &'static [Level],
    /// One line.
    pub summary: &'static str,
    /// The page, Markdown.
    pub page: &'static str,
    /// Who speaks for it.
    pub run: Run,
}

impl Rule {
    /// Runs it over one procedure, unless the shop has turned it off.
    pub fn over_procedure(&self, unit: &Unit<'_>, out: &mut Vec<Finding>) {
        if let Run::Procedure(check) | Run::Both(check, _) = self.run
            && !self.is_off(unit.base)
        {
            check(unit, out);
        }
    }

    /// Runs it over the whole base, unless the shop has turned it off.
    pub fn over_whole(&self, whole: &Whole<'_>, out: &mut Vec<Finding>) {
        if let Run::Whole(check) | Run::Both(_, check) = self.run
            && !self.is_off(whole.base)
        {
            check(whole, out);
        }
    }

    fn is_off(&self, base: &Base) -> bool {
        self.levels.iter().all(|level| base.shop.levels.apply(self.name, *level) == Level::Off)
    }
}
