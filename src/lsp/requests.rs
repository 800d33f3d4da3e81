//! What the editor may ask.
//!
//! In: a method. Out: its handler.

use serde_json::Value;

use super::desk::Desk;
use super::server::{Refusal, read};
use super::{complete, hover, jump};

/// Answers one kind of request.
pub struct Handler {
    /// Whether what waits is judged first: for answers that rest on findings.
    pub judged: bool,
    /// Parameters in, result out.
    pub run: fn(&Desk, Value) -> Result<Value, Refusal>,
}

/// The handler of a method.
pub fn find(method: &str) -> Option<Handler> {
    let run: fn(&Desk, Value) -> Result<Value, Refusal> = match method {
        "textDocument/completion" => |desk, params| answer(complete::at(desk, read(params)?)),
        "textDocument/hover" => |desk, params| answer(hover::at(desk, read(params)?)),
        "textDocument/definition" => |desk, params| answer(jump::definition(desk, read(params)?)),
        "textDocument/references" => |desk, params| answer(jump::references(desk, read(params)?)),
        _ => return None,
    };
    Some(Handler { judged: false, run })
}

fn answer(result: impl serde::Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(result).map_err(|why| Refusal(lsp_server::ErrorCode::InternalError, why.to_string()))
}
