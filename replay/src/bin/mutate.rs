//! `mutate [--count N] [--seed N] [TARGET]...`: good inputs are changed at random, again and again, and handed to what must bear
//! whatever strangers send: job files, fractions, picture headers, intents. A panic ends it, with the input in hex.
//!
//! Not guided by what the inputs reach, as a fuzzer with a compiler's help is: it finds less for the same number of tries.

use scrieve::job::{Desk, Intent, Words, bundled, preview, read_job_file};
use scrieve::quantity::{Style, read_length};
use scrieve::raster::header;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::Instant;

const WORDS: &str = include_str!("../../../www/words/en.json");

/// Numbers from a seed (xorshift64*; Vigna 2016, from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }
    fn below(&mut self, n: usize) -> usize {
        if n == 0 { 0 } else { usize::try_from(self.next() >> 11).unwrap_or(0) % n }
    }
}

/// Pieces that break readers: ends of ranges, signs, marks of formats.
const PIECES: [&[u8]; 26] = [
    b"\0\0\0\0",
    b"\xff\xff\xff\xff",
    b"\x7f\xff\xff\xff",
    b"\x80\0\0\0",
    b"\xff\xd8\xff\xe1",
    b"Exif\0\0",
    b"MM\0*",
    b"II*\0",
    b"IHDR",
    b"pHYs",
    b"eXIf",
    b"PK\x03\x04",
    b"PK\x01\x02",
    b"PK\x05\x06",
    b"1e308",
    b"-1e308",
    b"4294967296",
    b"-1",
    b"null",
    b"[[[[",
    b"{\"kind\":",
    b"\xe2\x81\x84",
    b"1/0",
    b"999999999999999999999",
    b"\"",
    b"\xc2\xbd",
];

/// One good input, changed in a few places; sometimes the head of one with the tail of another.
fn changed(random: &mut Random, good: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = good[random.below(good.len())].clone();
    if random.below(8) == 0 {
        let other = &good[random.below(good.len())];
        let (at, from) = (random.below(bytes.len() + 1), random.below(other.len() + 1));
        bytes.truncate(at);
        bytes.extend_from_slice(&other[from..]);
    }
    for _ in 0..=random.below(6) {
        let at = random.below(bytes.len() + 1);
        match random.below(7) {
            0 if at < bytes.len() => bytes[at] ^= 1 << random.below(8),
            1 if at < bytes.len() => bytes[at] = random.next() as u8,
            2 => bytes.truncate(at),
            3 => {
                let piece = PIECES[random.below(PIECES.len())];
                bytes.splice(at..at, piece.iter().copied());
            }
            4 => {
                let piece = PIECES[random.below(PIECES.len())];
                let to = (at + piece.len()).min(bytes.len());
                bytes.splice(at..to, piece.iter().copied());
            }
            5 => {
                let to = (at + random.below(16)).min(bytes.len());
                bytes.drain(at..to);
            }
            _ => {
                let to = (at + random.below(32)).min(bytes.len());
                let again = bytes[at..to].to_vec();
                bytes.splice(at..at, again);
            }
        }
    }
    bytes
}

/// Hands an input to what is aimed at.
type Run = Box<dyn Fn(&[u8])>;

/// What can be aimed at.
struct Target {
    name: &'static str,
    good: Vec<Vec<u8>>,
    run: Run,
}

fn targets(root: &Path) -> std::io::Result<Vec<Target>> {
    let file = |name: &str| std::fs::read(root.join(name));
    let lines = |name: &str| -> std::io::Result<Vec<Vec<u8>>> {
        let text = String::from_utf8(file(name)?).map_err(std::io::Error::other)?;
        Ok(text
            .lines()
            .filter(|l| !l.is_empty() && !l.starts_with('#'))
            .map(|l| l.as_bytes().to_vec())
            .collect())
    };
    let mut pictures = Vec::new();
    for entry in std::fs::read_dir(root.join("tests/pictures/small"))? {
        let mut bytes = std::fs::read(entry?.path())?;
        // Headers stand at the front, and short inputs are tried oftener in the same time.
        bytes.truncate(4096);
        pictures.push(bytes);
    }
    pictures.sort();
    let words = Words::read(WORDS).map_err(std::io::Error::other)?;
    Ok(vec![
        Target {
            name: "job-file",
            good: vec![file("tests/jobs/version-1.scrieve.zip")?],
            run: Box::new(|bytes| {
                let _ = (read_job_file(bytes), preview(bytes), bundled(bytes));
            }),
        },
        Target {
            name: "fraction",
            good: lines("tests/faults/lengths.txt")?,
            run: Box::new(|bytes| {
                let text = String::from_utf8_lossy(bytes);
                for style in [Style::Inches, Style::Millimetres] {
                    let _ = read_length(&text, style);
                }
            }),
        },
        Target {
            name: "header",
            good: pictures,
            run: Box::new(|bytes| {
                let _ = header::read(bytes, "a.jpg");
            }),
        },
        Target {
            name: "intent",
            good: lines("tests/faults/intents.jsonl")?,
            run: Box::new(move |bytes| intents(&words, bytes)),
        },
    ])
}

/// A short job, then whatever `bytes` say, and the job is shown.
fn intents(words: &Words, bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(intent) = scrieve::json::read::<Intent>(text) else { return };
    let mut desk = Desk::new(words.clone());
    let begun = [
        r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000,"digest":"d"}"#,
        r#"{"kind":"place","picture":1,"mark":"length","points":[[100,100],[1300,100]],"zoom":8,"seen":true}"#,
        r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,500],[900,500],[900,900],[100,900]],"zoom":8,"seen":true}"#,
        r#"{"kind":"set-build","mark":1,"length":"24"}"#,
    ];
    for line in begun {
        if let Ok(fact) = scrieve::json::read::<Intent>(line) {
            let _ = desk.intend(fact);
        }
    }
    let before = desk.document().clone();
    if desk.intend(intent).is_err() {
        assert!(desk.document() == &before, "a refused intent changed the job");
    }
    let _ = desk.scene();
}

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: u64| {
        let at = args.iter().position(|a| a == name);
        at.and_then(|i| args.get(i + 1)).and_then(|n| n.replace('_', "").parse().ok()).unwrap_or(usual)
    };
    let (count, seed) = (number("--count", 100_000), number("--seed", 1));
    let wanted: Vec<&String> = args
        .iter()
        .filter(|a| a.chars().all(|c| c.is_ascii_lowercase() || c == '-') && !a.starts_with("--"))
        .collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut broken = 0;
    let all = targets(&root)?;
    let chosen: Vec<&Target> =
        all.iter().filter(|t| wanted.is_empty() || wanted.iter().any(|w| *w == t.name)).collect();
    for target in &chosen {
        let begun = Instant::now();
        let mut random = Random(seed.max(1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let mut tried = 0;
        while tried < count {
            let input = changed(&mut random, &target.good);
            tried += 1;
            if catch_unwind(AssertUnwindSafe(|| (target.run)(&input))).is_err() {
                broken += 1;
                let hex: String = input.iter().map(|b| format!("{b:02x}")).collect();
                println!("{}: panicked at try {tried}: {hex}", target.name);
                break;
            }
        }
        println!("{:<10} {tried:>12} tries {:>8.1} s", target.name, begun.elapsed().as_secs_f64());
    }
    println!("{} passed, {broken} failed", chosen.len() - broken);
    std::process::exit(i32::from(broken > 0));
}
