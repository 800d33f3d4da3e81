//! What the command line may say.
//!
//! In: nothing (clap reads the words). Out: [`Cli`].

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, ColorChoice, Parser, Subcommand, ValueEnum};

/// The version, with the revision that it was built from where git tells it.
const VERSION: &str = match option_env!("RULEOUT_VERSION") {
    Some(told) => told,
    None => env!("CARGO_PKG_VERSION"),
};

/// Proves fault-isolation procedures and turns them into a site.
#[derive(Debug, Parser)]
#[command(name = "ruleout", version = VERSION, about, propagate_version = true)]
#[command(after_help = EXAMPLES)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// The knowledge base (else the nearest folder upward that holds shop.yaml, else ./kb)
    #[arg(long, global = true, value_name = "DIR")]
    pub kb: Option<PathBuf>,
    /// When to use colour
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub color: ColorChoice,
}

/// The colour that was asked for, told before the words are understood, so that help and usage errors obey it too.
pub(super) fn asked_colour(words: &[OsString]) -> ColorChoice {
    let texts: Vec<&str> = words.iter().filter_map(|w| w.to_str()).collect();
    let joined = texts.iter().find_map(|w| w.strip_prefix("--color="));
    let apart = || texts.windows(2).find(|pair| pair[0] == "--color").map(|pair| pair[1]);
    joined.or_else(apart).and_then(|when| ColorChoice::from_str(when, true).ok()).unwrap_or_default()
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check a knowledge base: every rule, every file, all faults in one run
    #[command(after_help = LINT_EXAMPLES)]
    Lint(LintArgs),
    /// Check a knowledge base, then write its site; errors stop it before anything is written
    #[command(after_help = COMPILE_EXAMPLES)]
    Compile(CompileArgs),
    /// Show the site while it is written: findings in the page, shown again after each save
    #[command(after_help = PREVIEW_EXAMPLES)]
    Preview(super::preview::PreviewArgs),
    /// Run readings through a procedure and print the path, what each result ruled out, and the ending
    #[command(after_help = TRACE_EXAMPLES)]
    Trace(TraceArgs),
    /// Expected minutes as written, the best order, what each cause costs, test first or part first
    #[command(after_help = ORDER_EXAMPLES)]
    Order(OrderArgs),
    /// What the solved cases say: how often each cause was the one, beside the authored shares
    #[command(after_help = TALLY_EXAMPLES)]
    Tally(TallyArgs),
    /// Begin a new knowledge base, procedure, check, repair, spec or case from a commented skeleton
    #[command(after_help = DRAFT_EXAMPLES)]
    Draft(super::draft::DraftArgs),
    /// Write the record of a review into a procedure
    #[command(after_help = APPROVE_EXAMPLES)]
    Approve(ApproveArgs),
    /// Print the decision graph of a procedure
    #[command(after_help = EXPORT_EXAMPLES)]
    Export(ExportArgs),
    /// Print the completions of a shell
    #[command(after_help = COMPLETIONS_EXAMPLES)]
    Completions(super::manners::CompletionsArgs),
    /// Write the manual pages
    #[command(after_help = MANUAL_EXAMPLES)]
    Manual(super::manners::ManualArgs),
    /// Say what changed in meaning between two folders or git revisions
    #[command(after_help = COMPARE_EXAMPLES)]
    Compare(CompareArgs),
    /// Say what a rule means, with a bad and a good example
    #[command(after_help = WHY_EXAMPLES)]
    Why(WhyArgs),
    /// JSON Schema of the front matter and of each table, for any editor's YAML support
    #[command(after_help = SCHEMA_EXAMPLES)]
    Schema(SchemaArgs),
    /// Language server on standard input and output, for an editor: findings, completion, hover, rename, mends
    #[command(after_help = LSP_EXAMPLES)]
    Lsp,
}

const LSP_EXAMPLES: &str = "\
Examples:
  ruleout lsp                          what an editor runs; it asks and answers on standard input and output

The README shows how to tell your editor. Ends with 0 (the editor said so) or 1 (the editor went away without a word).";

const LINT_EXAMPLES: &str = "\
Examples:
  ruleout lint                         check the knowledge base around here
  ruleout lint kb --notes              also print the notes
  ruleout lint --only procedures/charging/charge-lamp-on.md
  ruleout lint --fix                   also make the safe mends, and say what was changed
  ruleout lint --record known.jsonl    write down what is wrong today ...
  ruleout lint --since known.jsonl     ... and fail only on what is new since then
  ruleout lint --format json > findings.json

Ends with 0 (fine), 1 (the knowledge base has errors) or 2 (it could not run).";

const EXAMPLES: &str = "\
Examples:
  ruleout draft base kb                a small knowledge base, to change and add to
  ruleout lint kb                      every fault of every file
  ruleout compile kb                   the site for the workshop
  ruleout why reading-gap              what a finding means

Ends with 0 (fine), 1 (the knowledge base has errors) or 2 (it could not run).";

const COMPLETIONS_EXAMPLES: &str = "\
Examples:
  ruleout completions bash > ~/.local/share/bash-completion/completions/ruleout
  ruleout completions fish > ~/.config/fish/completions/ruleout.fish";

const MANUAL_EXAMPLES: &str = "\
Examples:
  ruleout manual ~/.local/share/man/man1       then: man ruleout-lint";

const PREVIEW_EXAMPLES: &str = "\
Examples:
  ruleout preview --open               the knowledge base around here, in the browser
  ruleout preview kb --port 8080

Only this machine can reach it. Ctrl-C ends it.
Ends with 0 (ended by Ctrl-C) or 2 (it could not run: no knowledge base, the port is in use).";

const DRAFT_EXAMPLES: &str = "\
Examples:
  ruleout draft base kb                            a small knowledge base that compiles, to start from
  ruleout draft procedure lamp-dark --folder lighting
  ruleout draft check connector-look
  ruleout draft spec lamp-feed
  ruleout draft repair renew-bulb
  ruleout draft case 2031-014 --procedure lamp-dark

It asks nothing and overwrites nothing. Ends with 0 (written) or 2 (it could not).";

const COMPARE_EXAMPLES: &str = "\
Examples:
  ruleout compare HEAD kb              what today's edits mean
  ruleout compare main my-branch --format markdown
  ruleout compare old-kb new-kb        two folders
  ruleout compare v1:kb v2:shop/kb     revisions that hold it in different folders

A name that is both is the folder. Ends with 0 whatever changed, or 2 (it could not run).";

/// `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The older one: a folder, or a git revision of the knowledge base's folder
    pub old: String,
    /// The newer one
    pub new: String,
    /// How to print it
    #[arg(long, value_enum, default_value = "text")]
    pub format: ComparisonFormat,
}

/// Formats of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ComparisonFormat {
    /// For people
    Text,
    /// For a review comment
    Markdown,
    /// One object
    Json,
}

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
    pub format: FindingsFormat,
    /// Warnings fail too
    #[arg(long)]
    pub strict: bool,
    /// Print notes, not only their count
    #[arg(long)]
    pub notes: bool,
    /// Print and judge only this file's findings (repeatable)
    #[arg(long, value_name = "FILE")]
    pub only: Vec<PathBuf>,
    /// Make the safe mends in place (spelling, signs, spaces, quotes), say what was changed, then check again
    #[arg(long)]
    pub fix: bool,
    /// Leave out the findings that are recorded in this file: only what is new is told and judged
    #[arg(long, value_name = "FILE")]
    pub since: Option<PathBuf>,
    /// Write a record of today's findings into this file, for --since
    #[arg(long, value_name = "FILE")]
    pub record: Option<PathBuf>,
}

/// Formats of findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FindingsFormat {
    /// For people
    Text,
    /// One object for the run
    Json,
    /// SARIF 2.1.0, for code scanning and editors
    Sarif,
    /// Workflow annotations of GitHub
    Github,
}

/// Formats of answers.
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

const COMPILE_EXAMPLES: &str = "\
Examples:
  ruleout compile                      the knowledge base around here, into site-out beside it
  ruleout compile kb --out /srv/site   into another folder

Ends with 0 (written), 1 (the knowledge base has errors: nothing was written) or 2 (it could not run).";

/// `compile`.
#[derive(Debug, Args)]
pub struct CompileArgs {
    /// The knowledge base
    #[arg(value_name = "KB")]
    pub base: Option<PathBuf>,
    /// The folder of the site (default: site-out beside the base)
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Warnings stop it too
    #[arg(long)]
    pub strict: bool,
    /// Print notes, not only their count
    #[arg(long)]
    pub notes: bool,
}

const TRACE_EXAMPLES: &str = "\
Examples:
  ruleout trace charge-lamp-on --vehicle orlo-t2 --reading belt=\"tight and dry\" --reading charging-voltage=\"12.9 V\"
  ruleout trace charge-lamp-on --reading belt=\"not taken\"      goes the way of a bay without the equipment
  ruleout trace fan-stays-off --format json

Where a step comes again, give its readings in order. On a terminal it asks for the next reading.
Ends with 0 (it answered), 1 (names in the procedure do not resolve) or 2 (it could not run).";

/// `trace`.
#[derive(Debug, Args)]
pub struct TraceArgs {
    /// The procedure
    pub procedure: String,
    /// The vehicle (default: the first that the procedure applies to)
    #[arg(long, value_name = "ID")]
    pub vehicle: Option<String>,
    /// A reading, STEP=READING (repeatable, in order where a step comes again)
    #[arg(long = "reading", value_name = "STEP=READING")]
    pub readings: Vec<String>,
    /// How to print it
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
}

const APPROVE_EXAMPLES: &str = "\
Examples:
  ruleout approve charge-lamp-on --by MK
  ruleout approve charge-lamp-on --by MK --on 2031-05-04";

/// `approve`.
#[derive(Debug, Args)]
pub struct ApproveArgs {
    /// The procedure
    pub procedure: String,
    /// Who reviewed it
    #[arg(long, value_name = "INITIALS")]
    pub by: String,
    /// When, as 2031-05-04 (default: today)
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
}

const EXPORT_EXAMPLES: &str = "\
Examples:
  ruleout export charge-lamp-on > graph.json
  ruleout export charge-lamp-on --format dot | dot -Tsvg > graph.svg";

/// `export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The procedure
    pub procedure: String,
    /// How to print it
    #[arg(long, value_enum, default_value = "json")]
    pub format: GraphFormat,
}

/// Formats of the decision graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum GraphFormat {
    /// Nodes and edges
    Json,
    /// For Graphviz
    Dot,
}

const ORDER_EXAMPLES: &str = "\
Examples:
  ruleout order charge-lamp-on
  ruleout order charge-lamp-on --vehicle fell-12 --format json
  ruleout order charge-lamp-on --bay yard      what the yard's missing instruments cost per job
  ruleout order charge-lamp-on --write charge-lamp-quick      the best order as a new procedure";

/// `order`.
#[derive(Debug, Args)]
pub struct OrderArgs {
    /// The procedure
    pub procedure: String,
    /// The vehicle (default: the first that the procedure applies to)
    #[arg(long, value_name = "ID")]
    pub vehicle: Option<String>,
    /// Only this bay, where minutes with and without each instrument are told
    #[arg(long, value_name = "ID")]
    pub bay: Option<String>,
    /// Write the best order as a new procedure, NEW.md beside the old one
    #[arg(long, value_name = "NEW")]
    pub write: Option<String>,
    /// How to print it
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
}

const TALLY_EXAMPLES: &str = "\
Examples:
  ruleout tally                        what the cases say, beside the authored shares
  ruleout tally --write                write the new shares into the procedures";

/// `tally`.
#[derive(Debug, Args)]
pub struct TallyArgs {
    /// Write the new shares, in parts of 100, into the procedures
    #[arg(long)]
    pub write: bool,
    /// How to print it
    #[arg(long, value_enum, default_value = "text")]
    pub format: Format,
}

const SCHEMA_EXAMPLES: &str = "\
Examples:
  ruleout schema procedure > procedure.schema.json
  ruleout schema specs                 the schema of specs/*.yaml
  ruleout schema                       one schema for every file, each kind under its $defs

Kinds: procedure, check, repair, system (their front matter), case, shop, specs, vehicles, codes, equipment,
setups, hazards, terms. Wherever a text may stand, a number or a boolean is valid too, since most readers of YAML
hand `12` and `yes` over as such.";

/// `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// The kind of file (default: one schema that holds all)
    pub kind: Option<String>,
}
