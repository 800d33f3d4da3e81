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
    let mut told = 0;
    for (at, entry) in entries.iter().enumerate() {
        let key = entry.key.value.as_str();
        if entry.value.is_empty() && !has_colon(place, entry.key.span) {
            if at < told {
                continue; // a later piece of a text that was told whole
            }
            // A text in curly quotes was told as such.
            let curly =
                before.and_then(|b| b.value.as_text()).is_some_and(|t| t.starts_with(['“', '”', '„', '‘', '’']));
            if !curly {
                let (problem, pieces) = fragment(place, before, &entries[at..]);
                out.push(problem);
                told = at + pieces;
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

/// The key of a piece that has its value glued to it. In quotes a piece is a text, not a key.
fn glued<'a>(place: Place<'_>, entry: &'a Entry) -> Option<&'a str> {
    let piece = entry.key.value.as_str();
    let written = &place.text[entry.key.span.start as usize - place.base..];
    glued_key(piece).filter(|_| written.starts_with(piece))
}

/// A text that commas cut into pieces, and how many pieces the problem tells of: `entries` begins with the first one behind a comma.
fn fragment(place: Place<'_>, before: Option<&Entry>, entries: &[Entry]) -> (Problem, usize) {
    let (start, comma) = match text_before(place, before, &entries[0]) {
        Ok(cut) => cut,
        Err(problem) => return (*problem, 1),
    };
    let is_piece = |e: &&Entry| e.value.is_empty() && !has_colon(place, e.key.span) && glued(place, e).is_none();
    let pieces = entries.iter().take_while(is_piece).count();
    let whole = Span { start, ..entries[pieces - 1].key.span };
    let text = &place.text[start as usize - place.base..whole.end as usize - place.base];
    let problem = Problem::yaml(comma, "a comma ends the text here").help(format!("write `\"{text}\"`"));
    (problem.quote(whole, text).hides(whole), pieces)
}

/// Where the text starts that a piece belongs to, and the comma between them; or what else is wrong with the piece.
fn text_before(place: Place<'_>, before: Option<&Entry>, entry: &Entry) -> Result<(u32, Span), Box<Problem>> {
    let piece = entry.key.value.as_str();
    if let Some(key) = glued(place, entry) {
        let colon = entry.key.span.start as usize + key.len() + 1;
        let gap = Span::new(place.file, colon, colon);
        let problem =
            Problem::yaml(entry.key.span.part(0, key.len() + 1), format!("a space is missing after `{key}:`"))
                .help(format!("write `{key}: ` with a space"))
                .hides(entry.key.span);
        let value = is_value(&piece[key.len() + 1..]);
        return Err(Box::new(if value { problem.mend("add the space", vec![(gap, " ".into())]) } else { problem }));
    }
    let text = before.and_then(|b| Some((b.value.as_text()?, b.value.span.start)));
    let comma = place.text[..entry.key.span.start as usize - place.base].rfind(',').map(|at| at + place.base);
    let (Some((value, start)), Some(comma)) = (text, comma) else {
        let message = format!("nothing stands after `{piece}`: expected `{piece}: ...`");
        let problem = Problem::yaml(entry.key.span, message).hides(entry.key.span);
        return Err(Box::new(problem.help("write a colon and the value, or put the whole text in quotes")));
    };
    let at = Span::new(place.file, comma, comma + 1);
    let digits = value.ends_with(|c: char| c.is_ascii_digit()) && piece.starts_with(|c: char| c.is_ascii_digit());
    let touching = entry.key.span.start as usize == comma + 1;
    if !digits || !touching {
        return Ok((start, at));
    }
    let thousand = piece.len() == 3 && piece.bytes().all(|b| b.is_ascii_digit());
    let (what, better) = if thousand {
        ("a comma stands between thousands", format!("{value}{piece}"))
    } else {
        ("a decimal comma stands here", format!("{value}.{piece}"))
    };
    let sign = if thousand { "" } else { "." };
    let problem = Problem::yaml(at, what)
        .help(format!("write `{better}`"))
        .mend(format!("write `{better}`"), vec![(at, sign.into())])
        .hides(Span { start, ..entry.key.span })
        .decides_if(thousand);
    Err(Box::new(problem))
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
