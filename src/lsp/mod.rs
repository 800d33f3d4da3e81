//! The language server.
//!
//! In: messages of LSP 3.17 on a pipe, files of the base on disk. Out: messages. Nothing imports it but its command.
//!
//! [`wire`] frames messages, [`server`] holds the talk, [`desk`] the base with its open buffers. What the editor asks is
//! answered from syntax ([`tree`], [`pieces`], [`uses`]), so that it works while a file is broken, and from the base as it
//! was last judged.

mod abilities;
mod actions;
mod changes;
mod complete;
mod desk;
mod diagnostics;
mod hover;
mod jump;
mod names;
mod outline;
mod pages;
mod pieces;
mod place;
mod rename;
mod requests;
mod server;
mod tree;
mod uses;
mod wire;

use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::sync::mpsc::{self, RecvTimeoutError};

use server::Server;
use wire::Incoming;

/// Talks until the editor ends it. The exit code: 0 after `shutdown` and `exit`, else 1.
pub fn run(from: impl BufRead + Send + 'static, to: impl Write, base: Option<PathBuf>) -> u8 {
    let (sender, receiver) = mpsc::sync_channel(64);
    std::thread::spawn(move || {
        let mut from = from;
        loop {
            let incoming = wire::read(&mut from);
            let ends = matches!(incoming, Incoming::End);
            if sender.send(incoming).is_err() || ends {
                return;
            }
        }
    });
    let mut server = Server::new(to, base);
    loop {
        let next = if server.is_waiting() {
            receiver.recv_timeout(server.pause())
        } else {
            receiver.recv().map_err(|_| RecvTimeoutError::Disconnected)
        };
        let done = match next {
            Ok(incoming) => take(&mut server, incoming),
            Err(RecvTimeoutError::Disconnected) => Ok(Some(1)),
            Err(RecvTimeoutError::Timeout) => server.publish().map(|()| None),
        };
        match done {
            Ok(None) => {}
            Ok(Some(code)) => return code,
            Err(_) => return 1, // the editor went away
        }
    }
}

/// Talks with an editor whose silence is not a matter of time: after each message `is_silent` says whether what waits is
/// judged and told before the next message is read. The exit code as of [`run`].
pub fn replay(
    mut from: impl BufRead,
    to: impl Write,
    base: Option<PathBuf>,
    mut is_silent: impl FnMut() -> bool,
) -> u8 {
    let mut server = Server::new(to, base);
    loop {
        let mut done = take(&mut server, wire::read(&mut from));
        if matches!(done, Ok(None)) && is_silent() && server.is_waiting() {
            done = server.publish().map(|()| None);
            while matches!(done, Ok(None)) && server.pause().is_zero() {
                done = server.publish().map(|()| None);
            }
        }
        match done {
            Ok(None) => {}
            Ok(Some(code)) => return code,
            Err(_) => return 1,
        }
    }
}

/// Takes what came in. The exit code, where it ends the talk.
fn take<W: Write>(server: &mut Server<W>, incoming: Incoming) -> std::io::Result<Option<u8>> {
    match incoming {
        Incoming::Message(message) => server.take(message),
        Incoming::Malformed(code, why) => server.complain(code, &why).map(|()| None),
        Incoming::End => Ok(Some(1)),
    }
}
