//! `replay FILE.jsonl [--last] [--csv]`: one intent (JSON) a line in, one scene (JSON) a line out.
//!
//! Besides the core's intents it takes two of its own, because only it has files: `{"kind":"open-picture","file":"a.png"}`
//! reads a picture file's header and adds the picture; `{"kind":"open-job","file":"a.scrieve"}` takes a job file's log.
//! `{"kind":"seek","file":"a.png","ask":{…}}` asks a picture's pixels, as the mill does, and prints `{"found": …}`.
//! Relative paths are from the file's own folder. An error is a line `{"error": {"key", "text"}}`; the job is then as
//! before, and the next line goes on. With `--last` only the last scene is printed.

use scrieve::job::{Desk, Intent, Kept, Words, csv, read_job_file, write_job_file};
use scrieve::raster::ask::{Ask, Found};
use scrieve::raster::luma::Luma;
use scrieve::raster::{header, seek};
use scrieve::words::Say;
use serde::{Deserialize, Serialize};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

const WORDS: &str = include_str!("../../www/words/en.json");

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum Own {
    OpenPicture { file: PathBuf },
    OpenJob { file: PathBuf },
    SaveJob { file: PathBuf },
    Seek { file: PathBuf, ask: Ask },
}

#[derive(Serialize)]
struct Error<'a> {
    key: &'a str,
    text: String,
    args: Vec<(&'a str, String)>,
}

struct Replay {
    desk: Desk,
    folder: PathBuf,
    kept: Vec<Kept>,
    /// The picture whose pixels were asked last, in luminance and in colour.
    pixels: Option<(PathBuf, Luma, image::RgbaImage)>,
    found: Option<Found>,
    out: std::io::BufWriter<std::io::Stdout>,
}

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let Some(file) = args.iter().find(|a| !a.starts_with("--")) else {
        eprintln!("usage: replay FILE.jsonl [--last] [--csv]   (- reads standard input)");
        std::process::exit(2);
    };
    if let Some(area) = args.iter().find_map(|a| a.strip_prefix("--fault=")) {
        plant(area);
    }
    let words = Words::read(WORDS).map_err(std::io::Error::other)?;
    let path = Path::new(file);
    let mut replay = Replay {
        desk: Desk::new(words),
        folder: path.parent().map(Path::to_path_buf).unwrap_or_default(),
        kept: Vec::new(),
        pixels: None,
        found: None,
        out: std::io::BufWriter::new(std::io::stdout()),
    };
    let last = args.iter().any(|a| a == "--last");
    let reader: Box<dyn BufRead> = if file == "-" {
        Box::new(BufReader::new(std::io::stdin()))
    } else {
        Box::new(BufReader::new(std::fs::File::open(path)?))
    };
    for line in reader.lines() {
        let line = line?;
        let line = line.trim();
        if !line.is_empty() && !line.starts_with('#') {
            replay.line(line, !last)?;
        }
    }
    if last {
        replay.print_scene()?;
    }
    if args.iter().any(|a| a == "--csv") {
        let text = csv(&replay.desk.scene(), &replay.desk.csv_heads());
        write!(replay.out, "{text}")?;
    }
    replay.out.flush()
}

#[cfg(feature = "fault")]
fn plant(area: &str) {
    scrieve::fault::plant(area);
}

#[cfg(not(feature = "fault"))]
fn plant(_area: &str) {
    eprintln!("this build has no faults to plant: build with --features fault");
    std::process::exit(2);
}

impl Replay {
    fn line(&mut self, line: &str, print: bool) -> std::io::Result<()> {
        let taken = self.take(line);
        let found = self.found.take();
        match taken {
            Err(say) => self.print_error(&say),
            Ok(()) if found.is_some() => writeln!(self.out, "{}", serde_json::json!({ "found": found })),
            Ok(()) if print => match self.desk.answer().cloned() {
                Some(answer) => {
                    let text = serde_json::json!({ "answer": answer });
                    writeln!(self.out, "{text}")
                }
                None => self.print_scene(),
            },
            Ok(()) => Ok(()),
        }
    }

    fn take(&mut self, line: &str) -> Result<(), Say> {
        if let Ok(own) = serde_json::from_str::<Own>(line) {
            return self.own(own);
        }
        let intent: Intent = serde_json::from_str(line)
            .map_err(|e| Say::new("job.not-understood").text("why", e.to_string()))?;
        self.desk.intend(intent)
    }

    fn own(&mut self, own: Own) -> Result<(), Say> {
        let unreadable = |e: std::io::Error| Say::new("file.broken").text("why", e.to_string());
        match own {
            Own::OpenPicture { file } => {
                let bytes = std::fs::read(self.folder.join(&file)).map_err(unreadable)?;
                let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
                let header = header::read(&bytes, &name)?;
                let [width, height] =
                    header.shown.ok_or_else(|| Say::new("picture.no-size").text("name", name.clone()))?;
                let digest = format!("picture{}", self.kept.len() + 1);
                self.desk.intend(Intent::AddPicture {
                    name,
                    width,
                    height,
                    resolution: header.resolution.filter(|_| header.resolution_means_something),
                    digest: digest.clone(),
                })?;
                self.kept.push(Kept { digest, bytes });
                Ok(())
            }
            Own::OpenJob { file } => {
                let bytes = std::fs::read(self.folder.join(file)).map_err(unreadable)?;
                let (log, kept) = read_job_file(&bytes)?;
                // On a desk of its own, so that a file whose log fails leaves the job as it was.
                let mut desk = self.desk.empty();
                desk.restore(log)?;
                self.desk = desk;
                self.kept = kept;
                Ok(())
            }
            Own::SaveJob { file } => {
                let bytes = write_job_file(self.desk.document(), self.desk.log(), &self.kept)?;
                std::fs::write(self.folder.join(file), bytes).map_err(unreadable)
            }
            Own::Seek { file, ask } => {
                let path = self.folder.join(file);
                if self.pixels.as_ref().is_none_or(|(of, ..)| *of != path) {
                    let (luma, picture) = pixels(&path)?;
                    self.pixels = Some((path.clone(), luma, picture));
                }
                let Some((_, luma, picture)) = &self.pixels else { return Ok(()) };
                self.found = Some(sought(luma, picture, &ask)?);
                Ok(())
            }
        }
    }

    fn print_scene(&mut self) -> std::io::Result<()> {
        serde_json::to_writer(&mut self.out, &self.desk.scene())?;
        writeln!(self.out)
    }

    fn print_error(&mut self, say: &Say) -> std::io::Result<()> {
        let args = say.args.iter().map(|(n, a)| (n.as_str(), format!("{a:?}"))).collect();
        let error = Error { key: &say.key, text: self.desk.tell(say), args };
        let text = serde_json::json!({ "error": error });
        writeln!(self.out, "{text}")
    }
}

/// What is found in luminance, or else in colour, as www/mill.js goes about it.
fn sought(luma: &Luma, picture: &image::RgbaImage, ask: &Ask) -> Result<Found, Say> {
    let first = seek::answer(luma, ask);
    match seek::colour_window(luma, ask) {
        Some(w) if first.as_ref().is_err_and(|say| say.key == "seek.nothing") => {
            let rgba = image::imageops::crop_imm(picture, w.x, w.y, w.width, w.height).to_image();
            seek::answer_in_colour(ask, w, rgba.as_raw())
        }
        _ => first,
    }
}

/// A picture file's luminance, and its colour.
fn pixels(path: &Path) -> Result<(Luma, image::RgbaImage), Say> {
    let broken = |why: String| Say::new("file.broken").text("why", why);
    let picture = image::open(path).map_err(|e| broken(e.to_string()))?.into_rgba8();
    let mut luma = Luma::new(picture.width(), picture.height())?;
    luma.set_band(0, picture.as_raw())?;
    Ok((luma, picture))
}
