//! Job files from strangers: whatever stands in them, an error in words or a job, never a panic.

use super::file::{Kept, bundled, preview, read, write};
use super::tests::{after, intent};
use super::zip;
use proptest::prelude::*;

const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000,"digest":"abc123"}"#;
const SPAN: &str =
    r#"{"kind":"place","picture":1,"mark":"length","points":[[100,100],[1300,100]],"zoom":8,"seen":true}"#;

fn job(picture: &[u8], small: &[u8]) -> Vec<u8> {
    let desk = after(&[PICTURE, SPAN, r#"{"kind":"set-build","mark":1,"length":"24"}"#]);
    let kept = [Kept { digest: "abc123".to_owned(), bytes: picture.to_vec() }];
    write(desk.document(), desk.log(), &kept, small).unwrap()
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let files: Vec<(String, &[u8])> = files.iter().map(|(n, b)| ((*n).to_owned(), *b)).collect();
    zip::write(&files).unwrap()
}

fn with_log(log: &str) -> Vec<u8> {
    zipped(&[("job.json", format!(r#"{{"format":"scrieve-job","version":1,"log":{log}}}"#).as_bytes())])
}

fn refused(bytes: &[u8]) -> String {
    read(bytes).expect_err("refused").key.into_owned()
}

#[test]
fn cut_short_at_every_byte() {
    let whole = job(b"the picture", b"small");
    assert_eq!(read(&whole).unwrap().0.len(), 3);
    for len in 0..whole.len() {
        assert_eq!(refused(&whole[..len]), "file.not-a-job", "{len} of {} bytes", whole.len());
    }
}

#[test]
fn every_byte_changed_is_refused_or_the_same_job() {
    let whole = job(b"the picture", b"small");
    let (log, _) = read(&whole).unwrap();
    for at in 0..whole.len() {
        for by in [1, 0x80] {
            let mut other = whole.clone();
            other[at] ^= by;
            // Names, dates and the like may be others without harm; what is read must be what was written.
            if let Ok((found, _)) = read(&other) {
                assert_eq!(found, log, "byte {at}");
            }
            let _ = (preview(&other), bundled(&other));
        }
    }
}

#[test]
fn paths_that_lead_elsewhere_are_only_names() {
    let json = br#"{"format":"scrieve-job","version":1,"log":[]}"#;
    let names = [
        "../job.json",
        "pictures/../../x",
        "/etc/passwd",
        "pictures/",
        "pictures/a/b",
        "pictures\\x",
        "C:\\x",
    ];
    let mut files: Vec<(&str, &[u8])> = names.iter().map(|n| (*n, b"x".as_slice())).collect();
    assert_eq!(refused(&zipped(&files)), "file.not-a-job");
    files.push(("job.json", json));
    let (log, pictures) = read(&zipped(&files)).unwrap();
    assert!(log.is_empty() && pictures.is_empty());
}

#[test]
fn a_hundred_thousand_entries() {
    let names: Vec<String> = (0..60_000).map(|i| format!("pictures/{i}")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), b"".as_slice())).collect();
    let many = zipped(&files);
    assert_eq!(refused(&many), "file.too-many-entries");
    assert_eq!(bundled(&many).unwrap_err().key, "file.too-many-entries");
}

#[test]
fn of_two_of_one_name_one_is_read() {
    let first = r#"{"format":"scrieve-job","version":1,"log":[]}"#;
    let second = first.replace("[]", &format!("[{PICTURE}]"));
    let twice = zipped(&[
        ("job.json", first.as_bytes()),
        ("pictures/a", b"one"),
        ("job.json", second.as_bytes()),
        ("pictures/a", b"two"),
    ]);
    let (log, pictures) = read(&twice).unwrap();
    assert_eq!((log.len(), pictures.len()), (1, 2));
}

#[test]
fn deep_and_wild_json() {
    let deep = |n: usize| format!("{}{}", "[".repeat(n), "]".repeat(n));
    for n in [100, 1_000, 100_000] {
        assert_eq!(refused(&with_log(&deep(n))), "file.broken", "{n} deep");
    }
    let fields = format!("{}1{}", "{\"a\":".repeat(1_000), "}".repeat(1_000));
    assert_eq!(refused(&with_log(&format!("[{fields}]"))), "file.broken");
    for text in [
        "NaN",
        "Infinity",
        "-",
        "1e999",
        "[1",
        "[{}]",
        "[{\"kind\":\"add-picture\"}]",
        "[{\"kind\":\"undo\",\"x\":1}]",
    ] {
        assert_eq!(refused(&with_log(text)), "file.broken", "{text}");
    }
    assert_eq!(refused(&zipped(&[("job.json", b"\xff\xfe")])), "file.broken");
    // More values than a job can have, though the text is short.
    assert_eq!(refused(&with_log(&format!("[{}0]", "0,".repeat(8_000_001)))), "file.broken");
}

/// Every number of a whole job, one after the other, made as large as a number can be, or less than nothing: the file is refused,
/// or its log is taken as far as it makes sense. Nothing panics, also not when it is shown.
#[test]
fn every_number_made_absurd() {
    let lines = [
        PICTURE,
        r#"{"kind":"add-picture","name":"b.png","width":300,"height":200,"resolution":[300,150],"focal-35mm":28,"digest":"d"}"#,
        r#"{"kind":"add-view","picture":1,"role":"top","box":{"at":[10,10],"size":[900,900],"tilt":2}}"#,
        SPAN,
        r#"{"kind":"set-known","mark":1,"length":{"mm":600},"pm":{"mm":1}}"#,
        r#"{"kind":"move-point","mark":1,"point":1,"at":[120,110],"by":"touch","zoom":2,"seen":true}"#,
        r#"{"kind":"set-build-ratio","finished":1,"real":12}"#,
        r#"{"kind":"shift-sheets","whole":1,"by":[3,4]}"#,
        r#"{"kind":"like","mark":1,"step":[5,6]}"#,
        r#"{"kind":"set-drawing-scale","picture":1,"one_to":12}"#,
    ];
    let lines: Vec<String> = lines.iter().map(|l| l.replace("one_to", "one-to")).collect();
    let number = |s: &str| {
        let mut found = Vec::new();
        let (mut from, bytes) = (None, s.as_bytes());
        for (i, b) in bytes.iter().enumerate() {
            let digit = b.is_ascii_digit();
            let begins = i > 0 && matches!(bytes[i - 1], b':' | b'[' | b',');
            match from {
                None if digit && begins => from = Some(i),
                Some(at) if !digit => {
                    found.push((at, i));
                    from = None;
                }
                _ => {}
            }
        }
        found
    };
    let mut tried = 0;
    for (i, line) in lines.iter().enumerate() {
        for (from, to) in number(line) {
            for absurd in ["1e308", "-1e308", "-1", "0", "1e-308", "4294967295", "65536", "0.5"] {
                let mut all = lines.clone();
                all[i] = format!("{}{absurd}{}", &line[..from], &line[to..]);
                tried += 1;
                let Ok((log, _)) = read(&with_log(&format!("[{}]", all.join(",")))) else { continue };
                let mut desk = after(&[]);
                let _ = desk.restore(log);
                let _ = desk.scene();
                for fact in &lines {
                    let _ = desk.intend(intent(fact));
                }
                let _ = desk.scene();
            }
        }
    }
    assert!(tried > 200, "{tried}");
}

#[test]
fn what_says_it_is_small_and_swells_is_let_go() {
    // 300 MB of one letter, packed to 300 kB: as a picture more than four times the file and 64 MB.
    let packed = miniz_oxide::deflate::compress_to_vec(&vec![b'a'; 100 << 20], 1);
    let mut bytes =
        zipped(&[("job.json", br#"{"format":"scrieve-job","version":1,"log":[]}"#), ("pictures/a", &packed)]);
    // Method 8 in the directory's entry of the picture, and the size it unpacks to.
    let end = bytes.len() - 22;
    let place = bytes.windows(4).rposition(|w| w == b"PK\x01\x02").unwrap();
    assert!(place < end);
    bytes[place + 10] = 8;
    bytes[place + 24..place + 28].copy_from_slice(&(100_u32 << 20).to_le_bytes());
    assert_eq!(refused(&bytes), "file.too-large");
}

#[test]
fn a_preview_and_many_jobs_in_one_file() {
    let one = job(b"the picture", b"small");
    assert_eq!(preview(&one), b"small");
    assert_eq!(preview(&job(b"the picture", b"")), b"");
    assert!(bundled(&one).unwrap().is_empty());
    let two = job(b"another", b"");
    let many = zipped(&[("1-hen.scrieve.zip", &one), ("read me.txt", b"x"), ("2-box.scrieve.zip", &two)]);
    let places = bundled(&many).unwrap();
    let jobs: Vec<&[u8]> = places.iter().map(|(from, to)| &many[*from..*to]).collect();
    assert_eq!(jobs, [one.as_slice(), two.as_slice()]);
    assert_eq!(refused(&many), "file.not-a-job");
}

proptest! {
    #[test]
    fn any_bytes_are_refused_in_words(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(read(&bytes).is_err());
    }

    #[test]
    fn any_fact_with_an_unknown_field_is_refused(name in "[a-z]{9,12}") {
        let fact = format!(r#"{{"kind":"name-job","name":"x","{name}":1}}"#);
        prop_assert_eq!(refused(&with_log(&format!("[{fact}]"))), "file.broken");
    }
}
