//! Decision graphs and possible paths. It answers, it has no opinion.
//!
//! In: the base and one procedure. Out: an [`Analysis`].

use crate::model::{Base, Procedure};

/// All that is known of the ways through one procedure.
pub struct Analysis<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// The procedure.
    pub procedure: &'a Procedure,
}
