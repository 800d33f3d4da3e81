//! The least that any tool must do with the same files: YAML events and Markdown events, nothing else.

/// How many events there are in a file; none in one that is neither YAML nor Markdown.
pub fn events(path: &str, bytes: &[u8]) -> usize {
    let Ok(text) = std::str::from_utf8(bytes) else { return 0 };
    let (yaml, body) = match text.strip_prefix("---\n").and_then(|t| t.split_once("\n---\n")) {
        Some((yaml, body)) if path.ends_with(".md") => (yaml, body),
        _ if path.ends_with(".yaml") => (text, ""),
        _ => return 0,
    };
    let options = pulldown_cmark::Options::ENABLE_TABLES | pulldown_cmark::Options::ENABLE_HEADING_ATTRIBUTES;
    saphyr_parser::Parser::new_from_str(yaml).count() + pulldown_cmark::Parser::new_ext(body, options).count()
}
