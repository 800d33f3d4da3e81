//! What a file holds, as an editor's outline and its folds.
//!
//! In: a file, broken or not. Out: symbols (causes, steps, repairs; the rows of a table) and ranges of lines.

use lsp_types::{
    DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, FoldingRange, FoldingRangeKind, FoldingRangeParams,
    SymbolKind, TextDocumentIdentifier,
};

use super::desk::Desk;
use super::place::{Lines, path_of};
use super::uses::{self, Parts, bytes};
use crate::load::Role;
use crate::parse::yaml::{Entry, Kind, Node};

/// A file, taken apart, with its text.
fn file(desk: &Desk, document: &TextDocumentIdentifier) -> Option<(Role, std::sync::Arc<str>, Parts)> {
    let path = desk.within(&path_of(&document.uri)?)?;
    let (role, text) = desk.file(&path)?;
    let parts = uses::parts(role, &text);
    Some((role.clone(), text, parts))
}

/// The outline of a file.
pub fn symbols(desk: &Desk, params: &DocumentSymbolParams) -> Option<DocumentSymbolResponse> {
    let (role, text, parts) = file(desk, &params.text_document)?;
    let outline = Outline { lines: Lines::new(&text, desk.encoding) };
    let tree = parts.tree.as_ref();
    let entries = tree.map(Node::entries).unwrap_or_default();
    let mut symbols: Vec<DocumentSymbol> = match role {
        Role::Procedure(_) => {
            let wanted = entries.iter().filter(|e| ["causes", "steps"].contains(&e.key.value.as_str()));
            wanted.map(|e| outline.table(e)).collect()
        }
        Role::Table("shop.yaml") | Role::Case(_) | Role::Check(_) | Role::Repair(_) | Role::System(_) => {
            entries.iter().map(|e| outline.row(e, SymbolKind::PROPERTY)).collect()
        }
        _ => entries.iter().map(|e| outline.row(e, SymbolKind::CONSTANT)).collect(),
    };
    let steps = tree.and_then(|t| t.get("steps")).map(Node::entries).unwrap_or_default();
    for section in parts.body.iter().flat_map(|b| &b.sections) {
        // A step stands there already.
        let id = section.id.as_ref().map(|id| id.value.as_str());
        if id.is_some_and(|id| steps.iter().any(|e| e.key.value == id)) {
            continue;
        }
        let (kind, name) = match id {
            Some(id) => (SymbolKind::METHOD, id),
            None => (SymbolKind::STRING, section.title.as_str()),
        };
        let whole = bytes(section.heading).start..bytes(section.content).end;
        let detail = id.map(|_| section.title.clone());
        symbols.push(outline.symbol(name, detail, kind, &whole, &bytes(section.heading), Vec::new()));
    }
    Some(DocumentSymbolResponse::Nested(symbols))
}

struct Outline<'t> {
    lines: Lines<'t>,
}

impl Outline<'_> {
    fn table(&self, entry: &Entry) -> DocumentSymbol {
        let kind = if entry.key.value == "causes" { SymbolKind::ENUM_MEMBER } else { SymbolKind::EVENT };
        let rows = entry.value.entries().iter().map(|e| self.row(e, kind)).collect();
        let whole = bytes(entry.key.span.to(entry.value.span));
        self.symbol(&entry.key.value, None, SymbolKind::NAMESPACE, &whole, &bytes(entry.key.span), rows)
    }

    fn row(&self, entry: &Entry, kind: SymbolKind) -> DocumentSymbol {
        let whole = bytes(entry.key.span.to(entry.value.span));
        let words = ["title", "observe", "do", "measure", "check"].iter().find_map(|k| entry.value.get(k)?.as_text());
        let detail = words.or(entry.value.as_text()).map(str::to_owned);
        self.symbol(&entry.key.value, detail, kind, &whole, &bytes(entry.key.span), Vec::new())
    }

    fn symbol(
        &self,
        name: &str,
        detail: Option<String>,
        kind: SymbolKind,
        whole: &std::ops::Range<usize>,
        key: &std::ops::Range<usize>,
        children: Vec<DocumentSymbol>,
    ) -> DocumentSymbol {
        #[allow(deprecated, reason = "the type has no other constructor")]
        DocumentSymbol {
            // An editor refuses an empty name.
            name: if name.is_empty() { "-".to_owned() } else { name.to_owned() },
            detail,
            kind,
            tags: None,
            deprecated: None,
            range: self.lines.range(whole.start, whole.end),
            selection_range: self.lines.range(key.start, key.end),
            children: Some(children).filter(|c| !c.is_empty()),
        }
    }
}

/// The folds of a file.
pub fn folds(desk: &Desk, params: &FoldingRangeParams) -> Option<Vec<FoldingRange>> {
    let (_, text, parts) = file(desk, &params.text_document)?;
    let lines = Lines::new(&text, desk.encoding);
    let mut ranges: Vec<(usize, usize)> = Vec::new();
    if let Some(tree) = &parts.tree {
        nested(tree, &mut ranges);
    }
    for section in parts.body.iter().flat_map(|b| &b.sections).filter(|s| s.level > 1) {
        ranges.push((section.heading.start as usize, section.content.end as usize));
    }
    let mut folds: Vec<FoldingRange> = Vec::new();
    if parts.body.is_some() && !parts.yaml.is_empty() {
        folds.extend(fold(&lines, 0, parts.yaml.end, &text, Some(FoldingRangeKind::Region)));
    }
    for (start, end) in ranges {
        if let Some(fold) = fold(&lines, start, end, &text, None)
            && !folds.iter().any(|f| f.start_line == fold.start_line)
        {
            folds.push(fold);
        }
    }
    Some(folds)
}

/// Everything behind a key that goes over several lines.
fn nested(node: &Node, out: &mut Vec<(usize, usize)>) {
    match &node.kind {
        Kind::Map(entries) => {
            for entry in entries {
                out.push((entry.key.span.start as usize, entry.value.span.end as usize));
                nested(&entry.value, out);
            }
        }
        Kind::List(items) => items.iter().for_each(|item| nested(item, out)),
        _ => {}
    }
}

/// From a line to the last one that holds something; nothing within one line.
fn fold(
    lines: &Lines<'_>,
    start: usize,
    end: usize,
    text: &str,
    kind: Option<FoldingRangeKind>,
) -> Option<FoldingRange> {
    let end = start + text.get(start..end)?.trim_end().len();
    let (first, last) = (lines.position(start).line, lines.position(end).line);
    (first < last).then_some(FoldingRange {
        start_line: first,
        end_line: last,
        kind,
        start_character: None,
        end_character: None,
        collapsed_text: None,
    })
}
