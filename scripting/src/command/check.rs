//! `visviva check SCRIPT...`: everything that can be said without running.

use std::path::PathBuf;

use clap::Args;
use rhai::{AST, ASTNode, Dynamic, Expr, FnCallExpr, Stmt};
use serde_json::{Value, json};

use super::{Status, output};
use crate::api::value;
use crate::diagnostic::Diagnostic;
use crate::session::{Config, Session};

/// Say everything that can be said about scripts without running them
#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The scripts
    #[arg(required = true)]
    scripts: Vec<PathBuf>,
    /// Print one JSON document, with the inputs of each script
    #[arg(long)]
    json: bool,
}

/// An input as the text declares it.
pub(crate) struct Declared {
    pub(crate) name: String,
    /// When its default is written out.
    pub(crate) default: Option<Dynamic>,
}

/// The inputs that a text declares.
pub(crate) struct DeclaredInputs {
    pub(crate) inputs: Vec<Declared>,
    /// Whether there can be no others: all names are written out and nothing is imported.
    pub(crate) complete: bool,
}

/// Finds the inputs of a compiled text.
pub(crate) fn inputs(ast: &AST) -> DeclaredInputs {
    let mut found = DeclaredInputs { inputs: Vec::new(), complete: true };
    ast.walk(&mut |path: &[ASTNode]| {
        let call: Option<&FnCallExpr> = match path.last() {
            Some(ASTNode::Expr(Expr::FnCall(call, _)) | ASTNode::Stmt(Stmt::FnCall(call, _))) => Some(call),
            Some(ASTNode::Stmt(Stmt::Import(..))) => {
                found.complete = false;
                None
            }
            _ => None,
        };
        if let Some(call) = call.filter(|call| call.name == "input") {
            match call.args.first() {
                Some(Expr::StringConstant(name, _)) => {
                    if !found.inputs.iter().any(|known| known.name == name.as_str()) {
                        let default = call.args.get(1).and_then(constant);
                        found.inputs.push(Declared { name: name.to_string(), default });
                    }
                }
                _ => found.complete = false,
            }
        }
        true
    });
    found
}

/// The value of an expression that is written out: a number, a text, a flag, a number with its unit, an epoch.
fn constant(expression: &Expr) -> Option<Dynamic> {
    match expression {
        Expr::Dot(pair, ..) => {
            let number = value::number(&constant(&pair.lhs)?)?;
            let Expr::Property(property, _) = &pair.rhs else {
                return None;
            };
            let unit = visviva_engine::quantity::Unit::by_property(&property.2)?;
            Some(value::quantity(visviva_engine::quantity::Quantity::new(unit.to_si(number), unit.dimension)))
        }
        Expr::FnCall(call, _) if call.name == "epoch" => match call.args.first() {
            Some(Expr::StringConstant(text, _)) => visviva_engine::time::Epoch::parse(text).ok().map(Dynamic::from),
            _ => None,
        },
        Expr::FnCall(call, _) if call.name == "-" && call.args.len() == 1 => {
            let quantity = value::scalar(&constant(call.args.first()?)?)?;
            Some(value::quantity(visviva_engine::quantity::Quantity::new(-quantity.value, quantity.dimension)))
        }
        other => other.get_literal_value(None),
    }
}

impl Check {
    pub(crate) fn carry_out(self) -> Status {
        let mut status = 0;
        let mut scripts: Vec<Value> = Vec::new();
        for path in &self.scripts {
            let (name, text, folder) = match output::read_script(path) {
                Ok(script) => script,
                Err(error) => return output::usage(&error),
            };
            let session = Session::new(Config::default().reading(folder));
            let compiled = session.on_own_stack(|| session.compile(&name, &text));
            let (declared, diagnostics) = match compiled {
                Ok(ast) => (inputs(&ast).inputs, crate::checks::check(&ast, &name, session.sources())),
                Err(diagnostic) => (Vec::new(), vec![*diagnostic]),
            };
            if diagnostics.iter().any(|diagnostic| diagnostic.level == crate::diagnostic::Level::Error) {
                status = 1;
            }
            if self.json {
                scripts.push(json!({
                    "script": name,
                    "inputs": declared.iter().map(input_json).collect::<Vec<_>>(),
                    "diagnostics": diagnostics.iter().map(Diagnostic::to_json).collect::<Vec<_>>(),
                }));
            } else {
                output::diagnostics(&diagnostics, session.sources());
                if diagnostics.is_empty() {
                    output::line(&format!("{name}: nothing to say against it"));
                }
            }
        }
        if self.json {
            output::line(&json!({ "format": 1, "status": status, "scripts": scripts }).to_string());
        }
        status
    }
}

fn input_json(input: &Declared) -> Value {
    let dimension = input.default.as_ref().map(|default| match value::scalar(default) {
        Some(quantity) => quantity.dimension.described(),
        None => value::describe(default),
    });
    let dimension = dimension.map(|text| text.trim_start_matches("an ").trim_start_matches("a ").to_owned());
    json!({ "name": input.name, "default": input.default.as_ref().map(value::to_json), "dimension": dimension })
}
