//! The filters that views use.
//!
//! In: values of the plan. Out: `href` (an address from the page's own folder), `words` (an author's Markdown as HTML). What
//! `words` gives is safe: it escapes all that authors wrote.

use tera::{Filter, Kwargs, State, Tera, TeraResult, Value};

use super::words;
use crate::plan::Words;

/// A filter whose output holds HTML of ours.
struct Html<F>(F);

impl<F> Filter<Value, TeraResult<String>> for Html<F>
where
    F: Fn(Value, Kwargs) -> TeraResult<String> + Sync + Send + 'static,
{
    fn call(&self, value: Value, kwargs: Kwargs, _: &State) -> TeraResult<String> {
        (self.0)(value, kwargs)
    }

    fn is_safe(&self) -> bool {
        true
    }
}

fn read<T: serde::de::DeserializeOwned>(value: &Value) -> TeraResult<T> {
    serde_json::to_value(value).and_then(serde_json::from_value).map_err(|e| tera::Error::message(e.to_string()))
}

pub(super) fn register(tera: &mut Tera) {
    tera.register_filter("href", |to: &str, kwargs: Kwargs, _: &State| -> TeraResult<String> {
        let root: String = kwargs.must_get("root")?;
        Ok(href(to, &root))
    });
    tera.register_filter(
        "words",
        Html(|value: Value, kwargs: Kwargs| {
            let root: String = kwargs.must_get("root")?;
            let below: Option<u8> = kwargs.get("below")?;
            Ok(words::html(&read::<Words>(&value)?, &root, below.unwrap_or(1)))
        }),
    );
}

/// An address of the plan as seen from a page: a place on the page itself stays as it is.
pub(super) fn href(to: &str, root: &str) -> String {
    if to.starts_with('#') { to.to_owned() } else { format!("{root}{to}") }
}
