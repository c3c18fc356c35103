//! The nearest right word to a misspelt one.

/// The candidate with the fewest changed letters, if it is near enough: one letter, or a third of the word.
#[must_use]
pub fn nearest<'w>(word: &str, candidates: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let most = (word.chars().count() / 3).max(1);
    candidates
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|row| row.0 <= most)
        .min_by_key(|row| row.0)
        .map(|row| row.1)
}
