//! Sets of readings in the words of the language: `above 70 Ω to 90 Ω`, `exactly 30 Ω`.

use super::number::{self, ROUNDED_DIGITS};
use super::{Amount, Domain, Edge, Rational, ReadingSet, Span, Unit};

/// Most significant digits spent on keeping two end points of one set apart.
const MOST_DIGITS: u32 = 30;

/// The words for all that can be read: a reading of no result.
pub const ANY: &str = "any reading";

impl ReadingSet {
    /// The set in the language, its amounts in the unit given. The edges of the domain are not named; `any reading` is all
    /// of it, `no reading` none. An end point whose decimal does not end is rounded, as finely as keeps the end points apart.
    pub fn words(&self, unit: Unit, domain: &Domain) -> String {
        self.words_as(unit, domain, &[])
    }

    /// The same, with each end point as one of these amounts writes it, where one in this unit does: `0.20 V` keeps its zero.
    pub fn words_as(&self, unit: Unit, domain: &Domain, written: &[&Amount]) -> String {
        let set = domain.limit(self);
        if set.is_empty() {
            return "no reading".to_owned();
        }
        if set == domain.limit(domain.readings()) {
            return ANY.to_owned();
        }
        let words = Words { domain, unit, written, digits: digits_to_tell_apart(&set, unit, domain) };
        let mut parts: Vec<String> = set.spans().iter().map(|span| words.span(span)).collect();
        if set.open_circuit {
            parts.push("open circuit".to_owned());
        }
        parts.join(" or ")
    }
}

struct Words<'a> {
    domain: &'a Domain,
    unit: Unit,
    written: &'a [&'a Amount],
    digits: u32,
}

impl Words<'_> {
    fn span(&self, span: &Span) -> String {
        if let Some(point) = span.point() {
            return format!("exactly {}", self.amount(point));
        }
        let all = self.domain.readings();
        let low = (all.lowest() != Some(span.from())).then(|| span.from().clone());
        let high = (all.highest() != Some(span.to())).then(|| span.to().clone());
        match (low, high) {
            (Some(Edge::At(low, after)), Some(Edge::At(high, included))) => {
                let above = if after { "above " } else { "" };
                let below = if included { "" } else { "below " };
                format!("{above}{} to {below}{}", self.amount(&low), self.amount(&high))
            }
            (Some(Edge::At(low, true)), _) => format!("above {}", self.amount(&low)),
            (Some(Edge::At(low, false)), _) => format!("at least {}", self.amount(&low)),
            (_, Some(Edge::At(high, true))) => format!("at most {}", self.amount(&high)),
            (_, Some(Edge::At(high, false))) => format!("below {}", self.amount(&high)),
            _ => match all.lowest() {
                Some(Edge::At(lowest, _)) => format!("at least {}", self.amount(lowest)),
                _ => "any amount".to_owned(),
            },
        }
    }

    fn amount(&self, value: &Rational) -> String {
        let same = self.written.iter().filter(|amount| amount.unit == self.unit && amount.value == *value);
        if let Some(amount) = same.max_by_key(|amount| amount.decimals) {
            return self.unit.join(&number::fixed(&amount.number, amount.decimals));
        }
        self.unit.join(&digits(&self.unit.from_base(value, self.domain.quantity()), self.digits))
    }
}

fn digits(number: &Rational, digits: u32) -> String {
    number::exact(number).unwrap_or_else(|| number::rounded(number, digits))
}

/// The fewest significant digits at which different end points are written differently.
fn digits_to_tell_apart(set: &ReadingSet, unit: Unit, domain: &Domain) -> u32 {
    let points = set.end_points();
    if points.len() < 2 {
        return ROUNDED_DIGITS;
    }
    let numbers: Vec<Rational> = points.iter().map(|point| unit.from_base(point, domain.quantity())).collect();
    let apart = |count: u32| {
        let texts: Vec<String> = numbers.iter().map(|number| digits(number, count)).collect();
        texts.windows(2).all(|pair| pair[0] != pair[1])
    };
    (ROUNDED_DIGITS..MOST_DIGITS).find(|count| apart(*count)).unwrap_or(MOST_DIGITS)
}
