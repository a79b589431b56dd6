//! Seeded mutation of texts: bytes, lines, words and numbers.

/// SplitMix64, the same generator that the benchmark inputs use. [Steele2014]
#[derive(Debug, Clone)]
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Chance(seed)
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Below `bound`; 0 for a bound of 0.
    pub(super) fn below(&mut self, bound: usize) -> usize {
        if bound == 0 { 0 } else { (self.next() % bound as u64) as usize }
    }
}

/// Longest text that is handed on.
const LONGEST: usize = 40_000;

/// A text after one to four changes: with more, hardly any script would get past its first line.
pub(super) fn mutated(seed: &[u8], other: &[u8], words: &[String], chance: &mut Chance) -> Vec<u8> {
    let mut text = seed.to_vec();
    for _ in 0..=chance.below(4) {
        change(&mut text, other, words, chance);
    }
    text.truncate(LONGEST);
    text
}

fn change(text: &mut Vec<u8>, other: &[u8], words: &[String], chance: &mut Chance) {
    let at = chance.below(text.len() + 1);
    match chance.below(10) {
        0 => {
            if let Some(byte) = text.get_mut(at) {
                *byte ^= 1 << chance.below(8);
            }
        }
        1 => text.insert(at, chance.next() as u8),
        2 | 3 => {
            let end = (at + 1 + chance.below(12)).min(text.len());
            text.drain(at..end);
        }
        4 | 5 => {
            let word = words.get(chance.below(words.len())).map_or("", String::as_str);
            text.splice(at..at, word.bytes());
        }
        6 => {
            // A word takes the place of the one that stands there.
            let is_word = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'_';
            let start = text[..at].iter().rposition(|byte| !is_word(byte)).map_or(0, |index| index + 1);
            let end = text[at..].iter().position(|byte| !is_word(byte)).map_or(text.len(), |index| at + index);
            let word = words.get(chance.below(words.len())).map_or("", String::as_str);
            text.splice(start..end, word.bytes());
        }
        7 => {
            // A line of another text.
            let lines: Vec<&[u8]> = other.split(|byte| *byte == b'\n').collect();
            let line = lines.get(chance.below(lines.len())).copied().unwrap_or_default();
            let start = text[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |index| index + 1);
            text.splice(start..start, line.iter().copied().chain([b'\n']));
        }
        8 => {
            // A line twice.
            let start = text[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |index| index + 1);
            let end = text[at..].iter().position(|byte| *byte == b'\n').map_or(text.len(), |index| at + index + 1);
            let line = text[start..end].to_vec();
            text.splice(start..start, line);
        }
        _ => {
            // Another number where a digit stands.
            if let Some(index) = text[at..].iter().position(u8::is_ascii_digit) {
                const NUMBERS: [&str; 10] = [
                    "0",
                    "-1",
                    "1e300",
                    "1e-300",
                    "99999999999",
                    "0.1",
                    "2147483648",
                    "180",
                    "360",
                    "1.0000000000000002",
                ];
                let number = NUMBERS[chance.below(NUMBERS.len())];
                text.splice(at + index..=at + index, number.bytes());
            }
        }
    }
}
