//! What a definition's call answers when it cannot do what was asked.

use rhai::{Dynamic, EvalAltResult, Position};

use crate::diagnostic::Place;

/// A refusal in the script author's words.
///
/// It has no place yet: the interpreter adds the call's, and the diagnostic narrows it to the argument or option.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Complaint {
    /// What is wrong: lower case, no full stop, names in backticks.
    pub what: String,
    /// Beside the caret: why here.
    pub note: Option<String>,
    /// What to do instead.
    pub help: Option<String>,
    /// The declared parameter at fault, from 0.
    pub argument: Option<usize>,
    /// The key at fault, in the options map that is that argument.
    pub key: Option<String>,
    /// Whether the definition is a method, whose receiver is no argument.
    pub method: bool,
    /// Where it is, when that is in another text than the script: a system file.
    pub elsewhere: Option<Place>,
}

/// The error of every definition.
#[derive(Debug)]
pub enum Fault {
    /// Something this call refuses.
    Complaint(Box<Complaint>),
    /// An error from a script function that was called back, passed on with its own place.
    Passed(Box<EvalAltResult>),
}

impl Fault {
    /// A refusal at the call.
    pub fn new(what: impl Into<String>) -> Self {
        Self::Complaint(Box::new(Complaint { what: what.into(), ..Complaint::default() }))
    }

    fn edit(mut self, change: impl FnOnce(&mut Complaint)) -> Self {
        if let Self::Complaint(complaint) = &mut self {
            change(complaint);
        }
        self
    }

    /// Adds the text beside the caret.
    #[must_use]
    pub fn note(self, note: impl Into<String>) -> Self {
        let note = note.into();
        self.edit(|complaint| complaint.note = Some(note))
    }

    /// Adds what to do instead.
    #[must_use]
    pub fn help(self, help: impl Into<String>) -> Self {
        let help = help.into();
        self.edit(|complaint| complaint.help = Some(help))
    }

    /// Points at a declared parameter, counted from 0 without the receiver.
    #[must_use]
    pub fn at(self, argument: usize) -> Self {
        self.edit(|complaint| complaint.argument = Some(argument))
    }

    /// Points at a key of the options map that is that argument.
    #[must_use]
    pub fn at_key(self, argument: usize, key: &str) -> Self {
        self.edit(|complaint| {
            complaint.argument = Some(argument);
            complaint.key = Some(key.to_owned());
        })
    }

    /// Points into another text that the call has read; the call itself is then shown as the way there.
    #[must_use]
    pub fn elsewhere(self, place: Option<Place>) -> Self {
        self.edit(|complaint| complaint.elsewhere = place)
    }

    /// Says that the call was a method's.
    #[must_use]
    pub fn of_method(self, method: bool) -> Self {
        self.edit(|complaint| complaint.method = method)
    }
}

/// Every engine error becomes a refusal in its own words.
impl<E: std::error::Error> From<E> for Fault {
    fn from(error: E) -> Self {
        Self::new(error.to_string())
    }
}

impl Fault {
    /// Takes over the error of a script function that was called back.
    pub fn passed(error: Box<EvalAltResult>) -> Self {
        let own = match &*error {
            EvalAltResult::ErrorRuntime(payload, position) if position.is_none() => {
                payload.read_lock::<Complaint>().map(|complaint| complaint.clone())
            }
            _ => None,
        };
        match own {
            Some(complaint) => Self::Complaint(Box::new(complaint)),
            None => Self::Passed(error),
        }
    }

    /// As the interpreter wants it.
    pub fn into_error(self) -> Box<EvalAltResult> {
        match self {
            Self::Complaint(complaint) => {
                Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(*complaint), Position::NONE))
            }
            Self::Passed(error) => error,
        }
    }
}

/// The words of an error that a script function raised, without its place.
pub fn told(error: &EvalAltResult) -> String {
    match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) => told(inner),
        EvalAltResult::ErrorRuntime(payload, _) => match payload.read_lock::<Complaint>() {
            Some(complaint) => complaint.what.clone(),
            None => payload.to_string(),
        },
        other => other.to_string(),
    }
}
