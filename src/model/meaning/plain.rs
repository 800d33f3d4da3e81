//! The plain value that a meaning is told in: JSON without a copy of what the base holds already.
//!
//! In: texts, numbers, lists and rows. Out: [`Plain`], which serialises as the JSON value of the same shape.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::{Serialize, Serializer};
use serde_json::Value;

/// A plain value; its texts may be those of the base.
pub enum Plain<'a> {
    /// Nothing.
    None,
    /// Yes or no.
    Flag(bool),
    /// A whole number.
    Count(u64),
    /// A text.
    Text(Cow<'a, str>),
    /// A list.
    List(Vec<Plain<'a>>),
    /// Named values, in the order in which they are told.
    Rows(Vec<(Cow<'a, str>, Plain<'a>)>),
}

/// Named values in the order written: `object!({"name": value})`.
macro_rules! object {
    ({ $($key:literal: $value:expr),* $(,)? }) => {
        $crate::model::meaning::plain::Plain::Rows(
            vec![$((std::borrow::Cow::Borrowed($key), $crate::model::meaning::plain::Plain::from($value))),*]
        )
    };
}
pub(super) use object;

impl Plain<'_> {
    /// As a JSON value to walk through.
    pub fn to_json(&self) -> Value {
        serde_json::to_value(self).unwrap_or_default()
    }
}

/// Rows by name: their order in the file means nothing.
pub(super) fn rows<'a, N: Into<Cow<'a, str>>>(rows: impl Iterator<Item = (N, Plain<'a>)>) -> Plain<'a> {
    let sorted: BTreeMap<Cow<'a, str>, Plain<'a>> = rows.map(|(name, value)| (name.into(), value)).collect();
    Plain::Rows(sorted.into_iter().collect())
}

impl Serialize for Plain<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::None => to.serialize_unit(),
            Self::Flag(flag) => to.serialize_bool(*flag),
            Self::Count(count) => to.serialize_u64(*count),
            Self::Text(text) => to.serialize_str(text),
            Self::List(list) => to.collect_seq(list),
            Self::Rows(rows) => to.collect_map(rows.iter().map(|(name, value)| (name, value))),
        }
    }
}

impl<'a> From<&'a str> for Plain<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }
}

impl From<String> for Plain<'_> {
    fn from(text: String) -> Self {
        Self::Text(Cow::Owned(text))
    }
}

impl From<bool> for Plain<'_> {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl From<u32> for Plain<'_> {
    fn from(count: u32) -> Self {
        Self::Count(count.into())
    }
}

impl<'a, T: Into<Plain<'a>>> From<Option<T>> for Plain<'a> {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::None, Into::into)
    }
}

impl<'a, T: Into<Plain<'a>>> From<Vec<T>> for Plain<'a> {
    fn from(list: Vec<T>) -> Self {
        Self::List(list.into_iter().map(Into::into).collect())
    }
}
