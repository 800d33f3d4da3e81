//! What may stand at a place, while its file is being typed.
//!
//! In: a place. Out: keys that the row may still have, and names, words and readings that its key takes.

mod context;
mod readings;
mod words;

use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionParams, CompletionResponse, CompletionTextEdit, Documentation,
    TextEdit,
};

use super::desk::Desk;
use super::jump::{Point, point};
use super::names::{Noun, Wanted, wanted};
use super::pieces::{Pieces, root};
use super::place::Lines;
use super::{tree, uses};
use crate::load::Role;
use crate::parse::front_matter;
use crate::parse::keys::{Key, Keys, Shape};
use crate::source::FileId;
use context::Spot;

/// One thing that may stand there.
pub struct Offer {
    /// What is shown and, with `before` and `after`, written.
    pub text: String,
    /// Written behind it.
    pub after: &'static str,
    /// What it is, in a few words.
    pub about: String,
    /// How it is shown.
    pub kind: CompletionItemKind,
}

impl Offer {
    fn new(text: impl Into<String>, about: impl Into<String>, kind: CompletionItemKind) -> Self {
        Self { text: text.into(), after: "", about: about.into(), kind }
    }
}

/// What may stand at a place.
pub fn at(desk: &Desk, params: &CompletionParams) -> Option<CompletionResponse> {
    let point = point(desk, &params.text_document_position)?;
    let (role, _) = desk.file(&point.path)?;
    let page = matches!(role, Role::Procedure(_) | Role::System(_) | Role::Check(_) | Role::Repair(_));
    let text = &point.text;
    let yaml = if page { front_matter_of(text) } else { 0..text.len() };
    let (offers, replace, before) = if yaml.contains(&point.offset) || yaml.end == point.offset {
        in_yaml(desk, role, &point, yaml)?
    } else {
        let (offers, replace) = words::at(desk, role, &point)?;
        (offers, replace, "")
    };
    // An editor takes what is replaced on one line only.
    let (before_it, behind_it) = text.split_at(point.offset);
    let start = before_it.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let end = behind_it.find(['\n', '\r']).map_or(text.len(), |at| point.offset + at);
    let range = Lines::new(text, desk.encoding).range(replace.start.clamp(start, end), replace.end.clamp(start, end));
    let items = offers.into_iter().enumerate().map(|(at, offer)| item(&offer, at, before, range)).collect();
    Some(CompletionResponse::Array(items))
}

/// The bytes of the front matter: up to the second line `---`, or to the end where it is not there yet.
fn front_matter_of(text: &str) -> std::ops::Range<usize> {
    let split = front_matter::split(FileId(0), text);
    match split.yaml {
        Some(yaml) => yaml,
        None if split.none_meant => 0..0,
        None => text.find('\n').map_or(text.len(), |at| at + 1)..text.len(),
    }
}

fn item(offer: &Offer, at: usize, before: &str, range: lsp_types::Range) -> CompletionItem {
    CompletionItem {
        label: offer.text.clone(),
        kind: Some(offer.kind),
        documentation: Some(offer.about.clone()).filter(|a| !a.is_empty()).map(Documentation::String),
        sort_text: Some(format!("{at:05}")),
        filter_text: Some(offer.text.clone()),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit {
            range,
            new_text: format!("{before}{}{}", offer.text, offer.after),
        })),
        ..CompletionItem::default()
    }
}

type Answer = (Vec<Offer>, std::ops::Range<usize>, &'static str);

fn in_yaml(desk: &Desk, role: &Role, point: &Point, yaml: std::ops::Range<usize>) -> Option<Answer> {
    let text: &str = &point.text;
    let tree = tree::read(FileId(0), &text[yaml.clone()], yaml.start);
    let pieces = Pieces::of(&tree, root(role)?);
    let spot = context::spot(&pieces, text, point.offset)?;
    let here = Here { desk, role, pieces: &pieces, text };
    // Straight behind a colon or dash a space is missing.
    let space = if text[..spot.replace().start].ends_with([':', '-', ',']) { " " } else { "" };
    Some(match spot {
        Spot::Key { keys, row, replace, dash } => {
            let colon = text[replace.end..].starts_with(':');
            (here.keys(keys, row, &replace, colon), replace, if dash { "- " } else { space })
        }
        Spot::Name { noun, row, replace } => {
            let colon = text[replace.end..].starts_with(':');
            (here.row_names(noun, row, colon), replace, space)
        }
        Spot::Value { behind: (keys, key), row, replace } => {
            let (offers, replace) = here.values(keys, key, row, replace, point.offset);
            (offers, replace, space)
        }
    })
}

/// What each text behind a key is.
fn leaf(shape: &'static Shape) -> &'static Shape {
    match shape {
        Shape::List(inner) | Shape::Rows(_, inner) | Shape::Named(_, inner) => leaf(inner),
        other => other,
    }
}

/// The file that is being typed.
struct Here<'a> {
    desk: &'a Desk,
    role: &'a Role,
    pieces: &'a Pieces<'a>,
    text: &'a str,
}

impl Here<'_> {
    /// The keys that a row may still have.
    fn keys(&self, keys: &'static Keys, row: usize, typed: &std::ops::Range<usize>, colon: bool) -> Vec<Offer> {
        let entries = self.pieces.rows.get(row).map(|r| r.node.entries()).unwrap_or_default();
        let there: Vec<&str> =
            entries.iter().filter(|e| e.key.span.start as usize != typed.start).map(|e| e.key.value.as_str()).collect();
        let step = self.pieces.around(row).find(|r| r.keys.is_some_and(|k| k.of == "a step"));
        let routes = step.is_some_and(|s| s.node.get("which").is_some());
        let may = |key: &&Key| !there.contains(&key.name) && context::may_have(keys, key.name, &there, routes);
        let mut wanted: Vec<&Key> = keys.keys.iter().filter(may).collect();
        wanted.sort_by_key(|k| !k.required);
        wanted
            .into_iter()
            .map(|key| {
                let needed = if key.required { " (needed)" } else { "" };
                let about = format!("{}{needed}", key.doc);
                let after = if colon { "" } else { ": " };
                Offer { after, ..Offer::new(key.name, about, CompletionItemKind::PROPERTY) }
            })
            .collect()
    }

    /// Names of rows, where they name what is there already.
    fn row_names(&self, noun: &str, row: usize, colon: bool) -> Vec<Offer> {
        let mut offers = match noun {
            "vehicle or group" => self.names(Noun::Who),
            "rule" => self.names(Noun::Rule),
            "quantity" => self.names(Noun::Quantity),
            "step" if matches!(self.role, Role::Case(_)) => self.local("step"),
            "band" => vec![Offer::new("in spec", "the limits themselves", CompletionItemKind::VALUE)],
            _ => Vec::new(),
        };
        let there = self.pieces.rows.get(row).map(|r| r.node.entries()).unwrap_or_default();
        offers.retain(|o| !there.iter().any(|e| e.key.value == o.text && !e.value.is_empty()));
        for offer in &mut offers {
            offer.after = if colon { "" } else { ": " };
        }
        offers
    }

    fn values(
        &self,
        keys: &'static Keys,
        key: &'static Key,
        row: usize,
        replace: std::ops::Range<usize>,
        offset: usize,
    ) -> (Vec<Offer>, std::ops::Range<usize>) {
        let word = |text: &str| Offer::new(text, "", CompletionItemKind::KEYWORD);
        let mut replace = replace;
        let offers = match wanted(keys, key) {
            None => match leaf(&key.shape) {
                Shape::OneOf(words) => words.iter().map(|w| word(w)).collect(),
                _ => Vec::new(),
            },
            Some(Wanted::One(noun)) => self.names(noun),
            Some(Wanted::Instruments) => {
                // Behind `or` stands another.
                let typed = &self.text[replace.start..offset.clamp(replace.start, replace.end)];
                if let Some(at) = typed.rfind(" or ") {
                    replace.start += at + " or ".len();
                }
                self.names(Noun::Equipment)
            }
            Some(Wanted::Vehicles(extra)) => {
                let extra = Some(extra).filter(|w| !w.is_empty());
                extra.map(word).into_iter().chain(self.names(Noun::Who)).collect()
            }
            Some(Wanted::Step) => self.local("step"),
            Some(Wanted::Cause(extra)) => {
                let extra = Some(extra).filter(|w| !w.is_empty());
                self.local("cause").into_iter().chain(extra.map(word)).collect()
            }
            Some(Wanted::Way) => {
                let on = self.names(Noun::Procedure).into_iter().map(|o| Offer { after: "/", ..o });
                let steps = if keys.of == "an ending" { Vec::new() } else { self.local("step") };
                steps.into_iter().chain(on).collect()
            }
            Some(Wanted::Changes) => {
                let steps = self.local("step").into_iter().chain(self.names(Noun::Spec));
                std::iter::once(word("all")).chain(steps).collect()
            }
            Some(Wanted::Fix) => self.headings().into_iter().chain(self.names(Noun::Repair)).collect(),
            Some(Wanted::Result) => readings::results_named(self, row),
            Some(Wanted::Reading) => readings::of_row(self, row),
            Some(Wanted::Limit) => readings::limits(self, row),
            Some(Wanted::Unit) => readings::units(self, row),
        };
        (offers, replace)
    }

    /// Everything of a kind that the base names, with its title.
    fn names(&self, noun: Noun) -> Vec<Offer> {
        words::names(self.desk, noun)
    }

    /// The steps or causes of the procedure that is meant.
    fn local(&self, what: &str) -> Vec<Offer> {
        let kind = if what == "step" { CompletionItemKind::EVENT } else { CompletionItemKind::ENUM_MEMBER };
        let rows = |pieces: &Pieces<'_>| -> Vec<Offer> {
            let tables = pieces.rows.iter().filter(|r| r.noun == what && !matches!(r.under, "readings"));
            tables
                .flat_map(|r| r.node.entries())
                .map(|e| {
                    let title =
                        ["title", "observe", "do", "measure", "check"].iter().find_map(|k| e.value.get(k)?.as_text());
                    Offer::new(e.key.value.clone(), title.unwrap_or_default(), kind)
                })
                .collect()
        };
        if !matches!(self.role, Role::Case(_)) {
            return rows(self.pieces);
        }
        self.procedure_of_case()
            .map(|parts| {
                let tree = parts.tree.as_ref();
                tree.map(|t| Pieces::of(t, super::pieces::Root::Row(&crate::parse::keys::PROCEDURE)))
                    .map(|p| rows(&p))
                    .unwrap_or_default()
            })
            .unwrap_or_default()
    }

    /// The procedure that a case names, taken apart.
    fn procedure_of_case(&self) -> Option<uses::Parts> {
        let name = self.pieces.rows.first()?.node.get("procedure")?.as_text()?;
        let files = self.desk.files();
        let (_, role, text) = files.iter().find(|(_, role, _)| matches!(role, Role::Procedure(id) if id == name))?;
        Some(uses::parts(role, text))
    }

    /// Headings of the body that are neither a step nor a cause.
    fn headings(&self) -> Vec<Offer> {
        let parts = uses::parts(self.role, self.text);
        let steps: Vec<String> = self.local("step").into_iter().map(|o| o.text).collect();
        let sections = parts.body.map(|b| b.sections).unwrap_or_default();
        let twos = sections.into_iter().filter(|s| s.level == 2);
        twos.filter_map(|s| Some((s.id?.value, s.title)))
            .filter(|(id, _)| !steps.contains(id))
            .map(|(id, title)| Offer::new(id, title, CompletionItemKind::REFERENCE))
            .collect()
    }
}
