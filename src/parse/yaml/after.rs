//! What YAML reads silently as something else: looked for in the finished tree.
//!
//! In: the tree and the text. Out: a [`Problem`] for each: keys written twice, values that are missing, texts cut at a comma or at ` #`.

use std::cell::OnceCell;

use rustc_hash::{FxBuildHasher, FxHashMap};

use super::node::{Entry, Kind, Node, Style};
use super::scan::{Place, glued_key, is_value};
use crate::parse::problem::{Problem, Problems};
use crate::source::Span;

/// Checks a tree; `noun` is what its rows are called.
pub fn check(place: Place<'_>, node: &Node, out: &mut Problems) {
    visit(place, node, "key", &Lines::default(), out);
}

/// Where the lines of a text end; found once, and only where a message counts lines.
#[derive(Default)]
struct Lines(OnceCell<Vec<usize>>);

impl Lines {
    /// The line of the file, from 1, that a place of it stands on.
    fn at(&self, place: Place<'_>, span: Span) -> usize {
        let ends = self.0.get_or_init(|| place.text.match_indices('\n').map(|(at, _)| at).collect());
        ends.partition_point(|end| *end < span.start as usize - place.base) + first_line(place)
    }
}

fn visit(place: Place<'_>, node: &Node, noun: &str, lines: &Lines, out: &mut Problems) {
    match &node.kind {
        Kind::Scalar(scalar) => {
            if scalar.style == Style::Plain {
                cut_at_hash(place, node.span, out);
            }
        }
        Kind::Empty => {}
        Kind::List(items) => {
            for item in items {
                if item.is_empty() {
                    let span = dash_before(place, item.span);
                    let problem = Problem::yaml(span, "nothing stands after `-`");
                    out.push(problem.help("write the item, or take the line out"));
                }
                visit(place, item, "key", lines, out);
            }
        }
        Kind::Map(entries) => map(place, entries, noun, lines, out),
    }
}

fn map(place: Place<'_>, entries: &[Entry], noun: &str, lines: &Lines, out: &mut Problems) {
    let mut first: FxHashMap<&str, Span> = FxHashMap::with_capacity_and_hasher(entries.len(), FxBuildHasher);
    let mut before: Option<&Entry> = None;
    for entry in entries {
        let key = entry.key.value.as_str();
        if entry.value.is_empty() && !has_colon(place, entry.key.span) {
            // A text in curly quotes was told as such.
            let curly =
                before.and_then(|b| b.value.as_text()).is_some_and(|t| t.starts_with(['“', '”', '„', '‘', '’']));
            if !curly {
                out.push(fragment(place, before, entry));
            }
            before = Some(entry);
            continue;
        }
        let other = *first.entry(key).or_insert(entry.key.span);
        if other != entry.key.span {
            let line = lines.at(place, other);
            out.push(
                Problem::yaml(entry.key.span, format!("{noun} `{key}` is written twice (first on line {line})"))
                    .label(other, "first here")
                    .help("keep one of them, or give one another name"),
            );
        }
        if entry.value.is_empty() {
            out.push(
                Problem::yaml(entry.key.span, format!("nothing stands after `{key}:`"))
                    .help("write the value, or take the line out"),
            );
        }
        visit(place, &entry.value, row_noun(key), lines, out);
        before = Some(entry);
    }
}

/// The line number of the first line of the scanned text within its file: known only where the text begins the file
/// or stands behind a front matter's first line.
fn first_line(place: Place<'_>) -> usize {
    // A byte-order mark before it takes no line.
    if place.base <= '\u{feff}'.len_utf8() { 1 } else { 2 }
}

/// What the rows below a key are called.
fn row_noun(key: &str) -> &'static str {
    match key {
        "steps" => "step",
        "causes" => "cause",
        "values" => "value",
        "bays" => "bay",
        "readings" => "reading of step",
        "measures" => "quantity",
        "allow" | "rules" => "rule",
        _ => "key",
    }
}

/// Whether a colon stands behind a key (a flow key without one is a fragment of a text).
fn has_colon(place: Place<'_>, key: Span) -> bool {
    let end = key.end as usize - place.base;
    place.text[end..].trim_start_matches([' ', '\n', '\r']).starts_with(':')
}

/// A piece of a text that a comma cut off.
fn fragment(place: Place<'_>, before: Option<&Entry>, entry: &Entry) -> Problem {
    let piece = entry.key.value.as_str();
    // In quotes it is a text, not a key with its value glued to it.
    let written = &place.text[entry.key.span.start as usize - place.base..];
    if let Some(key) = glued_key(piece).filter(|_| written.starts_with(piece)) {
        let colon = entry.key.span.start as usize + key.len() + 1;
        let gap = Span::new(place.file, colon, colon);
        let problem =
            Problem::yaml(entry.key.span.part(0, key.len() + 1), format!("a space is missing after `{key}:`"))
                .help(format!("write `{key}: ` with a space"));
        let value = is_value(&piece[key.len() + 1..]);
        return if value { problem.mend("add the space", vec![(gap, " ".into())]) } else { problem };
    }
    let Some((value, start)) = before.and_then(|b| Some((b.value.as_text()?, b.value.span.start))) else {
        return Problem::yaml(entry.key.span, format!("nothing stands after `{piece}`: expected `{piece}: ...`"))
            .help("write a colon and the value, or put the whole text in quotes");
    };
    let Some(comma) = place.text[..entry.key.span.start as usize - place.base].rfind(',').map(|at| at + place.base)
    else {
        return Problem::yaml(entry.key.span, format!("nothing stands after `{piece}`: expected `{piece}: ...`"))
            .help("write a colon and the value, or put the whole text in quotes");
    };
    let at = Span::new(place.file, comma, comma + 1);
    let digits = value.ends_with(|c: char| c.is_ascii_digit()) && piece.starts_with(|c: char| c.is_ascii_digit());
    let touching = entry.key.span.start as usize == comma + 1;
    if digits && touching {
        let thousand = piece.len() == 3 && piece.bytes().all(|b| b.is_ascii_digit());
        let (what, better) = if thousand {
            ("a comma stands between thousands", format!("{value}{piece}"))
        } else {
            ("a decimal comma stands here", format!("{value}.{piece}"))
        };
        let sign = if thousand { "" } else { "." };
        return Problem::yaml(at, what)
            .help(format!("write `{better}`"))
            .mend(format!("write `{better}`"), vec![(at, sign.into())])
            .decides_if(thousand);
    }
    let whole = Span { start, ..entry.key.span };
    let text = place.text[start as usize - place.base..entry.key.span.end as usize - place.base].to_owned();
    let problem = Problem::yaml(at, "a comma ends the text here").help(format!("write `\"{text}\"`"));
    problem.quote(whole, &text)
}

/// `Check injector #2 first`: the text ends before ` #`.
fn cut_at_hash(place: Place<'_>, span: Span, out: &mut Problems) {
    let end = span.end as usize - place.base;
    let Some(rest) = place.text.get(end..).filter(|rest| rest.starts_with(' ')) else { return };
    let tail = rest.trim_start_matches(' ');
    let mut signs = tail.chars();
    if signs.next() != Some('#') {
        return;
    }
    if signs.next().is_none_or(|c| c.is_whitespace() || c == '#') {
        return; // a comment
    }
    let at = end + (rest.len() - tail.len());
    let line = place.text[at..].find('\n').map_or(place.text.len(), |i| at + i);
    let start = span.start as usize - place.base;
    let text = place.text[start..line].trim_end();
    let problem = Problem::yaml(place.span(at, at + tail[..line - at].trim_end().len()), "the text is cut at ` #`")
        .help("put the text in quotes, or write `# ` with a space for a comment");
    out.push(problem.quote(place.span(start, start + text.len()), text));
}

/// The dash of an item that has nothing behind it: the last one before the place where the value should stand.
fn dash_before(place: Place<'_>, item: Span) -> Span {
    let until = (item.start as usize).saturating_sub(place.base);
    match place.text.get(..until).and_then(|text| text.rfind('-')) {
        Some(dash) => place.span(dash, dash + 1),
        None => item,
    }
}
