//! The site in memory: each file is made when it is asked for.
//!
//! In: a base as it stands and an address. Out: the file's bytes, dressed for the author; nothing where the site has no such
//! file. A procedure that can't be shown any more is shown as it last could be, or by its findings alone.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::dress::{self, Dress, escape};
use super::placed::{FRONT, Placed};
use crate::graph::{self, Analysis, Bounds};
use crate::load::{self, Files};
use crate::model::{Ix, Procedure};
use crate::parse::svg;
use crate::pipeline::{Linted, read_procedure, rule_levels};
use crate::plan::{self, Body, Frame, Link, Page, PageKind, Sheet};
use crate::render::{self, Assets, Renderer, search_index};
use crate::site;

/// A file as it goes over the wire.
#[derive(Clone, Debug)]
pub struct Served {
    /// Its media type.
    pub kind: &'static str,
    /// Its bytes.
    pub bytes: Arc<[u8]>,
    /// What tells a page's content from another; empty for other files.
    pub digest: String,
    /// Whether the site has it (a page may be served in place of one that it has not).
    pub found: bool,
}

/// A procedure's page and the script of its job, as they were when they last could be made.
#[derive(Clone, Debug)]
pub struct Good {
    html: String,
    job: Option<String>,
}

/// Procedures as they last could be shown, by id.
pub type Kept = BTreeMap<String, Good>;

/// The site of one state of the base.
pub struct Pages<'a> {
    files: &'a dyn Files,
    linted: &'a Linted,
    frame: Frame<'a>,
    renderer: Renderer,
    assets: Assets,
    index: OnceCell<String>,
    others: OnceCell<BTreeMap<String, Vec<u8>>>,
    placed: Placed<'a>,
    dress: Dress<'a>,
}

/// Which state this is, and how it is to be shown.
#[derive(Clone, Copy, Debug)]
pub struct State<'a> {
    /// Counted from 1.
    pub generation: u64,
    /// How often a picture changed.
    pub pictures: u64,
    /// What stands before a file's path.
    pub prefix: &'a str,
}

impl<'a> Pages<'a> {
    /// Prepares what all pages share.
    ///
    /// # Errors
    /// One sentence, where a view does not parse (a defect of this program).
    pub fn new(files: &'a dyn Files, linted: &'a Linted, state: State<'a>) -> Result<Self, String> {
        let frame = Frame::new(&linted.tables.base, &linted.loaded.sources, &linted.digests, &linted.report, &[]);
        let mut assets = Assets::new(String::new());
        // The index is made when somebody searches; its name says nothing of its content, so no page changes with it.
        assets.index.0 = "assets/search.js".into();
        let renderer = Renderer::new(&frame, &assets)?;
        let dress = Dress {
            sources: &linted.loaded.sources,
            prefix: state.prefix,
            state: frame.state.clone(),
            generation: state.generation,
            pictures: state.pictures,
        };
        let placed = Placed::new(linted);
        Ok(Self {
            files,
            linted,
            frame,
            renderer,
            assets,
            index: OnceCell::new(),
            others: OnceCell::new(),
            placed,
            dress,
        })
    }

    /// The file at an address.
    pub fn get(&self, address: &str, kept: &mut Kept) -> Served {
        if let Some(served) = self.asset(address).or_else(|| self.figure(address)).or_else(|| self.job(address, kept)) {
            return served;
        }
        match self.page(address, kept) {
            Ok(Some((html, job))) => self.dressed(address, html, job.as_deref(), true),
            Ok(None) => self.other(address).unwrap_or_else(|| self.missing(address)),
            Err(fault) => self.dressed(address, format!("<h1>{}</h1>", escape(&fault)), None, false),
        }
    }

    /// Keeps a procedure's page as it is now, unless it is one that can't be shown.
    pub fn keep(&self, id: &str, kept: &mut Kept) {
        let now = self.sound(id).and_then(|procedure| self.procedure(&procedure).ok());
        if let Some((html, job)) = now {
            kept.insert(id.to_owned(), Good { html, job });
        }
    }

    fn asset(&self, address: &str) -> Option<Served> {
        if address == self.assets.index.0 {
            let text = self.index.get_or_init(|| search_index(&plan::search(&self.frame)));
            return Some(file(address, text.as_bytes()));
        }
        self.assets.files().find(|(name, _)| *name == address).map(|(_, bytes)| file(address, bytes))
    }

    fn figure(&self, address: &str) -> Option<Served> {
        self.linted.tables.base.figures.find(address.strip_prefix("figures/")?)?;
        let bytes = self.files.read(address).ok()?;
        match std::str::from_utf8(&bytes) {
            Ok(text) if load::is_svg(address) => Some(file(address, svg::clean(text).text.as_bytes())),
            _ => Some(file(address, &bytes)),
        }
    }

    fn job(&self, address: &str, kept: &Kept) -> Option<Served> {
        let name = address.rsplit('/').next()?;
        let id = name.split('.').next()?;
        if plan::job_address(id) != address {
            return None;
        }
        let script = match self.sound(id) {
            Some(procedure) => render::job_script(&plan::job(&self.frame, &self.analysis(&procedure))?).ok(),
            None => kept.get(id).and_then(|good| good.job.clone()),
        };
        script.map(|text| file(address, text.as_bytes()))
    }

    /// A page's HTML, and the script of its job.
    fn page(&self, wanted: &str, kept: &Kept) -> Result<Option<(String, Option<String>)>, String> {
        let frame = &self.frame;
        let alone = |page: Page| {
            let part = plan::split(page).into_iter().find(|part| part.address == wanted);
            part.map(|part| Ok((self.renderer.page(&part)?, None))).transpose()
        };
        // A part of a long list is planned with its page.
        let whole = wanted.split_once(".part-").map(|(stem, _)| format!("{stem}.html"));
        let address = whole.as_deref().unwrap_or(wanted);
        if address == FRONT {
            return alone(plan::front(frame));
        }
        if address == plan::ABOUT {
            return alone(plan::about(frame));
        }
        let Some(kind) = PageKind::ALL.into_iter().find(|k| address.split('/').next() == Some(k.folder())) else {
            return Ok(None);
        };
        if address == kind.list() {
            return alone(plan::list(frame, kind));
        }
        let Some(id) = address[kind.folder().len() + 1..].strip_suffix(".html") else { return Ok(None) };
        if kind == PageKind::Procedures {
            return match self.sound(id) {
                Some(procedure) => self.procedure(&procedure).map(Some),
                None if self.linted.tables.base.procedures.find(id).is_none() => Ok(None),
                None => match kept.get(id) {
                    Some(good) => Ok(Some((dress::as_it_was(&good.html), good.job.clone()))),
                    None => alone(Self::plain(
                        address,
                        id,
                        "This procedure can't be shown yet: its file has the errors above.",
                    )),
                },
            };
        }
        match self.row(kind, id).and_then(|at| plan::sheet(frame, kind, at)) {
            Some(page) => alone(page),
            None => Ok(None),
        }
    }

    /// What the site holds beside all that is made one by one here: made once, all but the procedures, when somebody asks.
    fn other(&self, address: &str) -> Option<Served> {
        let files = self.others.get_or_init(|| {
            let gathered = Mutex::new(BTreeMap::new());
            let put = |address: &str, bytes: &[u8]| {
                let mut gathered = gathered.lock().unwrap_or_else(PoisonError::into_inner);
                gathered.insert(address.to_owned(), bytes.to_vec());
                Ok(())
            };
            // A view that fails takes its own page away, and those after it.
            let _ = render::write_site(&self.frame, &|_| None, &put);
            gathered.into_inner().unwrap_or_else(PoisonError::into_inner)
        });
        let bytes = files.get(address)?;
        Some(match std::str::from_utf8(bytes) {
            Ok(html) if is_page(address) => self.dressed(address, html.to_owned(), None, true),
            _ => file(address, bytes),
        })
    }

    fn row(&self, kind: PageKind, id: &str) -> Option<usize> {
        let base = self.frame.base;
        match kind {
            PageKind::Procedures => None,
            PageKind::Codes => base.codes.find(id).map(Ix::raw),
            PageKind::Specs => base.specs.find(id).map(Ix::raw),
            PageKind::Systems => base.systems.find(id).map(Ix::raw),
            PageKind::Checks => base.checks.find(id).map(Ix::raw),
            PageKind::Repairs => base.repairs.find(id).map(Ix::raw),
            PageKind::Equipment => base.equipment.find(id).map(Ix::raw),
            PageKind::Vehicles => base.vehicles.find(id).map(Ix::raw),
            PageKind::Setups => base.setups.find(id).map(Ix::raw),
            PageKind::Hazards => base.hazards.find(id).map(Ix::raw),
            PageKind::Terms => base.terms.find(id).map(Ix::raw),
            PageKind::Writing => plan::CHAPTERS.iter().position(|chapter| chapter.id == id),
            PageKind::Rules => crate::check::RULES.iter().position(|rule| rule.name == id),
        }
    }

    /// A procedure whose names all resolve.
    fn sound(&self, id: &str) -> Option<Procedure> {
        let Linted { loaded, tables, .. } = self.linted;
        let ix = tables.base.procedures.find(id)?;
        read_procedure(loaded, tables, &rule_levels(), ix).procedure.filter(|p| p.sound)
    }

    fn analysis<'p>(&'p self, procedure: &'p Procedure) -> Analysis<'p> {
        graph::analyse(self.frame.base, procedure, Bounds::default())
    }

    fn procedure(&self, procedure: &Procedure) -> Result<(String, Option<String>), String> {
        let extras = site::extras(self.files, procedure);
        let analysis = self.analysis(procedure);
        let html = self.renderer.page(&plan::procedure(&self.frame, &analysis, &extras))?;
        let job = plan::job(&self.frame, &analysis).map(|job| render::job_script(&job)).transpose()?;
        Ok((html, job))
    }

    /// A page of ours with one sentence.
    fn plain(address: &str, title: &str, sentence: &str) -> Page {
        let mut sheet = Sheet::default();
        sheet.note(sentence);
        let trail = vec![Link::to(PageKind::Procedures.many(), PageKind::Procedures.list())];
        Page { address: address.into(), title: title.into(), kind: None, trail, on: None, body: Body::Sheet(sheet) }
    }

    fn missing(&self, address: &str) -> Served {
        if !is_page(address) {
            let text: &[u8] = b"there is no such file in the site\n";
            return Served {
                kind: "text/plain; charset=utf-8",
                bytes: text.into(),
                digest: String::new(),
                found: false,
            };
        }
        let page = Self::plain(
            address,
            "No such page",
            "The knowledge base has no such page. It may have another name by now.",
        );
        match self.renderer.page(&page) {
            Ok(html) => self.dressed(address, html, None, false),
            Err(fault) => self.dressed(address, format!("<h1>{}</h1>", escape(&fault)), None, false),
        }
    }

    fn dressed(&self, address: &str, mut html: String, job: Option<&str>, found: bool) -> Served {
        self.dress.findings(&mut html, self.placed.on(address));
        if address == FRONT {
            self.dress.list(&mut html, &self.placed);
        }
        let digest = self.dress.digest(&html, job.unwrap_or_default());
        self.dress.finish(&mut html, &digest);
        Served { kind: media(address), bytes: html.into_bytes().into(), digest, found }
    }
}

fn file(address: &str, bytes: &[u8]) -> Served {
    Served { kind: media(address), bytes: bytes.into(), digest: String::new(), found: true }
}

fn is_page(address: &str) -> bool {
    media(address).starts_with("text/html")
}

/// The media type of a file by its ending.
pub fn media(address: &str) -> &'static str {
    let ending = address.rsplit_once('.').map_or("", |(_, ending)| ending).to_ascii_lowercase();
    match ending.as_str() {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "gif" => "image/gif",
        "webp" => "image/webp",
        "avif" => "image/avif",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
