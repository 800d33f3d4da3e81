//! What one procedure names, for rules that look across files.
//!
//! In: a procedure. Out: its [`Digest`]: small, so that a base of ten thousand fits.

/// What one procedure names.
#[derive(Clone, Debug, Default)]
pub struct Digest {
    /// The procedure's id.
    pub id: String,
}
