//! A sign of life during long work.
//!
//! In: what is being done. Out: a turning line on standard error, only where that is a terminal; it is gone when the work is.

use std::io::IsTerminal as _;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Shown as long as it is held.
pub struct Progress(ProgressBar);

impl Progress {
    /// Says what is being done, such as "checking the knowledge base".
    pub fn of(what: &'static str) -> Self {
        let dumb = std::env::var_os("TERM").is_none_or(|term| term.is_empty() || term == "dumb");
        let bar = ProgressBar::no_length().with_message(what);
        if dumb || !std::io::stderr().is_terminal() {
            bar.set_draw_target(ProgressDrawTarget::hidden());
            return Self(bar);
        }
        // Without colour, whatever the terminal takes: one look for everybody.
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(120));
        Self(bar)
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
