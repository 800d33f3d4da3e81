//! Typed indexes, tables and small sets.
//!
//! In: ids in file order. Out: [`Table`] (id to value, by typed index), [`Set`] (a bit set of indexes).

use std::fmt;
use std::marker::PhantomData;

use indexmap::IndexMap;
use rustc_hash::FxBuildHasher;
use smallvec::SmallVec;

/// An index into a [`Table`] of `T`.
pub struct Ix<T> {
    raw: u32,
    of: PhantomData<fn() -> T>,
}

impl<T> Ix<T> {
    /// From a position.
    pub fn new(raw: usize) -> Self {
        Self { raw: raw as u32, of: PhantomData }
    }

    /// The position.
    pub fn raw(self) -> usize {
        self.raw as usize
    }
}

impl<T> Clone for Ix<T> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<T> Copy for Ix<T> {}
impl<T> PartialEq for Ix<T> {
    fn eq(&self, other: &Self) -> bool {
        self.raw == other.raw
    }
}
impl<T> Eq for Ix<T> {}
impl<T> PartialOrd for Ix<T> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl<T> Ord for Ix<T> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.raw.cmp(&other.raw)
    }
}
impl<T> std::hash::Hash for Ix<T> {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.raw.hash(state);
    }
}
impl<T> fmt::Debug for Ix<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.raw)
    }
}

/// Values by id, in file order, reached by a typed index.
#[derive(Clone, Debug)]
pub struct Table<T> {
    map: IndexMap<String, T, FxBuildHasher>,
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Self { map: IndexMap::default() }
    }
}

impl<T> Table<T> {
    /// Adds a value under an id that is not there yet; `None` where it is (the first stays).
    pub fn insert(&mut self, id: impl Into<String>, value: T) -> Option<Ix<T>> {
        match self.map.entry(id.into()) {
            indexmap::map::Entry::Occupied(_) => None,
            indexmap::map::Entry::Vacant(entry) => {
                let index = entry.index();
                entry.insert(value);
                Some(Ix::new(index))
            }
        }
    }

    /// The index of an id.
    pub fn find(&self, id: &str) -> Option<Ix<T>> {
        self.map.get_index_of(id).map(Ix::new)
    }

    /// The value of an id.
    pub fn get(&self, id: &str) -> Option<&T> {
        self.map.get(id)
    }

    /// The id of an index.
    pub fn id(&self, ix: Ix<T>) -> &str {
        self.map.get_index(ix.raw()).map_or("", |(id, _)| id.as_str())
    }

    /// Every id, in order.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.map.keys().map(String::as_str)
    }

    /// Every index with id and value, in order.
    pub fn iter(&self) -> impl Iterator<Item = (Ix<T>, &str, &T)> {
        self.map.iter().enumerate().map(|(i, (id, value))| (Ix::new(i), id.as_str(), value))
    }

    /// Every value, to be changed in place.
    pub fn values_mut(&mut self) -> impl Iterator<Item = &mut T> {
        self.map.values_mut()
    }

    /// Every index, in order.
    pub fn indexes(&self) -> impl Iterator<Item = Ix<T>> + use<T> {
        (0..self.map.len()).map(Ix::new)
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.map.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.map.is_empty()
    }
}

impl<T> std::ops::Index<Ix<T>> for Table<T> {
    type Output = T;
    fn index(&self, ix: Ix<T>) -> &T {
        &self.map[ix.raw()]
    }
}

impl<T> std::ops::IndexMut<Ix<T>> for Table<T> {
    fn index_mut(&mut self, ix: Ix<T>) -> &mut T {
        &mut self.map[ix.raw()]
    }
}

/// A set of indexes as bits. Trailing zero words are never kept, so equal sets are equal bit for bit.
pub struct Set<T> {
    words: SmallVec<[u64; 2]>,
    of: PhantomData<fn() -> T>,
}

impl<T> Set<T> {
    /// The empty set.
    pub fn new() -> Self {
        Self { words: SmallVec::new(), of: PhantomData }
    }

    /// The set of the first `count` indexes.
    pub fn all(count: usize) -> Self {
        (0..count).map(Ix::new).collect()
    }

    /// The set of one.
    pub fn one(ix: Ix<T>) -> Self {
        std::iter::once(ix).collect()
    }

    /// The set that these words hold, bit by bit.
    pub fn from_words(words: &[u64]) -> Self {
        Self { words: SmallVec::from_slice(words), of: PhantomData }.trimmed()
    }

    /// The set as words, bit by bit; none after the last that holds a member.
    pub fn words(&self) -> &[u64] {
        &self.words
    }

    /// Adds one.
    pub fn insert(&mut self, ix: Ix<T>) {
        let (word, bit) = (ix.raw() / 64, ix.raw() % 64);
        if self.words.len() <= word {
            self.words.resize(word + 1, 0);
        }
        self.words[word] |= 1 << bit;
    }

    /// Takes one out.
    pub fn remove(&mut self, ix: Ix<T>) {
        if let Some(word) = self.words.get_mut(ix.raw() / 64) {
            *word &= !(1 << (ix.raw() % 64));
        }
        self.trim();
    }

    /// Whether it is in.
    pub fn contains(&self, ix: Ix<T>) -> bool {
        self.words.get(ix.raw() / 64).is_some_and(|w| w & (1 << (ix.raw() % 64)) != 0)
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.words.iter().map(|w| w.count_ones() as usize).sum()
    }

    /// Whether none.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// Those in both.
    pub fn and(&self, other: &Self) -> Self {
        let words = self.words.iter().zip(&other.words).map(|(a, b)| a & b).collect();
        Self { words, of: PhantomData }.trimmed()
    }

    /// Those in either.
    pub fn or(&self, other: &Self) -> Self {
        let (long, short) = if self.words.len() < other.words.len() { (other, self) } else { (self, other) };
        let mut words = long.words.clone();
        for (word, more) in words.iter_mut().zip(&short.words) {
            *word |= more;
        }
        Self { words, of: PhantomData }
    }

    /// Those in this one but not in the other.
    pub fn minus(&self, other: &Self) -> Self {
        let mut words = self.words.clone();
        for (word, less) in words.iter_mut().zip(&other.words) {
            *word &= !less;
        }
        Self { words, of: PhantomData }.trimmed()
    }

    /// Whether every one of these is in the other.
    pub fn is_subset(&self, other: &Self) -> bool {
        self.minus(other).is_empty()
    }

    /// Whether the two share one.
    pub fn meets(&self, other: &Self) -> bool {
        self.words.iter().zip(&other.words).any(|(a, b)| a & b != 0)
    }

    /// Each index, in order.
    pub fn iter(&self) -> impl Iterator<Item = Ix<T>> + '_ {
        self.words.iter().enumerate().flat_map(|(at, &word)| {
            let mut rest = word;
            std::iter::from_fn(move || {
                (rest != 0).then(|| {
                    let bit = rest.trailing_zeros() as usize;
                    rest &= rest - 1;
                    Ix::new(at * 64 + bit)
                })
            })
        })
    }

    /// The first index.
    pub fn first(&self) -> Option<Ix<T>> {
        self.iter().next()
    }

    fn trim(&mut self) {
        while self.words.last() == Some(&0) {
            self.words.pop();
        }
    }

    fn trimmed(mut self) -> Self {
        self.trim();
        self
    }
}

impl<T> FromIterator<Ix<T>> for Set<T> {
    fn from_iter<I: IntoIterator<Item = Ix<T>>>(iter: I) -> Self {
        let mut set = Self::new();
        for ix in iter {
            set.insert(ix);
        }
        set
    }
}

impl<T> Default for Set<T> {
    fn default() -> Self {
        Self::new()
    }
}
impl<T> Clone for Set<T> {
    fn clone(&self) -> Self {
        Self { words: self.words.clone(), of: PhantomData }
    }
}
impl<T> PartialEq for Set<T> {
    fn eq(&self, other: &Self) -> bool {
        self.words == other.words
    }
}
impl<T> Eq for Set<T> {}
impl<T> PartialOrd for Set<T> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl<T> Ord for Set<T> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.words.cmp(&other.words)
    }
}
impl<T> std::hash::Hash for Set<T> {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.words.hash(state);
    }
}
impl<T> fmt::Debug for Set<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_are_sets() {
        let a: Set<()> = [1, 70, 130].into_iter().map(Ix::new).collect();
        let b: Set<()> = [70, 2].into_iter().map(Ix::new).collect();
        assert_eq!(a.and(&b).iter().map(Ix::raw).collect::<Vec<_>>(), [70]);
        assert_eq!(a.or(&b).len(), 4);
        assert_eq!(a.minus(&b).iter().map(Ix::raw).collect::<Vec<_>>(), [1, 130]);
        assert!(a.minus(&a).is_empty() && a.minus(&a) == Set::new());
        assert!(a.meets(&b) && !a.is_subset(&b));
    }
}
