//! From a name to its definition and its uses.

use serde_json::{Value, json};

use super::client::{Client, byte, tail_lamp};

const LAMP: &str = "procedures/dark-lamp.md";

/// File and text of each place.
fn told(client: &Client, places: &Value) -> Vec<(String, String)> {
    let mut told: Vec<(String, String)> = places
        .as_array()
        .unwrap()
        .iter()
        .map(|place| {
            let path = place["uri"].as_str().unwrap().strip_prefix(&format!("{}/", client.uri(""))).unwrap().to_owned();
            let text = client.read(&path);
            let at = byte(&text, &place["range"]["start"])..byte(&text, &place["range"]["end"]);
            let line = text[..at.start].matches('\n').count() + 1;
            (format!("{path}:{line}"), text[at].to_owned())
        })
        .collect();
    told.sort();
    told
}

fn definition(client: &mut Client, path: &str, text: &str, at: &str, within: usize) -> Vec<(String, String)> {
    let params = client.at(path, text, at, within);
    let answer = client.request("textDocument/definition", params);
    told(client, &answer)
}

fn one(place: &str, text: &str) -> Vec<(String, String)> {
    vec![(place.to_owned(), text.to_owned())]
}

#[test]
fn names_lead_to_their_definitions() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file(LAMP);
    let c = &mut client;
    assert_eq!(definition(c, LAMP, &text, "measure: lamp-feed", 12), one("specs/lamp.yaml:1", "lamp-feed"));
    assert_eq!(definition(c, LAMP, &text, "then: look}", 6), one(&format!("{LAMP}:20"), "look"));
    assert_eq!(definition(c, LAMP, &text, "found: fuse}", 8), one(&format!("{LAMP}:9"), "fuse"));
    assert_eq!(definition(c, LAMP, &text, "fix: renew-fuse", 8), one(&format!("{LAMP}:80"), "renew-fuse"));
    assert_eq!(definition(c, LAMP, &text, "fix: renew-bulb", 8), one("repairs/renew-bulb.md:1", "---"));
    assert_eq!(definition(c, LAMP, &text, "slow-lift/", 3), one("procedures/slow-lift.md:1", "---"));
    assert_eq!(definition(c, LAMP, &text, "slow-lift.md#air", 3), one("procedures/slow-lift.md:1", "---"));
    assert_eq!(definition(c, LAMP, &text, "slow-lift.md#air", 14), one("procedures/slow-lift.md:8", "air"));
    assert_eq!(definition(c, LAMP, &text, "[small]", 2), one("vehicles.yaml:1", "small"));
    assert_eq!(definition(c, LAMP, &text, "{#feed}", 3), one(&format!("{LAMP}:32"), "feed"));
    assert_eq!(definition(c, LAMP, &text, "(spec:lamp-feed)", 9), one("specs/lamp.yaml:1", "lamp-feed"));
    client.shut_down();
}

#[test]
fn every_use_is_found_even_in_a_broken_file() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file(LAMP);
    let mut params = client.at(LAMP, &text, "measure: lamp-feed", 12);
    params["context"] = json!({"includeDeclaration": false});
    let uses = client.request("textDocument/references", params.clone());
    let places: Vec<String> = told(&client, &uses).into_iter().map(|(p, _)| p).collect();
    assert_eq!(places.len(), 4, "{places:?}");
    assert!(places.contains(&"systems/lighting.md:15".to_owned()), "{places:?}");
    client.change(LAMP, &text.replace("figure: socket.svg", "figure: {"));
    let broken = client.request("textDocument/references", params.clone());
    assert_eq!(broken.as_array().unwrap().len(), 4);
    params["context"] = json!({"includeDeclaration": true});
    assert_eq!(client.request("textDocument/references", params).as_array().unwrap().len(), 5);
    client.shut_down();
}
