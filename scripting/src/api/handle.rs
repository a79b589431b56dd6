//! The handle of a voyage: what scripts pass around, so that whoever is given one flies that very voyage.

use std::fmt::Write as _;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde_json::{Value, json};
use visviva_engine::arc::shoot::ShootError;
use visviva_engine::audit::Verdict;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::voyage::{Outcome, Voyage, VoyageError};

use super::audit_noun::entry_json;
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::ledger::row_json;
use super::noun::Noun;
use super::search::interrupted;
use super::vehicle::no_vehicle;
use crate::run_state::{AuditRow, LedgerRow, Rehearsed, RunState};

/// A voyage.
pub(super) const VOYAGE: Kind = Kind::Noun("Voyage");

/// A voyage by its handle: copies fly the same voyage.
#[derive(Clone)]
pub struct Handle {
    shared: Arc<Shared>,
}

struct Shared {
    voyage: Mutex<Voyage>,
    /// The depth of searches in which it was made; inside of a deeper one it is frozen.
    depth: usize,
    branches: AtomicUsize,
    /// Whether the script has asked how the voyage stands when it was lost already.
    asked: AtomicBool,
}

impl Handle {
    /// A new voyage of a run. One that is made inside of a search is only tried and stays out of the run's answer.
    pub(super) fn made(run: &Arc<RunState>, voyage: Voyage) -> Self {
        let handle = Self {
            shared: Arc::new(Shared {
                voyage: Mutex::new(voyage),
                depth: run.freeze_depth(),
                branches: AtomicUsize::new(0),
                asked: AtomicBool::new(false),
            }),
        };
        if run.freeze_depth() == 0 {
            run.add_voyage(Arc::new(handle.clone()));
        }
        handle
    }

    fn lock(&self) -> MutexGuard<'_, Voyage> {
        self.shared.voyage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The voyage as it is now. A copy costs nothing: the past is shared.
    pub fn voyage(&self) -> Voyage {
        self.lock().clone()
    }

    /// The voyage for a reading that tells how it stands.
    pub(super) fn asked(&self, run: &RunState) -> Voyage {
        let voyage = self.voyage();
        if matches!(voyage.outcome(), Outcome::Lost(_)) && !run.only_looking() {
            self.shared.asked.store(true, Ordering::SeqCst);
        }
        voyage
    }

    /// Takes another branch off.
    pub(super) fn branch(&self, run: &Arc<RunState>, name: Option<&str>) -> Self {
        let count = self.shared.branches.fetch_add(1, Ordering::SeqCst) + 1;
        let voyage = self.voyage();
        let named = name.map_or_else(|| format!("{}, branch {count}", voyage.name()), str::to_owned);
        Self::made(run, voyage.named(&named))
    }

    /// Whether a verb may change it here: not where a search tries things that it is outside of.
    fn check_free(&self, given: &Given) -> Result<(), Fault> {
        if given.run.freeze_depth() <= self.shared.depth {
            return Ok(());
        }
        let (name, word) = (Rehearsed::name(self), given.definition.name);
        Err(Fault::new(format!("`{name}` is frozen while a search is trying things: no `{word}` on it"))
            .note("this voyage was made outside of the closure")
            .help("write `let w = v.branch()` inside the closure, and fly `w`"))
    }

    /// Writes a note into its record, also when it is lost: then there is most to say.
    pub(super) fn note(&self, given: &Given, text: &str) -> Result<(), Fault> {
        self.check_free(given)?;
        self.lock().note(text);
        Ok(())
    }

    /// As [`Handle::act`], with a verb that changes another voyage too.
    pub(super) fn act_on_both<T>(
        &self,
        given: &Given,
        other: &Handle,
        verb: impl FnOnce(&mut Voyage, &mut Voyage, &Watch<'_>) -> Result<T, Fault>,
    ) -> Result<Option<T>, Fault> {
        if Arc::ptr_eq(&self.shared, &other.shared) {
            return Err(same_voyage(&Rehearsed::name(self)));
        }
        other.check_free(given)?;
        let mut theirs = other.voyage();
        let done = self.act(given, |voyage, watch| verb(voyage, &mut theirs, watch))?;
        if done.is_some() {
            *other.lock() = theirs;
        }
        Ok(done)
    }

    /// Lets a verb act on a copy and keeps the copy when it has completed. `None`: the voyage is lost, the script knows it, and
    /// nothing happens.
    pub(super) fn act<T>(
        &self,
        given: &Given,
        verb: impl FnOnce(&mut Voyage, &Watch<'_>) -> Result<T, Fault>,
    ) -> Result<Option<T>, Fault> {
        self.check_free(given)?;
        let mut work = self.voyage();
        if let Outcome::Lost(loss) = work.outcome() {
            if self.shared.asked.load(Ordering::SeqCst) {
                return Ok(None);
            }
            return Err(refused(&VoyageError::Lost { when: loss.epoch, why: loss.sentence() }));
        }
        let stopped = || given.run.stopped();
        let done = verb(&mut work, &Watch::new(&stopped));
        if stopped() {
            return Err(interrupted());
        }
        let answer = done?;
        *self.lock() = work;
        Ok(Some(answer))
    }
}

/// The refusal of a verb on another voyage that is out of reach here.
fn same_voyage(name: &str) -> Fault {
    Fault::new(format!("`{name}` cannot join itself")).at(0)
}

/// What a voyage refuses, with what to do.
pub(super) fn refused(error: &VoyageError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        VoyageError::Vehicle(error) => no_vehicle(error),
        VoyageError::Ascent(error) => super::ascent::no_ascent(error),
        VoyageError::Lost { .. } => {
            fault.help("ask first: if v.outcome == \"under way\" { ... }; or take a `v.branch()` before the risk")
        }
        VoyageError::Past { .. } => fault.help("a verb acts now or later: write an epoch after `v.epoch`"),
        VoyageError::WrongPlace { verb, .. } if *verb == "coast_to" => {
            fault.help("there it can only wait: v.coast(2.hours), or v.coast_to(epoch)")
        }
        VoyageError::NoFlight => fault.help("take off first: v.ascend(#{ ... }), or draw picture(\"system\", v)"),
        VoyageError::WrongPlace { .. } => fault.help("`v.place` tells where it is"),
        VoyageError::BadTime { .. } => fault.help("write a time of zero or more: v.coast(2.days)"),
        VoyageError::NoEvent { .. } => fault.help("wait longer with #{ within: 20.years }, or coast to something else"),
        VoyageError::NotAsPlanned { .. } => {
            fault.help("plan the burn on `v.orbit`, or start the voyage on the orbit it was planned for")
        }
        VoyageError::Joined { to, .. } => {
            fault.help(format!("fly `{to}`, which carries it; `release` lets it go again"))
        }
        VoyageError::NotTogether { .. } => fault.help("both must be about the same body: coast or capture there first"),
        VoyageError::OtherBody { .. } => fault.help("coast to the body first, or plan the burn on `v.orbit`"),
        VoyageError::Shoot(ShootError::AboveTheBurn { .. }) => fault
            .help("coast farther out first: v.coast_to(\"apoapsis\"), or correct #{ at } an epoch when it is there"),
        VoyageError::Shoot(ShootError::Inclination { declination_deg, .. }) => fault.help(format!(
            "ask for {least:.3} to {most:.3} degrees, or leave `inclination` out",
            // Rounded inwards, so that what is told is taken.
            least = (declination_deg.abs() * 1e3).ceil() / 1e3,
            most = 180.0 - (declination_deg.abs() * 1e3).ceil() / 1e3,
        )),
        VoyageError::OutsideTheRecord { .. } => fault.help("write an epoch from the voyage's start to `v.epoch`"),
        _ => fault,
    }
}

impl Noun for Handle {
    const NAME: &'static str = "Voyage";
    const ABOUT: &'static str =
        "One rehearsal, leg after leg. A copy is the same voyage; `v.branch()` takes another one off.";

    fn show(&self) -> String {
        let voyage = self.voyage();
        let mut text = format!(
            "voyage {}: {}, {} at {}, {}, {} left",
            voyage.name(),
            voyage.outcome().name(),
            voyage.placed(),
            super::table::date(voyage.epoch()),
            visviva_engine::quantity::Quantity::mass(voyage.mass()).show(),
            visviva_engine::quantity::Quantity::speed(voyage.dv_left()).show(),
        );
        if let Some(why) = voyage.why() {
            let _ = write!(text, "\n  {}: {why}", voyage.outcome().name());
        }
        text
    }

    fn to_json(&self) -> Value {
        let voyage = self.voyage();
        json!({
            "voyage": voyage.name(), "outcome": voyage.outcome().name(), "why": voyage.why(),
            "epoch": Noun::to_json(&voyage.epoch()), "body": voyage.body().name(),
            "mass": { "value": voyage.mass(), "unit": "kg" }, "dv_left": { "value": voyage.dv_left(), "unit": "m/s" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(Arc::ptr_eq(&self.shared, &other.shared))
    }
}

impl Rehearsed for Handle {
    fn name(&self) -> String {
        self.lock().name().to_owned()
    }

    fn outcome(&self) -> String {
        self.lock().outcome().name().to_owned()
    }

    fn why(&self) -> Option<String> {
        self.lock().why()
    }

    fn excused(&self) -> bool {
        self.shared.asked.load(Ordering::SeqCst) || self.shared.branches.load(Ordering::SeqCst) > 0
    }

    fn ledger(&self) -> Vec<LedgerRow> {
        let ledger = self.lock().ledger();
        ledger.rows.iter().map(|row| LedgerRow { leg: row.leg.clone(), json: row_json(row) }).collect()
    }

    fn audit(&self) -> Vec<AuditRow> {
        let audit = self.lock().audit();
        audit
            .entries()
            .iter()
            .map(|entry| AuditRow {
                leg: entry.leg.clone(),
                law: entry.law.name().to_owned(),
                failed: entry.verdict != Verdict::Good,
                json: entry_json(entry),
            })
            .collect()
    }

    fn show(&self) -> String {
        let (ledger, audit) = {
            let voyage = self.lock();
            (voyage.ledger(), voyage.audit())
        };
        let mut text = Noun::show(self);
        // A voyage that never flew has nothing to show in tables.
        if !ledger.rows.is_empty() {
            let _ = write!(text, "\n\nledger\n{}", ledger.show());
        }
        if !audit.entries().is_empty() {
            let _ = write!(text, "\n\naudit\n{}", audit.show());
        }
        text
    }
}
