//! What the editor does, out of bytes.
//!
//! In: bytes. Out: [`Script`]: frames, and with each the answer it must get and the texts as the editor has them then.

use std::rc::Rc;

use serde_json::{Value, json};

use super::super::talk::{Texts, frame, offset, place};
use super::super::{small_base, small_base_folder, split_files};

/// Messages of one talk at most.
const MOST: usize = 20;
/// Files that the editor may have open: of the base, new in it, of no use to it.
const PATHS: &[&str] = &[
    "procedures/dark-lamp.md",
    "specs/lamp.yaml",
    "checks/look-at-bulb.md",
    "repairs/renew-bulb.md",
    "systems/lighting.md",
    "cases/2031-1.yaml",
    "vehicles.yaml",
    "equipment.yaml",
    "hazards.yaml",
    "setups.yaml",
    "codes.yaml",
    "terms.yaml",
    "shop.yaml",
    "procedures/new one.md",
    "notes.txt",
];
/// Addresses that name no file of the base.
const ODD: &[&str] =
    &["untitled:one", "file:///elsewhere/kb/shop.yaml", "file:///kb/%", "file:///kb/%zz", "file://", "http://x/y", ""];
const ASKED: &[&str] = &[
    "textDocument/completion",
    "textDocument/hover",
    "textDocument/definition",
    "textDocument/references",
    "textDocument/prepareRename",
    "textDocument/rename",
    "textDocument/codeAction",
    "textDocument/documentSymbol",
    "textDocument/foldingRange",
];
const NEW_NAMES: &[&str] =
    &["other-one", "look", "kite", "lamp-feed", "all", "no-fault", "", "a b", "Ω", "P0001", "-", "x/y"];

/// One message and what must come of it.
pub struct Step {
    /// Whether the editor is silent behind it, so that what waits is judged.
    pub is_silent: bool,
    /// The id of the one answer that it must get.
    pub answer: Option<Value>,
    /// Method and parameters of a request.
    pub asked: Option<(String, Value)>,
    /// The texts of the base as the editor has them behind it.
    pub texts: Rc<Texts>,
}

/// One talk.
#[allow(clippy::struct_excessive_bools, reason = "each says another thing of the talk")]
pub struct Script {
    pub frames: Vec<Vec<u8>>,
    pub steps: Vec<Step>,
    pub utf8: bool,
    /// Whether all is judged and told behind the last message.
    pub is_judged_at_end: bool,
    /// What the editor says of itself in `initialize`, bit by bit.
    how: usize,
    texts: Rc<Texts>,
    open: Vec<String>,
    is_open: bool,
    is_over: bool,
}

/// Bytes to decide by; zero where none is left.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn next(&mut self) -> usize {
        let (first, rest) = self.0.split_first().unwrap_or((&0, &[]));
        self.0 = rest;
        usize::from(*first)
    }

    fn text(&mut self) -> String {
        let length = (self.next() % 64).min(self.0.len());
        let (text, rest) = self.0.split_at(length);
        self.0 = rest;
        String::from_utf8_lossy(text).into_owned()
    }

    fn of<'t>(&mut self, all: &[&'t str]) -> &'t str {
        all[self.next() % all.len()]
    }
}

/// The address of a file of the base.
fn uri_of(path: &str) -> String {
    let whole = small_base_folder().join(path);
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"/-._~".contains(&b);
    let one = |b: u8| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") };
    format!("file://{}", whole.to_str().unwrap().bytes().map(one).collect::<String>())
}

/// The path in the base of an address; the address itself where it is none.
pub fn path_of(uri: &Value) -> String {
    let uri = uri.as_str().unwrap_or_default();
    let root = uri_of("");
    let Some(rest) = uri.strip_prefix(&root) else { return uri.to_owned() };
    let mut parts = rest.split('%');
    let mut bytes = parts.next().unwrap_or_default().as_bytes().to_vec();
    for part in parts {
        bytes.push(u8::from_str_radix(&part[..2], 16).unwrap());
        bytes.extend_from_slice(&part.as_bytes()[2..]);
    }
    String::from_utf8(bytes).unwrap().trim_start_matches('/').to_owned()
}

impl Script {
    pub fn of(data: &[u8]) -> Self {
        let (files, ops) = match data.iter().position(|b| *b == 0xFF) {
            Some(at) => (&data[..at], &data[at + 1..]),
            None => (data, &[][..]),
        };
        let mut bytes = Bytes(ops);
        let how = bytes.next();
        let disk = small_base();
        let mut script = Self {
            frames: Vec::new(),
            steps: Vec::new(),
            utf8: how & 1 > 0,
            is_judged_at_end: false,
            how,
            texts: Rc::new(disk_texts(&disk)),
            open: Vec::new(),
            is_open: false,
            is_over: false,
        };
        if how & 0x70 != 0x70 {
            script.initialize();
        }
        script.open_all(files);
        while !bytes.0.is_empty() && script.frames.len() < MOST && !script.is_over {
            script.act(&mut bytes);
        }
        if !script.is_over && script.is_open {
            script.notify("$/setTrace", &json!({"value": "off"}), true);
            script.is_judged_at_end = true;
        }
        script
    }

    fn initialize(&mut self) {
        let how = self.how;
        let kinds = if self.utf8 { json!(["utf-8", "utf-16"]) } else { json!(["utf-16"]) };
        let edits = json!({"documentChanges": how & 2 > 0, "resourceOperations": if how & 4 > 0 { vec!["rename"] } else { vec![] }});
        let params =
            json!({"capabilities": {"general": {"positionEncodings": kinds}, "workspace": {"workspaceEdit": edits}}});
        self.ask("initialize", params, how & 8 > 0);
        self.is_open = true;
    }

    /// The files that the bytes hold: `=== PATH` before each, else one procedure.
    fn open_all(&mut self, files: &[u8]) {
        use ruleout::load::Files as _;
        if !files.starts_with(b"=== ") {
            return self.open(PATHS[0], String::from_utf8_lossy(files).into_owned(), false);
        }
        let files = split_files(files);
        // A folder of a file's name, and other paths that no disk could hold beside the small base, are left out.
        let known = |path: &&String| PATHS.contains(&path.as_str()) || path.starts_with("procedures/");
        for path in files.list().unwrap().iter().filter(known).take(MOST / 2) {
            let text = String::from_utf8_lossy(files.get(path).unwrap()).into_owned();
            self.open(path, text, false);
        }
    }

    fn act(&mut self, bytes: &mut Bytes<'_>) {
        let (kind, silent) = (bytes.next(), bytes.next() & 1 > 0);
        let path = if self.open.is_empty() || kind & 0x80 > 0 {
            bytes.of(PATHS).to_owned()
        } else {
            self.open[bytes.next() % self.open.len()].clone()
        };
        match kind & 0x1F {
            0..6 => self.change(bytes, &path, 1 + kind % 2, silent),
            6 => {
                let text = bytes.text();
                self.open(&path, text, silent);
            }
            7 => self.close(&path, silent),
            8..20 => self.question(bytes, &path, (kind & 0x1F) - 8, silent),
            20..23 => (0..ASKED.len()).for_each(|at| self.question(bytes, &path, at, silent)),
            23 => {
                let method =
                    bytes.of(&["textDocument/declaration", "$/cancelRequest", "workspace/symbol", "\u{1b}[2J"]);
                self.ask(method, json!({"textDocument": {"uri": uri_of(&path)}}), silent);
                self.notify(method, &Value::Null, silent);
            }
            24 => {
                let params: Value = serde_json::from_str(&bytes.text()).unwrap_or(json!({"textDocument": {}}));
                self.ask(bytes.of(ASKED), params, silent);
            }
            25 => {
                let version = json!({"uri": uri_of(&path), "version": -1.5});
                self.notify("textDocument/didChange", &json!({"textDocument": version, "contentChanges": 7}), silent);
            }
            26 => self.no_message(&bytes.text()),
            27 => self.notify("workspace/didChangeWatchedFiles", &json!({"changes": []}), silent),
            28 => self.push(frame(br#"{"jsonrpc":"2.0","id":"watch","result":null}"#), None, silent),
            // The first one counts, however late it comes.
            29 if !self.is_open => self.initialize(),
            29 => self.ask("initialize", json!({"capabilities": {}}), silent),
            30 => self.end(bytes),
            _ => self.odd(bytes, silent),
        }
    }

    fn push(&mut self, frame: Vec<u8>, answer: Option<Value>, is_silent: bool) {
        let texts = Rc::clone(&self.texts);
        self.frames.push(frame);
        self.steps.push(Step { is_silent, answer, asked: None, texts });
    }

    fn notify(&mut self, method: &str, params: &Value, silent: bool) {
        let body = json!({"jsonrpc": "2.0", "method": method, "params": params}).to_string();
        self.push(frame(body.as_bytes()), None, silent);
    }

    fn ask(&mut self, method: &str, params: Value, silent: bool) {
        let at = self.frames.len();
        let id = if at.is_multiple_of(3) { json!(format!("ask {at}")) } else { json!(at) };
        let body = json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}).to_string();
        self.push(frame(body.as_bytes()), Some(id), silent);
        if let Some(step) = self.steps.last_mut() {
            step.asked = Some((method.to_owned(), params));
        }
    }

    fn open(&mut self, path: &str, text: String, silent: bool) {
        let document = json!({"uri": uri_of(path), "languageId": "markdown", "version": 1, "text": text});
        if self.is_open {
            Rc::make_mut(&mut self.texts).insert(path.to_owned(), text);
            self.open.retain(|other| other != path);
            self.open.push(path.to_owned());
        }
        self.notify("textDocument/didOpen", &json!({"textDocument": document}), silent);
    }

    fn close(&mut self, path: &str, silent: bool) {
        if self.is_open {
            let texts = Rc::make_mut(&mut self.texts);
            match disk_texts(&small_base()).remove(path) {
                Some(text) => texts.insert(path.to_owned(), text),
                None => texts.remove(path),
            };
            self.open.retain(|other| other != path);
        }
        self.notify("textDocument/didClose", &json!({"textDocument": {"uri": uri_of(path)}}), silent);
    }

    fn change(&mut self, bytes: &mut Bytes<'_>, path: &str, count: usize, silent: bool) {
        let mut text = self.texts.get(path).cloned().unwrap_or_default();
        let mut changes = Vec::new();
        for _ in 0..count {
            let new = bytes.text();
            if bytes.next() > 250 {
                changes.push(json!({"text": new}));
                text = new;
                continue;
            }
            let ends = [self.place(bytes, &text), self.place(bytes, &text)];
            let byte =
                |p: &Value| offset(&text, p["line"].as_u64().unwrap(), p["character"].as_u64().unwrap(), self.utf8);
            let (from, to) = (byte(&ends[0]), byte(&ends[1]));
            changes.push(json!({"range": {"start": ends[0], "end": ends[1]}, "text": new}));
            text.replace_range(from.min(to)..from.max(to), &new);
        }
        if self.open.iter().any(|open| open == path) {
            Rc::make_mut(&mut self.texts).insert(path.to_owned(), text);
        }
        let document = json!({"uri": uri_of(path), "version": self.frames.len()});
        self.notify("textDocument/didChange", &json!({"textDocument": document, "contentChanges": changes}), silent);
    }

    /// A place: of a byte, of a line and a column that may not be there, or far off.
    fn place(&self, bytes: &mut Bytes<'_>, text: &str) -> Value {
        let (how, high, low) = (bytes.next(), bytes.next(), bytes.next());
        match how {
            0..200 => place(text, (high * 256 + low) % (text.len() + 1), self.utf8),
            200..240 => json!({"line": high, "character": low}),
            240..250 => json!({"line": high, "character": u32::MAX}),
            _ => json!({"line": u32::MAX, "character": low}),
        }
    }

    fn question(&mut self, bytes: &mut Bytes<'_>, path: &str, at: usize, silent: bool) {
        let text = self.texts.get(path).cloned().unwrap_or_default();
        let method = ASKED[at % ASKED.len()];
        let mut params = json!({"textDocument": {"uri": uri_of(path)}});
        match method {
            "textDocument/documentSymbol" | "textDocument/foldingRange" => {}
            "textDocument/codeAction" => {
                let (start, end) = (self.place(bytes, &text), self.place(bytes, &text));
                params["range"] = json!({"start": start, "end": end});
                params["context"] = json!({"diagnostics": []});
            }
            _ => params["position"] = self.place(bytes, &text),
        }
        match method {
            "textDocument/references" => params["context"] = json!({"includeDeclaration": bytes.next() & 1 > 0}),
            "textDocument/rename" => {
                let new = bytes.next();
                params["newName"] = NEW_NAMES.get(new % 16).map_or_else(|| bytes.text(), |n| (*n).to_owned()).into();
            }
            _ => {}
        }
        self.ask(method, params, silent);
    }

    /// A frame whose body is no message.
    fn no_message(&mut self, body: &str) {
        match serde_json::from_str::<Value>(body) {
            Ok(Value::Object(_)) => {} // may be one
            _ => self.push(frame(body.as_bytes()), Some(Value::Null), false),
        }
    }

    /// An address that is no file of the base.
    fn odd(&mut self, bytes: &mut Bytes<'_>, silent: bool) {
        let document = json!({"uri": bytes.of(ODD), "version": 1, "languageId": "", "text": bytes.text()});
        self.notify("textDocument/didOpen", &json!({"textDocument": document}), silent);
        let place = json!({"line": bytes.next(), "character": bytes.next()});
        self.ask(bytes.of(ASKED), json!({"textDocument": document, "position": place, "newName": "x"}), silent);
        self.notify("textDocument/didClose", &json!({"textDocument": document}), silent);
    }

    /// `shutdown`, a question behind it, `exit`; or bytes that are no frame.
    fn end(&mut self, bytes: &mut Bytes<'_>) {
        if bytes.next() & 1 > 0 {
            self.push(bytes.0.to_vec(), None, false);
        } else {
            self.ask("shutdown", Value::Null, true);
            self.ask(ASKED[0], Value::Null, true);
            self.notify("exit", &Value::Null, false);
        }
        self.is_over = true;
    }
}

fn disk_texts(disk: &ruleout::load::Memory) -> Texts {
    use ruleout::load::Files as _;
    let text = |path: &String| String::from_utf8(disk.get(path).unwrap().to_vec()).unwrap();
    disk.list().unwrap().into_iter().map(|path| (path.clone(), text(&path))).collect()
}
