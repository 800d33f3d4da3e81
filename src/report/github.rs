//! Findings as workflow annotations.
//!
//! In: findings and sources. Out: one workflow command a line. What has a meaning in a command is escaped as GitHub documents it
//! (`@actions/core`, command.ts): `%`, CR and LF everywhere, `:` and `,` in properties too.

use crate::finding::{Finding, Level, Report};
use crate::source::Sources;

/// One line a finding; notes only if asked.
pub fn render(report: &Report, sources: &Sources, prefix: &str, notes: bool) -> String {
    let told = report.findings.iter().filter(|f| notes || f.level > Level::Note);
    told.map(|f| line(f, sources, prefix)).collect()
}

fn line(finding: &Finding, sources: &Sources, prefix: &str) -> String {
    let command = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        _ => "notice",
    };
    let file = sources.file(finding.span.file);
    let (from, to) = (file.position(finding.span.start), file.position(finding.span.end));
    // Columns of an annotation that ends on another line are refused: its last line is told, its columns are not.
    let columns = if to.line == from.line {
        format!(",col={},endColumn={}", from.column, to.column.max(from.column))
    } else {
        String::new()
    };
    let help = finding.help.iter().map(|h| format!("help: {h}"));
    let words: Vec<String> = std::iter::once(finding.message.clone())
        .chain(finding.facts.iter().cloned())
        .chain(help)
        .map(|part| super::escape(&part))
        .collect();
    format!(
        "::{command} file={},line={},endLine={}{columns},title={}::{}\n",
        property(&format!("{prefix}{}", file.path())),
        from.line,
        to.line,
        property(finding.rule),
        data(&words.join("\n"))
    )
}

fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_a_meaning_is_escaped() {
        assert_eq!(data("50 % of 1:2, a\r\nb"), "50 %25 of 1:2, a%0D%0Ab");
        assert_eq!(property("a:b,c%3A\n"), "a%3Ab%2Cc%253A%0A");
    }
}
