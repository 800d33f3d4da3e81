//! The schema against the parser: a small base that uses every key, changed in every way that is about shape.
//!
//! With the folder `RULEOUT_OUT` set, writes `schema.json` into it (schemas, files, and what the parser says of each) for
//! the outside check `tests/outside/schema_jsonschema.py`; without, checks only that they can be made.

use ruleout::load::{self, Memory};
use ruleout::parse::schema::{self, KINDS};
use ruleout::resolve;
use serde_json::{Value, json};

/// Kind, path, content: every scalar is a text.
fn base() -> Vec<(&'static str, &'static str, Value)> {
    let mut files = tables();
    files.push(("check", "checks/rest.md", json!({
        "title": "Rest", "measure": "rest-voltage", "with": ["meter"], "without": {"refer": "Borrow one"}, "setup": ["cover-off"],
        "minutes": "3", "wait": "2", "hazards": ["acid"], "away-from": ["spark"], "changes": ["load"], "undo": "Lid on",
        "record": ["hour"], "figure": "a.svg",
    })));
    files.push(("repair", "repairs/renew.md", json!({
        "title": "Renew it", "with": ["meter"], "minutes": "20", "hazards": ["acid"], "confirm": [{"step": "volts", "if": "in spec"}],
        "codes": "clear", "trips": "1", "undo": "Fuse in",
    })));
    files.push(("system", "systems/feed.md", json!({"title": "The feed", "hazards": ["acid"]})));
    files.push(("case", "cases/one.yaml", json!({
        "procedure": "dim", "vehicle": "van", "readings": {"look": "bright", "volts": ["12.1 V", "12.7 V"]}, "cause": "cell",
        "minutes": "12", "note": "n",
    })));
    files.push(("procedure", "procedures/dim.md", procedure()));
    files
}

fn procedure() -> Value {
    json!({
        "complaint": "Dim", "also": ["weak"], "codes": ["P0562"], "applies": ["van"], "system": "feed", "hazards": ["acid"],
        "causes": {
            "cell": {"title": "Cell", "share": "3", "fix": "renew", "for": ["van"], "also": ["battery"],
                     "part": {"name": "Cell", "number": "0451", "price": "80", "minutes": "15"}},
            "no-fault": {"share": "1"},
        },
        "steps": {
            "look": {"observe": "The lamp", "record": ["x"], "figure": "a.svg", "minutes": "1", "wait": "1", "results": [
                {"if": "dark", "clears": ["cell"], "normal": "Fine", "note": "n"},
                {"if": "dim", "leaves": ["cell", "no-fault"], "then": "who"},
            ]},
            "who": {"which": "vehicle", "results": [{"for": ["van"], "then": "volts"}, {"for": "any other vehicle", "refer": "Ask"}]},
            "volts": {"measure": "rest-voltage", "with": ["meter"], "without": {"refer": "Borrow one"}, "results": [
                {"if": "in spec", "then": "act"}, {"if": "below spec", "shows": "cell"}, {"if": "above spec", "unproven": "Odd"},
            ]},
            "act": {"do": "Wait", "then": "rest", "changes": "all", "setup": ["cover-off"], "undo": "Lid", "hazards": ["acid"]},
            "rest": {"check": "rest", "after": ["volts"], "undoes": ["act"], "away-from": ["acid"], "without": "drop", "results": [
                {"if": "in spec", "then": "drop"}, {"if": "out of spec", "found": ["cell"]},
            ]},
            "drop": {"measure": {"quantity": "dc voltage", "at": "posts", "when": "cold", "source": "Invented"}, "results":
                {"if": "any other reading", "found": "what is left"}},
        },
        "after-repair": {"confirm": {"step": "volts", "if": "in spec"}, "codes": "clear", "trips": "1"},
        "allow": {"no-news": "because"},
        "reviewed": {"by": "MK", "on": "2031-05-04", "of": "4f2a9c"},
    })
}

fn tables() -> Vec<(&'static str, &'static str, Value)> {
    vec![
        (
            "vehicles",
            "vehicles.yaml",
            json!({"van": {"title": "Van", "groups": ["12-volt"]}, "bus": {"groups": ["24-volt"]}}),
        ),
        (
            "codes",
            "codes.yaml",
            json!({
                "P0562": {"title": "Low", "trips": "2", "monitor": "m", "own-form": "no"}, "b7.x": {"title": "Own", "own-form": "yes"},
            }),
        ),
        (
            "equipment",
            "equipment.yaml",
            json!({"meter": {"title": "Meter", "hazards": ["acid"], "measures": {
            "dc voltage": {"range": "0 to 600 V", "resolution": "0.01 V", "accuracy": "0.5 % + 2 digits"}}}}),
        ),
        (
            "setups",
            "setups.yaml",
            json!({"cover-off": {"title": "Cover off", "minutes": "4", "with": ["meter"], "hazards": ["acid"],
            "away-from": ["spark"], "ends": ["on-bench"], "undo": "Cover on"}, "on-bench": {"title": "Bench"}}),
        ),
        (
            "hazards",
            "hazards.yaml",
            json!({"acid": {"title": "Acid", "signal": "danger", "text": "Goggles on", "never-with": ["spark"]},
            "spark": {"signal": "notice", "text": "No sparks"}}),
        ),
        ("terms", "terms.yaml", json!({"cell": {"title": "Cell", "also": ["battery"], "means": "m"}})),
        (
            "shop",
            "shop.yaml",
            json!({"title": "Depot", "currency": "EUR", "labour-rate": "72", "default-minutes": "5",
            "units": {"pressure": "kPa"}, "bays": {"main": {"title": "Main", "has": ["meter"]}},
            "rules": {"unused-entry": "off"}, "feedback": "f@example.invalid"}),
        ),
        (
            "specs",
            "specs/a.yaml",
            json!({
                "rest-voltage": {"title": "Rest", "quantity": "dc voltage", "at": "posts", "when": "cold", "source": "Invented", "values": {
                    "12-volt": "12.4 to 12.9 V", "bus": {"in spec": "25 to 26 V", "weak": "24 to below 25 V"}}},
                "load": {"quantity": "percentage", "of": "force", "names": ["left", "right"], "take": "difference",
                    "value": {"in spec": "at most 30 %"}, "source": "Invented"},
            }),
        ),
    ]
}

/// Every change of one place that is about shape.
fn changes(root: &Value) -> Vec<(String, Value)> {
    let mut places = Vec::new();
    walk(root, String::new(), &mut places);
    let mut all = Vec::new();
    for place in &places {
        let here = root.pointer(place).unwrap();
        let mut put = |what: &str, value: Value| {
            let mut root = root.clone();
            *root.pointer_mut(place).unwrap() = value;
            all.push((format!("{place}: {what}"), root));
        };
        put("nothing", Value::Null);
        put("rows", json!({"zzz": "zzz"}));
        put("a list in a list", json!([["zzz"]]));
        put("a list of rows", json!([{"zzz": "zzz"}]));
        match here {
            Value::Object(keys) => {
                put("a text", json!("zzz"));
                put("no rows", json!({}));
                put("in a list", json!([here]));
                for key in keys.keys() {
                    let mut less = keys.clone();
                    less.shift_remove(key);
                    put(&format!("without {key}"), Value::Object(less));
                }
                for (key, value) in MORE {
                    let mut more = keys.clone();
                    if more.insert((*key).to_owned(), json!(value)).is_none() {
                        put(&format!("with {key}"), Value::Object(more));
                    }
                }
                let renamed = keys.iter().map(|(k, v)| (format!("{k} X_"), v.clone())).collect();
                put("names that are none", Value::Object(renamed));
            }
            Value::Array(items) => {
                put("no item", json!([]));
                put("an item of nothing", json!([null]));
                if let [one] = items.as_slice() {
                    put("one for a list of one", one.clone());
                }
            }
            _ => {
                put("in a list", json!([here]));
                if here.as_str().is_some_and(|t| t.parse::<f64>().is_ok()) {
                    for number in
                        ["0", "1.5", "1.0", "+5", "-5", ".5", "5.", "1e3", "0x1f", "1,5", "12 min", "five", "007"]
                    {
                        put(number, json!(number));
                    }
                }
            }
        }
    }
    all
}

/// Keys that are added to every row: most are strangers there, some make two ways on, or two kinds.
const MORE: &[(&str, &str)] = &[
    ("zzz", "x"),
    ("then", "who"),
    ("refer", "Ask"),
    ("shows", "cell"),
    ("if", "x"),
    ("for", "van"),
    ("observe", "x"),
    ("do", "x"),
    ("check", "rest"),
    ("which", "vehicle"),
    ("step", "volts"),
    ("value", "TBD"),
    ("take", "spread"),
    ("names", "a"),
    ("minutes", "4"),
];

fn walk(value: &Value, at: String, out: &mut Vec<String>) {
    match value {
        Value::Object(keys) => {
            for (key, value) in keys {
                walk(value, format!("{at}/{}", key.replace('/', "~1")), out);
            }
        }
        Value::Array(items) => {
            for (n, item) in items.iter().enumerate() {
                walk(item, format!("{at}/{n}"), out);
            }
        }
        _ => {}
    }
    out.push(at);
}

/// As YAML: JSON is a part of it, but for nothing, which is an empty place.
fn yaml(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Object(keys) => {
            let keys: Vec<String> = keys.iter().map(|(k, v)| format!("{}: {}", json!(k), yaml(v))).collect();
            format!("{{{}}}", keys.join(", "))
        }
        Value::Array(items) => items.iter().fold("[".to_owned(), |list, item| list + &yaml(item) + ",") + "]",
        other => other.to_string(),
    }
}

fn write_file(memory: &mut Memory, path: &str, value: &Value) {
    let text = yaml(value);
    let page = path.contains("s/") && !path.starts_with("specs/") && !path.starts_with("cases/");
    memory.set(path, if page { format!("---\n{text}\n---\n# Title\n") } else { text + "\n" });
}

/// What the parser and the resolver say of one file's shape: the messages of these rules.
fn told(memory: &Memory, path: &str) -> Vec<String> {
    let loaded = load::load(memory).unwrap();
    let rules = ruleout::pipeline::rule_levels();
    let tables = resolve::tables(&loaded, &rules);
    let file = loaded.sources.find(path).unwrap();
    let mut findings = [tables.findings.clone(), tables.case_findings.clone()].concat();
    for ix in tables.base.procedures.indexes().filter(|ix| tables.base.procedures[*ix] == file) {
        findings.extend(ruleout::pipeline::read_procedure(&loaded, &tables, &rules, ix).findings);
    }
    let shape = ["bad-front-matter", "unknown-key", "bad-value"];
    let here = findings.iter().filter(|f| f.span.file == file && shape.contains(&f.rule));
    here.map(|f| format!("{}: {}", f.rule, f.message)).collect()
}

#[test]
fn dump_schema_answers() {
    let files = base();
    let mut memory = Memory::default();
    for (_, path, value) in &files {
        write_file(&mut memory, path, value);
    }
    memory.set("figures/a.svg", "<svg xmlns='http://www.w3.org/2000/svg'><title>a</title></svg>");
    let out = std::env::var_os("RULEOUT_OUT");
    let mut answers = Vec::new();
    for (kind, path, value) in &files {
        assert_eq!(told(&memory, path), Vec::<String>::new(), "{path}");
        answers.push(json!({"kind": kind, "change": "none", "value": value, "told": []}));
        // Without a judge that asks for all, a few are enough.
        let every = if out.is_some() { 1 } else { 20 };
        for (change, value) in changes(value).into_iter().step_by(every) {
            let mut changed = memory.clone();
            write_file(&mut changed, path, &value);
            answers.push(json!({"kind": kind, "change": change, "value": value, "told": told(&changed, path)}));
        }
    }
    assert!(answers.len() > if out.is_some() { 1000 } else { 50 }, "{} files", answers.len());
    let schemas: serde_json::Map<String, Value> = KINDS.iter().map(|k| (k.name.to_owned(), schema::of(k))).collect();
    let all = json!({"schemas": schemas, "all": schema::all(), "answers": answers});
    if let Some(folder) = out {
        std::fs::write(std::path::Path::new(&folder).join("schema.json"), all.to_string()).unwrap();
    }
}
