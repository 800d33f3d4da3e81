//! A procedure as the page's thinking sees it: plain data, written for the page's script.
//!
//! In: nothing (nouns only). Out: [`JobData`] and its parts. Steps, causes, setups and equipment are named by their ids; an
//! exact number is the text `numerator/denominator` in the base unit of its quantity.

use std::collections::BTreeMap;

use serde::Serialize;

use super::page::{Caution, Link};

/// A procedure, ready to be worked.
#[derive(Clone, Debug, Serialize)]
pub struct JobData {
    /// The procedure's id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The complaint.
    pub complaint: String,
    /// Fault codes.
    pub codes: Vec<String>,
    /// How every repair is confirmed.
    pub after: AfterData,
    /// When the monitors of the codes run, one sentence a code.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub monitors: Vec<String>,
    /// Every cause.
    pub causes: Vec<CauseData>,
    /// Equipment that some step asks for.
    pub equipment: Vec<EquipmentData>,
    /// Preparations that some step asks for.
    pub setups: Vec<SetupData>,
    /// The steps, the start first.
    pub steps: Vec<StepData>,
    /// Quantities by name.
    pub quantities: BTreeMap<&'static str, QuantityData>,
    /// Vehicles that are worked alike.
    pub classes: Vec<ClassData>,
}

/// A cause.
#[derive(Clone, Debug, Serialize)]
pub struct CauseData {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The repair.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fix: Option<RepairData>,
    /// The part: name and number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
}

/// A repair; only a shared one has more than its link.
#[derive(Clone, Debug, Default, Serialize)]
pub struct RepairData {
    /// Its page, or its heading on the procedure's page.
    pub link: Link,
    /// Minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<String>,
    /// Equipment, alternatives joined by "or".
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// Its cautions.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<Caution>,
    /// What must be put back after it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undo: Option<String>,
    /// How this repair is confirmed, besides what the procedure asks for.
    pub after: AfterData,
}

/// How a repair is confirmed.
#[derive(Clone, Debug, Default, Serialize)]
pub struct AfterData {
    /// Steps, and behind each the result to see.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub confirm: Vec<Link>,
    /// Whether fault codes are to be cleared.
    pub clear: bool,
    /// Trips to drive.
    pub trips: u32,
}

/// An instrument.
#[derive(Clone, Debug, Serialize)]
pub struct EquipmentData {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
}

/// A preparation.
#[derive(Clone, Debug, Serialize)]
pub struct SetupData {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Preparations that it ends.
    pub ends: Vec<String>,
    /// What must be put back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undo: Option<String>,
    /// Its cautions, which stay in sight while it is in force.
    pub cautions: Vec<Caution>,
}

/// A quantity.
#[derive(Clone, Debug, Serialize)]
pub struct QuantityData {
    /// Its units, the usual ones first; a quantity without units has none.
    pub units: Vec<UnitData>,
    /// Whether a meter can show "open circuit".
    pub open: bool,
    /// Whether only whole numbers can be read.
    pub whole: bool,
}

/// A unit: the amount in base units is the number times `factor` plus `add`.
#[derive(Clone, Debug, Serialize)]
pub struct UnitData {
    /// Its symbol.
    pub symbol: &'static str,
    /// Exact.
    pub factor: String,
    /// Exact.
    pub add: String,
}

/// The parts of a worked-out reading.
#[derive(Clone, Debug, Serialize)]
pub struct PartsData {
    /// Their quantity.
    pub of: &'static str,
    /// Their names; none where rows may be added.
    pub names: Vec<String>,
    /// How they make one number.
    pub take: &'static str,
    /// The unit that is offered first.
    pub unit: &'static str,
    /// What a whole is: 100 where the share is in per cent.
    pub scale: String,
}

/// A step.
#[derive(Clone, Debug, Serialize)]
pub struct StepData {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// `measure`, `observe`, `do`, `which`.
    pub kind: &'static str,
    /// What is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quantity: Option<&'static str>,
    /// The unit that is offered first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<&'static str>,
    /// The parts of a worked-out reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts: Option<PartsData>,
    /// Its results.
    pub results: Vec<ResultData>,
    /// The way of whoever can't take it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without: Option<WayData>,
    /// Equipment: one of each list is needed.
    pub with: Vec<Vec<String>>,
    /// Preparations.
    pub setup: Vec<String>,
    /// What must be put back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undo: Option<String>,
    /// Steps whose undo it does.
    pub undoes: Vec<String>,
    /// Fields to record.
    pub record: Vec<String>,
    /// Minutes to wait.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wait: Option<f64>,
}

/// A result.
#[derive(Clone, Debug, Serialize)]
pub struct ResultData {
    /// The `if` or `for` as written; empty at an action.
    pub text: String,
    /// Causes that it rules out.
    pub out: Vec<String>,
    /// The author's note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Where it leads.
    pub way: WayData,
}

/// Where a result leads.
#[derive(Clone, Debug, Default, Serialize)]
pub struct WayData {
    /// The word of the language.
    pub kind: &'static str,
    /// The next step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// The causes of a verdict; nothing for "what is left".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub causes: Option<Vec<String>>,
    /// The author's text, or the id of the procedure that a jump leads to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The page that a jump leads to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub link: Option<Link>,
}

/// Where a cell begins or ends: at a number, just before it (0) or just after it (1).
#[derive(Clone, Debug, Serialize)]
pub struct EdgeData(pub String, pub u8);

/// A cell of readings: its two edges, nothing for infinity; nothing at all for "open circuit".
pub type CellData = Option<[Option<EdgeData>; 2]>;

/// What is remembered under one key.
#[derive(Clone, Debug, Serialize)]
pub struct KeyData {
    /// Readings, cut into cells.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cells: Option<Vec<CellData>>,
    /// Labels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub labels: Option<Vec<String>>,
}

/// How a step meets what is remembered.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Meeting {
    /// `test`, `blind` (no known value), `done`, `route`.
    pub is: &'static str,
    /// The key of a test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<usize>,
    /// The cells that each result takes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub takes: Vec<Vec<usize>>,
    /// The readings of each result, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// The spec's value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<String>,
    /// Keys that are forgotten after the step.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub forgets: Vec<usize>,
    /// The result that a route takes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub route: Option<usize>,
}

/// Vehicles that are worked alike.
#[derive(Clone, Debug, Serialize)]
pub struct ClassData {
    /// Their ids.
    pub vehicles: Vec<String>,
    /// The causes that exist on them.
    pub causes: Vec<String>,
    /// What is remembered.
    pub keys: Vec<KeyData>,
    /// Per step.
    pub meets: Vec<Meeting>,
}
