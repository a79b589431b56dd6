//! Puts the definitions into the interpreter. The only code that touches argument lists.
//!
//! One adapter on `Dynamic` for each word and number of arguments; it finds the definition by the receiver's noun, holds
//! the arguments against the parameters and calls. Whole and fractional numbers are accepted alike.

use std::any::TypeId;
use std::sync::Arc;

use rhai::{Dynamic, Engine, EvalAltResult, FuncRegistration, Module, NativeCallContext, RhaiFunc};
use visviva_engine::quantity::{self, Quantity, Unit};

use super::catalogue::catalogue;
use super::definition::{Answer, Definition, Form};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::{NOUNS, options, value};
use crate::diagnostic::nearest::nearest;
use crate::run_state::RunState;

type Arguments<'a, 'b> = &'a [&'b mut Dynamic];

/// Registers every noun, definition, unit and operator.
pub fn register(engine: &mut Engine, run: &Arc<RunState>) {
    for noun in NOUNS {
        (noun.register)(engine);
    }
    engine.register_type_with_name::<Quantity>("quantity");
    engine.register_type_with_name::<super::fault::Complaint>("error");
    let mut module = Module::new();
    for form in [Form::Function, Form::Method] {
        for (word, entries) in catalogue().words(form) {
            register_word(&mut module, word, entries, run);
        }
    }
    for (word, entries) in catalogue().words(Form::Property) {
        register_property(&mut module, word, Some(entries), run);
    }
    for word in quantity::units().iter().flat_map(Unit::properties) {
        if !catalogue().named(word).iter().any(|entry| entry.form == Form::Property) {
            register_property(&mut module, word, None, run);
        }
    }
    engine.register_global_module(module.into());
    super::printing::register(engine);
    super::operators::register(engine);
}

fn set(
    module: &mut Module,
    name: FuncRegistration,
    count: usize,
    pure: bool,
    call: impl Fn(&NativeCallContext, Arguments) -> Result<Dynamic, Box<EvalAltResult>> + Send + Sync + 'static,
) {
    let func = move |context: Option<NativeCallContext>, arguments: &mut [&mut Dynamic]| match context {
        Some(context) => call(&context, arguments),
        None => Err("called without its context".into()),
    };
    let types = vec![TypeId::of::<Dynamic>(); count];
    name.in_global_namespace().set_into_module_raw(
        module,
        types,
        RhaiFunc::Method { func: Arc::new(func), has_context: true, is_pure: pure, is_volatile: true },
    );
}

fn register_word(
    module: &mut Module,
    word: &'static str,
    entries: &'static [&'static Definition],
    run: &Arc<RunState>,
) {
    let mut counts: Vec<usize> = Vec::new();
    for entry in entries.iter().filter(|entry| entry.form != Form::Property) {
        let receiver = usize::from(entry.form == Form::Method);
        let (least, most) = entry.arity();
        counts.extend(least + receiver..=most + receiver);
    }
    counts.sort_unstable();
    counts.dedup();
    let pure = !entries.iter().any(|entry| entry.changes);
    for count in counts {
        let run = Arc::clone(run);
        set(module, FuncRegistration::new(word), count, pure, move |context, arguments| {
            let definition = choose(word, entries, arguments).map_err(Fault::into_error)?;
            perform(definition, &run, context, arguments).map_err(Fault::into_error)
        });
    }
}

/// The definition that a call means: the receiver's method, else the free function.
fn choose(word: &str, entries: &[&'static Definition], arguments: Arguments) -> Result<&'static Definition, Fault> {
    let noun = arguments.first().and_then(|first| value::noun_of(first));
    let fits = |entry: &Definition| {
        let receiver = usize::from(entry.form == Form::Method);
        let (least, most) = entry.arity();
        (least + receiver..=most + receiver).contains(&arguments.len())
    };
    let method = |entry: &&&'static Definition| entry.form == Form::Method && entry.noun == noun && noun.is_some();
    let function = |entry: &&&'static Definition| entry.form == Form::Function;
    // `body.orbit(epoch)` and `orbit(body, elements)` arrive here alike: the kinds of the arguments tell them apart.
    let accepts = |entry: &Definition| {
        let given = arguments.iter().skip(usize::from(entry.form == Form::Method));
        entry.parameters.iter().zip(given).all(|(parameter, value)| parameter.kind.accepts(value))
    };
    let candidates = || {
        let methods = entries.iter().filter(method).filter(|entry| fits(entry));
        methods.chain(entries.iter().filter(function).filter(|entry| fits(entry)))
    };
    if let Some(found) = candidates().find(|entry| accepts(entry)) {
        return Ok(found);
    }
    let forms: Vec<String> = candidates().map(|entry| entry.signature()).collect();
    match candidates().next() {
        Some(_) if forms.len() > 1 => {
            let got: Vec<String> = arguments.iter().map(|value| value::describe(value)).collect();
            return Err(Fault::new(format!("`{word}` does not work on {}", got.join(" and ")))
                .help(format!("it is written {}", forms.join(" or "))));
        }
        Some(only) => return Ok(only),
        None => {}
    }
    if let Some(known) = entries.iter().find(method).or_else(|| entries.iter().find(function)) {
        return Err(wrong_count(known, arguments.len() - usize::from(known.form == Form::Method)));
    }
    let receiver = arguments.first().map_or("nothing".to_owned(), |first| value::describe(first));
    let owners: Vec<&str> = entries.iter().filter_map(|entry| entry.noun).collect();
    Err(Fault::new(format!("{receiver} has no `{word}`")).help(format!("`{word}` belongs to: {}", owners.join(", "))))
}

/// The message for a wrong number of arguments.
pub(crate) fn wrong_count(definition: &Definition, given: usize) -> Fault {
    let (least, most) = definition.arity();
    let takes = if least == most { format!("{least}") } else { format!("{least} to {most}") };
    let plural = if most == 1 { "argument" } else { "arguments" };
    let missing = definition.parameters.get(given).filter(|parameter| parameter.required);
    let fault = Fault::new(format!("`{}` takes {takes} {plural}, got {given}", definition.name))
        .help(format!("it is written {}", definition.signature()));
    match missing {
        Some(parameter) => fault.note(format!("`{}` is missing: {}", parameter.name, parameter.about)),
        None => fault,
    }
}

/// Checks the arguments and calls.
fn perform(
    definition: &'static Definition,
    run: &Arc<RunState>,
    context: &NativeCallContext,
    arguments: Arguments,
) -> Answer {
    let given = Given { run, context, definition, values: arguments };
    let method = definition.form == Form::Method;
    let mark = |fault: Fault| fault.of_method(method);
    check(&given).map_err(mark)?;
    let answer = (definition.call)(&given).map_err(mark)?;
    if value::is_finite(&answer) {
        Ok(answer)
    } else {
        Err(Fault::new(format!("`{}` has no finite answer here", definition.name)).of_method(method))
    }
}

fn check(given: &Given) -> Result<(), Fault> {
    for (index, parameter) in given.definition.parameters.iter().enumerate() {
        if !given.has(index) {
            break;
        }
        let value = given.value(index)?;
        if !value::is_finite(value) {
            return Err(Fault::new(format!(
                "`{}`: `{}` is not a finite number",
                given.definition.name, parameter.name
            ))
            .at(index));
        }
        if !parameter.kind.accepts(value) {
            return Err(wrong_kind(given.definition.name, parameter.name, &parameter.kind, value).at(index));
        }
        let keys = parameter.kind.options();
        if let (Some(keys), Some(map)) = (keys, value.read_lock::<rhai::Map>()) {
            options::check(given.definition.name, index, keys, &map)?;
        }
    }
    Ok(())
}

fn wrong_kind(word: &str, parameter: &str, kind: &Kind, value: &Dynamic) -> Fault {
    let fault =
        Fault::new(format!("`{word}`: `{parameter}` expects {}, got {}", kind.describe(), value::describe(value)));
    let fault = match value::scalar(value) {
        Some(_) => fault.note(format!("this is {}", value::show(value))),
        None => fault,
    };
    match kind.write_instead(value) {
        Some(write) => fault.help(format!("write {write}")),
        None => fault,
    }
}

fn register_property(
    module: &mut Module,
    word: &'static str,
    entries: Option<&'static [&'static Definition]>,
    run: &Arc<RunState>,
) {
    let entries = entries.unwrap_or_default();
    let unit = Unit::by_property(word);
    let run = Arc::clone(run);
    set(module, FuncRegistration::new_getter(word), 1, true, move |context, arguments| {
        read_property(word, entries, unit, &run, context, arguments).map_err(Fault::into_error)
    });
}

fn read_property(
    word: &str,
    entries: &[&'static Definition],
    unit: Option<&'static Unit>,
    run: &Arc<RunState>,
    context: &NativeCallContext,
    arguments: Arguments,
) -> Answer {
    let Some(receiver) = arguments.first() else {
        return Err(Fault::new("there is no receiver"));
    };
    let noun = value::noun_of(receiver);
    if let Some(entry) =
        entries.iter().find(|entry| entry.form == Form::Property && entry.noun == noun && noun.is_some())
    {
        return perform(entry, run, context, arguments);
    }
    if let (Some(unit), Some(number)) = (unit, value::number(receiver)) {
        let made = unit.to_si(number);
        if !made.is_finite() {
            return Err(Fault::new(format!("{} {} is too large", value::show(receiver), unit.name)));
        }
        return Ok(value::quantity(Quantity::new(made, unit.dimension)));
    }
    if let Some(entry) = value::entry_of(receiver) {
        if let Some(answer) = (entry.member)(receiver, word) {
            return answer;
        }
        return Err(no_property(entry.name, word, &(entry.members)(receiver)));
    }
    if unit.is_some() {
        let fault =
            Fault::new(format!("`{word}` is a unit: it follows a bare number, not {}", value::describe(receiver)));
        return Err(if noun == Some("quantity") {
            fault.help(format!("for the bare number write .to(\"{}\")", unit.map_or(word, |unit| unit.name)))
        } else {
            fault
        });
    }
    Err(no_property(noun.unwrap_or("value"), word, &[]))
}

/// The message for a property that a noun does not have.
pub(crate) fn no_property(noun: &str, word: &str, members: &[String]) -> Fault {
    let fault = Fault::new(format!("{} has no `{word}`", value::with_article(noun)));
    let own = catalogue().members(noun);
    if let Some(method) = own.iter().find(|entry| entry.form == Form::Method && entry.name == word) {
        let example = if method.parameters.is_empty() { "()" } else { "(...)" };
        return fault.note("it is a method").help(format!("write {word}{example}"));
    }
    let names = own.iter().map(|entry| entry.name).chain(members.iter().map(String::as_str));
    match nearest(word, names) {
        Some(near) => fault.note(format!("did you mean `{near}`?")),
        None if own.is_empty() => fault,
        None => fault.help(format!("help(\"{noun}\") lists what there is")),
    }
}
