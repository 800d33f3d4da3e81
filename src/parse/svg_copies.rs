//! How much a drawing draws by reference.
//!
//! In: its elements as they begin and end, with the names that they have and refer to. Out: how many copies come of it. Ten uses of ten
//! uses, ten deep, are a kilobyte, and no browser comes to their end.

use std::collections::HashMap;

/// The most copies that a drawing may come to.
pub const MOST: u64 = 100_000;

/// The elements so far.
#[derive(Default)]
pub struct Copies {
    /// Parts by the name that refers to them.
    named: HashMap<String, usize>,
    parts: Vec<Part>,
    /// The part that each open element belongs to.
    open: Vec<usize>,
}

/// An element with a name and all below it, down to the next that has one.
#[derive(Default)]
struct Part {
    elements: u64,
    inner: Vec<usize>,
    refers: Vec<String>,
}

impl Copies {
    /// An element begins.
    pub fn enter(&mut self, name: Option<String>, refers: Vec<String>) {
        let within = self.open.last().copied();
        let part = match (within, name) {
            (Some(part), None) => part,
            (within, name) => {
                let part = self.parts.len();
                self.parts.push(Part::default());
                if let Some(within) = within {
                    self.parts[within].inner.push(part);
                }
                if let Some(name) = name {
                    self.named.entry(name).or_insert(part);
                }
                part
            }
        };
        self.parts[part].elements += 1;
        self.parts[part].refers.extend(refers);
        self.open.push(part);
    }

    /// It ends.
    pub fn leave(&mut self) {
        self.open.pop();
    }

    /// How many elements are drawn beyond those that stand there.
    pub fn count(&self) -> u64 {
        let mut drawn: Vec<Option<u64>> = vec![None; self.parts.len()];
        let mut begun = vec![false; self.parts.len()];
        let below = |part: usize| {
            let named = self.parts[part].refers.iter().filter_map(|name| self.named.get(name));
            self.parts[part].inner.iter().chain(named).copied()
        };
        // No call within a call: elements may be nested as deep as the file is long.
        let mut stack: Vec<usize> = if self.parts.is_empty() { Vec::new() } else { vec![0] };
        while let Some(part) = stack.last().copied() {
            if begun[part] {
                stack.pop();
                // What refers to itself is drawn once.
                let sum = below(part).filter_map(|p| drawn[p]).fold(self.parts[part].elements, u64::saturating_add);
                drawn[part].get_or_insert(sum);
            } else {
                begun[part] = true;
                stack.extend(below(part).filter(|p| !begun[*p]));
            }
        }
        let standing: u64 = self.parts.iter().map(|part| part.elements).sum();
        drawn.first().copied().flatten().unwrap_or(0).saturating_sub(standing)
    }
}

/// The names that a value refers to as `url(#NAME)`.
pub fn urls(value: &str) -> Vec<String> {
    let plain = value.to_ascii_lowercase();
    let starts = plain.match_indices("url(").map(|(at, found)| at + found.len());
    let name = |at: usize| {
        let rest = value.get(at..)?.trim_start_matches(|c: char| c.is_whitespace() || c == '\'' || c == '"');
        rest.strip_prefix('#')?.split(|c: char| c.is_whitespace() || ")'\"".contains(c)).next().map(str::to_owned)
    };
    starts.filter_map(name).collect()
}
