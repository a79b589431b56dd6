//! What one run gathers and what it is bound by. Handed to every definition.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rhai::Dynamic;
use serde_json::Value;

use crate::api::fault::Fault;
use crate::ceiling::Ceiling;
use crate::diagnostic::source::Sources;
use crate::modules::write_below;

/// What the caller of a run lays down beforehand.
#[derive(Debug, Clone, Default)]
pub struct Settings {
    /// Values for inputs by name, as text: `("first pass", "172.km")`.
    pub inputs: Vec<(String, String)>,
    /// Below this folder a script may read. `None`: nowhere.
    pub folder: Option<PathBuf>,
    /// Below this folder a script may write. `None`: nowhere.
    pub out: Option<PathBuf>,
    /// Below this folder pictures are saved. `None`: they are not.
    pub pictures: Option<PathBuf>,
    /// The model asked for on the command line, `conics` when it was not.
    pub model: Option<String>,
}

/// A knob that a script declared.
#[derive(Debug, Clone)]
pub struct Input {
    /// Its name.
    pub name: String,
    /// What the script gives it.
    pub default: Dynamic,
    /// What this run used.
    pub value: Dynamic,
}

/// An answer that a script recorded.
#[derive(Debug, Clone)]
pub struct Record {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: Dynamic,
}

/// A demand that a script made.
#[derive(Debug, Clone)]
pub struct Requirement {
    /// In the script's words.
    pub why: String,
    /// Whether it held.
    pub met: bool,
    /// `file:line:column`.
    pub place: String,
}

/// A row of the ledger in a run's answer.
#[derive(Debug, Clone)]
pub struct LedgerRow {
    /// The leg's name.
    pub leg: String,
    /// The row as a `--json` document has it, without the voyage's name.
    pub json: Value,
}

/// A row of the audit in a run's answer.
#[derive(Debug, Clone)]
pub struct AuditRow {
    /// The leg's name.
    pub leg: String,
    /// The law held against.
    pub law: String,
    /// Whether the verdict fails the run.
    pub failed: bool,
    /// The row as a `--json` document has it, without the voyage's name.
    pub json: Value,
}

/// A voyage as the answer of a run sees it. The noun's file implements it on its handle.
pub trait Rehearsed: Send + Sync {
    /// Its name.
    fn name(&self) -> String;
    /// `under way`, `home` or `lost`.
    fn outcome(&self) -> String;
    /// What happened, when it is lost.
    fn why(&self) -> Option<String>;
    /// Whether the script branched it or asked for its outcome, so that its loss does not fail the run.
    fn excused(&self) -> bool;
    /// Whether it is shown at all; a branch that was only tried may stay out.
    fn shown(&self) -> bool {
        true
    }
    /// The ledger, a row for each leg.
    fn ledger(&self) -> Vec<LedgerRow>;
    /// The audit, a row for each law of each leg.
    fn audit(&self) -> Vec<AuditRow>;
    /// Ledger and audit as tables for the terminal.
    fn show(&self) -> String;
}

#[derive(Default)]
struct Log {
    inputs: Vec<Input>,
    records: Vec<Record>,
    requirements: Vec<Requirement>,
    voyages: Vec<Arc<dyn Rehearsed>>,
    planned: Vec<(String, Dynamic)>,
    search: Option<String>,
}

/// The state of one run.
pub struct RunState {
    /// Counted and timed ceilings, and the interruption.
    pub ceiling: Arc<Ceiling>,
    /// What was laid down beforehand.
    pub settings: Settings,
    /// The texts that were read, for messages: a system file is kept here before it is parsed.
    pub sources: Arc<Sources>,
    log: Mutex<Log>,
    frozen: AtomicUsize,
    looking: AtomicBool,
    teller: Option<Teller>,
}

/// Receives a line about where a long search stands; an empty one when it is over.
pub type Teller = Arc<dyn Fn(&str) + Send + Sync>;

impl RunState {
    /// A run that has gathered nothing.
    pub fn new(ceiling: Arc<Ceiling>, settings: Settings, sources: Arc<Sources>) -> Self {
        Self {
            ceiling,
            settings,
            sources,
            log: Mutex::default(),
            frozen: AtomicUsize::new(0),
            looking: AtomicBool::new(false),
            teller: None,
        }
    }

    /// With somebody to tell where long searches stand.
    #[must_use]
    pub fn telling(mut self, teller: Option<Teller>) -> Self {
        self.teller = teller;
        self
    }

    /// Says where a long search stands: seen on a terminal, part of no answer.
    pub fn tell(&self, text: &str) {
        if let Some(teller) = &self.teller {
            teller(text);
        }
    }

    fn log(&self) -> MutexGuard<'_, Log> {
        self.log.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Writes a result below the folder that the run was given.
    ///
    /// # Errors
    /// No such folder was given, a name that leaves it, or what the file system says.
    pub fn save(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, Fault> {
        match &self.settings.out {
            Some(folder) => write_below(folder, name, bytes),
            None => Err(Fault::new(format!("there is no folder to write `{name}` to"))
                .help("give one on the command line: --out DIR")),
        }
    }

    /// Keeps why the last search for windows found nothing, for whoever asks for the best of its empty list.
    pub fn note_search(&self, note: Option<String>) {
        self.log().search = note;
    }

    /// Why the last search for windows found nothing; `None` when it found something, or when there was none.
    pub fn search_note(&self) -> Option<String> {
        self.log().search.clone()
    }

    /// Whether a ceiling or Ctrl-C asks to end; the question that native loops poll: `Watch::new(&|| run.stopped())`.
    pub fn stopped(&self) -> bool {
        !self.ceiling.allowed()
    }

    /// Notes a knob; the first declaration of a name counts.
    pub fn add_input(&self, input: Input) {
        let mut log = self.log();
        if !log.inputs.iter().any(|known| known.name == input.name) {
            log.inputs.push(input);
        }
    }

    /// Notes an answer; a later record of the same name replaces the value and keeps the place in the order.
    pub fn add_record(&self, record: Record) {
        let mut log = self.log();
        match log.records.iter_mut().find(|known| known.name == record.name) {
            Some(known) => known.value = record.value,
            None => log.records.push(record),
        }
    }

    /// Notes a demand.
    pub fn add_requirement(&self, requirement: Requirement) {
        self.log().requirements.push(requirement);
    }

    /// Notes a voyage, in the order in which they are made.
    pub fn add_voyage(&self, voyage: Arc<dyn Rehearsed>) {
        self.log().voyages.push(voyage);
    }

    /// The value of a plan made earlier in this run.
    pub fn plan(&self, name: &str) -> Option<Dynamic> {
        self.log().planned.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone())
    }

    /// Keeps the value of a plan.
    pub fn keep_plan(&self, name: &str, value: Dynamic) {
        self.log().planned.push((name.to_owned(), value));
    }

    /// The knobs so far.
    pub fn inputs(&self) -> Vec<Input> {
        self.log().inputs.clone()
    }

    /// The answers so far.
    pub fn records(&self) -> Vec<Record> {
        self.log().records.clone()
    }

    /// The demands so far.
    pub fn requirements(&self) -> Vec<Requirement> {
        self.log().requirements.clone()
    }

    /// The voyages so far.
    pub fn voyages(&self) -> Vec<Arc<dyn Rehearsed>> {
        self.log().voyages.clone()
    }

    /// Whether it is completion that reads a property: then the script has not asked for it.
    pub fn only_looking(&self) -> bool {
        self.looking.load(Ordering::SeqCst)
    }

    /// Says that completion begins or ends to read properties.
    pub fn look(&self, looking: bool) {
        self.looking.store(looking, Ordering::SeqCst);
    }

    /// How many searches are trying things around here. A voyage keeps the depth at which it was made, and its verbs
    /// refuse while the depth is greater: "write `let w = v.branch()` inside the closure".
    pub fn freeze_depth(&self) -> usize {
        self.frozen.load(Ordering::SeqCst)
    }

    /// Freezes the voyages from outside until the guard is dropped.
    pub fn freeze(&self) -> Freeze<'_> {
        self.frozen.fetch_add(1, Ordering::SeqCst);
        Freeze { run: self }
    }
}

/// Keeps voyages from outside of a search frozen while it lives.
pub struct Freeze<'r> {
    run: &'r RunState,
}

impl Drop for Freeze<'_> {
    fn drop(&mut self) {
        self.run.frozen.fetch_sub(1, Ordering::SeqCst);
    }
}
