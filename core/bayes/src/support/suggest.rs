//! Lookup of ids, with a suggestion for one that does not exist.

use thiserror::Error;

/// An id that does not exist.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("at {place}: {}", said(.what, .id, .nearest.as_deref(), .note))]
pub struct NoSuchId {
    /// Path to where it is used.
    pub place: String,
    /// The kind of thing looked up.
    pub what: &'static str,
    /// The id.
    pub id: String,
    /// The most similar existing id, if it is similar enough.
    pub nearest: Option<String>,
    /// A further hint, or empty.
    pub note: &'static str,
}

/// The text for an id that does not exist, with a suggestion.
pub fn said(what: &str, id: &str, nearest: Option<&str>, note: &str) -> String {
    format!("there is no {what} \"{id}\"{}{note}", meant(nearest))
}

/// `; did you mean "..."?`, or nothing.
fn meant(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |id| format!("; did you mean \"{id}\"?"))
}

impl NoSuchId {
    /// The error for `id`, with a suggestion from the known ids.
    pub fn new<'a>(
        place: impl Into<String>,
        what: &'static str,
        id: &str,
        known: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        // Dynamic, so that all iterator types share one copy of the code.
        let nearest = nearest(id, &mut known.into_iter());
        NoSuchId { place: place.into(), what, id: id.to_owned(), nearest, note: "" }
    }
}

/// The index of an id among the known ids.
///
/// # Errors
/// [`NoSuchId`] if it is not among them.
pub fn find<'a>(
    place: &str,
    what: &'static str,
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, NoSuchId> {
    known.clone().position(|k| k == id).ok_or_else(|| NoSuchId::new(place, what, id, known))
}

/// The candidate most similar to `wrong`, if it is similar enough to be meant.
fn nearest(wrong: &str, known: &mut dyn Iterator<Item = &str>) -> Option<String> {
    let wrong = wrong.to_ascii_lowercase();
    known
        .map(|id| (strsim::osa_distance(&wrong, &id.to_ascii_lowercase()), id))
        // A third of the letters may differ.
        .filter(|(distance, id)| *distance * 3 <= id.chars().count().max(3))
        .min()
        .map(|(_, id)| id.to_owned())
}

/// `; did you mean "..."?`, or nothing.
pub fn hint<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    meant(nearest(wrong, &mut known.into_iter()).as_deref())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn similar_words_are_suggested_and_others_are_not() {
        let known = ["spark-gap-tester", "fuel-smell", "tank-look"];
        let nearest = |wrong: &str| nearest(wrong, &mut known.into_iter());
        assert_eq!(nearest("fuel-smel").as_deref(), Some("fuel-smell"));
        assert_eq!(nearest("Tank-Look").as_deref(), Some("tank-look"));
        assert_eq!(nearest("carburettor"), None);
        assert_eq!(hint("tnak-look", known), "; did you mean \"tank-look\"?");
    }
}
