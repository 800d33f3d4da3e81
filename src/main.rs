//! The binary: parse the command line, call the library, end with its exit code.

use clap::Parser;

fn main() -> std::process::ExitCode {
    ruleout::cli::run(ruleout::cli::Cli::parse()).into()
}
