//! Texts that were read, by name, and where the calls in them have their arguments.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{AST, ASTNode, Expr, FnCallExpr, Position, Stmt};

/// Where the arguments of a call begin.
#[derive(Debug, Clone)]
pub struct Call {
    /// Written `receiver.name(...)`: the receiver is not among the arguments.
    pub method: bool,
    /// Each argument, and the keys of those that are maps written at the call.
    pub arguments: Vec<Argument>,
}

/// Where an argument begins.
#[derive(Debug, Clone)]
pub struct Argument {
    /// Its first character.
    pub start: (usize, usize),
    /// Key and place of its value, when the argument is a map.
    pub keys: Vec<(String, (usize, usize))>,
}

/// One text.
#[derive(Debug, Clone, Default)]
pub struct Source {
    /// As it was read.
    pub text: Arc<str>,
    /// By line and column of the call's name.
    pub calls: Arc<BTreeMap<(usize, usize), Call>>,
    /// The first method call whose closure captures its receiver: the interpreter reports it without a place.
    pub race: Option<(usize, usize)>,
}

/// All texts of a session.
#[derive(Debug, Default)]
pub struct Sources {
    texts: Mutex<BTreeMap<String, Source>>,
}

impl Sources {
    /// Keeps a text under its name.
    pub fn add(&self, name: &str, text: &str) {
        let mut texts = self.texts.lock().unwrap_or_else(PoisonError::into_inner);
        texts.insert(name.to_owned(), Source { text: text.into(), calls: Arc::default(), race: None });
    }

    /// Keeps where the calls of a text are.
    pub fn add_calls(&self, name: &str, ast: &AST) {
        let calls = Arc::new(calls_of(ast));
        let mut texts = self.texts.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(source) = texts.get_mut(name) {
            source.calls = calls;
            source.race = race_in(ast);
        }
    }

    /// Replaces a text and keeps where its calls are: a scroll that grew at its end.
    pub fn retell(&self, name: &str, text: &str) {
        let mut texts = self.texts.lock().unwrap_or_else(PoisonError::into_inner);
        texts.entry(name.to_owned()).or_default().text = text.into();
    }

    /// A text by its name.
    pub fn get(&self, name: &str) -> Option<Source> {
        self.texts.lock().unwrap_or_else(PoisonError::into_inner).get(name).cloned()
    }
}

/// Line and column, both from 1, of a position that has them.
pub fn line_column(position: Position) -> Option<(usize, usize)> {
    Some((position.line()?, position.position().unwrap_or(1)))
}

fn calls_of(ast: &AST) -> BTreeMap<(usize, usize), Call> {
    let mut calls = BTreeMap::new();
    ast.walk(&mut |path: &[ASTNode]| {
        let found = match path.last() {
            Some(ASTNode::Expr(Expr::FnCall(call, position)) | ASTNode::Stmt(Stmt::FnCall(call, position))) => {
                Some((call, position, false))
            }
            Some(ASTNode::Expr(Expr::MethodCall(call, position))) => Some((call, position, true)),
            _ => None,
        };
        if let Some((call, position, method)) = found
            && let Some(place) = line_column(*position)
        {
            calls.insert(place, Call { method, arguments: arguments_of(call) });
        }
        true
    });
    calls
}

/// A method call with a closure that captures the variable before the dot.
fn race_in(ast: &AST) -> Option<(usize, usize)> {
    let mut found = None;
    ast.walk(&mut |path: &[ASTNode]| {
        if let Some(ASTNode::Expr(Expr::Dot(pair, ..))) = path.last()
            && let (Some(receiver), Expr::MethodCall(call, _)) = (variable(&pair.lhs), &pair.rhs)
        {
            let captures = call.args.iter().any(|argument| match argument {
                // A closure with captured variables is a block that shares them first.
                Expr::Stmt(block) => block.iter().any(|statement| match statement {
                    Stmt::Share(shared) => shared.iter().any(|(name, _)| name.name == receiver),
                    _ => false,
                }),
                _ => false,
            });
            if captures {
                found = line_column(pair.rhs.position());
            }
        }
        found.is_none()
    });
    found
}

fn variable(expression: &Expr) -> Option<&str> {
    match expression {
        Expr::Variable(variable, ..) => Some(variable.1.as_str()),
        _ => None,
    }
}

fn arguments_of(call: &FnCallExpr) -> Vec<Argument> {
    call.args
        .iter()
        .map(|expression| Argument {
            start: line_column(expression.start_position()).unwrap_or_default(),
            keys: match expression {
                Expr::Map(map, _) => {
                    map.0.iter().filter_map(|(key, _)| Some((key.name.to_string(), line_column(key.pos)?))).collect()
                }
                _ => Vec::new(),
            },
        })
        .collect()
}

impl Source {
    /// A line, from 1, without its end.
    pub fn line(&self, line: usize) -> &str {
        self.text.lines().nth(line.saturating_sub(1)).unwrap_or("")
    }

    /// Whether a word follows a dot that stands here.
    pub fn at_dot(&self, line: usize, column: usize) -> bool {
        let mut rest = self.line(line).chars().skip(column.saturating_sub(1));
        rest.next() == Some('.') && rest.next().is_some_and(|next| next.is_alphabetic() || next == '_')
    }

    /// Byte range of a stretch of characters on a line.
    pub fn bytes(&self, line: usize, from: usize, to: usize) -> std::ops::Range<usize> {
        let mut start = 0;
        for (index, text) in self.text.split_inclusive('\n').enumerate() {
            if index + 1 == line {
                let at = |column: usize| {
                    text.char_indices()
                        .nth(column.saturating_sub(1))
                        .map_or(text.trim_end_matches(['\n', '\r']).len(), |(byte, _)| byte)
                };
                let (first, last) = (at(from), at(to));
                return start + first..start + last.max(first);
            }
            start += text.len();
        }
        self.text.len()..self.text.len()
    }

    /// Column behind the token that begins here: a word, a number, an operator or one character.
    pub fn token_end(&self, line: usize, column: usize) -> usize {
        let rest: Vec<char> = self.line(line).chars().skip(column.saturating_sub(1)).collect();
        let word = |character: &char| character.is_alphanumeric() || *character == '_';
        let operator = |character: &char| "+-*/%<>=!&|^".contains(*character);
        let length = match rest.first() {
            Some('"') => {
                1 + rest.iter().skip(1).position(|character| *character == '"').map_or(rest.len() - 1, |end| end + 1)
            }
            Some(first) if word(first) => rest.iter().take_while(|character| word(character)).count(),
            Some(first) if operator(first) => rest.iter().take_while(|character| operator(character)).count(),
            _ => 1,
        };
        column + length
    }

    /// Column behind the argument that begins here, on its first line: up to the comma or bracket that ends it.
    pub fn argument_end(&self, line: usize, column: usize) -> usize {
        let rest: Vec<char> = self.line(line).chars().skip(column.saturating_sub(1)).collect();
        let (mut depth, mut quote, mut end) = (0_usize, None, rest.len());
        for (index, character) in rest.iter().enumerate() {
            if let Some(open) = quote {
                if open == *character {
                    quote = None;
                }
                continue;
            }
            match character {
                '"' | '`' => quote = Some(*character),
                '(' | '[' | '{' => depth += 1,
                ')' | ']' | '}' | ',' | ';' if depth == 0 => {
                    end = index;
                    break;
                }
                ')' | ']' | '}' => depth -= 1,
                _ => {}
            }
        }
        while end > 1 && rest.get(end - 1).is_some_and(|character| character.is_whitespace()) {
            end -= 1;
        }
        column + end.max(1)
    }
}
