//! The page of a rule: the Markdown that also serves `ruleout why`.
//!
//! In: a rule. Out: [`Page`].

use super::{fact, sheet};
use crate::check::Rule;
use crate::model::Set;
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::page::{Link, Page, Sheet};
use crate::plan::words::{without_title, words_of};

pub(super) fn page(frame: &Frame<'_>, rule: &Rule) -> Page {
    let levels = rule.levels.iter().map(|level| level.name()).collect::<Vec<_>>().join(" or ");
    let mut out = Sheet::default();
    out.facts(vec![fact("Level", vec![Link::text(levels)])]);
    let page = PageKind::Rules.page(rule.name);
    out.words(words_of(frame, without_title(rule.page), "rules", &Set::all(frame.base.vehicles.len()), &page));
    sheet(PageKind::Rules, rule.name, rule.name, None, out)
}
