//! "Did you mean ...?"
//!
//! In: a name that is not there and those that are. Out: the nearest, if it is near enough that guessing is kind.

use crate::finding::Finding;
use crate::source::Span;

/// The nearest candidate: at most one edit for each three letters (swapped neighbours count as one). Ties
/// go to the first in alphabetical order, so that the answer never depends on the order of the table.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed = name.to_lowercase();
    let limit = (typed.chars().count().div_ceil(3)).min(4);
    candidates
        .into_iter()
        .filter(|c| c.len().abs_diff(typed.len()) <= limit * 4)
        .map(|c| (strsim::osa_distance(&typed, &c.to_lowercase()), c))
        .filter(|(distance, c)| *distance <= limit && *distance < c.chars().count())
        .min()
        .map(|(_, c)| c)
}

/// The nearest candidate where there is no doubt, so that a mend may write it: no other is as near, and every digit is
/// the same (`P0562` for `P0563`, or `cylinder-2` for `cylinder-1`, would be another thing, not another spelling), and it can stand in
/// YAML without quotes.
pub fn sure<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let candidates: Vec<&str> = candidates.into_iter().collect();
    let near = nearest(name, candidates.iter().copied())?;
    let typed = name.to_lowercase();
    let far = |c: &str| strsim::osa_distance(&typed, &c.to_lowercase());
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    let tied = candidates.iter().any(|c| *c != near && far(c) <= far(near));
    (!tied && digits(name) == digits(near) && stands_bare(near)).then_some(near)
}

/// Offers to write a text with the name that is surely meant: the mend is made unasked where what was typed is that name with a slip
/// of the pen in it.
pub fn offer(finding: Finding, typed: &str, meant: &str, span: Span, text: impl Into<String>) -> Finding {
    let text = text.into();
    let title = format!("write `{text}`");
    if is_slip(typed, meant) { finding.respell(title, span, text) } else { finding.mend(title, span, text) }
}

/// Whether a name is another one with a slip of the pen in it: the case of letters, what stands
/// between words, or one letter doubled, dropped, or changed with its neighbour in one word of four letters or more, or another in one of eight. Another letter
/// in a short word (`valve-a`, `valve-b`) or at its beginning (`rotor`, `motor`), or another word (`renew-fuse`, `renew-bulb`) may well be another thing.
fn is_slip(typed: &str, meant: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        text.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let (typed, meant) = (words(typed), words(meant));
    if typed.concat() == meant.concat() {
        return true;
    }
    let mut unlike = typed.iter().zip(&meant).filter(|(t, m)| t != m);
    let (Some((t, m)), None) = (unlike.next(), unlike.next()) else { return false };
    let length = |word: &str| word.chars().count();
    let sorted = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.sort_unstable();
        letters
    };
    typed.len() == meant.len()
        && length(t).min(length(m)) >= 4
        && t.chars().next() == m.chars().next()
        && strsim::osa_distance(t, m) == 1
        && (length(t) != length(m) || sorted(t) == sorted(m) || length(t) >= 8)
}

/// Whether a text without quotes is that text wherever it stands in YAML: no character of it means something else.
fn stands_bare(text: &str) -> bool {
    let speaks = |c: char| c.is_control() || "[]{},:#&*!|>'\"%@`\\".contains(c);
    !text.contains(speaks) && !text.starts_with(['-', '?']) && text.trim() == text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_enough_is_kind() {
        let ids = ["multimeter", "oscilloscope", "jack"];
        assert_eq!(nearest("multimetre", ids), Some("multimeter"));
        assert_eq!(nearest("Oscilloscope", ids), Some("oscilloscope"));
        assert_eq!(nearest("lamp", ids), None);
        assert_eq!(nearest("", ids), None);
    }

    #[test]
    fn a_mend_needs_no_doubt() {
        assert_eq!(sure("multimetre", ["multimeter", "jack"]), Some("multimeter"));
        assert_eq!(sure("voltage", ["ac voltage", "dc voltage"]), None);
        assert_eq!(sure("P0563", ["P0562"]), None);
        assert_eq!(sure("starter", ["start[er"]), None);
    }

    #[test]
    fn only_a_slip_of_the_pen_is_mended_unasked() {
        for (typed, meant) in [
            ("multimetre", "multimeter"),
            ("Oscilloscope", "oscilloscope"),
            ("fan_stays off", "fan-stays-off"),
            ("fanstaysoff", "fan-stays-off"),
            ("colant-low", "coolant-low"),
            ("batttery", "battery"),
            ("alternater", "alternator"),
            ("bulbs", "bulb"),
            ("fues", "fuse"),
        ] {
            assert!(is_slip(typed, meant), "{typed}, {meant}");
        }
        for (typed, meant) in [
            ("renew-fuse", "renew-bulb"),
            ("valve-a", "valve-b"),
            ("rotor", "motor"),
            ("intake", "intace"),
            ("lamp", "clamp"),
            ("belt", "bolt"),
            ("oil-leak", "coil-leak"),
            ("intake-valve", "intake"),
            ("front-left", "front-right"),
            ("12-volt", "24-volt"),
        ] {
            assert!(!is_slip(typed, meant), "{typed}, {meant}");
        }
    }
}
