//! From a base that was judged to the finished site on disk.
//!
//! In: the files of a base and what [`lint`](crate::lint) made of them. Out: the site, replaced whole. Procedures are read again one
//! by one, so that no more than a few are held at any time.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use crate::emit::{self, Written};
use crate::load::{self, Files};
use crate::model::{Ix, Procedure};
use crate::parse::svg;
use crate::pipeline::{Linted, read_procedure, rule_levels};
use crate::plan::{Extras, Frame};
use crate::render;

/// Makes every file of the site and hands each to `put` with its address, in any order and from several threads.
///
/// # Errors
/// One sentence: what `put` said, or a picture that can no longer be read.
pub fn make(files: &dyn Files, linted: &Linted, put: &render::Put<'_>) -> Result<(), String> {
    let listing = Mutex::new(render::Listing::new());
    make_listed(files, linted, &|address, bytes| {
        let digest = render::digest(bytes);
        listing.lock().unwrap_or_else(PoisonError::into_inner).insert(address.to_owned(), digest);
        put(address, bytes)
    })?;
    make_worker(&listing.into_inner().unwrap_or_else(PoisonError::into_inner), put)
}

/// What keeps the other files on a device.
fn make_worker(listing: &render::Listing, put: &render::Put<'_>) -> Result<(), String> {
    render::worker(listing)?.iter().try_for_each(|(address, text)| put(address, text.as_bytes()))
}

/// Every file but what keeps the others on a device.
fn make_listed(files: &dyn Files, linted: &Linted, put: &render::Put<'_>) -> Result<(), String> {
    let pictures = pictures(files, linted)?;
    let frame = Frame::new(&linted.tables.base, &linted.loaded.sources, &linted.digests, &linted.report, &pictures);
    let mut titles = BTreeMap::new();
    for name in linted.tables.base.figures.ids() {
        let path = format!("figures/{name}");
        match linted.loaded.sources.find(&path).map(|id| linted.loaded.sources.file(id).text()) {
            Some(text) if load::is_svg(name) => {
                let drawing = svg::clean(text).text;
                titles.extend(svg_title(&drawing).map(|title| (name.to_owned(), title)));
                put(&path, drawing.as_bytes())?;
            }
            _ => put(&path, &files.read(&path).map_err(|refusal| format!("{path}: {}", refusal.message))?)?,
        }
    }
    let rules = rule_levels();
    let procedure = |at: usize| {
        let ix = linted.digests.get(at)?.ix.unwrap_or(Ix::new(at));
        let procedure = read_procedure(&linted.loaded, &linted.tables, &rules, ix).procedure?;
        let figure_titles = procedure
            .steps
            .iter()
            .filter_map(|(_, _, step)| step.shared.figure.as_ref())
            .filter_map(|name| Some((name.value.clone(), titles.get(&name.value)?.clone())))
            .collect();
        Some((procedure, Extras { figure_titles }))
    };
    render::write_site(&frame, &procedure, put)
}

/// A digest of each picture that is no text, in order: the state that each page names covers them too.
fn pictures(files: &dyn Files, linted: &Linted) -> Result<Vec<u8>, String> {
    let mut all = Vec::new();
    for name in linted.tables.base.figures.ids() {
        if !load::is_svg(name) {
            let path = format!("figures/{name}");
            let bytes = files.read(&path).map_err(|refusal| format!("{path}: {}", refusal.message))?;
            all.extend_from_slice(path.as_bytes());
            all.extend_from_slice(render::digest(&bytes).as_bytes());
        }
    }
    Ok(all)
}

/// What the page of one procedure needs beside it, read for it alone.
pub fn extras(files: &dyn Files, procedure: &Procedure) -> Extras {
    let named = procedure.steps.iter().filter_map(|(_, _, step)| step.shared.figure.as_ref());
    let title = |name: &str| svg_title(std::str::from_utf8(&files.read(&format!("figures/{name}")).ok()?).ok()?);
    let figure_titles = named.filter_map(|name| Some((name.value.clone(), title(&name.value)?))).collect();
    Extras { figure_titles }
}

/// Replaces the folder `out` by the site.
///
/// # Errors
/// One sentence; the old site is then as it was.
pub fn write(files: &dyn Files, linted: &Linted, out: &Path) -> Result<Written, String> {
    emit::replace_site(out, |tree| {
        let put = |address: &str, bytes: &[u8]| tree.put(address, bytes);
        make_listed(files, linted, &put)?;
        let listing = tree.digests().into_iter().map(|(address, whole)| (address, render::short_digest(&whole)));
        make_worker(&listing.collect(), &put)
    })
}

/// The `<title>` of an SVG picture.
fn svg_title(text: &str) -> Option<String> {
    let (_, rest) = text.split_once("<title")?;
    let (_, rest) = rest.split_once('>')?;
    let (title, _) = rest.split_once("</title>")?;
    let plain = title
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&apos;", "'")
        .replace("&amp;", "&");
    let words = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    (!words.is_empty()).then_some(words)
}
