//! The language server, driven as an editor drives it.

mod client;
mod names;
mod renames;
mod talk;
mod typing;
