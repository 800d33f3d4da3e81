//! Decision graphs and possible paths. It answers, it has no opinion.
//!
//! In: the base and one procedure. Out: an [`Analysis`].

use crate::model::{Base, Procedure};

/// Limits of the exploration.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Most states per procedure and vehicle class.
    pub states: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self { states: 200_000 }
    }
}

/// All that is known of the ways through one procedure.
pub struct Analysis<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// The procedure.
    pub procedure: &'a Procedure,
}

/// Analyses one procedure.
pub fn analyse<'a>(base: &'a Base, procedure: &'a Procedure, _bounds: Bounds) -> Analysis<'a> {
    Analysis { base, procedure }
}
