//! `ruleout` alone, `ruleout completions`, `ruleout manual`.
//!
//! In: the definition of the command line. Out: a short guide, a shell's completions, manual pages.

use std::path::PathBuf;

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;
use clap_mangen::Man;

use super::args::Cli;
use super::output::Output;
use crate::emit;

/// What to type first.
const GUIDE: &str = "\
ruleout proves fault-isolation procedures and turns them into a site.

Begin:
  ruleout draft base kb          a small knowledge base, to change and add to
  ruleout preview kb --open      its pages in the browser while you write
  ruleout lint kb                every fault of every file
  ruleout compile kb             the site for the workshop

Later:
  ruleout draft procedure ID     a new procedure with hints to fill in
  ruleout why RULE               what a finding means, with an example
  ruleout COMMAND --help         all that a command can do, with examples
  ruleout --help                 every command

The language is taught under \"Writing procedures\" on every site that ruleout makes: `ruleout preview kb --open` shows it.
";

/// `completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    pub shell: Shell,
}

/// `manual`.
#[derive(Debug, Args)]
pub struct ManualArgs {
    /// The folder to write the pages to; made if it is not there
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,
}

/// Prints the guide.
pub fn guide(output: &Output) -> u8 {
    output.result(GUIDE);
    0
}

/// Prints a shell's completions.
pub fn completions(args: &CompletionsArgs, output: &Output) -> u8 {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "ruleout", &mut text);
    output.result(&String::from_utf8_lossy(&text));
    0
}

/// Writes one page for the program and one for each command.
pub fn manual(args: &ManualArgs, output: &Output) -> Result<u8, String> {
    let mut root = Cli::command().disable_help_subcommand(true);
    root.build();
    let mut pages = Vec::new();
    gather(&root, &mut pages)?;
    emit::make_folder(&args.dir)?;
    for (name, text) in &pages {
        emit::replace_file(&args.dir.join(name), text)?;
    }
    output.result(&format!("wrote {} pages to {}\n", pages.len(), args.dir.display()));
    Ok(0)
}

/// A built command knows the name of its page (`ruleout-lint`).
fn gather(command: &clap::Command, pages: &mut Vec<(String, Vec<u8>)>) -> Result<(), String> {
    let name = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
    let mut text = Vec::new();
    Man::new(command.clone()).render(&mut text).map_err(|e| format!("the page of `{name}`: {e}"))?;
    pages.push((format!("{name}.1"), text));
    command.get_subcommands().filter(|c| !c.is_hide_set()).try_for_each(|below| gather(below, pages))
}
