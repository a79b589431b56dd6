//! A TOML table that knows which keys it may hold and where each one stands in the text.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{Problem, SystemError, nearest};
use crate::quantity::{Dimension, Quantity};

/// A value and the bytes it was read from.
#[derive(Debug, Clone)]
pub(crate) struct Located<T> {
    pub(crate) value: T,
    pub(crate) span: Range<usize>,
}

/// One table of the file. Keys that are not listed are refused when it is opened, with the nearest listed one.
pub(crate) struct Fields<'d> {
    pub(crate) owner: String,
    pub(crate) span: Range<usize>,
    table: &'d DeTable<'d>,
}

impl<'d> Fields<'d> {
    pub(crate) fn open(
        owner: String,
        span: Range<usize>,
        table: &'d DeTable<'d>,
        known: &[&'static str],
    ) -> Result<Self, SystemError> {
        for (key, _) in table {
            let name: &str = key.get_ref();
            if !known.contains(&name) {
                return Err(SystemError::at(
                    key.span(),
                    Problem::UnknownKey {
                        owner,
                        key: name.to_string(),
                        nearest: nearest(name, known.iter().copied()),
                        known: known.to_vec(),
                    },
                ));
            }
        }
        Ok(Self { owner, span, table })
    }

    pub(crate) fn value(&self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.table.get(key)
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.value(key).is_some()
    }

    pub(crate) fn missing(&self, key: &'static str, example: &str) -> SystemError {
        SystemError::at(
            self.span.clone(),
            Problem::MissingKey { owner: self.owner.clone(), key, example: format!("{key} = {example}") },
        )
    }

    pub(crate) fn out_of_range(&self, key: &str, span: Range<usize>, value: String, needs: &str) -> SystemError {
        SystemError::at(
            span,
            Problem::OutOfRange { owner: self.owner.clone(), key: key.into(), value, needs: needs.into() },
        )
    }

    /// A quantity in SI, of the dimension of `example`.
    pub(crate) fn quantity(&self, key: &'static str, example: &str) -> Result<Option<Located<f64>>, SystemError> {
        self.value(key).map(|value| self.quantity_of(key, value, example)).transpose()
    }

    pub(crate) fn required_quantity(&self, key: &'static str, example: &str) -> Result<Located<f64>, SystemError> {
        self.quantity(key, example)?.ok_or_else(|| self.missing(key, &format!("\"{example}\"")))
    }

    /// A quantity that must lie inside `least..=greatest`, both in SI; `needs` says so in words.
    pub(crate) fn quantity_within(
        &self,
        key: &'static str,
        example: &str,
        range: (f64, f64),
        needs: &str,
    ) -> Result<Option<f64>, SystemError> {
        let Some(found) = self.quantity(key, example)? else {
            return Ok(None);
        };
        if found.value >= range.0 && found.value <= range.1 {
            return Ok(Some(found.value));
        }
        let written = match self.value(key).map(Spanned::get_ref) {
            Some(DeValue::String(text)) => text.to_string(),
            _ => format!("{}", found.value),
        };
        Err(self.out_of_range(key, found.span, written, needs))
    }

    pub(crate) fn required_within(
        &self,
        key: &'static str,
        example: &str,
        range: (f64, f64),
        needs: &str,
    ) -> Result<f64, SystemError> {
        self.quantity_within(key, example, range, needs)?.ok_or_else(|| self.missing(key, &format!("\"{example}\"")))
    }

    /// Reads one value as a quantity of the dimension of `example`. Molar masses end in `/mol`, which is taken off here:
    /// an amount of substance is a count, and one mole of it is meant throughout.
    pub(crate) fn quantity_of(
        &self,
        key: &str,
        value: &Spanned<DeValue<'d>>,
        example: &str,
    ) -> Result<Located<f64>, SystemError> {
        let write = || if key.contains(' ') { format!("\"{example}\"") } else { format!("{key} = \"{example}\"") };
        let fail = |problem| Err(SystemError::at(value.span(), problem));
        let owner = || self.owner.clone();
        let text = match value.get_ref() {
            DeValue::String(text) => text,
            DeValue::Integer(_) | DeValue::Float(_) => {
                return fail(Problem::BareNumber {
                    owner: owner(),
                    key: key.into(),
                    number: number_text(value.get_ref()),
                    example: write(),
                });
            }
            other => {
                return fail(Problem::WrongKind {
                    owner: owner(),
                    key: key.into(),
                    expected: "a quantity in quotation marks",
                    found: kind(other),
                    example: write(),
                });
            }
        };
        let (text, example) = match example.strip_suffix("/mol") {
            Some(bare) => (text.trim().strip_suffix("/mol").unwrap_or(text), bare),
            None => (text.as_ref(), example),
        };
        let unreadable =
            |message: String| Problem::Unreadable { owner: owner(), key: key.into(), message, example: write() };
        let wanted = match Quantity::parse(example) {
            Ok(quantity) => quantity.dimension,
            Err(error) => return fail(unreadable(error.to_string())),
        };
        match Quantity::parse(text) {
            Ok(found) if found.dimension == wanted && found.value.is_finite() => {
                Ok(Located { value: found.value, span: value.span() })
            }
            Ok(found) if found.dimension == wanted => fail(unreadable("the value is too large".into())),
            Ok(found) => fail(Problem::WrongDimension {
                owner: owner(),
                key: key.into(),
                expected: dimension_text(wanted),
                found: dimension_text(found.dimension),
                example: write(),
            }),
            Err(error) => fail(unreadable(error.to_string())),
        }
    }

    /// A bare number, finite.
    pub(crate) fn number(&self, key: &'static str, example: &str) -> Result<Option<Located<f64>>, SystemError> {
        let Some(value) = self.value(key) else {
            return Ok(None);
        };
        match number(value.get_ref()) {
            Some(number) => Ok(Some(Located { value: number, span: value.span() })),
            None => Err(self.wrong_kind(key, value, "a finite number", example)),
        }
    }

    pub(crate) fn required_number(&self, key: &'static str, example: &str) -> Result<Located<f64>, SystemError> {
        self.number(key, example)?.ok_or_else(|| self.missing(key, example))
    }

    pub(crate) fn text(&self, key: &'static str, example: &str) -> Result<Option<Located<String>>, SystemError> {
        let Some(value) = self.value(key) else {
            return Ok(None);
        };
        match value.get_ref() {
            DeValue::String(text) => Ok(Some(Located { value: text.to_string(), span: value.span() })),
            _ => Err(self.wrong_kind(key, value, "text", &format!("\"{example}\""))),
        }
    }

    pub(crate) fn required_text(&self, key: &'static str, example: &str) -> Result<Located<String>, SystemError> {
        self.text(key, example)?.ok_or_else(|| self.missing(key, &format!("\"{example}\"")))
    }

    pub(crate) fn boolean(&self, key: &'static str) -> Result<Option<bool>, SystemError> {
        let Some(value) = self.value(key) else {
            return Ok(None);
        };
        match value.get_ref() {
            DeValue::Boolean(yes) => Ok(Some(*yes)),
            _ => Err(self.wrong_kind(key, value, "true or false", "true")),
        }
    }

    /// A table below this one, opened with its own list of keys.
    pub(crate) fn fields(
        &self,
        key: &'static str,
        known: &[&'static str],
        example: &str,
    ) -> Result<Option<Fields<'d>>, SystemError> {
        let Some(value) = self.value(key) else {
            return Ok(None);
        };
        match value.get_ref() {
            DeValue::Table(table) => {
                Fields::open(format!("`{key}` of {}", self.owner), value.span(), table, known).map(Some)
            }
            _ => Err(self.wrong_kind(key, value, "a table", example)),
        }
    }

    pub(crate) fn list(
        &self,
        key: &'static str,
        example: &str,
    ) -> Result<Option<&'d [Spanned<DeValue<'d>>]>, SystemError> {
        let Some(value) = self.value(key) else {
            return Ok(None);
        };
        match value.get_ref() {
            DeValue::Array(list) => Ok(Some(list)),
            _ => Err(self.wrong_kind(key, value, "a list", example)),
        }
    }

    pub(crate) fn wrong_kind(
        &self,
        key: &str,
        value: &Spanned<DeValue<'d>>,
        expected: &'static str,
        example: &str,
    ) -> SystemError {
        SystemError::at(
            value.span(),
            Problem::WrongKind {
                owner: self.owner.clone(),
                key: key.into(),
                expected,
                found: kind(value.get_ref()),
                example: format!("{key} = {example}"),
            },
        )
    }
}

fn number_text(value: &DeValue) -> String {
    match value {
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        _ => String::new(),
    }
}

/// The finite number that a TOML integer or float stands for; digits may be grouped, other radices are for integers.
fn number(value: &DeValue) -> Option<f64> {
    let number = match value {
        DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str().parse::<f64>().ok()?,
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok()? as f64,
        DeValue::Float(number) => number.as_str().parse::<f64>().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

fn dimension_text(dimension: Dimension) -> String {
    match dimension.name() {
        Some(name) => name.to_string(),
        None => "another dimension".to_string(),
    }
}

pub(crate) fn kind(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
