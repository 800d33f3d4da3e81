//! One change of meaning.
//!
//! In: nothing (nouns only). Out: [`Change`].

/// What a change is about, in the words of the trade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A limit of a spec, or what it measures.
    Limit,
    /// A result's condition, or a result that came or went.
    Result,
    /// Where a result leads.
    Route,
    /// A verdict: what a result shows or finds.
    Verdict,
    /// What a result rules out, what a step makes unknown again.
    Evidence,
    /// A step that came, went, or does something else.
    Step,
    /// A cause: its share, vehicles, fix.
    Cause,
    /// The part of a cause.
    Part,
    /// Hazards.
    Hazard,
    /// Equipment.
    Equipment,
    /// Setups.
    Setup,
    /// Vehicles and groups.
    Vehicle,
    /// Repairs and how they are confirmed.
    Repair,
    /// Fault codes.
    Code,
    /// Minutes.
    Minutes,
    /// What must come before what, and the best order.
    Order,
    /// The shop: rate, currency, bays.
    Shop,
}

impl Kind {
    /// The word in every format.
    pub fn name(self) -> &'static str {
        match self {
            Self::Limit => "limit",
            Self::Result => "result",
            Self::Route => "route",
            Self::Verdict => "verdict",
            Self::Evidence => "evidence",
            Self::Step => "step",
            Self::Cause => "cause",
            Self::Part => "part",
            Self::Hazard => "hazard",
            Self::Equipment => "equipment",
            Self::Setup => "setup",
            Self::Vehicle => "vehicle",
            Self::Repair => "repair",
            Self::Code => "code",
            Self::Minutes => "minutes",
            Self::Order => "order",
            Self::Shop => "shop",
        }
    }
}

/// One thing that says something else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// What it is about.
    pub kind: Kind,
    /// The thing.
    pub subject: String,
    /// What it said; nothing where the thing is new.
    pub old: Option<String>,
    /// What it says; nothing where the thing is gone.
    pub new: Option<String>,
    /// The vehicles concerned, where not all of the procedure's.
    pub vehicles: Vec<String>,
    /// Whether it stands in a table or file that procedures share.
    pub shared: bool,
}

impl Change {
    /// Something that says something else.
    pub fn turned(kind: Kind, subject: impl Into<String>, old: impl Into<String>, new: impl Into<String>) -> Self {
        let (old, new) = (Some(old.into()), Some(new.into()));
        Self { kind, subject: subject.into(), old, new, vehicles: Vec::new(), shared: false }
    }

    /// Something new.
    pub fn added(kind: Kind, subject: impl Into<String>, new: impl Into<String>) -> Self {
        Self { kind, subject: subject.into(), old: None, new: Some(new.into()), vehicles: Vec::new(), shared: false }
    }

    /// Something that is gone.
    pub fn removed(kind: Kind, subject: impl Into<String>, old: impl Into<String>) -> Self {
        Self { kind, subject: subject.into(), old: Some(old.into()), new: None, vehicles: Vec::new(), shared: false }
    }

    /// Names the vehicles; the nameless one is none.
    pub fn on(mut self, vehicles: Vec<String>) -> Self {
        self.vehicles = vehicles.into_iter().filter(|v| !v.is_empty()).collect();
        self
    }

    /// Whether the two tell the same of the same thing.
    pub fn is_same_but_for_vehicles(&self, other: &Self) -> bool {
        (self.kind, &self.subject, &self.old, &self.new) == (other.kind, &other.subject, &other.old, &other.new)
    }

    /// The change in words, without its kind.
    pub fn words(&self) -> String {
        let on = if self.vehicles.is_empty() { String::new() } else { format!(" (on {})", self.vehicles.join(", ")) };
        let told = match (self.old.as_deref(), self.new.as_deref()) {
            (Some(old), Some(new)) => format!(": {old} → {new}"),
            (None, Some("")) => " is new".to_owned(),
            (None, Some(new)) => format!(" is new: {new}"),
            (Some(""), None) => " is gone".to_owned(),
            (Some(old), None) => format!(" is gone: {old}"),
            (None, None) => String::new(),
        };
        format!("{}{told}{on}", self.subject)
    }
}
