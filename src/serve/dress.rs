//! A finished page of the site, dressed for its author: findings at their steps, and the script that reloads it.
//!
//! In: a page's HTML, its findings, the counts. Out: HTML. What the site would serve is otherwise untouched.

use sha2::{Digest as _, Sha256};

use super::placed::Placed;
use crate::finding::{Finding, Level};
use crate::plan::hex;
use crate::source::Sources;

/// What the preview adds lives below this address; no file of a site does.
pub const OWN: &str = "_preview/";

/// Findings beyond these are counted, not shown, on the front page.
const MOST: usize = 300;

/// Text as HTML.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// What all pages of one state share.
pub struct Dress<'a> {
    /// The sources, for places.
    pub sources: &'a Sources,
    /// What stands before a file's path, `kb/` for example.
    pub prefix: &'a str,
    /// The state of the base, which stands on every page and is no change of it.
    pub state: String,
    /// Which state this is, counted from 1.
    pub generation: u64,
    /// How often a picture changed.
    pub pictures: u64,
}

impl Dress<'_> {
    /// Lays the findings into a page.
    pub fn findings(&self, html: &mut String, findings: &[(Option<&str>, &Finding)]) {
        // Backwards, so that the first of a step comes to stand first.
        for (anchor, finding) in findings.iter().rev() {
            let (at, block) = match anchor.and_then(|id| below(html, id)) {
                Some(at) => (at, self.block(finding)),
                None => (top(html), self.block(finding)),
            };
            html.insert_str(at, &block);
        }
    }

    /// Lays the list of all findings into the front page.
    pub fn list(&self, html: &mut String, placed: &Placed<'_>) {
        let told: Vec<_> = placed.all().filter(|(.., f)| f.level > Level::Note).collect();
        if told.is_empty() {
            return;
        }
        let mut list = String::from(
            "<section class=\"preview-list\" aria-labelledby=\"findings_\"><h2 id=\"findings_\">Findings</h2>\n<ul>\n",
        );
        for (address, anchor, finding) in told.iter().take(MOST) {
            let hash = anchor.map_or_else(String::new, |id| format!("#{}", escape(id)));
            list.push_str(&format!(
                "<li><b>{}</b>: <a href=\"{}{hash}\">{}</a> <span class=\"more\">{}</span></li>\n",
                finding.level.name(),
                escape(address),
                escape(&finding.message),
                escape(&self.place(finding)),
            ));
        }
        if told.len() > MOST {
            list.push_str(&format!("<li>and {} more: <code>ruleout lint</code> shows them</li>\n", told.len() - MOST));
        }
        list.push_str("</ul></section>\n");
        html.insert_str(top(html), &list);
    }

    fn block(&self, finding: &Finding) -> String {
        let level = finding.level.name();
        // A note is for the author's leisure: one line, the rest behind it.
        let [open, head, tail, close] = match finding.level {
            Level::Error | Level::Warning => ["div role=\"note\" aria-label=\"Finding\"", "<p>", "</p>", "div"],
            Level::Note | Level::Off => ["details", "<summary>", "</summary>", "details"],
        };
        let mut block = format!(
            "<{open} class=\"preview-finding preview-{level}\">{head}<b>{level}</b> <code>{}</code> {}{tail}",
            finding.rule,
            escape(&finding.message)
        );
        for line in finding.facts.iter().chain(&finding.help) {
            block.push_str(&format!("<p>{}</p>", escape(line)));
        }
        block.push_str(&format!("<p class=\"more\">{}</p></{close}>\n", escape(&self.place(finding))));
        block
    }

    /// `kb/procedures/a.md:41:14`.
    fn place(&self, finding: &Finding) -> String {
        let file = self.sources.file(finding.span.file);
        let at = file.position(finding.span.start);
        format!("{}{}:{}:{}", self.prefix, file.path(), at.line, at.column)
    }

    /// What tells one content of a page from another: its bytes, but for the state of the whole base that stands on it.
    pub fn digest(&self, html: &str, job: &str) -> String {
        let mut hasher = Sha256::new();
        for part in html.split(&self.state) {
            hasher.update(part.as_bytes());
        }
        hasher.update(job.as_bytes());
        if html.contains("figures/") {
            hasher.update(self.pictures.to_le_bytes());
        }
        hex(&hasher.finalize()[..8])
    }

    /// Adds the script, its style and what they may do.
    pub fn finish(&self, html: &mut String, digest: &str) {
        // Only here may a page ask its server anything; and nothing may keep pages for later.
        *html = html.replacen("worker-src 'self'", "worker-src 'none'; connect-src 'self'", 1);
        *html = html.replacen(" data-worker=\"sw.js\"", "", 1);
        *html = html.replacen(" data-worker=\"sw.js\"", "", 1);
        let head = format!(
            "<link rel=\"stylesheet\" href=\"/{OWN}preview.css\">\n<script defer src=\"/{OWN}preview.js\" \
             data-digest=\"{digest}\" data-generation=\"{}\"></script>\n",
            self.generation
        );
        if let Some(at) = html.find("</head>") {
            html.insert_str(at, &head);
        }
    }
}

/// A page that is shown as it was before its file broke, and says so.
pub fn as_it_was(html: &str) -> String {
    let mut html = html.to_owned();
    let says = "<div class=\"preview-finding preview-error\" role=\"note\"><p>Shown as it was before: the file has the errors \
                above and below.</p></div>\n";
    html.insert_str(top(&html), says);
    html
}

/// Where a finding about the whole page stands: below the page's title.
fn top(html: &str) -> usize {
    html.find("</h1>").map_or(html.len(), |at| at + "</h1>".len())
}

/// Where a finding stands that concerns an id: below its heading, or in the head cell of its row.
fn below(html: &str, id: &str) -> Option<usize> {
    let at = html.find(&format!(" id=\"{id}\""))?;
    let rest = &html[at..];
    let heading = ["</h2>", "</h3>", "</h4>"].iter().filter_map(|end| Some(rest.find(end)? + end.len())).min();
    let cell = rest.find("</th>");
    let inner = match (heading, cell) {
        (Some(heading), Some(cell)) => heading.min(cell),
        (one, other) => one.or(other)?,
    };
    Some(at + inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_stands_below_its_heading_or_in_its_row() {
        let html = "<h1>T</h1><table><tr id=\"c\"><th>Cause</th></tr></table><h3 id=\"s\">Step</h3><p>How</p>";
        assert_eq!(&html[below(html, "s").unwrap()..], "<p>How</p>");
        assert!(html[below(html, "c").unwrap()..].starts_with("</th>"));
        assert_eq!(below(html, "gone"), None);
        assert!(html[top(html)..].starts_with("<table>"));
    }

    #[test]
    fn texts_cannot_break_out() {
        assert_eq!(escape("<b a='x'>&\""), "&lt;b a=&#39;x&#39;&gt;&amp;&quot;");
    }
}
