//! The interpreter as strangers' scripts may have it: no clock, no chance, no files but through the jail, every size
//! bounded.

use std::sync::Arc;

use rhai::packages::{
    BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage, BasicStringPackage, LanguageCorePackage,
    LogicPackage, MoreStringPackage, Package,
};
use rhai::{Array, Dynamic, Engine, EvalAltResult, ImmutableString, Map, OptimizationLevel, Position};

use crate::api;
use crate::modules::Jail;
use crate::run_state::RunState;

/// Levels of function calls.
pub const CALL_LEVELS: usize = 64;
/// Depth of an expression, within and outside of functions.
pub const EXPRESSION_DEPTH: usize = 64;
/// Elements of an array, nested ones counted.
pub const ARRAY_SIZE: usize = 10_000;
/// Entries of a map.
pub const MAP_SIZE: usize = 10_000;
/// Bytes of a text.
pub const TEXT_SIZE: usize = 256 << 10;
/// Stack of the thread a script runs on, bytes: nesting inside the limits overflows the usual 2 MiB and aborts.
pub const STACK: usize = 64 << 20;

/// Fixes the names that closures get, so that no text depends on the run.
pub fn fix_hashing() {
    // Fails only when it was set before, to the same.
    let _ = rhai::config::hashing::set_hashing_seed(Some([1, 2, 3, 4]));
}

/// An interpreter for one run, with every definition in it.
pub fn engine(run: &Arc<RunState>, jail: Jail, lines: bool) -> Engine {
    fix_hashing();
    let mut engine = Engine::new_raw();
    LanguageCorePackage::new().register_into_engine(&mut engine);
    LogicPackage::new().register_into_engine(&mut engine);
    BasicStringPackage::new().register_into_engine(&mut engine);
    MoreStringPackage::new().register_into_engine(&mut engine);
    BasicIteratorPackage::new().register_into_engine(&mut engine);
    BasicFnPackage::new().register_into_engine(&mut engine);
    BasicArrayPackage::new().register_into_engine(&mut engine);
    BasicMapPackage::new().register_into_engine(&mut engine);
    confine(&mut engine, run, lines);
    engine.set_module_resolver(jail);
    api::binding::register(&mut engine, run);
    engine
}

fn confine(engine: &mut Engine, run: &Arc<RunState>, lines: bool) {
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_strict_variables(true);
    engine.set_fail_on_invalid_map_property(true);
    // Only lines typed one after the other may take a name again.
    engine.set_allow_shadowing(lines);
    engine.set_fast_operators(false);
    engine.set_max_strings_interned(0);
    engine.set_max_call_levels(CALL_LEVELS);
    engine.set_max_expr_depths(EXPRESSION_DEPTH, EXPRESSION_DEPTH);
    engine.set_max_array_size(ARRAY_SIZE);
    engine.set_max_map_size(MAP_SIZE);
    engine.set_max_string_size(TEXT_SIZE);
    engine.set_max_variables(10_000);
    engine.set_max_functions(10_000);
    engine.set_max_modules(256);
    // Counted by the ceiling: the interpreter's own count starts again in every callback.
    engine.set_max_operations(0);
    engine.disable_symbol("eval");
    for name in ["sleep", "exit"] {
        for whole in [true, false] {
            let refuse = move || -> Result<Dynamic, Box<rhai::EvalAltResult>> {
                let help = if name == "sleep" {
                    "a rehearsal has no clock: coast instead"
                } else {
                    "end with `return`, or demand with `require`"
                };
                Err(api::fault::Fault::new(format!("`{name}` is not part of the language")).help(help).into_error())
            };
            if whole {
                engine.register_fn(name, move |_: i64| refuse());
            } else {
                engine.register_fn(name, move |_: f64| refuse());
            }
        }
        let refuse = move || -> Result<Dynamic, Box<rhai::EvalAltResult>> {
            Err(api::fault::Fault::new(format!("`{name}` is not part of the language")).into_error())
        };
        engine.register_fn(name, refuse);
        engine.register_fn(name, move |_: Dynamic| refuse());
    }
    weigh(engine, run);
    let ceiling = Arc::clone(&run.ceiling);
    engine.on_progress(move |_| if ceiling.count(1) { None } else { Some(Dynamic::UNIT) });
}

/// Weighs the variables at hand now and then: the interpreter does not see `map[key] = value` grow.
#[allow(deprecated, reason = "the interpreter calls this hook volatile, and it has no other that sees the variables")]
fn weigh(engine: &mut Engine, run: &Arc<RunState>) {
    let ceiling = Arc::clone(&run.ceiling);
    engine.on_var(move |_, _, context| {
        if ceiling.access() {
            let mut weight = Weight::default();
            for (_, _, value) in context.scope().iter_raw() {
                weight.add(value);
            }
            if !ceiling.weighed(weight.bytes, weight.items) {
                return Err(Box::new(EvalAltResult::ErrorTerminated(Dynamic::UNIT, Position::NONE)));
            }
        }
        Ok(None)
    });
}

#[derive(Default)]
struct Weight {
    bytes: u64,
    items: u64,
}

impl Weight {
    /// A text weighs its length; every value about as much as its place in a list or map.
    fn add(&mut self, value: &Dynamic) {
        self.items += 1;
        self.bytes += 64;
        if let Some(text) = value.read_lock::<ImmutableString>() {
            self.bytes += text.len() as u64;
        } else if let Some(list) = value.read_lock::<Array>() {
            list.iter().for_each(|item| self.add(item));
        } else if let Some(map) = value.read_lock::<Map>() {
            map.values().for_each(|item| self.add(item));
        }
    }
}
