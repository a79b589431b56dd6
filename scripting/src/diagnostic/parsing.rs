//! Errors of syntax in our words, and the names that a text declares.

use rhai::{LexError, ParseErrorType, Position};
use visviva_engine::quantity::{self, Unit};

use super::nearest::nearest;
use super::source::{Source, Sources, line_column};
use super::{Diagnostic, Place};
use crate::api::catalogue::catalogue;
use crate::api::definition::Form;

/// A syntax error.
pub(super) fn reword(kind: &ParseErrorType, position: Position, sources: &Sources, file: &str) -> Diagnostic {
    let source = sources.get(file).unwrap_or_default();
    let here = line_column(position);
    let word = here.map(|(line, column)| word_at(&source, line, column)).unwrap_or_default();
    let made = match kind {
        ParseErrorType::UnexpectedEOF => Diagnostic::error("the script ends in the middle of something"),
        ParseErrorType::MissingToken(token, _) if token == ";" || token.contains(';') => {
            return missing_semicolon(&source, file, here, &word);
        }
        ParseErrorType::MissingToken(token, why) => {
            Diagnostic::error(format!("`{token}` is missing {}", in_our_words(why)))
                .help(format!("write `{token}` here"))
        }
        ParseErrorType::VariableUndefined(name) => undefined(name, &source.text),
        ParseErrorType::ModuleUndefined(name) => Diagnostic::error(format!("there is no module `{name}` here"))
            .help(format!("write: import \"{name}\" as {name};")),
        ParseErrorType::VariableExists(name) => Diagnostic::error(format!("`{name}` is declared already"))
            .help(format!("to change it write `{name} = ...` without `let`, or take another name")),
        ParseErrorType::Reserved(name) => {
            Diagnostic::error(format!("`{name}` is a word that the interpreter keeps for itself"))
                .help("take another name; as a key it can stand in quotes")
        }
        ParseErrorType::BadInput(error) => bad_input(error, &source, here),
        ParseErrorType::AssignmentToConstant(name) => Diagnostic::error(format!("`{name}` is a constant"))
            .help(format!("declare it with `let {name} = ...` to change it")),
        ParseErrorType::UnknownOperator(operator) => Diagnostic::error(format!("there is no operator `{operator}`")),
        ParseErrorType::PropertyExpected => Diagnostic::error("a name is missing after the dot"),
        ParseErrorType::ExprTooDeep => {
            Diagnostic::error("the expression is nested too deeply").help("put parts of it into variables")
        }
        ParseErrorType::TooManyFunctions => Diagnostic::error("there are too many functions"),
        ParseErrorType::MissingSymbol(text) => Diagnostic::error(super::reword::lower_first(text)),
        ParseErrorType::WrongFnDefinition => {
            Diagnostic::error("a function can only be declared at the outermost level")
        }
        ParseErrorType::DuplicatedProperty(name) => Diagnostic::error(format!("the key `{name}` is given twice")),
        other => Diagnostic::error(super::reword::lower_first(&other.to_string())),
    };
    let number = here.and_then(|(line, column)| fraction_without_zero(&source, line, column));
    match number {
        Some(number) => Diagnostic::error("a number cannot begin with its dot").help(format!("write 0{number}")),
        None => made,
    }
    .at(sources, file, position)
}

/// The interpreter's names for lists and maps.
fn in_our_words(text: &str) -> String {
    let text = text.trim().replace("object map literal", "map").replace("array literal", "list");
    text.replace("object map", "map").replace("array", "list")
}

fn word_at(source: &Source, line: usize, column: usize) -> String {
    source
        .line(line)
        .chars()
        .skip(column.saturating_sub(1))
        .take_while(|character| character.is_alphanumeric() || *character == '_')
        .collect()
}

/// `.5` where a value should begin.
fn fraction_without_zero(source: &Source, line: usize, column: usize) -> Option<String> {
    let rest: String = source.line(line).chars().skip(column.saturating_sub(1)).collect();
    let written = |character: &char| character.is_alphanumeric() || *character == '_' || *character == '.';
    let rest = rest.strip_prefix('.').filter(|rest| rest.starts_with(|first: char| first.is_ascii_digit()))?;
    let number: String = rest.chars().take_while(written).collect();
    let before: String = source.line(line).chars().take(column.saturating_sub(1)).collect();
    let value_before =
        before.trim_end().ends_with(|character: char| character.is_alphanumeric() || ")]_".contains(character));
    (!value_before).then(|| format!(".{number}"))
}

/// The interpreter reports it at the next token, often on the next line; the reader looks at the end of the line before.
fn missing_semicolon(source: &Source, file: &str, here: Option<(usize, usize)>, word: &str) -> Diagnostic {
    let Some((line, column)) = here else {
        return Diagnostic::error("a `;` is missing");
    };
    let before: String = source.line(line).chars().take(column.saturating_sub(1)).collect();
    let place = |line: usize, column: usize, end: usize| Some(Place { file: file.to_owned(), line, column, end });
    if let Some(number) = number_before(&before) {
        let length = before.trim_end().chars().count() - number.chars().count();
        let units = quantity::units().iter().map(|unit| unit.property);
        let unit = Unit::by_property(word).or_else(|| Unit::by_name(word)).map(|unit| unit.property);
        if let Some(unit) = unit.or_else(|| nearest(word, units)) {
            let mut made =
                Diagnostic::error("a unit follows its number after a dot").help(format!("write {number}.{unit}"));
            made.place = place(line, length + 1, column + word.chars().count());
            return made;
        }
    }
    let mut made = Diagnostic::error("a `;` is missing");
    if before.trim().is_empty() {
        let last = (1..line).rev().find(|candidate| !code_of(source.line(*candidate)).trim().is_empty());
        if let Some(last) = last {
            let end = code_of(source.line(last)).trim_end().chars().count();
            made.place = place(last, end + 1, end + 2);
            return made.note("the statement ends here").help("end it with `;`");
        }
    }
    made.place = place(line, column, source.token_end(line, column));
    made.note("another statement begins here").help("end the one before with `;`")
}

/// A line without its comment.
fn code_of(line: &str) -> &str {
    line.split("//").next().unwrap_or(line)
}

/// The number literal that a text ends with.
fn number_before(text: &str) -> Option<String> {
    let text = text.trim_end();
    let start = text
        .char_indices()
        .rev()
        .take_while(|(_, character)| character.is_ascii_digit() || *character == '.' || *character == '_')
        .last()
        .map(|(index, _)| index)?;
    let number = text[start..].trim_start_matches('.');
    let word_before = text[..start].ends_with(|character: char| character.is_alphanumeric() || character == '_');
    (number.starts_with(|character: char| character.is_ascii_digit()) && !word_before)
        .then(|| number.trim_end_matches('.').to_owned())
}

fn bad_input(error: &LexError, source: &Source, here: Option<(usize, usize)>) -> Diagnostic {
    match error {
        LexError::UnterminatedString => {
            Diagnostic::error("the text is not closed").help("end it with \" on the same line")
        }
        LexError::MalformedNumber(text) => Diagnostic::error(format!("`{text}` is no number"))
            .help(glued(text).unwrap_or_else(|| "numbers are written 3, 2.5, 1e-3 or 1_000".to_owned())),
        LexError::MalformedIdentifier(text) => {
            Diagnostic::error(format!("`{text}` is no name")).help("names are made of a-z, A-Z, 0-9 and _")
        }
        LexError::UnexpectedInput(text) if text.chars().all(|letter| ";,)]}".contains(letter)) => {
            Diagnostic::error(format!("a value is missing before `{text}`"))
        }
        LexError::ImproperSymbol(symbol, _) if symbol == "eval" => {
            Diagnostic::error("`eval` is not part of the language").help("text cannot be run as a script")
        }
        LexError::UnexpectedInput(text) => {
            let made = Diagnostic::error(format!("`{text}` does not belong to the language"));
            let letter = here.and_then(|(line, column)| source.line(line).chars().nth(column.saturating_sub(1)));
            if letter.is_some_and(char::is_alphabetic) {
                made.help("names are made of a-z, A-Z, 0-9 and _")
            } else {
                made
            }
        }
        LexError::ImproperSymbol(symbol, text) if text.is_empty() => {
            Diagnostic::error(format!("`{symbol}` does not belong here"))
        }
        LexError::ImproperSymbol(symbol, text) => {
            Diagnostic::error(format!("`{symbol}` does not belong here")).note(super::reword::lower_first(text))
        }
        LexError::StringTooLong(_) => Diagnostic::error("the text is too long"),
        other => Diagnostic::error(super::reword::lower_first(&other.to_string())),
    }
}

/// `300km` read as one word.
fn glued(text: &str) -> Option<String> {
    let split = text.find(|character: char| character.is_alphabetic())?;
    let unit = Unit::by_property(&text[split..]).or_else(|| Unit::by_name(&text[split..]))?;
    Some(format!("write {}.{}", &text[..split], unit.property))
}

/// An unknown variable: perhaps a function without its call, a misspelt name, or one that a function cannot see.
pub(super) fn undefined(name: &str, text: &str) -> Diagnostic {
    let own = declared(text);
    let made = Diagnostic::error(format!("there is no variable `{name}`"));
    if own.iter().any(|declared| declared == name) {
        return made
            .note("it is declared elsewhere and not visible here")
            .help("a function sees only its parameters: hand the value over as one");
    }
    if let Some(function) = catalogue().function(name) {
        return made.note("there is a function of this name").help(format!("write {}", function.signature()));
    }
    let functions = catalogue().words(Form::Function).map(|(word, _)| word);
    match nearest(name, own.iter().map(String::as_str).chain(functions)) {
        Some(near) => made.note(format!("did you mean `{near}`?")),
        None => made.help(format!("declare it first: let {name} = ...")),
    }
}

/// Names that a text declares with `let`, `const`, `fn`, `for`, `import ... as` and as parameters.
pub(crate) fn declared(text: &str) -> Vec<String> {
    let words: Vec<&str> = words(text);
    let mut names = Vec::new();
    for pair in words.windows(2) {
        if let [keyword, name] = pair
            && ["let", "const", "fn", "for", "as"].contains(keyword)
        {
            names.push((*name).to_owned());
        }
    }
    for inside in text.split('|').skip(1).step_by(2) {
        names.extend(words_of_list(inside));
    }
    for rest in text.split("fn ").skip(1) {
        if let Some((open, close)) = rest.find('(').zip(rest.find(')'))
            && open < close
        {
            names.extend(words_of_list(&rest[open + 1..close]));
        }
    }
    names.sort();
    names.dedup();
    names
}

fn words_of_list(text: &str) -> Vec<String> {
    let is_name =
        |word: &&str| !word.is_empty() && word.chars().all(|character| character.is_alphanumeric() || character == '_');
    text.split(',').map(str::trim).filter(is_name).map(str::to_owned).collect()
}

/// Keys of the maps that a text writes.
pub(crate) fn keys(text: &str) -> Vec<String> {
    let mut keys = Vec::new();
    let mut rest = text;
    while let Some(colon) = rest.find(':') {
        if let Some(word) = words(&rest[..colon]).last() {
            keys.push((*word).to_owned());
        }
        rest = &rest[colon + 1..];
    }
    keys.sort();
    keys.dedup();
    keys
}

fn words(text: &str) -> Vec<&str> {
    text.split(|character: char| !(character.is_alphanumeric() || character == '_'))
        .filter(|word| !word.is_empty())
        .collect()
}
