//! Working interactively: a session whose lines share variables, functions and imports.

mod assist;
mod bench;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use rustyline::error::ReadlineError;
use rustyline::history::FileHistory;
use rustyline::{CompletionType, Editor};

use self::assist::Assist;
pub use self::bench::Bench;
use crate::ceiling::Limits;
use crate::command::output;
use crate::session::Config;

/// A line may run this long; Ctrl-C ends it sooner.
const LINE_TIME: Duration = Duration::from_mins(10);

/// The lines of a REPL from the terminal, until its end; a script may run first.
///
/// # Errors
/// The terminal cannot be read.
pub fn run(first: Option<(String, String)>, folder: PathBuf, interrupt: &Arc<AtomicBool>) -> Result<(), String> {
    let mut config = Config {
        limits: Limits { time: Some(LINE_TIME), ..Limits::default() },
        interrupt: Arc::clone(interrupt),
        printer: Some(Arc::new(output::line)),
        ..Config::default()
    };
    config.settings.folder = Some(folder);
    let bench = Arc::new(Bench::new(config));
    if let Some((name, text)) = first {
        answer(&bench, &text, Some(&name));
        interrupt.store(false, Ordering::SeqCst);
    }
    let settings = rustyline::Config::builder().completion_type(CompletionType::List).auto_add_history(true).build();
    let mut editor: Editor<Assist, FileHistory> = Editor::with_config(settings).map_err(|error| error.to_string())?;
    editor.set_helper(Some(Assist::new(Arc::clone(&bench))));
    let history = history_file();
    if let Some(history) = &history {
        // The first session has no history.
        let _ = editor.load_history(history);
    }
    loop {
        match editor.readline("> ") {
            Ok(line) => {
                if let Some(history) = &history {
                    // A history that cannot be kept is no reason to stop.
                    let _ = editor.save_history(history);
                }
                match line.trim() {
                    "quit" | "exit" => return Ok(()),
                    "" => {}
                    text => answer(&bench, text, None),
                }
                interrupt.store(false, Ordering::SeqCst);
            }
            // Ctrl-C on a line that is being typed drops that line.
            Err(ReadlineError::Interrupted) => interrupt.store(false, Ordering::SeqCst),
            Err(ReadlineError::Eof) => return Ok(()),
            Err(error) => return Err(error.to_string()),
        }
    }
}

fn answer(bench: &Bench, text: &str, name: Option<&str>) {
    let topic = text.strip_prefix("help").filter(|rest| rest.is_empty() || rest.starts_with(' ')).map(str::trim);
    if let Some(topic) = topic.filter(|_| name.is_none()) {
        match crate::api::help::text(topic) {
            Ok(text) => output::line(text.trim_end()),
            Err(text) => output::complain(&text),
        }
        return;
    }
    match bench.line(text, name) {
        Ok(Some(shown)) => output::line(&shown),
        Ok(None) => {}
        Err(diagnostic) => output::diagnostics(&[*diagnostic], bench.session().sources()),
    }
}

/// In the folder that the user's system keeps for such things.
fn history_file() -> Option<PathBuf> {
    let folder = match std::env::var_os("XDG_STATE_HOME").filter(|folder| !folder.is_empty()) {
        Some(folder) => PathBuf::from(folder),
        None => PathBuf::from(std::env::var_os("HOME")?).join(".local/state"),
    };
    let folder = folder.join("visviva");
    std::fs::create_dir_all(&folder).ok()?;
    Some(folder.join("history"))
}
