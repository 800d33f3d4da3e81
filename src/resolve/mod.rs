//! Names become ids, limits become sets per vehicle. After it a wrong reference cannot be represented.
//!
//! In: what was loaded. Out: a [`Base`](crate::model::Base), and each procedure with its findings.

mod digest;

pub use digest::{CauseDigest, Digest};
