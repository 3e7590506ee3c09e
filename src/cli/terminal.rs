//! Words to standard output, progress and complaints to standard error.

use std::io::{self, Write};
use std::time::{SystemTime, UNIX_EPOCH};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde_json::{Value, json};

use super::failure::Failure;

/// Where a run talks to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Terminal {
    quiet: bool,
    json: bool,
}

impl Terminal {
    pub(super) const fn new(quiet: bool, json: bool) -> Self {
        Self { quiet, json }
    }

    /// Results: words, or with `--json` the value alone.
    pub(super) fn result(self, words: &str, value: &Value) {
        if self.json {
            Self::print(&format!("{value:#}\n"));
        } else if !self.quiet {
            Self::print(words);
        }
    }

    /// Text that was asked for: a description, completions.
    pub(super) fn print(text: &str) {
        let mut out = io::stdout().lock();
        // A reader that has gone away (`| head`) is no failure.
        let _written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }

    /// Something a reader should know while it runs.
    pub(super) fn note(self, text: &str) {
        if !self.quiet {
            Self::complain(&format!("note: {text}\n"));
        }
    }

    /// Why nothing was done.
    pub(super) fn failure(self, failure: &Failure) {
        if self.json {
            Self::print(&format!("{:#}\n", json!({ "error": failure.message, "hint": failure.hint })));
        }
        let mut text = format!("error: {}\n", failure.message);
        if let Some(hint) = &failure.hint {
            text += &format!("hint: {hint}\n");
        }
        Self::complain(&text);
    }

    fn complain(text: &str) {
        let _written = io::stderr().lock().write_all(text.as_bytes()); // nowhere is left to tell
    }

    /// A progress bar; silent where standard error is no terminal.
    pub(super) fn progress(self, length: usize, what: &'static str) -> ProgressBar {
        let target = if self.quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let style = ProgressStyle::with_template("{msg:>10} [{wide_bar}] {pos}/{len}, {eta} left")
            .unwrap_or_else(|_| ProgressStyle::default_bar())
            .progress_chars("=> ");
        ProgressBar::with_draw_target(Some(length as u64), target).with_style(style).with_message(what)
    }
}

/// Seconds since 1970-01-01 UTC, for the log; 0 on a machine whose clock says less.
pub(super) fn now_s() -> f64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |time| time.as_secs_f64())
}
