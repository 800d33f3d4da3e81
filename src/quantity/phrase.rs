//! The shape of a reading phrase, without its text.

use super::amount::Amount;

/// One end of a range.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct End {
    /// The limit.
    pub amount: Amount,
    /// Whether the amount itself belongs to the range.
    pub included: bool,
}

/// What a result, a band or an instrument's range says about a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Phrase {
    /// `in spec`
    InSpec,
    /// `below spec`
    BelowSpec,
    /// `above spec`
    AboveSpec,
    /// `out of spec`
    OutOfSpec,
    /// The name of one of the spec's other bands.
    Band(String),
    /// A range; an end that is `None` is not bounded. At least one end is given.
    Range {
        /// The lower end.
        low: Option<End>,
        /// The upper end.
        high: Option<End>,
    },
    /// `open circuit`
    OpenCircuit,
    /// `any other reading`
    AnyOther,
    /// `READING or READING`, two or more, none of them itself an `Or`.
    Or(Vec<Phrase>),
}

impl Phrase {
    /// The phrase's parts: the readings joined by "or", or itself.
    pub fn parts(&self) -> &[Phrase] {
        match self {
            Phrase::Or(parts) => parts,
            one => std::slice::from_ref(one),
        }
    }

    /// The end points that it names itself (a band's are the spec's), in the order written.
    pub fn ends(&self) -> impl Iterator<Item = &End> {
        self.parts()
            .iter()
            .flat_map(|part| match part {
                Phrase::Range { low, high } => [low.as_ref(), high.as_ref()],
                _ => [None, None],
            })
            .flatten()
    }

    /// Whether it names an amount below zero (in the unit as written; `0 A ± 0.5 A` does).
    pub fn names_negative(&self) -> bool {
        self.ends().any(|end| end.amount.number.is_negative())
    }

    /// Whether it says "open circuit" itself.
    pub fn names_open_circuit(&self) -> bool {
        self.parts().contains(&Phrase::OpenCircuit)
    }
}
