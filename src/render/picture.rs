//! The decision graph as an SVG picture.
//!
//! In: a [`Picture`]. Out: SVG with a title, a description, and a link on every box. Shapes follow ISO 5807: a decision is a
//! rhombus, a process a box, an ending a terminator.

use std::fmt::{self, Write as _};

use unicode_width::UnicodeWidthChar as _;

use super::filters::href;
use super::layout::{Arrow, Point, Size, layout};
use super::words::escape;
use crate::plan::{Node, Picture, Shape};

/// Width of a letter as a part of its height: wide enough for any system font.
const LETTER: f64 = 0.56;
const TEXT: f64 = 14.0;
const LABEL: f64 = 12.5;
const LINE: f64 = 18.0;
/// Widest text of a box and of a label, in units of the picture.
const BOX_TEXT: f64 = 140.0;
const LABEL_TEXT: f64 = 104.0;

#[derive(Clone)]
struct Text {
    lines: Vec<String>,
    size: Size,
}

/// Longest word that is left whole, in letters: a longer one would make its box wider than a tablet.
const LONGEST: usize = 26;

/// What a line may end behind: a word, a sign of a script without spaces, or a part of a word that is too long for a box.
#[derive(Clone, Copy)]
struct Word<'t> {
    text: &'t str,
    letters: usize,
    /// Whether it goes on where the one before it ends, without a space.
    glued: bool,
}

/// How many letters wide a sign is: those of Chinese, Japanese and Korean are as wide as they are high.
fn letters(sign: char) -> usize {
    sign.width().unwrap_or_default()
}

/// Closing signs stand on the line of what they close.
fn closes(sign: char) -> bool {
    matches!(sign, '、' | '。' | '，' | '．' | '：' | '；' | '！' | '？' | '）' | '」' | '』' | '】' | 'ー')
}

/// A text word by word.
fn words(text: &str) -> Vec<Word<'_>> {
    let mut all = Vec::new();
    for word in text.split_whitespace() {
        let whole: usize = word.chars().map(letters).sum();
        let wide = word.chars().any(|sign| letters(sign) > 1);
        if !wide && whole <= LONGEST {
            all.push(Word { text: word, letters: whole, glued: false });
            continue;
        }
        let (mut start, mut width, mut last) = (0, 0, None);
        for (at, sign) in word.char_indices() {
            let between = last.is_some_and(|last| letters(last) > 1 || letters(sign) > 1) && !closes(sign);
            if at > start && (between || width + letters(sign) > LONGEST / 2) {
                all.push(Word { text: &word[start..at], letters: width, glued: start > 0 });
                (start, width) = (at, 0);
            }
            width += letters(sign);
            last = Some(sign);
        }
        all.push(Word { text: &word[start..], letters: width, glued: start > 0 });
    }
    all
}

/// A line of a text that is broken into lines.
#[derive(Clone, Copy, PartialEq)]
struct Line {
    /// How many words of the text stand before its end.
    end: usize,
    letters: usize,
}

/// The lines of a text where each takes so many letters at most.
fn lines(words: &[Word<'_>], most: f64) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let more = word.letters + usize::from(!word.glued);
        match lines.last_mut() {
            Some(last) if (last.letters + more) as f64 <= most => {
                *last = Line { end: at + 1, letters: last.letters + more }
            }
            _ => lines.push(Line { end: at + 1, letters: word.letters }),
        }
    }
    lines
}

/// A text in these lines.
fn broken(words: &[Word<'_>], lines: &[Line], height: f64, line: f64) -> Text {
    let mut start = 0;
    let one = |line: &Line| {
        let mut text = String::new();
        for word in &words[std::mem::replace(&mut start, line.end)..line.end] {
            if !text.is_empty() && !word.glued {
                text.push(' ');
            }
            text.push_str(word.text);
        }
        text
    };
    let widest = lines.iter().map(|line| line.letters).max().unwrap_or_default();
    Text { lines: lines.iter().map(one).collect(), size: (widest as f64 * height * LETTER, lines.len() as f64 * line) }
}

/// Breaks a text into lines.
fn wrap(text: &str, height: f64, widest: f64, line: f64) -> Text {
    let words = words(text);
    broken(&words, &lines(&words, widest / (height * LETTER)), height, line)
}

/// The picture as SVG.
pub fn svg(picture: &Picture, root: &str, title: &str) -> String {
    let (texts, sizes): (Vec<Text>, Vec<Size>) = picture.nodes.iter().map(|n| box_of(n.shape, &n.text)).unzip();
    let labels: Vec<Text> = picture.edges.iter().map(|e| wrap(&e.label, LABEL, LABEL_TEXT, 15.0)).collect();
    let arrows: Vec<Arrow> = picture
        .edges
        .iter()
        .zip(&labels)
        .map(|(e, label)| Arrow { from: e.from, to: e.to, label: (label.size.0 + 8.0, label.size.1.max(6.0)) })
        .collect();
    let drawing = layout(&sizes, &arrows);
    let (width, height) = (drawing.size.0 + 4.0, drawing.size.1 + 4.0);
    let mut out = String::with_capacity(8 * 1024);
    let _ = write!(
        out,
        "<svg class=\"graph\" role=\"group\" aria-labelledby=\"graph_title_ graph_text_\" viewBox=\"-2 -2 {} {}\" width=\"{}\" height=\"{}\">\
         <title id=\"graph_title_\">{}</title><desc id=\"graph_text_\">{}</desc>\
         <defs><marker id=\"tip_\" viewBox=\"0 0 8 8\" refX=\"7\" refY=\"4\" markerWidth=\"8\" markerHeight=\"8\" orient=\"auto\">\
         <path d=\"M0 0 8 4 0 8z\"/></marker></defs>",
        short(width),
        short(height),
        short(width),
        short(height),
        escape(&format!("The way through: {title}")),
        escape(&description(picture)),
    );
    for (at, edge) in picture.edges.iter().enumerate() {
        if edge.from == edge.to {
            continue;
        }
        let class = if edge.without { "arrow without" } else { "arrow" };
        let ends = ((drawing.boxes[edge.from], sizes[edge.from]), (drawing.boxes[edge.to], sizes[edge.to]));
        let _ = write!(out, "<path class=\"{class}\" d=\"");
        write_path(&mut out, ends, &drawing.lines[at]);
        out.push_str("\" marker-end=\"url(#tip_)\"/>");
    }
    for (at, label) in labels.iter().enumerate().filter(|(at, _)| !picture.edges[*at].label.is_empty()) {
        write_label(&mut out, label, drawing.labels[at]);
    }
    for ((node, text), (size, at)) in picture.nodes.iter().zip(&texts).zip(sizes.iter().zip(&drawing.boxes)) {
        write_box(&mut out, node, text, (*size, *at), root);
    }
    out.push_str("</svg>");
    out
}

fn description(picture: &Picture) -> String {
    let ends = picture.nodes.iter().filter(|n| n.shape == Shape::Terminator).count();
    format!("{} steps and {ends} endings. The list below says the same.", picture.nodes.len() - ends)
}

/// The text of a box in lines, and the size of the box around it.
fn box_of(shape: Shape, text: &str) -> (Text, Size) {
    let (pad, text) = match shape {
        Shape::Decision => return rhombus(text),
        Shape::Process => (24.0, wrap(text, TEXT, BOX_TEXT, LINE)),
        Shape::Terminator => (36.0, wrap(text, TEXT, BOX_TEXT, LINE)),
    };
    let size = ((text.size.0 + pad).max(96.0), (text.size.1 + 18.0).max(44.0));
    (text, size)
}

/// Of the ways to break a text and to set a rhombus around it, the one that takes least room. A picture grows faster in
/// width than in height, where boxes stand side by side, so that width is dearer.
fn rhombus(text: &str) -> (Text, Size) {
    let words = words(text);
    let mut best: Option<(f64, Vec<Line>, Size)> = None;
    for widest in [60.0, 76.0, 92.0, 108.0, 124.0, 140.0] {
        let lines = lines(&words, widest / (TEXT * LETTER));
        if best.as_ref().is_some_and(|(_, known, _)| *known == lines) {
            continue;
        }
        let mut better = None;
        for more in 0..12 {
            let height = lines.len() as f64 * LINE + 22.0 + 5.0 * f64::from(more);
            let size = (rhombus_width(&lines, height).max(96.0), height);
            let cost = size.0 + 1.4 * size.1;
            let least = better.map(|(least, _)| least).or(best.as_ref().map(|(least, ..)| *least));
            if least.is_none_or(|least| cost < least - 0.01) {
                better = Some((cost, size));
            }
        }
        if let Some((cost, size)) = better {
            best = Some((cost, lines, size));
        }
    }
    let (lines, size) = best.map_or_else(|| (Vec::new(), (96.0, 44.0)), |(_, lines, size)| (lines, size));
    (broken(&words, &lines, TEXT, LINE), size)
}

/// How wide a rhombus of this height has to be so that the corners of each line, of so many letters, stay inside it.
fn rhombus_width(lines: &[Line], height: f64) -> f64 {
    let middle = (lines.len() as f64 - 1.0) / 2.0;
    let needed = lines.iter().enumerate().map(|(at, line)| {
        let corner = (at as f64 - middle).abs() * LINE + TEXT * 0.42;
        (line.letters as f64 * TEXT * LETTER + 6.0) / (1.0 - 2.0 * corner / height)
    });
    needed.fold(0.0, f64::max)
}

/// A number with at most one decimal, as text.
struct Short(f64);

fn short(number: f64) -> Short {
    Short(number)
}

impl fmt::Display for Short {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = self.0 * 10.0;
        let near = tenths.round_ties_even();
        // Exact decimals are slow, and only needed where the product was rounded and may have become a tie.
        if near.abs() < 1e9 && ((tenths - near).abs() < 0.499 || self.0.mul_add(10.0, -tenths) == 0.0) {
            let near = near as i64;
            if near < 0 {
                out.write_char('-')?;
            }
            fmt::Display::fmt(&(near.unsigned_abs() / 10), out)?;
            let tenth = (near.unsigned_abs() % 10) as u8;
            return if tenth == 0 { Ok(()) } else { out.write_char('.').and(out.write_char((b'0' + tenth).into())) };
        }
        let text = format!("{:.1}", self.0);
        let text = text.strip_suffix(".0").unwrap_or(&text);
        out.write_str(if text == "-0" { "0" } else { text })
    }
}

/// A line from box to box through its points, bent softly.
fn write_path(out: &mut String, ((from, from_size), (to, to_size)): ((Point, Size), (Point, Size)), through: &[Point]) {
    let down = from.1 <= to.1;
    let edge =
        |at: Point, size: Size, lower: bool| (at.0, if lower { at.1 + size.1 / 2.0 } else { at.1 - size.1 / 2.0 });
    let start = edge(from, from_size, down);
    let end = edge(to, to_size, !down);
    let _ = write!(out, "M{} {}", short(start.0), short(start.1));
    let mut last = start;
    for point in through.iter().chain(std::iter::once(&end)) {
        if (point.0 - last.0).abs() < 0.5 {
            let _ = write!(out, "V{}", short(point.1));
        } else {
            let middle = f64::midpoint(last.1, point.1);
            let _ = write!(
                out,
                "C{} {} {} {} {} {}",
                short(last.0),
                short(middle),
                short(point.0),
                short(middle),
                short(point.0),
                short(point.1)
            );
        }
        last = *point;
    }
}

fn write_label(out: &mut String, text: &Text, at: Point) {
    let (w, h) = (text.size.0 + 6.0, text.size.1);
    let _ = write!(
        out,
        "<rect class=\"label-back\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
        short(at.0 - w / 2.0),
        short(at.1 - h / 2.0),
        short(w),
        short(h)
    );
    write_lines(out, "label", text, at, 15.0, 4.5);
}

fn write_lines(out: &mut String, class: &str, text: &Text, at: Point, line: f64, drop: f64) {
    let _ = write!(out, "<text class=\"{class}\" text-anchor=\"middle\">");
    let first = at.1 - text.size.1 / 2.0 + line / 2.0 + drop;
    for (index, words) in text.lines.iter().enumerate() {
        let y = first + index as f64 * line;
        let _ = write!(out, "<tspan x=\"{}\" y=\"{}\">{}</tspan>", short(at.0), short(y), escape(words));
        // A space between the lines for whoever hears or copies the text.
        if index + 1 < text.lines.len() {
            out.push(' ');
        }
    }
    out.push_str("</text>");
}

fn write_box(out: &mut String, node: &Node, text: &Text, ((w, h), at): (Size, Point), root: &str) {
    let (left, top) = (at.0 - w / 2.0, at.1 - h / 2.0);
    let on = node.on.as_ref().map(|on| format!(" data-for=\"{}\"", escape(on))).unwrap_or_default();
    let _ = write!(out, "<a class=\"node {}\"{on} href=\"{}\">", node.kind, escape(&href(&node.to, root)));
    match node.shape {
        Shape::Decision => {
            let points = [(w / 2.0, 0.0), (w, h / 2.0), (w / 2.0, h), (0.0, h / 2.0)]
                .map(|(x, y)| format!("{},{}", short(left + x), short(top + y)));
            let _ = write!(out, "<polygon points=\"{}\"/>", points.join(" "));
        }
        Shape::Process | Shape::Terminator => {
            let round = if node.shape == Shape::Process { 0.0 } else { h.min(44.0) / 2.0 };
            let _ = write!(
                out,
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\"/>",
                short(left),
                short(top),
                short(w),
                short(h),
                short(round)
            );
        }
    }
    write_lines(out, "box-text", text, at, LINE, 5.0);
    out.push_str("</a>");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrapped(text: &str) -> Vec<String> {
        wrap(text, TEXT, BOX_TEXT, LINE).lines
    }

    #[test]
    fn a_script_without_spaces_is_broken_between_its_signs() {
        assert_eq!(wrapped("看充电灯是否一直亮着不熄灭，并且观察"), ["看充电灯是否一直", "亮着不熄灭，并且", "观察"]);
        assert_eq!(wrapped("测量 12 V 电压"), ["测量 12 V 电压"]);
        // As wide as it will be drawn.
        assert_eq!(words("测量").iter().map(|word| word.letters).sum::<usize>(), 4);
    }

    #[test]
    fn only_a_word_longer_than_any_box_is_broken() {
        assert_eq!(wrapped("Measure the drop in the charge cable"), ["Measure the drop", "in the charge", "cable"]);
        assert_eq!(wrapped("Generatorladespannungsregler"), ["Generatorlade", "spannungsregler"]);
        assert_eq!(wrapped("Ladespannungsregler prüfen"), ["Ladespannungsregler", "prüfen"]);
    }

    #[test]
    fn numbers_are_rounded_as_exact_decimals_are() {
        let near_ties = [0.05, 0.15, 0.25, 0.35, 0.95, 12.25, 12.75, 99.95, 1e12, 1.0 / 3.0];
        let steps = (0..20_000).map(|n| f64::from(n) / 64.0);
        for number in near_ties.into_iter().chain(steps).flat_map(|n| [n, -n]) {
            let exact = format!("{number:.1}");
            let exact = exact.strip_suffix(".0").unwrap_or(&exact);
            let exact = if exact == "-0" { "0" } else { exact };
            assert_eq!(short(number).to_string(), exact, "{number}");
        }
    }
}
