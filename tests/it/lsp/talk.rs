//! The talk itself: what may come when, what is no message at all, findings as they are typed.

use serde_json::{Value, json};

use super::client::{Client, byte, tail_lamp};

const LAMP_FILE: &str = "dark-lamp.md";

#[test]
fn nothing_is_answered_before_initialize_nor_after_shutdown() {
    let folder = tail_lamp();
    let mut client = Client::start(folder.path());
    assert_eq!(client.ask("textDocument/hover", json!({}))["error"]["code"], -32002);
    assert_eq!(client.ask("shutdown", Value::Null)["error"]["code"], -32002);
    client.notify("textDocument/didOpen", json!({"nonsense": true}));
    client.request("initialize", json!({"capabilities": {}, "rootUri": client.uri("")}));
    assert_eq!(client.ask("initialize", json!({"capabilities": {}}))["error"]["code"], -32600);
    assert_eq!(client.ask("textDocument/unheardOf", json!({}))["error"]["code"], -32601);
    assert_eq!(client.ask("textDocument/hover", json!({"position": 7}))["error"]["code"], -32602);
    client.request("shutdown", Value::Null);
    assert_eq!(client.ask("textDocument/hover", json!({}))["error"]["code"], -32600);
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), Some(0));
}

#[test]
fn exit_without_shutdown_and_a_closed_pipe_end_with_one() {
    let folder = tail_lamp();
    let mut client = Client::start(folder.path());
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), Some(1));
    assert_eq!(Client::start(folder.path()).end(), Some(1));
    let mut client = Client::start(folder.path());
    client.raw(b"Content-Length: 99999999999999999\r\n\r\n{}");
    assert_eq!(client.end(), Some(1));
}

#[test]
fn abuse_is_survived() {
    let folder = tail_lamp();
    let mut client = Client::start(folder.path());
    let deep = format!("{}{}", "[".repeat(5000), "]".repeat(5000));
    for frame in ["{", "nonsense", "[]", "{\"id\": {}, \"method\": 5}", "\"\\ud800\"", &deep] {
        client.raw(format!("Content-Length: {}\r\n\r\n{frame}", frame.len()).as_bytes());
        let answer = client.receive().unwrap();
        assert!(answer["id"].is_null() && answer["error"]["code"].as_i64().unwrap() <= -32600, "{frame}: {answer}");
    }
    client.request("initialize", json!({"capabilities": {}, "rootUri": client.uri("")}));
    client.open_file("procedures/dark-lamp.md");
    let far = json!({"line": 4_000_000_000_u32, "character": 4_000_000_000_u32});
    let methods = [
        "completion",
        "hover",
        "definition",
        "references",
        "rename",
        "prepareRename",
        "documentSymbol",
        "codeAction",
        "foldingRange",
    ];
    for uri in [
        client.uri("procedures/dark-lamp.md"),
        client.uri("nowhere.md"),
        "untitled:x".into(),
        "file:///".into(),
        "http://a/b".into(),
    ] {
        for method in methods {
            let params = json!({"textDocument": {"uri": uri}, "position": far, "range": {"start": far, "end": far},
                "context": {"includeDeclaration": true, "diagnostics": []}, "newName": "\u{0}../x"});
            client.ask(&format!("textDocument/{method}"), params);
            client.ask(&format!("textDocument/{method}"), json!([1, 2]));
        }
    }
    let doc = json!({"uri": client.uri("procedures/dark-lamp.md"), "version": 2});
    let backward = json!({"start": {"line": 9, "character": 9}, "end": {"line": 1, "character": 1}});
    client.notify(
        "textDocument/didChange",
        json!({"textDocument": doc, "contentChanges": [{"range": backward, "text": "\u{0}Ω😀"}]}),
    );
    client.notify(
        "textDocument/didChange",
        json!({"textDocument": {"uri": "file:///else", "version": 2}, "contentChanges": []}),
    );
    client.notify("textDocument/didClose", json!({"textDocument": {"uri": "file:///else"}}));
    client.notify("$/unheardOf", json!(null));
    client.send(&json!({"jsonrpc": "2.0", "id": 77, "result": null}));
    client.diagnostics("procedures/dark-lamp.md");
    client.shut_down();
}

#[test]
fn findings_come_while_typing_and_only_for_files_that_changed() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file("procedures/dark-lamp.md");
    let before = client.diagnostics("procedures/dark-lamp.md");
    assert!(before.iter().all(|d| d["severity"] != 1), "{before:?}");
    let broken = text.replace("then: look}", "then: lok}");
    client.change("procedures/dark-lamp.md", &broken);
    let found = client.until("procedures/dark-lamp.md", |d| d["code"] == "unresolved-name");
    assert_eq!((&found["severity"], &found["source"]), (&json!(1), &json!("ruleout")));
    let start = byte(&broken, &found["range"]["start"]);
    assert_eq!(&broken[start..byte(&broken, &found["range"]["end"])], "lok");
    assert!(found["message"].as_str().unwrap().contains("help: did you mean `look`?"), "{found}");
    let page = found["codeDescription"]["href"].as_str().unwrap().strip_prefix("file://").unwrap();
    assert!(std::fs::read_to_string(page).unwrap().contains("unresolved-name"));
    client.told.clear();
    client.change("procedures/dark-lamp.md", &text);
    assert_eq!(client.diagnostics("procedures/dark-lamp.md"), before);
    let others = client.told.keys().filter(|u| !u.ends_with(LAMP_FILE) && !u.ends_with("codes.yaml")).count();
    assert_eq!(others, 0, "only files whose findings changed: {:?}", client.told.keys());
    client.shut_down();
}

#[test]
fn related_places_and_tags_come_along() {
    let mut client = Client::open(tail_lamp());
    let text = client.open_file("procedures/slow-lift.md");
    client.change("procedures/slow-lift.md", &text.replace("if: out of spec", "if: below -2 psi or above 3 psi"));
    let gap = client.until("procedures/slow-lift.md", |d| d["code"] == "reading-gap");
    assert!(!gap["relatedInformation"].as_array().unwrap().is_empty(), "{gap}");
    let unused =
        client.told.values().flat_map(|p| p["diagnostics"].as_array().unwrap()).find(|d| d["code"] == "unused-entry");
    assert_eq!(unused.unwrap()["tags"], json!([1]));
    client.shut_down();
}

#[test]
fn places_count_what_the_editor_counts() {
    for (general, wide) in [
        (json!({}), 2),
        (json!({"positionEncodings": ["utf-16"]}), 2),
        (json!({"positionEncodings": ["utf-8", "utf-16"]}), 4),
    ] {
        let mut client = Client::open_with(tail_lamp(), general);
        let text = client.read("procedures/dark-lamp.md");
        // One letter of two UTF-16 units and four bytes before the fault, on its line.
        let text =
            text.replace("{if: dark, clears: [no-fault], then: look}", "{if: \"😀\", clears: [no-fault], then: lok}");
        client.open_text("procedures/dark-lamp.md", &text);
        let found = client.until("procedures/dark-lamp.md", |d| d["message"].as_str().unwrap().contains("`lok`"));
        let line = text.lines().find(|l| l.contains("lok")).unwrap();
        let column = line.find("lok").unwrap() - 4 + wide;
        assert_eq!(found["range"]["start"]["character"], column);
        // An incremental change is counted the same way.
        let at = json!({"line": found["range"]["start"]["line"], "character": column});
        let end = json!({"line": at["line"], "character": column + 3});
        let doc = json!({"uri": client.uri("procedures/dark-lamp.md"), "version": 2});
        client.notify(
            "textDocument/didChange",
            json!({"textDocument": doc, "contentChanges": [{"range": {"start": at, "end": end}, "text": "look"}]}),
        );
        let found = client.diagnostics("procedures/dark-lamp.md");
        assert!(!found.iter().any(|d| d["code"] == "unresolved-name"), "{found:?}");
        client.shut_down();
    }
}

#[test]
fn a_new_file_and_a_closed_one_are_seen() {
    let mut client = Client::open(tail_lamp());
    client.open_text("procedures/new/dim-lamp.md", "---\ncomplaint: Dim\ncauses: {}\n---\n");
    assert!(!client.diagnostics("procedures/new/dim-lamp.md").is_empty());
    client.notify("textDocument/didClose", json!({"textDocument": {"uri": client.uri("procedures/new/dim-lamp.md")}}));
    assert!(client.diagnostics("procedures/new/dim-lamp.md").is_empty(), "it was never saved");
    client.shut_down();
}
