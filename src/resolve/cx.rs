//! Reading a checked tree: texts, numbers, and names that become indexes.
//!
//! In: YAML nodes. Out: typed values with places, and findings for names that do not exist. What has the wrong
//! shape was told by [`parse::shape`](crate::parse::shape) and reads as absent here.

use crate::finding::{Finding, Level};
use crate::load::Loaded;
use crate::model::{Base, Ix, Set, Table, Vehicle};
use crate::parse::near::{nearest, offer, sure};
use crate::parse::yaml::Node;
use crate::parse::{amount, text_finding};
use crate::quantity::{Quantity, Rational};
use crate::source::{Span, Spanned};

/// The rules that `shop.yaml` and `allow` may name, each with its gravest level.
pub type RuleLevels = [(&'static str, Level)];

/// What the readers of tables share: the base so far, the files, the findings.
pub struct Cx<'a> {
    /// What was loaded.
    pub loaded: &'a Loaded,
    /// The rules there are.
    pub rules: &'a RuleLevels,
    /// Findings so far.
    pub out: Vec<Finding>,
    /// Whether a name did not resolve since this was last cleared.
    pub lost: bool,
}

impl<'a> Cx<'a> {
    /// A fresh one.
    pub fn new(loaded: &'a Loaded, rules: &'a RuleLevels) -> Self {
        Self { loaded, rules, out: Vec::new(), lost: false }
    }

    /// Adds a finding.
    pub fn push(&mut self, finding: Finding) {
        self.out.push(finding);
    }

    /// Adds a `bad-value`.
    pub fn bad(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        self.lost = true;
        self.out.push(Finding::new("bad-value", Level::Error, span, message));
        let last = self.out.len() - 1;
        &mut self.out[last]
    }

    /// The index of a name, or an `unresolved-name`. `table` is the file that would hold it.
    pub fn find<T>(&mut self, name: &Spanned<String>, rows: &Table<T>, noun: &str, broken: bool) -> Option<Ix<T>> {
        let found = rows.find(&name.value);
        if found.is_none() {
            self.unresolved(name, rows.ids(), noun, broken);
        }
        found
    }

    /// An `unresolved-name`, with the nearest of those there are; silent where the table that would hold it did not parse.
    pub fn unresolved<'n>(
        &mut self,
        name: &Spanned<String>,
        there: impl IntoIterator<Item = &'n str>,
        noun: &str,
        broken: bool,
    ) {
        self.lost = true;
        if broken {
            return;
        }
        self.not_there(name, there, noun, |there| match there {
            [] => format!("there is no {noun} at all yet: add it, or take the name out"),
            few if few.len() <= 12 => format!("there is {}", list(few)),
            _ => format!("add the {noun}, or take the name out"),
        });
    }

    /// An `unresolved-name` of a list that is the program's own: nobody can add to it, `all` says what there is.
    pub fn not_one_of<'n>(
        &mut self,
        name: &Spanned<String>,
        there: impl IntoIterator<Item = &'n str>,
        noun: &str,
        all: String,
    ) {
        self.lost = true;
        self.not_there(name, there, noun, |_| all);
    }

    fn not_there<'n>(
        &mut self,
        name: &Spanned<String>,
        there: impl IntoIterator<Item = &'n str>,
        noun: &str,
        none_near: impl FnOnce(&[&str]) -> String,
    ) {
        let there: Vec<&str> = there.into_iter().filter(|n| !n.is_empty()).collect();
        let finding =
            Finding::new("unresolved-name", Level::Error, name.span, format!("there is no {noun} `{}`", name.value));
        self.out.push(match nearest(&name.value, there.iter().copied()) {
            Some(near) => {
                let finding = finding.help(format!("did you mean `{near}`?"));
                match sure(&name.value, there.iter().copied()) {
                    Some(near) => offer(finding, &name.value, near, name.span, near),
                    None => finding,
                }
            }
            None => finding.help(none_near(&there)),
        });
    }

    /// Every name under a key, as indexes with places.
    pub fn names<T>(
        &mut self,
        node: &Node,
        key: &str,
        rows: &Table<T>,
        noun: &str,
        broken: bool,
    ) -> Vec<Spanned<Ix<T>>> {
        texts(node, key)
            .iter()
            .filter_map(|name| Some(Spanned::new(self.find(name, rows, noun, broken)?, name.span)))
            .collect()
    }

    /// Equipment lists: each item a name or `a or b`.
    pub fn equipment(&mut self, node: &Node, key: &str, base: &Base) -> Vec<Spanned<Vec<crate::model::EquipmentIx>>> {
        let broken = base.broken.contains("equipment.yaml");
        let Some(list) = node.get(key) else { return Vec::new() };
        let mut all = Vec::new();
        for item in list.as_list() {
            let Some(text) = item.as_text() else { continue };
            let mut alternatives = Vec::new();
            let mut at = 0;
            for part in text.split(" or ") {
                let name = part.trim();
                let from = at + (part.len() - part.trim_start().len());
                let spanned = Spanned::new(name.to_owned(), item.part(from, from + name.len()));
                if let Some(ix) = self.find(&spanned, &base.equipment, "instrument", broken) {
                    alternatives.push(ix);
                }
                at += part.len() + " or ".len();
            }
            if !alternatives.is_empty() {
                all.push(Spanned::new(alternatives, item.span));
            }
        }
        all
    }

    /// Vehicles named one by one or by group; nothing where the key is absent.
    pub fn vehicles(&mut self, node: &Node, key: &str, base: &Base) -> Option<Set<Vehicle>> {
        let names = texts(node, key);
        if names.is_empty() {
            return None;
        }
        let mut set = Set::new();
        for name in &names {
            if let Some(some) = self.vehicle_or_group(name, base) {
                set = set.or(&some);
            }
        }
        Some(set)
    }

    /// One vehicle's or group's vehicles, or all.
    pub fn vehicle_or_group(&mut self, name: &Spanned<String>, base: &Base) -> Option<Set<Vehicle>> {
        if name.value == "all" {
            return Some(Set::all(base.vehicles.len()));
        }
        if let Some(vehicle) = base.vehicles.find(&name.value) {
            return Some(Set::one(vehicle));
        }
        if let Some(group) = base.groups.get(&name.value) {
            return Some(group.clone());
        }
        let broken = base.broken.contains("vehicles.yaml");
        let there: Vec<&str> = base.vehicles.ids().chain(base.groups.ids()).collect();
        self.unresolved(name, there, "vehicle or group", broken);
        None
    }
}

/// `a, b and c` between backticks.
pub fn list(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The text under a key.
pub fn text(node: &Node, key: &str) -> Option<Spanned<String>> {
    node.get(key)?.spanned()
}

/// The plain text under a key.
pub fn plain(node: &Node, key: &str) -> Option<String> {
    Some(node.get(key)?.as_text()?.to_owned())
}

/// The texts under a key: one stands for a list of one.
pub fn texts(node: &Node, key: &str) -> Vec<Spanned<String>> {
    node.get(key).map(|n| n.as_list().iter().filter_map(Node::spanned).collect()).unwrap_or_default()
}

/// The plain texts under a key.
pub fn plains(node: &Node, key: &str) -> Vec<String> {
    texts(node, key).into_iter().map(|t| t.value).collect()
}

/// The number under a key (told already where it is none).
pub fn number(node: &Node, key: &str) -> Option<Spanned<Rational>> {
    let node = node.get(key)?;
    let value = amount::number(node.as_text()?).ok()?;
    (!value.is_negative()).then(|| Spanned::new(value, node.span))
}

/// The whole number under a key.
pub fn whole(node: &Node, key: &str) -> Option<Spanned<u32>> {
    let value = number(node, key)?;
    let text = value.value.is_integer().then(|| value.value.to_string())?;
    Some(Spanned::new(text.parse().ok()?, value.span))
}

/// The quantity under a key.
pub fn quantity(cx: &mut Cx<'_>, node: &Node, key: &str) -> Option<Spanned<Quantity>> {
    let name = text(node, key)?;
    quantity_named(cx, &name)
}

/// The quantity of a name.
pub fn quantity_named(cx: &mut Cx<'_>, name: &Spanned<String>) -> Option<Spanned<Quantity>> {
    let found = Quantity::from_name(&name.value);
    if found.is_none() {
        let names: Vec<&str> = Quantity::all().map(Quantity::name).collect();
        let all = format!("the quantities are {}", names.join(", "));
        cx.not_one_of(name, names, "quantity", all);
    }
    found.map(|q| Spanned::new(q, name.span))
}

/// Runs a reader of short text over a node; its problem becomes a finding.
pub fn read<T>(
    cx: &mut Cx<'_>,
    node: &Node,
    reader: impl FnOnce(&str) -> Result<T, crate::parse::TextProblem>,
) -> Option<T> {
    let value = reader(node.as_text()?);
    value
        .map_err(|problem| {
            cx.lost = true;
            cx.push(text_finding(node, &problem));
        })
        .ok()
}
