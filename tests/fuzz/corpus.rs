//! What the fuzzer starts from: every script and system file of the tree, and the files that once broke something.

use std::fs;
use std::path::{Path, PathBuf};

/// Which door an input goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The text of a script.
    Script,
    /// The text of a system file.
    System,
    /// The value of a `--set`.
    Value,
}

/// The inputs that mutations begin with, and the words that they splice in.
#[derive(Debug, Clone)]
pub struct Corpus {
    /// In the order of their paths.
    pub seeds: Vec<(Kind, Vec<u8>)>,
    /// Words of the language, of system files and of quantities.
    pub words: Vec<String>,
}

impl Corpus {
    /// The seeds for one door.
    pub(super) fn of_kind(&self, kind: Kind) -> Vec<&[u8]> {
        self.seeds.iter().filter(|(of, _)| *of == kind).map(|(_, seed)| seed.as_slice()).collect()
    }

    /// Reads the tree that holds this package.
    pub fn of_the_tree() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let above = root.parent().unwrap_or(root);
        let folders = [root.join("fuzz/corpus"), root.join("suite"), root.join("messages"), above.join("scripts")];
        let mut seeds = Vec::new();
        for path in folders.iter().flat_map(|folder| files(folder)).chain(files(&above.join("engine/data"))) {
            let Ok(bytes) = fs::read(&path) else { continue };
            match path.extension().and_then(|extension| extension.to_str()) {
                Some("rhai") => seeds.push((Kind::Script, bytes)),
                // The whole Solar System is too long a text to parse thousands of times.
                Some("toml") if bytes.len() < 30_000 => seeds.push((Kind::System, bytes)),
                Some("value") => seeds.push((Kind::Value, bytes)),
                _ => {}
            }
        }
        let values =
            ["172.km", "2031-03-12T04:00:00 TDB", "3", "-1e-3", "45 deg", "true", "\"text\"", "[1, 2.km]", "1/0"];
        seeds.extend(values.iter().map(|value| (Kind::Value, value.as_bytes().to_vec())));
        let mut words: Vec<String> = visviva::api::TABLES
            .iter()
            .flat_map(|table| table.iter())
            .map(|definition| definition.name.to_owned())
            .collect();
        words.extend(visviva_engine::quantity::units().iter().flat_map(|unit| unit.properties().map(str::to_owned)));
        let marks = [
            "let x = ",
            "fn f(a) { a }",
            "|x| ",
            "#{",
            "}",
            "[",
            "]",
            "(",
            ")",
            ";",
            ".",
            "..",
            ",",
            "1e308",
            "-0.0",
            "0",
            "9223372036854775807",
            "1e-320",
            "\"",
            "`",
            "\\u00e9",
            "/*",
            "//",
            "\n",
            "system(\"velm\")",
            "system(\"sol\")",
            ".Veyra",
            ".Oru",
            ".Maren",
            ".Earth",
            ".Mars",
            "gm = ",
            "parent = ",
            "[body.X]",
            "radius = \"1 km\"",
            "= \"-3 km\"",
        ];
        words.extend(marks.iter().map(|mark| (*mark).to_owned()));
        Corpus { seeds, words }
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut found = Vec::new();
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}
