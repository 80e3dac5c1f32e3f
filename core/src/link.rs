//! A job as a short text that fits in a link.
//!
//! A link holds `2.` (the version) and the content as compact JSON. The commonest phrases are shortened; the
//! text is deflated and written in base64url without padding (RFC 1951, RFC 4648 section 5). It goes into the
//! fragment of an address, which browsers do not send. Version 1 holds the job alone, with nothing shortened;
//! such a link still opens.

use std::io;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use crate::hash::fnv_1a;
use crate::job::{Job, JobError, JobFile, JobRule};
use crate::json::{self, ShapeError};
use crate::machine::Machine;

/// Version of the links made here.
pub const VERSION: &str = "2.";
/// Version of the first links, which still open.
pub const FIRST_VERSION: &str = "1.";
/// Limit on the bytes of an unpacked job, so that a hostile link cannot fill the memory. No honest job is
/// longer.
const LONGEST_JOB: usize = 1 << 20;
/// Limit on the characters of a note.
pub const LONGEST_NOTE: usize = 500;

/// Frequent phrases of job files, and the character that stands for each. JSON text holds no control
/// characters of its own. The table belongs to the version and must never change.
const SHORT: [(char, &str); 12] = [
    ('\u{1}', r#"{"do":"check","check":""#),
    ('\u{2}', r#"","result":""#),
    ('\u{3}', r#"{"do":"attempt","#),
    ('\u{4}', r#""bypass":[""#),
    ('\u{5}', r#""outcome":""#),
    ('\u{6}', r#"{"do":"repair","repair":""#),
    ('\u{7}', r#"","reading":{"#),
    ('\u{8}', r#","unit":""#),
    ('\u{b}', r#"","known":""#),
    ('\u{c}', r#""},"#),
    ('\u{e}', r#","steps":["#),
    ('\u{f}', r#","kit":["#),
];

/// The content of a link.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Linked {
    /// The job.
    pub job: JobFile,
    /// [`fingerprint`] of the machine description with which the sender kept the job; none in links of
    /// version 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fingerprint: Option<String>,
    /// The note of the sender, as plain text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// How a linked job fits the machine description that is loaded.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Fit {
    /// Fingerprint of the description that is loaded.
    pub fingerprint: String,
    /// Whether the sender kept the job with the same description; none if the link does not state it.
    pub same: Option<bool>,
    /// Steps that the description does not know.
    pub unknown_steps: Vec<UnknownStep>,
}

/// A step that a machine description does not know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct UnknownStep {
    /// Place of the step in the job, from 0.
    pub step: usize,
    /// The rule that it breaks.
    pub rule: JobRule,
}

/// An error of a link.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LinkError {
    /// It does not begin with a known version.
    #[error(
        "the link is of a version that this program does not know (it should begin with \"{VERSION}\" or \
         \"{FIRST_VERSION}\")"
    )]
    Version,
    /// It holds characters that are not base64url.
    #[error("the link is damaged: it holds characters that do not belong there, or its end is missing")]
    Characters,
    /// The packed text cannot be unpacked.
    #[error("the link is damaged: what it holds cannot be unpacked")]
    Packing,
    /// Its content is not a job.
    #[error("the link does not hold a job: {0}")]
    Job(ShapeError),
    /// A job that cannot be written as JSON: an error in the program.
    #[error("the job cannot be written as JSON: {0}")]
    NotWritten(String),
    /// A note that is too long.
    #[error("the note of the link is {0} characters long; {LONGEST_NOTE} are the limit")]
    Note(usize),
}

/// The link text of a job, to be opened on the machine description with that fingerprint.
///
/// # Errors
/// [`LinkError::Note`].
#[cfg(feature = "pack")]
pub fn encode(job: &JobFile, fingerprint: &str, note: Option<&str>) -> Result<String, LinkError> {
    let short = shorten(job, fingerprint, note)?;
    let packed = miniz_oxide::deflate::compress_to_vec(short.as_bytes(), 10);
    Ok(format!("{VERSION}{}", URL_SAFE_NO_PAD.encode(packed)))
}

/// The text that [`encode`] packs, for a program that has its own deflate, as browsers do.
///
/// # Errors
/// [`LinkError::Note`].
pub fn shorten(job: &JobFile, fingerprint: &str, note: Option<&str>) -> Result<String, LinkError> {
    let note = note.map(str::trim).filter(|n| !n.is_empty());
    check_note(note)?;
    let linked =
        Linked { job: job.clone(), fingerprint: Some(fingerprint.to_owned()), note: note.map(str::to_owned) };
    let long = compact(&linked).map_err(|error| LinkError::NotWritten(error.to_string()))?;
    Ok(SHORT.iter().fold(long, |text, (mark, phrase)| text.replace(phrase, &mark.to_string())))
}

/// The content of a link text.
///
/// # Errors
/// [`LinkError`]. The ids in the job are not checked here, because that needs the machine: see [`fit`].
#[cfg(feature = "pack")]
pub fn decode(text: &str) -> Result<Linked, LinkError> {
    let text = text.trim();
    match (text.strip_prefix(VERSION), text.strip_prefix(FIRST_VERSION)) {
        (Some(packed), _) => lengthen(&unpack(packed)?),
        (None, Some(packed)) => lengthen_first(&unpack(packed)?),
        (None, None) => Err(LinkError::Version),
    }
}

/// The content of a link of version 1.
///
/// # Errors
/// [`LinkError::Job`].
pub fn lengthen_first(json: &str) -> Result<Linked, LinkError> {
    let job = json::read(json).map_err(LinkError::Job)?;
    Ok(Linked { job, fingerprint: None, note: None })
}

/// The content of a text from [`shorten`].
///
/// # Errors
/// The errors of [`decode`], except those of the packing.
pub fn lengthen(short: &str) -> Result<Linked, LinkError> {
    let mut json = String::with_capacity(2 * short.len());
    for letter in short.chars() {
        match SHORT.iter().find(|(mark, _)| *mark == letter) {
            Some((_, phrase)) => json.push_str(phrase),
            None => json.push(letter),
        }
        if json.len() > LONGEST_JOB {
            return Err(LinkError::Packing);
        }
    }
    let linked: Linked = json::read(&json).map_err(LinkError::Job)?;
    check_note(linked.note.as_deref())?;
    Ok(linked)
}

fn check_note(note: Option<&str>) -> Result<(), LinkError> {
    match note.map_or(0, |n| n.chars().count()) {
        count if count > LONGEST_NOTE => Err(LinkError::Note(count)),
        _ => Ok(()),
    }
}

#[cfg(feature = "pack")]
fn unpack(packed: &str) -> Result<String, LinkError> {
    let packed = URL_SAFE_NO_PAD.decode(packed).map_err(|_| LinkError::Characters)?;
    let text = miniz_oxide::inflate::decompress_to_vec_with_limit(&packed, LONGEST_JOB)
        .map_err(|_| LinkError::Packing)?;
    String::from_utf8(text).map_err(|_| LinkError::Packing)
}

/// How a linked job fits the machine description that is loaded: whether it is the same description, and
/// which steps it does not know.
///
/// # Errors
/// A job that is wrong for any description of this machine: tools, prices, height.
pub fn fit(linked: &Linked, machine: &Machine, fingerprint: &str) -> Result<Fit, JobError> {
    let alone = |steps| JobFile { steps, ..linked.job.clone() };
    Job::new(machine, &alone(Vec::new()))?;
    let mut unknown_steps = Vec::new();
    for (step, record) in linked.job.steps.iter().enumerate() {
        match Job::new(machine, &alone(vec![record.clone()])) {
            Ok(_) => {}
            // Each step is checked alone, so its place is stated beside the rule.
            Err(JobError::Rule { rule, .. }) => unknown_steps.push(UnknownStep { step, rule }),
            Err(JobError::Unknown(no_such)) => unknown_steps.push(UnknownStep { step, rule: no_such.into() }),
            Err(error) => return Err(error),
        }
    }
    let same = linked.fingerprint.as_deref().map(|f| f == fingerprint);
    Ok(Fit { fingerprint: fingerprint.to_owned(), same, unknown_steps })
}

/// A hash of everything in a machine description that answers depend on: ids, structure and figures, but no
/// words. Two descriptions with the same fingerprint give the same answers (FNV-1a, 64 bits: Fowler, Noll and
/// Vo, draft-eastlake-fnv).
///
/// # Errors
/// [`JobError::Shape`] where the text is not JSON.
pub fn fingerprint(description: &str) -> Result<String, JobError> {
    mark(json::parse(description)?)
}

/// The fingerprint of a description as a JSON value.
fn mark(mut description: Value) -> Result<String, JobError> {
    use_first_names(&mut description);
    reduce(&mut description);
    let text = compact(&description).map_err(not_written)?;
    Ok(URL_SAFE_NO_PAD.encode(fnv_1a(&text).to_be_bytes()))
}

/// Gives fields the names that they had when the first links were made, so that the fingerprints in kept links still
/// match.
fn use_first_names(description: &mut Value) {
    let Some(fields) = description.as_object_mut() else { return };
    for (name, first) in [("context", "background"), ("equivalent_sample_size", "worth")] {
        if let Some(value) = fields.remove(name) {
            fields.insert(first.to_owned(), value);
        }
    }
}

fn not_written(error: serde_json::Error) -> JobError {
    JobError::NotWritten(error.to_string())
}

/// JSON without whitespace. Links and fingerprints hold every number in decimal notation, as `Display` writes
/// it: 5, not 5.0, and 0.0000001, not 1e-7. This belongs to their version and must never change.
fn compact<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    struct Decimal;

    impl serde_json::ser::Formatter for Decimal {
        fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
            write!(writer, "{value}")
        }
    }

    let mut bytes = Vec::new();
    value.serialize(&mut serde_json::Serializer::with_formatter(&mut bytes, Decimal))?;
    String::from_utf8(bytes).map_err(serde::ser::Error::custom)
}

/// Fields that are for people only.
pub(crate) const WORDS: [&str; 11] =
    ["name", "about", "sources", "how", "note", "text", "stop", "prevent", "why", "leaves", "means"];

/// The [`fingerprint`] of a machine.
///
/// # Errors
/// None in a program that passes its tests.
pub fn fingerprint_of(machine: &Machine) -> Result<String, JobError> {
    mark(serde_json::to_value(machine.file()).map_err(not_written)?)
}

/// Keeps only what answers depend on, in a canonical form. An absent field and an empty one are the same; so
/// are 5 and 5.0.
fn reduce(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            fields.values_mut().for_each(reduce);
            fields.retain(|name, field| !WORDS.contains(&name.as_str()) && says_something(field));
        }
        Value::Array(items) => items.iter_mut().for_each(reduce),
        Value::Number(number) => {
            if let Some(same) = number.as_f64().and_then(serde_json::Number::from_f64) {
                *number = same;
            }
        }
        _ => {}
    }
}

fn says_something(value: &Value) -> bool {
    match value {
        Value::Null | Value::Bool(false) => false,
        Value::String(text) => !text.is_empty(),
        Value::Array(items) => !items.is_empty(),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{KnownAct, Outcome, StepRecord};
    use crate::lesson::{mower, mower_text};

    fn demo() -> JobFile {
        JobFile::demo().expect("the demo job is valid")
    }

    #[test]
    fn there_and_back_with_a_note() {
        let note = "my brother's; <b>no spark</b>, \u{1f600} \"so he says\"\n\u{1}and a control character";
        let text = encode(&demo(), "0123", Some(note)).expect("short enough");
        let linked = decode(&text).expect("just made");
        assert_eq!(linked.job, demo());
        assert_eq!(linked.fingerprint.as_deref(), Some("0123"));
        assert_eq!(linked.note.as_deref(), Some(note));
        assert!(text.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)), "{text}");
    }

    #[test]
    fn what_is_told_and_what_waiting_costs_survive_a_link() {
        let mut job = demo();
        (job.told, job.wait_cost_per_hour) = (true, Some(4.5));
        job.steps.push(StepRecord::Repair { repair: "new-plug".into(), known: Some(KnownAct::Told) });
        let outcome = Outcome::Nothing;
        job.steps.push(StepRecord::Attempt { bypass: Vec::new(), outcome, known: Some(KnownAct::Seen) });
        let linked = decode(&encode(&job, "", None).expect("no note")).expect("just made");
        assert_eq!(linked.job, job);
        // A job that says nothing of either is written as it always was.
        let short = shorten(&demo(), "", None).expect("no note");
        assert!(!short.contains("told\":") && !short.contains("wait_cost"), "{short}");
    }

    #[test]
    fn every_phrase_and_no_other_comes_back() {
        let text: String = SHORT.iter().map(|(_, phrase)| *phrase).collect();
        let mut job = demo();
        job.machine = text;
        let linked = decode(&encode(&job, "", None).expect("no note")).expect("just made");
        assert_eq!(linked.job, job);
    }

    #[test]
    fn the_demo_job_fits_a_small_code() {
        // 14 steps. A QR code of version 13 at the lowest correction holds 425 bytes (ISO/IEC 18004,
        // table 7); an address before the fragment takes some 50.
        let text = encode(&demo(), &fingerprint(&mower_text()).expect("JSON"), None).expect("no note");
        assert!(text.len() <= 375, "{}", text.len());
    }

    #[test]
    fn a_link_of_version_1_opens() {
        let json = serde_json::to_vec(&demo()).expect("a job is JSON");
        let packed = miniz_oxide::deflate::compress_to_vec(&json, 9);
        let linked = decode(&format!("1.{}", URL_SAFE_NO_PAD.encode(packed))).expect("as it was made");
        assert_eq!(linked, Linked { job: demo(), fingerprint: None, note: None });
    }

    #[test]
    fn a_note_has_an_end() {
        let long = "x".repeat(LONGEST_NOTE + 1);
        assert_eq!(encode(&demo(), "", Some(&long)), Err(LinkError::Note(LONGEST_NOTE + 1)));
        assert!(encode(&demo(), "", Some(&long[1..])).is_ok());
    }

    #[test]
    fn words_leave_the_fingerprint_and_figures_do_not() {
        let mark = fingerprint(&mower_text()).expect("JSON");
        assert_eq!(mark.len(), 11);
        let authored = mower_text();
        let reworded = authored.replacen("\"name\":\"Recoil-start", "\"name\":\"Rope-start", 1);
        assert_ne!(reworded, authored);
        assert_eq!(fingerprint(&reworded).as_deref(), Ok(mark.as_str()));
        let dearer = authored.replacen("\"hand_over_cost\":", "\"hand_over_cost\":1", 1);
        assert_ne!(dearer, authored);
        assert_ne!(fingerprint(&dearer).as_deref(), Ok(mark.as_str()));
        // The description is the same after it is read and written again.
        assert_eq!(fingerprint_of(mower()), Ok(mark));
    }

    #[test]
    fn numbers_are_written_in_decimal_notation() {
        // Existing links and fingerprints hold numbers in this form.
        let mut job = demo();
        job.rate_per_hour = Some(40.0);
        job.machine_value = Some(1e-7);
        let short = shorten(&job, "", None).expect("no note");
        assert!(short.contains(r#""rate_per_hour":40,"#), "{short}");
        assert!(short.contains(r#""machine_value":0.0000001"#), "{short}");
        let description = r#"{"a": 5.0, "name": "x", "b": 1e-7, "c": [0.30000000000000004, 1e21]}"#;
        // The hash of {"a":5,"b":0.0000001,"c":[0.30000000000000004,1000000000000000000000]}, by another program.
        assert_eq!(fingerprint(description).as_deref(), Ok("CeS_RiXHlkU"));
    }

    #[test]
    fn what_changed_is_told_step_by_step() {
        let machine = mower();
        let mut linked = Linked { job: demo(), fingerprint: Some("older".into()), note: None };
        let fits = fit(&linked, machine, "newer").expect("known tools");
        assert_eq!(fits, Fit { fingerprint: "newer".into(), same: Some(false), unknown_steps: Vec::new() });
        linked.fingerprint = Some("newer".into());
        if let crate::job::StepRecord::Check { check, .. } = &mut linked.job.steps[4] {
            *check = "filter-lok".into();
        }
        let fits = fit(&linked, machine, "newer").expect("known tools");
        assert_eq!(fits.same, Some(true));
        let [stranger] = fits.unknown_steps.as_slice() else { panic!("{:?}", fits.unknown_steps) };
        assert_eq!(stranger.step, 4);
        assert_eq!(
            stranger.rule.to_string(),
            "there is no check \"filter-lok\"; did you mean \"filter-look\"?"
        );
    }
}
