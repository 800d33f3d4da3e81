//! Reading phrases: `in spec`, `below 5 V`, `30 to 70 ohm`, `above 90 ohm or open circuit`.
//!
//! In: the text of one `if`, of one band of a spec, or of an instrument's range. Out: a [`Phrase`], or the first problem with
//! its place and mend. Never panics; a text of any length takes linear time.

use std::borrow::Cow;
use std::ops::Range;

use crate::quantity::{Amount, End, Phrase, Quantity, Rational, Unit, number};

use super::amount::{RawAmount, trimmed};
use super::near::{nearest, sure};
use super::text_problem::{Problem, ProblemKind, quote};
use super::trade_words;

/// The readings that speak of the spec.
const OF_SPEC: [(&str, Phrase); 4] = [
    ("in spec", Phrase::InSpec),
    ("below spec", Phrase::BelowSpec),
    ("above spec", Phrase::AboveSpec),
    ("out of spec", Phrase::OutOfSpec),
];

/// The words of the grammar, which no band's name holds.
const GRAMMAR: [&str; 25] = [
    "in", "below", "above", "out", "of", "spec", "less", "than", "under", "more", "over", "at", "most", "least", "or",
    "between", "and", "to", "exactly", "open", "circuit", "any", "other", "reading", "±",
];

/// Reads a result of a measuring step. `bands` are the names of the spec's bands on any vehicle, `in spec` among them where
/// it has one; none for a reading without a spec.
pub fn parse(text: &str, quantity: Quantity, bands: &[&str]) -> Result<Phrase, Problem> {
    read(text, &Reader { text, quantity, bands: Some(bands) })
}

/// Reads a band of a spec or an instrument's range: amounts and "open circuit" only.
pub fn parse_spec_range(text: &str, quantity: Quantity) -> Result<Phrase, Problem> {
    read(text, &Reader { text, quantity, bands: None })
}

/// Whether a band may have this name: no digit, none of the words that readings are written with.
pub fn check_band_name(name: &str) -> Result<(), Problem> {
    let problem = |range, found: String| {
        Err(Problem::bad(range, format!("a band's name {found}")).help("choose another name, such as `weak`"))
    };
    if name == "in spec" {
        return Ok(());
    }
    if name.trim().is_empty() {
        return problem(0..name.len(), "has letters, found nothing".to_owned());
    }
    if let Some((at, digit)) = name.char_indices().find(|(_, letter)| letter.is_numeric()) {
        return problem(at..at + digit.len_utf8(), format!("holds no digit, found `{digit}`"));
    }
    match words(name).into_iter().find(|word| GRAMMAR.contains(&word.lower.as_ref())) {
        Some(word) => {
            problem(word.range, format!("holds no word that readings are written with, found `{}`", word.lower))
        }
        None => Ok(()),
    }
}

fn read(text: &str, reader: &Reader<'_>) -> Result<Phrase, Problem> {
    let again = |text: &str| Reader { text, ..*reader }.phrase();
    reader.phrase().map_err(|problem| problem.tried(text, again))
}

/// One word of a text; `±` is always a word of its own.
struct Word<'t> {
    range: Range<usize>,
    lower: Cow<'t, str>,
}

fn words(text: &str) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut start = None;
    let mut close = |start: &mut Option<usize>, end: usize| {
        if let Some(start) = start.take() {
            let word = &text[start..end];
            let is_lower = word.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase());
            let lower = if is_lower { word.into() } else { word.to_lowercase().into() };
            words.push(Word { range: start..end, lower });
        }
    };
    for (at, letter) in text.char_indices() {
        if letter.is_whitespace() {
            close(&mut start, at);
        } else if letter == '±' {
            close(&mut start, at);
            start = Some(at);
            close(&mut start, at + letter.len_utf8());
        } else if start.is_none() {
            start = Some(at);
        }
    }
    close(&mut start, text.len());
    words
}

struct Reader<'a> {
    text: &'a str,
    quantity: Quantity,
    bands: Option<&'a [&'a str]>,
}

impl Reader<'_> {
    fn phrase(&self) -> Result<Phrase, Problem> {
        let whole = trimmed(self.text).map_err(|mut problem| {
            problem.message = problem.message.replace("an amount", "a reading");
            problem
        })?;
        if let Some(band) = self.band(&self.text[whole]) {
            return Ok(band);
        }
        let words = words(self.text);
        let mut parts = Vec::new();
        let mut start = 0;
        let joins = (0..words.len()).filter(|at| joins_readings(&words[*at..]));
        for end in joins.chain([words.len()]) {
            if start == end {
                let place = words.get(end).or(words.last()).map_or(0..self.text.len(), |word| word.range.clone());
                return Err(Problem::bad(place, "expected a reading on both sides of `or`"));
            }
            parts.push(self.part(&words[start..end])?);
            start = end + 1;
        }
        Ok(if parts.len() == 1 { parts.swap_remove(0) } else { Phrase::Or(parts) })
    }

    /// One reading without "or".
    fn part(&self, words: &[Word<'_>]) -> Result<Phrase, Problem> {
        let range = span(words);
        let text = &self.text[range.clone()];
        let lower = words.iter().map(|word| word.lower.as_ref()).collect::<Vec<_>>().join(" ");
        if let Some(band) = self.band(text) {
            return Ok(band);
        }
        if let Some((name, phrase)) = OF_SPEC.into_iter().find(|(name, _)| *name == lower) {
            return self.of_spec(name, phrase, range);
        }
        match (lower.as_str(), self.bands) {
            ("open circuit", _) if self.quantity.has_open_circuit() => return Ok(Phrase::OpenCircuit),
            ("open circuit", _) => {
                let found = format!("only a resistance reads `open circuit`, found it for {}", self.quantity.name());
                return Err(Problem::bad(range, found));
            }
            ("any other reading", Some(_)) => return Ok(Phrase::AnyOther),
            ("any other reading", None) => return Err(not_in_spec(&lower, range)),
            _ => {}
        }
        if let Some(problem) = trade_words::symbol(text).or_else(|| trade_words::opener(text)) {
            return Err(problem.shift(range.start));
        }
        self.limits(words).unwrap_or_else(|| Err(self.unknown(text, words)))
    }

    fn band(&self, text: &str) -> Option<Phrase> {
        let same = |band: &&&str| text.split_whitespace().eq(band.split_whitespace());
        let name = self.bands?.iter().find(same)?;
        Some(if *name == "in spec" { Phrase::InSpec } else { Phrase::Band((*name).to_owned()) })
    }

    fn of_spec(&self, name: &str, phrase: Phrase, range: Range<usize>) -> Result<Phrase, Problem> {
        match self.bands {
            None => Err(not_in_spec(name, range)),
            Some(bands) if bands.contains(&"in spec") => Ok(phrase),
            Some(_) => {
                let message = format!("`{name}` needs a spec with the band `in spec`");
                Err(Problem::new(ProblemKind::UnresolvedName, range, message)
                    .help("write amounts, such as `below 5 V`"))
            }
        }
    }

    /// A reading made of amounts; `None` if it does not begin like one.
    fn limits(&self, words: &[Word<'_>]) -> Option<Result<Phrase, Problem>> {
        let starts = |opener: &[&str]| {
            words.iter().map(|word| word.lower.as_ref()).take(opener.len()).eq(opener.iter().copied())
        };
        for (opener, form) in OPENERS {
            if starts(opener) {
                let rest = &words[opener.len()..];
                if rest.is_empty() {
                    let range = span(words);
                    let message = format!("expected an amount after {}", quote(&self.text[range.clone()]));
                    return Some(Err(Problem::bad(range, message)));
                }
                return Some(self.opened(*form, rest));
            }
        }
        let first = words.first()?.lower.trim_start_matches(['-', '+', '\u{2212}', '–', '—']);
        let is_number = first.starts_with(|letter: char| letter.is_ascii_digit() || letter == '.' || letter == ',');
        (is_number || first.is_empty()).then(|| self.bare(words))
    }

    /// What stands behind `below`, `above`, `at most`, `at least`, `between` or `exactly`.
    fn opened(&self, form: Form, words: &[Word<'_>]) -> Result<Phrase, Problem> {
        match form {
            Form::High { included } => Ok(Phrase::Range { low: None, high: Some(end(self.single(words)?, included)) }),
            Form::Exactly => {
                let amount = self.single(words)?;
                Ok(Phrase::Range { low: Some(end(amount.clone(), true)), high: Some(end(amount, true)) })
            }
            Form::Between => self.pair(words, "and", true),
            Form::Low { included } if words.iter().any(|word| word.lower == "to") => self.pair(words, "to", included),
            Form::Low { included } => Ok(Phrase::Range { low: Some(end(self.single(words)?, included)), high: None }),
        }
    }

    /// A reading that begins with an amount.
    fn bare(&self, words: &[Word<'_>]) -> Result<Phrase, Problem> {
        let has = |name: &str| words.iter().any(|word| word.lower == name);
        if has("±") {
            return self.tolerance(words);
        }
        if has("to") {
            return self.pair(words, "to", true);
        }
        if let [amount @ .., or, side] = words
            && or.lower == "or"
            && !amount.is_empty()
        {
            let limit = Some(end(self.single(amount)?, true));
            return Ok(if side.lower == "less" {
                Phrase::Range { low: None, high: limit }
            } else {
                Phrase::Range { low: limit, high: None }
            });
        }
        let amount = self.single(words)?;
        let message = format!("expected a range, found the single amount {}", quote(&amount.text));
        let text = &amount.text;
        Err(Problem::bad(span(words), message).help(format!(
            "write `at most {text}`, `at least {text}`, or `exactly {text}` if no other reading is meant"
        )))
    }

    fn single(&self, words: &[Word<'_>]) -> Result<Amount, Problem> {
        self.raw(words)?.typed(self.quantity, None)
    }

    fn raw(&self, words: &[Word<'_>]) -> Result<RawAmount<'_>, Problem> {
        RawAmount::read(self.text, span(words))
    }

    /// `A to B`, with the joining word given; the upper end may begin with `below`.
    fn pair(&self, words: &[Word<'_>], join: &str, low_included: bool) -> Result<Phrase, Problem> {
        let Some(at) = words.iter().position(|word| word.lower == join) else {
            return Err(Problem::bad(span(words), format!("expected `{join}` and a second amount")));
        };
        let (left, right) = (&words[..at], &words[at + 1..]);
        let (high_included, right) = match right {
            [below, rest @ ..] if join == "to" && trade_words::excludes(&below.lower) => (false, rest),
            _ => (true, right),
        };
        if left.is_empty() || right.is_empty() {
            return Err(Problem::bad(words[at].range.clone(), format!("expected an amount on both sides of `{join}`")));
        }
        let (left, right) = (self.raw(left)?, self.raw(right)?);
        let high = right.typed(self.quantity, None)?;
        let low = left.typed(self.quantity, Some(high.unit))?;
        if high.value < low.value {
            return Err(self.backwards(&left, &right, span(words)));
        }
        if low.value == high.value && !(low_included && high_included) {
            return Err(Problem::bad(span(words), format!("nothing lies between {} and itself", quote(&high.text))));
        }
        Ok(Phrase::Range { low: Some(end(low, low_included)), high: Some(end(high, high_included)) })
    }

    /// A range whose first amount is the larger: the two change places.
    fn backwards(&self, left: &RawAmount<'_>, right: &RawAmount<'_>, range: Range<usize>) -> Problem {
        let shares = left.unit_text.is_empty();
        let place = |raw: &RawAmount<'_>| {
            let end = if shares { raw.number_range.end } else { raw.unit_range.end };
            raw.number_range.start..end
        };
        let (first, second) = (place(left), place(right));
        let between = &self.text[first.end..second.start];
        let swapped = format!("{}{between}{}", &self.text[second.clone()], &self.text[first.clone()]);
        Problem::bad(first.start..second.end, format!("{} runs backwards", quote(&self.text[range])))
            .mend(swapped)
            .decides()
    }

    /// `A ± B` and `A ± N %`.
    fn tolerance(&self, words: &[Word<'_>]) -> Result<Phrase, Problem> {
        let at = words.iter().position(|word| word.lower == "±").unwrap_or_default();
        let (left, right) = (&words[..at], &words[at + 1..]);
        if left.is_empty() || right.is_empty() {
            return Err(Problem::bad(words[at].range.clone(), "expected an amount on both sides of `±`"));
        }
        let (left, right) = (self.raw(left)?, self.raw(right)?);
        if right.number.is_negative() {
            return Err(Problem::bad(right.number_range, "expected an amount of 0 or more after `±`"));
        }
        let relative = right.unit_text == "%" && !self.quantity.is_percent();
        let (middle, half) = if relative {
            let middle = left.typed(self.quantity, None)?;
            let half = middle.number.abs() * &right.number / number::ratio(100, 1);
            (middle, half)
        } else {
            let unit = right.unit(self.quantity)?;
            let middle = left.typed(self.quantity, Some(unit))?;
            let half = &right.number * unit.scale() / middle.unit.scale();
            (middle, half)
        };
        let decimals = left.decimals.max(right.decimals);
        let edge = |number: Rational| Some(end(worked_out(number, decimals, middle.unit, self.quantity), true));
        Ok(Phrase::Range { low: edge(&middle.number - &half), high: edge(&middle.number + &half) })
    }

    /// A reading that begins like none.
    fn unknown(&self, text: &str, words: &[Word<'_>]) -> Problem {
        let range = span(words);
        let has_digit = text.contains(|letter: char| letter.is_ascii_digit());
        if has_digit {
            let problem = Problem::bad(range, format!("expected a reading such as `below 5 V`, found {}", quote(text)));
            let openers = ["below", "above", "between", "under", "over", "exactly"];
            if words.first().is_some_and(|first| VAGUE.contains(&first.lower.as_ref())) {
                return problem.help("write how far it may be off, such as `12 V ± 0.5 V` or `11.5 to 12.5 V`");
            }
            let near = words.first().and_then(|first| nearest(&first.lower, openers).map(|meant| (first, meant)));
            return match near {
                Some((first, meant)) => Problem { range: first.range.clone(), ..problem }.mend(meant).decides(),
                None => problem,
            };
        }
        let Some(bands) = self.bands else {
            return Problem::bad(range, format!("expected amounts, found {}", quote(text)))
                .help("write a range such as `13.9 to 14.7 V`, or `TBD` if the value is not known yet");
        };
        let fixed: &[&str] = match (bands.contains(&"in spec"), self.quantity.has_open_circuit()) {
            (true, true) => {
                &["in spec", "below spec", "above spec", "out of spec", "any other reading", "open circuit"]
            }
            (true, false) => &["in spec", "below spec", "above spec", "out of spec", "any other reading"],
            (false, true) => &["any other reading", "open circuit"],
            (false, false) => &["any other reading"],
        };
        let problem =
            Problem::new(ProblemKind::UnresolvedName, range, format!("{} is no band of the spec", quote(text)));
        let problem = match nearest(text, bands.iter().chain(fixed).copied()) {
            // `in spec` and `out of spec` are near each other, and opposites.
            Some(meant) if sure(text, bands.iter().chain(fixed).copied()) == Some(meant) => problem.mend(meant),
            Some(meant) => problem.mend(meant).decides(),
            None => problem,
        };
        let names: Vec<String> = bands.iter().map(|band| format!("`{band}`")).collect();
        match names.as_slice() {
            [] => problem.help("write amounts, such as `below 5 V`, or `any other reading`"),
            names => problem.help(format!("the spec's bands are {}", names.join(", "))),
        }
    }
}

/// Whether an "or" here joins two readings, rather than ending `A or less`.
fn joins_readings(words: &[Word<'_>]) -> bool {
    let word = |at: usize| words.get(at).map_or("", |word| word.lower.as_ref());
    word(0) == "or" && !(matches!(word(1), "less" | "more") && word(2) != "than")
}

/// Words that promise a limit and name none; never mended into another word.
const VAGUE: [&str; 8] = ["about", "around", "roughly", "approximately", "approx", "ca", "circa", "nearly"];

#[derive(Clone, Copy)]
enum Form {
    High { included: bool },
    Low { included: bool },
    Between,
    Exactly,
}

const OPENERS: &[(&[&str], Form)] = &[
    (&["below"], Form::High { included: false }),
    (&["less", "than"], Form::High { included: false }),
    (&["under"], Form::High { included: false }),
    (&["above"], Form::Low { included: false }),
    (&["more", "than"], Form::Low { included: false }),
    (&["over"], Form::Low { included: false }),
    (&["at", "most"], Form::High { included: true }),
    (&["at", "least"], Form::Low { included: true }),
    (&["between"], Form::Between),
    (&["exactly"], Form::Exactly),
];

fn end(amount: Amount, included: bool) -> End {
    End { amount, included }
}

/// An end of `A ± B`, written with as many decimals as it needs.
fn worked_out(number: Rational, decimals: u32, unit: Unit, quantity: Quantity) -> Amount {
    let decimals = number::decimals_of(&number, 12).unwrap_or(decimals);
    Amount::new(number, decimals, unit, quantity)
}

fn not_in_spec(name: &str, range: Range<usize>) -> Problem {
    Problem::bad(range, format!("expected amounts, found `{name}`")).help("write a range such as `13.9 to 14.7 V`")
}

fn span(words: &[Word<'_>]) -> Range<usize> {
    match (words.first(), words.last()) {
        (Some(first), Some(last)) => first.range.start..last.range.end,
        _ => 0..0,
    }
}

#[cfg(test)]
#[path = "phrase_tests.rs"]
mod tests;
