//! As much of the zip format as a job file needs: stored entries are written, stored and deflated ones are read.
//!
//! Written here rather than by a library for whole archives: those weigh a quarter of the program that a tablet fetches.
//! Finding one's way in files from elsewhere is left to `rawzip`, unpacking to `miniz_oxide`.
//!
//! # References
//! PKWARE, APPNOTE.TXT – .ZIP File Format Specification 6.3, sections 4.3.7 (before each file), 4.3.12 (the
//! directory), 4.3.16 (its end), 4.4.7 (CRC-32).

use super::file::broken;
use crate::words::Say;
use miniz_oxide::inflate::{TINFLStatus, decompress_to_vec_with_limit};
use rawzip::{CompressionMethod, ZipArchive, ZipFileHeaderRecord, ZipSliceArchive};

/// The first midnight that the format can write: no entry carries a date of its own.
const NO_TIME: [u8; 4] = [0, 0, 0x21, 0];
/// "2.0", what a reader has to understand.
const NEEDED: [u8; 2] = [20, 0];

/// The CRC-32 of zip, PNG and Ethernet.
fn crc32(bytes: &[u8]) -> u32 {
    // Made here in a microsecond: as constants it would be fetched, and noise doesn't pack.
    let table: [u32; 256] = std::array::from_fn(|i| {
        (0..8).fold(i as u32, |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    });
    !bytes.iter().fold(!0, |c, b| table[usize::from(c as u8 ^ b)] ^ (c >> 8))
}

/// A zip that is written file by file, by whoever holds the files: each head goes before its file, the end after them all.
/// So no second copy of what may be large is made.
#[derive(Default)]
pub struct Writer {
    at: usize,
    count: u16,
    directory: Vec<u8>,
}

fn large() -> Say {
    Say::new("file.too-large")
}

fn number(n: usize) -> Result<[u8; 4], Say> {
    u32::try_from(n).ok().filter(|n| *n < u32::MAX).map(u32::to_le_bytes).ok_or_else(large)
}

impl Writer {
    /// The head of a file, which goes right before its bytes as they are.
    ///
    /// # Errors
    /// `file.too-large` when the format has no room for it (4 GB, 65,534 files).
    pub fn enter(&mut self, name: &str, bytes: &[u8]) -> Result<Vec<u8>, Say> {
        let count = self.count.checked_add(1).filter(|n| *n < u16::MAX).ok_or_else(large)?;
        let (at, size) = (number(self.at)?, number(bytes.len())?);
        let name_len = u16::try_from(name.len()).map_err(|_| large())?.to_le_bytes();
        let sum = crc32(bytes).to_le_bytes();
        // Needed, flags, method, time and date, sum, sizes packed and unpacked, lengths of the name and of extras.
        let head = [&NEEDED[..], &[0; 4], &NO_TIME, &sum, &size, &size, &name_len, &[0; 2]].concat();
        // Written by; as before the file; the comment's length, disk, attributes inside and outside; place.
        append(&mut self.directory, &[b"PK\x01\x02", &NEEDED, &head, &[0; 10], &at, name.as_bytes()]);
        let mut before = Vec::new();
        append(&mut before, &[b"PK\x03\x04", &head, name.as_bytes()]);
        self.at += before.len() + bytes.len();
        self.count = count;
        Ok(before)
    }

    /// What goes after the last file.
    ///
    /// # Errors
    /// As [`Writer::enter`].
    pub fn end(&self) -> Result<Vec<u8>, Say> {
        let (at, size, count) = (number(self.at)?, number(self.directory.len())?, self.count.to_le_bytes());
        let mut out = Vec::new();
        append(&mut out, &[&self.directory, b"PK\x05\x06", &[0; 4], &count, &count, &size, &at, &[0; 2]]);
        Ok(out)
    }
}

/// A zip with these files, by name, in this order, as they are.
///
/// # Errors
/// As [`Writer::enter`].
pub fn write(files: &[(String, &[u8])]) -> Result<Vec<u8>, Say> {
    let room: usize = files.iter().map(|(name, bytes)| bytes.len() + 2 * name.len() + 76).sum();
    let mut out = Vec::with_capacity(room + 22);
    let mut writer = Writer::default();
    for (name, bytes) in files {
        append(&mut out, &[&writer.enter(name, bytes)?, bytes]);
    }
    append(&mut out, &[&writer.end()?]);
    Ok(out)
}

fn append(to: &mut Vec<u8>, parts: &[&[u8]]) {
    for part in parts {
        to.extend_from_slice(part);
    }
}

/// A zip from elsewhere.
pub struct Archive<'a>(ZipSliceArchive<&'a [u8]>);

/// One file in it.
pub struct Entry<'a>(ZipFileHeaderRecord<'a>);

impl<'a> Archive<'a> {
    /// Finds the directory in `bytes`.
    ///
    /// # Errors
    /// `file.not-a-job` when there is none.
    pub fn new(bytes: &'a [u8]) -> Result<Archive<'a>, Say> {
        ZipArchive::from_slice(bytes).map(Archive).map_err(|_| Say::new("file.not-a-job"))
    }

    /// Its files in the directory's order, one more than `most` at most.
    ///
    /// # Errors
    /// `file.not-a-job` when the directory is damaged.
    pub fn entries(&self, most: usize) -> Result<Vec<Entry<'_>>, Say> {
        let all = self.0.entries().take(most + 1).map(|e| e.map(Entry));
        all.collect::<Result<_, _>>().map_err(|_| Say::new("file.not-a-job"))
    }

    /// What stands in `entry`, but never more than `most` bytes, whatever it says of its size.
    ///
    /// # Errors
    /// `file.too-large`, or `file.broken` and why.
    pub fn take(&self, entry: &Entry, most: u64) -> Result<Vec<u8>, Say> {
        let said = entry.0.uncompressed_size_hint();
        let room =
            usize::try_from(said).ok().filter(|_| said <= most).ok_or_else(|| Say::new("file.too-large"))?;
        if entry.0.flags().is_encrypted() {
            return Err(broken("locked with a password"));
        }
        let found = self.0.get_entry(entry.0.wayfinder()).map_err(|_| broken("cut short"))?;
        let bytes = match entry.0.compression_method() {
            CompressionMethod::STORE => found.data().to_vec(),
            CompressionMethod::DEFLATE => inflate(found.data(), room)?,
            _ => return Err(broken("packed in an unknown way")),
        };
        if bytes.len() != room || crc32(&bytes) != entry.0.crc32() {
            return Err(broken("its check sum is another one"));
        }
        Ok(bytes)
    }
}

impl<'a> Archive<'a> {
    /// Where in the zip a file stands that isn't packed: from its first byte up to behind its last.
    pub fn range(&self, entry: &Entry) -> Option<(usize, usize)> {
        let found = self.0.get_entry(entry.0.wayfinder()).ok()?;
        let (from, to) = found.compressed_data_range();
        let plain =
            entry.0.compression_method() == CompressionMethod::STORE && !entry.0.flags().is_encrypted();
        Some((usize::try_from(from).ok()?, usize::try_from(to).ok()?)).filter(|_| plain)
    }
}

impl<'a> Entry<'a> {
    /// Its name, as it stands there.
    pub fn name(&self) -> &'a [u8] {
        self.0.file_path().as_bytes()
    }
}

fn inflate(packed: &[u8], room: usize) -> Result<Vec<u8>, Say> {
    decompress_to_vec_with_limit(packed, room).map_err(|e| match e.status {
        TINFLStatus::HasMoreOutput => broken("larger than it says"),
        _ => broken("badly packed"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A picture and a job.json, deflated by Python 3.11's zipfile.
    const PYTHON: &str = "\
504b03041400000008000000210082094b6211000000900100000f00000070696374757265732f6162633132334b5428c84c2e292d4a\
55481c650d021600504b030414000000080000002100f6a7ec7882000000b3000000080000006a6f622e6a736f6e458ec10ec2201044\
7f85ecb935568d077fc578a0b0c22a651ba0f5d0f0efb2268db77db39399d9e0c969d2056e0ab249842bf62f1ea153b062cac4b17d86\
46815dbbee1bbc295a716b6bfb994c59128a3bea09459e838e87393ad13e648b6fe2f5d8c023392f3d17214b0ef3af558f66389da176\
ea9f2d61fb8c3d3817e600f551bf504b010214031400000008000000210082094b6211000000900100000f0000000000000000000000\
80010000000070696374757265732f616263313233504b0102140314000000080000002100f6a7ec7882000000b30000000800000000\
0000000000000080013e0000006a6f622e6a736f6e504b0506000000000200020073000000e60000000000";

    fn python() -> Vec<u8> {
        PYTHON
            .as_bytes()
            .chunks(2)
            .map(|c| u8::from_str_radix(str::from_utf8(c).unwrap(), 16).unwrap())
            .collect()
    }

    /// Every file in a zip, or the key of the refusal.
    fn unpacked(bytes: &[u8], most: u64) -> Result<Vec<(String, Vec<u8>)>, String> {
        let archive = Archive::new(bytes).map_err(|s| s.key.into_owned())?;
        let entries = archive.entries(1_000).map_err(|s| s.key.into_owned())?;
        let one = |e: &Entry| {
            Ok((
                String::from_utf8_lossy(e.name()).into_owned(),
                archive.take(e, most).map_err(|s| s.key.into_owned())?,
            ))
        };
        entries.iter().map(one).collect()
    }

    fn refused(bytes: &[u8], most: u64) -> String {
        unpacked(bytes, most).expect_err("refused")
    }

    #[test]
    fn check_sum() {
        // The check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms [memory].
        assert_eq!(crc32(b"123456789"), 0xcbf4_3926);
        assert_eq!(crc32(b""), 0);
    }

    #[test]
    fn reads_what_python_packed() {
        let files = unpacked(&python(), 1_000).unwrap();
        assert_eq!(files[0], ("pictures/abc123".to_owned(), b"a picture ".repeat(40)));
        assert!(files[1].0 == "job.json" && files[1].1.starts_with(b"{\"format\": \"scrieve-job\""));
        assert_eq!(files.len(), 2);
    }

    #[test]
    fn cut_short_anywhere_is_refused() {
        let stored = write(&[("a".to_owned(), b"some".as_slice()), ("b".to_owned(), b"thing")]).unwrap();
        for whole in [python(), stored] {
            for len in 0..whole.len() {
                assert_eq!(refused(&whole[..len], 1_000), "file.not-a-job", "{len} of {} bytes", whole.len());
            }
        }
    }

    #[test]
    fn takes_no_more_than_allowed() {
        let mut packed = python();
        assert_eq!(refused(&packed, 399), "file.too-large");
        // It says 64 in both places, and holds 400.
        for place in [22, 0xe6 + 24] {
            assert_eq!(packed[place..place + 2], [0x90, 1]);
            packed[place..place + 2].copy_from_slice(&[64, 0]);
        }
        assert_eq!(refused(&packed, 1_000), "file.broken");
        // It says 4 GB.
        packed[0xe6 + 24..0xe6 + 28].copy_from_slice(&[0xfe, 0xff, 0xff, 0xff]);
        assert_eq!(refused(&packed, 1 << 30), "file.too-large");
    }

    #[test]
    fn changed_or_locked_is_refused() {
        let whole = write(&[("a".to_owned(), b"some".as_slice())]).unwrap();
        let data = 30 + 1;
        let directory = data + 4;
        // A byte of the file; "encrypted" among the flags; LZMA.
        for (place, value) in [(data, b'S'), (directory + 8, 1), (directory + 10, 14)] {
            let mut other = whole.clone();
            other[place] = value;
            assert_eq!(refused(&other, 1_000), "file.broken", "byte {place}");
        }
    }

    proptest! {
        #[test]
        fn comes_back_as_it_went(files in prop::collection::vec(("[a-z/]{1,20}", prop::collection::vec(any::<u8>(), 0..200)), 0..6)) {
            let list: Vec<(String, &[u8])> = files.iter().map(|(n, b)| (n.clone(), b.as_slice())).collect();
            let whole = write(&list).unwrap();
            prop_assert_eq!(unpacked(&whole, 200).unwrap(), files);
        }

        #[test]
        fn damage_never_panics(places in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
            let mut bytes = python();
            for (at, value) in places {
                let at = at.index(bytes.len());
                bytes[at] = value;
            }
            let _ = unpacked(&bytes, 1_000);
        }
    }
}
