//! `ruleout` proves fault-isolation procedures and turns them into a site.
//!
//! The stages, in the order data flows through them:
//!
//! 1. [`load`] gives `Sources` (every file's bytes)
//! 2. [`parse`] turns one file's text into trees with places: YAML, Markdown sections, amounts, reading phrases
//! 3. [`resolve`] turns names into ids and limits into sets: a `Base` and its `Procedure`s
//! 4. [`graph`] answers questions about possible paths
//! 5. [`walk`] follows one job; [`order`] weighs tests against minutes
//! 6. [`check`] has opinions: `Finding`s
//! 7. [`plan`] decides all that a reader will see; [`render`] turns the plan into bytes; [`emit`] writes them
//! 8. [`report`] turns findings into text; [`compare`] two bases into what changed in meaning
//!
//! [`pipeline`] runs them one after another; [`cli`] is the commands.
//!
//! [`source`] and [`finding`] hold the nouns shared by all, [`quantity`] and [`model`] the meaning without text.

pub mod source;
pub mod finding;
pub mod load;
pub mod quantity;
pub mod model;
pub mod parse;
pub mod resolve;
pub mod graph;
pub mod walk;
pub mod order;
pub mod check;
pub mod plan;
pub mod render;
pub mod edit;
pub mod emit;
pub mod report;
pub mod compare;
pub mod pipeline;
pub mod site;
pub mod serve;
pub mod lsp;
pub mod cli;

pub use pipeline::{Linted, lint};
