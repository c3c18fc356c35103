//! The nearest right names to one that there is not.

/// Most names that are offered.
const OFFERED: usize = 3;

/// The nearest names, best first: spelt alike, or with the same last part.
pub(super) fn nearest<'n>(name: &str, known: &[&'n str]) -> Vec<&'n str> {
    let most = 2 + name.len() / 8;
    let last = |id: &str| id.rsplit('.').next().unwrap_or(id).to_owned();
    let mut rows: Vec<(usize, &str)> = known
        .iter()
        .filter_map(|one| {
            let distance = strsim::damerau_levenshtein(name, one);
            let parted = strsim::damerau_levenshtein(&last(name), &last(one));
            let alike = distance <= most || (parted <= 1 && 3 < last(name).len());
            alike.then_some((distance.min(most + parted), *one))
        })
        .collect();
    rows.sort_unstable();
    rows.into_iter().take(OFFERED).map(|row| row.1).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn offers_what_is_spelt_alike_or_ends_alike() {
        let known = ["protection.missing", "return.missing", "protection.far", "meter.silent"];
        assert_eq!(nearest("protection.mising", &known), ["protection.missing", "return.missing"]);
        assert_eq!(nearest("missing", &known), ["protection.missing", "return.missing"]);
        assert!(nearest("zzz", &known).is_empty());
    }
}
