//! What the server can do, and what the editor says it can.
//!
//! In: the parameters of `initialize`. Out: its answer, and what to register.

use lsp_types::{
    CodeActionProviderCapability, CompletionOptions, FoldingRangeProviderCapability, HoverProviderCapability,
    InitializeParams, InitializeResult, OneOf, PositionEncodingKind, RenameOptions, ResourceOperationKind,
    ServerCapabilities, ServerInfo, TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions,
    WorkDoneProgressOptions,
};
use serde_json::{Value, json};

use super::desk::Takes;
use super::place::Encoding;

/// UTF-8 where the editor offers it: it is what the files are in.
pub fn encoding(params: &InitializeParams) -> Encoding {
    let offered = params.capabilities.general.as_ref().and_then(|g| g.position_encodings.as_ref());
    if offered.is_some_and(|kinds| kinds.contains(&PositionEncodingKind::UTF8)) {
        Encoding::Utf8
    } else {
        Encoding::Utf16
    }
}

/// What the editor takes in answers.
pub fn takes(params: &InitializeParams) -> Takes {
    let edit = params.capabilities.workspace.as_ref().and_then(|w| w.workspace_edit.as_ref());
    let document_changes = edit.and_then(|e| e.document_changes).unwrap_or(false);
    let kinds = edit.and_then(|e| e.resource_operations.as_ref());
    let file_renames = document_changes && kinds.is_some_and(|k| k.contains(&ResourceOperationKind::Rename));
    Takes { document_changes, file_renames }
}

/// Whether the editor tells of files that change on disk, once asked.
pub fn watches(params: &InitializeParams) -> bool {
    let workspace = params.capabilities.workspace.as_ref();
    let watched = workspace.and_then(|w| w.did_change_watched_files.as_ref());
    watched.and_then(|w| w.dynamic_registration).unwrap_or(false)
}

/// What to ask such an editor for.
pub fn watch() -> Value {
    json!({"registrations": [{
        "id": "files", "method": "workspace/didChangeWatchedFiles",
        "registerOptions": {"watchers": [{"globPattern": "**/*.{md,yaml,yml}"}, {"globPattern": "**/figures/**"}]},
    }]})
}

/// The answer to `initialize`.
pub fn answer(encoding: Encoding) -> InitializeResult {
    let kind = match encoding {
        Encoding::Utf16 => PositionEncodingKind::UTF16,
        Encoding::Utf8 => PositionEncodingKind::UTF8,
    };
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(true.into()),
        ..TextDocumentSyncOptions::default()
    };
    let signs = [":", " ", "[", "{", ",", "/", "#", "-"];
    let completion = CompletionOptions {
        trigger_characters: Some(signs.map(str::to_owned).to_vec()),
        ..CompletionOptions::default()
    };
    let rename =
        RenameOptions { prepare_provider: Some(true), work_done_progress_options: WorkDoneProgressOptions::default() };
    InitializeResult {
        capabilities: ServerCapabilities {
            position_encoding: Some(kind),
            text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
            completion_provider: Some(completion),
            hover_provider: Some(HoverProviderCapability::Simple(true)),
            definition_provider: Some(OneOf::Left(true)),
            references_provider: Some(OneOf::Left(true)),
            rename_provider: Some(OneOf::Right(rename)),
            document_symbol_provider: Some(OneOf::Left(true)),
            code_action_provider: Some(CodeActionProviderCapability::Simple(true)),
            folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
            ..ServerCapabilities::default()
        },
        server_info: Some(ServerInfo {
            name: "ruleout".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}
