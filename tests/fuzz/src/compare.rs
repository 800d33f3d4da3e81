//! Two bases, compared both ways.
//!
//! In: two bases with a line `=======` between; the second stands over the first, so that it may be one changed file alone. A
//! panic where something is the same as itself and yet told, or told one way and not the other.

use ruleout::compare::{Change, Comparison, Fate, FindingChange, Side, compare, json, markdown, text};
use ruleout::load::Memory;

const BETWEEN: &[u8] = b"\n=======\n";

/// The target.
pub fn run(data: &[u8]) {
    let (first, second) = halves(data);
    let first = super::base_of(first);
    let second = over(&first, second);
    let (Ok(old), Ok(new)) = (Side::read("old", &first), Side::read("new", &second)) else { return };
    // One of the two, for speed: every base comes first at some time.
    let side = if data.len().is_multiple_of(2) { &old } else { &new };
    let itself = compare(side, side);
    assert!(itself.is_empty(), "{}", text::render(&itself));
    assert!(itself.gained.is_empty() && itself.lost.is_empty(), "{itself:?}");
    let (there, back) = (compare(&old, &new), compare(&new, &old));
    assert_eq!(told(&there.gained), told(&back.lost));
    assert_eq!(told(&there.lost), told(&back.gained));
    assert_eq!(fates(&there), turned(fates(&back)));
    assert_eq!(shared(&there, false), shared(&back, true));
    drawn(&there);
    drawn(&back);
}

/// What stands before and behind the first line between.
fn halves(data: &[u8]) -> (&[u8], &[u8]) {
    let at = data.windows(BETWEEN.len()).position(|w| w == BETWEEN);
    at.map_or((data, &[][..]), |at| (&data[..=at], &data[at + BETWEEN.len()..]))
}

fn over(first: &Memory, second: &[u8]) -> Memory {
    use ruleout::load::Files as _;
    let mut files = first.clone();
    if second.starts_with(b"=== ") {
        let second = super::split_files(second);
        for path in second.list().unwrap() {
            let bytes = second.get(&path).unwrap();
            // A file without a byte is one that is gone.
            if bytes.is_empty() { files.remove(&path) } else { files.set(path, bytes) }
        }
    } else if !second.is_empty() {
        files.set("procedures/dark-lamp.md", second);
    }
    files
}

fn told(changes: &[FindingChange]) -> Vec<(String, String, String, usize)> {
    let mut told: Vec<_> =
        changes.iter().map(|c| (c.rule.to_owned(), c.message.clone(), c.file.clone(), c.line)).collect();
    told.sort();
    told
}

/// Procedures with what became of them: their ids before and after.
type Fates = Vec<(Option<String>, Option<String>, &'static str)>;

fn fates(comparison: &Comparison) -> Fates {
    let one = |p: &ruleout::compare::ProcedureChange| {
        let id = Some(p.id.clone());
        match &p.fate {
            Fate::Kept => (id.clone(), id, "kept"),
            Fate::Added => (None, id, "one side"),
            Fate::Removed => (id, None, "one side"),
            Fate::Renamed(was) => (Some(was.clone()), id, "renamed"),
            Fate::Unread("old") => (id.clone(), id, "old unread"),
            Fate::Unread("new") => (id.clone(), id, "new unread"),
            Fate::Unread(_) => (id.clone(), id, "unread"),
        }
    };
    let mut fates: Fates = comparison.procedures.iter().map(one).collect();
    fates.sort();
    fates
}

fn turned(fates: Fates) -> Fates {
    let word = |word| match word {
        "old unread" => "new unread",
        "new unread" => "old unread",
        other => other,
    };
    let mut fates: Fates = fates.into_iter().map(|(was, is, fate)| (is, was, word(fate))).collect();
    fates.sort();
    fates
}

/// What became of shared things: kind, subject, before, after.
fn shared(comparison: &Comparison, back: bool) -> Vec<(&'static str, String, Option<String>, Option<String>)> {
    let one = |change: &Change| {
        let (old, new) = (change.old.clone(), change.new.clone());
        let (old, new) = if back { (new, old) } else { (old, new) };
        (change.kind.name(), change.subject.clone(), old, new)
    };
    let mut rows: Vec<_> = comparison.shared.iter().map(|row| one(&row.change)).collect();
    rows.sort();
    rows
}

fn drawn(comparison: &Comparison) {
    let same = |c: char| c.is_control() && c != '\n';
    for drawn in [text::render(comparison), markdown::render(comparison)] {
        assert!(!drawn.contains(same), "a control character reaches the reader: {drawn:?}");
    }
    let value: serde_json::Value = serde_json::from_str(&json::render(comparison)).expect("JSON");
    assert_eq!(value["same_meaning"], comparison.is_empty());
    assert_eq!(value["procedures"].as_array().map(Vec::len), Some(comparison.procedures.len()));
}
