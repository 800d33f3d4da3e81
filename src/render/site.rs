//! The whole site, page by page.
//!
//! In: the frame, and a way to get one procedure at a time. Out: every file of the site, handed on one by one, in any order and
//! from several threads; what is in a file does not depend on either.

use rayon::prelude::*;

use super::offline::{MANIFEST, manifest};
use super::{Assets, Renderer, search_index};
use crate::graph;
use crate::model::Procedure;
use crate::plan::{self, Extras, Frame, Page, PageKind};

/// Gives one procedure at a time, by its place in the frame's digests.
pub type Procedures<'a> = dyn Fn(usize) -> Option<(Procedure, Extras)> + Sync + 'a;

/// Takes a file: its address and its bytes.
pub type Put<'a> = dyn Fn(&str, &[u8]) -> Result<(), String> + Sync + 'a;

/// Makes every file of the site but the pictures of authors, and hands each to `put` with its address.
///
/// # Errors
/// One sentence: what `put` said, or a defect of a view.
pub fn write_site(frame: &Frame<'_>, procedures: &Procedures<'_>, put: &Put<'_>) -> Result<(), String> {
    let assets = Assets::new(search_index(&plan::search(frame)));
    for (address, bytes) in assets.files() {
        put(address, bytes)?;
    }
    put(MANIFEST, manifest(&frame.base.shop.title, &assets).as_bytes())?;
    let renderer = Renderer::new(frame, &assets)?;
    let page =
        |page: Page| plan::split(page).iter().try_for_each(|part| put(&part.address, renderer.page(part)?.as_bytes()));
    page(plan::front(frame))?;
    page(plan::about(frame))?;
    PageKind::ALL.into_par_iter().try_for_each(|kind| {
        page(plan::list(frame, kind))?;
        (0..plan::count(frame, kind)).into_par_iter().try_for_each(|at| match kind {
            PageKind::Procedures => match procedures(at) {
                Some((procedure, extras)) => {
                    let analysis = graph::analyse(frame.base, &procedure, graph::Bounds::default());
                    if let Some(job) = plan::job(frame, &analysis) {
                        put(&plan::job_address(&procedure.id), job_script(&job)?.as_bytes())?;
                    }
                    page(plan::procedure(frame, &analysis, &extras))
                }
                None => Ok(()),
            },
            _ => plan::sheet(frame, kind, at).map_or(Ok(()), &page),
        })
    })
}

/// The script that hands a procedure to the page.
///
/// # Errors
/// One sentence, where it can't be put into words (a defect of this program).
pub fn job_script(job: &plan::JobData) -> Result<String, String> {
    let json = serde_json::to_string(job).map_err(|e| format!("the job of `{}`: {e}", job.id))?;
    Ok(format!("Ruleout.job.got({json});\n"))
}
