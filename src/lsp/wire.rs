//! Messages on a pair of pipes, as the base protocol of LSP 3.17 frames them.
//!
//! In: bytes. Out: [`Incoming`]; a message that can't be read is told to the sender and the next one is read. Bytes that
//! are no frame at all end the talk: where the next message begins can't be known.

use std::io::{BufRead, Read, Write};

use lsp_server::{ErrorCode, Message};
use serde_json::{Value, json};

/// The longest message that is read, in bytes: a file has at most 8 MiB, written with escapes.
const LONGEST: usize = 64 * 1024 * 1024;
/// The longest line of a header.
const LONGEST_LINE: u64 = 4096;

/// What came in.
pub enum Incoming {
    /// A message.
    Message(Message),
    /// One that can't be read: an error code of JSON-RPC and a sentence.
    Malformed(ErrorCode, String),
    /// Nothing more comes: the other side closed the pipe, or sends no frames.
    End,
}

/// Reads the next message.
pub fn read(from: &mut impl BufRead) -> Incoming {
    let Some(length) = header(from) else { return Incoming::End };
    if length > LONGEST {
        return Incoming::End;
    }
    let mut bytes = Vec::new();
    match from.by_ref().take(length as u64).read_to_end(&mut bytes) {
        Ok(read) if read == length => {}
        _ => return Incoming::End,
    }
    let value: Value = match serde_json::from_slice(&bytes) {
        Ok(value) => value,
        Err(why) => return Incoming::Malformed(ErrorCode::ParseError, format!("this is no JSON: {why}")),
    };
    match serde_json::from_value(value) {
        Ok(message) => Incoming::Message(message),
        Err(_) => {
            Incoming::Malformed(ErrorCode::InvalidRequest, "expected a request, a response or a notification".into())
        }
    }
}

/// Reads the lines of a header; gives the length of what follows.
fn header(from: &mut impl BufRead) -> Option<usize> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        from.by_ref().take(LONGEST_LINE).read_until(b'\n', &mut line).ok()?;
        let line = std::str::from_utf8(&line).ok()?.strip_suffix('\n')?.trim_end_matches('\r');
        if line.is_empty() {
            return length;
        }
        let (name, value) = line.split_once(':')?;
        if name.eq_ignore_ascii_case("content-length") {
            length = Some(value.trim().parse().ok()?);
        }
    }
}

/// Writes a message.
///
/// # Errors
/// The other side went away.
pub fn write(to: &mut impl Write, message: &Message) -> std::io::Result<()> {
    message.write(to)
}

/// Tells the sender of an unreadable message: its id is not known.
///
/// # Errors
/// The other side went away.
pub fn complain(to: &mut impl Write, code: ErrorCode, message: &str) -> std::io::Result<()> {
    let text = json!({"jsonrpc": "2.0", "id": null, "error": {"code": code as i32, "message": message}}).to_string();
    write!(to, "Content-Length: {}\r\n\r\n{text}", text.len())?;
    to.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &str) -> Vec<&'static str> {
        let mut from = std::io::BufReader::new(bytes.as_bytes());
        let mut seen = Vec::new();
        loop {
            seen.push(match read(&mut from) {
                Incoming::Message(Message::Request(_)) => "request",
                Incoming::Message(_) => "message",
                Incoming::Malformed(ErrorCode::ParseError, _) => "no json",
                Incoming::Malformed(..) => "no message",
                Incoming::End => return seen,
            });
        }
    }

    #[test]
    fn what_is_no_message_is_passed_over() {
        let frames = "Content-Length: 3\r\n\r\n{] content-length:2\r\nX: y\r\n\r\n[]Content-Length: 29\r\n\r\n{\"id\":1,\"method\":\"shutdown\" }";
        assert_eq!(
            all(&frames.replacen("{] ", "{]", 1).replacen(": 3", ": 2", 1)),
            ["no json", "no message", "request"]
        );
        for broken in [
            "",
            "hello\n\n",
            "Content-Length: 99\r\n\r\n{}",
            "Content-Length: 99999999999999\r\n\r\n{}",
            "\r\n",
            "Content-Length: -1\r\n\r\n",
        ] {
            assert!(all(broken).is_empty(), "{broken:?}");
        }
    }
}
