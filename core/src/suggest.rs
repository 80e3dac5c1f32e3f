//! The nearest known id to a misspelt one.

/// The candidate closest to `wrong`, if it is close enough to be what was meant.
fn nearest(wrong: &str, known: &mut dyn Iterator<Item = &str>) -> Option<String> {
    let wrong = wrong.to_ascii_lowercase();
    known
        .map(|id| (strsim::osa_distance(&wrong, &id.to_ascii_lowercase()), id))
        // A third of the letters wrong is still a slip; more is another word.
        .filter(|(distance, id)| *distance * 3 <= id.chars().count().max(3))
        .min()
        .map(|(_, id)| id.to_owned())
}

/// `; did you mean "..."?`, or nothing.
pub(crate) fn hint<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    // Made once, for all kinds of lists.
    nearest(wrong, &mut known.into_iter()).map_or_else(String::new, |id| format!("; did you mean \"{id}\"?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_caught_and_another_word_is_not() {
        let known = ["spark-gap-tester", "fuel-smell", "tank-look"];
        let nearest = |wrong: &str| nearest(wrong, &mut known.into_iter());
        assert_eq!(nearest("fuel-smel").as_deref(), Some("fuel-smell"));
        assert_eq!(nearest("Tank-Look").as_deref(), Some("tank-look"));
        assert_eq!(nearest("carburettor"), None);
        assert_eq!(hint("tnak-look", known), "; did you mean \"tank-look\"?");
    }
}
