//! A file with very many faults of one kind: the first are told, the others counted.
//!
//! In: findings in any order. Out: the first [`MOST`] of each file, rule and level, and one more that says how many are left out.
//! A hostile file of a few megabytes would else be told in hundreds of megabytes.

use super::{Finding, Level, RuleName};
use crate::source::Span;

/// Findings of one file, rule and level that are told one by one.
pub const MOST: usize = 200;
/// As few findings as are no reason to fold while they are still being collected.
const FEW: usize = 8192;

impl Finding {
    /// The one that stands for `more` others, the first of which is at `span`.
    pub fn more(rule: RuleName, level: Level, span: Span, more: usize) -> Self {
        let message = match more {
            1 => "1 more finding of this kind in this file is not shown".to_owned(),
            _ => format!("{more} more findings of this kind in this file are not shown"),
        };
        let mut finding = Self::new(rule, level, span, message).help("put right those shown, then run it again");
        finding.more = more;
        finding
    }

    /// How many findings it stands for.
    pub fn weight(&self) -> usize {
        self.more.max(1)
    }
}

/// Folds what is still being collected, once in a while: call it between two rows of a file. Those of different procedures
/// stay apart, as one procedure may allow what another does not.
pub fn make_room(findings: &mut Vec<Finding>) {
    // Where three quarters are full: a row may bring several, and room that is too small would be made again and again.
    if findings.len() < FEW.max(findings.capacity() / 4 * 3) {
        return;
    }
    fold_by(findings, |f| f.procedure.as_deref());
    if findings.len() > findings.capacity() / 2 {
        findings.reserve(findings.capacity());
    }
}

/// Folds what is told in the end. They keep their order.
pub(super) fn fold(findings: &mut Vec<Finding>) {
    fold_by(findings, |_| None);
}

fn fold_by(findings: &mut Vec<Finding>, procedure: fn(&Finding) -> Option<&str>) {
    let kind = |at: usize| (findings[at].span.file, findings[at].rule, findings[at].level, procedure(&findings[at]));
    let place = |at: usize| (findings[at].more > 0, findings[at].span);
    let mut order: Vec<usize> = (0..findings.len()).collect();
    order.sort_by_key(|at| (kind(*at), place(*at), *at));
    let mut is_told = vec![true; findings.len()];
    let mut folded = Vec::new();
    for same in order.chunk_by(|a, b| kind(*a) == kind(*b)) {
        let rest = &same[same.len().min(MOST)..];
        let Some(first) = rest.iter().min_by_key(|at| findings[**at].span) else { continue };
        let more = rest.iter().map(|at| findings[*at].weight()).sum();
        let first = &findings[*first];
        let mut one = Finding::more(first.rule, first.level, first.span, more);
        one.procedure.clone_from(&first.procedure);
        folded.push((rest[0], one));
        for at in rest {
            is_told[*at] = false;
        }
    }
    for (at, one) in folded {
        findings[at] = one;
        is_told[at] = true;
    }
    let mut told = is_told.into_iter();
    findings.retain(|_| told.next().unwrap_or(true));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::FileId;

    fn finding(file: u32, at: usize, level: Level) -> Finding {
        Finding::new("bad-value", level, Span::new(FileId(file), at, at + 1), format!("wrong at {at}"))
    }

    #[test]
    fn the_first_of_a_kind_are_told_and_the_others_counted() {
        let mut findings: Vec<Finding> = (0..1000).rev().map(|at| finding(0, at, Level::Error)).collect();
        findings.extend((0..MOST).map(|at| finding(1, at, Level::Error)));
        findings.extend((0..=MOST).map(|at| finding(1, at, Level::Note)));
        fold(&mut findings);
        let of = |file: u32, level| findings.iter().filter(move |f| f.span.file == FileId(file) && f.level == level);
        assert_eq!(of(0, Level::Error).count(), MOST + 1);
        let more: Vec<&Finding> = of(0, Level::Error).filter(|f| f.more > 0).collect();
        assert_eq!((more[0].more, more[0].span.start, more.len()), (800, 200, 1));
        assert_eq!(more[0].message, "800 more findings of this kind in this file are not shown");
        assert!(of(0, Level::Error).filter(|f| f.more == 0).all(|f| f.span.start < 200), "the first are told");
        assert_eq!(of(1, Level::Error).count(), MOST);
        assert!(of(1, Level::Error).all(|f| f.more == 0), "no more than are told");
        assert_eq!(of(1, Level::Note).map(|f| f.more).max(), Some(1));
    }

    #[test]
    fn folding_while_collecting_counts_the_same() {
        let mut findings = Vec::new();
        for at in 0..100_000 {
            make_room(&mut findings);
            findings.push(finding(0, at, Level::Error));
            findings.push(finding(0, at, Level::Warning));
        }
        assert!(findings.capacity() < 4 * FEW, "{}", findings.capacity());
        fold(&mut findings);
        assert_eq!(findings.iter().map(Finding::weight).sum::<usize>(), 200_000);
        let mut more: Vec<_> =
            findings.iter().filter(|f| f.more > 0).map(|f| (f.level, f.more, f.span.start)).collect();
        more.sort();
        assert_eq!(more, [(Level::Warning, 99_800, 200), (Level::Error, 99_800, 200)]);
        // what can't be folded is not looked at again and again
        let mut apart: Vec<Finding> = Vec::new();
        for file in 0..50_000 {
            make_room(&mut apart);
            apart.push(finding(file, 0, Level::Error));
        }
        assert_eq!(apart.len(), 50_000);
    }
}
