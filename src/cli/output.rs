//! Results on standard output, talk on standard error.
//!
//! In: finished text. Out: bytes on a stream. A reader that went away (`| head`) ends the talk without a fault.

use std::io::{IsTerminal, Write};

use clap::ColorChoice;

/// The two streams and whether they take colour.
#[derive(Clone, Copy, Debug)]
pub struct Output {
    choice: ColorChoice,
}

impl Output {
    /// Takes the user's choice.
    pub fn new(choice: ColorChoice) -> Self {
        Self { choice }
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
    #[allow(clippy::unused_self, reason = "whoever writes holds the streams")]
    pub fn result(&self, text: &str) {
        let mut out = std::io::stdout().lock();
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }

    /// Talk.
    #[allow(clippy::unused_self, reason = "whoever writes holds the streams")]
    pub fn say(&self, text: &str) {
        let mut err = std::io::stderr().lock();
        let _ = writeln!(err, "{text}");
    }

    /// Why it could not run.
    pub fn fault(&self, message: &str) {
        self.say(&format!("ruleout: {}", crate::report::escape(message)));
    }
}
