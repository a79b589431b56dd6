//! What was typed and made so far: variables, functions, imports, and the scroll that messages quote.

use std::fmt::Write as _;
use std::sync::{Mutex, MutexGuard, PoisonError};

use rhai::{AST, ASTNode, Dynamic, Expr, Scope, Stmt};

use crate::api::catalogue::catalogue;
use crate::api::definition::Form;
use crate::api::value;
use crate::diagnostic::Diagnostic;
use crate::session::{Config, Session};

/// All lines are one text, so that places in functions of earlier lines stay true.
const NAME: &str = "repl";

struct Kept {
    scope: Scope<'static>,
    functions: AST,
    /// Import statements of earlier lines, to be repeated: the interpreter forgets modules between lines.
    imports: String,
    scroll: String,
}

/// The working state of a REPL.
pub struct Bench {
    session: Session,
    kept: Mutex<Kept>,
}

impl Bench {
    /// A state in which nothing was typed.
    pub fn new(config: Config) -> Self {
        // The first line of the scroll is kept free for the imports of earlier lines.
        let kept =
            Kept { scope: Scope::new(), functions: AST::empty(), imports: String::new(), scroll: "\n".to_owned() };
        Self { session: Session::new(Config { lines: true, ..config }), kept: Mutex::new(kept) }
    }

    /// The session behind it.
    pub fn session(&self) -> &Session {
        &self.session
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Runs a line, or a whole script under its own name. Whatever it made before an error or an interruption is kept.
    ///
    /// # Errors
    /// What went wrong, with its place in the line.
    pub fn line(&self, text: &str, name: Option<&str>) -> Result<Option<String>, Box<Diagnostic>> {
        let mut guard = self.kept();
        let kept = &mut *guard;
        self.session.run_state().ceiling.restart();
        let before = kept.scroll.matches('\n').count();
        let padded = match name {
            Some(_) => text.to_owned(),
            None => format!("{}{}{text}", kept.imports, "\n".repeat(before)),
        };
        let file = name.unwrap_or(NAME);
        let mut scope = std::mem::take(&mut kept.scope);
        let functions = kept.functions.clone();
        let scroll = format!("{}{text}\n", kept.scroll);
        let answer = self.session.on_own_stack(|| {
            let compiled = self.session.compile_in(file, &padded, &scope);
            if name.is_none() {
                self.session.sources().retell(NAME, &scroll);
            }
            let line = compiled?;
            let mut whole = functions.merge(&line);
            whole.set_source(file);
            let answer = self.session.perform(file, &mut scope, &whole);
            Ok((answer, line, whole.clone_functions_only()))
        });
        kept.scope = scope;
        if name.is_none() {
            kept.scroll = scroll;
        }
        let (answer, line, functions) = answer?;
        kept.functions = functions;
        let answer = answer?;
        kept.imports.push_str(&imports(&line));
        let quiet = answer.value.is_unit();
        Ok((!quiet).then_some(answer.shown))
    }

    /// Whether a text ends in the middle of something, so that more lines are wanted.
    pub fn is_unfinished(&self, text: &str) -> bool {
        if text.matches("/*").count() > text.matches("*/").count() {
            return true;
        }
        let kept = self.kept();
        let Err(error) = self.session.engine().compile_with_scope(&kept.scope, text) else { return false };
        let at_end = match (error.position().line(), error.position().position()) {
            (Some(line), Some(column)) => {
                let lines = text.split('\n').count();
                let last = text.split('\n').next_back().unwrap_or("").chars().count();
                line > lines || line == lines && column > last
            }
            _ => true,
        };
        let open = matches!(
            error.err_type(),
            rhai::ParseErrorType::UnexpectedEOF
                | rhai::ParseErrorType::MissingToken(..)
                | rhai::ParseErrorType::PropertyExpected
                | rhai::ParseErrorType::ExprExpected(_)
                | rhai::ParseErrorType::FnMissingBody(_)
        );
        open && at_end
    }

    /// Where the word before the cursor begins, and the words that can stand there.
    pub fn complete(&self, line: &str, cursor: usize) -> (usize, Vec<String>) {
        let typed = line.get(..cursor).unwrap_or(line);
        let start = tail(typed, |letter| letter.is_alphanumeric() || letter == '_');
        let word = &typed[start..];
        let mut words = match typed[..start].strip_suffix('.') {
            Some(before) => self.members_after(before),
            None => self.words(),
        };
        words.retain(|known| known.starts_with(word));
        words.sort();
        words.dedup();
        (start, words)
    }

    fn words(&self) -> Vec<String> {
        let keywords =
            ["let", "const", "fn", "if", "else", "for", "while", "loop", "return", "import", "true", "false", "help"];
        let kept = self.kept();
        let own = kept.scope.iter().map(|(name, ..)| name.to_owned());
        let functions = kept.functions.iter_functions().map(|function| function.name.to_owned());
        let known = catalogue().functions().map(|entry| entry.name.to_owned());
        own.chain(functions.filter(|name| !name.contains('$')))
            .chain(known)
            .chain(keywords.map(str::to_owned))
            .collect()
    }

    /// What can follow the dot after a variable and its properties, or after a number.
    fn members_after(&self, before: &str) -> Vec<String> {
        let path = &before[tail(before, |letter| letter.is_alphanumeric() || letter == '_' || letter == '.')..];
        if path.is_empty() {
            return Vec::new();
        }
        let mut scope = self.kept().scope.clone();
        self.session.run_state().ceiling.restart();
        // Properties only read, so looking at them changes nothing; that a voyage is asked how it stands does not count now.
        self.session.run_state().look(true);
        let live = self.session.on_own_stack(|| {
            let found = self.session.engine().eval_expression_with_scope::<Dynamic>(&mut scope, path);
            Ok(found.ok().map(|value| members(&value)))
        });
        self.session.run_state().look(false);
        live.ok().flatten().unwrap_or_default()
    }
}

/// Where the stretch of such letters at the end of a text begins.
fn tail(text: &str, belongs: impl Fn(char) -> bool) -> usize {
    text.char_indices().rev().take_while(|(_, letter)| belongs(*letter)).last().map_or(text.len(), |(at, _)| at)
}

/// The names that can follow a value's dot.
fn members(value: &Dynamic) -> Vec<String> {
    let mut names = Vec::new();
    if let Some(noun) = value::noun_of(value) {
        for entry in catalogue().members(noun) {
            let end = if entry.form == Form::Method { "(" } else { "" };
            names.push(format!("{}{end}", entry.name));
        }
    }
    if value::number(value).is_some() {
        names.extend(visviva_engine::quantity::units().iter().map(|unit| unit.property.to_owned()));
    }
    if let Some(map) = value.read_lock::<rhai::Map>() {
        names.extend(map.keys().map(ToString::to_string));
    }
    if let Some(entry) = value::entry_of(value) {
        names.extend((entry.members)(value));
    }
    names
}

/// The import statements of a line, as text on one line.
fn imports(ast: &AST) -> String {
    let mut text = String::new();
    ast.walk(&mut |path: &[ASTNode]| {
        if let [ASTNode::Stmt(Stmt::Import(import, _))] = path
            && let Expr::StringConstant(file, _) = &import.0
        {
            let _ = write!(text, "import {:?} as {}; ", file.as_str(), import.1.name);
        }
        true
    });
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bench() -> Bench {
        Bench::new(Config::default())
    }

    #[test]
    fn lines_share_variables_functions_and_closures() {
        let bench = bench();
        assert_eq!(bench.line("let h = 3.km;", None).ok(), Some(None));
        assert_eq!(bench.line("fn twice(x) { x * 2 }", None).ok(), Some(None));
        assert_eq!(bench.line("let f = |x| twice(x) + h;", None).ok(), Some(None));
        assert_eq!(bench.line("f.call(1.km) == 5.km", None).ok(), Some(Some("true".to_owned())));
    }

    #[test]
    fn a_mistake_keeps_what_was_made_and_has_its_place() {
        let bench = bench();
        assert!(bench.line("fn sum(x) { x + 1.s }", None).is_ok());
        let error = bench.line("let h = 3.km; sum(h)", None).expect_err("a length and a time");
        assert_eq!(error.place.map(|place| (place.line, place.column)), Some((2, 15)));
        assert_eq!(error.trace.first().and_then(|frame| frame.place.as_ref()).map(|place| place.line), Some(3));
        assert_eq!(bench.line("h == 3.km", None).ok(), Some(Some("true".to_owned())));
    }

    #[test]
    fn knows_what_is_unfinished() {
        let bench = bench();
        for text in ["let a = [1,", "fn f(x) {", "sqrt(", "let a =", "if true { 1", "/* a remark"] {
            assert!(bench.is_unfinished(text), "{text}");
        }
        for text in ["1 + 1", "let a = \"open", "1 + )", "fn f(x) { x }"] {
            assert!(!bench.is_unfinished(text), "{text}");
        }
    }

    #[test]
    fn completes_names_and_members_of_live_values() {
        let bench = bench();
        assert!(bench.line("let aim = vec(1.km, 2.km, 3.km); let m = #{ height: 3 };", None).is_ok());
        assert_eq!(bench.complete("sqr", 3), (0, vec!["sqrt".to_owned()]));
        assert_eq!(bench.complete("1 + ai", 6), (4, vec!["aim".to_owned()]));
        assert_eq!(bench.complete("aim.no", 6), (4, vec!["norm".to_owned()]));
        assert_eq!(bench.complete("m.he", 4), (2, vec!["height".to_owned()]));
        assert!(bench.complete("300.km", 6).1.contains(&"km_s".to_owned()));
    }

    #[test]
    fn completes_members_of_a_voyage_without_flying_or_asking_it() {
        let bench = bench();
        let begun = "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), \
                     circular(system(\"sol\").Earth, 300.km)); v.burn(burn(#{ along: -500.m_s })); v.coast(1.days);";
        assert!(bench.line(begun, None).is_ok());
        assert_eq!(bench.complete("v.coa", 5), (2, vec!["coast(".to_owned(), "coast_to(".to_owned()]));
        assert_eq!(bench.complete("v.ledger.prop", 13), (9, vec!["propellant".to_owned()]));
        assert!(bench.complete("v.orbit.body.", 13).1.contains(&"sphere_of_influence".to_owned()));
        // It is lost, and looking at its members has not excused that.
        assert!(bench.complete("v.outcome.", 10).1.is_empty());
        assert!(bench.line("v.coast(1.hours)", None).is_err());
    }
}
