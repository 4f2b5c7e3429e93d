//! How far a class has come: a bar on a terminal, nothing elsewhere; and text that
//! does not run into it, from whichever thread.

use super::output;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::time::Duration;

/// A bar, or none.
pub(super) struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// Shown on standard error when that is a terminal.
    pub fn new(quiet: bool) -> Self {
        if quiet || !std::io::stderr().is_terminal() {
            return Self {
                bar: ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden()),
            };
        }
        // Until it is known how much there is to do.
        let bar = ProgressBar::new_spinner().with_message("looking at what there is to do");
        bar.enable_steady_tick(Duration::from_millis(200));
        Self { bar }
    }

    pub fn expect(&self, steps: usize) {
        self.bar.set_length(steps as u64);
        let template = "{bar:30} {pos}/{len}, {eta} to go  {msg}";
        if let Ok(style) = ProgressStyle::with_template(template) {
            self.bar.set_style(style);
        }
    }

    pub fn begin(&self, what: &str) {
        self.bar.set_message(what.to_owned());
    }

    pub fn step(&self) {
        self.bar.inc(1);
    }

    pub fn end(&self) {
        self.bar.finish_and_clear();
    }

    /// Text to standard output. That a result cannot be told is no reason to stop
    /// filing results.
    pub fn say(&self, text: &str) {
        let _ = self.bar.suspend(|| output::say(text));
    }

    /// Text to standard error.
    pub fn mutter(&self, text: &str) {
        self.bar.suspend(|| output::mutter(text));
    }
}
