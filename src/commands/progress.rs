//! How far a run is, on a terminal alone.

use std::io;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Fewer designs than this are judged before anybody looks.
const FEWEST: usize = 100;
/// How often it is drawn, in a second.
const A_SECOND: u8 = 10;

/// A bar on standard error; without a terminal there nothing.
#[derive(Debug)]
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Of so many designs.
    pub(super) fn of(n_designs: usize) -> Self {
        if n_designs < FEWEST {
            return Self(ProgressBar::hidden());
        }
        let target = ProgressDrawTarget::stderr_with_hz(A_SECOND);
        let bar = ProgressBar::with_draw_target(Some(n_designs as u64), target);
        let style = ProgressStyle::with_template("{pos} of {len} designs judged {wide_bar} {eta} left");
        if let Ok(style) = style {
            bar.set_style(style.progress_chars("=> "));
        }
        bar.enable_steady_tick(Duration::from_millis(500));
        Self(bar)
    }

    /// So many more are judged; what is written meanwhile does not touch the bar.
    pub(super) fn past(&self, n_designs: usize, work: impl FnOnce() -> io::Result<()>) -> io::Result<()> {
        let done = self.0.suspend(work);
        self.0.inc(n_designs as u64);
        done
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
