//! Every decision a reader sees, as plain data: pages, addresses, order, links, words, index entries.
//!
//! In: the base, a digest of every procedure, and one procedure at a time. Out: [`Page`]s, one by one, and [`SearchData`].
//! [`Frame`] is all that pages share; no stage holds the whole site.

mod address;
mod frame;
mod job;
mod job_data;
mod job_repair;
mod limits;
mod lists;
mod odds;
mod order;
mod page;
mod picture;
mod procedure;
mod procedure_page;
mod search;
mod sheets;
mod split;
mod step;
mod ways;
mod words;

pub use address::PageKind;
pub use frame::Frame;
pub use job::{job, job_address};
pub use job_data::JobData;
pub use lists::{ABOUT, about, front, list, lists};
pub use order::OrderView;
pub use page::{Block, Body, Caution, Fact, Front, Link, Page, Row, Sheet, Shelf, Table, Target, Words};
pub use picture::{Edge, Node, Picture, Shape};
pub use procedure::{Extras, page as procedure};
pub use procedure_page::{CauseRow, FigureView, ProcedurePage, ResultRow, SectionView, StepView, WayView};
pub use search::{Document, SearchData, Synonyms, search};
pub use sheets::{CHAPTERS, Chapter, count, page as sheet};
pub use split::split;
pub use words::destination;

/// Bytes as lower-case hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}
