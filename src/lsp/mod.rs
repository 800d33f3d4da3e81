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
            Ok(Incoming::Message(message)) => server.take(message),
            Ok(Incoming::Malformed(code, why)) => server.complain(code, &why).map(|()| None),
            Ok(Incoming::End) | Err(RecvTimeoutError::Disconnected) => Ok(Some(1)),
            Err(RecvTimeoutError::Timeout) => server.publish().map(|()| None),
        };
        match done {
            Ok(None) => {}
            Ok(Some(code)) => return code,
            Err(_) => return 1, // the editor went away
        }
    }
}
