//! A run of the fuzzer: executions until the time is up, each watched for panics and hangs.

use std::panic;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use visviva::ceiling::Limits;
use visviva::diagnostic::render::render;
use visviva::session::{Config, Session};
use visviva_engine::system::System;

use super::corpus::{Corpus, Kind};
use super::mutate::{Chance, mutated};

/// A clock ceiling of half a second ends a script; what still runs twenty times as long hangs.
const CEILING: Duration = Duration::from_millis(500);
const HANG: Duration = Duration::from_secs(10);

/// How long and from which seed.
#[derive(Debug, Clone, Copy)]
pub struct Campaign {
    /// How long to go on, s.
    pub seconds: f64,
    /// The same seed tries the same texts in the same order.
    pub seed: u64,
}

/// An input that broke a door.
#[derive(Debug, Clone)]
pub struct Failure {
    /// Which door.
    pub kind: Kind,
    /// The input.
    pub input: Vec<u8>,
    /// What happened.
    pub what: String,
}

/// What came of a campaign.
#[derive(Debug, Default)]
pub struct Tally {
    /// Executions by door: scripts, system files, values.
    pub executions: [u64; 3],
    /// How many of them were answered with a value rather than a diagnostic.
    pub answered: [u64; 3],
    /// What broke.
    pub failures: Vec<Failure>,
}

impl Campaign {
    /// Run to the end of the time, or to the first hang: a thread that hangs cannot be taken back.
    pub fn run(&self, corpus: &Corpus) -> Tally {
        let panics: Arc<Mutex<Vec<String>>> = Arc::default();
        let kept = Arc::clone(&panics);
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            kept.lock().unwrap_or_else(PoisonError::into_inner).push(info.to_string());
        }));
        let tally = self.run_watched(corpus, &panics);
        panic::set_hook(before);
        tally
    }

    fn run_watched(&self, corpus: &Corpus, panics: &Mutex<Vec<String>>) -> Tally {
        let mut tally = Tally::default();
        let mut chance = Chance::new(self.seed);
        let start = Instant::now();
        let mut next = 0;
        while start.elapsed().as_secs_f64() < self.seconds {
            // Once as it stands, so that a corpus file that breaks something again is seen; then mutated.
            let (kind, input) = if let Some(seed) = corpus.seeds.get(next) {
                seed.clone()
            } else {
                // Every door gets its share, however many seeds it has; scripts, the widest one, a double share.
                let kind = [Kind::Script, Kind::Script, Kind::System, Kind::Value][chance.below(4)];
                let of_kind = corpus.of_kind(kind);
                let (seed, other) = (of_kind[chance.below(of_kind.len())], of_kind[chance.below(of_kind.len())]);
                (kind, mutated(seed, other, &corpus.words, &mut chance))
            };
            next += 1;
            let Some(answered) = watched(kind, &input) else {
                let what = format!("still running after {} s", HANG.as_secs());
                tally.failures.push(Failure { kind, input, what });
                return tally;
            };
            tally.executions[kind as usize] += 1;
            tally.answered[kind as usize] += u64::from(answered);
            for what in panics.lock().unwrap_or_else(PoisonError::into_inner).drain(..) {
                tally.failures.push(Failure { kind, input: input.clone(), what });
            }
        }
        tally
    }
}

/// Whether a door answered with a value; `None` when it did not answer at all.
fn watched(kind: Kind, input: &[u8]) -> Option<bool> {
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    let text = String::from_utf8_lossy(input).into_owned();
    let (send, receive) = std::sync::mpsc::channel();
    let name = format!("input {}", NUMBER.fetch_add(1, Ordering::Relaxed));
    let work = move || {
        let _ = send.send(answered(kind, &text));
    };
    // Two megabytes are what a thread has by default: system files must do with it.
    let Ok(thread) = std::thread::Builder::new().name(name).stack_size(2 << 20).spawn(work) else { return Some(false) };
    match receive.recv_timeout(HANG) {
        Ok(answered) => Some(answered),
        Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => {
            // The thread ended without a word: it panicked, and the hook has kept what it said.
            let _ = thread.join();
            Some(false)
        }
        Err(std::sync::mpsc::RecvTimeoutError::Timeout) => None,
    }
}

fn answered(kind: Kind, text: &str) -> bool {
    let limits = Limits { operations: 200_000, time: Some(CEILING), output: 1 << 16, memory: 32 << 20 };
    let config = Config { limits, ..Config::default() };
    match kind {
        Kind::System => match System::parse(text, "fuzzed") {
            Ok(system) => {
                for body in system.bodies() {
                    // Whatever parses must also answer for its bodies.
                    let _ = body.state(system.epoch());
                }
                true
            }
            Err(error) => {
                let _ = (error.message(), error.hint(), error.span());
                false
            }
        },
        Kind::Script => {
            let session = Session::new(config);
            let outcome = session.evaluate("fuzzed.rhai", text);
            for diagnostic in &outcome.diagnostics {
                let _ = (render(diagnostic, session.sources(), true), diagnostic.to_json());
            }
            outcome.ran()
        }
        Kind::Value => {
            let mut config = config;
            config.settings.inputs = vec![("knob".to_owned(), text.to_owned())];
            Session::new(config).evaluate("fuzzed.rhai", "input(\"knob\", 3.km)").ran()
        }
    }
}
