//! What went wrong, as data: what, where, why here, what to do. Rendering and JSON read it.

pub mod nearest;
pub mod parsing;
pub mod render;
pub mod reword;
pub mod source;

use rhai::{EvalAltResult, Position};
use serde_json::{Value, json};

use self::source::{Sources, line_column};
use crate::api::fault::Complaint;
use crate::ceiling::Ceiling;

/// A stretch of characters on one line; columns count characters from 1, the end is behind the last one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Name of the text.
    pub file: String,
    /// From 1.
    pub line: usize,
    /// Of the first character.
    pub column: usize,
    /// Behind the last character.
    pub end: usize,
}

/// One step of the way from the script to the error: a function that was called, a module that was imported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// `` in `fly` ``, `in a closure`, `` in module `parts.rhai` ``.
    pub what: String,
    /// Where it was called.
    pub place: Option<Place>,
}

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The run has failed.
    Error,
    /// Worth a look.
    Warning,
}

/// A message to the author of a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// How bad.
    pub level: Level,
    /// Lower case, no full stop, names in backticks.
    pub what: String,
    /// Where.
    pub place: Option<Place>,
    /// Beside the caret: why here.
    pub note: Option<String>,
    /// What to do.
    pub help: Option<String>,
    /// From the error outwards.
    pub trace: Vec<Frame>,
}

impl Diagnostic {
    /// An error without a place.
    pub fn error(what: impl Into<String>) -> Self {
        Self { level: Level::Error, what: what.into(), place: None, note: None, help: None, trace: Vec::new() }
    }

    /// A warning without a place.
    pub fn warning(what: impl Into<String>) -> Self {
        Self { level: Level::Warning, ..Self::error(what) }
    }

    /// Adds the text beside the caret.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.note = Some(note.into());
        self
    }

    /// Adds what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Puts it at the token that begins at a position.
    #[must_use]
    pub fn at(mut self, sources: &Sources, file: &str, position: Position) -> Self {
        self.place = token_at(sources, file, position);
        self
    }

    /// One object of the `diagnostics` list of a `--json` document.
    pub fn to_json(&self) -> Value {
        let place = |place: &Option<Place>| match place {
            Some(place) => json!({
                "file": place.file, "line": place.line, "column": place.column, "end": place.end,
            }),
            None => Value::Null,
        };
        json!({
            "level": match self.level { Level::Error => "error", Level::Warning => "warning" },
            "what": self.what,
            "place": place(&self.place),
            "note": self.note,
            "help": self.help,
            "trace": self.trace.iter().map(|frame| json!({ "what": frame.what, "place": place(&frame.place) })).collect::<Vec<_>>(),
        })
    }

    /// The diagnostic of an error that the interpreter gave.
    pub fn of(error: &EvalAltResult, main: &str, sources: &Sources, ceiling: &Ceiling) -> Self {
        let mut file = main.to_owned();
        let mut trace = Vec::new();
        let mut inner = error;
        loop {
            match inner {
                EvalAltResult::ErrorInFunctionCall(name, source, cause, position) => {
                    let what =
                        if name.starts_with("anon$") { "in a closure".to_owned() } else { format!("in `{name}`") };
                    trace.push(Frame { what, place: token_at(sources, &file, *position) });
                    if !source.is_empty() {
                        file.clone_from(source);
                    }
                    inner = cause;
                }
                EvalAltResult::ErrorInModule(path, cause, position) => {
                    trace.push(Frame {
                        what: format!("in module `{path}`"),
                        place: token_at(sources, &file, *position),
                    });
                    if sources.get(path).is_some() {
                        file.clone_from(path);
                    }
                    inner = cause;
                }
                _ => break,
            }
        }
        trace.reverse();
        let mut made = match inner {
            EvalAltResult::ErrorRuntime(payload, position) => match payload.read_lock::<Complaint>() {
                Some(complaint) => complained(&complaint, sources, &file, *position),
                None => Self::error(reword::thrown(payload)).at(sources, &file, *position),
            },
            EvalAltResult::ErrorParsing(kind, position) => parsing::reword(kind, *position, sources, &file),
            other => reword::reword(other, sources, &file, ceiling),
        };
        if made.place.is_none() {
            // Better the call around it than nowhere.
            made.place = trace.iter().find_map(|frame| frame.place.clone());
        }
        made.trace.extend(trace);
        made
    }
}

fn token_at(sources: &Sources, file: &str, position: Position) -> Option<Place> {
    let (line, mut column) = line_column(position)?;
    // An error at a property is sometimes reported at its dot.
    if sources.get(file).is_some_and(|source| source.at_dot(line, column)) {
        column += 1;
    }
    let end = sources.get(file).map_or(column + 1, |source| source.token_end(line, column));
    Some(Place { file: file.to_owned(), line, column, end })
}

/// A refusal of ours: at its argument or option when it names one, else at the call.
fn complained(complaint: &Complaint, sources: &Sources, file: &str, position: Position) -> Diagnostic {
    let mut made = Diagnostic::error(complaint.what.clone()).at(sources, file, position);
    made.note.clone_from(&complaint.note);
    made.help.clone_from(&complaint.help);
    if let Some(place) = &complaint.elsewhere {
        let call = made.place.replace(place.clone());
        made.trace.push(Frame { what: format!("in `{}`, which the script reads", place.file), place: call });
        return made;
    }
    let Some((source, index)) = sources.get(file).zip(complaint.argument) else {
        return made;
    };
    let Some(call) = line_column(position).and_then(|place| source.calls.get(&place)) else {
        return made;
    };
    // A function written as a method has its first argument before the dot.
    let Some(index) = index.checked_sub(usize::from(call.method && !complaint.method)) else {
        return made;
    };
    let Some(argument) = call.arguments.get(index) else {
        return made;
    };
    let key = complaint.key.as_ref().and_then(|key| argument.keys.iter().find(|(known, _)| known == key));
    let (line, column, end) = match key {
        Some((_, (line, column))) => (*line, *column, source.token_end(*line, *column)),
        None => (argument.start.0, argument.start.1, source.argument_end(argument.start.0, argument.start.1)),
    };
    if line > 0 {
        made.place = Some(Place { file: file.to_owned(), line, column, end });
    }
    made
}
