//! What the editor may ask.
//!
//! In: a method. Out: its handler.

use serde_json::Value;

use super::desk::Desk;
use super::server::{Refusal, read};
use super::{actions, complete, hover, jump, outline, rename};

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
        "textDocument/completion" => |desk, params| answer(complete::at(desk, &read(params)?)),
        "textDocument/hover" => |desk, params| answer(hover::at(desk, &read(params)?)),
        "textDocument/definition" => |desk, params| answer(jump::definition(desk, &read(params)?)),
        "textDocument/references" => |desk, params| answer(jump::references(desk, &read(params)?)),
        "textDocument/prepareRename" => |desk, params| answer(rename::prepare(desk, &read(params)?)?),
        "textDocument/rename" => |desk, params| answer(rename::rename(desk, &read(params)?)?),
        "textDocument/documentSymbol" => |desk, params| answer(outline::symbols(desk, &read(params)?)),
        "textDocument/foldingRange" => |desk, params| answer(outline::folds(desk, &read(params)?)),
        "textDocument/codeAction" => |desk, params| answer(actions::at(desk, &read(params)?)),
        _ => return None,
    };
    let judged = method == "textDocument/codeAction";
    Some(Handler { judged, run })
}

fn answer(result: impl serde::Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(result).map_err(|why| Refusal(lsp_server::ErrorCode::InternalError, why.to_string()))
}
