//! Ceilings that end a run: operations, wall clock, output, interruption. Counted here and not by the interpreter, whose
//! own count starts from zero in every callback.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// How much a run may use.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Operations of the interpreter, callbacks included.
    pub operations: u64,
    /// Wall clock; `None` where answers must not depend on it.
    pub time: Option<Duration>,
    /// Bytes that a script may print.
    pub output: u64,
    /// Bytes that the values of a script may hold at a time, roughly.
    pub memory: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { operations: 200_000_000, time: None, output: 4 << 20, memory: 256 << 20 }
    }
}

/// Why a run was ended from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// The ceiling on operations.
    Operations,
    /// The ceiling on wall-clock time.
    Time,
    /// The ceiling on printed bytes.
    Output,
    /// The ceiling on memory.
    Memory,
    /// Somebody pressed Ctrl-C.
    Interrupted,
}

/// The counters of one run.
#[derive(Debug)]
pub struct Ceiling {
    limits: Limits,
    operations: AtomicU64,
    output: AtomicU64,
    accesses: AtomicU64,
    reached: AtomicU8,
    /// Milliseconds from `from`; the largest number where there is no limit.
    until: AtomicU64,
    from: Instant,
    interrupt: Arc<AtomicBool>,
}

impl Ceiling {
    /// Starts to count, and the clock when there is a limit on it.
    pub fn new(limits: Limits, interrupt: Arc<AtomicBool>) -> Self {
        let made = Self {
            limits,
            operations: AtomicU64::new(0),
            output: AtomicU64::new(0),
            accesses: AtomicU64::new(0),
            reached: AtomicU8::new(0),
            until: AtomicU64::new(u64::MAX),
            from: Instant::now(),
            interrupt,
        };
        made.restart();
        made
    }

    /// Counts from nothing again: for the next line of a REPL.
    pub fn restart(&self) {
        self.operations.store(0, Ordering::Relaxed);
        self.output.store(0, Ordering::Relaxed);
        self.reached.store(0, Ordering::Relaxed);
        if let Some(time) = self.limits.time {
            let until = self.from.elapsed().saturating_add(time).as_millis();
            self.until.store(u64::try_from(until).unwrap_or(u64::MAX), Ordering::Relaxed);
        }
    }

    /// Counts operations; false when the run has to end.
    pub fn count(&self, operations: u64) -> bool {
        let before = self.operations.fetch_add(operations, Ordering::Relaxed);
        let now = before + operations;
        if now > self.limits.operations {
            return self.end(Reached::Operations);
        }
        // Reading the clock costs more than an operation.
        if (before >> 8) == (now >> 8) { self.reached().is_none() } else { self.allowed() }
    }

    /// Counts printed bytes; false when the run has to end.
    pub fn print(&self, bytes: usize) -> bool {
        let before = self.output.fetch_add(bytes as u64, Ordering::Relaxed);
        if before + bytes as u64 > self.limits.output { self.end(Reached::Output) } else { true }
    }

    /// Counts an access to a variable; true at every thousandth, when the values have to be weighed.
    pub fn access(&self) -> bool {
        self.accesses.fetch_add(1, Ordering::Relaxed) % 1000 == 999
    }

    /// Takes the weight of the values at hand, bytes, and charges the weighing; false when the run has to end.
    pub fn weighed(&self, bytes: u64, items: u64) -> bool {
        if bytes > self.limits.memory { self.end(Reached::Memory) } else { self.count(items / 10) }
    }

    /// Whether the run may go on, without counting. Long native loops poll it.
    pub fn allowed(&self) -> bool {
        if self.interrupt.load(Ordering::Relaxed) {
            return self.end(Reached::Interrupted);
        }
        if self.limits.time.is_some()
            && self.from.elapsed().as_millis() >= u128::from(self.until.load(Ordering::Relaxed))
        {
            return self.end(Reached::Time);
        }
        self.reached().is_none()
    }

    /// Goes on after Ctrl-C, where that was meant for a search that answers what it has. False where another ceiling was
    /// reached: that one stands.
    pub fn resume(&self) -> bool {
        if self.reached() != Some(Reached::Interrupted) {
            return false;
        }
        self.interrupt.store(false, Ordering::SeqCst);
        self.reached.store(0, Ordering::SeqCst);
        true
    }

    fn end(&self, why: Reached) -> bool {
        let code = match why {
            Reached::Operations => 1,
            Reached::Time => 2,
            Reached::Output => 3,
            Reached::Interrupted => 4,
            Reached::Memory => 5,
        };
        // The first reason stays.
        let _ = self.reached.compare_exchange(0, code, Ordering::Relaxed, Ordering::Relaxed);
        false
    }

    /// Why the run has to end, if it has to.
    pub fn reached(&self) -> Option<Reached> {
        match self.reached.load(Ordering::Relaxed) {
            1 => Some(Reached::Operations),
            2 => Some(Reached::Time),
            3 => Some(Reached::Output),
            4 => Some(Reached::Interrupted),
            5 => Some(Reached::Memory),
            _ => None,
        }
    }

    /// The limits.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Operations counted so far.
    pub fn operations(&self) -> u64 {
        self.operations.load(Ordering::Relaxed)
    }
}
