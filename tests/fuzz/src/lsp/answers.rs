//! What the server said to one message.

use serde_json::Value;

use super::super::talk::{Texts, edited, exact_range, lines};
use super::script::{Step, path_of};
use super::{errors, linted};

/// Mends of one answer that are tried.
const TRIED: usize = 2;

/// Everything that came before the next message was read.
pub fn look(step: &Step, said: &[Value], utf8: bool) {
    let answers: Vec<&Value> = said.iter().filter(|m| m.get("method").is_none()).collect();
    for message in said {
        assert_eq!(message["jsonrpc"], "2.0", "{message}");
        let text = message["error"]["message"].as_str().or(message["params"]["message"].as_str()).unwrap_or_default();
        assert!(!text.contains("fault of ruleout"), "{message} to {:?}", step.asked);
    }
    for note in said.iter().filter(|m| m["method"] == "textDocument/publishDiagnostics") {
        places(&note["params"], "", &step.texts, utf8);
    }
    let Some(id) = &step.answer else { return };
    let [answer] = answers.as_slice() else {
        panic!("{answers:?} to {:?}", step.asked);
    };
    assert_eq!(&answer["id"], id, "{answer} to {:?}", step.asked);
    assert!(answer.get("result").is_some() != answer.get("error").is_some(), "{answer}");
    let (Some((method, params)), Some(result)) = (&step.asked, answer.get("result")) else { return };
    let asked_of = params["textDocument"]["uri"].as_str().unwrap_or_default();
    places(result, asked_of, &step.texts, utf8);
    match method.as_str() {
        "textDocument/rename" => renamed(result, &step.texts, utf8),
        "textDocument/codeAction" => {
            let actions = result.as_array().map(Vec::as_slice).unwrap_or_default();
            actions.iter().take(TRIED).for_each(|action| mended(&action["edit"], &step.texts, utf8));
        }
        "textDocument/completion" => completed(result, params),
        "textDocument/documentSymbol" => result.as_array().into_iter().flatten().for_each(symbol),
        _ => {}
    }
}

/// Every range in an answer is one of its file, which the nearest address around it names.
fn places(value: &Value, uri: &str, texts: &Texts, utf8: bool) {
    match value {
        Value::Object(fields) => {
            let own = value["uri"].as_str().or(value["textDocument"]["uri"].as_str()).unwrap_or(uri);
            let text = texts.get(&path_of(&own.into()));
            for (key, inner) in fields {
                match text {
                    Some(text) if key == "range" || key == "selectionRange" => {
                        exact_range(text, inner, utf8);
                    }
                    Some(text) if key == "endLine" => {
                        assert!(inner.as_u64().unwrap() < lines(text).len() as u64, "{value} of {text:?}");
                    }
                    _ if key == "changes" => {
                        for (uri, edits) in inner.as_object().into_iter().flatten() {
                            places(edits, uri, texts, utf8);
                        }
                    }
                    // Of what the server was told, and gives back.
                    _ if key == "diagnostics" && uri.is_empty() => places(inner, own, texts, utf8),
                    _ if key == "diagnostics" => {}
                    _ => places(inner, own, texts, utf8),
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|item| places(item, uri, texts, utf8)),
        _ => {}
    }
}

/// The texts after the edits of an answer.
fn after(edit: &Value, texts: &Texts, utf8: bool) -> Texts {
    let mut new = texts.clone();
    let mut lay = |uri: &Value, edits: &Value| {
        let path = path_of(uri);
        let text = texts.get(&path).unwrap_or_else(|| panic!("edits of {uri}, which is no file of the base"));
        new.insert(path, edited(text, edits.as_array().expect("edits"), utf8));
    };
    for (uri, edits) in edit["changes"].as_object().into_iter().flatten() {
        lay(&uri.as_str().into(), edits);
    }
    let operations = edit["documentChanges"].as_array().map(Vec::as_slice).unwrap_or_default();
    for one in operations.iter().filter(|o| o.get("kind").is_none()) {
        lay(&one["textDocument"]["uri"], &one["edits"]);
    }
    for one in operations.iter().filter(|o| o["kind"] == "rename") {
        let text = new.remove(&path_of(&one["oldUri"])).expect("a file to rename");
        let taken = new.insert(path_of(&one["newUri"]), text);
        assert!(taken.is_none(), "{one} hides a file");
    }
    new
}

/// A rename leaves no more errors than there were. (Where a file could not be read whole, the new name may bring others to light.)
fn renamed(edit: &Value, texts: &Texts, utf8: bool) {
    let (Some(was), Some(is)) = (linted(texts), linted(&after(edit, texts, utf8))) else { return };
    let (was, is) = (errors(&was), errors(&is));
    let reads = |rule: &str| matches!(rule, "bad-front-matter" | "bad-value");
    let is_whole = !was.keys().any(|rule| reads(rule));
    for (rule, count) in is.iter().filter(|(rule, _)| is_whole || reads(rule)) {
        assert!(*count <= was.get(rule).copied().unwrap_or(0), "{rule} after {edit}: {was:?}, then {is:?}");
    }
}

/// A mend breaks no file.
fn mended(edit: &Value, texts: &Texts, utf8: bool) {
    let (Some(was), Some(is)) = (linted(texts), linted(&after(edit, texts, utf8))) else { return };
    super::super::fix::reads_no_worse(&was, &is);
}

/// What is completed stands on one line and holds the place that was asked for.
fn completed(result: &Value, params: &Value) {
    let items = result.as_array().or(result["items"].as_array()).into_iter().flatten();
    for range in items.map(|item| &item["textEdit"]["range"]).filter(|r| !r.is_null()) {
        let (start, end, asked) = (&range["start"], &range["end"], &params["position"]);
        assert_eq!(start["line"], end["line"], "{range}");
        // A place behind the end of its line or inside a letter is taken as the nearest before it.
        assert!(start["line"].as_u64() <= asked["line"].as_u64(), "{range} at {asked}");
        let before = start["line"] != asked["line"] || start["character"].as_u64() <= asked["character"].as_u64();
        assert!(before, "{range} at {asked}");
    }
}

/// A symbol's name stands in its range, as an editor asks.
fn symbol(one: &Value) {
    let at = |range: &str, end: &str| {
        let place = &one[range][end];
        (place["line"].as_u64().unwrap(), place["character"].as_u64().unwrap())
    };
    assert!(at("range", "start") <= at("selectionRange", "start"), "{one}");
    assert!(at("selectionRange", "end") <= at("range", "end"), "{one}");
    assert!(one["name"].as_str().is_some_and(|name| !name.is_empty()), "{one}");
    one["children"].as_array().into_iter().flatten().for_each(symbol);
}
