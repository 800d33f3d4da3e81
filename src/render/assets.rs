//! Files that all pages share.
//!
//! In: the style sheet and scripts of `templates/`, and the search index. Out: [`Assets`]: each with a digest in its name.

use sha2::{Digest as _, Sha256};

use crate::plan::hex;

/// A file: its address and its text.
pub type Asset = (String, String);

/// Files that all pages share.
pub struct Assets {
    /// The style sheet.
    pub style: Asset,
    /// The script that runs before the page is drawn.
    pub start: Asset,
    /// The page's scripts, one after the other.
    pub script: Asset,
    /// The scripts of a procedure's page: working a job.
    pub job: Asset,
    /// The search library.
    pub library: Asset,
    /// The search index.
    pub index: Asset,
}

impl Assets {
    /// The assets of a site with this search index.
    pub fn new(index: String) -> Self {
        let script = [
            include_str!("../../templates/scripts/vehicle.js"),
            include_str!("../../templates/scripts/feedback.js"),
            include_str!("../../templates/scripts/picture.js"),
            include_str!("../../templates/scripts/search-words.js"),
            include_str!("../../templates/scripts/search.js"),
            include_str!("../../templates/scripts/job-time.js"),
            include_str!("../../templates/scripts/job-store.js"),
            include_str!("../../templates/scripts/job-open.js"),
        ]
        .concat();
        let job = [
            include_str!("../../templates/scripts/job-numbers.js"),
            include_str!("../../templates/scripts/job-engine.js"),
            include_str!("../../templates/scripts/job-account.js"),
            include_str!("../../templates/scripts/job-element.js"),
            include_str!("../../templates/scripts/job-reading.js"),
            include_str!("../../templates/scripts/job-beside.js"),
            include_str!("../../templates/scripts/job-step.js"),
            include_str!("../../templates/scripts/job-lists.js"),
            include_str!("../../templates/scripts/job-ending.js"),
            include_str!("../../templates/scripts/job-view.js"),
        ]
        .concat();
        Self {
            style: named(
                "style",
                "css",
                [include_str!("../../templates/style.css"), include_str!("../../templates/job.css")].concat(),
            ),
            start: named("start", "js", include_str!("../../templates/scripts/start.js").to_owned()),
            script: named("site", "js", script),
            job: named("job", "js", job),
            library: named("minisearch", "js", include_str!("../../templates/vendor/minisearch.min.js").to_owned()),
            index: named("search", "js", index),
        }
    }

    /// Every file, and the licence of what others wrote.
    pub fn files(&self) -> impl Iterator<Item = (&str, &str)> {
        let licence = ("assets/minisearch.LICENSE.txt", include_str!("../../templates/vendor/minisearch.LICENSE.txt"));
        [&self.style, &self.start, &self.script, &self.job, &self.library, &self.index]
            .into_iter()
            .map(|(name, text)| (name.as_str(), text.as_str()))
            .chain([licence])
    }
}

fn named(name: &str, ending: &str, text: String) -> Asset {
    let digest = hex(&Sha256::digest(text.as_bytes())[..5]);
    (format!("assets/{name}.{digest}.{ending}"), text)
}
