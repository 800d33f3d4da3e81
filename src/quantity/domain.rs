//! The readings that a quantity can have at all.

use super::kind::Floor;
use super::{Edge, Quantity, Rational, ReadingSet, Span, number};

/// The possible readings of a quantity at one key.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Domain {
    quantity: Quantity,
    readings: ReadingSet,
}

impl Domain {
    /// The possible readings; `negative_named` says whether the spec or a step with the same key names a negative amount.
    pub fn new(quantity: Quantity, negative_named: bool) -> Domain {
        let (from, to) = edges(quantity, negative_named);
        let mut readings = ReadingSet::between(from, to);
        readings.open_circuit = quantity.has_open_circuit();
        Domain { quantity, readings }
    }

    /// Whether the quantity can have this reading at all, where a negative amount may be named.
    pub fn can_hold(quantity: Quantity, value: &Rational) -> bool {
        let (from, to) = edges(quantity, true);
        let at = Edge::before(value.clone());
        from <= at && at < to
    }

    /// The quantity.
    pub fn quantity(&self) -> Quantity {
        self.quantity
    }

    /// All possible readings.
    pub fn readings(&self) -> &ReadingSet {
        &self.readings
    }

    /// The possible readings of a set; two sets that mean the same readings come out equal (`above 3` and `at least 4` of a count).
    pub fn limit(&self, set: &ReadingSet) -> ReadingSet {
        let inside = set.intersect(&self.readings);
        if !self.quantity.is_whole() {
            return inside;
        }
        let spans: Vec<Span> = inside.spans().iter().filter_map(whole_numbers).collect();
        let mut joined: Vec<Span> = Vec::with_capacity(spans.len());
        for span in spans {
            let touching = joined.last().and_then(|last| match (last.to(), span.from()) {
                (Edge::At(end, _), Edge::At(start, _)) if end + number::ratio(1, 1) == *start => {
                    Span::new(last.from().clone(), span.to().clone())
                }
                _ => None,
            });
            match (touching, joined.last_mut()) {
                (Some(one), Some(last)) => *last = one,
                _ => joined.push(span),
            }
        }
        ReadingSet::of_spans(joined, inside.open_circuit)
    }

    /// The possible readings that do not belong to the set.
    pub fn complement(&self, set: &ReadingSet) -> ReadingSet {
        self.limit(&set.complement())
    }

    /// Whether a span holds a possible reading.
    pub(super) fn reaches(&self, span: &Span) -> bool {
        !self.quantity.is_whole() || whole_numbers(span).is_some()
    }
}

/// Between which edges a quantity is read.
fn edges(quantity: Quantity, negative_named: bool) -> (Edge, Edge) {
    let from = match quantity.floor() {
        Floor::ZeroUnlessNamed if negative_named => Edge::Bottom,
        _ => Edge::before(Rational::zero()),
    };
    let to = match quantity {
        Quantity::DutyCycle => Edge::after(number::ratio(100, 1)),
        _ => Edge::Top,
    };
    (from, to)
}

/// The span with its ends drawn in to the whole numbers inside it.
fn whole_numbers(span: &Span) -> Option<Span> {
    let one = number::ratio(1, 1);
    let from = match span.from() {
        Edge::At(value, true) => Edge::before(value.floor() + &one),
        Edge::At(value, false) => Edge::before(value.ceil()),
        edge => edge.clone(),
    };
    let to = match span.to() {
        Edge::At(value, true) => Edge::after(value.floor()),
        Edge::At(value, false) => Edge::after(value.ceil() - &one),
        edge => edge.clone(),
    };
    Span::new(from, to)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(value: i128) -> Rational {
        number::ratio(value, 1)
    }

    #[test]
    fn a_count_is_whole() {
        let domain = Domain::new(Quantity::Count, false);
        let above_3 = ReadingSet::between(Edge::after(n(3)), Edge::Top);
        let from_4 = ReadingSet::between(Edge::before(n(4)), Edge::Top);
        assert_eq!(domain.limit(&above_3), domain.limit(&from_4));
        let between = ReadingSet::between(Edge::after(n(3)), Edge::before(n(4)));
        assert!(domain.limit(&between).is_empty());
        let split = ReadingSet::exactly(n(3)).union(&ReadingSet::exactly(n(4)));
        assert_eq!(domain.limit(&split), ReadingSet::between(Edge::before(n(3)), Edge::after(n(4))));
    }

    #[test]
    fn knows_how_low_and_high_a_quantity_reads() {
        let readings = |quantity, negative| Domain::new(quantity, negative).readings().clone();
        assert!(!readings(Quantity::DcVoltage, false).contains_value(&n(-1)));
        assert!(readings(Quantity::DcVoltage, true).contains_value(&n(-1)));
        assert!(!readings(Quantity::Resistance, true).contains_value(&n(-1)));
        assert!(readings(Quantity::Resistance, false).open_circuit);
        assert!(!readings(Quantity::DutyCycle, false).contains_value(&n(101)));
        assert!(readings(Quantity::Temperature, false).contains_value(&n(1)));
        assert!(!readings(Quantity::Temperature, true).contains_value(&n(-1)));
    }
}
