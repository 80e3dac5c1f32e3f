//! A job as a short text that fits in a link.
//!
//! `1.` (the version), then the job file as compact JSON, deflated and written in base64url without
//! padding (RFC 1951, RFC 4648 section 5). It goes into the fragment of an address, which browsers
//! keep to themselves.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use thiserror::Error;

use crate::job::{JobError, JobFile};

const VERSION: &str = "1.";
/// No honest job is longer; a hostile link cannot fill the memory.
const LONGEST_JOB: usize = 1 << 20;

/// What is wrong with a link.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LinkError {
    /// It does not begin with a version known here.
    #[error("the link is of a version that this program does not know (it should begin with \"{VERSION}\")")]
    Version,
    /// Characters that do not belong there.
    #[error("the link is damaged: it holds characters that do not belong there, or its end is missing")]
    Characters,
    /// The packed text cannot be unpacked.
    #[error("the link is damaged: what it holds cannot be unpacked")]
    Packing,
    /// What it holds is not a job.
    #[error("the link does not hold a job: {0}")]
    Job(JobError),
}

/// The link text of a job.
#[must_use]
pub fn encode(job: &JobFile) -> String {
    let json = serde_json::to_vec(job).unwrap_or_default();
    let packed = miniz_oxide::deflate::compress_to_vec(&json, 9);
    format!("{VERSION}{}", URL_SAFE_NO_PAD.encode(packed))
}

/// The job of a link text.
///
/// # Errors
/// [`LinkError`]. The ids in the job are not checked here, because that needs the machine.
pub fn decode(text: &str) -> Result<JobFile, LinkError> {
    let packed = text.trim().strip_prefix(VERSION).ok_or(LinkError::Version)?;
    let packed = URL_SAFE_NO_PAD.decode(packed).map_err(|_| LinkError::Characters)?;
    let json = miniz_oxide::inflate::decompress_to_vec_with_limit(&packed, LONGEST_JOB)
        .map_err(|_| LinkError::Packing)?;
    let json = String::from_utf8(json).map_err(|_| LinkError::Packing)?;
    JobFile::from_json(&json).map_err(LinkError::Job)
}
