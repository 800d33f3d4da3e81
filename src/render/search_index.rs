//! The search index, in the serialised form of `MiniSearch` 7 (its `toJSON`, version 2), as a script.
//!
//! In: [`SearchData`]. Out: one call of the page's script with the index, the synonyms and the vehicles. A test shows that the
//! library itself builds the same index from the same documents.

use std::collections::BTreeMap;

use indexmap::IndexMap;
use serde::{Serialize, Serializer};

use crate::plan::{Document, SearchData, Synonyms};

/// The fields, in the order of their numbers in the index.
const FIELDS: [&str; 3] = ["title", "also", "more"];

/// The words of a text as the page's script cuts them: lower case, runs of letters and digits.
pub fn tokens(text: &str) -> Vec<String> {
    text.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|t| !t.is_empty()).map(str::to_owned).collect()
}

fn field(document: &Document, number: usize) -> &str {
    match number {
        0 => &document.title,
        1 => &document.also,
        _ => &document.more,
    }
}

/// Where a term stands: for each field the documents that hold it, in ascending order, and how often each does.
#[derive(Default)]
struct Postings([Vec<(usize, u32)>; FIELDS.len()]);

impl Postings {
    fn count(&mut self, field: usize, document: usize) {
        match self.0[field].last_mut() {
            Some((last, times)) if *last == document => *times += 1,
            _ => self.0[field].push((document, 1)),
        }
    }
}

impl Serialize for Postings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|rows| Pairs(rows)).enumerate().filter(|(_, rows)| !rows.0.is_empty()))
    }
}

/// An object of numbers.
struct Pairs<'a>(&'a [(usize, u32)]);

impl Serialize for Pairs<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().copied())
    }
}

/// An object whose keys are the numbers from 0.
struct Numbered<T>(Vec<T>);

impl<T: Serialize> Serialize for Numbered<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().enumerate())
    }
}

/// What the library keeps of a document.
#[derive(Serialize)]
struct Stored<'a> {
    title: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    on: Option<usize>,
}

/// The whole index: keys, their order and their numbers as the library writes them.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Whole<'a> {
    document_count: usize,
    next_id: usize,
    document_ids: Numbered<&'a str>,
    field_ids: IndexMap<&'static str, usize>,
    field_length: Numbered<[usize; FIELDS.len()]>,
    average_field_length: [f64; FIELDS.len()],
    stored_fields: Numbered<Stored<'a>>,
    dirt_count: usize,
    index: Vec<(String, Postings)>,
    serialization_version: usize,
}

fn index(data: &SearchData) -> Whole<'_> {
    let mut terms: BTreeMap<String, Postings> = BTreeMap::new();
    let mut average_field_length = [0.0_f64; FIELDS.len()];
    let mut lengths = Vec::new();
    for (number, document) in data.documents.iter().enumerate() {
        let mut row = [0; FIELDS.len()];
        for (field_number, (length, average)) in row.iter_mut().zip(&mut average_field_length).enumerate() {
            let mut words = tokens(field(document, field_number));
            words.sort();
            for word in &words {
                match terms.get_mut(word) {
                    Some(postings) => postings.count(field_number, number),
                    None => terms.entry(word.clone()).or_default().count(field_number, number),
                }
            }
            words.dedup();
            *length = words.len();
            // The running mean exactly as the library works it out.
            *average = (*average * number as f64 + words.len() as f64) / (number as f64 + 1.0);
        }
        lengths.push(row);
    }
    let documents = || data.documents.iter();
    Whole {
        document_count: data.documents.len(),
        next_id: data.documents.len(),
        document_ids: Numbered(documents().map(|d| &*d.id).collect()),
        field_ids: FIELDS.iter().copied().zip(0..).collect(),
        field_length: Numbered(lengths),
        average_field_length,
        stored_fields: Numbered(documents().map(|d| Stored { title: &d.title, on: d.on }).collect()),
        dirt_count: 0,
        index: terms.into_iter().collect(),
        serialization_version: 2,
    }
}

/// The index as JSON.
pub fn index_json(data: &SearchData) -> String {
    written(&index(data))
}

/// The index as a script.
pub fn search_index(data: &SearchData) -> String {
    #[derive(Serialize)]
    struct All<'a> {
        index: Whole<'a>,
        synonyms: &'a [Synonyms],
        vehicles: &'a [Vec<String>],
    }
    let all = All { index: index(data), synonyms: &data.synonyms, vehicles: &data.vehicles };
    format!("Ruleout.search.got({});\n", written(&all))
}

/// Only keys that are neither text nor numbers, or a map that fails, can't be written: there are none here.
fn written(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}
