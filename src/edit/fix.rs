//! The safe mends of a base, made together.
//!
//! In: findings and the sources they stand in. Out: [`Fixed`]: the new text of each file that changes, and what was done.
//! Of two mends that want the same place the first stays; the other has its turn when the base has been judged again.

use std::collections::BTreeMap;

use super::apply;
use crate::finding::{Edit, Finding, RuleName};
use crate::source::{FileId, Position, Sources, Span};

/// One mend that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// The rule that asked for it.
    pub rule: RuleName,
    /// The file, relative to the knowledge base.
    pub file: String,
    /// Where, before the mend.
    pub place: Position,
    /// What it does.
    pub title: String,
}

/// What one round of mending gives.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Fixed {
    /// New texts by path, for files that change.
    pub texts: BTreeMap<String, String>,
    /// What was done, in the order of the findings.
    pub made: Vec<Made>,
}

/// Makes every safe mend whose places no earlier one wants.
pub fn fix(findings: &[Finding], sources: &Sources) -> Fixed {
    let mut taken: BTreeMap<FileId, Vec<Edit>> = BTreeMap::new();
    let mut fixed = Fixed::default();
    for finding in findings {
        let Some(mend) = finding.mend.as_ref().filter(|m| m.safe && !m.edits.is_empty()) else { continue };
        let free = |edit: &Edit| {
            let there = taken.get(&edit.span.file).map(Vec::as_slice).unwrap_or_default();
            !there.iter().any(|other| touch(other.span, edit.span))
        };
        let changes = |edit: &Edit| sources.text(edit.span) != edit.text;
        if !mend.edits.iter().all(free) || !mend.edits.iter().any(changes) {
            continue;
        }
        for edit in &mend.edits {
            taken.entry(edit.span.file).or_default().push(edit.clone());
        }
        let file = sources.file(finding.span.file);
        fixed.made.push(Made {
            rule: finding.rule,
            file: file.path().to_owned(),
            place: file.position(finding.span.start),
            title: mend.title.clone(),
        });
    }
    for (id, edits) in taken {
        let file = sources.file(id);
        // The edits of one mend never overlap, and those of two never touch: this always succeeds.
        if let Ok(text) = apply(file.text(), &edits) {
            fixed.texts.insert(file.path().to_owned(), text);
        }
    }
    fixed
}

/// Whether two places share a byte or an end.
fn touch(a: Span, b: Span) -> bool {
    a.start <= b.end && b.start <= a.end
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Level;
    use crate::source::SourceFile;

    fn finding(at: (usize, usize), text: &str) -> Finding {
        let span = Span::new(FileId(0), at.0, at.1);
        Finding::new("bad-value", Level::Error, span, "x").respell("y", span, text)
    }

    #[test]
    fn the_first_of_two_that_touch_wins() {
        let mut sources = Sources::default();
        sources.add(SourceFile::new("a.md", "abcdef"));
        let all = [finding((0, 2), "X"), finding((2, 3), "Y"), finding((4, 5), "Z"), finding((5, 6), "f")];
        let fixed = fix(&all, &sources);
        assert_eq!(fixed.texts["a.md"], "XcdZf");
        assert_eq!(fixed.made.len(), 2, "what changes nothing is not told");
    }

    #[test]
    fn an_offer_is_never_made_unasked() {
        let mut sources = Sources::default();
        sources.add(SourceFile::new("a.md", "abc"));
        let span = Span::new(FileId(0), 0, 1);
        let offer = Finding::new("reading-gap", Level::Error, span, "x").mend("y", span, "z");
        assert_eq!(fix(&[offer], &sources), Fixed::default());
    }
}
