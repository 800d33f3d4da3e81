//! Names become ids, limits become sets per vehicle. After it a wrong reference cannot be represented.
//!
//! In: what was loaded. Out: [`tables`]: a [`Base`] and the case files; then, procedure by procedure, [`Resolved`].
//! A file that did not parse makes those that depend on it skipped, not wrong: names that would stand in it are not judged.

mod case;
mod causes;
mod confirm;
mod cx;
mod digest;
mod procedure;
mod results;
mod shared;
mod step;
mod tables;
mod test_keys;
mod way;

pub use case::{CaseFile, case};
pub use cx::{Cx, RuleLevels};
pub use digest::{CauseDigest, Digest};
pub use procedure::{Resolved, is_date, procedure};
pub use tables::is_fault_code;

use rayon::prelude::*;

use crate::finding::{Finding, Level};
use crate::load::{FOLDERS, Loaded, Role, TABLES};
use crate::model::{Base, Place, Vehicle};
use crate::parse::keys::{self, Keys};
use crate::parse::yaml::{Kind, Node};
use crate::parse::{near::nearest, page, shape};
use crate::source::{FileId, Span};

/// Everything but the procedures.
#[derive(Debug)]
pub struct Tables {
    /// The shared tables.
    pub base: Base,
    /// The cases that could be read, in the order of their paths.
    pub cases: Vec<CaseFile>,
    /// Faults of the tables and shared files.
    pub findings: Vec<Finding>,
    /// Faults of the cases, as far as they are told without their procedures.
    pub case_findings: Vec<Finding>,
}

/// Reads every table, shared file and case.
pub fn tables(loaded: &Loaded, rules: &RuleLevels) -> Tables {
    let mut cx = Cx::new(loaded, rules);
    let mut base = Base::default();
    for figure in &loaded.figures {
        base.figures.insert(figure.clone(), ());
    }
    figures(&mut cx);
    misnamed(&mut cx, &mut base);
    procedures(&mut cx, &mut base);
    rows_by_name(&mut cx, &mut base);
    specs(&mut cx, &mut base);
    shared_files(&mut cx, &mut base);
    let shop = table(&mut cx, "shop.yaml", &mut base, |node, span, out| shape::check(node, &keys::SHOP, span, out));
    tables::shop(&mut cx, shop.as_ref(), &mut base);
    let errors = cx.out.iter().filter(|f| f.level == Level::Error);
    base.faults = errors.map(|f| f.span).collect();
    base.faults.sort_unstable();
    let mut tables = Tables { base, cases: Vec::new(), findings: cx.out, case_findings: Vec::new() };
    reread_cases(loaded, rules, &mut tables);
    tables
}

/// Reads every case again: nothing else in the tables depends on their text.
pub fn reread_cases(loaded: &Loaded, rules: &RuleLevels, tables: &mut Tables) {
    let base = &tables.base;
    let read: Vec<_> = files(loaded, |r| matches!(r, Role::Case(_)))
        .into_par_iter()
        .map(|file| {
            let mut cx = Cx::new(loaded, rules);
            (case_file(&mut cx, base, file), cx.out)
        })
        .collect();
    let mut all = Vec::new();
    // There may be a hundred thousand: they stay where they were read.
    let cases = read.into_iter().filter_map(|(case, findings)| {
        all.extend(findings);
        case
    });
    tables.cases = cases.collect();
    tables.case_findings = all;
}

fn rows_by_name(cx: &mut Cx<'_>, base: &mut Base) {
    let hazards = rows(cx, "hazards.yaml", "hazard", &keys::HAZARD, base);
    tables::hazards(cx, hazards.as_ref(), base);
    let equipment = rows(cx, "equipment.yaml", "instrument", &keys::EQUIPMENT, base);
    tables::equipment(cx, equipment.as_ref(), base);
    let setups = rows(cx, "setups.yaml", "setup", &keys::SETUPS, base);
    tables::setups(cx, setups.as_ref(), base);
    let mut vehicles = rows(cx, "vehicles.yaml", "vehicle", &keys::VEHICLE, base);
    // Without its groups a vehicle would lack values and ways that stand there: what names vehicles is skipped.
    let no_groups = |row: &Node| {
        !matches!(row.kind, Kind::Map(_))
            || shape::misspelt(row, &keys::VEHICLE, "groups")
            || row.get("groups").is_some_and(Node::lacks_something)
    };
    if vehicles.as_ref().is_some_and(|tree| tree.entries().iter().any(|e| no_groups(&e.value))) {
        base.broken.insert("vehicles.yaml".to_owned());
        vehicles = None;
    }
    tables::vehicles(cx, vehicles.as_ref(), base);
    if base.vehicles.is_empty() {
        let nowhere = Span::new(FileId(0), 0, 0);
        let place = Place { key: nowhere, whole: nowhere };
        base.vehicles.insert("", Vehicle { place, title: String::new(), groups: Vec::new() });
    }
    let codes = code_rows(cx, base);
    tables::codes(cx, codes.as_ref(), base);
    let terms = rows(cx, "terms.yaml", "term", &keys::TERM, base);
    tables::terms(terms.as_ref(), base);
}

/// A table of rows by id.
fn rows(cx: &mut Cx<'_>, name: &'static str, noun: &str, keys: &'static Keys, base: &mut Base) -> Option<Node> {
    let tree = table(cx, name, base, |node, span, out| shape::check_rows(node, noun, keys, span, out));
    tree.map(|tree| words_only(tree, base, name))
}

/// The rows whose names are ids: only they may become addresses. Names of the others were told there, who uses them is not blamed.
fn words_only(mut tree: Node, base: &mut Base, table: &str) -> Node {
    if let Kind::Map(entries) = &mut tree.kind {
        let all = entries.len();
        entries.retain(|entry| shape::is_id(&entry.key.value));
        if entries.len() < all {
            base.broken.insert(table.to_owned());
        }
    }
    tree
}

/// Fault codes are no ids: their own form is checked by their reader.
fn code_rows(cx: &mut Cx<'_>, base: &mut Base) -> Option<Node> {
    table(cx, "codes.yaml", base, |node, span, out| shape::check_named_rows(node, "fault code", &keys::CODE, span, out))
}

fn table(
    cx: &mut Cx<'_>,
    name: &'static str,
    base: &mut Base,
    check: impl FnOnce(&Node, Span, &mut Vec<Finding>),
) -> Option<Node> {
    let loaded = cx.loaded;
    let at = loaded.roles.iter().position(|r| *r == Role::Table(name))?;
    let id = FileId(at as u32);
    let tree =
        if loaded.unreadable.contains(&id) { None } else { page::table(id, loaded.sources.file(id), &mut cx.out) };
    match &tree {
        Some(tree) => {
            check(tree, first_line(cx, id), &mut cx.out);
            if !matches!(tree.kind, Kind::Map(_)) {
                base.broken.insert(name.to_owned());
            }
        }
        // An empty file is an absent table; one with a fault was told, and names in it are not judged.
        None if cx.out.iter().any(|f| f.span.file == id) || loaded.unreadable.contains(&id) => {
            base.broken.insert(name.to_owned());
        }
        None => {}
    }
    tree
}

fn first_line(cx: &Cx<'_>, id: FileId) -> Span {
    tables::file_place(id, cx.loaded.sources.file(id).text()).key
}

fn specs(cx: &mut Cx<'_>, base: &mut Base) {
    for id in files(cx.loaded, |r| matches!(r, Role::Specs)) {
        if let Some(tree) = tree_of(cx, id, base, "specs") {
            let span = first_line(cx, id);
            shape::check_rows(&tree, "spec", &keys::SPEC, span, &mut cx.out);
            if !matches!(tree.kind, Kind::Map(_)) {
                base.broken.insert("specs".to_owned());
            }
            tables::specs(cx, &words_only(tree, base, "specs"), base);
        }
    }
}

fn tree_of(cx: &mut Cx<'_>, id: FileId, base: &mut Base, broken: &str) -> Option<Node> {
    let before = cx.out.len();
    let unreadable = cx.loaded.unreadable.contains(&id);
    let tree = if unreadable { None } else { page::table(id, cx.loaded.sources.file(id), &mut cx.out) };
    if tree.is_none() && (unreadable || cx.out.len() > before) {
        base.broken.insert(broken.to_owned());
    }
    tree
}

fn files(loaded: &Loaded, wanted: impl Fn(&Role) -> bool) -> Vec<FileId> {
    loaded.roles.iter().enumerate().filter(|(_, r)| wanted(r)).map(|(i, _)| FileId(i as u32)).collect()
}

fn shared_files(cx: &mut Cx<'_>, base: &mut Base) {
    for (kind, keys) in [("systems", &keys::SYSTEM), ("checks", &keys::CHECK), ("repairs", &keys::REPAIR)] {
        let ids = files(cx.loaded, |r| match r {
            Role::System(_) => kind == "systems",
            Role::Check(_) => kind == "checks",
            Role::Repair(_) => kind == "repairs",
            _ => false,
        });
        for file in ids {
            shared_file(cx, base, file, kind, keys);
        }
    }
}

fn shared_file(cx: &mut Cx<'_>, base: &mut Base, file: FileId, kind: &str, keys: &'static Keys) {
    let (Role::System(id) | Role::Check(id) | Role::Repair(id)) = &cx.loaded.roles[file.0 as usize] else { return };
    let source = cx.loaded.sources.file(file);
    let place = tables::file_place(file, source.text());
    if cx.loaded.unreadable.contains(&file) {
        base.broken.insert(kind.to_owned());
        return;
    }
    if !shape::is_id(id) {
        cx.push(shape::bad_id(place.key, kind.trim_end_matches('s'), id));
        base.broken.insert(kind.to_owned());
        return;
    }
    let page = page::read(file, source, keys, &mut cx.out);
    let Some(tree) = &page.tree else {
        base.broken.insert(kind.to_owned());
        return;
    };
    let owner = tree.entries().first().map_or(place.key, |e| e.key.span);
    shape::check(tree, keys, owner, &mut cx.out);
    if !matches!(tree.kind, Kind::Map(_)) {
        base.broken.insert(kind.to_owned());
        return;
    }
    match kind {
        "systems" => shared::system(cx, id, place, &page, base),
        "checks" => {
            shared::check(cx, id, place, &page, base);
            if base.checks.find(id).is_none() {
                base.broken.insert("checks".to_owned());
            }
        }
        _ => shared::repair(cx, id, place, &page, base),
    }
}

fn procedures(cx: &mut Cx<'_>, base: &mut Base) {
    let mut first: std::collections::BTreeMap<String, FileId> = std::collections::BTreeMap::new();
    for file in files(cx.loaded, |r| matches!(r, Role::Procedure(_))) {
        let Role::Procedure(id) = &cx.loaded.roles[file.0 as usize] else { continue };
        let span = first_line(cx, file);
        if !shape::is_id(id) && !cx.loaded.unreadable.contains(&file) {
            cx.push(shape::bad_id(span, "procedure", id));
        }
        match first.get(id) {
            Some(other) => {
                let label = first_line(cx, *other);
                let finding =
                    Finding::new("duplicate-id", Level::Error, span, format!("two procedures are called `{id}`"));
                cx.push(finding.label(label, "the other file").help("rename one of the files"));
            }
            None => {
                first.insert(id.clone(), file);
                base.procedures.insert(id.clone(), file);
            }
        }
    }
    if base.procedures.is_empty() && !base.broken.contains("procedures") {
        let span = first_line(cx, FileId(0));
        let finding = Finding::new(
            "bad-front-matter",
            Level::Error,
            span,
            "the knowledge base has no procedure: nothing stands in `procedures/`",
        );
        cx.push(finding.help("add a procedure: a file `procedures/NAME.md`"));
    }
}

/// Pictures whose names would be read as something else in an address.
fn figures(cx: &mut Cx<'_>) {
    for name in &cx.loaded.figures {
        if name.contains(|c: char| c.is_control() || "%?#".contains(c))
            && let Some(file) = cx.loaded.sources.find(&format!("figures/{name}"))
        {
            let told = format!("`{name}` can't name a picture: `%`, `?` and `#` mean something else in an address");
            let finding = shape::bad_value(first_line(cx, file), told);
            cx.out.push(finding.help("give the file another name"));
        }
    }
}

/// A YAML file that is no table, or a file with the wrong ending.
fn misnamed(cx: &mut Cx<'_>, base: &mut Base) {
    for file in files(cx.loaded, |r| matches!(r, Role::Misnamed)) {
        let path = cx.loaded.sources.file(file).path().to_owned();
        // What stands in a folder's place holds what can't be known: names that would stand there are not judged.
        let folder = path.split('/').next().unwrap_or_default();
        if folder == path || path.ends_with('/') {
            base.broken.insert(folder.to_owned());
        }
        if cx.loaded.unreadable.contains(&file) {
            continue;
        }
        let ending = if path.starts_with("systems/") || path.starts_with("checks/") || path.starts_with("repairs/") {
            "`.md`"
        } else {
            "`.yaml`"
        };
        let is_folder = FOLDERS.contains(&path.as_str());
        let message = if is_folder {
            format!("expected the folder `{path}`, found a file")
        } else if path.contains('/') {
            format!("`{path}` is not read: a file in this folder ends in {ending}")
        } else {
            format!("`{path}` is not read: it is no table of a knowledge base")
        };
        let finding = Finding::new("bad-front-matter", Level::Error, first_line(cx, file), message);
        let finding = match nearest(&path, TABLES) {
            _ if is_folder => finding.help("give the file another name, or take it out"),
            Some(near) => finding.help(format!("rename it to `{near}`")),
            None if path.contains('/') => {
                finding.help(format!("rename it to end in {ending}, or move it out of the base"))
            }
            None => finding.help(format!("the tables are {}", TABLES.join(", "))),
        };
        cx.push(finding);
    }
}

/// One case, where it could be read and names a procedure.
fn case_file(cx: &mut Cx<'_>, base: &Base, file: FileId) -> Option<CaseFile> {
    let Role::Case(id) = &cx.loaded.roles[file.0 as usize] else { return None };
    if cx.loaded.unreadable.contains(&file) {
        return None;
    }
    let sources = &cx.loaded.sources;
    let source = sources.file(file);
    let place = tables::file_place(file, source.text());
    let Some(tree) = page::table(file, source, &mut cx.out) else {
        if cx.out.is_empty() {
            let finding = shape::bad_value(place.key, "expected the keys of a case, found nothing");
            cx.push(finding.help("write the case, or take the file out"));
        }
        return None;
    };
    let owner = tree.entries().first().map_or(place.key, |e| e.key.span);
    shape::check(&tree, &keys::CASE, owner, &mut cx.out);
    let procedure = cx::text(&tree, "procedure")
        .and_then(|name| cx.find(&name, &base.procedures, "procedure", base.broken.contains("procedures")))
        .filter(|_| cx.out.is_empty())?;
    Some(CaseFile::new(id, Place { key: owner, ..place }, &tree, procedure, sources))
}
