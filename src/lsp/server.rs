//! One talk with an editor: what it asks, and what it is told.
//!
//! In: messages, one after another. Out: answers, and diagnostics of the files whose findings changed. Before `initialize`
//! and after `shutdown` only what LSP 3.17 allows is answered.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::{
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams, InitializeParams,
    PublishDiagnosticsParams, Uri,
};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::desk::{Desk, Takes};
use super::diagnostics::Told;
use super::place::{Encoding, path_of};
use super::{abilities, requests, wire};

/// How far the talk is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Phase {
    Fresh,
    Open,
    ShutDown,
}

/// Why a request is not answered.
pub struct Refusal(pub ErrorCode, pub String);

impl Refusal {
    /// The request was understood and can't be done: a sentence for the author.
    pub fn failed(message: impl Into<String>) -> Self {
        Self(ErrorCode::RequestFailed, message.into())
    }
}

/// The server's side of a talk.
pub struct Server<W> {
    out: W,
    named: Option<PathBuf>,
    phase: Phase,
    encoding: Encoding,
    watches: bool,
    takes: Takes,
    desk: Option<Desk>,
    sent: Told,
    told: Option<String>,
}

impl<W: Write> Server<W> {
    /// `named` is the base that the command line names.
    pub fn new(out: W, named: Option<PathBuf>) -> Self {
        let (phase, encoding, sent) = (Phase::Fresh, Encoding::default(), Told::default());
        Self { out, named, phase, encoding, watches: false, takes: Takes::default(), desk: None, sent, told: None }
    }

    /// Whether something waits to be judged.
    pub fn is_waiting(&self) -> bool {
        self.phase == Phase::Open && self.desk.as_ref().is_some_and(Desk::is_waiting)
    }

    /// How long the editor must be silent before what waits is judged: longer than between two messages of one keystroke,
    /// and not at all where judging has begun.
    pub fn pause(&self) -> Duration {
        let midway = self.desk.as_ref().is_some_and(Desk::is_midway);
        if midway { Duration::ZERO } else { Duration::from_millis(15) }
    }

    /// Takes one message. The exit code, where it ends the talk.
    ///
    /// # Errors
    /// The editor went away.
    pub fn take(&mut self, message: Message) -> std::io::Result<Option<u8>> {
        match message {
            Message::Request(request) => {
                let (id, answer) = (request.id.clone(), self.answer(request));
                self.reply(id, answer)?;
            }
            Message::Notification(note) if note.method == "exit" => {
                return Ok(Some(u8::from(self.phase != Phase::ShutDown)));
            }
            Message::Notification(note) => {
                if self.phase == Phase::Open {
                    self.notice(note)?;
                }
            }
            Message::Response(_) => {}
        }
        Ok(None)
    }

    /// Says that a message can't be read.
    ///
    /// # Errors
    /// The editor went away.
    pub fn complain(&mut self, code: ErrorCode, message: &str) -> std::io::Result<()> {
        wire::complain(&mut self.out, code, message)
    }

    fn reply(&mut self, id: RequestId, answer: Result<Value, Refusal>) -> std::io::Result<()> {
        let response = match answer {
            Ok(result) => Response { id, response_result: Ok(result) },
            Err(Refusal(code, message)) => Response::new_err(id, code as i32, message),
        };
        wire::write(&mut self.out, &Message::Response(response))
    }

    fn notify(&mut self, method: &str, params: Value) -> std::io::Result<()> {
        wire::write(&mut self.out, &Message::Notification(Notification { method: method.to_owned(), params }))
    }

    fn answer(&mut self, request: Request) -> Result<Value, Refusal> {
        match (self.phase, request.method.as_str()) {
            (Phase::Fresh, "initialize") => self.initialize(&read(request.params)?),
            (Phase::Fresh, _) => {
                Err(Refusal(ErrorCode::ServerNotInitialized, "expected `initialize` first".to_owned()))
            }
            (Phase::ShutDown, _) => Err(Refusal(ErrorCode::InvalidRequest, "the server was shut down".to_owned())),
            (Phase::Open, "initialize") => {
                Err(Refusal(ErrorCode::InvalidRequest, "`initialize` comes once".to_owned()))
            }
            (Phase::Open, "shutdown") => {
                self.phase = Phase::ShutDown;
                Ok(Value::Null)
            }
            (Phase::Open, method) => {
                let Some(handler) = requests::find(method) else {
                    return Err(Refusal(ErrorCode::MethodNotFound, format!("there is no request `{method}`")));
                };
                let Some(desk) = &mut self.desk else { return Ok(Value::Null) };
                if desk.linted().is_none() || handler.judged || desk.is_behind() {
                    // A base that can't be read is told with the diagnostics.
                    let _ = desk.judge();
                }
                let desk: &Desk = desk;
                let run = || (handler.run)(desk, request.params);
                std::panic::catch_unwind(std::panic::AssertUnwindSafe(run))
                    .unwrap_or_else(|_| Err(Refusal(ErrorCode::InternalError, "this is a fault of ruleout".to_owned())))
            }
        }
    }

    fn initialize(&mut self, params: &InitializeParams) -> Result<Value, Refusal> {
        self.encoding = abilities::encoding(params);
        self.watches = abilities::watches(params);
        self.takes = abilities::takes(params);
        let folders = params.workspace_folders.iter().flatten().map(|f| &f.uri);
        #[allow(deprecated, reason = "older editors name their folder so")]
        let first = folders.chain(&params.root_uri).find_map(path_of);
        let base = self.named.clone().or_else(|| base_in(&first?));
        self.desk = base.map(|root| Desk::new(root, self.encoding, self.takes));
        self.phase = Phase::Open;
        serde_json::to_value(abilities::answer(self.encoding))
            .map_err(|why| Refusal(ErrorCode::InternalError, why.to_string()))
    }

    fn notice(&mut self, note: Notification) -> std::io::Result<()> {
        match note.method.as_str() {
            "initialized" if self.watches => {
                let request = Request {
                    id: RequestId::from("watch".to_owned()),
                    method: "client/registerCapability".into(),
                    params: abilities::watch(),
                };
                wire::write(&mut self.out, &Message::Request(request))?;
            }
            "textDocument/didOpen" => {
                if let Ok(DidOpenTextDocumentParams { text_document: doc }) = serde_json::from_value(note.params)
                    && let Some((path, desk)) = self.open(&doc.uri)
                {
                    desk.open(path, doc.uri, doc.version, &doc.text);
                }
            }
            "textDocument/didChange" => {
                if let Ok(params) = serde_json::from_value::<DidChangeTextDocumentParams>(note.params)
                    && let Some((path, desk)) = self.open(&params.text_document.uri)
                {
                    desk.change(&path, params.text_document.version, params.content_changes);
                }
            }
            "textDocument/didClose" => {
                if let Ok(params) = serde_json::from_value::<DidCloseTextDocumentParams>(note.params)
                    && let Some((path, desk)) = self.open(&params.text_document.uri)
                {
                    desk.close(&path);
                }
            }
            "textDocument/didSave" | "workspace/didChangeWatchedFiles" => {
                if let Some(desk) = &mut self.desk {
                    desk.look_again();
                }
            }
            _ => {}
        }
        Ok(())
    }

    /// The path in the base of a file, and its base. The first file that belongs to one names it, where nothing else did.
    fn open(&mut self, uri: &Uri) -> Option<(String, &mut Desk)> {
        let file = path_of(uri)?;
        if self.desk.is_none() {
            let root = base_around(&file)?;
            self.desk = Some(Desk::new(root, self.encoding, self.takes));
        }
        let desk = self.desk.as_mut()?;
        Some((desk.within(&file)?, desk))
    }

    /// Judges a part of what waits; when all is judged, sends the diagnostics of the files whose findings changed.
    ///
    /// # Errors
    /// The editor went away.
    pub fn publish(&mut self) -> std::io::Result<()> {
        let Some(desk) = &mut self.desk else { return Ok(()) };
        let judged = desk.judge_part();
        if let Ok(false) = judged {
            return Ok(());
        }
        if let Err(why) = judged {
            desk.untold = false;
            if self.told.as_ref() != Some(&why) {
                self.told = Some(why.clone());
                return self.notify("window/showMessage", json!({"type": 1, "message": why}));
            }
            return Ok(());
        }
        self.told = None;
        desk.untold = false;
        let Some(desk) = &self.desk else { return Ok(()) };
        let mut messages = Vec::new();
        for (path, diagnostics) in self.sent.changed(desk) {
            let version = desk.docs.get(&path).map(|d| d.version);
            if let Some(uri) = desk.uri(&path) {
                messages.push(PublishDiagnosticsParams { uri, diagnostics, version });
            }
        }
        for params in messages {
            self.notify("textDocument/publishDiagnostics", serde_json::to_value(params)?)?;
        }
        if let Some(desk) = &self.desk {
            // The first question about a name should not wait for every file to be read.
            desk.uses();
        }
        Ok(())
    }
}

/// Reads the parameters of a request.
///
/// # Errors
/// They are not what the protocol says.
pub fn read<T: DeserializeOwned>(params: Value) -> Result<T, Refusal> {
    serde_json::from_value(params).map_err(|why| Refusal(ErrorCode::InvalidParams, why.to_string()))
}

/// The base of a folder: itself, its `kb`, or the nearest upward.
fn base_in(folder: &Path) -> Option<PathBuf> {
    let is_base = |folder: &Path| folder.join("shop.yaml").is_file() || folder.join("procedures").is_dir();
    let below = folder.join("kb");
    [folder, below.as_path()].into_iter().chain(folder.ancestors().skip(1)).find(|f| is_base(f)).map(Path::to_owned)
}

/// The base that a file lies in.
fn base_around(file: &Path) -> Option<PathBuf> {
    file.ancestors()
        .skip(1)
        .find(|f| f.join("shop.yaml").is_file() || f.join("procedures").is_dir())
        .map(Path::to_owned)
}
