//! A knowledge base in memory, alone or laid over another.
//!
//! In: paths and bytes. Out: a [`Files`] for tests, for old revisions, and for an editor's open buffers.

use std::collections::BTreeMap;

use super::{Files, Refusal};

/// Files in a map.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    files: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    /// Adds or replaces a file.
    pub fn set(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        self.files.insert(path.into(), bytes.into());
    }

    /// Takes a file out.
    pub fn remove(&mut self, path: &str) {
        self.files.remove(path);
    }

    /// The bytes of a file.
    pub fn get(&self, path: &str) -> Option<&[u8]> {
        self.files.get(path).map(Vec::as_slice)
    }
}

impl<P: Into<String>, B: Into<Vec<u8>>> FromIterator<(P, B)> for Memory {
    fn from_iter<I: IntoIterator<Item = (P, B)>>(iter: I) -> Self {
        Self { files: iter.into_iter().map(|(p, b)| (p.into(), b.into())).collect() }
    }
}

impl Files for Memory {
    fn list(&self) -> Result<Vec<String>, String> {
        Ok(self.files.keys().cloned().collect())
    }

    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal> {
        self.files.get(path).cloned().ok_or_else(|| Refusal::new("the file cannot be read: it is gone", "give it back"))
    }
}

/// Buffers laid over another base: a buffer wins over the file of its path.
pub struct Overlay<'a> {
    /// What lies on top.
    pub buffers: &'a Memory,
    /// What lies below.
    pub below: &'a dyn Files,
}

impl Files for Overlay<'_> {
    fn list(&self) -> Result<Vec<String>, String> {
        let mut paths: std::collections::BTreeSet<String> = self.below.list()?.into_iter().collect();
        paths.extend(self.buffers.list()?);
        Ok(paths.into_iter().collect())
    }

    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal> {
        match self.buffers.get(path) {
            Some(bytes) => Ok(bytes.to_vec()),
            None => self.below.read(path),
        }
    }
}
