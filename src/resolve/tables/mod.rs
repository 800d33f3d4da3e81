//! The tables of a base.
//!
//! In: the trees of `shop.yaml`, `vehicles.yaml` and the rest. Out: the rows in a [`Base`].

mod equipment;
mod shop;
mod specs;
mod vehicles;

pub(super) use equipment::{equipment, hazards, setups};
pub use vehicles::is_fault_code;

pub(super) use shop::{rule as shop_rule, shop};
pub(super) use specs::{file_place, specs};
pub(super) use vehicles::{codes, terms, vehicles};

use crate::model::{Base, Place};
use crate::parse::yaml::{Entry, Node};

/// Where a row of a table stands.
pub(super) fn place(entry: &Entry) -> Place {
    Place { key: entry.key.span, whole: entry.key.span.to(entry.value.span) }
}

/// The title of a row: its own, else its id.
fn title(entry: &Entry) -> String {
    super::cx::plain(&entry.value, "title").unwrap_or_else(|| entry.key.value.clone())
}

/// The rows of a table, empty values left out only where the shape is wrong.
fn rows(tree: Option<&Node>) -> &[Entry] {
    tree.map(Node::entries).unwrap_or_default()
}

/// Whether a table could not be read.
fn broken(base: &Base, table: &str) -> bool {
    base.broken.contains(table)
}
