//! Every place of a file where a name stands.
//!
//! In: a file's role and text, broken or not. Out: [`FileUses`]: its uses and definitions, from syntax alone, so that they
//! are there whatever a rule thinks of the file.

use std::collections::BTreeSet;
use std::ops::Range;

use super::names::{Noun, Wanted, wanted};
use super::pieces::{Piece, Pieces, Slot, root};
use super::tree;
use crate::check::path_from;
use crate::load::Role;
use crate::parse::markdown::{self, Body};
use crate::parse::yaml::{self, Node};
use crate::parse::{front_matter, keys};
use crate::source::{FileId, Span};

/// What a name names: the same symbol, the same thing.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Symbol {
    /// What kind of thing.
    pub noun: Noun,
    /// The procedure that a step, cause or heading belongs to; nothing for the step that a shared repair's `confirm`
    /// names: it is one of each procedure that uses the repair.
    pub procedure: Option<String>,
    /// The name.
    pub name: String,
}

/// One place where a name stands.
#[derive(Clone, Debug)]
pub struct Use {
    /// What it names.
    pub symbol: Symbol,
    /// The bytes of the name in the file.
    pub at: Range<usize>,
    /// Whether it is named here for the first time.
    pub is_definition: bool,
    /// Whether this stands for the file itself: its name is the file's name and not written here.
    pub is_file: bool,
    /// Whether a thing of another kind and the same name would be meant instead, if there were one.
    pub is_contested: bool,
}

/// The uses of one file.
#[derive(Debug, Default)]
pub struct FileUses {
    /// In the order of the file: YAML, headings, links.
    pub all: Vec<Use>,
    /// Whether all of it could be read: else names may stand in it that are not here.
    pub whole: bool,
}

impl FileUses {
    /// The use at a byte, its end included.
    pub fn at(&self, offset: usize) -> Option<&Use> {
        let holds = |u: &&Use| u.at.start <= offset && offset <= u.at.end;
        self.all.iter().filter(holds).min_by_key(|u| (u.is_file, u.at.len()))
    }
}

/// The parts of a file.
pub struct Parts {
    /// Its YAML, as far as it goes.
    pub tree: Option<Node>,
    /// The bytes of the YAML.
    pub yaml: Range<usize>,
    /// Its words.
    pub body: Option<Body>,
    /// Whether the YAML could be read as it stands.
    pub whole: bool,
}

/// The id that stands in a role.
pub fn id_of(role: &Role) -> Option<(Noun, &str)> {
    Some(match role {
        Role::Procedure(id) => (Noun::Procedure, id.as_str()),
        Role::System(id) => (Noun::System, id.as_str()),
        Role::Check(id) => (Noun::Check, id.as_str()),
        Role::Repair(id) => (Noun::Repair, id.as_str()),
        Role::Case(id) => (Noun::Case, id.as_str()),
        _ => return None,
    })
}

/// Takes a file apart, broken or not.
pub fn parts(role: &Role, text: &str) -> Parts {
    let file = FileId(0);
    let page = matches!(role, Role::Procedure(_) | Role::System(_) | Role::Check(_) | Role::Repair(_));
    let (yaml, body) = if page {
        let split = front_matter::split(file, text);
        let broken = split.yaml.is_none() && !split.none_meant;
        // Never closed: all of it may be YAML.
        let yaml = split.yaml.unwrap_or(if broken { opening(text)..text.len() } else { 0..0 });
        let body = if broken { text.len()..text.len() } else { split.body };
        (yaml, Some(markdown::parse(file, text, body)))
    } else {
        (0..text.len(), None)
    };
    let words = &text[yaml.clone()];
    let (strict, problems) = yaml::parse(file, words, yaml.start);
    let whole = strict.is_some() || problems.is_empty();
    let tree = strict.or_else(|| (!words.trim().is_empty()).then(|| tree::read(file, words, yaml.start)));
    Parts { tree, yaml, body, whole }
}

/// Behind the line that is meant to open the front matter.
fn opening(text: &str) -> usize {
    let line = text.find('\n').map_or(text.len(), |at| at + 1);
    if text[..line].trim_start_matches('\u{feff}').starts_with("---") { line } else { 0 }
}

/// Every use in a file.
pub fn of(path: &str, role: &Role, text: &str) -> FileUses {
    let Some(root) = root(role) else { return FileUses { all: Vec::new(), whole: true } };
    let parts = parts(role, text);
    let pieces = parts.tree.as_ref().map(|tree| Pieces::of(tree, root)).unwrap_or_default();
    let own = match role {
        Role::Procedure(id) => Some(id.clone()),
        Role::Case(_) => parts.tree.as_ref().and_then(|t| Some(t.get("procedure")?.as_text()?.to_owned())),
        _ => None,
    };
    let mut finder = Finder { path, role, own, steps: BTreeSet::new(), headings: BTreeSet::new(), all: Vec::new() };
    if let Some((noun, id)) = id_of(role) {
        let line = text.find(['\n', '\r']).unwrap_or(text.len());
        let symbol = Symbol { noun, procedure: None, name: id.to_owned() };
        finder.all.push(Use { symbol, at: 0..line, is_definition: true, is_file: true, is_contested: false });
    }
    let steps = pieces.all.iter().filter(|p| matches!(p.slot, Slot::Name("step")));
    finder.steps = steps.map(|p| p.text.to_owned()).collect();
    if let (Role::Procedure(_), Some(body)) = (role, &parts.body) {
        let twos = body.sections.iter().filter(|s| s.level == 2).filter_map(|s| s.id.as_ref());
        finder.headings = twos.map(|id| id.value.clone()).collect();
    }
    let mut groups = BTreeSet::new();
    for piece in &pieces.all {
        finder.piece(piece, &mut groups);
    }
    if let Some(body) = &parts.body {
        finder.words(body);
    }
    FileUses { all: finder.all, whole: parts.whole }
}

struct Finder<'t> {
    path: &'t str,
    role: &'t Role,
    /// The procedure whose steps and causes are meant.
    own: Option<String>,
    steps: BTreeSet<String>,
    headings: BTreeSet<String>,
    all: Vec<Use>,
}

impl Finder<'_> {
    fn add(&mut self, noun: Noun, name: &str, at: Range<usize>, is_definition: bool) {
        if name.is_empty() {
            return;
        }
        let procedure = if noun == Noun::Local { self.own.clone() } else { None };
        let symbol = Symbol { noun, procedure, name: name.to_owned() };
        self.all.push(Use { symbol, at, is_definition, is_file: false, is_contested: false });
    }

    fn contested(&mut self, noun: Noun, name: &str, at: Range<usize>) {
        let before = self.all.len();
        self.add(noun, name, at, false);
        self.all.iter_mut().skip(before).for_each(|u| u.is_contested = true);
    }

    fn piece(&mut self, piece: &Piece<'_>, groups: &mut BTreeSet<String>) {
        let at = bytes(piece.span);
        match piece.slot {
            Slot::Key(_) => {}
            Slot::Name(noun) => {
                let case = matches!(self.role, Role::Case(_));
                let top = match noun {
                    "cause" | "step" => !case,
                    "vehicle or group" | "rule" | "quantity" | "band" => false,
                    _ => true,
                };
                if let Some(noun) = Noun::of_row(noun) {
                    self.add(noun, piece.text, at, top);
                }
            }
            Slot::Value(keys, key) => {
                // A group exists by being named under a vehicle.
                let group = std::ptr::eq(keys, &raw const keys::VEHICLE) && key.name == "groups";
                let is_definition = group && groups.insert(piece.text.to_owned());
                if let Some(wanted) = wanted(keys, key) {
                    self.value(piece, wanted, is_definition);
                }
            }
        }
    }

    fn value(&mut self, piece: &Piece<'_>, wanted: Wanted, is_definition: bool) {
        let (text, at) = (piece.text, bytes(piece.span));
        let short = |to: usize| piece.node.map_or(at.clone(), |n| bytes(n.part(0, to)));
        match wanted {
            Wanted::One(noun) => self.add(noun, text, at, false),
            Wanted::Instruments => {
                let Some(node) = piece.node else { return };
                let mut from = 0;
                for part in text.split(" or ") {
                    let name = part.trim();
                    let start = from + (part.len() - part.trim_start().len());
                    self.add(Noun::Equipment, name, bytes(node.part(start, start + name.len())), false);
                    from += part.len() + " or ".len();
                }
            }
            Wanted::Vehicles(word) if text != word && text != "all" => self.add(Noun::Who, text, at, is_definition),
            Wanted::Cause(word) if text != word || word == "no-fault" => self.add(Noun::Local, text, at, false),
            Wanted::Step => self.add(Noun::Local, text, at, false),
            Wanted::Way => match text.strip_suffix('/') {
                Some(name) => self.add(Noun::Procedure, name, short(name.len()), false),
                None => self.add(Noun::Local, text, at, false),
            },
            Wanted::Changes if text != "all" => {
                let noun = if self.steps.contains(text) { Noun::Local } else { Noun::Spec };
                self.contested(noun, text, at);
            }
            Wanted::Fix => {
                let noun = if self.headings.contains(text) { Noun::Local } else { Noun::Repair };
                self.contested(noun, text, at);
            }
            _ => {}
        }
    }

    fn words(&mut self, body: &Body) {
        for id in body.sections.iter().filter_map(|s| s.id.as_ref()) {
            let known = self.all.iter().any(|u| u.is_definition && u.symbol.name == id.value);
            if self.own.is_some() {
                self.add(Noun::Local, &id.value, bytes(id.span), !known);
            }
        }
        for link in &body.links {
            let at = bytes(link.to.span);
            let to = link.to.value.as_str();
            if at.len() != to.len() {
                continue; // written with escapes
            }
            match to.split_once(':').and_then(|(kind, id)| Some((Noun::of_link(kind)?, kind, id))) {
                Some((Noun::Local, ..)) if self.own.is_none() => {}
                Some((noun, kind, id)) => self.add(noun, id, at.start + kind.len() + 1..at.end, false),
                None => self.file_link(to, at.start),
            }
        }
    }

    /// `../systems/charging.md#anchor`: the file, and the step or cause on it.
    fn file_link(&mut self, to: &str, start: usize) {
        let (file, anchor) = to.split_once('#').map_or((to, None), |(file, anchor)| (file, Some(anchor)));
        let mut procedure = self.own.clone();
        if !file.is_empty() {
            let Some(path) = path_from(self.path, file) else { return };
            let name = path.rsplit('/').next().unwrap_or("");
            let kinds = [Noun::Procedure, Noun::System, Noun::Check, Noun::Repair];
            let found = kinds.into_iter().find_map(|noun| {
                let (folder, ending) = noun.file()?;
                path.starts_with(folder).then(|| Some((noun, name.strip_suffix(ending)?)))?
            });
            let Some((noun, id)) = found else { return };
            let at = start + file.len() - name.len();
            self.add(noun, id, at..at + id.len(), false);
            procedure = (noun == Noun::Procedure).then(|| id.to_owned());
        }
        if let (Some(anchor), Some(procedure)) = (anchor.filter(|a| !a.is_empty()), procedure) {
            let at = start + to.len() - anchor.len();
            let symbol = Symbol { noun: Noun::Local, procedure: Some(procedure), name: anchor.to_owned() };
            self.all.push(Use {
                symbol,
                at: at..at + anchor.len(),
                is_definition: false,
                is_file: false,
                is_contested: false,
            });
        }
    }
}

/// A span as bytes of its file.
pub fn bytes(span: Span) -> Range<usize> {
    span.start as usize..span.end as usize
}
