//! The table of keys as JSON Schema 2020-12, for any editor's YAML support.
//!
//! In: [`keys`](super::keys), the table that [`shape`](super::shape) checks files against, and what the resolver asks of a
//! row as a whole (one kind per step, one way on per result). Out: one schema per kind of file, or one for all.
//!
//! Our reader takes every scalar as text. Other readers type `12`, `yes` and `2031-05-04`: wherever a text may stand, a
//! number or a boolean is valid too. Nothing after a key is not: it is no text.

use serde_json::{Map, Value, json};

use super::keys::{self, Key, Keys, Shape};

/// The dialect.
pub const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";
/// What an id looks like.
const ID: &str = "^(?!index$)[a-z0-9][a-z0-9-]{0,99}$";
/// The standard form of a fault code (SAE J2012 / ISO 15031-6).
const CODE: &str = "^[PCBU][0-3][0-9A-F]{3}$";
/// A maker's own form.
const OWN_CODE: &str = "^(?![Ii][Nn][Dd][Ee][Xx]$)[A-Za-z0-9_-][A-Za-z0-9._-]{0,31}$";
const WAYS: [&str; 6] = ["then", "shows", "found", "normal", "unproven", "refer"];

/// One kind of file.
#[derive(Debug)]
pub struct FileKind {
    /// As `ruleout schema` takes it.
    pub name: &'static str,
    /// Which files.
    pub files: &'static str,
    /// The keys of the file, or of each of its rows.
    keys: &'static Keys,
    /// What a row is called where the file is a table of rows by id.
    rows: Option<&'static str>,
}

/// Every kind of file, in the order of the documentation.
pub static KINDS: [FileKind; 13] = [
    page("procedure", "front matter of procedures/**/ID.md", &keys::PROCEDURE),
    page("check", "front matter of checks/ID.md", &keys::CHECK),
    page("repair", "front matter of repairs/ID.md", &keys::REPAIR),
    page("system", "front matter of systems/ID.md", &keys::SYSTEM),
    page("case", "cases/ID.yaml", &keys::CASE),
    page("shop", "shop.yaml", &keys::SHOP),
    table("specs", "specs/*.yaml", &keys::SPEC, "spec"),
    table("vehicles", "vehicles.yaml", &keys::VEHICLE, "vehicle"),
    table("codes", "codes.yaml", &keys::CODE, "fault code"),
    table("equipment", "equipment.yaml", &keys::EQUIPMENT, "instrument"),
    table("setups", "setups.yaml", &keys::SETUPS, "setup"),
    table("hazards", "hazards.yaml", &keys::HAZARD, "hazard"),
    table("terms", "terms.yaml", &keys::TERM, "term"),
];

const fn page(name: &'static str, files: &'static str, keys: &'static Keys) -> FileKind {
    FileKind { name, files, keys, rows: None }
}

const fn table(name: &'static str, files: &'static str, keys: &'static Keys, row: &'static str) -> FileKind {
    FileKind { name, files, keys, rows: Some(row) }
}

/// The schema of one kind of file: self-contained.
pub fn of(kind: &FileKind) -> Value {
    let mut writer = Writer::default();
    let root = writer.file(kind);
    let mut schema = json!({
        "$schema": DIALECT,
        "title": format!("ruleout {}", kind.name),
        "description": kind.files,
    });
    merge(&mut schema, root);
    merge(&mut schema, json!({ "$defs": writer.defs }));
    schema
}

/// One schema for every file, each kind under `$defs` by its name.
pub fn all() -> Value {
    let mut writer = Writer::default();
    let mut files = Map::new();
    for kind in &KINDS {
        let mut schema = json!({ "title": format!("ruleout {}", kind.name), "description": kind.files });
        merge(&mut schema, writer.file(kind));
        files.insert(kind.name.to_owned(), schema);
    }
    let any: Vec<Value> = KINDS.iter().map(|kind| refer(kind.name)).collect();
    files.extend(writer.defs);
    json!({
        "$schema": DIALECT,
        "title": "ruleout",
        "description": "any file of a knowledge base; each kind of file is under $defs",
        "anyOf": any,
        "$defs": files,
    })
}

/// Rows that other rows name, by the word after "a".
#[derive(Default)]
struct Writer {
    defs: Map<String, Value>,
}

impl Writer {
    fn file(&mut self, kind: &FileKind) -> Value {
        let mut file = match kind.rows {
            None => self.row(kind.keys),
            Some(noun) => {
                let row = self.named_row(kind.keys);
                rows(noun, &row)
            }
        };
        // An empty table is an absent one.
        if kind.rows.is_some() || kind.keys.needs_none() {
            merge(&mut file, json!({ "type": ["object", "null"] }));
        }
        file
    }

    /// A reference to a row's definition, which is made on the way.
    fn named_row(&mut self, keys: &'static Keys) -> Value {
        let name = def_name(keys);
        if !self.defs.contains_key(&name) {
            self.defs.insert(name.clone(), Value::Null); // a row that holds itself would come back here
            let row = self.row(keys);
            self.defs.insert(name.clone(), row);
        }
        refer(&name)
    }

    fn row(&mut self, keys: &'static Keys) -> Value {
        let mut properties = Map::new();
        for key in keys.keys {
            properties.insert(key.name.to_owned(), self.key(key));
        }
        let required: Vec<&str> = keys.keys.iter().filter(|k| k.required).map(|k| k.name).collect();
        let mut row = json!({ "type": "object", "properties": properties, "additionalProperties": false });
        if !required.is_empty() {
            merge(&mut row, json!({ "required": required }));
        }
        merge(&mut row, whole(keys));
        row
    }

    fn key(&mut self, key: &'static Key) -> Value {
        let mut schema = json!({ "description": key.doc });
        merge(&mut schema, self.value(&key.shape));
        match key.name {
            "feedback" => merge(&mut schema, json!({ "pattern": "[^\\s@]@[^\\s@]" })),
            "on" => merge(&mut schema, json!({ "pattern": "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$" })),
            "groups" => merge(&mut schema, each(&json!({ "pattern": ID, "not": { "const": "all" } }))),
            "quantity" => merge(&mut schema, json!({ "examples": quantities() })),
            _ => {}
        }
        schema
    }

    fn value(&mut self, shape: &'static Shape) -> Value {
        match shape {
            Shape::Text | Shape::Word => text(),
            Shape::Number => number("^\\+?([0-9]+(\\.[0-9]+)?|\\.[0-9]+)$", "number"),
            Shape::Whole => number("^\\+?[0-9]+(\\.0+)?$", "integer"),
            Shape::OneOf(words) => one_of(words),
            Shape::List(item) => {
                let item = self.value(item);
                json!({ "anyOf": [item, { "type": "array", "items": item }] })
            }
            Shape::Row(keys) => self.named_row(keys),
            Shape::Rows(noun, inner) => {
                let row = self.value(inner);
                rows(noun, &row)
            }
            // Whether such a name exists is a later question than shape; only a band is named here.
            Shape::Named(noun, inner) => {
                let row = self.value(inner);
                rows(if *noun == "band" { noun } else { "" }, &row)
            }
            Shape::TextOr(other) => {
                let other = self.value(other);
                json!({ "anyOf": [text(), other] })
            }
        }
    }
}

/// "a step" names the definition `step`.
fn def_name(keys: &Keys) -> String {
    let words = keys.of.trim_start_matches("an ").trim_start_matches("a ");
    words.chars().filter(|c| *c != '`').map(|c| if c == ' ' { '-' } else { c }).collect()
}

fn refer(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

fn text() -> Value {
    json!({ "type": ["string", "number", "boolean"] })
}

/// As text, or as a reader that types numbers hands it over.
fn number(pattern: &str, kind: &str) -> Value {
    json!({ "type": ["string", kind], "pattern": pattern, "minimum": 0 })
}

/// Words; those that older readers take for a boolean stand as one too.
fn one_of(words: &[&str]) -> Value {
    let mut choices: Vec<Value> = words.iter().map(|w| json!(w)).collect();
    if words.contains(&"yes") {
        choices.push(json!(true));
    }
    if words.iter().any(|w| ["no", "off"].contains(w)) {
        choices.push(json!(false));
    }
    json!({ "enum": choices })
}

fn quantities() -> Vec<&'static str> {
    crate::quantity::Quantity::all().map(crate::quantity::Quantity::name).collect()
}

/// Rows by name. What they are called decides what a name looks like.
fn rows(noun: &str, row: &Value) -> Value {
    let names = match noun {
        "cause" | "step" | "bay" | "spec" | "instrument" | "setup" | "hazard" | "term" => json!({ "pattern": ID }),
        "vehicle" => json!({ "pattern": ID, "not": { "const": "all" } }),
        "fault code" => json!({ "pattern": OWN_CODE }),
        "band" => json!({ "pattern": "^[^0-9]+$" }),
        _ => json!({}),
    };
    let mut table = json!({ "type": "object", "minProperties": 1, "propertyNames": names });
    let own = match noun {
        // The reserved cause has its own title.
        "cause" => json!({
            "properties": { "no-fault": row },
            "additionalProperties": { "allOf": [row, { "required": ["title"] }] },
        }),
        "fault code" => json!({
            "patternProperties": { CODE: row },
            "additionalProperties": { "allOf": [row, { "required": ["own-form"] }, own_form()] },
        }),
        _ => json!({ "additionalProperties": row }),
    };
    merge(&mut table, own);
    table
}

fn own_form() -> Value {
    json!({ "properties": { "own-form": { "enum": ["yes", true] } } })
}

/// What the resolver asks of a row as a whole.
fn whole(keys: &Keys) -> Value {
    match keys.of {
        "a step" => step(),
        "a check" => json!({ "oneOf": required_each(&["measure", "observe", "do"]) }),
        "a result" => json!({ "oneOf": required_each(&WAYS), "allOf": [{ "oneOf": required_each(&["if", "for"]) }] }),
        "an ending" => json!({ "oneOf": required_each(&WAYS) }),
        "a line of `confirm`" => json!({ "oneOf": required_each(&["step", "check"]) }),
        "a spec" => json!({
            "oneOf": required_each(&["value", "values"]),
            "dependentRequired": { "of": ["take"], "take": ["of"], "names": ["of", "take"] },
            "if": { "required": ["take"], "properties": { "take": { "const": "difference" } } },
            "then": { "required": ["names"], "properties": { "names": { "type": "array", "minItems": 2, "maxItems": 2 } } },
        }),
        _ => json!({}),
    }
}

/// A step is exactly one thing; an action leads on, everything else has results; a `which` is told by `for`, a test by `if`.
fn step() -> Value {
    let results = json!({ "required": ["results"], "properties": { "then": false, "results": some() } });
    let action = json!({ "required": ["then"], "properties": { "results": false } });
    json!({
        "oneOf": required_each(&["measure", "observe", "do", "check", "which"]),
        "allOf": [
            { "if": { "required": ["do"] }, "then": action },
            { "if": { "anyOf": required_each(&["measure", "observe", "which"]) }, "then": results },
            // A shared check may be either.
            { "if": { "required": ["check"] }, "then": { "oneOf": [results, action] } },
            {
                "if": { "required": ["which"] },
                "then": { "properties": { "results": each(&json!({ "required": ["for"] })) } },
                "else": { "properties": { "results": each(&json!({ "required": ["if"] })) } },
            },
        ],
    })
}

fn some() -> Value {
    json!({ "minItems": 1 })
}

fn required_each(names: &[&str]) -> Vec<Value> {
    names.iter().map(|n| json!({ "required": [n] })).collect()
}

/// The same for one item as for each of a list.
fn each(item: &Value) -> Value {
    json!({ "if": { "type": "array" }, "then": { "items": item }, "else": item })
}

/// Adds the members of one object to another.
fn merge(into: &mut Value, from: Value) {
    if let (Value::Object(into), Value::Object(from)) = (into, from) {
        into.extend(from);
    }
}
