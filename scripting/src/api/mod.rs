//! The words of the language: one definition for each, read by everything.
//!
//! # How to add a noun
//!
//! A noun is one file here; `vector.rs` is the model. Four steps:
//!
//! 1. **The type.** `impl Noun for Orbit { const NAME: &str = "Orbit"; const ABOUT; fn show; fn to_json; }` on the engine's
//!    type (or on a handle of yours around it). The type must be `Clone + Send + Sync`. Optional: `member(name)` and
//!    `members()` for members that are found by name (`sys.Veyra`), `same(other)` for `==`.
//! 2. **The table.** `pub(super) const TABLE: &[Definition] = &[...]`. An entry begins with its documentation and ends with
//!    `..Definition::function("circular", |given| ...)`, `..Definition::method("Orbit", "at", |given| ...)` or
//!    `..Definition::property("Orbit", "period", |given| ...)`. Arguments were checked against `parameters` before the call:
//!    read them with `given.noun::<Body>(0)?`, `given.length(1)?` (SI), `given.epoch(2)?`, `given.has(2)` for an optional one;
//!    the receiver with `given.this::<Orbit>()?`. Kinds: `LENGTH`, `TIME`, `EPOCH`, ... of `kind.rs`, `Kind::Noun("Body")`,
//!    `Kind::Of(Dimension)`, `Kind::Options(KEYS)` with `const KEYS: &[Parameter]` (unknown, missing and wrong keys are refused
//!    before the call; read them with `let options = given.options(0)?; options.si("altitude")?` → `Option<f64>`).
//! 3. **Answers.** `Ok(value::noun(orbit))`, `Ok(value::quantity(Quantity::length(m)))`, `Ok(value::text("..."))`,
//!    `Ok(Dynamic::from_float(x))`, `Ok(Dynamic::from_array(list))`. Errors: `?` on any engine error, or
//!    `Err(Fault::new("what").note("why here").help("what to write").at(argument))`, `options.fault("key", "what")`.
//! 4. **Here.** `mod orbit;`, its `TABLE` in [`TABLES`], `NounEntry::of::<Orbit>()` in [`NOUNS`].
//!
//! Every entry needs a summary, an `about` for each parameter, `see_also` that exists, and an example that runs.
//! After a change run `visviva doc --write docs/reference` and `cargo test -p visviva-tests --test definitions`.
//! A verb that changes its receiver sets `changes: true`. A closure argument is called with `given.call(&function, (x,))?`.
//! A voyage implements `Rehearsed` on its handle, is told to the run with `given.run.add_voyage(Arc::new(handle))`, keeps
//! `given.run.freeze_depth()` when it is made and refuses its verbs while that depth is greater; a search of yours holds
//! `let _frozen = given.run.freeze();`. Native loops poll `Watch::new(&|| given.run.stopped())`. Results go out by
//! `given.run.save("name.svg", bytes)`, a script's own files come in by `modules::read_below(folder, name)`.

pub mod binding;
pub mod catalogue;
pub mod definition;
pub mod fault;
pub mod given;
pub mod help;
pub mod kind;
pub mod noun;
pub mod operators;
pub mod options;
mod printing;
pub mod value;

pub mod epoch;
pub mod maths;
mod minimum;
pub mod rehearsal;
pub mod search;
pub mod trigonometry;
mod unknowns;
pub mod vector;

mod afloat;
mod afloat_readings;
pub mod aims;
mod air;
pub mod approach;
pub mod arc;
mod ascent;
mod ascent_picture;
mod ascent_readings;
pub mod assist;
mod assist_readings;
mod audit_noun;
mod body;
pub mod body_themes;
pub mod budget;
mod budget_readings;
pub mod budget_tables;
mod burn;
mod capture;
mod cell;
pub mod chase;
mod clearance;
pub mod corrections;
mod cut_off;
mod diving;
mod docking;
pub mod elements;
mod engine_size;
mod equipment;
pub mod failures;
pub mod finite;
pub mod flyby;
mod grid;
mod grid_picture;
mod grid_readings;
pub mod handle;
mod insertion;
pub mod ladder;
mod ledger;
pub mod meet;
mod orbit;
mod orbit_motion;
mod orbit_readings;
mod phasing;
pub mod picture;
mod plan;
mod porkchop;
mod purses;
mod refusal;
pub mod return_windows;
mod save;
mod separations;
mod site;
mod sizing;
pub mod system;
mod table;
mod tour;
mod tour_noun;
mod tour_readings;
mod track;
pub mod tuning;
mod vehicle;
mod vehicle_file;
mod voyage;
mod voyage_verbs;
pub mod windows;
mod windows_readings;
mod windows_table;

use self::definition::Definition;
use self::noun::NounEntry;

/// The tables of all definitions, in the order in which the reference shows them.
pub const TABLES: &[&[Definition]] = &[
    rehearsal::TABLE,
    epoch::TABLE,
    maths::TABLE,
    trigonometry::TABLE,
    vector::TABLE,
    search::TABLE,
    help::TABLE,
    system::TABLE,
    body::TABLE,
    body_themes::TABLE,
    site::TABLE,
    air::TABLE,
    afloat::TABLE,
    afloat_readings::TABLE,
    diving::TABLE,
    orbit::TABLE,
    orbit_readings::TABLE,
    elements::TABLE,
    orbit_motion::TABLE,
    burn::TABLE,
    finite::TABLE,
    cut_off::TABLE,
    engine_size::TABLE,
    vehicle::TABLE,
    ladder::TABLE,
    failures::TABLE,
    purses::TABLE,
    sizing::TABLE,
    voyage::TABLE,
    voyage_verbs::TABLE,
    ascent::TABLE,
    ascent_readings::TABLE,
    insertion::TABLE,
    separations::TABLE,
    clearance::TABLE,
    docking::TABLE,
    aims::TABLE,
    ledger::TABLE,
    audit_noun::TABLE,
    track::TABLE,
    picture::TABLE,
    save::TABLE,
    plan::TABLE,
    phasing::TABLE,
    arc::TABLE,
    flyby::TABLE,
    approach::TABLE,
    assist::TABLE,
    assist_readings::TABLE,
    meet::TABLE,
    chase::TABLE,
    return_windows::TABLE,
    windows::TABLE,
    capture::TABLE,
    windows_readings::TABLE,
    windows_table::TABLE,
    porkchop::TABLE,
    grid_readings::TABLE,
    cell::TABLE,
    budget::TABLE,
    budget_readings::TABLE,
    budget_tables::TABLE,
    tour::TABLE,
    tour_readings::TABLE,
    tuning::TABLE,
    corrections::TABLE,
];

/// All nouns.
pub const NOUNS: &[NounEntry] = &[
    NounEntry::of::<visviva_engine::time::Epoch>(),
    NounEntry::of::<vector::Vector>(),
    NounEntry::of::<search::Solution>(),
    NounEntry::of::<visviva_engine::system::System>(),
    NounEntry::of::<visviva_engine::system::Body>(),
    NounEntry::of::<body_themes::Shape>(),
    NounEntry::of::<body_themes::Spin>(),
    NounEntry::of::<body_themes::Gravity>(),
    NounEntry::of::<visviva_engine::system::Air>(),
    NounEntry::of::<visviva_engine::system::Sea>(),
    NounEntry::of::<visviva_engine::sea_flight::FloatingCraft>(),
    NounEntry::of::<visviva_engine::sea_flight::Floating>(),
    NounEntry::of::<visviva_engine::sea_flight::Dived>(),
    NounEntry::of::<visviva_engine::system::Site>(),
    NounEntry::of::<visviva_engine::orbit::Orbit>(),
    NounEntry::of::<elements::Elements>(),
    NounEntry::of::<visviva_engine::burn::Burn>(),
    NounEntry::of::<finite::Planned>(),
    NounEntry::of::<visviva_engine::vehicle::Vehicle>(),
    NounEntry::of::<ladder::Ladder>(),
    NounEntry::of::<failures::Failures>(),
    NounEntry::of::<visviva_engine::vehicle::Purses>(),
    NounEntry::of::<visviva_engine::vehicle::sizing::Split>(),
    NounEntry::of::<handle::Handle>(),
    NounEntry::of::<visviva_engine::voyage::Ascended>(),
    NounEntry::of::<visviva_engine::voyage::Separated>(),
    NounEntry::of::<visviva_engine::voyage::Clearance>(),
    NounEntry::of::<visviva_engine::voyage::Ending>(),
    NounEntry::of::<visviva_engine::arc::shoot::Aim>(),
    NounEntry::of::<aims::Occasion>(),
    NounEntry::of::<visviva_engine::voyage::Ledger>(),
    NounEntry::of::<visviva_engine::audit::Audit>(),
    NounEntry::of::<visviva_engine::burn::sequence::Sequence>(),
    NounEntry::of::<arc::Arc>(),
    NounEntry::of::<flyby::Flyby>(),
    NounEntry::of::<approach::Approach>(),
    NounEntry::of::<assist::Assist>(),
    NounEntry::of::<meet::Rendezvous>(),
    NounEntry::of::<chase::Chase>(),
    NounEntry::of::<return_windows::ReturnWindow>(),
    NounEntry::of::<visviva_engine::voyage::Track>(),
    NounEntry::of::<picture::Picture>(),
    NounEntry::of::<windows::Window>(),
    NounEntry::of::<grid::Grid>(),
    NounEntry::of::<visviva_engine::arc::porkchop::Cell>(),
    NounEntry::of::<budget::Budget>(),
    NounEntry::of::<budget_tables::Budgets>(),
    NounEntry::of::<budget_tables::Beside>(),
    NounEntry::of::<visviva_engine::arc::tour::Tour>(),
    NounEntry::of::<tuning::FineTuning>(),
    NounEntry::of::<tuning::Scatter>(),
    NounEntry::of::<corrections::Corrections>(),
];
