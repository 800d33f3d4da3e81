//! `ruleout draft`.
//!
//! In: what to draft and its name. Out: new files in the knowledge base; nothing is asked, nothing overwritten.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::output::Output;
use super::{one, place};
use crate::edit::draft::{self, Draft, Skeleton};
use crate::load::{Disk, Loaded, Role, load};
use crate::parse::shape::no_id;
use crate::pipeline::rule_levels;
use crate::resolve::{self, Tables};
use crate::{emit, parse};

/// `draft`.
#[derive(Debug, Args)]
pub struct DraftArgs {
    /// What to draft.
    #[command(subcommand)]
    pub kind: Kind,
}

/// What can be drafted.
#[derive(Debug, Subcommand)]
pub enum Kind {
    /// A small knowledge base that compiles: one procedure, one spec, one case, two vehicles
    #[command(after_help = "Examples:\n  ruleout draft base kb\n  ruleout draft base ~/workshop/kb")]
    Base {
        /// The folder; new, or empty but for dot-files
        #[arg(value_name = "DIR")]
        dir: PathBuf,
    },
    /// A procedure: from a complaint to its cause
    #[command(
        after_help = "Examples:\n  ruleout draft procedure lamp-dark\n  ruleout draft procedure lamp-dark --folder lighting"
    )]
    Procedure {
        /// Its id: a-z, 0-9 and -
        id: String,
        /// A folder below `procedures` to put it in
        #[arg(long, value_name = "FOLDER")]
        folder: Option<String>,
    },
    /// A test written once and used by many procedures
    #[command(after_help = "Examples:\n  ruleout draft check connector-look")]
    Check {
        /// Its id: a-z, 0-9 and -
        id: String,
    },
    /// A reading with its limits
    #[command(after_help = "Examples:\n  ruleout draft spec lamp-feed")]
    Spec {
        /// Its id: a-z, 0-9 and -
        id: String,
    },
    /// A repair that several procedures share
    #[command(after_help = "Examples:\n  ruleout draft repair renew-bulb")]
    Repair {
        /// Its id: a-z, 0-9 and -
        id: String,
    },
    /// A solved job
    #[command(after_help = "Examples:\n  ruleout draft case 2031-014 --procedure lamp-dark")]
    Case {
        /// Its id: a-z, 0-9 and -
        id: String,
        /// The procedure that was followed (default: the first of the base)
        #[arg(long, value_name = "ID")]
        procedure: Option<String>,
    },
}

/// Runs it.
pub fn run(args: &DraftArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let (base, draft) = match &args.kind {
        Kind::Base { dir } => return base(dir, output),
        Kind::Procedure { id, folder } => {
            let there = There::read(kb, "procedure", id)?;
            let folder = folder.as_deref().map(inside).transpose()?.unwrap_or_default();
            let file = there.tables.base.procedures.find(id).map(|ix| there.tables.base.procedures[ix]);
            there.refuse("procedure", id, file.map(|f| there.loaded.sources.file(f).path().to_owned()))?;
            (there.base, draft::procedure(id, &folder))
        }
        Kind::Check { id } => shared(kb, id, "check", Skeleton::Check)?,
        Kind::Repair { id } => shared(kb, id, "repair", Skeleton::Repair)?,
        Kind::Spec { id } => shared(kb, id, "spec", Skeleton::Spec)?,
        Kind::Case { id, procedure } => case(kb, id, procedure.as_deref())?,
    };
    emit::new_files(&base, &[(&draft.path, &draft.text)])?;
    output.result(&format!("wrote {}{}\n", place::prefix(&base), draft.path));
    output.say("fill in what its comments ask for, then run `ruleout lint`");
    Ok(0)
}

fn base(dir: &Path, output: &Output) -> Result<u8, String> {
    emit::is_free(dir)?;
    emit::new_files(dir, &draft::BASE)?;
    for (path, _) in draft::BASE {
        output.result(&format!("wrote {}{path}\n", place::prefix(dir)));
    }
    output.say(&format!("next: `ruleout preview {} --open` shows its pages while you write", dir.display()));
    Ok(0)
}

/// A base as it is, and where.
struct There {
    base: PathBuf,
    loaded: Loaded,
    tables: Tables,
}

impl There {
    /// Reads the base that is to take a new `noun` of this id.
    fn read(kb: Option<&Path>, noun: &str, id: &str) -> Result<Self, String> {
        if let Some(why) = no_id(id) {
            let better = parse::shape::better_id(id);
            let hint = if better.is_empty() { String::new() } else { format!(": write `{better}`") };
            return Err(format!("`{id}` can't name a {noun}: {why}{hint}"));
        }
        let base = place::base(kb);
        let loaded = load(&Disk::new(&base)).map_err(|why| {
            let is_none = why.starts_with("no knowledge base") || why.starts_with("there is no folder");
            let hint = format!(" (`ruleout draft base {}` begins a new one)", base.display());
            format!("{}: {why}{}", base.display(), if is_none { &hint } else { "" })
        })?;
        let tables = resolve::tables(&loaded, &rule_levels());
        Ok(Self { base, loaded, tables })
    }

    /// Says where a thing of this id stands already.
    fn refuse(&self, noun: &str, id: &str, path: Option<String>) -> Result<(), String> {
        let Some(path) = path else { return Ok(()) };
        let shown = place::prefix(&self.base);
        Err(format!("there is a {noun} `{id}` already, in `{shown}{path}`: nothing is overwritten"))
    }

    fn path_of(&self, role: &Role) -> Option<String> {
        let at = self.loaded.roles.iter().position(|r| r == role)?;
        self.loaded.sources.iter().nth(at).map(|(_, file)| file.path().to_owned())
    }
}

fn shared(kb: Option<&Path>, id: &str, noun: &str, kind: Skeleton) -> Result<(PathBuf, Draft), String> {
    let there = There::read(kb, noun, id)?;
    let path = match kind {
        Skeleton::Check => there.path_of(&Role::Check(id.to_owned())),
        Skeleton::Repair => there.path_of(&Role::Repair(id.to_owned())),
        Skeleton::Spec => {
            let specs = &there.tables.base.specs;
            specs.find(id).map(|ix| there.loaded.sources.file(specs[ix].place.whole.file).path().to_owned())
        }
    };
    there.refuse(noun, id, path)?;
    Ok((there.base, draft::skeleton(kind, id)))
}

fn case(kb: Option<&Path>, id: &str, procedure: Option<&str>) -> Result<(PathBuf, Draft), String> {
    let there = There::read(kb, "case", id)?;
    there.refuse("case", id, there.path_of(&Role::Case(id.to_owned())))?;
    let name = match procedure.or_else(|| there.tables.base.procedures.ids().next()) {
        Some(name) => name.to_owned(),
        None => return Err("a case follows a procedure, and there is none yet: draft one first".into()),
    };
    let one = one::read(kb, &name)?;
    let path = || one.tables.base.procedures.find(&name).map(|ix| one.tables.base.procedures[ix]);
    let Some(procedure) = &one.resolved.procedure else {
        let file = path().map(|f| one.loaded.sources.file(f).path().to_owned()).unwrap_or_default();
        return Err(format!("the procedure `{name}` can't be read: mend `{}{file}` first", one.prefix()));
    };
    Ok((there.base, draft::case(id, &one.tables.base, procedure)))
}

/// A folder below `procedures`, told with or without it: plain names only, so that nothing is written elsewhere.
fn inside(folder: &str) -> Result<String, String> {
    let plain = folder.replace('\\', "/");
    let parts: Vec<&str> = plain.trim_matches('/').split('/').filter(|p| !p.is_empty()).collect();
    let parts = parts.strip_prefix(&["procedures"]).unwrap_or(&parts);
    if Path::new(folder).is_absolute() || parts.iter().any(|p| p.starts_with('.') || p.contains(char::is_control)) {
        return Err(format!("`{folder}` is no folder below `procedures`: give plain names, such as `lighting`"));
    }
    Ok(parts.join("/"))
}
