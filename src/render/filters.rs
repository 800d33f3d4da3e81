//! The filters that views use.
//!
//! In: values of the plan. Out: `href` (an address from the page's own folder), `words` (an author's Markdown as HTML). What
//! `words` gives is safe: it escapes all that authors wrote.

use serde::Deserialize as _;
use tera::{Filter, Kwargs, State, Tera, TeraResult, Value};

use super::words;
use crate::plan::Words;

/// A filter whose output holds HTML of ours.
struct Html<F>(F);

impl<F> Filter<Value, TeraResult<String>> for Html<F>
where
    F: Fn(Value, Kwargs, &State) -> TeraResult<String> + Sync + Send + 'static,
{
    fn call(&self, value: Value, kwargs: Kwargs, state: &State) -> TeraResult<String> {
        (self.0)(value, kwargs, state)
    }

    fn is_safe(&self) -> bool {
        true
    }
}

/// Adds the filters for pages from which `root` leads to the top of the site.
pub(super) fn register(tera: &mut Tera, root: &'static str) {
    tera.register_filter("href", move |to: &str, _: Kwargs, _: &State| href(to, root));
    tera.register_filter(
        "words",
        Html(move |value: Value, kwargs: Kwargs, _: &State| {
            let below: Option<u8> = kwargs.get("below")?;
            let words = Words::deserialize(&value).map_err(|e| tera::Error::message(e.to_string()))?;
            Ok(words::html(&words, root, below.unwrap_or(1)))
        }),
    );
}

/// An address of the plan as seen from a page: a place on the page itself stays as it is.
pub(super) fn href(to: &str, root: &str) -> String {
    if to.starts_with('#') { to.to_owned() } else { format!("{root}{to}") }
}
