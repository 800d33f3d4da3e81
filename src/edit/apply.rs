//! Edits laid into a text.
//!
//! In: a text and edits by byte range. Out: the text with all of them, or the two that clash.

use crate::finding::Edit;

/// Two edits that want the same bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The first of them.
    pub first: Edit,
    /// The second.
    pub second: Edit,
}

/// Lays edits into a text. Their order does not matter; two at one empty place stand in the order given.
///
/// # Errors
/// Two edits overlap, or one lies outside the text: nothing is changed then.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, Clash> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|e| (e.span.start, e.span.end));
    let mut out = String::with_capacity(text.len() + 64);
    let mut at = 0;
    let mut last: Option<&Edit> = None;
    for edit in sorted {
        let (start, end) = (edit.span.start as usize, edit.span.end as usize);
        let clash = || Clash { first: last.unwrap_or(edit).clone(), second: edit.clone() };
        if start < at {
            return Err(clash());
        }
        let (Some(between), Some(_)) = (text.get(at..start), text.get(start..end)) else { return Err(clash()) };
        out.push_str(between);
        out.push_str(&edit.text);
        at = end;
        last = Some(edit);
    }
    out.push_str(text.get(at..).unwrap_or_default());
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{FileId, Span};

    fn edit(from: usize, to: usize, text: &str) -> Edit {
        Edit { span: Span::new(FileId(0), from, to), text: text.into() }
    }

    #[test]
    fn every_other_byte_stays() {
        let text = "a: 1\r\nb: µ # kept\n";
        assert_eq!(apply(text, &[edit(3, 4, "2"), edit(0, 0, "z: 0\n")]).unwrap(), "z: 0\na: 2\r\nb: µ # kept\n");
        assert!(apply(text, &[edit(0, 3, ""), edit(2, 4, "")]).is_err());
        assert!(apply(text, &[edit(9, 10, "")]).is_err(), "inside µ");
        assert!(apply(text, &[edit(0, 99, "")]).is_err());
    }
}
