//! A sign of life while a script runs long: on a terminal only, on standard error, gone when the run is over.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

use super::output;
use crate::run_state::Teller;
use crate::session::Printer;

/// A run shorter than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(700);

/// The spinner of one run.
pub(crate) struct Progress {
    bar: ProgressBar,
    what: String,
    done: Arc<AtomicBool>,
}

impl Progress {
    /// Shows what is being done and for how long, once the run has taken a while. Hidden where standard error is no terminal.
    pub(crate) fn begin(what: &str) -> Self {
        let bar = ProgressBar::new_spinner();
        if let Ok(style) =
            ProgressStyle::with_template("{spinner} {msg}, {elapsed} (Ctrl-C stops and keeps what there is)")
        {
            bar.set_style(style);
        }
        bar.set_message(what.to_owned());
        let done = Arc::new(AtomicBool::new(false));
        if !bar.is_hidden() {
            let (late, over) = (bar.clone(), Arc::clone(&done));
            std::thread::spawn(move || {
                std::thread::sleep(PATIENCE);
                if !over.load(Ordering::SeqCst) {
                    late.enable_steady_tick(Duration::from_millis(120));
                }
            });
        }
        Self { bar, what: what.to_owned(), done }
    }

    /// Prints lines of the script without tearing the spinner.
    pub(crate) fn printer(&self) -> Printer {
        let bar = self.bar.clone();
        Arc::new(move |text: &str| bar.suspend(|| output::line(text)))
    }

    /// Shows behind what is done where a long search stands.
    pub(crate) fn teller(&self) -> Teller {
        let (bar, what) = (self.bar.clone(), self.what.clone());
        Arc::new(move |text: &str| {
            bar.set_message(if text.is_empty() { what.clone() } else { format!("{what}: {text}") });
        })
    }

    /// Takes the spinner away.
    pub(crate) fn end(self) {
        self.done.store(true, Ordering::SeqCst);
        self.bar.finish_and_clear();
    }
}
