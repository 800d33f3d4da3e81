//! What lets a browser keep the site: the manifest, and the worker with the list of every file.
//!
//! In: the base's title; the address and digest of every file. Out: their texts, which depend on nothing else.

use std::collections::BTreeMap;

use serde_json::json;
use sha2::{Digest as _, Sha256};

use super::assets::Assets;
use crate::plan::hex;

/// Where the manifest is.
pub const MANIFEST: &str = "manifest.webmanifest";
/// Where the worker is: at the site's top, since it answers for what is beside and below it.
pub const WORKER: &str = "sw.js";

/// Every file's address, and the first 64 bits of its SHA-256 as hexadecimal digits.
pub type Listing = BTreeMap<String, String>;

/// The digest of a file as a [`Listing`] holds it.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes)[..8])
}

/// The same, from the whole SHA-256 in hexadecimal digits.
pub fn short_digest(whole: &str) -> String {
    whole.chars().take(16).collect()
}

/// The manifest (W3C Web Application Manifest), with addresses from the site's top.
pub(super) fn manifest(title: &str, assets: &Assets) -> String {
    let icon = |kind: &str, sizes: &str, address: &str| json!({"src": address, "sizes": sizes, "type": kind});
    let icons: Vec<_> =
        assets.icons.iter().map(|icon_file| icon(icon_file.kind, icon_file.sizes, &icon_file.address)).collect();
    let all = json!({
        "name": title,
        "short_name": title,
        "id": "./",
        "start_url": "index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fbfaf6",
        "theme_color": "#22323a",
        "icons": icons,
    });
    format!("{all:#}\n")
}

/// The worker and its list of files: two files more. The list's name changes with any file, and the worker with that name.
///
/// # Errors
/// One sentence, where the list cannot be written as JSON (a defect of this program).
pub fn worker(files: &Listing) -> Result<[(String, String); 2], String> {
    let list = serde_json::to_string(files).map_err(|e| format!("the list of files: {e}"))?;
    let address = format!("assets/files.{}.json", &digest(list.as_bytes())[..10]);
    let script = include_str!("../../templates/worker.js").replace("{{list}}", &address);
    Ok([(address, list), (WORKER.to_owned(), script)])
}
