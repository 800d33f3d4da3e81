//! Pieces that several views have in common.
//!
//! In: a view. Out: the same view with each `{% include "parts/NAME.html" %}` replaced by that piece. A page has some hundred of
//! them; left to the template engine they are a tenth of its work.

const PARTS: [(&str, &str); 6] = [
    ("facts", include_str!("../../templates/parts/facts.html")),
    ("cautions", include_str!("../../templates/parts/cautions.html")),
    ("table", include_str!("../../templates/parts/table.html")),
    ("links", include_str!("../../templates/parts/links.html")),
    ("says", include_str!("../../templates/parts/says.html")),
    ("way", include_str!("../../templates/parts/way.html")),
];

/// The view with its pieces in place. A piece may hold those that stand below it in the list.
pub fn put_in(view: &str) -> String {
    PARTS.iter().fold(view.to_owned(), |view, (name, part)| {
        view.replace(&format!("{{% include \"parts/{name}.html\" %}}"), part.trim_end())
    })
}
