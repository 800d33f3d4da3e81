//! In: positions. Out: sets of them, in as many bits as a problem needs.
//!
//! A question is asked in [`Wide`] sets; the search works in the narrowest of [`Bits`] that holds what is left of it.

use std::fmt::Debug;
use std::hash::Hash;
use std::ops::{BitAnd, BitAndAssign, BitOr, BitOrAssign, Not};

/// A set of positions below [`SIZE`](Bits::SIZE).
pub trait Bits:
    Copy
    + Debug
    + Default
    + Eq
    + Hash
    + Ord
    + BitAnd<Output = Self>
    + BitOr<Output = Self>
    + Not<Output = Self>
    + BitAndAssign
    + BitOrAssign
{
    /// How many positions there are.
    const SIZE: usize;

    /// Nothing.
    const NONE: Self;

    /// One position; nothing where it lies outside.
    fn one(at: usize) -> Self;

    /// The first so many positions.
    fn first(count: usize) -> Self;

    /// Whether the position is in.
    fn has(self, at: usize) -> bool;

    /// How many are in.
    fn count(self) -> usize;

    /// The smallest; [`SIZE`](Bits::SIZE) where nothing is in.
    fn lowest(self) -> usize;

    /// All but the smallest.
    fn rest(self) -> Self;

    /// Puts a position in; nothing happens where it lies outside.
    #[inline]
    fn insert(&mut self, at: usize) {
        *self |= Self::one(at);
    }

    /// Takes the smallest out.
    #[inline]
    fn take_lowest(&mut self) -> Option<usize> {
        let at = self.lowest();
        (at < Self::SIZE).then(|| {
            *self = self.rest();
            at
        })
    }

    /// Whether nothing is in.
    fn is_none(self) -> bool {
        self == Self::NONE
    }

    /// Whether just one is in.
    fn is_one(self) -> bool {
        !self.is_none() && self.rest().is_none()
    }

    /// Whether the two share a position.
    fn meets(self, other: Self) -> bool {
        !(self & other).is_none()
    }

    /// Whether the other holds all of it.
    fn is_within(self, other: Self) -> bool {
        (self & !other).is_none()
    }

    /// The positions, smallest first.
    fn members(self) -> Members<Self> {
        Members(self)
    }
}

/// See [`Bits::members`].
#[derive(Clone, Debug)]
pub struct Members<S>(S);

impl<S: Bits> Iterator for Members<S> {
    type Item = usize;

    #[inline]
    fn next(&mut self) -> Option<usize> {
        self.0.take_lowest()
    }
}

/// The set of some positions.
#[inline]
pub fn set<S: Bits>(positions: impl IntoIterator<Item = usize>) -> S {
    let mut set = S::NONE;
    positions.into_iter().for_each(|at| set.insert(at));
    set
}

macro_rules! number {
    ($($number:ty)*) => {$(
        impl Bits for $number {
            const SIZE: usize = <$number>::BITS as usize;
            const NONE: Self = 0;

            #[inline]
            fn one(at: usize) -> Self {
                if at < Self::SIZE { 1 << at } else { 0 }
            }

            #[inline]
            fn first(count: usize) -> Self {
                if count < Self::SIZE { (1 << count) - 1 } else { Self::MAX }
            }

            #[inline]
            fn has(self, at: usize) -> bool {
                at < Self::SIZE && self >> at & 1 == 1
            }

            #[inline]
            fn count(self) -> usize {
                self.count_ones() as usize
            }

            #[inline]
            fn lowest(self) -> usize {
                self.trailing_zeros() as usize
            }

            #[inline]
            fn rest(self) -> Self {
                self & self.wrapping_sub(1)
            }
        }
    )*};
}

number!(u32 u64 u128);

/// A set of up to `64 * N` positions.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Wide<const N: usize>([u64; N]);

impl<const N: usize> Bits for Wide<N> {
    const SIZE: usize = 64 * N;
    const NONE: Self = Wide([0; N]);

    fn one(at: usize) -> Self {
        let mut set = Self::NONE;
        set.insert(at);
        set
    }

    // in place: a set of many words is dear to copy
    fn insert(&mut self, at: usize) {
        if let Some(word) = self.0.get_mut(at / 64) {
            *word |= 1 << (at % 64);
        }
    }

    fn take_lowest(&mut self) -> Option<usize> {
        let (at, word) = self.0.iter_mut().enumerate().find(|(_, word)| **word != 0)?;
        let lowest = 64 * at + word.trailing_zeros() as usize;
        *word &= *word - 1;
        Some(lowest)
    }

    fn first(count: usize) -> Self {
        Wide(std::array::from_fn(|word| u64::first(count.saturating_sub(64 * word))))
    }

    fn has(self, at: usize) -> bool {
        self.0.get(at / 64).is_some_and(|word| word >> (at % 64) & 1 == 1)
    }

    fn count(self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    fn lowest(self) -> usize {
        let first = self.0.iter().enumerate().find(|(_, word)| **word != 0);
        first.map_or(Self::SIZE, |(at, word)| 64 * at + word.trailing_zeros() as usize)
    }

    fn is_none(self) -> bool {
        self.0.iter().fold(0, |all, word| all | word) == 0
    }

    fn meets(self, other: Self) -> bool {
        self.0.iter().zip(other.0).any(|(word, other)| word & other != 0)
    }

    fn is_within(self, other: Self) -> bool {
        self.0.iter().zip(other.0).all(|(word, other)| word & !other == 0)
    }

    fn rest(mut self) -> Self {
        self.take_lowest();
        self
    }
}

impl<const N: usize> From<u128> for Wide<N> {
    /// Bit `i` stands for position `i`.
    fn from(bits: u128) -> Self {
        set(bits.members())
    }
}

impl<const N: usize> Default for Wide<N> {
    fn default() -> Self {
        Self::NONE
    }
}

impl<const N: usize> Debug for Wide<N> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_set().entries(self.members()).finish()
    }
}

impl<const N: usize> BitAnd for Wide<N> {
    type Output = Self;

    fn bitand(mut self, other: Self) -> Self {
        self &= other;
        self
    }
}

impl<const N: usize> BitOr for Wide<N> {
    type Output = Self;

    fn bitor(mut self, other: Self) -> Self {
        self |= other;
        self
    }
}

impl<const N: usize> Not for Wide<N> {
    type Output = Self;

    fn not(self) -> Self {
        Wide(self.0.map(|word| !word))
    }
}

impl<const N: usize> BitAndAssign for Wide<N> {
    fn bitand_assign(&mut self, other: Self) {
        self.0.iter_mut().zip(other.0).for_each(|(word, other)| *word &= other);
    }
}

impl<const N: usize> BitOrAssign for Wide<N> {
    fn bitor_assign(&mut self, other: Self) {
        self.0.iter_mut().zip(other.0).for_each(|(word, other)| *word |= other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn laws<S: Bits>() {
        for positions in [vec![], vec![0], vec![3, 17], vec![0, 1, 30, 31]] {
            let found: S = set(positions.iter().copied());
            assert_eq!(found.members().collect::<Vec<_>>(), positions);
            assert_eq!((found.count(), found.is_one(), found.is_none()), {
                (positions.len(), positions.len() == 1, positions.is_empty())
            });
            assert!((0..S::SIZE).all(|at| found.has(at) == positions.contains(&at)));
            assert!(found.is_within(S::first(32)) && !found.meets(!found) && (found | !found).count() == S::SIZE);
        }
        assert_eq!(S::first(S::SIZE).rest().lowest(), 1);
        assert_eq!((S::first(0), S::one(S::SIZE), S::NONE.rest()), (S::NONE, S::NONE, S::NONE));
        assert_eq!(S::first(5).members().last(), Some(4));
        let mut all = S::first(2);
        assert_eq!((all.take_lowest(), all.take_lowest(), all.take_lowest()), (Some(0), Some(1), None));
        all.insert(S::SIZE - 1);
        all.insert(S::SIZE);
        assert_eq!(all, S::one(S::SIZE - 1));
        assert!(!S::first(S::SIZE).has(S::SIZE) && S::first(S::SIZE + 1) == S::first(S::SIZE));
        assert_eq!(S::one(S::SIZE - 1).lowest(), S::SIZE - 1);
    }

    #[test]
    fn every_width_is_the_same_set() {
        laws::<u32>();
        laws::<u64>();
        laws::<u128>();
        laws::<Wide<1>>();
        laws::<Wide<16>>();
        assert_eq!(Wide::<3>::first(130).members().last(), Some(129));
    }
}
