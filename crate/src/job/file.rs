//! The job file: a zip with a readable `job.json` and the original pictures.
//!
//! `job.json` is `{"format": "scrieve-job", "version": 1, "document": {…}, "log": [fact, …]}`. The log is what is
//! read back; the document is there for people and other programs to read. Pictures stand under
//! `pictures/<digest>` exactly as they came, stored without packing (they are packed already). The same job gives
//! the same bytes: entries are in order and carry no date. `preview.jpg`, where there is one, is a small picture of the job for whoever
//! lists files; nothing is read from it but itself.
//!
//! All jobs of a browser go into one zip of job files, stored as they are ([`bundled`] finds them again).

use super::document::Document;
use super::intent::Intent;
use super::tagged;
use super::zip::{self, Archive, Entry};
use crate::json::{self, Json};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// What `format` says.
const FORMAT: &str = "scrieve-job";
/// The newest version that this program writes and reads.
pub const VERSION: u32 = 1;
/// A job.json larger than this isn't read (a log of a million touches is smaller).
const LARGEST_JSON: u64 = 256 << 20;
/// No more than this is taken out of a file, whatever it says of itself.
const LARGEST_WHOLE: u64 = 1 << 30;
/// Nor more than this and four times the file itself: pictures are packed already, so what swells further is no job.
const LARGEST_SWELLING: u64 = 64 << 20;
/// No more entries than a job can have.
const MOST_ENTRIES: usize = 1_000;

/// Where pictures stand in the file.
const PICTURES: &str = "pictures/";
/// A small picture of the job.
const PREVIEW: &str = "preview.jpg";
/// A larger one is no preview.
const LARGEST_PREVIEW: u64 = 1 << 20;
/// How a job file's name ends.
const ENDING: &[u8] = b".scrieve.zip";
/// No more job files than this are looked for in one file.
const MOST_JOBS: usize = 10_000;

/// A picture's bytes with the digest that the document knows it by.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// SHA-256, hex; letters and digits only.
    pub digest: String,
    /// The file as it came.
    pub bytes: Vec<u8>,
}

#[derive(Serialize)]
struct Written<'a> {
    format: &'a str,
    version: u32,
    document: &'a Document,
    log: &'a [Intent],
}

/// As much of job.json as is read; the log's entries are only looked at when the version is known.
#[derive(Deserialize)]
struct Found {
    format: Option<String>,
    version: Option<u32>,
    log: Option<Json>,
}

pub(super) fn broken(why: impl std::fmt::Display) -> Say {
    Say::new("file.broken").text("why", why.to_string())
}

/// The readable half of a job file.
///
/// # Errors
/// Never in practice.
pub fn job_json(document: &Document, log: &[Intent]) -> Result<String, Say> {
    let compact =
        json::write(&Written { format: FORMAT, version: VERSION, document, log }).map_err(broken)?;
    Ok(json::spread(&compact))
}

/// A job file.
///
/// # Errors
/// When it grows too large to be written.
pub fn write(document: &Document, log: &[Intent], pictures: &[Kept], preview: &[u8]) -> Result<Vec<u8>, Say> {
    let mut order: Vec<&Kept> = pictures.iter().filter(|p| is_digest(&p.digest)).collect();
    crate::order::sort_by(&mut order, |a, b| a.digest.cmp(&b.digest));
    order.dedup_by(|a, b| a.digest == b.digest);
    let json = job_json(document, log)?;
    let mut files = vec![("job.json".to_owned(), json.as_bytes())];
    files.extend(order.iter().map(|p| (format!("{PICTURES}{}", p.digest), p.bytes.as_slice())));
    if !preview.is_empty() {
        files.push((PREVIEW.to_owned(), preview));
    }
    zip::write(&files)
}

fn is_digest(text: &str) -> bool {
    !text.is_empty() && text.len() <= 128 && text.chars().all(|c| c.is_ascii_alphanumeric())
}

/// What a job file holds: its log and its pictures.
///
/// # Errors
/// What is wrong with the file, in words.
pub fn read(bytes: &[u8]) -> Result<(Vec<Intent>, Vec<Kept>), Say> {
    let archive = Archive::new(bytes)?;
    let entries = archive.entries(MOST_ENTRIES)?;
    if entries.len() > MOST_ENTRIES {
        return Err(Say::new("file.too-many-entries").count("most", MOST_ENTRIES));
    }
    let json = entries.iter().rfind(|e| e.name() == b"job.json").ok_or_else(|| Say::new("file.not-a-job"))?;
    let log = read_json(&archive.take(json, LARGEST_JSON)?)?;
    let mut left = LARGEST_WHOLE.min(LARGEST_SWELLING + 4 * bytes.len() as u64);
    let mut pictures = Vec::new();
    for (entry, digest) in entries.iter().filter_map(|e| Some((e, digest(e)?))) {
        let bytes = archive.take(entry, left)?;
        left -= bytes.len() as u64;
        pictures.push(Kept { digest, bytes });
    }
    Ok((log, pictures))
}

/// The preview in a job file; empty where there is none that can be used.
pub fn preview(bytes: &[u8]) -> Vec<u8> {
    let found = |archive: Archive| {
        let entries = archive.entries(MOST_ENTRIES).ok()?;
        archive.take(entries.iter().rfind(|e| e.name() == PREVIEW.as_bytes())?, LARGEST_PREVIEW).ok()
    };
    Archive::new(bytes).ok().and_then(found).unwrap_or_default()
}

/// Where in a file that holds many job files each of them stands: from its first byte up to behind its last. None in a
/// job file.
///
/// # Errors
/// When it is no zip, or there are too many things in it.
pub fn bundled(bytes: &[u8]) -> Result<Vec<(usize, usize)>, Say> {
    let archive = Archive::new(bytes)?;
    let entries = archive.entries(MOST_JOBS)?;
    if entries.len() > MOST_JOBS {
        return Err(Say::new("file.too-many-entries").count("most", MOST_JOBS));
    }
    if entries.iter().any(|e| e.name() == b"job.json") {
        return Ok(Vec::new());
    }
    let jobs = entries.iter().filter(|e| e.name().ends_with(ENDING));
    Ok(jobs.filter_map(|e| archive.range(e)).filter(|(from, to)| from <= to && *to <= bytes.len()).collect())
}

/// The digest of the picture that stands in an entry.
fn digest(entry: &Entry) -> Option<String> {
    let name = std::str::from_utf8(entry.name()).ok()?.strip_prefix(PICTURES)?;
    is_digest(name).then(|| name.to_owned())
}

fn read_json(text: &[u8]) -> Result<Vec<Intent>, Say> {
    let found: Found = json::read(std::str::from_utf8(text).map_err(broken)?).map_err(broken)?;
    if found.format.as_deref() != Some(FORMAT) {
        return Err(Say::new("file.not-a-job"));
    }
    if found.version.is_none_or(|v| v > VERSION) {
        return Err(Say::new("file.newer"));
    }
    let Some(Json::List(entries)) = found.log else { return Err(broken("it has no log")) };
    entries.into_iter().enumerate().map(|(i, entry)| fact(i, entry)).collect()
}

/// The `i`th entry of a log.
fn fact(i: usize, entry: Json) -> Result<Intent, Say> {
    let strange = || broken(format!("entry {} of its log", i + 1));
    let Json::Fields(fields) = entry else { return Err(strange()) };
    let intent = tagged::read(fields).map_err(|e| broken(format!("entry {} of its log: {e}", i + 1)))?;
    if intent.is_fact() { Ok(intent) } else { Err(strange()) }
}
