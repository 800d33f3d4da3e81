//! Rename, mends, outline and folds.

use std::path::Path;

use ruleout::load::Disk;
use serde_json::{Value, json};

use super::client::{Client, folder_of, tail_lamp};

const LAMP: &str = "procedures/dark-lamp.md";

/// What is found in a folder, without places, each name put back to what it was.
fn findings(root: &Path, new: &str, old: &str) -> Vec<String> {
    let linted = ruleout::lint(&Disk::new(root)).unwrap();
    let sources = &linted.loaded.sources;
    let told = linted.report.findings.iter().map(|f| {
        let file = sources.file(f.span.file).path();
        format!("{file}: {} {:?}: {} {:?}", f.rule, f.level, f.message, f.help)
    });
    let mut told: Vec<String> = told.map(|t| t.replace(new, old)).collect();
    told.sort();
    told
}

#[test]
fn a_renamed_id_means_the_same_everywhere() {
    let places = [
        (LAMP, "measure: lamp-feed", 10, "lamp-feed", 5),
        (LAMP, "then: look}", 7, "look", 4),
        (LAMP, "shows: bulb}", 8, "bulb", 4),
        (LAMP, "fix: renew-fuse", 7, "renew-fuse", 2),
        (LAMP, "fix: renew-bulb", 7, "renew-bulb", 2),
        (LAMP, "slow-lift/}", 2, "slow-lift", 3),
        (LAMP, "[small]", 3, "small", 3),
        (LAMP, "{#feed}", 3, "feed", 4),
        (LAMP, "system: lighting", 9, "lighting", 3),
        (LAMP, "check: look-at-bulb", 9, "look-at-bulb", 2),
        (LAMP, "{step: verify", 8, "verify", 6),
        (LAMP, "---", 1, "dark-lamp", 2),
        ("vehicles.yaml", "kite:", 1, "kite", 2),
        ("setups.yaml", "lens-off:", 1, "lens-off", 2),
        ("hazards.yaml", "roll:", 1, "roll", 3),
        ("equipment.yaml", "meter:", 1, "meter", 4),
        ("cases/2031-1.yaml", "verify: dark", 1, "verify", 6),
        ("cases/2031-1.yaml", "procedure:", 0, "2031-1", 1),
        ("repairs/renew-bulb.md", "verify", 0, "verify", 6),
        ("terms.yaml", "tail-lamp:", 0, "tail-lamp", 1),
    ];
    let before = findings(tail_lamp().path(), "\u{0}", "\u{0}");
    for (path, text, within, name, least) in places {
        let mut client = Client::open(tail_lamp());
        let whole = client.open_file(path);
        let mut params = client.at(path, &whole, text, within);
        let prepared = client.request("textDocument/prepareRename", params.clone());
        assert_eq!(prepared["placeholder"], name, "{path}: {text}");
        params["newName"] = json!("zz-renamed");
        let edit = client.request("textDocument/rename", params);
        let edits: usize =
            edit["documentChanges"].as_array().unwrap().iter().map(|c| c["edits"].as_array().map_or(1, Vec::len)).sum();
        assert!(edits >= least, "{name}: {edits} places, {edit}");
        client.apply(&edit);
        assert_eq!(findings(&client.root, "zz-renamed", name), before, "{name}");
        client.shut_down();
    }
}

fn refusal(client: &mut Client, path: &str, at: &str, within: usize, new: &str) -> String {
    let text = client.read(path);
    let mut params = client.at(path, &text, at, within);
    params["newName"] = json!(new);
    let answer = client.ask("textDocument/rename", params);
    assert_eq!(answer["error"]["code"], -32803, "{answer}");
    answer["error"]["message"].as_str().unwrap().to_owned()
}

#[test]
fn a_bad_or_taken_id_is_refused_in_plain_words() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file(LAMP);
    let c = &mut client;
    assert!(refusal(c, LAMP, "then: look}", 7, "Look Again").contains("write `look-again`"));
    assert!(refusal(c, LAMP, "then: look}", 7, "feed").contains("`feed` is taken"));
    assert!(refusal(c, LAMP, "then: look}", 7, "renew-fuse").contains("is taken"));
    assert!(refusal(c, LAMP, "shows: bulb}", 8, "no-fault").contains("reserved"));
    assert!(refusal(c, LAMP, "no-fault: {", 2, "nothing").contains("reserved"));
    assert!(refusal(c, LAMP, "[small]", 3, "kite").contains("is taken"));
    assert!(refusal(c, LAMP, "[small]", 3, "all").contains("every one"));
    assert!(refusal(c, LAMP, "B1001", 3, "B1002").contains("is taken"));
    assert!(refusal(c, LAMP, "B1001", 3, "b9").contains("no fault code"));
    assert!(refusal(c, LAMP, "X-7", 1, "x/y").contains("can't name a fault code"));
    assert!(refusal(c, LAMP, "measure: lamp-feed", 12, "air-line").contains("is taken (Air line left against right)"));
    assert!(refusal(c, LAMP, "out-of-turn", 3, "x").contains("keeps its name"));
    assert!(refusal(c, LAMP, "Both lamps, switch on", 3, "x").contains("no id stands here"));
    std::fs::write(c.root.join("hazards.yaml"), "high-voltage: {signal: danger, text: Keep off}\n").unwrap();
    c.open_file("hazards.yaml");
    assert!(refusal(c, "hazards.yaml", "high-voltage", 2, "x").contains("keeps its name"));
    client.change(LAMP, &text.replace("figure: socket.svg", "figure: {"));
    assert!(refusal(&mut client, "specs/lamp.yaml", "lamp-feed", 2, "x").contains("mend it first"));
    client.shut_down();
}

#[test]
fn a_name_that_would_come_to_mean_something_else_is_refused() {
    let procedure = |changes: &str| {
        format!(
            "---\ncomplaint: C\ncauses:\n  a: {{title: A, fix: r}}\nsteps:\n  one: {{measure: s, results: [{{if: in spec, then: two}}, {{if: out of spec, shows: a}}]}}\n  \
             two: {{do: D, changes: [{changes}], then: three}}\n  three: {{observe: O, results: [{{if: x, found: a}}]}}\n---\n## R {{#r}}\nx\n"
        )
    };
    let spec = "s: {quantity: dc voltage, value: 1 to 2 V, source: Invented}\n";
    let one = procedure("s");
    let mut client = Client::open(folder_of(&[("procedures/p.md", &one), ("specs/s.yaml", spec)]));
    assert!(refusal(&mut client, "specs/s.yaml", "s:", 0, "one").contains("means something else"));
    assert!(refusal(&mut client, "procedures/p.md", "one:", 0, "s").contains("means something else"));
    let two = procedure("all");
    std::fs::write(client.root.join("procedures/p.md"), &two).unwrap();
    client.open_file("procedures/p.md");
    let mut params = client.at("procedures/p.md", &two, "one:", 0);
    params["newName"] = json!("s");
    assert!(client.request("textDocument/rename", params)["documentChanges"].is_array());
    client.shut_down();
}

#[test]
fn mends_are_offered_and_mend() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file(LAMP).replace("then: look}", "then: lok}");
    client.change(LAMP, &text);
    std::fs::write(client.root.join(LAMP), &text).unwrap();
    let params = client.at(LAMP, &text, "then: lok}", 7);
    let range = json!({"start": params["position"], "end": params["position"]});
    let ask = |only: Value| json!({"textDocument": params["textDocument"], "range": range, "context": {"diagnostics": [], "only": only}});
    let actions = client.request("textDocument/codeAction", ask(json!(["quickfix"])));
    assert_eq!(actions[0]["title"], "write `look`");
    client.apply(&actions[0]["edit"]);
    assert!(client.read(LAMP).contains("then: look}"));
    assert_eq!(client.request("textDocument/codeAction", ask(json!(["refactor"]))), json!([]));
    client.shut_down();
}

#[test]
fn the_outline_names_causes_steps_and_repairs() {
    let mut client = Client::open(tail_lamp());
    client.open_file(LAMP);
    let doc = json!({"textDocument": {"uri": client.uri(LAMP)}});
    let outline = client.request("textDocument/documentSymbol", doc.clone());
    let names = |symbols: &Value| -> Vec<String> {
        symbols.as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(names(&outline)[..2], ["causes", "steps"]);
    assert!(names(&outline).contains(&"renew-fuse".to_owned()));
    assert_eq!(names(&outline[1]["children"]), ["verify", "look", "size", "feed", "swap", "look-again"]);
    assert_eq!(outline[0]["children"][0]["detail"], "Bulb blown");
    let folds = client.request("textDocument/foldingRange", doc);
    let folds = folds.as_array().unwrap();
    assert_eq!(folds[0]["kind"], "region");
    assert!(folds.len() > 15 && folds.iter().all(|f| f["startLine"].as_u64() < f["endLine"].as_u64()), "{folds:?}");
    let table =
        client.request("textDocument/documentSymbol", json!({"textDocument": {"uri": client.uri("vehicles.yaml")}}));
    assert_eq!(names(&table), ["kite", "reed", "oak"]);
    client.shut_down();
}
