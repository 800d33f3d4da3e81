//! Long lists on pages of their own, so that no page grows with the base.
//!
//! In: a [`Page`]. Out: the page, each long list in it replaced by links to its parts, and the parts.

use super::page::{Block, Body, Link, Page, Sheet, Table};

/// Links or rows that one page holds at most of a list.
pub(super) const LONG: usize = 300;

/// The page and the parts of its long lists: `KIND/ID.part-N.html`.
pub fn split(mut page: Page) -> Vec<Page> {
    let mut parts = Vec::new();
    if let Body::Sheet(sheet) = &mut page.body {
        let blocks = std::mem::take(&mut sheet.blocks);
        for block in blocks {
            let pieces = pieces(&block);
            if pieces.len() < 2 {
                sheet.blocks.push(block);
                continue;
            }
            let heading = match &block {
                Block::Links { heading, .. } | Block::Table { heading, .. } => heading.clone(),
                _ => String::new(),
            };
            let mut links = Vec::new();
            for piece in pieces {
                let address = address(&page.address, parts.len() + 1);
                let name = format!("{} to {}", piece.first, piece.last);
                links.push(Link::to(&name, &address).more(piece.count.to_string()));
                let mut trail = page.trail.clone();
                trail.push(Link::to(&page.title, &page.address));
                parts.push(Page {
                    address,
                    title: format!("{}: {name}", page.title),
                    kind: None,
                    trail,
                    on: page.on.clone(),
                    body: Body::Sheet(Sheet { lead: None, blocks: vec![piece.block] }),
                });
            }
            sheet.blocks.push(Block::Links { heading, links });
        }
    }
    parts.insert(0, page);
    parts
}

struct Piece {
    first: String,
    last: String,
    count: usize,
    block: Block,
}

fn pieces(block: &Block) -> Vec<Piece> {
    let text = |links: Option<&[Link]>| links.and_then(<[Link]>::first).map_or(String::new(), |link| link.text.clone());
    match block {
        Block::Links { heading, links } if links.len() > LONG => even(links)
            .map(|links| Piece {
                first: text(Some(links)),
                last: links.last().map_or(String::new(), |link| link.text.clone()),
                count: links.len(),
                block: Block::Links { heading: heading.clone(), links: links.to_vec() },
            })
            .collect(),
        Block::Table { heading, table } if table.rows.len() > LONG => even(&table.rows)
            .map(|rows| Piece {
                first: text(rows.first().and_then(|row| row.cells.first()).map(Vec::as_slice)),
                last: text(rows.last().and_then(|row| row.cells.first()).map(Vec::as_slice)),
                count: rows.len(),
                block: Block::Table {
                    heading: heading.clone(),
                    table: Table { columns: table.columns.clone(), rows: rows.to_vec() },
                },
            })
            .collect(),
        _ => Vec::new(),
    }
}

/// As few chunks as may be, about equally long.
fn even<T>(all: &[T]) -> std::slice::Chunks<'_, T> {
    all.chunks(all.len().div_ceil(all.len().div_ceil(LONG)))
}

fn address(page: &str, part: usize) -> String {
    format!("{}.part-{part}.html", page.strip_suffix(".html").unwrap_or(page))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(count: usize) -> Page {
        let mut sheet = Sheet::default();
        sheet.note("first");
        sheet.links(
            "Procedures",
            (0..count).map(|n| Link::to(format!("P{n:05}"), format!("procedures/p{n}.html"))).collect(),
        );
        let body = Body::Sheet(sheet);
        Page { address: "vehicles/van.html".into(), title: "Van".into(), kind: None, trail: Vec::new(), on: None, body }
    }

    fn links(page: &Page) -> Vec<Link> {
        let Body::Sheet(sheet) = &page.body else { return Vec::new() };
        let all = sheet
            .blocks
            .iter()
            .filter_map(|b| if let Block::Links { links, .. } = b { Some(links.clone()) } else { None });
        all.flatten().collect()
    }

    #[test]
    fn a_short_list_stays_where_it_is() {
        let pages = split(page(LONG));
        assert_eq!(pages.len(), 1);
        assert_eq!(links(&pages[0]).len(), LONG);
    }

    #[test]
    fn every_link_of_a_long_list_is_on_one_part() {
        let pages = split(page(10_000));
        assert_eq!(pages[1].address, "vehicles/van.part-1.html");
        assert_eq!(pages[1].title, "Van: P00000 to P00294");
        let to: Vec<String> = links(&pages[0]).into_iter().filter_map(|link| link.to).collect();
        assert_eq!(to, pages[1..].iter().map(|page| page.address.clone()).collect::<Vec<_>>());
        assert_eq!(pages[1..].iter().flat_map(links).collect::<Vec<_>>(), links(&page(10_000)));
        assert!(pages.iter().all(|page| links(page).len() <= LONG));
    }
}
