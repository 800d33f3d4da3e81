//! What the command line may say.
//!
//! In: nothing (clap reads the words). Out: [`Cli`].

use std::path::PathBuf;

use clap::{Args, ColorChoice, Parser, Subcommand, ValueEnum};

/// Proves fault-isolation procedures and turns them into a site.
#[derive(Debug, Parser)]
#[command(name = "ruleout", version, about, propagate_version = true, arg_required_else_help = true)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// The knowledge base (else the nearest folder upward that holds shop.yaml, else ./kb)
    #[arg(long, global = true, value_name = "DIR")]
    pub kb: Option<PathBuf>,
    /// When to use colour
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub color: ColorChoice,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check a knowledge base: every rule, every file, all faults in one run
    #[command(after_help = LINT_EXAMPLES)]
    Lint(LintArgs),
    /// Say what a rule means, with a bad and a good example
    #[command(after_help = WHY_EXAMPLES)]
    Why(WhyArgs),
}

const LINT_EXAMPLES: &str = "\
Examples:
  ruleout lint                         check the knowledge base around here
  ruleout lint kb --notes              also print the notes
  ruleout lint --only procedures/charging/charge-lamp-on.md
  ruleout lint --format json > findings.json

Ends with 0 (fine), 1 (the knowledge base has errors) or 2 (it could not run).";

const WHY_EXAMPLES: &str = "\
Examples:
  ruleout why                          every rule with its level
  ruleout why reading-gap              what this one means";

/// `lint`.
#[derive(Debug, Args)]
pub struct LintArgs {
    /// The knowledge base
    #[arg(value_name = "KB")]
    pub base: Option<PathBuf>,
    /// How to print the findings
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
    /// Warnings fail too
    #[arg(long)]
    pub strict: bool,
    /// Print notes, not only their count
    #[arg(long)]
    pub notes: bool,
    /// Print and judge only this file's findings (repeatable)
    #[arg(long, value_name = "FILE")]
    pub only: Vec<PathBuf>,
}

/// Formats of findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// One object for the run
    Json,
}

/// `why`.
#[derive(Debug, Args)]
pub struct WhyArgs {
    /// The rule
    pub rule: Option<String>,
}
