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

pub(super) fn register(tera: &mut Tera) {
    tera.register_filter("href", |to: &str, _: Kwargs, state: &State| -> TeraResult<String> {
        Ok(href(to, root(state)?.as_str().unwrap_or_default()))
    });
    tera.register_filter(
        "words",
        Html(|value: Value, kwargs: Kwargs, state: &State| {
            let below: Option<u8> = kwargs.get("below")?;
            let words = Words::deserialize(&value).map_err(|e| tera::Error::message(e.to_string()))?;
            Ok(words::html(&words, root(state)?.as_str().unwrap_or_default(), below.unwrap_or(1)))
        }),
    );
}

/// The way from the page's folder to the top; a component that uses these filters takes it as `@root`.
fn root(state: &State) -> TeraResult<Value> {
    state.get("root")?.ok_or_else(|| tera::Error::message("no `root` here".to_owned()))
}

/// An address of the plan as seen from a page: a place on the page itself stays as it is.
pub(super) fn href(to: &str, root: &str) -> String {
    if to.starts_with('#') { to.to_owned() } else { format!("{root}{to}") }
}
