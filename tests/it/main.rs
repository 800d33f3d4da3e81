//! Integration tests, one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::disallowed_methods, reason = "a test stops where it must")]
#![allow(clippy::print_stdout, clippy::print_stderr, missing_docs, reason = "nobody calls a test")]

mod amounts_laws;
mod architecture;
mod cases;
mod literate;
mod order_brute;
mod order_dump;
mod order_laws;
mod order_outside;
mod rule_pages;
mod outside_amounts;
mod site_demo;
