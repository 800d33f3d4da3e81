//! Files that all pages share.
//!
//! In: the style sheet and scripts of `templates/`, and the search index. Out: [`Assets`]: each with a digest in its name.

use sha2::{Digest as _, Sha256};

use crate::plan::hex;

/// A file: its address and its text.
pub type Asset = (String, String);

/// A picture of the site itself, for the browser's list of what is installed.
pub struct Icon {
    /// Its address.
    pub address: String,
    /// Its bytes.
    pub bytes: &'static [u8],
    /// Its media type.
    pub kind: &'static str,
    /// Its sizes, as the manifest names them.
    pub sizes: &'static str,
}

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
    /// The site's own picture: as a drawing, then as points.
    pub icons: [Icon; 3],
}

impl Assets {
    /// The assets of a site with this search index.
    pub fn new(index: String) -> Self {
        let script = [
            include_str!("../../templates/scripts/vehicle.js"),
            include_str!("../../templates/scripts/feedback.js"),
            include_str!("../../templates/scripts/picture.js"),
            include_str!("../../templates/scripts/offline.js"),
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
            include_str!("../../templates/scripts/job-frame.js"),
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
            icons: [
                icon("image/svg+xml", "any", "svg", include_bytes!("../../templates/icons/icon.svg")),
                icon("image/png", "192x192", "png", include_bytes!("../../templates/icons/icon-192.png")),
                icon("image/png", "512x512", "png", include_bytes!("../../templates/icons/icon-512.png")),
            ],
        }
    }

    /// Every file, and the licence of what others wrote.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        let licence = ("assets/minisearch.LICENSE.txt", include_str!("../../templates/vendor/minisearch.LICENSE.txt"));
        [&self.style, &self.start, &self.script, &self.job, &self.library, &self.index]
            .into_iter()
            .map(|(name, text)| (name.as_str(), text.as_str()))
            .chain([licence])
            .map(|(name, text)| (name, text.as_bytes()))
            .chain(self.icons.iter().map(|icon| (icon.address.as_str(), icon.bytes)))
    }
}

fn icon(kind: &'static str, sizes: &'static str, ending: &str, bytes: &'static [u8]) -> Icon {
    let digest = hex(&Sha256::digest(bytes)[..5]);
    Icon { address: format!("assets/icon.{digest}.{ending}"), bytes, kind, sizes }
}

fn named(name: &str, ending: &str, text: String) -> Asset {
    let digest = hex(&Sha256::digest(text.as_bytes())[..5]);
    (format!("assets/{name}.{digest}.{ending}"), text)
}
