//! Completion and hover.

use serde_json::Value;

use super::client::{Client, tail_lamp};

const LAMP: &str = "procedures/dark-lamp.md";

/// The labels offered where `from` is replaced by `to` (with the mark) in the procedure of the tail lamp.
fn offered(client: &mut Client, from: &str, to: &str) -> Vec<String> {
    let text = client.read(LAMP);
    assert!(text.contains(from), "{from}");
    client.complete(LAMP, &text.replacen(from, to, 1))
}

#[test]
fn ids_are_offered_where_they_belong() {
    let mut client = Client::open(tail_lamp());
    let steps = ["verify", "look", "size", "feed", "swap", "look-again"];
    let c = &mut client;
    assert_eq!(offered(c, "then: size}", "then: ¦}")[..6], steps);
    assert!(offered(c, "then: size}", "then: s¦}").contains(&"slow-lift".to_owned()));
    assert_eq!(offered(c, "after: [verify]", "after: [¦]"), steps);
    assert_eq!(offered(c, "after: [verify]", "after:\n      - ¦"), steps);
    assert_eq!(offered(c, "shows: bulb}", "shows: b¦}"), ["bulb", "fuse", "board", "no-fault"]);
    assert_eq!(offered(c, "clears: [bulb], then: size}", "clears: [bulb, ¦"), ["bulb", "fuse", "board", "no-fault"]);
    assert_eq!(offered(c, "measure: lamp-feed", "measure: ¦"), ["air-line", "lamp-feed"]);
    assert_eq!(offered(c, "measure: lamp-feed", "measure:¦"), ["air-line", "lamp-feed"]);
    assert_eq!(offered(c, "with: [meter]", "with: [meter or l¦]"), ["lamp-board", "meter"]);
    assert_eq!(offered(c, "setup: [chocked]", "setup: c¦"), ["chocked", "lens-off"]);
    assert_eq!(offered(c, "setup: [chocked]", "hazards: [¦"), ["fragile", "hot-glass", "roll", "vapour"]);
    assert_eq!(offered(c, "applies: all", "applies: ¦"), ["all", "kite", "large", "oak", "reed", "small"]);
    assert_eq!(offered(c, "codes: [B1001, X-7]", "codes: [B1001, ¦]"), ["B1001", "B1002", "X-7"]);
    assert_eq!(offered(c, "system: lighting", "system: ¦"), ["lighting"]);
    assert_eq!(offered(c, "check: look-at-bulb", "check: ¦"), ["look-at-bulb"]);
    assert!(offered(c, "fix: renew-bulb,", "fix: ¦,").starts_with(&[
        "renew-fuse".to_owned(),
        "renew-board".to_owned(),
        "renew-bulb".to_owned()
    ]));
    assert_eq!(offered(c, "codes: clear", "codes: ¦"), ["clear"]);
    assert_eq!(offered(c, "{step: verify, if: shines}", "{step: verify, if: ¦}"), ["shines", "dark"]);
    assert!(offered(c, "allow: {out-of-turn", "allow: {¦").contains(&"reading-gap".to_owned()));
    assert_eq!(offered(c, "figure: socket.svg", "figure: ¦"), ["socket.svg"]);
    client.shut_down();
}

#[test]
fn readings_are_those_of_the_quantity() {
    let mut client = Client::open(tail_lamp());
    let found = offered(&mut client, "{if: below spec, found: fuse}", "{if: ¦, found: fuse}");
    for reading in [
        "in spec",
        "weak",
        "below spec",
        "above spec",
        "out of spec",
        "any other reading",
        "below 11.5 V",
        "11.5 V to 14.8 V",
    ] {
        assert!(found.iter().any(|f| f == reading), "{reading}: {found:?}");
    }
    assert!(!found.iter().any(|f| f == "open circuit"), "{found:?}");
    let text = client.read(LAMP).replace("measure: lamp-feed", "measure: {quantity: resistance}");
    let found = client.complete(LAMP, &text.replace("{if: below spec, found: fuse}", "{if: ¦"));
    assert!(found.iter().any(|f| f == "open circuit") && found.iter().any(|f| f == "below 1 Ω"), "{found:?}");
    assert!(!found.iter().any(|f| f == "in spec"), "{found:?}");
    client.shut_down();
}

#[test]
fn keys_are_those_that_the_row_may_still_have() {
    let mut client = Client::open(tail_lamp());
    let c = &mut client;
    let step = offered(c, "    minutes: 2\n", "    ¦\n");
    assert!(step.contains(&"minutes".to_owned()) && step.contains(&"wait".to_owned()), "{step:?}");
    for not in ["measure", "observe", "do", "with", "results", "then", "complaint", "if"] {
        assert!(!step.contains(&not.to_owned()), "{not}: {step:?}");
    }
    let half = offered(c, "    minutes: 2\n", "    mi¦\n");
    assert_eq!(step, half);
    let new = offered(c, "  swap:\n", "  extra:\n    ¦\n  swap:\n");
    assert_eq!(new[..5], ["measure", "observe", "do", "check", "which"]);
    let result = offered(c, "{if: weak, clears: [fuse], refer: Look for a bad joint}", "{if: weak, ¦}");
    assert!(
        result.contains(&"then".to_owned())
            && !result.contains(&"if".to_owned())
            && !result.contains(&"for".to_owned())
    );
    let led = offered(c, "{if: weak, clears: [fuse], refer: Look for a bad joint}", "{if: weak, then: swap, ¦");
    assert_eq!(led, ["clears", "leaves", "note"]);
    let long =
        offered(c, "      - {if: weak, clears: [fuse], refer: Look for a bad joint}", "      - if: weak\n        ¦");
    assert!(long.contains(&"unproven".to_owned()) && !long.contains(&"if".to_owned()), "{long:?}");
    let first = offered(c, "      - {if: weak, clears: [fuse], refer: Look for a bad joint}", "      - ¦");
    assert!(first.contains(&"if".to_owned()), "{first:?}");
    let none =
        offered(c, "    results:\n      - {if: same side", "    results:\n      ¦\n    zz:\n      - {if: same side");
    assert!(none.contains(&"if".to_owned()), "{none:?}");
    let top = offered(c, "system: lighting", "¦");
    assert_eq!(top, ["system", "hazards"]);
    let about = c.items(LAMP, &c.read(LAMP).replace("system: lighting", "¦"));
    assert_eq!(about[0]["documentation"], "the system it is about");
    assert_eq!(about[0]["textEdit"]["newText"], "system: ");
    client.shut_down();
}

#[test]
fn other_files_are_completed_too() {
    let mut client = Client::open(tail_lamp());
    let c = &mut client;
    let limits = c.complete("specs/lamp.yaml", "a:\n  quantity: resistance\n  value: ¦\n");
    assert!(limits.contains(&"TBD".to_owned()) && limits.contains(&"at most 1 Ω".to_owned()), "{limits:?}");
    assert!(c.complete("specs/lamp.yaml", "a:\n  quantity: ¦\n").contains(&"dc voltage".to_owned()));
    assert_eq!(
        c.complete("specs/lamp.yaml", "a:\n  quantity: force\n  source: x\n  values:\n    ¦\n"),
        ["kite", "large", "oak", "reed", "small"]
    );
    assert_eq!(c.complete("cases/2031-1.yaml", "procedure: ¦"), ["dark-lamp", "slow-lift"]);
    assert_eq!(
        c.complete("cases/2031-1.yaml", "procedure: dark-lamp\nreadings:\n  verify: ¦"),
        ["shines", "dark", "not taken"]
    );
    assert_eq!(c.complete("cases/2031-1.yaml", "procedure: dark-lamp\nreadings:\n  ¦").len(), 6);
    assert_eq!(c.complete("cases/2031-1.yaml", "procedure: dark-lamp\ncause: ¦")[..3], ["bulb", "fuse", "board"]);
    assert!(c.complete("hazards.yaml", "roll: {signal: ¦").contains(&"danger".to_owned()));
    assert!(c.complete("shop.yaml", "units: {pressure: ¦}").contains(&"kPa".to_owned()));
    assert_eq!(c.complete("shop.yaml", "rules:\n  reading-gap: ¦"), ["error", "warning", "note", "off"]);
    let text = c.read(LAMP);
    assert!(c.complete(LAMP, &format!("{text}\nSee [x](¦")).contains(&"spec:".to_owned()));
    assert_eq!(c.complete(LAMP, &format!("{text}\nSee [x](equipment:¦)")), ["lamp-board", "meter"]);
    assert_eq!(c.complete(LAMP, &format!("{text}\n## New {{#¦"))[..4], ["look", "size", "look-again", "renew-bulb"]);
    client.shut_down();
}

#[test]
fn completion_never_fails_wherever_the_cursor_is() {
    let mut client = Client::open(tail_lamp());
    let text = client.read(LAMP);
    let ends: Vec<usize> = text.char_indices().map(|(at, _)| at).filter(|at| at % 7 == 0).collect();
    for at in ends {
        client.complete(LAMP, &format!("{}¦", &text[..at]));
    }
    client.shut_down();
}

fn hover(client: &mut Client, path: &str, text: &str, at: &str, within: usize) -> String {
    let params = client.at(path, text, at, within);
    let answer = client.request("textDocument/hover", params);
    if answer == Value::Null { String::new() } else { answer["contents"]["value"].as_str().unwrap().to_owned() }
}

#[test]
fn hover_tells_limits_uses_and_meanings() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file(LAMP);
    let c = &mut client;
    let spec = hover(c, LAMP, &text, "measure: lamp-feed", 10);
    for words in [
        "**Voltage at the lamp**",
        "| 11.5 to 14.8 V; weak: 9 to below 11.5 V | kite, reed |",
        "| TBD | oak |",
        "lamps on",
        "Named 4 times",
    ] {
        assert!(spec.contains(words), "{words}: {spec}");
    }
    assert!(hover(c, LAMP, &text, "minutes: 2", 2).contains("minutes of work"));
    assert!(hover(c, LAMP, &text, "out-of-turn", 2).contains("out-of-turn"));
    assert!(hover(c, LAMP, &text, "shows: bulb", 8).contains("cause"));
    assert!(
        hover(c, LAMP, &text, "then: look}", 7).contains("Look at the bulb")
            || hover(c, LAMP, &text, "then: look}", 7).contains("step")
    );
    assert!(hover(c, LAMP, &text, "B1001", 1).contains("Tail lamp circuit"));
    assert!(hover(c, LAMP, &text, "[small]", 2).contains("kite, reed"));
    assert!(hover(c, LAMP, &text, "Tail lamp stays dark\nalso", 3).is_empty());
    client.shut_down();
}
