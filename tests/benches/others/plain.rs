//! A page of the site as plain Markdown: its headings, words, lists, tables and links, without the picture, the scripts and the frame.
//!
//! In: HTML as the site's own views write it. Out: the title and the Markdown.

/// What is left out whole.
const SKIPPED: &[&str] = &["svg", "script", "nav", "h1", "select"];

/// The title and the words between `<main>` and `</main>`.
pub fn plain(html: &str) -> (String, String) {
    let title = between(html, "<title>", "</title>").trim().to_owned();
    let mut rest = between(html, "<main", "</main>");
    rest = rest.split_once('>').map_or("", |(_, rest)| rest);
    let mut out = String::new();
    let mut links: Vec<String> = Vec::new();
    let mut cells = 0;
    while let Some((text, tail)) = rest.split_once('<') {
        words(&mut out, text);
        let Some((tag, tail)) = tail.split_once('>') else { break };
        rest = tail;
        let name = tag.split([' ', '\n']).next().unwrap_or_default();
        if SKIPPED.contains(&name) {
            rest = rest.split_once(&format!("</{name}>")).map_or("", |(_, rest)| rest);
            continue;
        }
        match name {
            "h2" => out.push_str("\n\n## "),
            "h3" | "h4" => out.push_str("\n\n### "),
            "p" | "div" | "section" | "dl" | "ul" | "ol" | "table" | "/table" | "/ul" | "/ol" | "/h2" | "/h3"
            | "/h4" => out.push_str("\n\n"),
            "li" | "dt" => out.push_str("\n- "),
            "dd" => out.push_str(": "),
            "tr" => cells = 0,
            "td" | "th" => {
                out.push_str("| ");
                cells += 1;
            }
            "/tr" => out.push_str("|\n"),
            "/thead" => out.push_str(&format!("{}|\n", "| --- ".repeat(cells))),
            "b" | "strong" | "/b" | "/strong" => out.push_str("**"),
            "code" | "/code" => out.push('`'),
            "a" => {
                links.push(between(tag, "href=\"", "\"").to_owned());
                out.push('[');
            }
            "/a" => out.push_str(&format!("]({})", links.pop().unwrap_or_default())),
            _ => {}
        }
    }
    (title, out)
}

/// Words with single spaces between them: what begins a line means something in Markdown.
fn words(out: &mut String, text: &str) {
    if text.starts_with(char::is_whitespace) && !out.ends_with(char::is_whitespace) {
        out.push(' ');
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    out.push_str(&words.join(" "));
    if !words.is_empty() && text.ends_with(char::is_whitespace) {
        out.push(' ');
    }
}

fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let rest = text.split_once(from).map_or("", |(_, rest)| rest);
    rest.split_once(to).map_or("", |(inside, _)| inside)
}
