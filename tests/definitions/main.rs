//! The table of definitions: every entry whole, every name usable, every example true, every generated page current.

use std::path::Path;

use visviva::api::catalogue::{catalogue, noun_names};
use visviva::api::definition::{Definition, Form};
use visviva::session::{Config, Session};

fn run(code: &str) -> Result<String, String> {
    let session = Session::new(Config::default());
    let outcome = session.evaluate("example", code);
    match (outcome.answer, outcome.diagnostics.first()) {
        (Some(answer), _) => Ok(answer.shown),
        (None, Some(diagnostic)) => Err(visviva::diagnostic::render::render(diagnostic, session.sources(), false)),
        (None, None) => Err("no answer and no diagnostic".to_owned()),
    }
}

#[test]
fn every_example_gives_its_result() {
    let mut wrong = Vec::new();
    for entry in catalogue().all() {
        for example in entry.examples {
            let code = match (example.result, example.within) {
                ("", _) => format!("{{ {} }}; true", example.code),
                (result, "") => format!("let got = {{ {} }}; let expected = {result}; got == expected", example.code),
                (result, within) => {
                    format!(
                        "let got = {{ {} }}; let expected = {result}; abs(got - expected) <= {within}",
                        example.code
                    )
                }
            };
            match run(&code) {
                Ok(shown) if shown == "true" => {}
                Ok(_) => wrong.push(format!(
                    "{}: `{}` is {:?}, not {}",
                    entry.path(),
                    example.code,
                    run(example.code),
                    example.result
                )),
                Err(error) => wrong.push(format!("{}: `{}`\n{error}", entry.path(), example.code)),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Holds every entry against a rule and lists those that break it.
#[track_caller]
fn each(rule: impl Fn(&Definition) -> bool) {
    let broken: Vec<String> = catalogue().all().filter(|entry| !rule(entry)).map(Definition::path).collect();
    assert!(broken.is_empty(), "broken by {broken:?}");
}

#[test]
fn every_summary_is_a_sentence() {
    each(|entry| entry.summary.ends_with('.') && entry.summary.starts_with(|letter: char| !letter.is_lowercase()));
}

#[test]
fn every_entry_has_an_example() {
    each(|entry| !entry.examples.is_empty());
}

#[test]
fn every_parameter_and_option_says_what_it_is_about() {
    each(|entry| {
        entry.parameters.iter().all(|parameter| {
            let options = parameter.kind.options().unwrap_or_default();
            !parameter.about.is_empty() && options.iter().all(|key| !key.about.is_empty())
        })
    });
}

#[test]
fn optional_parameters_stand_last() {
    each(|entry| !entry.parameters.windows(2).any(|pair| !pair[0].required && pair[1].required));
}

#[test]
fn every_relative_exists() {
    each(|entry| {
        entry.see_also.iter().all(|name| {
            let word = name.split_once('.').map_or(*name, |(_, word)| word);
            !catalogue().named(word).is_empty() || noun_names().any(|noun| noun == *name) || *name == "units"
        })
    });
}

#[test]
fn members_belong_to_known_nouns_and_are_named_once() {
    let built_in = ["number", "quantity", "text", "list", "map"];
    each(|entry| entry.noun.is_none_or(|noun| built_in.contains(&noun) || noun_names().any(|known| known == noun)));
    each(|entry| {
        let same =
            |other: &&Definition| other.name == entry.name && other.noun == entry.noun && other.form == entry.form;
        catalogue().all().filter(same).count() == 1
    });
}

/// The interpreter keeps words for itself; none of them may be a name here, in any place where a name can stand.
#[test]
fn every_name_compiles_in_all_five_places() {
    let session = Session::new(Config { lines: true, ..Config::default() });
    let mut names: Vec<&str> = Vec::new();
    for entry in catalogue().all() {
        names.push(entry.name);
        for parameter in entry.parameters {
            names.push(parameter.name);
            names.extend(parameter.kind.options().unwrap_or_default().iter().map(|key| key.name));
        }
    }
    names.sort_unstable();
    names.dedup();
    for name in names {
        for text in [
            format!("let {name} = 1; {name}"),
            format!("let x = #{{}}; x.{name}"),
            format!("let x = #{{}}; x.{name}(1)"),
            format!("#{{ {name}: 1 }}"),
            format!("fn {name}(x) {{ x }} {name}(1)"),
        ] {
            assert!(session.compile("names", &text).is_ok(), "`{name}` is not a name here: {text}");
        }
    }
}

#[test]
fn generated_pages_are_current() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/reference");
    for (name, text) in visviva::reference::files() {
        let committed = std::fs::read_to_string(folder.join(&name)).unwrap_or_default();
        assert!(committed == text, "docs/reference/{name} is not current: run `visviva doc --write docs/reference`");
    }
}

#[test]
fn the_library_holds_every_module() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scripts/modules");
    for entry in std::fs::read_dir(folder).into_iter().flatten() {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|end| end == "rhai") {
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            let text = std::fs::read_to_string(&path).expect("a module");
            assert!(visviva::modules::LIBRARY.contains(&(name.as_str(), text.as_str())), "{name} is not in LIBRARY");
        }
    }
}

#[test]
fn methods_and_properties_name_their_noun() {
    each(|entry| (entry.form == Form::Function) == entry.noun.is_none());
}
