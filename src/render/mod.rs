//! Plan to bytes: tera views, graph pictures, the search index. It decides nothing.
//!
//! In: [`Page`]s one at a time. Out: HTML, and the [assets](Assets) that all pages share.

mod assets;
mod filters;
mod layout;
mod offline;
mod parts;
mod picture;
mod search_index;
mod site;
mod words;

pub use assets::{Assets, Icon};
pub use offline::{Listing, digest, short_digest, worker};
pub use search_index::{index_json, search_index};
pub use site::{Procedures, Put, job_script, write_site};

use serde::Serialize;
use tera::{Context, Tera};

use crate::plan::{self, ABOUT, Body, Frame, Page};

const VIEWS: [(&str, &str); 6] = [
    (VEHICLES, include_str!("../../templates/vehicles.html")),
    (LISTS, include_str!("../../templates/lists.html")),
    ("base.html", include_str!("../../templates/base.html")),
    ("front.html", include_str!("../../templates/front.html")),
    ("procedure.html", include_str!("../../templates/procedure.html")),
    ("sheet.html", include_str!("../../templates/sheet.html")),
];

const VEHICLES: &str = "vehicles.html";
const LISTS: &str = "lists.html";

#[derive(Serialize)]
struct Vehicle<'a> {
    id: &'a str,
    title: &'a str,
}

/// What every page shows of the site.
#[derive(Serialize)]
struct Shared<'a> {
    title: &'a str,
    state: &'a str,
    about: &'a str,
    style: &'a str,
    start: &'a str,
    script: &'a str,
    job: &'a str,
    library: &'a str,
    index: &'a str,
    icon: &'a str,
    touch_icon: &'a str,
}

/// What the frame around a page shows of it.
#[derive(Serialize)]
struct Head<'a> {
    address: &'a str,
    title: &'a str,
    kind: Option<&'static str>,
    trail: &'a [plan::Link],
    on: Option<&'a str>,
}

impl<'a> Head<'a> {
    fn of(page: &'a Page) -> Self {
        Self { address: &page.address, title: &page.title, kind: page.kind, trail: &page.trail, on: page.on.as_deref() }
    }
}

/// The views for pages in folders of one depth.
struct Views {
    /// The way from such a page to the top of the site.
    root: &'static str,
    tera: Tera,
    /// What is the same on all of them, as HTML made once: the choice of vehicles, the links to the lists.
    vehicles: tera::Value,
    lists: tera::Value,
}

impl Views {
    fn new(root: &'static str, frame: &Frame<'_>) -> Result<Self, String> {
        let fault = |e: tera::Error| format!("the site's templates: {}", chain(&e));
        let mut tera = Tera::new();
        filters::register(&mut tera, root);
        tera.add_raw_templates(VIEWS.map(|(name, view)| (name, parts::put_in(view)))).map_err(fault)?;
        let vehicles = frame.base.vehicles.iter().filter(|(_, id, _)| !id.is_empty());
        let vehicles: Vec<_> = vehicles.map(|(_, id, v)| Vehicle { id, title: &v.title }).collect();
        let context = tera::context! { root, vehicles, lists => &plan::lists(frame) };
        let made = |name| tera.render(name, &context).map(|html| tera::Value::safe_string(&html)).map_err(fault);
        Ok(Self { root, vehicles: made(VEHICLES)?, lists: made(LISTS)?, tera })
    }
}

/// Turns pages into HTML.
pub struct Renderer {
    /// For pages at the top, and for those one folder down.
    views: [Views; 2],
    shared: tera::Value,
    feedback: Option<String>,
    title: String,
}

impl Renderer {
    /// Prepares the views.
    ///
    /// # Errors
    /// One sentence, where a view does not parse (a defect of this program).
    pub fn new(frame: &Frame<'_>, assets: &Assets) -> Result<Self, String> {
        let base = frame.base;
        let shared = Shared {
            title: &base.shop.title,
            state: &frame.state,
            about: ABOUT,
            style: &assets.style.0,
            start: &assets.start.0,
            script: &assets.script.0,
            job: &assets.job.0,
            library: &assets.library.0,
            index: &assets.index.0,
            icon: &assets.icons[0].address,
            touch_icon: &assets.icons[1].address,
        };
        Ok(Self {
            views: [Views::new("", frame)?, Views::new("../", frame)?],
            shared: tera::Value::from_serializable(&shared),
            feedback: base.shop.feedback.clone(),
            title: base.shop.title.clone(),
        })
    }

    /// The HTML of a page.
    ///
    /// # Errors
    /// One sentence, where a view asks for what the plan does not hold (a defect of this program).
    pub fn page(&self, page: &Page) -> Result<String, String> {
        let views = self.views.get(page.address.matches('/').count());
        let views = views.ok_or_else(|| format!("{}: a page of the site lies in one folder at most", page.address))?;
        let root = views.root;
        let mut context = Context::new();
        context.insert("feedback", &self.feedback(page, root));
        context.insert("root", root);
        context.insert_value("site", self.shared.clone());
        context.insert_value("vehicles", views.vehicles.clone());
        context.insert_value("lists", views.lists.clone());
        context.insert("page", &Head::of(page));
        let view = match &page.body {
            Body::Front(front) => {
                context.insert("front", front);
                "front.html"
            }
            Body::Procedure(procedure) => {
                context.insert("it", procedure);
                let picture = picture::svg(&procedure.picture, root, &page.title);
                context.insert_value("picture", tera::Value::safe_string(&picture));
                "procedure.html"
            }
            Body::Sheet(sheet) => {
                context.insert("sheet", sheet);
                "sheet.html"
            }
        };
        views.tera.render(view, &context).map_err(|e| format!("{}: {}", page.address, chain(&e)))
    }

    /// Where "something wrong on this page" leads: a letter that names the page, else the page about the base.
    fn feedback(&self, page: &Page, root: &str) -> String {
        match &self.feedback {
            Some(to) => format!(
                "mailto:{}?subject={}&body={}",
                escape_address(to, "@"),
                escape_address(&format!("{}: {}", self.title, page.title), ""),
                escape_address(&format!("Page: {}\nStep: \nWhat is wrong: ", page.address), "")
            ),
            None => format!("{root}{ABOUT}"),
        }
    }
}

/// An error with all that caused it.
fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        text.push_str(": ");
        text.push_str(&cause.to_string());
        source = cause.source();
    }
    text
}

/// Percent-encodes all but unreserved letters (RFC 3986, 2.3) and those of `keep`.
fn escape_address(text: &str, keep: &str) -> String {
    use std::fmt::Write as _;
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) || keep.as_bytes().contains(&byte) {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}
