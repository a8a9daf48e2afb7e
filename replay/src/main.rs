//! `replay FILE.jsonl [--last] [--csv]`: one intent (JSON) a line in, one scene (JSON) a line out.
//!
//! Besides the core's intents it takes two of its own, because only it has files: `{"kind":"open-picture","file":"a.png"}`
//! reads a picture file's header and adds the picture; `{"kind":"open-job","file":"a.scrieve"}` takes a job file's log.
//! `{"kind":"seek","file":"a.png","ask":{…}}` asks a picture's pixels, as the mill does, and prints `{"found": …}`;
//! `{"kind":"reshape","shaping":{…}}` does so with what is asked of outlines, which needs no picture, and prints the same.
//! `{"kind":"press","order":{…},"pdf":"out.pdf","svg":"out.svg","pictures":{"1":"a.png"}}` makes an order's sheets and prints
//! `{"plan": …}`; an order without words takes those of the words file. `{"kind":"printer","measured":mm,"drawn":mm,"always":false}`
//! prints `{"factor": …}`.
//! `{"kind":"calibrate","size":[w,h],"shots":[[seen,on],…],"sigma":px}` prints the camera that took pictures of a target.
//! `{"kind":"drawing","order":{…}}` prints what stands on paper before it is cut into sheets, `{"drawings": …}`, in type of
//! roughly the right width. `{"kind":"fair","stations":[…],"offsets":[…],"step":…}` (mm) prints which offsets stand off a fair
//! curve, `{"odd": [[station, by, fair], …]}`.
//! `{"kind":"next-job"}` prints the scene as it stands, with `--last` too, and begins an empty job.
//! `{"kind":"answer","file":"a.png"}` answers what the job wants to know of that picture, as the page does; a `press` without an
//! order makes the job's own patterns.
//! `{"kind":"lay","lots":[…]}` lays pieces out on boards and sheets and prints `{"lots": [{"laid", "cuts"}, …]}` (`layout`).
//! `{"kind":"part","ask":{…}}` reckons what a part takes, weighs, how it moves and sags (`ask.rs`); `{"kind":"cutting-table"}` prints the
//! job's cutting list as `{"csv": …}`; `"make": "cutting-list"` in a `press` without an order makes that list.
//! Relative paths are from the file's own folder. An error is a line `{"error": {"key", "text"}}`; the job is then as
//! before, and the next line goes on. With `--last` only the last scene is printed.

mod ask;

use scrieve::job::{
    Desk, Intent, Kept, Make, Words, csv, cutting_table, preview, read_job_file, write_job_file,
};
use scrieve::layout::{Cut, Laying, Lot, Progress, cuts};
use scrieve::plane::{Shaping, shape};
use scrieve::raster::ask::{Ask, Found};
use scrieve::raster::luma::Luma;
use scrieve::raster::{header, seek};
use scrieve::sheet::{Order, Press, odd, piece, printer_factor, write};
use scrieve::view::{Shot, calibrate};
use scrieve::words::Say;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

const WORDS: &str = include_str!("../../www/words/en.json");
/// The type of sheets.
const REGULAR: &[u8] = include_bytes!("../../www/fonts/sheet-400.type");
const BOLD: &[u8] = include_bytes!("../../www/fonts/sheet-600.type");

/// Where a target's points are seen, px, and where they are on it, mm.
type Places = (Vec<[f64; 2]>, Vec<[f64; 2]>);

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum Own {
    OpenPicture {
        file: PathBuf,
    },
    OpenJob {
        file: PathBuf,
    },
    SaveJob {
        file: PathBuf,
    },
    /// The scene as it stands, and an empty job after it: thousands of trials take one process.
    NextJob,
    Seek {
        file: PathBuf,
        ask: Ask,
    },
    Reshape {
        shaping: Shaping,
    },
    Answer {
        file: PathBuf,
    },
    /// What a part takes, weighs, moves, sags: see [`ask::Part`].
    Part {
        ask: ask::Part,
    },
    /// The job's cutting list as a table file.
    CuttingTable,
    /// Which piece comes from which board: [`lay`].
    Lay {
        lots: Vec<Lot>,
    },
    Press {
        /// What of the open job is made when there is no order: its patterns, unless another is named.
        make: Option<String>,
        /// The open job's own when there is none.
        #[serde(default)]
        order: Option<Box<Order>>,
        pdf: Option<PathBuf>,
        svg: Option<PathBuf>,
        #[serde(default)]
        pictures: BTreeMap<String, PathBuf>,
    },
    Drawing {
        order: Box<Order>,
    },
    Fair {
        stations: Vec<f64>,
        offsets: Vec<f64>,
        step: f64,
    },
    Calibrate {
        size: [f64; 2],
        shots: Vec<Places>,
        sigma: f64,
    },
    Printer {
        measured: f64,
        drawn: f64,
        #[serde(default)]
        always: bool,
    },
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
    /// The small picture of the job that was opened.
    preview: Vec<u8>,
    /// The picture whose pixels were asked last, in luminance and in colour.
    pixels: Option<(PathBuf, Luma, image::RgbaImage)>,
    /// What one of replay's own lines gave, to be printed in place of the scene.
    found: Option<serde_json::Value>,
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
        preview: Vec::new(),
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

/// Each lot laid out, with the cuts that take its boards apart.
fn lay(lots: Vec<Lot>) -> Result<serde_json::Value, Say> {
    let kerfs: Vec<f64> = lots.iter().map(|l| l.kerf).collect();
    let mut laying = Laying::new(lots)?;
    loop {
        let Progress { done, of } = laying.step();
        if done >= of {
            break;
        }
    }
    let told = laying.laid().into_iter().zip(kerfs).map(|(laid, kerf)| {
        let cuts: Vec<Option<Vec<Cut>>> = laid.boards.iter().map(|b| cuts(b, kerf)).collect();
        serde_json::json!({ "laid": laid, "cuts": cuts })
    });
    Ok(serde_json::json!({ "lots": told.collect::<Vec<_>>() }))
}

/// A camera from pictures of a target, as `know-lens` takes its lens.
fn camera(size: [f64; 2], shots: &[Places], sigma: f64) -> Result<serde_json::Value, Say> {
    let shot = |(seen, on): &Places| Shot {
        seen: seen.iter().map(|p| (*p).into()).collect(),
        on: on.iter().map(|p| (*p).into()).collect(),
    };
    let shots: Vec<Shot> = shots.iter().map(shot).collect();
    let found = calibrate(1, size, &shots, sigma)?;
    let (terms, effects) = found.lens.told();
    Ok(serde_json::json!({
        "lens": { "terms": terms, "effects": effects },
        "centre": found.lens.centre(), "focal": found.focal, "focal-u": found.focal_u(), "left": found.left,
    }))
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
            Ok(()) if found.is_some() => writeln!(self.out, "{}", found.unwrap_or_default()),
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
        match serde_json::from_str::<Own>(line) {
            Ok(own) => return self.own(own),
            // What else may be wrong with an order is worth knowing; any other kind may be an intent.
            Err(e) if line.contains("\"kind\": \"press\"") || line.contains("\"kind\":\"press\"") => {
                return Err(Say::new("job.not-understood").text("why", e.to_string()));
            }
            Err(_) => {}
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
                    focal_35mm: header.focal_35mm,
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
                self.preview = preview(&bytes);
                Ok(())
            }
            Own::NextJob => {
                self.found = serde_json::to_value(self.desk.scene()).ok();
                self.desk = self.desk.empty();
                Ok(())
            }
            Own::SaveJob { file } => {
                let bytes = write_job_file(self.desk.document(), self.desk.log(), &self.kept, &self.preview)?;
                std::fs::write(self.folder.join(file), bytes).map_err(unreadable)
            }
            Own::Seek { file, ask } => {
                self.found = Some(serde_json::json!({ "found": self.sought(&file, &ask)? }));
                Ok(())
            }
            Own::Reshape { shaping } => {
                self.found = Some(serde_json::json!({ "found": { "shaped": shape(&shaping)? } }));
                Ok(())
            }
            Own::Answer { file } => self.answer(&file),
            Own::Part { ask } => {
                self.found = Some(ask.answer()?);
                Ok(())
            }
            Own::Lay { lots } => {
                self.found = Some(lay(lots)?);
                Ok(())
            }
            Own::CuttingTable => {
                self.found = Some(serde_json::json!({ "csv": cutting_table(&self.desk) }));
                Ok(())
            }
            Own::Press { make, order, pdf, svg, pictures } => {
                let make = make.as_deref().and_then(Make::named).unwrap_or(Make::Patterns);
                let order = match order {
                    Some(order) => *order,
                    None => self.desk.order(make, "")?,
                };
                self.press(order, pdf, svg, &pictures)
            }
            Own::Calibrate { size, shots, sigma } => {
                self.found = Some(camera(size, &shots, sigma)?);
                Ok(())
            }
            Own::Printer { measured, drawn, always } => {
                let factor = printer_factor(measured, drawn, always)?;
                self.found = Some(serde_json::json!({ "factor": factor }));
                Ok(())
            }
            Own::Drawing { order } => {
                self.found = Some(drawings(*order)?);
                Ok(())
            }
            Own::Fair { stations, offsets, step } => {
                let found = odd::fair_check(&stations, &offsets, step).odd;
                let odd: Vec<(usize, f64, f64)> = found.iter().map(|o| (o.index, o.by, o.fair)).collect();
                self.found = Some(serde_json::json!({ "odd": odd }));
                Ok(())
            }
        }
    }

    /// Makes an order's sheets and writes the files that were asked for.
    /// What a picture's pixels, or else the shape of an outline, answer.
    fn sought(&mut self, file: &Path, ask: &Ask) -> Result<Found, Say> {
        if let Ask::Shape { shape: shaping } = ask {
            return shape(shaping).map(Found::Shaped);
        }
        let path = self.folder.join(file);
        if self.pixels.as_ref().is_none_or(|(of, ..)| *of != path) {
            let (luma, picture) = pixels(&path)?;
            self.pixels = Some((path.clone(), luma, picture));
        }
        let (_, luma, picture) = self.pixels.as_ref().ok_or_else(|| Say::new("seek.nothing"))?;
        sought(luma, picture, ask)
    }

    /// Answers what the desk wants to know, as the page does, until it wants nothing more.
    fn answer(&mut self, file: &Path) -> Result<(), Say> {
        while let Some(seek) = self.desk.scene().seek {
            let found = self.sought(file, &seek.ask).ok();
            self.desk.intend(Intent::Found { serial: seek.serial, found })?;
        }
        Ok(())
    }

    fn press(
        &mut self,
        mut order: Order,
        pdf: Option<PathBuf>,
        svg: Option<PathBuf>,
        pictures: &BTreeMap<String, PathBuf>,
    ) -> Result<(), Say> {
        let broken = |why: String| Say::new("file.broken").text("why", why);
        if order.words.is_empty() {
            let all: BTreeMap<String, String> =
                serde_json::from_str(WORDS).map_err(|e| broken(e.to_string()))?;
            order.words = all.into_iter().filter(|(name, _)| name.starts_with("sheet.")).collect();
        }
        let mut press = Press::new(order, REGULAR.to_vec(), BOLD.to_vec())?;
        let mut kept: BTreeMap<u32, Luma> = BTreeMap::new();
        for (number, file) in pictures {
            let number = number.parse().map_err(|_| broken(format!("picture {number}")))?;
            let file = self.folder.join(file);
            if press.reusable().contains(&number) {
                let bytes = std::fs::read(&file).map_err(|e| broken(e.to_string()))?;
                if let Ok(header) = header::read(&bytes, "") {
                    press.reuse(number, &bytes, header.orientation);
                }
            }
            kept.insert(number, pixels(&file)?.0);
        }
        loop {
            while let Some(wanted) = press.wants() {
                match kept.get(&wanted.picture).map(|luma| luma.window(wanted.window)) {
                    Some(window) => press.give(&window?),
                    None => press.skip(),
                }
            }
            let progress = press.step();
            if progress.done >= progress.of {
                break;
            }
        }
        let write = |file: PathBuf, bytes: &[u8]| {
            std::fs::write(self.folder.join(file), bytes).map_err(|e| broken(e.to_string()))
        };
        if let Some(file) = pdf {
            write(file, &press.pdf()?)?;
        }
        if let (Some(file), Some(text)) = (svg, press.svg(0)) {
            write(file, text.as_bytes())?;
        }
        let remarks: Vec<String> = press.plan().remarks.iter().map(|say| self.desk.tell(say)).collect();
        self.found = Some(serde_json::json!({ "plan": press.plan(), "remarks": remarks }));
        Ok(())
    }

    fn print_scene(&mut self) -> std::io::Result<()> {
        serde_json::to_writer(&mut self.out, &self.desk.scene())?;
        writeln!(self.out)
    }

    fn print_error(&mut self, say: &Say) -> std::io::Result<()> {
        let args = say.args.iter().map(|(n, a)| (n.as_ref(), format!("{a:?}"))).collect();
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

/// What an order's pieces look like at full size.
fn drawings(mut order: Order) -> Result<serde_json::Value, Say> {
    let broken = |e: serde_json::Error| Say::new("job.not-understood").text("why", e.to_string());
    if order.words.is_empty() {
        let words: std::collections::BTreeMap<String, String> =
            serde_json::from_str(WORDS).map_err(broken)?;
        order.words = words.into_iter().collect();
    }
    order.settle();
    let writing = write::Writing::new(&order, &write::estimate);
    let mut all = Vec::new();
    for one in &order.pieces {
        all.extend(piece::drawings(one, &writing)?);
    }
    Ok(serde_json::json!({ "drawings": all }))
}

/// A picture file's luminance, and its colour.
fn pixels(path: &Path) -> Result<(Luma, image::RgbaImage), Say> {
    let broken = |why: String| Say::new("file.broken").text("why", why);
    let bytes = std::fs::read(path).map_err(|e| broken(e.to_string()))?;
    let mut picture = image::load_from_memory(&bytes).map_err(|e| broken(e.to_string()))?;
    let head = header::read(&bytes, "").ok();
    if let Some(up) = head.and_then(|h| image::metadata::Orientation::from_exif(h.orientation)) {
        picture.apply_orientation(up);
    }
    let picture = picture.into_rgba8();
    let mut luma = Luma::new(picture.width(), picture.height())?;
    luma.set_band(0, picture.as_raw())?;
    Ok((luma, picture))
}
