//! Which key holds the names of what.
//!
//! In: nothing (a table). Out: [`Noun`], what a name names; [`Wanted`], what may be named behind a key.

use crate::parse::keys::{Key, Keys};

/// What a name names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Noun {
    /// A procedure: a file.
    Procedure,
    /// A system: a file.
    System,
    /// A shared check: a file.
    Check,
    /// A shared repair: a file.
    Repair,
    /// A case: a file.
    Case,
    /// A spec.
    Spec,
    /// A vehicle or group.
    Who,
    /// A fault code.
    Code,
    /// An instrument.
    Equipment,
    /// A setup.
    Setup,
    /// A hazard.
    Hazard,
    /// A term.
    Term,
    /// A bay.
    Bay,
    /// A step, cause, repair or heading of one procedure.
    Local,
    /// A rule of the tool.
    Rule,
    /// A quantity of the language.
    Quantity,
    /// A picture.
    Figure,
}

impl Noun {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Procedure => "procedure",
            Self::System => "system",
            Self::Check => "check",
            Self::Repair => "repair",
            Self::Case => "case",
            Self::Spec => "spec",
            Self::Who => "vehicle or group",
            Self::Code => "fault code",
            Self::Equipment => "instrument",
            Self::Setup => "setup",
            Self::Hazard => "hazard",
            Self::Term => "term",
            Self::Bay => "bay",
            Self::Local => "step, cause or repair",
            Self::Rule => "rule",
            Self::Quantity => "quantity",
            Self::Figure => "figure",
        }
    }

    /// The folder and ending of its file, where it is one.
    pub fn file(self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::Procedure => Some(("procedures/", ".md")),
            Self::System => Some(("systems/", ".md")),
            Self::Check => Some(("checks/", ".md")),
            Self::Repair => Some(("repairs/", ".md")),
            Self::Case => Some(("cases/", ".yaml")),
            _ => None,
        }
    }

    /// What `kind:id` in a link names.
    pub fn of_link(kind: &str) -> Option<Self> {
        match kind {
            "spec" => Some(Self::Spec),
            "code" => Some(Self::Code),
            "term" => Some(Self::Term),
            "equipment" => Some(Self::Equipment),
            "hazard" => Some(Self::Hazard),
            "vehicle" => Some(Self::Who),
            "cause" => Some(Self::Local),
            _ => None,
        }
    }

    /// What the name of a row names, by what the row is called.
    pub fn of_row(noun: &str) -> Option<Self> {
        match noun {
            "cause" | "step" => Some(Self::Local),
            "spec" => Some(Self::Spec),
            "vehicle" | "vehicle or group" => Some(Self::Who),
            "fault code" => Some(Self::Code),
            "instrument" => Some(Self::Equipment),
            "setup" => Some(Self::Setup),
            "hazard" => Some(Self::Hazard),
            "term" => Some(Self::Term),
            "bay" => Some(Self::Bay),
            "rule" => Some(Self::Rule),
            "quantity" => Some(Self::Quantity),
            _ => None,
        }
    }
}

/// What may be named behind a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// This.
    One(Noun),
    /// Instruments, `a or b`.
    Instruments,
    /// Vehicles and groups, or this word.
    Vehicles(&'static str),
    /// A step of the procedure.
    Step,
    /// A cause of the procedure, or this word.
    Cause(&'static str),
    /// A step, or `procedure/`.
    Way,
    /// Steps and specs, or `all`.
    Changes,
    /// A heading of the body, or a shared repair.
    Fix,
    /// The result of the step named beside it.
    Result,
    /// A reading of the step's quantity.
    Reading,
    /// A limit of the spec's quantity.
    Limit,
    /// A unit of the quantity it stands behind.
    Unit,
}

/// What may be named behind this key.
pub fn wanted(keys: &Keys, key: &Key) -> Option<Wanted> {
    let one = |noun| Some(Wanted::One(noun));
    match (keys.of, key.name) {
        ("a procedure", "codes") => one(Noun::Code),
        ("a procedure", "applies") => Some(Wanted::Vehicles("all")),
        ("a procedure", "system") => one(Noun::System),
        ("a result", "for") => Some(Wanted::Vehicles("any other vehicle")),
        ("a cause", "for") | ("a case", "vehicle") | ("a vehicle", "groups") => Some(Wanted::Vehicles("")),
        ("a cause", "fix") => Some(Wanted::Fix),
        ("a case", "procedure") => one(Noun::Procedure),
        ("a case", "cause") => Some(Wanted::Cause("no-fault")),
        ("a result" | "an ending", "found") => Some(Wanted::Cause("what is left")),
        ("a result" | "an ending", "clears" | "leaves" | "shows") => Some(Wanted::Cause("")),
        ("a result" | "an ending" | "a step", "then") | ("a step", "without") => Some(Wanted::Way),
        ("a result", "if") | ("a case", "readings") => Some(Wanted::Reading),
        ("a line of `confirm`", "if") => Some(Wanted::Result),
        ("a line of `confirm`", "step") | ("a step", "after" | "undoes") => Some(Wanted::Step),
        ("a step", "changes") => Some(Wanted::Changes),
        ("a check", "changes") | (_, "measure") => one(Noun::Spec),
        ("a spec", "value" | "values") => Some(Wanted::Limit),
        ("a spec", "quantity" | "of") | ("a reading", "quantity") => one(Noun::Quantity),
        ("`shop.yaml`", "units") => Some(Wanted::Unit),
        (_, "with" | "has") => Some(Wanted::Instruments),
        (_, "setup" | "ends") => one(Noun::Setup),
        (_, "hazards" | "away-from" | "never-with") => one(Noun::Hazard),
        (_, "check") => one(Noun::Check),
        (_, "figure") => one(Noun::Figure),
        _ => None,
    }
}
