//! The pages of the rules, where an editor can open them.
//!
//! In: a rule's name. Out: the address of its page, written once into the user's cache folder; nothing where there is none.

use std::path::PathBuf;
use std::sync::OnceLock;

use lsp_types::Uri;

use super::place::uri_of;
use crate::check;
use crate::emit;

/// The folder, once the pages stand in it.
static FOLDER: OnceLock<Option<PathBuf>> = OnceLock::new();

/// The address of a rule's page.
pub fn address(rule: &str) -> Option<Uri> {
    let folder = FOLDER.get_or_init(write).as_ref()?;
    uri_of(&folder.join(format!("{rule}.md")))
}

/// Writes every page that is not there yet. An editor that can't open them shows the rule's name all the same.
fn write() -> Option<PathBuf> {
    let folder = cache()?.join("ruleout").join(env!("CARGO_PKG_VERSION"));
    for rule in check::RULES {
        let name = format!("{}.md", rule.name);
        if !folder.join(&name).is_file() {
            emit::new_files(&folder, &[(&name, rule.page)]).ok()?;
        }
    }
    Some(folder)
}

fn cache() -> Option<PathBuf> {
    let var = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let folder = var("XDG_CACHE_HOME").or_else(|| var("LOCALAPPDATA")).or_else(|| Some(var("HOME")?.join(".cache")))?;
    folder.is_absolute().then_some(folder)
}
