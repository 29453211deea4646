//! Long work as the terminal shows it, and how it is stopped.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// A line that says how far long work has come, at most four times a second.
pub(crate) struct Progress {
    what: &'static str,
    shown: Instant,
    terminal: bool,
}

const BETWEEN: Duration = Duration::from_millis(250);

impl Progress {
    /// Begins to tell of some work.
    pub(crate) fn of(what: &'static str) -> Self {
        Self {
            what,
            shown: Instant::now(),
            terminal: std::io::stderr().is_terminal(),
        }
    }

    /// How far it has come. Shown on a terminal only.
    pub(crate) fn at(&mut self, done: impl std::fmt::Display) {
        if self.terminal && BETWEEN <= self.shown.elapsed() {
            eprint!("\r{}: {done}   ", self.what);
            let _ = std::io::stderr().flush();
            self.shown = Instant::now();
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.terminal {
            eprint!("\r\u{1b}[K");
        }
    }
}

/// Set when somebody presses Ctrl-C.
pub(crate) fn stop_on_interrupt() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&stop);
    tokio::spawn(async move {
        if tokio::signal::ctrl_c().await.is_ok() {
            set.store(true, Ordering::Relaxed);
        }
    });
    stop
}
