//! What a picture file says about itself, before anything is decoded.
//!
//! The first bytes are enough: kind, size, which way up, pixels per inch, focal length. Nothing here can lose
//! a picture: a part that is broken is left out, and only the decoder has the last word on whether the file
//! is a picture.
//!
//! # When a file speaks twice of its resolution
//! JFIF's heading or PNG's pHYs, and the tags (EXIF), may disagree: programs that save again often rewrite
//! one of them and carry the other along. Which is stale cannot be known from the file. So: what means
//! nothing (a shape only, a placeholder) gives way to what means something; where both mean something and
//! are more than 1 % apart, the tags' figure is shown, it is *not* taken as a measure, and a flag says so.
//! (Our own rule; no source.)

mod bytes;
mod exif;
mod files;
#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

use crate::fault::{Area, spoil};
use crate::words::Say;

/// As many of the first bytes as [`read`] likes to have.
pub const HEAD: usize = 256 * 1024;

/// A kind of picture file, by its bytes, whatever its name says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// JPEG.
    Jpeg,
    /// PNG, moving or not.
    Png,
    /// WebP.
    Webp,
    /// GIF.
    Gif,
    /// Windows bitmap.
    Bmp,
    /// AVIF: some browsers decode it.
    Avif,
    /// HEIC and its family: few browsers decode it.
    Heic,
    /// TIFF and what is built like it: one browser decodes it.
    Tiff,
    /// A PDF, not read yet.
    Pdf,
    /// A drawing in text, which has no pixels of its own.
    Svg,
    /// Nothing known here; the browser may still know it.
    Unknown,
}

impl Format {
    /// All of them.
    pub const ALL: [Format; 11] = [
        Format::Jpeg,
        Format::Png,
        Format::Webp,
        Format::Gif,
        Format::Bmp,
        Format::Avif,
        Format::Heic,
        Format::Tiff,
        Format::Pdf,
        Format::Svg,
        Format::Unknown,
    ];

    /// Its name, as it is written.
    pub fn name(self) -> &'static str {
        match self {
            Format::Jpeg => "jpeg",
            Format::Png => "png",
            Format::Webp => "webp",
            Format::Gif => "gif",
            Format::Bmp => "bmp",
            Format::Avif => "avif",
            Format::Heic => "heic",
            Format::Tiff => "tiff",
            Format::Pdf => "pdf",
            Format::Svg => "svg",
            Format::Unknown => "unknown",
        }
    }
}

/// What a picture file says about itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// The kind of file.
    pub format: Format,
    /// Width and height as stored, px, where the file's head tells.
    pub stored: Option<[u32; 2]>,
    /// Width and height as shown, px: after [`Header::orientation`]. For AVIF and HEIC only the decoder knows.
    pub shown: Option<[u32; 2]>,
    /// Which way up, 1 to 8 as in EXIF; 1 where nothing is said.
    pub orientation: u8,
    /// Pixels per inch across and down the picture *as shown*, where the file tells.
    pub resolution: Option<[f64; 2]>,
    /// Whether [`Header::resolution`] may be taken as a measure: not 72 or 96, not absurd, not from a camera,
    /// not contradicted within the file.
    pub resolution_means_something: bool,
    /// More pictures than one; the first is used.
    pub animated: bool,
    /// The focal length that would see as much on 35 mm film, mm, where the file tells.
    pub focal_35mm: Option<f64>,
    /// Exposure or lens are told, and no scanner: a photograph, whose resolution is only a default.
    pub from_camera: bool,
    /// The head ended too early: read again with the whole file.
    pub more: bool,
    /// What a person should be told.
    pub flags: Vec<Say>,
}

/// Pixels against lengths, as a file tells it, along its stored rows and columns.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Pixels {
    /// Pixels per inch.
    PerInch([f64; 2]),
    /// Pixels per centimetre.
    PerCentimetre([f64; 2]),
    /// Pixels per metre.
    PerMetre([f64; 2]),
    /// Only the shape of a pixel is told.
    Shape,
}

impl Pixels {
    /// # Units
    /// Pixels per inch; the inch is 25.4 mm (1959 agreement).
    fn per_inch(self) -> Option<[f64; 2]> {
        let density = match self {
            Pixels::PerInch(d) => d,
            Pixels::PerCentimetre(d) => d.map(|v| v * 2.54),
            Pixels::PerMetre(d) => d.map(|v| v * 0.0254 * spoil(Area::File, 1.01)),
            Pixels::Shape => return None,
        };
        density.iter().all(|v| v.is_finite() && *v > 0.0).then_some(density)
    }

    /// Whether these are figures that programs write when they know nothing: 72 and 96 per inch, also
    /// rounded to whole pixels per centimetre or metre, and what no scanner or printer does.
    fn means_something(self) -> bool {
        let slack = match self {
            Pixels::PerCentimetre(_) => 0.5 * 2.54,
            _ => 0.05,
        };
        let sound =
            |v: f64| (20.0..=20_000.0).contains(&v) && (v - 72.0).abs() > slack && (v - 96.0).abs() > slack;
        self.per_inch().is_some_and(|density| density.into_iter().all(sound))
    }
}

/// Reads what the file called `name` says about itself from its first [`HEAD`] bytes, or from the whole of
/// it when it is shorter or when an earlier reading asked for more.
///
/// # Errors
/// `picture.empty`; `picture.cut-short` when a short file ends before its size is told;
/// `picture.too-large` and `picture.no-size` by [`super::fits`].
pub fn read(bytes: &[u8], name: &str) -> Result<Header, Say> {
    if bytes.is_empty() {
        return Err(Say::new("picture.empty").text("name", name));
    }
    let format = files::format(bytes);
    let found = files::walk(format, bytes);
    if found.ran_out && found.size.is_none() && bytes.len() < HEAD {
        return Err(Say::new("picture.cut-short").text("name", name));
    }
    if let Some([width, height]) = found.size {
        super::fits(width, height).map_err(|say| say.text("name", name))?;
    }
    let orientation = found.exif.orientation.unwrap_or(1);
    let turned = |size: [u32; 2]| if orientation >= 5 { [size[1], size[0]] } else { size };
    let boxed = matches!(format, Format::Avif | Format::Heic);
    let said = resolution(found.pixels, found.exif.pixels);
    let mut flags = Vec::new();
    if said.disputed {
        flags.push(Say::new("picture.resolution-disputed").text("name", name));
    }
    if found.animated {
        flags.push(Say::new("picture.animated").text("name", name));
    }
    Ok(Header {
        format,
        stored: found.size,
        shown: found.size.filter(|_| !boxed).map(turned),
        orientation,
        resolution: said.per_inch.map(|[x, y]| if orientation >= 5 { [y, x] } else { [x, y] }),
        resolution_means_something: said.means_something && !found.exif.from_camera,
        animated: found.animated,
        focal_35mm: found.exif.focal_35mm,
        from_camera: found.exif.from_camera,
        more: found.ran_out && bytes.len() == HEAD,
        flags,
    })
}

/// What is made of two statements of the resolution.
struct Said {
    per_inch: Option<[f64; 2]>,
    means_something: bool,
    disputed: bool,
}

/// See the head of this module for the rule.
fn resolution(own: Option<Pixels>, tags: Option<Pixels>) -> Said {
    let sound = |p: Option<Pixels>| p.filter(|p| p.means_something()).and_then(Pixels::per_inch);
    match (sound(own), sound(tags)) {
        (Some(a), Some(b)) => {
            let disputed = a.iter().zip(b).any(|(a, b)| (a - b).abs() > 0.01 * b);
            Said { per_inch: Some(b), means_something: !disputed, disputed }
        }
        (Some(one), None) | (None, Some(one)) => {
            Said { per_inch: Some(one), means_something: true, disputed: false }
        }
        (None, None) => {
            let any = |p: Option<Pixels>| p.and_then(Pixels::per_inch);
            Said { per_inch: any(tags).or(any(own)), means_something: false, disputed: false }
        }
    }
}

/// What to do about a file of this kind that could not be decoded.
pub fn remedy(format: Format, name: &str) -> Say {
    Say::new(match format {
        Format::Heic => "picture.heic",
        Format::Avif => "picture.avif",
        Format::Tiff => "picture.tiff",
        Format::Pdf => "picture.pdf",
        Format::Svg => "picture.svg",
        Format::Unknown => "picture.not-a-picture",
        Format::Jpeg | Format::Png | Format::Webp | Format::Gif | Format::Bmp => "picture.broken",
    })
    .text("name", name)
}

/// How many bytes a file says it has; nothing where it doesn't say. One that has fewer was cut short.
///
/// # References
/// RFC 9649 (WebP), 2.5: the RIFF header's file size counts from offset 8.
pub fn own_length(bytes: &[u8]) -> Option<u64> {
    match bytes {
        [b'R', b'I', b'F', b'F', a, b, c, d, b'W', b'E', b'B', b'P', ..] => {
            Some(u64::from(u32::from_le_bytes([*a, *b, *c, *d])) + 8)
        }
        _ => None,
    }
}

/// Whether the mark with which such a file ends stands in `part`, a stretch of the file after its header.
/// A file in which it stands nowhere is cut short, though a browser may show what there is of it.
///
/// A camera may hang more behind the end, so look through the parts from the last to the first. Kinds of
/// file that have no such mark always answer true.
pub fn ends_in(format: Format, part: &[u8]) -> bool {
    match format {
        Format::Jpeg => bytes::find(part, b"\xFF\xD9").is_some(),
        Format::Png => bytes::find(part, b"IEND").is_some(),
        Format::Gif => part.ends_with(b"\x3B") || bytes::find(part, b"\x00\x3B").is_some(),
        _ => true,
    }
}
