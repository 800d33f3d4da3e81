//! `ruleout preview`.
//!
//! In: the arguments. Out: the address on standard output, then pages over HTTP until Ctrl-C.

use std::path::{Path, PathBuf};

use clap::Args;

use super::output::Output;
use super::place;
use super::progress::Progress;
use crate::serve::Preview;

/// `preview`.
#[derive(Debug, Args)]
pub struct PreviewArgs {
    /// The knowledge base
    #[arg(value_name = "KB")]
    pub base: Option<PathBuf>,
    /// The port, on this machine only (default: a free one from 4680 on)
    #[arg(long, value_name = "PORT")]
    pub port: Option<u16>,
    /// Open the pages in the browser
    #[arg(long)]
    pub open: bool,
}

/// Runs it.
pub fn run(args: &PreviewArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(args.base.as_deref().or(kb));
    let busy = Progress::of("checking the knowledge base");
    let preview = Preview::new(&base, place::prefix(&base), args.port)?;
    drop(busy);
    let address = preview.address();
    output.result(&format!("{address}\n"));
    output.say("pages follow each save of a file; Ctrl-C ends");
    if args.open
        && let Err(why) = open::that_detached(&address)
    {
        output.say(&format!("no browser could be opened ({why}): open {address} yourself"));
    }
    preview.serve()?;
    Ok(0)
}
