//! Drawings as the rules on pictures see them.
//!
//! In: the pictures of a base. Out: a [`Drawing`] for each that holds what no page shows; two rules share them.

use crate::finding::Finding;
use crate::load;
use crate::model::Base;
use crate::parse::svg::{self, LeftOut};
use crate::source::{FileId, Sources, Span};

use super::Whole;

/// A drawing that is not shown as it stands.
#[derive(Debug)]
pub struct Drawing {
    file: FileId,
    left_out: Vec<LeftOut>,
}

/// Reads every drawing of a base once.
pub fn drawings(base: &Base, sources: &Sources) -> Vec<Drawing> {
    let named = base.figures.ids().filter(|name| load::is_svg(name));
    let files = named.filter_map(|name| sources.find(&format!("figures/{name}")));
    let read = |file: FileId| Drawing { file, left_out: svg::clean(sources.file(file).text()).left_out };
    files.map(read).filter(|drawing| !drawing.left_out.is_empty()).collect()
}

/// A finding for each part that was left out: of drawings that nothing could be kept of, or of the others.
pub(super) fn told(
    whole: &Whole<'_>,
    nothing_kept: bool,
    tell: impl Fn(Span, &str) -> Finding,
    out: &mut Vec<Finding>,
) {
    for drawing in whole.drawings {
        for part in drawing.left_out.iter().filter(|part| part.whole == nothing_kept) {
            out.push(tell(Span::new(drawing.file, part.range.start, part.range.end), &part.what));
        }
    }
}
