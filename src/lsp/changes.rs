//! Edits of several files as an editor takes them.
//!
//! In: bytes and new texts by file, and a file that gets another name. Out: a `WorkspaceEdit`: with the versions of open
//! buffers where the editor understands them.

use std::collections::BTreeMap;
use std::ops::Range;

use lsp_types::{
    DocumentChangeOperation, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier, RenameFile, ResourceOp,
    TextDocumentEdit, TextEdit, WorkspaceEdit,
};

use super::desk::Desk;
use super::place::Lines;

/// Replacements by file.
#[derive(Default)]
pub struct Changes {
    texts: BTreeMap<String, Vec<(Range<usize>, String)>>,
    /// A file's old and new path.
    pub renamed: Option<(String, String)>,
}

impl Changes {
    /// Adds a replacement.
    pub fn replace(&mut self, path: &str, at: Range<usize>, text: &str) {
        self.texts.entry(path.to_owned()).or_default().push((at, text.to_owned()));
    }

    /// As the editor takes it; nothing where a file has no address.
    pub fn edit(mut self, desk: &Desk) -> Option<WorkspaceEdit> {
        let mut by_file = Vec::new();
        for (path, texts) in &mut self.texts {
            texts.sort_by_key(|(at, _)| at.start);
            texts.dedup();
            let (_, text) = desk.file(path)?;
            let lines = Lines::new(&text, desk.encoding);
            let edits: Vec<TextEdit> = texts
                .iter()
                .map(|(at, new)| TextEdit { range: lines.range(at.start, at.end), new_text: new.clone() })
                .collect();
            by_file.push((path.as_str(), desk.uri(path)?, edits));
        }
        if !desk.takes.document_changes {
            #[allow(clippy::mutable_key_type, reason = "the protocol's own type is keyed by address")]
            let changes = by_file.into_iter().map(|(_, uri, edits)| (uri, edits)).collect();
            return Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() });
        }
        let mut operations: Vec<DocumentChangeOperation> = by_file
            .into_iter()
            .map(|(path, uri, edits)| {
                let version = desk.docs.get(path).map(|d| d.version);
                let text_document = OptionalVersionedTextDocumentIdentifier { uri, version };
                let edits = edits.into_iter().map(OneOf::Left).collect();
                DocumentChangeOperation::Edit(TextDocumentEdit { text_document, edits })
            })
            .collect();
        if let Some((old, new)) = &self.renamed {
            let rename =
                RenameFile { old_uri: desk.uri(old)?, new_uri: desk.uri(new)?, options: None, annotation_id: None };
            operations.push(DocumentChangeOperation::Op(ResourceOp::Rename(rename)));
        }
        let changes = Some(DocumentChanges::Operations(operations));
        Some(WorkspaceEdit { document_changes: changes, ..WorkspaceEdit::default() })
    }
}
