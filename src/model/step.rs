//! Steps, results and what they know.
//!
//! In: nothing (nouns only). Out: [`Step`], its [`Outcome`]s, and the [`FactKey`] that readings are kept under.

use super::procedure::{Cause, CauseIx, ProcedureIx, StepIx};
use super::tables::{Equipment, EquipmentIx, HazardIx, Place, SetupIx, SpecIx, Vehicle};
use super::{Ix, Set};
use crate::quantity::{Phrase, Quantity, Rational};
use crate::source::{Span, Spanned};

/// Index of a shared check.
pub type CheckIx = Ix<Check>;

/// What readings and labels are remembered under.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FactKey {
    /// A spec: every step that measures it.
    Spec(SpecIx),
    /// A shared check that measures an inline quantity.
    Check(CheckIx),
    /// A shared check with labels: only steps that list the same labels share it. Labels sorted.
    Labels(CheckIx, Vec<String>),
    /// A step of its own.
    Step(StepIx),
}

/// A reading that a step takes.
#[derive(Clone, Debug)]
pub struct Measure {
    /// The quantity.
    pub quantity: Quantity,
    /// The spec with the limits; nothing where the results give amounts.
    pub spec: Option<Spanned<SpecIx>>,
    /// Where on the vehicle (inline only).
    pub at: Option<String>,
    /// Under which condition (inline only).
    pub when: Option<String>,
    /// Where the amounts come from (inline only).
    pub source: Option<Spanned<String>>,
    /// The value of `measure`.
    pub span: Span,
}

/// The kind of a step.
#[derive(Clone, Debug)]
pub enum Kind {
    /// Take a reading; results are ranges.
    Measure(Measure),
    /// Look, listen, feel, ask; results are labels. The text.
    Observe(Spanned<String>),
    /// An action without a result; it has one [`Outcome`] with [`Condition::Done`]. The text.
    Do(Spanned<String>),
    /// Routes by vehicle.
    Which,
}

/// When a result is taken.
#[derive(Clone, Debug)]
pub enum Condition {
    /// Always (a `do` step).
    Done,
    /// A label.
    Label(String),
    /// A reading.
    Reading(Phrase),
    /// `for:`: these vehicles. `any other vehicle` is worked out by `resolve`.
    Vehicles(Set<Vehicle>),
    /// The `if` could not be read: reported already, nothing more is said of it.
    Unknown,
}

/// Where a result leads.
#[derive(Clone, Debug)]
pub enum Way {
    /// On to a step.
    Then(StepIx),
    /// On to another procedure, from its start.
    Jump(ProcedureIx),
    /// A verdict by direct evidence.
    Shows(CauseIx),
    /// A verdict by elimination; in written order, more than one where they can't be told apart.
    Found(Vec<CauseIx>),
    /// `found: what is left`.
    FoundLeft,
    /// The system works as it should. The text.
    Normal(String),
    /// The fault did not show itself. The text.
    Unproven(String),
    /// Hand over. The text.
    Refer(String),
    /// Names something that does not exist: reported already.
    Unknown,
}

impl Way {
    /// Whether it ends the procedure (a jump does too).
    pub fn is_ending(&self) -> bool {
        !matches!(self, Self::Then(_) | Self::Unknown)
    }

    /// The word in `trace --format json` and in the source (`then` where it leads on).
    pub fn word(&self) -> &'static str {
        match self {
            Self::Then(_) | Self::Unknown => "then",
            Self::Jump(_) => "jump",
            Self::Shows(_) => "shows",
            Self::Found(_) | Self::FoundLeft => "found",
            Self::Normal(_) => "normal",
            Self::Unproven(_) => "unproven",
            Self::Refer(_) => "refer",
        }
    }
}

/// One result of a step, or the `then` of a `do`.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The whole result.
    pub span: Span,
    /// The `if` (or `for`) as written, and where.
    pub text: Spanned<String>,
    /// When it is taken.
    pub condition: Condition,
    /// Causes that `clears` names, each where it stands.
    pub clears: Vec<Spanned<CauseIx>>,
    /// Causes that `leaves` names; all others are ruled out. Nothing where the key is absent.
    pub leaves: Option<Vec<Spanned<CauseIx>>>,
    /// Where it leads.
    pub way: Way,
    /// The value of the way's key.
    pub way_span: Span,
    /// Shown with the result.
    pub note: Option<String>,
}

impl Outcome {
    /// Causes that this result rules out, of `count` causes in all.
    pub fn rules_out(&self, count: usize) -> Set<Cause> {
        let mut out: Set<Cause> = self.clears.iter().map(|c| c.value).collect();
        if let Some(leaves) = &self.leaves {
            let kept: Set<Cause> = leaves.iter().map(|c| c.value).collect();
            out = out.or(&Set::all(count).minus(&kept));
        }
        out
    }

    /// Causes that don't show this result: those that it rules out, and all but the one that it points at.
    pub fn excludes(&self, count: usize) -> Set<Cause> {
        match self.way {
            Way::Shows(shown) => self.rules_out(count).or(&Set::all(count).minus(&Set::one(shown))),
            _ => self.rules_out(count),
        }
    }
}

/// What must be taken again afterwards.
#[derive(Clone, Debug, Default)]
pub struct Changes {
    /// `changes: all`.
    pub all: bool,
    /// The facts named, each where it stands (a step's key, or a spec's).
    pub keys: Vec<Spanned<FactKey>>,
    /// Where `changes` stands.
    pub span: Option<Span>,
}

/// The way of a bay that lacks the equipment.
#[derive(Clone, Debug)]
pub struct Without {
    /// Where it stands.
    pub span: Span,
    /// Where it leads: a step or any ending.
    pub way: Way,
    /// Where the step's name or the ending's value stands.
    pub way_span: Span,
}

/// Keys that steps and checks share.
#[derive(Clone, Debug, Default)]
pub struct Shared {
    /// Equipment: all of these, each a list of alternatives.
    pub with: Vec<Spanned<Vec<EquipmentIx>>>,
    /// Preparations needed.
    pub setup: Vec<Spanned<SetupIx>>,
    /// Minutes of work.
    pub minutes: Option<Rational>,
    /// Minutes of waiting inside the step.
    pub wait: Option<Rational>,
    /// Hazards it brings itself.
    pub hazards: Vec<Spanned<HazardIx>>,
    /// Hazards that do not apply here.
    pub away_from: Vec<Spanned<HazardIx>>,
    /// What must be put back.
    pub undo: Option<Spanned<String>>,
    /// Fields to fill in.
    pub record: Vec<String>,
    /// File under `figures/`.
    pub figure: Option<Spanned<String>>,
}

/// A test written once.
#[derive(Clone, Debug)]
pub struct Check {
    /// Its file.
    pub place: Place,
    /// Title.
    pub title: String,
    /// What kind of test; never `Which`.
    pub kind: Kind,
    /// Keys that steps share.
    pub shared: Shared,
    /// `without`, an ending only: the texts; nothing where it has none.
    pub without: Option<Without>,
    /// What it changes: resolved per procedure, since it may name specs only.
    pub changes: Changes,
    /// Where its words begin and end.
    pub body: Span,
}

/// One step, with what its check brings already merged in.
#[derive(Clone, Debug)]
pub struct Step {
    /// Where it stands.
    pub place: Place,
    /// Heading in the body, else the text, check's or spec's title.
    pub title: String,
    /// Index of its heading in [`Procedure::sections`](super::Procedure::sections).
    pub section: Option<usize>,
    /// What it does; a check's kind where it uses one.
    pub kind: Kind,
    /// The shared check it uses.
    pub check: Option<Spanned<CheckIx>>,
    /// What readings are kept under; `do` and `which` never learn any.
    pub key: FactKey,
    /// Its results in written order.
    pub results: Vec<Outcome>,
    /// Merged with the check's.
    pub shared: Shared,
    /// The way of a bay that lacks the equipment.
    pub without: Option<Without>,
    /// Never before these.
    pub after: Vec<Spanned<StepIx>>,
    /// What it forgets, merged with the check's.
    pub changes: Changes,
    /// Steps whose `undo` this one does.
    pub undoes: Vec<Spanned<StepIx>>,
    /// Its own `away-from` only (the check's left out), for `unlifted-hazard`.
    pub own_away_from: Vec<Spanned<HazardIx>>,
}

impl Step {
    /// Whether it only keeps the place of a step that could not be read (told).
    pub fn is_unread(&self) -> bool {
        matches!(&self.kind, Kind::Do(text) if text.value.is_empty())
    }

    /// Whether it is a test: measure, observe, or a check of either.
    pub fn is_test(&self) -> bool {
        matches!(self.kind, Kind::Measure(_) | Kind::Observe(_))
    }

    /// What it measures, if it does.
    pub fn measure(&self) -> Option<&Measure> {
        match &self.kind {
            Kind::Measure(measure) => Some(measure),
            _ => None,
        }
    }

    /// Minutes of work and waiting; nothing where neither is given.
    pub fn total_minutes(&self) -> Option<Rational> {
        match (&self.shared.minutes, &self.shared.wait) {
            (None, None) => None,
            (Some(m), None) => Some(m.clone()),
            (None, Some(w)) => Some(w.clone()),
            (Some(m), Some(w)) => Some(m + w),
        }
    }

    /// Every instrument in any alternative.
    pub fn all_equipment(&self) -> Set<Equipment> {
        self.shared.with.iter().flat_map(|w| w.value.iter().copied()).collect()
    }
}
