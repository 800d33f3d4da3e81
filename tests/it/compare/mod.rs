//! `compare`: what changed in meaning, never in text.

mod base;
mod changes;
mod formats;
mod laws;
mod revisions;

pub use formats::edited;
