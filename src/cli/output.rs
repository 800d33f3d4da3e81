//! Results on standard output, talk on standard error.
//!
//! In: finished text. Out: bytes on a stream, with nothing in them that a terminal obeys but colours. A reader that went away
//! (`| head`) ends the talk without a fault.

use std::cell::Cell;
use std::io::{ErrorKind, IsTerminal, Write};

use clap::ColorChoice;

use crate::report::{escape, spelt, tame};

/// The two streams and whether they take colour.
#[derive(Debug)]
pub struct Output {
    choice: ColorChoice,
    lost: Cell<bool>,
}

impl Output {
    /// Takes the user's choice.
    pub fn new(choice: ColorChoice) -> Self {
        Self { choice, lost: Cell::new(false) }
    }

    /// Whether standard output takes colour: asked for, or a terminal and `NO_COLOR` not set.
    pub fn colour(&self) -> bool {
        match self.choice {
            ColorChoice::Always => true,
            ColorChoice::Never => false,
            ColorChoice::Auto => {
                std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()) && std::io::stdout().is_terminal()
            }
        }
    }

    /// A result.
    pub fn result(&self, text: &str) {
        let mut out = std::io::stdout().lock();
        match out.write_all(tame(text, self.colour()).as_bytes()).and_then(|()| out.flush()) {
            Err(error) if error.kind() != ErrorKind::BrokenPipe && !self.lost.replace(true) => {
                self.fault(&format!("the result cannot be written: {error}"));
            }
            _ => {}
        }
    }

    /// Whether a result could not be written, on a full disk for one: whoever reads it next must not take it for whole.
    pub fn is_lost(&self) -> bool {
        self.lost.get()
    }

    /// A result that is JSON.
    pub fn json(&self, text: &str) {
        self.result(&spelt(text));
    }

    /// Talk.
    pub fn say(&self, text: &str) {
        let mut err = std::io::stderr().lock();
        let _ = writeln!(err, "{}", tame(text, self.colour()));
    }

    /// Why it could not run.
    pub fn fault(&self, message: &str) {
        self.say(&format!("ruleout: {}", escape(message)));
    }
}
