//! What a reader sees of a procedure, as plain data.
//!
//! In: nothing (nouns only). Out: [`ProcedurePage`] and its parts.

use serde::Serialize;

use super::page::{Caution, Link, Table, Words};
use super::picture::Picture;

/// A cause in the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CauseRow {
    /// Its id; nothing where a heading of the page has it, which is the better place to come to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Its title.
    pub title: String,
    /// Vehicles it exists on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// How likely it is, in each of [`ProcedurePage::odds`]; nothing where those vehicles do not have it.
    pub odds: Vec<Option<String>>,
    /// How it is mended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fix: Option<Link>,
    /// The part that would be fitted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
}

/// Where a result leads, in the technician's words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WayView {
    /// The word of the language: `then`, `jump`, `shows`, ...
    pub kind: &'static str,
    /// The words before the links or the text.
    pub lead: &'static str,
    /// Where it leads, or the causes.
    pub links: Vec<Link>,
    /// The author's text.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// At an ending: what may still have to be put back.
    pub put_back: Vec<String>,
}

/// A result of a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ResultRow {
    /// The `if` as written, or the vehicles of a `for`; nothing for an action.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// Titles of the causes that it rules out.
    pub rules_out: Vec<Link>,
    /// Titles of the only causes that it leaves.
    pub leaves: Vec<Link>,
    /// The author's note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Where it leads.
    pub way: WayView,
}

/// A picture with its alternative text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FigureView {
    /// Its address.
    pub to: String,
    /// Alternative text.
    pub alt: String,
}

/// A step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StepView {
    /// Its id.
    pub id: String,
    /// Its place in the file, from 1.
    pub number: usize,
    /// Its title.
    pub title: String,
    /// What kind of step: `measure`, `observe`, `do`, `which`.
    pub kind: &'static str,
    /// What to look at or to do; nothing where the title says the same.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ask: Option<String>,
    /// Vehicles that come here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// Worst first.
    pub cautions: Vec<Caution>,
    /// Facts that stand before the words: reading, place, condition, equipment, preparation, minutes.
    pub facts: Vec<super::page::Fact>,
    /// How to do it: the step's words, then the check's.
    pub words: Vec<Words>,
    /// A picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub figure: Option<FigureView>,
    /// Limits per group of vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<Table>,
    /// Its results.
    pub results: Vec<ResultRow>,
    /// The way of a bay that lacks the equipment, or of whoever can't take the reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without: Option<WayView>,
    /// Sentences after the results: what must be put back, what must be taken again.
    pub afterwards: Vec<String>,
    /// Fields to record.
    pub record: Vec<String>,
}

/// A section of the body under its heading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SectionView {
    /// Its id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Its heading.
    pub title: String,
    /// Its words.
    pub words: Words,
}

/// How a repair is confirmed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AfterView {
    /// The shared repair that asks for it; nothing where every repair of the page does.
    pub repair: Option<Link>,
    /// Steps, and behind each the result to see.
    pub confirm: Vec<Link>,
    /// Sentences about codes and trips.
    pub notes: Vec<String>,
}

/// A procedure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProcedurePage {
    /// Its id.
    pub id: String,
    /// The address of what its page needs to work a job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The complaint, where the title says something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complaint: Option<String>,
    /// Complaint, codes, vehicles, system, equipment, preparations.
    pub facts: Vec<super::page::Fact>,
    /// Expected minutes per group of vehicles, where worked out.
    pub minutes: Vec<Link>,
    /// The order of the steps as long as no result ends the search, per group of vehicles.
    pub orders: Vec<super::order::OrderView>,
    /// The first step to move and the one it should come before, where a faster order is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub faster: Option<super::order::OrderView>,
    /// The columns of the odds: one, or one per group of vehicles.
    pub odds: Vec<Link>,
    /// The causes, in written order.
    pub causes: Vec<CauseRow>,
    /// All cautions of the page, worst first.
    pub cautions: Vec<Caution>,
    /// The words before the first step.
    pub intro: Words,
    /// The decision graph.
    #[serde(skip)]
    pub picture: Picture,
    /// The steps, in written order.
    pub steps: Vec<StepView>,
    /// How the repair is confirmed: first whatever the cause was, then what single repairs ask for besides.
    pub after: Vec<AfterView>,
    /// Repairs of this page.
    pub repairs: Vec<SectionView>,
    /// Other sections.
    pub notes: Vec<SectionView>,
    /// Who reviewed it and when.
    pub review: String,
    /// Where each value comes from: the spec, and the source.
    pub sources: Vec<super::page::Fact>,
    /// Whether a value is a placeholder for some vehicle.
    pub has_placeholder: bool,
}
