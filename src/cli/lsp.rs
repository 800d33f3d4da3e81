//! `ruleout lsp`.
//!
//! In: messages on standard input. Out: messages on standard output, the exit code.

use std::path::Path;

/// Runs it.
pub fn run(kb: Option<&Path>) -> u8 {
    let base = kb.map(|named| std::path::absolute(named).unwrap_or_else(|_| named.to_owned()));
    crate::lsp::run(std::io::BufReader::new(std::io::stdin()), std::io::stdout(), base)
}
