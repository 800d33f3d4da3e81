//! Another id for a thing, everywhere it stands.
//!
//! In: a place and the new id. Out: the edits, with the file's new name where the id is a file's; or a sentence that says why
//! not. Nothing is renamed by halves: a file that can't be read and may hold the name stops it.

use std::collections::BTreeSet;

use lsp_types::{PrepareRenameResponse, RenameParams, TextDocumentPositionParams, WorkspaceEdit};

use super::changes::Changes;
use super::desk::Desk;
use super::hover;
use super::jump::{places, point};
use super::names::Noun;
use super::place::Lines;
use super::server::Refusal;
use super::uses::{Symbol, Use};
use crate::parse::shape::{bad_id, is_id};
use crate::resolve::is_fault_code;
use crate::source::{FileId, Span};

/// What would be renamed.
///
/// # Errors
/// Nothing here can be.
pub fn prepare(desk: &Desk, params: &TextDocumentPositionParams) -> Result<PrepareRenameResponse, Refusal> {
    let nothing = || Refusal::failed("no id stands here");
    let point = point(desk, params).ok_or_else(nothing)?;
    let here = desk.use_at(&point.path, point.offset).ok_or_else(nothing)?;
    renamable(desk, &here.symbol)?;
    let at = if here.is_file { point.offset..point.offset } else { here.at };
    let range = Lines::new(&point.text, desk.encoding).range(at.start, at.end);
    Ok(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder: here.symbol.name })
}

/// The edits that rename what stands at a place.
///
/// # Errors
/// The new id is none or is taken, or some file can't be read.
pub fn rename(desk: &Desk, params: &RenameParams) -> Result<WorkspaceEdit, Refusal> {
    let nothing = || Refusal::failed("no id stands here");
    let point = point(desk, &params.text_document_position).ok_or_else(nothing)?;
    let here = desk.use_at(&point.path, point.offset).ok_or_else(nothing)?;
    let symbol = renamable(desk, &here.symbol)?;
    let new = params.new_name.trim();
    if new == symbol.name {
        return Ok(WorkspaceEdit::default());
    }
    is_good(desk, &symbol, new)?;
    let found = places(desk, &symbol);
    if !found.iter().any(|(_, u)| u.is_definition) {
        return Err(Refusal::failed(format!(
            "there is no {} `{}`: nothing to rename",
            symbol.noun.word(),
            symbol.name
        )));
    }
    is_free(desk, &symbol, new, &found)?;
    is_readable(desk, &symbol)?;
    let mut changes = Changes::default();
    for (path, one) in &found {
        if one.is_file {
            changes.renamed = Some(renamed_file(desk, path, new)?);
        } else {
            changes.replace(path, one.at.clone(), new);
        }
    }
    changes.edit(desk).ok_or_else(|| Refusal::failed("a file of the base has no address"))
}

/// The thing itself, where its id can be changed.
fn renamable(desk: &Desk, symbol: &Symbol) -> Result<Symbol, Refusal> {
    match symbol.noun {
        Noun::Rule | Noun::Quantity => Err(Refusal::failed(format!(
            "`{}` is a {} of the language: it keeps its name",
            symbol.name,
            symbol.noun.word()
        ))),
        Noun::Hazard if symbol.name == "high-voltage" => {
            Err(Refusal::failed("the rule `high-voltage` asks for the hazard of this id: it keeps its name"))
        }
        Noun::Figure => Err(Refusal::failed("a picture is renamed as a file")),
        Noun::Local if symbol.name == "no-fault" => Err(Refusal::failed("`no-fault` is reserved: it keeps its name")),
        Noun::Local if symbol.procedure.is_none() => {
            let users = users_of_step(desk, &symbol.name);
            match users.as_slice() {
                [one] => Ok(Symbol { procedure: Some(one.clone()), ..symbol.clone() }),
                [] => Err(Refusal::failed(format!("no procedure that uses this repair has a step `{}`", symbol.name))),
                _ => Err(shared(&symbol.name, &users)),
            }
        }
        _ => Ok(symbol.clone()),
    }
}

fn shared(step: &str, users: &[String]) -> Refusal {
    Refusal::failed(format!(
        "a shared repair confirms by step `{step}` of several procedures ({}): give the repair another step first",
        users.join(", ")
    ))
}

/// Procedures that use a shared repair which this step confirms, and have such a step.
fn users_of_step(desk: &Desk, step: &str) -> Vec<String> {
    let symbol = Symbol { noun: Noun::Local, procedure: None, name: step.to_owned() };
    let defined = places(desk, &symbol).into_iter().filter(|(_, u)| u.is_definition);
    let users: BTreeSet<String> = defined.filter_map(|(_, u)| u.symbol.procedure).collect();
    users.into_iter().collect()
}

/// Whether the new id may name such a thing at all.
fn is_good(desk: &Desk, symbol: &Symbol, new: &str) -> Result<(), Refusal> {
    let word = symbol.noun.word();
    if symbol.noun == Noun::Code {
        let base = desk.linted().map(|l| &l.tables.base);
        let own_form = base.and_then(|b| b.codes.get(&symbol.name)).is_some_and(|c| c.own_form);
        let letters = |b: u8| b.is_ascii_alphanumeric() || b"._-".contains(&b);
        let own = (1..=32).contains(&new.len())
            && !new.starts_with('.')
            && !new.eq_ignore_ascii_case("index")
            && new.bytes().all(letters);
        return match (own_form, own, is_fault_code(new)) {
            (true, true, _) | (false, _, true) => Ok(()),
            (true, ..) => Err(Refusal::failed(format!(
                "`{new}` can't name a fault code: expected letters, digits, `.`, `_`, `-`, at most 32, and not `index`"
            ))),
            (false, ..) => Err(Refusal::failed(format!(
                "`{new}` is no fault code: expected P, C, B or U, a digit 0 to 3, and three hexadecimal digits"
            ))),
        };
    }
    if !is_id(new) {
        let finding = bad_id(Span::new(FileId(0), 0, 0), word, new);
        let words: Vec<&str> = std::iter::once(&finding.message).chain(&finding.help).map(String::as_str).collect();
        return Err(Refusal::failed(words.join("; ")));
    }
    match (symbol.noun, new) {
        (Noun::Who | Noun::Local, "all") => Err(Refusal::failed("`all` means every one: it can't name one")),
        (Noun::Local, "no-fault") => Err(Refusal::failed("`no-fault` is reserved for \"there was no fault\"")),
        _ => Ok(()),
    }
}

/// Whether the new id is taken, or would come to mean something else where it is written.
fn is_free(desk: &Desk, symbol: &Symbol, new: &str, found: &[(String, Use)]) -> Result<(), Refusal> {
    let wanted = Symbol { name: new.to_owned(), ..symbol.clone() };
    let clash = desk.places_of(&wanted).into_iter().find(|(_, u)| u.is_definition);
    if let Some((path, _)) = clash {
        let title = hover::title(desk, &wanted).filter(|t| t != new).map_or_else(String::new, |t| format!(" ({t})"));
        return Err(Refusal::failed(format!("`{new}` is taken{title}: it stands in `{path}`")));
    }
    // In `changes` a step goes before a spec, in `fix` a heading before a shared repair.
    let files: BTreeSet<&String> = found.iter().map(|(path, _)| path).collect();
    for (path, uses) in desk.uses().into_iter().filter(|(path, _)| files.contains(path)) {
        let hides = match symbol.noun {
            Noun::Local => {
                uses.all.iter().any(|u| u.is_contested && u.symbol.name == new && u.symbol.noun != Noun::Local)
            }
            Noun::Spec | Noun::Repair => {
                uses.all.iter().any(|u| u.symbol.noun == Noun::Local && u.symbol.name == new)
                    && uses.all.iter().any(|u| u.is_contested && u.symbol == *symbol)
            }
            _ => false,
        };
        if hides {
            return Err(Refusal::failed(format!("`{new}` means something else in `{path}`: take another id")));
        }
    }
    Ok(())
}

/// Every file that may hold the name must be readable: else a use of it would be missed.
fn is_readable(desk: &Desk, symbol: &Symbol) -> Result<(), Refusal> {
    let uses = desk.uses();
    for (path, _, text) in desk.files() {
        let broken = uses.iter().any(|(p, u)| p == path && !u.whole);
        if broken && text.contains(&symbol.name) {
            return Err(Refusal::failed(format!(
                "`{path}` can't be read as it stands and may hold the name: mend it first"
            )));
        }
    }
    Ok(())
}

/// The old and the new path of a file whose name is its id.
fn renamed_file(desk: &Desk, path: &str, new: &str) -> Result<(String, String), Refusal> {
    if !desk.takes.file_renames {
        return Err(Refusal::failed("this editor can't rename files: rename the file, then the names in the others"));
    }
    let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
    let ending = name.rfind('.').map_or("", |at| &name[at..]);
    Ok((path.to_owned(), format!("{folder}/{new}{ending}")))
}
