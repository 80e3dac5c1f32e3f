//! Looking ids up: what is said of one that nothing has, with the nearest known one.

use thiserror::Error;

/// An id that nothing has.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("at {place}: {}", said(.what, .id, .nearest.as_deref(), .note))]
pub struct NoSuchId {
    /// Where it is used.
    pub place: String,
    /// What was looked for.
    pub what: &'static str,
    /// The id.
    pub id: String,
    /// The known one that may have been meant.
    pub nearest: Option<String>,
    /// What else helps, or empty.
    pub note: &'static str,
}

/// That there is no such thing, with what may have been meant.
pub fn said(what: &str, id: &str, nearest: Option<&str>, note: &str) -> String {
    format!("there is no {what} \"{id}\"{}{note}", meant(nearest))
}

/// `; did you mean "..."?`, or nothing.
fn meant(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |id| format!("; did you mean \"{id}\"?"))
}

impl NoSuchId {
    pub fn new<'a>(
        place: impl Into<String>,
        what: &'static str,
        id: &str,
        known: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        // Made once, for all kinds of lists.
        let nearest = nearest(id, &mut known.into_iter());
        NoSuchId { place: place.into(), what, id: id.to_owned(), nearest, note: "" }
    }
}

/// The place of an id among those known.
pub fn find<'a>(
    place: &str,
    what: &'static str,
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, NoSuchId> {
    known.clone().position(|k| k == id).ok_or_else(|| NoSuchId::new(place, what, id, known))
}

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
pub fn hint<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    meant(nearest(wrong, &mut known.into_iter()).as_deref())
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
