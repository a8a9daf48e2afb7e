//! Where bytes of strangers come in: job files, lengths that are typed, the headers of pictures, intents.

use scrieve::job::{Desk, Intent, Words, ZipWriter, bundled, preview, read_job_file};
use scrieve::quantity::{Style, read_length};
use scrieve::raster::header::{self, Format};

/// The words of a desk.
///
/// # Panics
/// Where the page's own words can't be read.
pub fn words() -> Words {
    Words::read(include_str!("../../www/words/en.json")).expect("the page's own words can be read")
}

/// A job file, its preview, and all jobs as one file; and the same bytes as the `job.json` of a file that is whole: sums that have to
/// fit would keep out all that is changed.
pub fn job_file(bytes: &[u8]) {
    let whole = || -> Option<Vec<u8>> {
        let mut zip = ZipWriter::default();
        Some([zip.enter("job.json", bytes).ok()?, bytes.to_vec(), zip.end().ok()?].concat())
    };
    for bytes in [Some(bytes.to_vec()), whole()].into_iter().flatten() {
        let _ = (read_job_file(&bytes), preview(&bytes), bundled(&bytes));
    }
}

/// A length, as it is typed where inches and where mm are used.
pub fn fraction(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for style in [Style::Inches, Style::Millimetres] {
        let _ = read_length(&text, style);
    }
}

/// A picture's header, and what is asked of a file before it is read.
pub fn header(bytes: &[u8]) {
    let _ = (header::own_length(bytes), header::read(bytes, "a.jpg"));
    for format in Format::ALL {
        let _ = (header::ends_in(format, bytes), header::remedy(format, "a.jpg"));
    }
}

/// So many intents are taken from one input.
const MOST: usize = 12;

/// A short job, then whatever each line says, and the job is shown.
///
/// # Panics
/// When what is refused has changed the job, and when the short job itself is.
pub fn intent(words: &Words, bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let read = |line: &str| scrieve::json::read::<Intent>(line).ok();
    let lines: Vec<Intent> = text.lines().take(MOST).filter_map(read).collect();
    if lines.is_empty() {
        return;
    }
    let mut desk = Desk::new(words.clone());
    let begun = [
        r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000,"digest":"d"}"#,
        r#"{"kind":"place","picture":1,"mark":"length","points":[[100,100],[1300,100]],"zoom":8,"seen":true}"#,
        r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,500],[900,500],[900,900],[100,900]],"zoom":8,"seen":true}"#,
        r#"{"kind":"set-build","mark":1,"length":"24"}"#,
    ];
    for line in begun {
        desk.intend(read(line).expect("an intent")).expect("a job to begin with");
    }
    for intent in lines {
        let before = desk.document().clone();
        if desk.intend(intent).is_err() {
            assert!(desk.document() == &before, "a refused intent changed the job");
        }
    }
    let _ = desk.scene();
}
