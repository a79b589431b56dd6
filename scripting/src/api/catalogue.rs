//! The definitions in one index: by word, by noun, and the nearest word to a misspelt one.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::definition::{Definition, Form};
use super::{NOUNS, TABLES};

/// Every definition, indexed. The same for all runs.
pub struct Catalogue {
    words: BTreeMap<&'static str, Vec<&'static Definition>>,
}

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| {
    let mut words: BTreeMap<&'static str, Vec<&'static Definition>> = BTreeMap::new();
    for definition in TABLES.iter().flat_map(|table| table.iter()) {
        words.entry(definition.name).or_default().push(definition);
    }
    Catalogue { words }
});

/// The index of all definitions.
pub fn catalogue() -> &'static Catalogue {
    &CATALOGUE
}

impl Catalogue {
    /// All definitions, by word.
    pub fn all(&self) -> impl Iterator<Item = &'static Definition> + '_ {
        self.words.values().flatten().copied()
    }

    /// The definitions that share a word.
    pub fn named(&self, word: &str) -> &[&'static Definition] {
        self.words.get(word).map_or(&[], Vec::as_slice)
    }

    /// The free function of a name.
    pub fn function(&self, word: &str) -> Option<&'static Definition> {
        self.named(word).iter().copied().find(|definition| definition.form == Form::Function)
    }

    /// A method or property of a noun.
    pub fn of_noun(&self, noun: &str, word: &str, form: Form) -> Option<&'static Definition> {
        self.named(word).iter().copied().find(|entry| entry.form == form && entry.noun == Some(noun))
    }

    /// What belongs to a noun, by name.
    pub fn members(&self, noun: &str) -> Vec<&'static Definition> {
        self.all().filter(|definition| definition.noun == Some(noun)).collect()
    }

    /// Free functions, by name.
    pub fn functions(&self) -> impl Iterator<Item = &'static Definition> + '_ {
        self.all().filter(|definition| definition.form == Form::Function)
    }

    /// The words of one form, without repetition.
    pub fn words(&self, form: Form) -> impl Iterator<Item = (&'static str, &[&'static Definition])> + '_ {
        self.words
            .iter()
            .filter(move |(_, entries)| entries.iter().any(|entry| entry.form == form))
            .map(|(word, entries)| (*word, entries.as_slice()))
    }
}

/// The names of all nouns.
pub fn noun_names() -> impl Iterator<Item = &'static str> {
    NOUNS.iter().map(|noun| noun.name)
}
