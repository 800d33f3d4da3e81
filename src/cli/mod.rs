//! The commands: one file each. The only user of standard output.
//!
//! In: the command line. Out: an exit code: 0 fine, 1 the knowledge base has errors, 2 it could not run.

mod approve;
mod args;
mod compare;
mod compile;
mod draft;
mod export;
mod fix;
mod lint;
mod lsp;
mod manners;
mod one;
mod order;
mod output;
mod place;
mod reorder;
mod rewrite;
mod schema;
mod preview;
mod progress;
mod tally;
mod trace;
mod why;

pub use args::Cli;

use clap::{CommandFactory as _, FromArgMatches as _};

use args::Command;
use output::Output;

/// Reads the command line. Where it is no good, this says so and ends the program with 2.
pub fn parse() -> Cli {
    let words: Vec<std::ffi::OsString> = std::env::args_os().collect();
    let matches = Cli::command().color(args::asked_colour(&words)).get_matches_from(words);
    Cli::from_arg_matches(&matches).unwrap_or_else(|error| error.exit())
}

/// Runs a command line and gives the exit code.
pub fn run(cli: Cli) -> u8 {
    let output = Output::new(cli.color);
    let kb = cli.kb.as_deref();
    let Some(command) = cli.command else { return manners::guide(&output) };
    let result = match command {
        Command::Lint(args) => lint::run(&args, kb, &output),
        Command::Compile(args) => compile::run(&args, kb, &output),
        Command::Preview(args) => preview::run(&args, kb, &output),
        Command::Trace(args) => trace::run(&args, kb, &output),
        Command::Order(args) => order::run(&args, kb, &output),
        Command::Tally(args) => tally::run(&args, kb, &output),
        Command::Approve(args) => approve::run(&args, kb, &output),
        Command::Draft(args) => draft::run(&args, kb, &output),
        Command::Export(args) => export::run(&args, kb, &output),
        Command::Completions(args) => Ok(manners::completions(&args, &output)),
        Command::Manual(args) => manners::manual(&args, &output),
        Command::Compare(args) => compare::run(&args, kb, &output),
        Command::Why(args) => why::run(&args, &output),
        Command::Lsp => Ok(lsp::run(kb)),
        Command::Schema(args) => schema::run(&args, &output),
    };
    match result {
        Ok(_) if output.is_lost() => 2,
        Ok(code) => code,
        Err(message) => {
            output.fault(&message);
            2
        }
    }
}

/// Leaves a base to the system, which takes all memory back at once when the program ends: ten thousand procedures given back
/// piece by piece are a fiftieth of the work of `lint`.
fn leave(linted: crate::pipeline::Linted) {
    std::mem::forget(linted);
}
