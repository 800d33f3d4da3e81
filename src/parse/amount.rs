//! Numbers and amounts.
//!
//! In: the text of one value, as the author typed it. Out: an exact number, an [`Amount`], a [`Reading`], or the first
//! problem with its place and mend. Never panics; a text of any length takes linear time.

use std::ops::Range;

use crate::quantity::number as exact;
use crate::quantity::{Accuracy, Amount, Domain, Quantity, Rational, Reading, Unit, UnknownUnit};

use super::text_problem::{LONGEST, quote};
pub use super::text_problem::{Problem, ProblemKind};
use super::trade_words;

/// Most digits of one number.
const MOST_DIGITS: usize = 40;

/// Reads an amount: a decimal number and a unit of the quantity.
pub fn parse(text: &str, quantity: Quantity) -> Result<Amount, Problem> {
    let read = |text: &str| {
        let whole = trimmed(text)?;
        RawAmount::read(text, whole)?.typed(quantity, None)
    };
    read(text).map_err(|problem| problem.tried(text, read))
}

/// Reads what a meter showed: an amount, or "open circuit" where the quantity has it.
pub fn reading(text: &str, quantity: Quantity) -> Result<Reading, Problem> {
    if quantity.has_open_circuit() && text.split_whitespace().eq(["open", "circuit"]) {
        return Ok(Reading::OpenCircuit);
    }
    parse(text, quantity).map(|amount| Reading::Value(amount.value))
}

/// Reads the parts of a worked-out reading: amounts with commas between.
pub fn parts(text: &str, quantity: Quantity) -> Result<Vec<Amount>, Problem> {
    trimmed(text)?;
    let mut amounts = Vec::new();
    let mut start = 0;
    let between = |(at, _): &(usize, &str)| !text[at + 1..].starts_with(|next: char| next.is_ascii_digit());
    let ends = text.match_indices(',').filter(between).map(|(at, _)| at);
    for end in ends.chain([text.len()]) {
        amounts.push(parse(&text[start..end], quantity).map_err(|problem| problem.shift(start))?);
        start = end + 1;
    }
    Ok(amounts)
}

/// Reads a number without a unit: a share, a price, minutes.
pub fn number(text: &str) -> Result<Rational, Problem> {
    let read = |text: &str| {
        let raw = RawAmount::read(text, trimmed(text)?)?;
        if raw.unit_text.is_empty() {
            return Ok(raw.number);
        }
        let message = format!("expected a number alone, found {} behind it", quote(raw.unit_text));
        Err(Problem::bad(raw.number_range.end..raw.unit_range.end, message).mend("").decides())
    };
    read(text).map_err(|problem| problem.tried(text, read))
}

/// Reads an instrument's accuracy: `N %` (of the reading), `N digits`, an amount, or a sum of these with `+` between.
pub fn accuracy(text: &str, quantity: Quantity) -> Result<Accuracy, Problem> {
    trimmed(text)?;
    let mut sum = Accuracy::exact(quantity);
    let mut start = text.find('±').filter(|at| text[..*at].trim().is_empty()).map_or(0, |at| at + '±'.len_utf8());
    for end in text.match_indices('+').map(|(at, _)| at).chain([text.len()]) {
        let term = text.get(start..end).unwrap_or_default();
        add_term(&mut sum, term, quantity).map_err(|problem| problem.shift(start))?;
        start = end + 1;
    }
    Ok(sum)
}

fn add_term(sum: &mut Accuracy, term: &str, quantity: Quantity) -> Result<(), Problem> {
    let raw = RawAmount::read(term, trimmed(term)?)?;
    if raw.number.is_negative() {
        return Err(Problem::bad(raw.number_range, "an accuracy is not negative"));
    }
    match raw.unit_text {
        "%" => sum.percent += raw.number,
        "digit" | "digits" => sum.digits += raw.number,
        _ => {
            let amount = raw
                .typed(quantity.step(), None)
                .map_err(|problem| problem.help("write an accuracy as `0.5 % + 2 digits`, or as an amount"))?;
            sum.amount += amount.value;
        }
    }
    Ok(())
}

/// The bytes of the text without the white space around it.
pub(super) fn trimmed(text: &str) -> Result<Range<usize>, Problem> {
    let start = text.len() - text.trim_start().len();
    let end = start + text.trim().len();
    if start == end {
        return Err(Problem::bad(0..text.len(), "expected an amount, found nothing"));
    }
    if end - start > LONGEST {
        return Err(Problem::bad(start..end, format!("{} is too long for an amount", quote(text))));
    }
    Ok(start..end)
}

/// A number and the text behind it, the unit not looked up yet.
pub(super) struct RawAmount<'a> {
    pub number: Rational,
    pub decimals: u32,
    pub number_range: Range<usize>,
    pub unit_text: &'a str,
    pub unit_range: Range<usize>,
    source: &'a str,
}

impl<'a> RawAmount<'a> {
    /// Reads the number at the start of a part of the text; `range` has no white space around it.
    pub fn read(text: &'a str, range: Range<usize>) -> Result<RawAmount<'a>, Problem> {
        let Range { start, end } = range;
        let part = text.get(start..end).unwrap_or_default();
        let (negative, sign) = sign(part).map_err(|problem| problem.shift(start))?;
        let digits = decimal(&part[sign..]).map_err(|problem| problem.shift(start + sign))?;
        let number_end = start + sign + digits.length;
        let rest = &text[number_end..end];
        let unit_start = number_end + rest.len() - rest.trim_start().len();
        let raw = RawAmount {
            number: if negative { -digits.value } else { digits.value },
            decimals: digits.decimals,
            number_range: start..number_end,
            unit_text: &text[unit_start..end],
            unit_range: unit_start..end,
            source: text,
        };
        raw.look_behind_number()?;
        Ok(raw)
    }

    /// Looks the unit up: its own, or the one it shares with the other end of a range.
    pub fn typed(&self, quantity: Quantity, shared: Option<Unit>) -> Result<Amount, Problem> {
        let unit = match shared {
            Some(unit) if self.unit_text.is_empty() => unit,
            _ => self.unit(quantity)?,
        };
        let value = unit.to_base(&self.number, quantity);
        let end = if self.unit_text.is_empty() { self.number_range.end } else { self.unit_range.end };
        let range = self.number_range.start..end;
        let text = self.source[range.clone()].to_owned();
        self.possible(&value, quantity, range)?;
        Ok(Amount { quantity, value, number: self.number.clone(), unit, decimals: self.decimals, text })
    }

    /// The unit as written.
    pub fn unit(&self, quantity: Quantity) -> Result<Unit, Problem> {
        let problem = match Unit::find(self.unit_text, quantity) {
            Ok(unit) => return Ok(unit),
            Err(problem) => problem,
        };
        let number = quote(&self.source[self.number_range.clone()]);
        if self.unit_text.is_empty() {
            let message = format!("{number} has no unit");
            return Err(
                Problem::new(ProblemKind::WrongUnit, self.number_range.clone(), message).help(units_help(quantity))
            );
        }
        let found = quote(self.unit_text);
        if quantity.is_bare() {
            let message = format!("expected a number alone, as {} has no unit, found {found}", quantity.name());
            return Err(Problem::new(ProblemKind::WrongUnit, self.number_range.end..self.unit_range.end, message)
                .mend("")
                .decides());
        }
        let other = match problem {
            UnknownUnit::Other(Unit::NONE) | UnknownUnit::Meant(_) | UnknownUnit::Nothing => None,
            UnknownUnit::Other(unit) => unit.quantities().first().map(|other| format!(", a unit of {}", other.name())),
        };
        let other = other.unwrap_or_default();
        let message = format!("expected a unit of {}, found {found}{other}", quantity.name());
        let problem_here = Problem::new(ProblemKind::WrongUnit, self.unit_range.clone(), message);
        Err(match problem {
            UnknownUnit::Meant(unit) => {
                let space = if self.unit_range.start == self.number_range.end { " " } else { "" };
                problem_here.mend(format!("{space}{}", unit.symbol()))
            }
            UnknownUnit::Other(unit) => match other_zero(unit, quantity) {
                Some(help) => problem_here.help(help),
                None => problem_here.help(units_help(quantity)),
            },
            UnknownUnit::Nothing => problem_here.help(units_help(quantity)),
        })
    }

    /// What people put behind a number where a unit should stand.
    fn look_behind_number(&self) -> Result<(), Problem> {
        let number = &self.source[self.number_range.clone()];
        let gap = self.number_range.end..self.unit_range.start;
        if self.unit_text.starts_with(|first: char| first.is_ascii_digit()) {
            return Err(Problem::bad(gap, format!("a space splits the number after {}", quote(number)))
                .mend("")
                .decides());
        }
        if let Some(problem) = trade_words::plus_or_minus(&self.source[gap.start..self.unit_range.end]) {
            return Err(problem.shift(gap.start));
        }
        if let Some((at, dash, next)) = dash_range(self.unit_text) {
            let start = self.unit_range.start + at;
            let start = start - (self.source[..start].len() - self.source[..start].trim_end().len());
            let message = format!("expected `to` between the ends of a range, found `{dash}`");
            return Err(Problem::bad(start..self.unit_range.start + next, message).mend(" to "));
        }
        Ok(())
    }

    fn possible(&self, value: &Rational, quantity: Quantity, range: Range<usize>) -> Result<(), Problem> {
        let found = || quote(&self.source[range.clone()]);
        if !Domain::can_hold(quantity, value) {
            let why = match quantity {
                Quantity::DutyCycle => "a duty cycle is 0 to 100 %".to_owned(),
                Quantity::Temperature => "nothing is below absolute zero".to_owned(),
                Quantity::Vacuum => "vacuum is positive, and more is deeper".to_owned(),
                _ => format!("{} is never below zero", quantity.name()),
            };
            let message = format!("{why}, found {}", found());
            return Err(Problem::bad(range, message));
        }
        if quantity.is_whole() && !value.is_integer() {
            let message = format!("a count is a whole number, found {}", found());
            return Err(Problem::bad(range, message));
        }
        Ok(())
    }
}

/// What to do where a pressure counts from another zero than its quantity. Not a mend: the author knows which of the two was meant.
fn other_zero(unit: Unit, quantity: Quantity) -> Option<String> {
    let typed = unit.symbol();
    match (typed, quantity) {
        ("psia", Quantity::Pressure) => Some(format!(
            "`{typed}` counts from vacuum: write `psi` if the gauge shows zero in open air, else say `quantity: absolute pressure`"
        )),
        ("psig", Quantity::AbsolutePressure) => Some(format!(
            "`{typed}` counts from the air outside: write `psi` if zero is vacuum, else say `quantity: pressure`"
        )),
        ("psia" | "psig", Quantity::PressureDifference) => {
            Some(format!("a difference has no zero of its own: write `psi` instead of `{typed}`"))
        }
        _ => None,
    }
}

/// "add V, mV or kV".
fn units_help(quantity: Quantity) -> String {
    let units: Vec<&str> = Unit::common_of(quantity).into_iter().map(Unit::symbol).collect();
    match units.split_last() {
        Some((last, [])) => format!("write {} behind the number", quote(last)),
        Some((last, rest)) => format!("write a unit behind the number, such as {} or {last}", rest.join(", ")),
        None => "write the number alone".to_owned(),
    }
}

/// The sign of a number and its length.
fn sign(part: &str) -> Result<(bool, usize), Problem> {
    let Some(first) = part.chars().next() else { return Ok((false, 0)) };
    let length = first.len_utf8();
    let rest = &part[length..];
    let starts_number = |text: &str| text.starts_with(|next: char| next.is_ascii_digit() || next == '.');
    match first {
        '-' | '\u{2212}' | '+' if !starts_number(rest) && starts_number(rest.trim_start()) => {
            let gap = length..part.len() - rest.trim_start().len();
            let name = if first == '+' { "plus" } else { "minus" };
            Err(Problem::bad(gap, format!("expected no space after the {name}")).mend(""))
        }
        '–' | '—' if starts_number(rest.trim_start()) => {
            let end = part.len() - rest.trim_start().len();
            Err(Problem::bad(0..end, "expected a minus, found a dash").mend("-"))
        }
        '-' | '\u{2212}' => Ok((true, length)),
        '+' => Ok((false, length)),
        _ => Ok((false, 0)),
    }
}

struct Digits {
    value: Rational,
    decimals: u32,
    length: usize,
}

/// The unsigned decimal at the start of a text.
fn decimal(part: &str) -> Result<Digits, Problem> {
    let run = |text: &str| text.len() - text.trim_start_matches(|letter: char| letter.is_ascii_digit()).len();
    let whole = run(part);
    let has_point = part[whole..].starts_with('.');
    let decimals = if has_point { run(&part[whole + 1..]) } else { 0 };
    if whole + decimals == 0 {
        let end = part.find(char::is_whitespace).unwrap_or(part.len());
        return Err(Problem::bad(0..end, format!("expected a number, found {}", quote(&part[..end]))));
    }
    let length = if decimals > 0 { whole + 1 + decimals } else { whole };
    // Shown, a number has a digit before its point.
    if whole.max(1) + decimals > MOST_DIGITS {
        return Err(Problem::bad(0..length, format!("a number has at most {MOST_DIGITS} digits")));
    }
    look_at_marks(part, length)?;
    Ok(Digits { value: exact::decimal(&part[..length]), decimals: decimals as u32, length })
}

/// Decimal commas, thousands commas, powers of ten and fractions, straight behind the digits.
fn look_at_marks(part: &str, length: usize) -> Result<(), Problem> {
    let (number, rest) = part.split_at(length);
    let mut letters = rest.chars();
    let mark = letters.next();
    let next_digit = letters.next().is_some_and(|next| next.is_ascii_digit());
    match mark {
        Some(',') if next_digit => Err(comma(part, length)),
        Some('e' | 'E') => match power_of_ten(rest) {
            Some((end, exponent)) => {
                let written = written_out(number, exponent);
                let problem =
                    Problem::bad(0..length + end, format!("{} is a power of ten", quote(&part[..length + end])));
                Err(match written {
                    Some(written) => problem.mend(written),
                    None => problem.help("write the number out"),
                })
            }
            None => Ok(()),
        },
        Some('/') if next_digit => {
            let end = length + 1 + rest[1..].len() - rest[1..].trim_start_matches(|l: char| l.is_ascii_digit()).len();
            Err(Problem::bad(0..end, format!("{} is a fraction", quote(&part[..end])))
                .help("write it as a decimal: `0.5` for a half"))
        }
        Some(':') if next_digit => {
            Err(Problem::bad(0..part.len(), format!("expected one number, found {}", quote(part)))
                .help("write a ratio as its first number over its second: `9.5` for 9.5:1"))
        }
        _ => Ok(()),
    }
}

fn comma(part: &str, length: usize) -> Problem {
    let in_number = |letter: char| letter.is_ascii_digit() || letter == ',' || letter == '.';
    let end = part.len() - part.trim_start_matches(in_number).len();
    let typed = part[..end].trim_end_matches([',', '.']);
    let groups: Vec<&str> = typed.split('.').next().unwrap_or_default().split(',').collect();
    let thousands = groups[0].len() <= 3 && groups[0] != "0" && groups[1..].iter().all(|group| group.len() == 3);
    let several = groups.len() > 2 || typed.contains('.');
    let range = 0..typed.len();
    let bare = typed.replace(',', "");
    if thousands && several {
        return Problem::bad(range, format!("{} has a thousands comma", quote(typed))).mend(bare);
    }
    let pointed = typed.replacen(',', ".", 1);
    if thousands {
        return Problem::bad(range, format!("{} has a comma", quote(typed)))
            .help(format!("write `{bare}` if it stands for thousands, `{pointed}` if it is a decimal comma"));
    }
    let problem = Problem::bad(range, format!("{} has a decimal comma", quote(typed)));
    if pointed.contains(',') || part[..length].contains('.') {
        problem.help("write a decimal point")
    } else {
        problem.mend(pointed)
    }
}

/// The end and value of an exponent such as `e3` or `E-6`.
fn power_of_ten(rest: &str) -> Option<(usize, i32)> {
    let signed = rest.get(1..)?;
    let digits = signed.strip_prefix(['-', '+']).unwrap_or(signed);
    let end = digits.len() - digits.trim_start_matches(|letter: char| letter.is_ascii_digit()).len();
    let exponent = digits[..end].parse::<i32>().ok()?;
    let length = rest.len() - digits.len() + end;
    Some((length, if signed.starts_with('-') { -exponent } else { exponent }))
}

fn written_out(number: &str, exponent: i32) -> Option<String> {
    if exponent.abs() > 12 {
        return None;
    }
    let size = decimal(number).ok()?;
    let power = exact::ratio(10, 1).pow(exponent);
    let value = size.value * power;
    Some(exact::fixed(&value, exact::decimals_of(&value, MOST_DIGITS as u32)?))
}

/// A dash between two numbers: where it begins, the dash, and where the second number begins.
fn dash_range(rest: &str) -> Option<(usize, char, usize)> {
    let (at, dash) = rest.char_indices().find(|(_, letter)| matches!(letter, '-' | '–' | '—' | '\u{2212}'))?;
    let behind = &rest[at + dash.len_utf8()..];
    let number = behind.trim_start();
    let unsigned = number.strip_prefix(['-', '\u{2212}', '+']).unwrap_or(number);
    unsigned.starts_with(|first: char| first.is_ascii_digit()).then(|| (at, dash, rest.len() - number.len()))
}
