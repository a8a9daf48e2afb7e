//! The job file: a zip with a readable `job.json` and the original pictures.
//!
//! `job.json` is `{"format": "scrieve-job", "version": 1, "document": {…}, "log": [fact, …]}`. The log is what is
//! read back; the document is there for people and other programs to read. Pictures stand under
//! `pictures/<digest>` exactly as they came, stored without packing (they are packed already). The same job gives
//! the same bytes: entries are in order and carry no date.

use super::document::Document;
use super::intent::Intent;
use crate::words::Say;
use serde::{Deserialize, Serialize};
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// What `format` says.
const FORMAT: &str = "scrieve-job";
/// The newest version that this program writes and reads.
pub const VERSION: u32 = 1;
/// A job.json larger than this isn't read (a log of a million touches is smaller).
const LARGEST_JSON: u64 = 256 << 20;
/// No more than this is taken out of a file, whatever it says of itself.
const LARGEST_WHOLE: u64 = 1 << 30;
/// No more entries than a job can have.
const MOST_ENTRIES: usize = 1_000;

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

#[derive(Deserialize)]
struct Found {
    format: String,
    version: u32,
    log: Vec<Intent>,
}

fn broken(why: impl std::fmt::Display) -> Say {
    Say::new("file.broken").text("why", why.to_string())
}

/// The readable half of a job file.
///
/// # Errors
/// Never in practice.
pub fn job_json(document: &Document, log: &[Intent]) -> Result<String, Say> {
    serde_json::to_string_pretty(&Written { format: FORMAT, version: VERSION, document, log }).map_err(broken)
}

/// A job file.
///
/// # Errors
/// When it grows too large to be written.
pub fn write(document: &Document, log: &[Intent], pictures: &[Kept]) -> Result<Vec<u8>, Say> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default());
    zip.start_file("job.json", plain).map_err(broken)?;
    zip.write_all(job_json(document, log)?.as_bytes()).map_err(broken)?;
    let mut order: Vec<&Kept> = pictures.iter().collect();
    order.sort_by(|a, b| a.digest.cmp(&b.digest));
    order.dedup_by(|a, b| a.digest == b.digest);
    for p in order.iter().filter(|p| is_digest(&p.digest)) {
        zip.start_file(format!("pictures/{}", p.digest), plain).map_err(broken)?;
        zip.write_all(&p.bytes).map_err(broken)?;
    }
    zip.finish().map(Cursor::into_inner).map_err(broken)
}

fn is_digest(text: &str) -> bool {
    !text.is_empty() && text.len() <= 128 && text.chars().all(|c| c.is_ascii_alphanumeric())
}

/// What a job file holds: its log and its pictures.
///
/// # Errors
/// What is wrong with the file, in words.
pub fn read(bytes: &[u8]) -> Result<(Vec<Intent>, Vec<Kept>), Say> {
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|_| Say::new("file.not-a-job"))?;
    if zip.len() > MOST_ENTRIES {
        return Err(Say::new("file.too-many-entries").count("most", MOST_ENTRIES));
    }
    let json = {
        let entry = zip.by_name("job.json").map_err(|_| Say::new("file.not-a-job"))?;
        take(entry, LARGEST_JSON)?
    };
    let log = read_json(&json)?;
    let mut left = LARGEST_WHOLE;
    let mut pictures = Vec::new();
    for i in 0..zip.len() {
        let entry = zip.by_index(i).map_err(broken)?;
        let name = entry.name().map_err(broken)?.into_owned();
        let Some(digest) = name.strip_prefix("pictures/").map(str::to_owned) else { continue };
        if !is_digest(&digest) {
            continue;
        }
        let bytes = take(entry, left)?;
        left -= bytes.len() as u64;
        pictures.push(Kept { digest, bytes });
    }
    Ok((log, pictures))
}

/// Reads an entry, but never more than `most` bytes, whatever it says of its size.
fn take(entry: impl Read, most: u64) -> Result<Vec<u8>, Say> {
    let mut out = Vec::new();
    entry.take(most + 1).read_to_end(&mut out).map_err(broken)?;
    if out.len() as u64 > most {
        return Err(Say::new("file.too-large"));
    }
    Ok(out)
}

fn read_json(json: &[u8]) -> Result<Vec<Intent>, Say> {
    #[derive(Deserialize)]
    struct Head {
        format: Option<String>,
        version: Option<u32>,
    }
    let head: Head = serde_json::from_slice(json).map_err(broken)?;
    if head.format.as_deref() != Some(FORMAT) {
        return Err(Say::new("file.not-a-job"));
    }
    if head.version.is_none_or(|v| v > VERSION) {
        return Err(Say::new("file.newer"));
    }
    let found: Found = serde_json::from_slice(json).map_err(broken)?;
    debug_assert!(found.format == FORMAT && found.version <= VERSION);
    if let Some(strange) = found.log.iter().position(|f| !f.is_fact()) {
        return Err(broken(format!("entry {} of its log", strange + 1)));
    }
    Ok(found.log)
}
