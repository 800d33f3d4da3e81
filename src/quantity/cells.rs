//! The partition of the possible readings by the end points in use, and sets of its cells.

use smallvec::SmallVec;

use super::{Domain, Edge, Rational, ReadingSet, Span};

/// A set of small numbers: cells of a [`Cells`], or labels. Equal sets are equal values, whatever they were made from.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellSet {
    /// 64 members a word; the last word is never zero.
    words: SmallVec<[u64; 2]>,
}

impl CellSet {
    /// Nothing.
    pub fn empty() -> CellSet {
        CellSet::default()
    }

    /// The numbers from 0 up to, but not including, `count`.
    pub fn full(count: usize) -> CellSet {
        let mut words: SmallVec<[u64; 2]> = SmallVec::from_elem(u64::MAX, count / 64);
        if !count.is_multiple_of(64) {
            words.push((1 << (count % 64)) - 1);
        }
        CellSet { words }
    }

    /// One number.
    pub fn one(index: usize) -> CellSet {
        let mut set = CellSet::empty();
        set.insert(index);
        set
    }

    /// Adds a number.
    pub fn insert(&mut self, index: usize) {
        if self.words.len() <= index / 64 {
            self.words.resize(index / 64 + 1, 0);
        }
        self.words[index / 64] |= 1 << (index % 64);
    }

    /// Whether a number belongs to it.
    pub fn contains(&self, index: usize) -> bool {
        self.words.get(index / 64).is_some_and(|word| word >> (index % 64) & 1 == 1)
    }

    /// Whether nothing belongs to it.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// How many belong to it.
    pub fn len(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// The members, smallest first.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.words
            .iter()
            .enumerate()
            .flat_map(|(at, word)| (0..64).filter(move |bit| word >> bit & 1 == 1).map(move |bit| at * 64 + bit))
    }

    /// What belongs to both.
    pub fn intersect(&self, other: &CellSet) -> CellSet {
        CellSet::trimmed(self.words.iter().zip(&other.words).map(|(a, b)| a & b).collect())
    }

    /// What belongs to either.
    pub fn union(&self, other: &CellSet) -> CellSet {
        let (mut long, short) =
            if self.words.len() < other.words.len() { (other.clone(), self) } else { (self.clone(), other) };
        for (word, more) in long.words.iter_mut().zip(&short.words) {
            *word |= more;
        }
        long
    }

    /// What belongs to this one but not to the other.
    pub fn minus(&self, other: &CellSet) -> CellSet {
        let mut left = self.words.clone();
        for (word, gone) in left.iter_mut().zip(&other.words) {
            *word &= !gone;
        }
        CellSet::trimmed(left)
    }

    /// Whether something belongs to both.
    pub fn meets(&self, other: &CellSet) -> bool {
        self.words.iter().zip(&other.words).any(|(a, b)| a & b != 0)
    }

    /// Whether all of it belongs to the other.
    pub fn is_subset(&self, other: &CellSet) -> bool {
        self.words.len() <= other.words.len() && self.words.iter().zip(&other.words).all(|(a, b)| a & !b == 0)
    }

    fn trimmed(mut words: SmallVec<[u64; 2]>) -> CellSet {
        while words.last() == Some(&0) {
            words.pop();
        }
        CellSet { words }
    }
}

impl FromIterator<usize> for CellSet {
    fn from_iter<I: IntoIterator<Item = usize>>(members: I) -> CellSet {
        let mut set = CellSet::empty();
        for index in members {
            set.insert(index);
        }
        set
    }
}

/// The cells of one key: points and open intervals in rising order, then "open circuit" where the quantity has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cells {
    domain: Domain,
    spans: Vec<Span>,
}

impl Cells {
    /// Cuts the possible readings at the end points of all sets.
    pub fn new<'a>(domain: Domain, sets: impl IntoIterator<Item = &'a ReadingSet>) -> Cells {
        let mut points: Vec<Rational> = sets.into_iter().flat_map(ReadingSet::end_points).collect();
        points.sort();
        points.dedup();
        let mut spans = Vec::with_capacity(2 * points.len() + 1);
        for whole in domain.readings().spans() {
            let mut from = whole.from().clone();
            let edges = points.iter().flat_map(|point| [Edge::before(point.clone()), Edge::after(point.clone())]);
            for edge in edges.filter(|edge| whole.from() < edge && edge < whole.to()).chain([whole.to().clone()]) {
                spans.extend(Span::new(from, edge.clone()).filter(|span| domain.reaches(span)));
                from = edge;
            }
        }
        Cells { domain, spans }
    }

    /// The possible readings that were cut.
    pub fn domain(&self) -> &Domain {
        &self.domain
    }

    /// How many cells there are.
    pub fn len(&self) -> usize {
        self.spans.len() + usize::from(self.domain.readings().open_circuit)
    }

    /// Whether there is no cell (never, for a quantity of the language).
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Every cell.
    pub fn all(&self) -> CellSet {
        CellSet::full(self.len())
    }

    /// The cells that a set meets. Exact for the sets that the cells were made from, and for unions and intersections of them.
    pub fn select(&self, set: &ReadingSet) -> CellSet {
        let mut cells = CellSet::empty();
        let mut spans = set.spans().iter().peekable();
        for (index, cell) in self.spans.iter().enumerate() {
            while spans.next_if(|span| span.to() <= cell.from()).is_some() {}
            if spans.peek().is_some_and(|span| span.from() < cell.to()) {
                cells.insert(index);
            }
        }
        if set.open_circuit && self.domain.readings().open_circuit {
            cells.insert(self.spans.len());
        }
        cells
    }

    /// The readings in some of the cells.
    pub fn readings(&self, cells: &CellSet) -> ReadingSet {
        let spans = cells.iter().filter_map(|index| self.spans.get(index)).cloned();
        let open_circuit = self.domain.readings().open_circuit && cells.contains(self.spans.len());
        self.domain.limit(&ReadingSet::of_spans(spans, open_circuit))
    }
}
