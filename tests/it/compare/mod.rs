//! `compare`: what changed in meaning, never in text.

mod base;
mod changes;
