//! Addresses of the site: flat, and stable while titles are edited.
//!
//! In: a kind of page and an id. Out: a path from the site's top, with `/`.

/// A kind of page that has a folder of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // each is explained by its folder
pub enum PageKind {
    Procedures,
    Codes,
    Specs,
    Systems,
    Checks,
    Repairs,
    Equipment,
    Vehicles,
    Setups,
    Hazards,
    Terms,
    Writing,
    Rules,
}

impl PageKind {
    /// All kinds, in the order of the menu.
    pub const ALL: [Self; 13] = [
        Self::Procedures,
        Self::Codes,
        Self::Specs,
        Self::Systems,
        Self::Checks,
        Self::Repairs,
        Self::Equipment,
        Self::Vehicles,
        Self::Setups,
        Self::Hazards,
        Self::Terms,
        Self::Writing,
        Self::Rules,
    ];

    /// The folder.
    pub fn folder(self) -> &'static str {
        match self {
            Self::Procedures => "procedures",
            Self::Codes => "codes",
            Self::Specs => "specs",
            Self::Systems => "systems",
            Self::Checks => "checks",
            Self::Repairs => "repairs",
            Self::Equipment => "equipment",
            Self::Vehicles => "vehicles",
            Self::Setups => "setups",
            Self::Hazards => "hazards",
            Self::Terms => "terms",
            Self::Writing => "writing",
            Self::Rules => "rules",
        }
    }

    /// What one page is called.
    pub fn one(self) -> &'static str {
        match self {
            Self::Procedures => "Procedure",
            Self::Codes => "Fault code",
            Self::Specs => "Spec",
            Self::Systems => "System",
            Self::Checks => "Check",
            Self::Repairs => "Repair",
            Self::Equipment => "Equipment",
            Self::Vehicles => "Vehicle",
            Self::Setups => "Preparation",
            Self::Hazards => "Hazard",
            Self::Terms => "Term",
            Self::Writing => "Writing procedures",
            Self::Rules => "Rule",
        }
    }

    /// What the list of them is called.
    pub fn many(self) -> &'static str {
        match self {
            Self::Procedures => "Procedures",
            Self::Codes => "Fault codes",
            Self::Specs => "Specs",
            Self::Systems => "Systems",
            Self::Checks => "Checks",
            Self::Repairs => "Repairs",
            Self::Equipment => "Equipment",
            Self::Vehicles => "Vehicles",
            Self::Setups => "Preparations",
            Self::Hazards => "Hazards",
            Self::Terms => "Terms",
            Self::Writing => "Writing procedures",
            Self::Rules => "Rules",
        }
    }

    /// The address of one page.
    pub fn page(self, id: &str) -> String {
        format!("{}/{id}.html", self.folder())
    }

    /// The address of the list.
    pub fn list(self) -> String {
        format!("{}/index.html", self.folder())
    }
}
