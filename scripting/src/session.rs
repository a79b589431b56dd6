//! Source in, outcome or diagnostic out: the only door to the interpreter, for commands, REPL, tests and documents.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{AST, Dynamic, Engine, Scope};
use serde_json::Value;

use crate::api::value;
use crate::ceiling::{Ceiling, Limits, Reached};
use crate::diagnostic::Diagnostic;
use crate::diagnostic::source::Sources;
use crate::modules::Jail;
use crate::run_state::{Input, Record, Rehearsed, Requirement, RunState, Settings, Teller};
use crate::sandbox;

/// Where printed text goes.
pub type Printer = Arc<dyn Fn(&str) + Send + Sync>;

/// How a session is set up.
#[derive(Clone)]
pub struct Config {
    /// Inputs, folders, model.
    pub settings: Settings,
    /// Ceilings.
    pub limits: Limits,
    /// Set by Ctrl-C.
    pub interrupt: Arc<AtomicBool>,
    /// Receives each printed line as it comes, beside its being kept in the outcome.
    pub printer: Option<Printer>,
    /// Is told where a long search stands.
    pub teller: Option<Teller>,
    /// Lines typed one after the other: names may be taken again.
    pub lines: bool,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            settings: Settings::default(),
            limits: Limits::default(),
            interrupt: Arc::new(AtomicBool::new(false)),
            printer: None,
            teller: None,
            lines: false,
        }
    }
}

impl Config {
    /// Reads below this folder.
    #[must_use]
    pub fn reading(mut self, folder: impl Into<PathBuf>) -> Self {
        self.settings.folder = Some(folder.into());
        self
    }
}

/// The value of a script's last expression.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Itself.
    pub value: Dynamic,
    /// As `print` shows it.
    pub shown: String,
    /// As a `--json` document has it.
    pub json: Value,
}

/// What came of a run. On failure it holds what was gathered up to then.
pub struct Outcome {
    /// The value of the last expression; `None` after an error.
    pub answer: Option<Answer>,
    /// Knobs.
    pub inputs: Vec<Input>,
    /// Answers.
    pub records: Vec<Record>,
    /// Demands.
    pub requirements: Vec<Requirement>,
    /// Voyages, in the order in which they were made.
    pub voyages: Vec<Arc<dyn Rehearsed>>,
    /// Printed text.
    pub printed: String,
    /// Errors and warnings.
    pub diagnostics: Vec<Diagnostic>,
    /// Which ceiling ended it.
    pub reached: Option<Reached>,
}

impl Outcome {
    /// Whether the script ran to its end.
    pub fn ran(&self) -> bool {
        self.answer.is_some()
    }

    /// The exit status of `language.md`, section 7: 0, 1, 3 or 130.
    pub fn status(&self) -> i32 {
        if self.reached == Some(Reached::Interrupted) {
            return 130;
        }
        if !self.ran() {
            return 1;
        }
        let unmet = self.requirements.iter().any(|requirement| !requirement.met);
        let lost = self.voyages.iter().any(|voyage| voyage.outcome() == "lost" && !voyage.excused());
        let failed = self.voyages.iter().any(|voyage| voyage.audit().iter().any(|row| row.failed));
        if unmet || lost || failed { 3 } else { 0 }
    }
}

/// An interpreter with what it has read and gathered.
pub struct Session {
    engine: Engine,
    run: Arc<RunState>,
    sources: Arc<Sources>,
    printed: Arc<Mutex<String>>,
}

impl Session {
    /// A session for one run, or for the lines of a REPL.
    pub fn new(config: Config) -> Self {
        let sources = Arc::new(Sources::default());
        let ceiling = Arc::new(Ceiling::new(config.limits, config.interrupt));
        let run = Arc::new(RunState::new(ceiling, config.settings, Arc::clone(&sources)).telling(config.teller));
        let jail = Jail::new(run.settings.folder.clone(), Arc::clone(&sources));
        let mut engine = sandbox::engine(&run, jail, config.lines);
        let printed = Arc::new(Mutex::new(String::new()));
        let print = {
            let (printed, ceiling, printer) = (Arc::clone(&printed), Arc::clone(&run.ceiling), config.printer);
            move |text: &str| {
                if ceiling.print(text.len() + 1) {
                    let mut kept = printed.lock().unwrap_or_else(PoisonError::into_inner);
                    kept.push_str(text);
                    kept.push('\n');
                    if let Some(printer) = &printer {
                        printer(text);
                    }
                }
            }
        };
        let debug = print.clone();
        engine.on_print(print);
        engine.on_debug(move |text, _, _| debug(text));
        Self { engine, run, sources, printed }
    }

    /// The texts that were read, for rendering.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// What the run has gathered.
    pub fn run_state(&self) -> &RunState {
        &self.run
    }

    /// Compiles a text without running it.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn compile(&self, name: &str, text: &str) -> Result<AST, Box<Diagnostic>> {
        self.compile_in(name, text, &Scope::new())
    }

    /// Compiles a text that may use the variables of a scope.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn compile_in(&self, name: &str, text: &str, scope: &Scope) -> Result<AST, Box<Diagnostic>> {
        self.sources.add(name, text);
        let error = match self.engine.compile_with_scope(scope, text) {
            Ok(mut ast) => {
                ast.set_source(name);
                self.sources.add_calls(name, &ast);
                return Ok(ast);
            }
            Err(error) => error,
        };
        Err(Box::new(Diagnostic::of(&error.into(), name, &self.sources, &self.run.ceiling)))
    }

    /// Runs a text under a name.
    pub fn evaluate(&self, name: &str, text: &str) -> Outcome {
        let answer = self.on_own_stack(|| {
            let ast = self.compile(name, text)?;
            self.perform(name, &mut Scope::new(), &ast)
        });
        self.outcome(answer)
    }

    /// Runs what was compiled, on this thread; used by the REPL through [`Session::on_own_stack`].
    ///
    /// # Errors
    /// What went wrong.
    pub fn perform(&self, name: &str, scope: &mut Scope, ast: &AST) -> Result<Answer, Box<Diagnostic>> {
        let result = self.engine.eval_ast_with_scope::<Dynamic>(scope, ast);
        let value = match result {
            Ok(value) => value.flatten(),
            Err(error) => {
                return Err(Box::new(Diagnostic::of(&error, name, &self.sources, &self.run.ceiling)));
            }
        };
        // A script cannot catch the end that a ceiling puts to it, but the last statement may have printed too much.
        if self.run.ceiling.reached().is_some() {
            let error = rhai::EvalAltResult::ErrorTerminated(Dynamic::UNIT, rhai::Position::NONE);
            return Err(Box::new(Diagnostic::of(&error, name, &self.sources, &self.run.ceiling)));
        }
        if !value::is_finite(&value) {
            return Err(Box::new(Diagnostic::error("the answer is not a finite number")));
        }
        Ok(Answer { shown: value::show(&value), json: value::to_json(&value), value })
    }

    /// Calls on a thread with a large stack; a panic of ours becomes a diagnostic.
    ///
    /// # Errors
    /// Those of the call; a panic of ours.
    pub fn on_own_stack<T: Send>(
        &self,
        call: impl FnOnce() -> Result<T, Box<Diagnostic>> + Send,
    ) -> Result<T, Box<Diagnostic>> {
        let broken = |text: &str| {
            Box::new(
                Diagnostic::error(format!("visviva itself has failed: {text}"))
                    .help("please report this with the script that shows it"),
            )
        };
        std::thread::scope(|scope| {
            let work = || catch_unwind(AssertUnwindSafe(call));
            let thread = std::thread::Builder::new().name("script".to_owned()).stack_size(sandbox::STACK);
            match thread.spawn_scoped(scope, work) {
                Err(error) => Err(broken(&error.to_string())),
                Ok(handle) => match handle.join() {
                    Ok(Ok(answer)) => answer,
                    Ok(Err(panic)) | Err(panic) => {
                        let text = panic
                            .downcast_ref::<String>()
                            .map(String::as_str)
                            .or_else(|| panic.downcast_ref::<&str>().copied())
                            .unwrap_or("a panic without a text");
                        Err(broken(text))
                    }
                },
            }
        })
    }

    /// What was gathered, with an answer or the error that took its place.
    pub fn outcome(&self, answer: Result<Answer, Box<Diagnostic>>) -> Outcome {
        let (answer, diagnostics) = match answer {
            Ok(answer) => (Some(answer), Vec::new()),
            Err(diagnostic) => (None, vec![*diagnostic]),
        };
        Outcome {
            answer,
            inputs: self.run.inputs(),
            records: self.run.records(),
            requirements: self.run.requirements(),
            voyages: self.run.voyages(),
            printed: std::mem::take(&mut *self.printed.lock().unwrap_or_else(PoisonError::into_inner)),
            diagnostics,
            reached: self.run.ceiling.reached(),
        }
    }

    /// The interpreter, for what reads its compiled texts.
    pub fn engine(&self) -> &Engine {
        &self.engine
    }
}
