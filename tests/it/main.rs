//! Integration tests, one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::disallowed_methods, reason = "a test stops where it must")]
#![allow(clippy::print_stdout, clippy::print_stderr, missing_docs, reason = "nobody calls a test")]

mod amounts_laws;
mod architecture;
mod walk_laws;
mod yaml_traps;
mod bad_places;
mod broken_input;
mod cases;
mod draft;
mod ci;
mod command;
mod compare;
mod emit_site;
mod engine;
mod fault_codes;
mod fuzzed;
mod graph_laws;
mod graph_random;
mod lint_fix;
mod lint_formats;
mod lint_known;
mod literate;
mod manners;
mod lsp;
mod markdown;
mod order_brute;
mod order_command;
mod order_dump;
mod order_laws;
mod order_outside;
mod order_read;
mod order_write;
mod outside_amounts;
mod outside_yaml;
mod preview;
mod render_search;
mod rule_pages;
mod schema;
mod serde_yaml_differential;
mod site_demo;
mod site_pages;
mod site_snapshot;
mod tally;
mod text_abuse;
