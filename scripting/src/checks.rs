//! What can be said about a compiled script without running it.

use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Expr, FnCallExpr, Position, Stmt};
use visviva_engine::quantity::{Unit, units};

use crate::api::binding::wrong_count;
use crate::api::catalogue::catalogue;
use crate::api::definition::Form;
use crate::api::fault::Fault;
use crate::diagnostic::nearest::nearest;
use crate::diagnostic::reword::BUILT_IN;
use crate::diagnostic::source::Sources;
use crate::diagnostic::{Diagnostic, parsing};

/// Errors and warnings of a compiled text, in the order of the text.
pub fn check(ast: &AST, file: &str, sources: &Sources) -> Vec<Diagnostic> {
    let text = sources.get(file).unwrap_or_default().text;
    let functions: BTreeSet<String> = ast.iter_functions().map(|function| function.name.to_owned()).collect();
    let mut found: Vec<Diagnostic> = Vec::new();
    ast.walk(&mut |path: &[ASTNode]| {
        match path.last() {
            Some(ASTNode::Expr(Expr::FnCall(call, position)) | ASTNode::Stmt(Stmt::FnCall(call, position))) => {
                found.extend(call_of_function(call, &functions, &text).map(|made| made.at(sources, file, *position)));
                found.extend(odd_operator(call, *position).map(|made| made.at(sources, file, *position)));
            }
            Some(ASTNode::Expr(Expr::MethodCall(call, position))) => {
                found.extend(call_of_method(call, &functions).map(|made| made.at(sources, file, *position)));
            }
            Some(ASTNode::Expr(Expr::Property(property, position))) => {
                found.extend(property_of_nothing(&property.2, &text).map(|made| made.at(sources, file, *position)));
            }
            _ => {}
        }
        true
    });
    found.sort_by_key(|made| made.place.as_ref().map(|place| (place.line, place.column)));
    found.dedup();
    found
}

fn is_word(name: &str) -> bool {
    name.starts_with(|character: char| character.is_alphabetic() || character == '_') && !name.contains('$')
}

fn call_of_function(call: &FnCallExpr, functions: &BTreeSet<String>, text: &str) -> Option<Diagnostic> {
    let name = call.name.as_str();
    if !is_word(name) || !call.namespace.is_empty() || call.op_token.is_some() {
        return None;
    }
    if functions.contains(name) || BUILT_IN.contains(&name) || ["sleep", "exit", "in"].contains(&name) {
        return None;
    }
    let known = catalogue().named(name);
    let Some(definition) = known.iter().find(|entry| entry.form != Form::Property) else {
        let made = Diagnostic::error(format!("there is no function `{name}`"));
        let words = catalogue().all().filter(|entry| entry.form != Form::Property).map(|entry| entry.name);
        let own = parsing::declared(text);
        return Some(
            match nearest(name, words.chain(functions.iter().map(String::as_str)).chain(own.iter().map(String::as_str)))
            {
                Some(near) => made.note(format!("did you mean `{near}`?")),
                None => made.help("`visviva doc` lists what there is"),
            },
        );
    };
    let fits = known.iter().filter(|entry| entry.form != Form::Property).any(|entry| {
        let receiver = usize::from(entry.form == Form::Method);
        let (least, most) = entry.arity();
        (least + receiver..=most + receiver).contains(&call.args.len())
    });
    if fits { None } else { Some(counted(definition, call.args.len())) }
}

fn call_of_method(call: &FnCallExpr, functions: &BTreeSet<String>) -> Option<Diagnostic> {
    let name = call.name.as_str();
    if !is_word(name) || functions.contains(name) || BUILT_IN.contains(&name) {
        return None;
    }
    let known = catalogue().named(name);
    if known.iter().any(|entry| entry.form != Form::Property) {
        return None;
    }
    // It may be a closure in a map, so it is no more than a warning.
    let words = catalogue().all().filter(|entry| entry.form != Form::Property).map(|entry| entry.name);
    nearest(name, words).map(|near| {
        Diagnostic::warning(format!("nothing has a method `{name}`")).note(format!("did you mean `{near}`?"))
    })
}

fn counted(definition: &crate::api::definition::Definition, given: usize) -> Diagnostic {
    match wrong_count(definition, given) {
        Fault::Complaint(complaint) => {
            let mut made = Diagnostic::error(complaint.what);
            made.note = complaint.note;
            made.help = complaint.help;
            made
        }
        Fault::Passed(error) => Diagnostic::error(error.to_string()),
    }
}

/// A property that no noun, unit or map of this text has. Bodies are found by name and begin with a capital.
fn property_of_nothing(name: &str, text: &str) -> Option<Diagnostic> {
    let own = [
        "len", "is_empty", "tag", "start", "end", "message", "hint", "error", "line", "position", "name", "chars",
        "bytes",
    ];
    let known = own.contains(&name)
        || name.starts_with(char::is_uppercase)
        || catalogue().named(name).iter().any(|entry| entry.form == Form::Property)
        || Unit::by_property(name).is_some()
        || parsing::declared(text).iter().chain(&parsing::keys(text)).any(|word| word == name);
    if known {
        return None;
    }
    let words =
        catalogue().words(Form::Property).map(|(word, _)| word).chain(units().iter().flat_map(Unit::properties));
    let words: Vec<&str> = words.collect();
    nearest(name, words).map(|near| {
        Diagnostic::warning(format!("nothing has a property `{name}`")).note(format!("did you mean `{near}`?"))
    })
}

/// `1 < 2 < 3` and `-3.km ** 2`, which do not mean what they look like.
fn odd_operator(call: &FnCallExpr, _position: Position) -> Option<Diagnostic> {
    let name = call.name.as_str();
    let first = call.args.first()?;
    let orders = ["<", "<=", ">", ">="];
    let inner = match first {
        Expr::FnCall(inner, _) => Some(inner.name.as_str()),
        _ => None,
    };
    if orders.contains(&name) && inner.is_some_and(|inner| orders.contains(&inner)) {
        return Some(Diagnostic::warning("comparisons do not chain").help("write a < b && b < c"));
    }
    let negative = match first {
        Expr::IntegerConstant(number, _) => *number < 0,
        Expr::FnCall(inner, _) => inner.name == "-" && inner.args.len() == 1,
        Expr::Dot(pair, ..) => matches!(&pair.lhs, Expr::IntegerConstant(number, _) if *number < 0),
        _ => false,
    };
    if name == "**" && negative {
        return Some(
            Diagnostic::warning("the minus binds tighter than `**`: -3 ** 2 is 9")
                .help("write -(3 ** 2), or (-3) ** 2 if that is meant"),
        );
    }
    None
}
