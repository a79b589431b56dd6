//! How the interpreter turns values into text: in `print`, in `"..." + x`, in `${x}`.

use std::any::TypeId;

use rhai::{Array, Dynamic, Engine, FLOAT, ImmutableString, Map, NativeCallContext};
use visviva_engine::quantity::Quantity;

use super::fault::Complaint;
use super::value;

/// Replaces the interpreter's own texts for numbers, lists and maps, and adds those for quantities and errors.
pub(super) fn register(engine: &mut Engine) {
    let types = [
        TypeId::of::<FLOAT>(),
        TypeId::of::<Array>(),
        TypeId::of::<Map>(),
        TypeId::of::<Quantity>(),
        TypeId::of::<Dynamic>(),
    ];
    for name in ["to_string", "to_debug", "print", "debug"] {
        for id in types {
            engine.register_raw_fn(name, [id], |_: NativeCallContext, arguments: &mut [&mut Dynamic]| {
                let text = arguments.first().map(|value| value::show(value)).unwrap_or_default();
                Ok(ImmutableString::from(text))
            });
        }
        engine.register_fn(name, |error: &mut Complaint| error.what.clone());
    }
    // What a `catch (e)` can read.
    engine.register_get("message", |error: &mut Complaint| error.what.clone());
    engine.register_get("hint", |error: &mut Complaint| error.help.clone().unwrap_or_default());
    engine.register_get("error", |error: &mut Complaint| error.what.clone());
}
