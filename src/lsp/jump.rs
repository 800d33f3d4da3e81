//! From a name to where it is defined, and to everywhere else it stands.
//!
//! In: a place. Out: places.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use lsp_types::{GotoDefinitionParams, Location, ReferenceParams, TextDocumentPositionParams};

use super::desk::Desk;
use super::names::Noun;
use super::place::{Lines, path_of};
use super::uses::{FileUses, Symbol, Use};

/// The file of the base and the byte that the editor points at.
pub struct Point {
    /// The path in the base.
    pub path: String,
    /// The byte.
    pub offset: usize,
    /// The file's newest text.
    pub text: Arc<str>,
}

/// What the editor points at; nothing outside the base.
pub fn point(desk: &Desk, at: &TextDocumentPositionParams) -> Option<Point> {
    let path = desk.within(&path_of(&at.text_document.uri)?)?;
    let (_, text) = desk.file(&path)?;
    let offset = Lines::new(&text, desk.encoding).offset(at.position);
    Some(Point { path, offset, text })
}

/// Where the name is defined.
pub fn definition(desk: &Desk, params: &GotoDefinitionParams) -> Option<Vec<Location>> {
    let point = point(desk, &params.text_document_position_params)?;
    let here = desk.use_at(&point.path, point.offset)?;
    let places = places(desk, &here.symbol);
    let defined: Vec<_> = places.into_iter().filter(|(_, u)| u.is_definition).collect();
    Some(locations(desk, &defined))
}

/// Everywhere the name stands.
pub fn references(desk: &Desk, params: &ReferenceParams) -> Option<Vec<Location>> {
    let point = point(desk, &params.text_document_position)?;
    let here = desk.use_at(&point.path, point.offset)?;
    let places = places(desk, &here.symbol);
    let wanted = params.context.include_declaration;
    // A file's own name is written nowhere in it.
    let told: Vec<_> = places.into_iter().filter(|(_, u)| !u.is_file && (wanted || !u.is_definition)).collect();
    Some(locations(desk, &told))
}

/// Every place of a symbol. A step that a shared repair's `confirm` names is one of each procedure that uses the repair.
pub fn places(desk: &Desk, symbol: &Symbol) -> Vec<(String, Use)> {
    let mut places = desk.places_of(symbol);
    if symbol.noun != Noun::Local {
        return places;
    }
    let uses = desk.uses();
    let repairs_of = |uses: &FileUses| -> BTreeSet<String> {
        let repairs = uses.all.iter().filter(|u| u.symbol.noun == Noun::Repair && !u.is_file);
        repairs.map(|u| u.symbol.name.clone()).collect()
    };
    let own = |uses: &FileUses, noun: Noun| -> Option<String> {
        uses.all.iter().find(|u| u.is_file && u.symbol.noun == noun).map(|u| u.symbol.name.clone())
    };
    match &symbol.procedure {
        Some(procedure) => {
            let here = uses.iter().find(|(_, u)| own(u, Noun::Procedure).as_ref() == Some(procedure));
            let repairs = here.map(|(_, u)| repairs_of(u)).unwrap_or_default();
            let confirm = Symbol { procedure: None, ..symbol.clone() };
            for (path, file) in uses.iter().filter(|(_, u)| own(u, Noun::Repair).is_some_and(|r| repairs.contains(&r)))
            {
                places.extend(file.all.iter().filter(|u| u.symbol == confirm).map(|u| (path.clone(), u.clone())));
            }
        }
        None => {
            let repairs: BTreeSet<String> = uses
                .iter()
                .filter(|(path, _)| places.iter().any(|(p, _)| p == path))
                .filter_map(|(_, u)| own(u, Noun::Repair))
                .collect();
            for (path, file) in uses.iter().filter(|(_, u)| !repairs_of(u).is_disjoint(&repairs)) {
                let step = |u: &&Use| u.is_definition && u.symbol.noun == Noun::Local && u.symbol.name == symbol.name;
                places.extend(file.all.iter().filter(step).map(|u| (path.clone(), u.clone())));
            }
        }
    }
    places
}

fn locations(desk: &Desk, places: &[(String, Use)]) -> Vec<Location> {
    let mut texts: BTreeMap<&str, Option<Arc<str>>> = BTreeMap::new();
    let mut found = Vec::new();
    for (path, one) in places {
        let text = texts.entry(path).or_insert_with(|| desk.file(path).map(|(_, text)| text));
        if let (Some(text), Some(uri)) = (text, desk.uri(path)) {
            let range = Lines::new(text, desk.encoding).range(one.at.start, one.at.end);
            found.push(Location { uri, range });
        }
    }
    found
}
