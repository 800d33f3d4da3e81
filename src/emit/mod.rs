//! The only writer: a finished site replaces the old one whole, or nothing changes; single source files likewise.
//!
//! In: addresses and bytes. Out: files on disk. The new site is built beside the old one, under a hidden name on the same file
//! system; files whose bytes did not change are hard links to the old ones; then both folders change places in one step.

mod beside;
mod exchange;
mod file;
mod folder;
mod new;
mod tree;

pub use file::{replace_file, replace_files};
pub use new::{folder as make_folder, is_free, new_files};
pub use tree::{Tree, Written, replace_site};
