//! Edits of source text that keep every other byte: mends, reviews, shares; and new files to be filled in.
//!
//! In: a text and edits of it. Out: the new text. Nothing is written here.

mod apply;
pub mod draft;
mod fix;
pub mod reorder;
mod review;
mod shares;

pub use apply::{Clash, apply};
pub use fix::{Fixed, Made, fix};
pub use review::review;
pub use shares::shares;
