//! What each piece of a file's YAML is: a key, a row's name, or the text behind a key.
//!
//! In: a tree, and the kind of file it is of. Out: [`Pieces`], in the order of the file. It judges nothing: what stands
//! where no key knows it is passed over.

use crate::load::Role;
use crate::parse::keys::{self, Key, Keys, Shape};
use crate::parse::yaml::{Entry, Kind, Node};
use crate::source::Span;

/// What a file holds at its top.
#[derive(Clone, Copy)]
pub enum Root {
    /// The keys of one thing.
    Row(&'static Keys),
    /// Rows by name: what one is called, and its keys.
    Rows(&'static str, &'static Keys),
}

/// What a file of this role holds; nothing where it has no keys.
pub fn root(role: &Role) -> Option<Root> {
    Some(match role {
        Role::Procedure(_) => Root::Row(&keys::PROCEDURE),
        Role::Check(_) => Root::Row(&keys::CHECK),
        Role::Repair(_) => Root::Row(&keys::REPAIR),
        Role::System(_) => Root::Row(&keys::SYSTEM),
        Role::Case(_) => Root::Row(&keys::CASE),
        Role::Specs => Root::Rows("spec", &keys::SPEC),
        Role::Table("shop.yaml") => Root::Row(&keys::SHOP),
        Role::Table("vehicles.yaml") => Root::Rows("vehicle", &keys::VEHICLE),
        Role::Table("codes.yaml") => Root::Rows("fault code", &keys::CODE),
        Role::Table("equipment.yaml") => Root::Rows("instrument", &keys::EQUIPMENT),
        Role::Table("setups.yaml") => Root::Rows("setup", &keys::SETUPS),
        Role::Table("hazards.yaml") => Root::Rows("hazard", &keys::HAZARD),
        Role::Table("terms.yaml") => Root::Rows("term", &keys::TERM),
        _ => return None,
    })
}

/// What a piece is.
#[derive(Clone, Copy)]
pub enum Slot {
    /// A key of this kind of row.
    Key(&'static Keys),
    /// The name of a row that is called so.
    Name(&'static str),
    /// A text behind this key of this kind of row.
    Value(&'static Keys, &'static Key),
}

/// One piece.
pub struct Piece<'n> {
    /// What it is.
    pub slot: Slot,
    /// What stands there; nothing where a value is missing.
    pub text: &'n str,
    /// Where, without quotes around it.
    pub span: Span,
    /// The row it stands in, as an index of [`Pieces::rows`].
    pub row: usize,
    /// The node of a value.
    pub node: Option<&'n Node>,
}

/// A set of keys, or of rows by name.
pub struct Row<'n> {
    /// Its keys; nothing where it holds rows by name.
    pub keys: Option<&'static Keys>,
    /// What the rows in it are called, where it holds rows by name.
    pub noun: &'static str,
    /// The key that it stands under in its parent.
    pub under: &'static str,
    /// The row around it.
    pub parent: Option<usize>,
    /// Its node.
    pub node: &'n Node,
    /// Whether a dash is missing: it is to be one of a list that does not stand there yet.
    pub wants_dash: bool,
}

/// A list of texts behind a key.
pub struct Listed<'n> {
    /// The kind of row and the key.
    pub behind: (&'static Keys, &'static Key),
    /// The row it stands in.
    pub row: usize,
    /// Its node.
    pub node: &'n Node,
}

/// A file's pieces and rows.
#[derive(Default)]
pub struct Pieces<'n> {
    /// Each row comes after the one around it.
    pub rows: Vec<Row<'n>>,
    /// In the order of the file.
    pub all: Vec<Piece<'n>>,
    /// Lists of texts.
    pub lists: Vec<Listed<'n>>,
}

impl<'n> Pieces<'n> {
    /// Takes a tree apart.
    pub fn of(tree: &'n Node, root: Root) -> Self {
        let mut pieces = Self::default();
        let at = Place { row: None, under: "", behind: None, in_list: false };
        match root {
            Root::Row(keys) => pieces.keys(tree, keys, at),
            Root::Rows(noun, keys) => {
                pieces.rows(tree, noun, at, &mut |pieces, entry, at| pieces.keys(&entry.value, keys, at));
            }
        }
        pieces
    }

    /// The rows around a piece, from the nearest outward.
    pub fn around(&self, row: usize) -> impl Iterator<Item = &Row<'n>> {
        std::iter::successors(self.rows.get(row), |row| row.parent.and_then(|p| self.rows.get(p)))
    }

    fn keys(&mut self, node: &'n Node, keys: &'static Keys, at: Place) {
        let entries = match &node.kind {
            Kind::Map(entries) => entries.as_slice(),
            Kind::List(_) => return,
            // The first key is being typed, or nothing stands here yet.
            Kind::Scalar(_) | Kind::Empty => &[],
        };
        let row = self.open(node, Some(keys), "", at);
        if let Some(text) = node.as_text() {
            self.all.push(Piece { slot: Slot::Key(keys), text, span: node.part(0, text.len()), row, node: None });
        }
        for entry in entries {
            self.all.push(piece_of_key(entry, Slot::Key(keys), row));
            if let Some(key) = keys.get(&entry.key.value) {
                let at = Place { row: Some(row), under: key.name, behind: Some((keys, key)), in_list: false };
                self.value(&entry.value, &key.shape, at);
            }
        }
    }

    fn rows(
        &mut self,
        node: &'n Node,
        noun: &'static str,
        at: Place,
        each: &mut dyn FnMut(&mut Self, &'n Entry, Place),
    ) {
        let entries = match &node.kind {
            Kind::Map(entries) => entries.as_slice(),
            Kind::Empty => &[],
            _ => return,
        };
        let row = self.open(node, None, noun, at);
        for entry in entries {
            self.all.push(piece_of_key(entry, Slot::Name(noun), row));
            each(self, entry, Place { row: Some(row), ..at });
        }
    }

    fn value(&mut self, node: &'n Node, shape: &'static Shape, at: Place) {
        match shape {
            Shape::List(item) => {
                if node.is_empty() {
                    self.value(node, item, Place { in_list: true, ..at });
                }
                if let (Kind::List(_), Shape::Text | Shape::Word, Some(row), Some(behind)) =
                    (&node.kind, item, at.row, at.behind)
                {
                    self.lists.push(Listed { behind, row, node });
                }
                for one in node.as_list() {
                    self.value(one, item, at);
                }
            }
            Shape::Row(keys) => self.keys(node, keys, at),
            Shape::Rows(noun, inner) | Shape::Named(noun, inner) => {
                self.rows(node, noun, at, &mut |pieces, entry, at| pieces.value(&entry.value, inner, at));
            }
            Shape::TextOr(other) if !(node.is_empty() || node.as_text().is_some()) => self.value(node, other, at),
            _ => self.text(node, at),
        }
    }

    fn text(&mut self, node: &'n Node, at: Place) {
        let (Some(row), Some((keys, key))) = (at.row, at.behind) else { return };
        if node.is_empty() || node.as_text().is_some() {
            let text = node.as_text().unwrap_or_default();
            let span = node.part(0, text.len());
            self.all.push(Piece { slot: Slot::Value(keys, key), text, span, row, node: Some(node) });
        }
    }

    fn open(&mut self, node: &'n Node, keys: Option<&'static Keys>, noun: &'static str, at: Place) -> usize {
        self.rows.push(Row { keys, noun, under: at.under, parent: at.row, node, wants_dash: at.in_list });
        self.rows.len() - 1
    }
}

/// Where in the file the walk is.
#[derive(Clone, Copy)]
struct Place {
    row: Option<usize>,
    under: &'static str,
    behind: Option<(&'static Keys, &'static Key)>,
    in_list: bool,
}

fn piece_of_key(entry: &Entry, slot: Slot, row: usize) -> Piece<'_> {
    let Span { file, start, end } = entry.key.span;
    let quoted = (end - start) as usize == entry.key.value.len() + 2;
    let span = if quoted { Span { file, start: start + 1, end: end - 1 } } else { entry.key.span };
    Piece { slot, text: &entry.key.value, span, row, node: None }
}
