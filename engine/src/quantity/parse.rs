//! Text to quantity: a number, then a unit or a product of units.

use super::{Dimension, Quantity, QuantityError, Unit};

/// A unit or a product of units: SI value = count × factor ÷ divisor + offset.
struct Scale {
    factor: f64,
    divisor: f64,
    offset: f64,
    dimension: Dimension,
}

pub(super) fn quantity(text: &str) -> Result<Quantity, QuantityError> {
    let trimmed = text.trim();
    let refuse = || QuantityError::NotAQuantity { text: text.to_owned() };
    let (number, unit) = split(trimmed).ok_or_else(refuse)?;
    let count: f64 = number.parse().map_err(|_| refuse())?;
    let unit = unit.trim();
    if unit.is_empty() {
        return Ok(Quantity::number(count));
    }
    let scale = scale(unit)?;
    Ok(Quantity::new(count * scale.factor / scale.divisor + scale.offset, scale.dimension).keep_zero(count))
}

impl Quantity {
    /// Adding an offset of zero turns -0 into +0; the sign belongs to the text.
    fn keep_zero(self, count: f64) -> Self {
        if self.value == 0.0 && count == 0.0 { Self::new(count, self.dimension) } else { self }
    }
}

pub(super) fn from_si(quantity: Quantity, unit: &str) -> Result<f64, QuantityError> {
    let scale = scale(unit.trim())?;
    if scale.dimension != quantity.dimension {
        return Err(QuantityError::WrongUnit {
            unit: unit.to_owned(),
            unit_dimension: scale.dimension,
            dimension: quantity.dimension,
        });
    }
    let count = (quantity.value - scale.offset) * scale.divisor / scale.factor;
    if count.is_finite() {
        return Ok(count);
    }
    Err(QuantityError::NotFinite { operation: "convert", result: "infinite" })
}

/// Splits the leading decimal number off. The letter `e` belongs to the number only when digits follow it.
fn split(text: &str) -> Option<(&str, &str)> {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let whole = digits(sign);
    let mut end = sign + whole;
    let mut fraction = 0;
    if bytes.get(end) == Some(&b'.') {
        fraction = digits(end + 1);
        end += 1 + fraction;
    }
    if whole + fraction == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let signed = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = if end + 1 + signed <= bytes.len() { digits(end + 1 + signed) } else { 0 };
        if exponent > 0 {
            end += 1 + signed + exponent;
        }
    }
    Some((&text[..end], &text[end..]))
}

/// Reads `km/s`, `kg m²/s³`, `1/s`, `m^0.5`. After each `/` stands one divisor.
fn scale(text: &str) -> Result<Scale, QuantityError> {
    if let Some(unit) = Unit::by_name(text) {
        let (factor, divisor) = unit.ratio();
        return Ok(Scale { factor, divisor, offset: unit.offset, dimension: unit.dimension });
    }
    let unknown = || Unit::unknown(text);
    let mut product = Scale { factor: 1.0, divisor: 1.0, offset: 0.0, dimension: Dimension::NUMBER };
    let mut pieces = 0;
    for (index, group) in text.split('/').enumerate() {
        let words: Vec<&str> = group.split([' ', '·', '*']).filter(|word| !word.is_empty()).collect();
        if words.is_empty() {
            return Err(unknown());
        }
        for (place, word) in words.into_iter().enumerate() {
            pieces += 1;
            if word == "1" && index == 0 {
                continue;
            }
            let (symbol, halves) = exponent(word).ok_or_else(unknown)?;
            let unit = Unit::by_name(symbol)
                .ok_or_else(|| Unit::unknown(if pieces == 1 && text == word { text } else { symbol }))?;
            if unit.offset != 0.0 {
                return Err(QuantityError::OffsetUnit { unit: symbol.to_owned(), text: text.to_owned() });
            }
            let under = index > 0 && place == 0;
            let power = f64::from(halves) / 2.0;
            let raised = |x: f64| if halves == 2 { x } else { x.powf(power) };
            let (factor, divisor) = unit.ratio();
            let dimension = unit.dimension.power_of_halves(halves).ok_or_else(unknown)?;
            if under {
                product.factor *= raised(divisor);
                product.divisor *= raised(factor);
                product.dimension = product.dimension.over(dimension).ok_or_else(unknown)?;
            } else {
                product.factor *= raised(factor);
                product.divisor *= raised(divisor);
                product.dimension = product.dimension.times(dimension).ok_or_else(unknown)?;
            }
        }
    }
    let sound = |x: f64| x.is_finite() && x > 0.0;
    if sound(product.factor) && sound(product.divisor) { Ok(product) } else { Err(unknown()) }
}

/// `m²`, `m2`, `m^2`, `m^0.5`, `s^-1` to symbol and exponent in halves.
fn exponent(word: &str) -> Option<(&str, i32)> {
    if Unit::by_name(word).is_some() {
        return Some((word, 2));
    }
    if let Some((symbol, power)) = word.split_once('^') {
        let power: f64 = power.parse().ok()?;
        let halves = 2.0 * power;
        return (halves == halves.trunc() && halves.abs() < 127.0).then_some((symbol, halves as i32));
    }
    for (mark, halves) in [('²', 4), ('³', 6), ('2', 4), ('3', 6), ('4', 8)] {
        if let Some(symbol) = word.strip_suffix(mark) {
            return Some((symbol, halves));
        }
    }
    Some((word, 2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(text: &str, value: f64, dimension: Dimension) {
        assert_eq!(Quantity::parse(text), Ok(Quantity::new(value, dimension)), "{text}");
    }

    #[test]
    fn reads_what_people_write() {
        check("62 km", 62e3, Dimension::LENGTH);
        check("62km", 62e3, Dimension::LENGTH);
        check(" -1.5e3 m/s ", -1500.0, Dimension::SPEED);
        check("9 ms", 0.009, Dimension::TIME);
        check("2 hours", 7200.0, Dimension::TIME);
        check("7.8 km_s", 7800.0, Dimension::SPEED);
        check("12 km²/s²", 12e6, Dimension::SPECIFIC_ENERGY);
        check("12 km2/s2", 12e6, Dimension::SPECIFIC_ENERGY);
        check("12 km^2/s^2", 12e6, Dimension::SPECIFIC_ENERGY);
        check("20 degC", 293.15, Dimension::TEMPERATURE);
        check("3 1/s", 3.0, Dimension::FREQUENCY);
        check("3 kg m²/s³", 3.0, Dimension::POWER);
        check(".5", 0.5, Dimension::NUMBER);
        check("1e3", 1e3, Dimension::NUMBER);
    }

    #[test]
    fn refuses_what_is_no_quantity() {
        for text in [
            "", "km", "-", ".", "e5", "nan m", "inf", "1e400 m", "5 km/", "5 /s", "5 m^x", "5 K/degC", "5 m^900",
            "3 e", "1e", "1e+",
        ] {
            assert!(Quantity::parse(text).is_err(), "{text}");
        }
        assert!(matches!(Quantity::parse("20 degC/s"), Err(QuantityError::OffsetUnit { .. })));
    }

    proptest! {
        #[test]
        fn exact_text_reads_back_to_the_same_bits(bits: u64, halves in prop::array::uniform5(-6_i32..=6)) {
            let value = f64::from_bits(bits);
            prop_assume!(value.is_finite());
            let mut dimension = Dimension::NUMBER;
            for (symbol, half) in ["m", "kg", "s", "rad", "K"].into_iter().zip(halves) {
                let base = Dimension::base(symbol).unwrap().power(half).unwrap().root(2).unwrap();
                dimension = dimension.times(base).unwrap();
            }
            let back = Quantity::parse(&Quantity::new(value, dimension).exact()).unwrap();
            prop_assert_eq!(back.value.to_bits(), bits);
            prop_assert_eq!(back.dimension, dimension);
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,24}") {
            let _ = Quantity::parse(&text);
            let _ = Quantity::length(1.0).to(&text);
        }
    }
}
