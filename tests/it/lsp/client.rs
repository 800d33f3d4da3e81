//! A scripted editor: it drives the real binary over pipes.
#![allow(clippy::needless_pass_by_value, clippy::unused_self, reason = "a script reads best as one verb after another")]

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

const LONG: Duration = Duration::from_secs(60);

pub struct Client {
    child: Child,
    input: Option<ChildStdin>,
    output: Receiver<Value>,
    next: i64,
    /// Diagnostics by address, the newest.
    pub told: BTreeMap<String, Value>,
    pub root: PathBuf,
    versions: BTreeMap<String, i64>,
    #[allow(dead_code, reason = "the folder goes when this does")]
    folder: Option<tempfile::TempDir>,
}

/// The small base of the tests, in a folder of its own.
pub fn tail_lamp() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bases/tail-lamp");
    for entry in walkdir::WalkDir::new(&from).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file()) {
        let to = folder.path().join(entry.path().strip_prefix(&from).unwrap());
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(entry.path(), to).unwrap();
    }
    folder
}

/// A base of these files, in a folder of its own.
pub fn folder_of(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (path, text) in files {
        let to = folder.path().join(path);
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::write(to, text).unwrap();
    }
    folder
}

impl Client {
    /// Starts the server; nothing is sent yet.
    pub fn start(root: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_ruleout"))
            .arg("lsp")
            .env("XDG_CACHE_HOME", std::env::temp_dir().join("ruleout-test-cache"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut from = BufReader::new(child.stdout.take().unwrap());
        let (sender, output) = channel();
        std::thread::spawn(move || {
            while let Some(message) = read(&mut from) {
                if sender.send(message).is_err() {
                    break;
                }
            }
        });
        let input = child.stdin.take();
        let root = root.to_owned();
        Self { child, input, output, next: 0, told: BTreeMap::new(), root, versions: BTreeMap::new(), folder: None }
    }

    /// A talk about a base that has begun.
    pub fn open(folder: tempfile::TempDir) -> Self {
        Self::open_with(folder, json!({}))
    }

    pub fn open_with(folder: tempfile::TempDir, general: Value) -> Self {
        let mut client = Self::start(folder.path());
        client.request("initialize", json!({"rootUri": client.uri(""), "capabilities": {
            "general": general, "workspace": {"workspaceEdit": {"documentChanges": true, "resourceOperations": ["rename"]}},
        }}));
        client.notify("initialized", json!({}));
        client.folder = Some(folder);
        client
    }

    /// The server's process.
    #[allow(dead_code, reason = "the bench asks what it costs")]
    pub fn process(&self) -> u32 {
        self.child.id()
    }

    pub fn raw(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().unwrap();
        let _ = input.write_all(bytes);
        let _ = input.flush();
    }

    pub fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.raw(format!("Content-Length: {}\r\n\r\n{text}", text.len()).as_bytes());
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// The whole response.
    pub fn ask(&mut self, method: &str, params: Value) -> Value {
        self.next += 1;
        let id = self.next;
        self.send(&json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}));
        loop {
            let message = self.receive().unwrap_or_else(|| panic!("no answer to {method}"));
            if message["id"] == id && message.get("method").is_none() {
                return message;
            }
        }
    }

    /// The result of a request that works.
    pub fn request(&mut self, method: &str, params: Value) -> Value {
        let answer = self.ask(method, params);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    pub fn receive(&mut self) -> Option<Value> {
        let message = self.output.recv_timeout(LONG).ok()?;
        if message["method"] == "textDocument/publishDiagnostics" {
            let params = &message["params"];
            self.told.insert(params["uri"].as_str().unwrap().to_owned(), params.clone());
        }
        Some(message)
    }

    /// Waits for the next diagnostics of a file.
    pub fn diagnostics(&mut self, path: &str) -> Vec<Value> {
        let uri = self.uri(path);
        loop {
            let message = self.receive().unwrap_or_else(|| panic!("no diagnostics of {path}"));
            if message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == uri.as_str() {
                return message["params"]["diagnostics"].as_array().unwrap().clone();
            }
        }
    }

    /// Waits for diagnostics of a file with one that is so: what was judged before a buffer came may be told first.
    pub fn until(&mut self, path: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        loop {
            if let Some(found) = self.diagnostics(path).into_iter().find(&wanted) {
                return found;
            }
        }
    }

    /// Applies a workspace edit to the files on disk.
    pub fn apply(&self, edit: &Value) {
        let path = |uri: &Value| uri.as_str().unwrap().strip_prefix("file://").unwrap().to_owned();
        for change in edit["documentChanges"].as_array().unwrap() {
            if change["kind"] == "rename" {
                std::fs::rename(path(&change["oldUri"]), path(&change["newUri"])).unwrap();
                continue;
            }
            let file = path(&change["textDocument"]["uri"]);
            let mut text = std::fs::read_to_string(&file).unwrap();
            let mut edits = change["edits"].as_array().unwrap().clone();
            edits.reverse();
            for edit in edits {
                let at = byte(&text, &edit["range"]["start"])..byte(&text, &edit["range"]["end"]);
                text.replace_range(at, edit["newText"].as_str().unwrap());
            }
            std::fs::write(file, text).unwrap();
        }
    }

    pub fn uri(&self, path: &str) -> String {
        format!("file://{}/{path}", self.root.display()).trim_end_matches('/').to_owned()
    }

    pub fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.root.join(path)).unwrap()
    }

    pub fn open_file(&mut self, path: &str) -> String {
        let text = self.read(path);
        self.open_text(path, &text);
        text
    }

    pub fn open_text(&mut self, path: &str, text: &str) {
        self.versions.insert(path.to_owned(), 1);
        let doc = json!({"uri": self.uri(path), "languageId": "markdown", "version": 1, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": doc}));
    }

    /// Sends the whole new text of a buffer.
    pub fn change(&mut self, path: &str, text: &str) {
        let version = self.versions.get_mut(path).unwrap();
        *version += 1;
        let doc = json!({"uri": format!("file://{}/{path}", self.root.display()), "version": *version});
        self.notify("textDocument/didChange", json!({"textDocument": doc, "contentChanges": [{"text": text}]}));
    }

    /// A request about a place: `text` is searched for in `whole`, `within` is counted from its start (in UTF-16 units).
    pub fn at(&self, path: &str, whole: &str, text: &str, within: usize) -> Value {
        let byte = whole.find(text).unwrap_or_else(|| panic!("no `{text}` in {path}")) + within;
        json!({"textDocument": {"uri": self.uri(path)}, "position": position(whole, byte)})
    }

    /// The labels that completion offers where `|` stands in the text, which becomes the buffer's text without it.
    pub fn complete(&mut self, path: &str, marked: &str) -> Vec<String> {
        self.items(path, marked).iter().map(|i| i["label"].as_str().unwrap().to_owned()).collect()
    }

    pub fn items(&mut self, path: &str, marked: &str) -> Vec<Value> {
        let at = marked.find('¦').expect("a mark");
        let text = marked.replacen('¦', "", 1);
        if self.versions.contains_key(path) {
            self.change(path, &text);
        } else {
            self.open_text(path, &text);
        }
        let params = json!({"textDocument": {"uri": self.uri(path)}, "position": position(&text, at)});
        self.request("textDocument/completion", params).as_array().cloned().unwrap_or_default()
    }

    /// Closes the pipe or ends the talk; the exit code.
    pub fn end(mut self) -> Option<i32> {
        self.input = None;
        let code = self.child.wait().unwrap().code();
        let mut words = String::new();
        self.child.stderr.take().unwrap().read_to_string(&mut words).unwrap();
        assert!(!words.contains("panicked"), "{words}");
        code
    }

    pub fn shut_down(mut self) {
        self.request("shutdown", Value::Null);
        self.notify("exit", Value::Null);
        assert_eq!(self.end(), Some(0));
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub fn position(text: &str, byte: usize) -> Value {
    let line = text[..byte].matches('\n').count();
    let start = text[..byte].rfind('\n').map_or(0, |at| at + 1);
    json!({"line": line, "character": text[start..byte].encode_utf16().count()})
}

/// The byte of a position in UTF-16 units.
pub fn byte(text: &str, place: &Value) -> usize {
    let line = place["line"].as_u64().unwrap() as usize;
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut units = place["character"].as_u64().unwrap() as usize;
    for (at, letter) in text[start..].char_indices() {
        if units == 0 {
            return start + at;
        }
        units -= letter.len_utf16();
    }
    text.len()
}

fn read(from: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if from.read_line(&mut line).ok()? == 0 {
            return None;
        }
        if line == "\r\n" {
            break;
        }
        if let Some(n) = line.strip_prefix("Content-Length: ") {
            length = n.trim().parse().ok()?;
        }
    }
    let mut bytes = vec![0; length];
    from.read_exact(&mut bytes).ok()?;
    serde_json::from_slice(&bytes).ok()
}
