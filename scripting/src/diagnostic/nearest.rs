//! The nearest known name to a misspelt one.

/// The known name that is most like `word`, when it is near enough to be meant.
pub fn nearest<'n>(word: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let lower = word.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for name in names {
        let likeness = if name.eq_ignore_ascii_case(word) {
            1.0
        } else {
            let distance = strsim::damerau_levenshtein(&lower, &name.to_lowercase());
            let longest = word.chars().count().max(name.chars().count());
            let likeness = 1.0 - distance as f64 / longest.max(1) as f64;
            // One slip in a short word is still a slip.
            if distance == 1 && longest >= 3 { likeness.max(0.7) } else { likeness }
        };
        // Below 0.6 a suggestion confuses more than it helps.
        if likeness >= 0.6 && best.is_none_or(|(known, _)| likeness > known) {
            best = Some((likeness, name));
        }
    }
    best.map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn finds_a_transposed_name_and_refuses_a_far_one() {
        let names = ["circular", "orbit", "periapsis_radius"];
        assert_eq!(nearest("cicrular", names), Some("circular"));
        assert_eq!(nearest("Orbit", names), Some("orbit"));
        assert_eq!(nearest("banana", names), None);
    }
}
