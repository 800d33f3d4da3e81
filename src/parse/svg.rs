//! Pictures that anyone may open: an SVG file opened by itself is a page, and could run script or fetch from outside.
//!
//! In: the text of an SVG file. Out: [`Cleaned`]: the picture written anew from elements and attributes that only draw, and what was
//! left out of it, with its place. Elements: SVG 2, without script, links, animation and foreign content.

use std::ops::Range;

use quick_xml::Reader;
use quick_xml::events::attributes::Attribute;
use quick_xml::events::{BytesStart, Event};

use super::svg_copies::{self, Copies};

const SVG: &str = "http://www.w3.org/2000/svg";
const XLINK: &str = "http://www.w3.org/1999/xlink";

/// What draws, and nothing else. Those that begin with `fe` are parts of a filter.
const ELEMENTS: [&str; 30] = [
    "a",
    "circle",
    "clipPath",
    "defs",
    "desc",
    "ellipse",
    "filter",
    "g",
    "image",
    "line",
    "linearGradient",
    "marker",
    "mask",
    "path",
    "pattern",
    "polygon",
    "polyline",
    "radialGradient",
    "rect",
    "stop",
    "style",
    "svg",
    "switch",
    "symbol",
    "text",
    "textPath",
    "title",
    "tspan",
    "use",
    "view",
];

/// A picture that only draws.
pub struct Cleaned {
    /// The picture.
    pub text: String,
    /// What is not in it any more, in order.
    pub left_out: Vec<LeftOut>,
}

/// A part of a picture that was left out.
#[derive(Debug)]
pub struct LeftOut {
    /// Bytes of the file.
    pub range: Range<usize>,
    /// The part, as a sentence names it.
    pub what: String,
    /// Whether nothing of the picture could be kept.
    pub whole: bool,
}

/// The picture written anew.
pub fn clean(text: &str) -> Cleaned {
    let bare = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mark = text.len() - bare.len();
    let mut cleaned = clean_bare(bare);
    for part in &mut cleaned.left_out {
        part.range = part.range.start + mark..part.range.end + mark;
    }
    cleaned
}

fn clean_bare(text: &str) -> Cleaned {
    let mut cleaner = Cleaner {
        out: String::with_capacity(text.len()),
        left_out: Vec::new(),
        open: Vec::new(),
        skip: 0,
        style: None,
        copies: Copies::default(),
    };
    match cleaner.run(text) {
        Ok(()) => Cleaned { text: cleaner.out, left_out: cleaner.left_out },
        Err((at, what)) => {
            let empty = format!("<svg xmlns=\"{SVG}\" viewBox=\"0 0 1 1\"/>\n");
            let at = at.min(text.len());
            Cleaned { text: empty, left_out: vec![LeftOut { range: at..at, what, whole: true }] }
        }
    }
}

struct Cleaner {
    out: String,
    left_out: Vec<LeftOut>,
    /// Elements that are open, and whether each stands in the picture.
    open: Vec<(String, bool)>,
    /// How many open elements are inside one that was left out, itself included.
    skip: usize,
    /// The words of the style that is open, and where they stand. They are judged as one: comments and character data in pieces would
    /// hide what they say.
    style: Option<(String, Range<usize>)>,
    copies: Copies,
}

type Broken = (usize, String);

impl Cleaner {
    fn run(&mut self, text: &str) -> Result<(), Broken> {
        let mut reader = Reader::from_str(text);
        let mut drawn = false;
        loop {
            let start = place(reader.buffer_position());
            let event = reader.read_event().map_err(|e| (place(reader.error_position()), format!("no XML: {e}")))?;
            let range = start..place(reader.buffer_position());
            match event {
                Event::Start(tag) => {
                    drawn |= self.start(&tag, &range, true, drawn)?;
                }
                Event::Empty(tag) => {
                    drawn |= self.start(&tag, &range, false, drawn)?;
                }
                Event::End(_) => self.end(),
                Event::Text(words) if self.skip == 0 && !self.open.is_empty() => {
                    self.words(&words, range);
                }
                Event::CData(words) if self.skip == 0 && !self.open.is_empty() => {
                    self.words(&words, range);
                }
                Event::GeneralRef(name) if self.skip == 0 && !self.open.is_empty() => {
                    let letter = name.resolve_char_ref().ok().flatten();
                    match (letter, predefined(&name)) {
                        (Some(letter), _) | (None, Some(letter)) => self.words(letter.encode_utf8(&mut [0; 4]), range),
                        (None, None) => {
                            self.leave_out(range, format!("`{}`", &text[start..place(reader.buffer_position())]));
                        }
                    }
                }
                Event::DocType(_) => self.leave_out(range, "its document type".into()),
                Event::PI(_) => self.leave_out(range, "an instruction to the reader of the file".into()),
                Event::Eof if !self.open.is_empty() => {
                    return Err((text.len(), "no XML: it ends in the middle".into()));
                }
                Event::Eof if !drawn => return Err((0, "no picture: there is no `svg` element".into())),
                Event::Eof => break,
                _ => {}
            }
        }
        let copies = self.copies.count();
        if copies > svg_copies::MOST {
            return Err((0, format!("one that draws its parts {copies} times over by reference")));
        }
        self.out.push('\n');
        Ok(())
    }

    /// Whether the element is the picture's own `svg`, of which there is one (`drawn`: there is one already).
    fn start(
        &mut self,
        tag: &BytesStart<'_>,
        range: &Range<usize>,
        stays_open: bool,
        drawn: bool,
    ) -> Result<bool, Broken> {
        let name = tag.name().into_inner().to_owned();
        if self.skip > 0 {
            self.skip += usize::from(stays_open);
            return Ok(false);
        }
        let root = self.open.is_empty();
        let known = ELEMENTS.contains(&name.as_str())
            || (name.starts_with("fe") && name != "feImage" && name.bytes().all(|b| b.is_ascii_alphanumeric()));
        if !known || (root && (drawn || name != "svg")) || self.style.is_some() {
            // What editors keep for themselves draws nothing.
            if !name.contains(':') && name != "metadata" {
                self.leave_out(range.clone(), format!("`<{name}>`"));
            }
            self.skip = usize::from(stays_open);
            return Ok(false);
        }
        // A link in a picture leads nowhere; what it holds is drawn.
        let kept = name != "a";
        if kept {
            self.out.push('<');
            self.out.push_str(&name);
            if root {
                self.out.push_str(&format!(" xmlns=\"{SVG}\""));
            }
            let (mut own_name, mut refers) = (None, Vec::new());
            for attribute in tag.attributes() {
                let attribute = attribute.map_err(|e| (range.start, format!("no XML: {e}")))?;
                let Some((key, value)) = self.attribute(&name, &attribute, range) else { continue };
                match key.as_str() {
                    "id" if !name.ends_with("Gradient") && name != "filter" => own_name = Some(value),
                    "href" | "xlink:href" => refers.extend(value.trim().strip_prefix('#').map(str::to_owned)),
                    _ => refers.extend(svg_copies::urls(&value)),
                }
            }
            self.copies.enter(own_name, refers);
            if !stays_open {
                self.copies.leave();
            }
            self.out.push_str(if stays_open { ">" } else { "/>" });
        } else {
            self.leave_out(range.clone(), "a link".into());
        }
        if stays_open {
            self.style = (name == "style").then(|| (String::new(), range.end..range.end));
            self.open.push((name, kept));
        }
        Ok(root)
    }

    fn end(&mut self) {
        if self.skip > 0 {
            self.skip -= 1;
            return;
        }
        if let Some((style, range)) = self.style.take() {
            if is_quiet(&style) {
                self.escape(&style);
            } else {
                self.leave_out(range, "a style that fetches".into());
            }
        }
        if let Some((name, true)) = self.open.pop() {
            self.copies.leave();
            self.out.push_str(&format!("</{name}>"));
        }
    }

    /// The attribute as it stands in the picture now, where it does.
    fn attribute(
        &mut self,
        element: &str,
        attribute: &Attribute<'_>,
        range: &Range<usize>,
    ) -> Option<(String, String)> {
        let name = attribute.key.into_inner().to_owned();
        let Ok(value) = attribute.normalized_value(quick_xml::XmlVersion::Implicit1_0) else {
            self.leave_out(range.clone(), format!("`{name}`"));
            return None;
        };
        let fine = match name.as_str() {
            "xmlns" => return None,
            "xmlns:xlink" => value == XLINK,
            "href" | "xlink:href" => is_own(element, &value),
            "xml:space" | "xml:lang" => true,
            other if other.contains(':') => return None,
            other if !is_name(other) => false,
            other if other.to_ascii_lowercase().starts_with("on") => false,
            _ => is_quiet(&value) && svg_copies::urls(&value).iter().all(|name| !name.contains('%')),
        };
        if !fine {
            self.leave_out(range.clone(), format!("`{name}=\"{}\"`", value.chars().take(40).collect::<String>()));
            return None;
        }
        self.out.push(' ');
        self.out.push_str(&name);
        self.out.push_str("=\"");
        // A line end that a reference wrote is a space to whoever reads it again.
        let value = value.replace(['\n', '\r', '\t'], " ");
        self.escape(&value);
        self.out.push('"');
        Some((name, value))
    }

    fn words(&mut self, words: &str, range: Range<usize>) {
        match &mut self.style {
            Some((style, all)) => {
                style.push_str(words);
                all.end = range.end;
            }
            None => self.escape(words),
        }
    }

    fn escape(&mut self, text: &str) {
        for letter in text.chars() {
            match letter {
                '&' => self.out.push_str("&amp;"),
                '<' => self.out.push_str("&lt;"),
                '>' => self.out.push_str("&gt;"),
                '"' => self.out.push_str("&quot;"),
                // XML knows no other control characters (XML 1.0, section 2.2): a picture with one is not shown at all.
                '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
                other => self.out.push(other),
            }
        }
    }

    fn leave_out(&mut self, range: Range<usize>, what: String) {
        self.left_out.push(LeftOut { range, what, whole: false });
    }
}

fn place(at: u64) -> usize {
    usize::try_from(at).unwrap_or(usize::MAX)
}

/// The five entities of XML 1.0, section 4.6.
fn predefined(name: &str) -> Option<char> {
    Some(match name {
        "amp" => '&',
        "lt" => '<',
        "gt" => '>',
        "quot" => '"',
        "apos" => '\'',
        _ => return None,
    })
}

/// A name of SVG's own: letters, digits and dashes (a stroke between two would begin another attribute where a reader is lenient).
fn is_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_alphabetic())
        && name.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b))
}

/// A place in the picture itself, or the bytes of a photograph that stands in it.
fn is_own(element: &str, value: &str) -> bool {
    let value = value.trim();
    let photograph =
        ["data:image/png;base64,", "data:image/jpeg;base64,", "data:image/webp;base64,", "data:image/gif;base64,"];
    // A name in percent signs is another spelling of one.
    (value.starts_with('#') && !value.contains('%'))
        || (element == "image" && photograph.iter().any(|kind| value.starts_with(kind)))
}

/// Whether a style or a value fetches and runs nothing. An escape could hide what it says.
fn is_quiet(value: &str) -> bool {
    let plain: String =
        value.to_ascii_lowercase().chars().filter(|c| !c.is_whitespace() && !"\"'".contains(*c)).collect();
    let loud = ["\\", "//", "@import", "image-set(", "image(", "src(", "expression(", "binding", "behavior", "script:"];
    let own_places = plain.matches("url(").count() == plain.matches("url(#").count();
    own_places && !loud.iter().any(|part| plain.contains(part))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_from_the_start_of_the_file() {
        let text = "\u{feff}<svg xmlns=\"http://www.w3.org/2000/svg\"><script>x</script></svg>";
        let parts = clean(text).left_out;
        assert!(
            parts.iter().all(|part| text.get(part.range.clone()).is_some_and(|t| t.starts_with("<script"))),
            "{parts:?}"
        );
        assert_eq!(parts.len(), 1);
    }

    fn left_out(text: &str) -> (String, Vec<String>) {
        let cleaned = clean(text);
        (cleaned.text, cleaned.left_out.into_iter().map(|part| part.what).collect())
    }

    #[test]
    fn a_picture_that_only_draws_stays() {
        let text = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><title>A &amp; b &#937;</title>\
                    <style>.a { fill: url(#g) }</style><path class=\"a\" d=\"M0 0h9\" marker-end=\"url(#m)\"/></svg>\n";
        assert_eq!(left_out(text), (text.replace("&#937;", "Ω"), Vec::<String>::new()));
    }

    #[test]
    fn what_could_run_or_fetch_is_left_out() {
        for (inside, what) in [
            ("<script>alert(1)</script>", "`<script>`"),
            ("<script href=\"x.js\"/>", "`<script>`"),
            ("<g onload=\"alert(1)\"/>", "`onload=\"alert(1)\"`"),
            ("<g ONCLICK='x()'/>", "`ONCLICK=\"x()\"`"),
            ("<foreignObject><b>x</b></foreignObject>", "`<foreignObject>`"),
            ("<animate attributeName=\"href\" to=\"javascript:x\"/>", "`<animate>`"),
            ("<a href=\"javascript:x\"><text>t</text></a>", "a link"),
            ("<use href=\"https://example.invalid/a.svg#x\"/>", "`href=\"https://example.invalid/a.svg#x\"`"),
            ("<image href=\"//example.invalid/a.png\"/>", "`href=\"//example.invalid/a.png\"`"),
            ("<image href=\"data:image/svg+xml,x\"/>", "`href=\"data:image/svg+xml,x\"`"),
            ("<style>@import 'a.css';</style>", "a style that fetches"),
            ("<style>g{fill:u\\72l(http:x)}</style>", "a style that fetches"),
            ("<style>@im<!-- -->port 'http:x';</style>", "a style that fetches"),
            ("<style>&#64;import 'http:x';</style>", "a style that fetches"),
            ("<style>g{fill:u<![CDATA[rl(ht]]>tp:x)}</style>", "a style that fetches"),
            ("<style>a<g/>b</style>", "`<g>`"),
            ("<g x/onload=\"alert(1)\"/>", "`x/onload=\"alert(1)\"`"),
            ("</svg><svg><text>alert</text>", "`<svg>`"),
            ("<rect fill=\"url( 'http:x')\"/>", "`fill=\"url( 'http:x')\"`"),
            ("<?xml-stylesheet href=\"a.css\"?>", "an instruction to the reader of the file"),
            ("&later;", "`&later;`"),
        ] {
            let text = format!("<svg xmlns=\"{SVG}\">{inside}</svg>");
            let (text, told) = left_out(&text);
            assert_eq!(told, [what], "{inside}");
            assert!(!text.contains("alert") && !text.contains("javascript") && !text.contains("http:x"), "{text}");
        }
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig { failure_persistence: None, ..Default::default() })]

        /// What stays was judged as it stands: judged again, nothing of it goes.
        #[test]
        fn a_cleaned_picture_is_clean(pieces in proptest::collection::vec(proptest::sample::select(vec![
            "<g>", "</g>", "<style>", "</style>", "@im", "port 'x';", "u", "rl(", "http:/", "/x)", "#a)", "<!-- x -->", "<![CDATA[", "]]>",
            "&#64;", "&#x2f;", "&lt;", "&x;", "<g ", "x/on='1'", "href='", "#y'", "javascript:x'", "/>", ">", "'", "\"", " ", "<a href='x'>",
            "</a>", "<svg>", "</svg>", "<?pi?>", "<script>", "</script>", "&#1;", "\u{1}", "<text a='1' b='&#10;2'/>", "é", "style='", "fill:",
        ]), 0..12)) {
            let once = clean(&format!("<svg xmlns=\"{SVG}\">{}</svg>", pieces.concat()));
            let again = clean(&once.text);
            proptest::prop_assert!(again.left_out.is_empty(), "{:?} of {}", again.left_out, once.text);
            proptest::prop_assert_eq!(again.text, once.text);
        }
    }

    #[test]
    fn what_draws_itself_over_and_over_is_no_drawing() {
        let tower = |open: &str, inner: &str, close: &str, deep: usize| {
            let level = |n: usize| {
                let inner = inner.replace('?', &format!("a{}", n.saturating_sub(1)));
                format!("{open} id=\"a{n}\">{}{close}", if n == 0 { "<path/>".into() } else { inner.repeat(10) })
            };
            let levels: String = (0..=deep).map(level).collect();
            format!("<svg xmlns=\"{SVG}\"><defs>{levels}</defs>{}</svg>", inner.replace('?', &format!("a{deep}")))
        };
        let uses = [
            "<use href=\"#?\"/>",
            "<use xlink:href=\" #?\"/>",
            "<g mask=\"URL( '#?' )\"/>",
            "<g style=\"fill:url(#?)\"/>",
        ];
        for inner in uses {
            let (text, told) = left_out(&tower("<g", inner, "</g>", 9));
            assert!(told.len() == 1 && told[0].contains("times over") && text.len() < 100, "{inner}: {told:?}");
            assert_eq!(left_out(&tower("<g", inner, "</g>", 3)).1, [""; 0], "{inner}");
        }
        // A colour is no drawing, and a ring has no end to come to.
        let many = "<g fill=\"url(#c)\"/>".repeat(200_000);
        let colour = format!("<linearGradient id=\"c\">{}</linearGradient>", "<stop/>".repeat(9));
        assert_eq!(left_out(&format!("<svg xmlns=\"{SVG}\">{colour}{many}</svg>")).1, [""; 0]);
        let ring = "<g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#a\"/><use href=\"#b\"/></g>";
        assert_eq!(left_out(&format!("<svg xmlns=\"{SVG}\">{ring}</svg>")).1, [""; 0]);
        let deep = format!("<svg xmlns=\"{SVG}\">{}{}</svg>", "<g id=\"a\">".repeat(100_000), "</g>".repeat(100_000));
        assert_eq!(left_out(&deep).1, [""; 0]);
    }

    #[test]
    fn what_no_xml_may_hold_is_not_in_it() {
        let text = format!("<svg xmlns=\"{SVG}\"><g id=\"a&#1;b\">x&#8;\u{2}y&#x9;&#xFFFE;</g></svg>");
        assert_eq!(left_out(&text), (format!("<svg xmlns=\"{SVG}\"><g id=\"ab\">xy\t</g></svg>\n"), Vec::new()));
    }

    #[test]
    fn another_name_space_smuggles_nothing_in() {
        let text = format!(
            "<!DOCTYPE svg [<!ENTITY x \"y\">]><svg xmlns=\"{SVG}\"><s:script xmlns:s=\"{SVG}\">alert(1)</s:script>\
             <g xmlns=\"http://www.w3.org/1999/xhtml\" xml:base=\"http://example.invalid\"><script/></g></svg>"
        );
        let (text, told) = left_out(&text);
        assert_eq!(told, ["its document type", "`<script>`"]);
        assert_eq!(text, format!("<svg xmlns=\"{SVG}\"><g></g></svg>\n"));
    }

    #[test]
    fn what_is_no_picture_becomes_an_empty_one() {
        for text in ["", "<html/>", "<svg><g></svg>", "<svg", "<svg a='1' a='2'/>", "plain", "<svg xmlns=\"x\"><g>"] {
            let cleaned = clean(text);
            assert!(cleaned.left_out.iter().any(|part| part.whole), "{text}");
            assert!(cleaned.text.starts_with("<svg xmlns") && cleaned.text.ends_with("/>\n"), "{text}");
        }
    }
}
