//! Sets of readings, exact and independent of any partition.
//!
//! A set is a sorted list of spans between *edges*. An edge stands just before or just after a number, or at infinity, so that
//! open and closed ends need no cases of their own: `5 to below 6` runs from before 5 to before 6.

use super::{Rational, Reading};

/// A place between readings.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Edge {
    /// Below every number.
    Bottom,
    /// At a number: just before it (`false`) or just after it (`true`).
    At(Rational, bool),
    /// Above every number.
    Top,
}

impl Edge {
    /// Just before a number.
    pub fn before(value: Rational) -> Edge {
        Edge::At(value, false)
    }

    /// Just after a number.
    pub fn after(value: Rational) -> Edge {
        Edge::At(value, true)
    }

    /// The number it stands at.
    pub fn value(&self) -> Option<&Rational> {
        match self {
            Edge::At(value, _) => Some(value),
            Edge::Bottom | Edge::Top => None,
        }
    }
}

/// The readings from one edge to another; never empty.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    from: Edge,
    to: Edge,
}

impl Span {
    /// The span between two edges, if anything lies between them.
    pub fn new(from: Edge, to: Edge) -> Option<Span> {
        (from < to).then_some(Span { from, to })
    }

    /// Its lower edge.
    pub fn from(&self) -> &Edge {
        &self.from
    }

    /// Its upper edge.
    pub fn to(&self) -> &Edge {
        &self.to
    }

    /// The number, if the span holds that one number only.
    pub fn point(&self) -> Option<&Rational> {
        match (&self.from, &self.to) {
            (Edge::At(low, false), Edge::At(high, true)) if low == high => Some(low),
            _ => None,
        }
    }
}

/// A set of readings in a quantity's base unit. Equal sets are equal values.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ReadingSet {
    /// Sorted; between two spans lies at least one reading.
    spans: Vec<Span>,
    /// Whether "open circuit" belongs to it.
    pub open_circuit: bool,
}

impl ReadingSet {
    /// No reading.
    pub fn empty() -> ReadingSet {
        ReadingSet::default()
    }

    /// Every number, without "open circuit".
    pub fn all_numbers() -> ReadingSet {
        ReadingSet::between(Edge::Bottom, Edge::Top)
    }

    /// "Open circuit" alone.
    pub fn only_open_circuit() -> ReadingSet {
        ReadingSet { spans: Vec::new(), open_circuit: true }
    }

    /// The numbers between two edges (none if they are out of order).
    pub fn between(from: Edge, to: Edge) -> ReadingSet {
        ReadingSet { spans: Span::new(from, to).into_iter().collect(), open_circuit: false }
    }

    /// One number.
    pub fn exactly(value: Rational) -> ReadingSet {
        ReadingSet::between(Edge::before(value.clone()), Edge::after(value))
    }

    /// The union of any spans, in any order.
    pub fn of_spans(spans: impl IntoIterator<Item = Span>, open_circuit: bool) -> ReadingSet {
        let mut sorted: Vec<Span> = spans.into_iter().collect();
        sorted.sort();
        let mut merged: Vec<Span> = Vec::with_capacity(sorted.len());
        for span in sorted {
            match merged.last_mut() {
                Some(last) if span.from <= last.to => {
                    if last.to < span.to {
                        last.to = span.to;
                    }
                }
                _ => merged.push(span),
            }
        }
        ReadingSet { spans: merged, open_circuit }
    }

    /// Its spans, lowest first.
    pub fn spans(&self) -> &[Span] {
        &self.spans
    }

    /// Whether nothing belongs to it.
    pub fn is_empty(&self) -> bool {
        self.spans.is_empty() && !self.open_circuit
    }

    /// Whether the reading belongs to it.
    pub fn contains(&self, reading: &Reading) -> bool {
        match reading {
            Reading::OpenCircuit => self.open_circuit,
            Reading::Value(value) => self.contains_value(value),
        }
    }

    /// Whether the number belongs to it.
    pub fn contains_value(&self, value: &Rational) -> bool {
        let before = Edge::before(value.clone());
        let index = self.spans.partition_point(|span| span.to <= before);
        self.spans.get(index).is_some_and(|span| span.from <= before)
    }

    /// What belongs to either.
    pub fn union(&self, other: &ReadingSet) -> ReadingSet {
        let spans = self.spans.iter().chain(&other.spans).cloned();
        ReadingSet::of_spans(spans, self.open_circuit || other.open_circuit)
    }

    /// What belongs to both.
    pub fn intersect(&self, other: &ReadingSet) -> ReadingSet {
        let mut spans = Vec::new();
        let (mut left, mut right) = (self.spans.iter().peekable(), other.spans.iter().peekable());
        while let (Some(a), Some(b)) = (left.peek(), right.peek()) {
            let from = (&a.from).max(&b.from).clone();
            let to = (&a.to).min(&b.to).clone();
            let left_first = a.to < b.to;
            spans.extend(Span::new(from, to));
            if left_first {
                left.next();
            } else {
                right.next();
            }
        }
        ReadingSet { spans, open_circuit: self.open_circuit && other.open_circuit }
    }

    /// What does not belong to it, among all numbers and "open circuit".
    pub fn complement(&self) -> ReadingSet {
        let mut spans = Vec::with_capacity(self.spans.len() + 1);
        let mut from = Edge::Bottom;
        for span in &self.spans {
            spans.extend(Span::new(from, span.from.clone()));
            from = span.to.clone();
        }
        spans.extend(Span::new(from, Edge::Top));
        ReadingSet { spans, open_circuit: !self.open_circuit }
    }

    /// What belongs to this one but not to the other.
    pub fn minus(&self, other: &ReadingSet) -> ReadingSet {
        self.intersect(&other.complement())
    }

    /// Whether all of it belongs to the other.
    pub fn is_subset(&self, other: &ReadingSet) -> bool {
        self.minus(other).is_empty()
    }

    /// Whether something belongs to both.
    pub fn meets(&self, other: &ReadingSet) -> bool {
        !self.intersect(other).is_empty()
    }

    /// The numbers at which it begins or ends, sorted, each once.
    pub fn end_points(&self) -> Vec<Rational> {
        let ends = self.spans.iter().flat_map(|span| [span.from.value(), span.to.value()]);
        let mut points: Vec<Rational> = ends.flatten().cloned().collect();
        points.dedup();
        points
    }

    /// The lowest edge, if a number belongs to it.
    pub fn lowest(&self) -> Option<&Edge> {
        self.spans.first().map(Span::from)
    }

    /// The highest edge, if a number belongs to it.
    pub fn highest(&self) -> Option<&Edge> {
        self.spans.last().map(Span::to)
    }
}
