//! The search index, in the serialised form of `MiniSearch` 7 (its `toJSON`, version 2), as a script.
//!
//! In: [`SearchData`]. Out: one call of the page's script with the index, the synonyms and the vehicles. A test shows that the
//! library itself builds the same index from the same documents.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::plan::{Document, SearchData};

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

/// Where a term stands: field, document, how often.
type Postings = BTreeMap<usize, BTreeMap<usize, u32>>;

/// The index as JSON.
pub fn index_json(data: &SearchData) -> Value {
    let mut terms: BTreeMap<String, Postings> = BTreeMap::new();
    let mut average = [0.0_f64; FIELDS.len()];
    let mut lengths = Map::new();
    let mut ids = Map::new();
    let mut stored = Map::new();
    for (number, document) in data.documents.iter().enumerate() {
        let mut row = Vec::new();
        for (field_number, average) in average.iter_mut().enumerate() {
            let mut words = tokens(field(document, field_number));
            for word in &words {
                let postings = terms.entry(word.clone()).or_default().entry(field_number).or_default();
                *postings.entry(number).or_default() += 1;
            }
            words.sort();
            words.dedup();
            row.push(words.len());
            // The running mean exactly as the library works it out.
            *average = (*average * number as f64 + words.len() as f64) / (number as f64 + 1.0);
        }
        lengths.insert(number.to_string(), json!(row));
        ids.insert(number.to_string(), json!(document.id));
        let mut kept = Map::new();
        kept.insert("title".into(), json!(document.title));
        if let Some(on) = document.on {
            kept.insert("on".into(), json!(on));
        }
        stored.insert(number.to_string(), Value::Object(kept));
    }
    let index: Vec<Value> = terms.iter().map(|(term, postings)| json!([term, numbered(postings)])).collect();
    let fields: Map<String, Value> = FIELDS.iter().zip(0..).map(|(f, n)| ((*f).to_owned(), json!(n))).collect();
    json!({
        "documentCount": data.documents.len(),
        "nextId": data.documents.len(),
        "documentIds": ids,
        "fieldIds": fields,
        "fieldLength": lengths,
        "averageFieldLength": average,
        "storedFields": stored,
        "dirtCount": 0,
        "index": index,
        "serializationVersion": 2
    })
}

fn numbered(postings: &Postings) -> Value {
    let fields = postings.iter().map(|(field, documents)| {
        let documents: Map<String, Value> = documents.iter().map(|(d, n)| (d.to_string(), json!(n))).collect();
        (field.to_string(), Value::Object(documents))
    });
    Value::Object(fields.collect())
}

/// The index as a script.
pub fn search_index(data: &SearchData) -> String {
    let all = json!({ "index": index_json(data), "synonyms": data.synonyms, "vehicles": data.vehicles });
    format!("Ruleout.search.got({all});\n")
}
