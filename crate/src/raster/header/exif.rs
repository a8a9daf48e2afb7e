//! The directory of tags that cameras and scanners write, in JPEG (APP1), PNG (eXIf), WebP (EXIF) and, as
//! the file itself, TIFF.
//!
//! # References
//! CIPA DC-008-2019 (Exif 2.32), 4.6.2 "IFD structure", 4.6.4 tags A (resolution, orientation), 4.6.5 tags
//! C (FileSource 0xA300, FocalLengthIn35mmFilm 0xA405); TIFF 6.0 (1992) section 2. *[memory]*

use super::Pixels;
use super::bytes::{Order, stands, u8_at, u16_at, u32_at};

/// What of a tag directory matters here. All of it may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Exif {
    /// Width and height, px; in a TIFF file only.
    pub(super) size: Option<[u32; 2]>,
    /// 1 to 8.
    pub(super) orientation: Option<u8>,
    /// What the directory says of pixels and inches, along the stored rows and columns.
    pub(super) pixels: Option<Pixels>,
    /// The focal length that would give the same field of view on 35 mm film, mm.
    pub(super) focal_35mm: Option<f64>,
    /// Exposure, aperture or focal length is given and the file doesn't say a scanner made it.
    pub(super) from_camera: bool,
}

/// One directory: where its entries begin, and how many there are.
struct Directory<'a> {
    bytes: &'a [u8],
    order: Order,
    first: usize,
    entries: usize,
}

impl<'a> Directory<'a> {
    fn at(bytes: &'a [u8], order: Order, offset: u32) -> Option<Directory<'a>> {
        let offset = usize::try_from(offset).ok()?;
        let entries = u16_at(bytes, offset, order)?;
        Some(Directory { bytes, order, first: offset.checked_add(2)?, entries: entries.into() })
    }

    /// The place of the entry for `tag`: entries ought to be sorted, and often aren't.
    fn entry(&self, tag: u16) -> Option<usize> {
        (0..self.entries)
            .map_while(|i| {
                let at = self.first.checked_add(i.checked_mul(12)?)?;
                Some((at, u16_at(self.bytes, at, self.order)?))
            })
            .find(|&(_, found)| found == tag)
            .map(|(at, _)| at)
    }

    /// A whole number, stored as a byte (types 1 and 7), a short (3) or a long (4).
    fn number(&self, tag: u16) -> Option<u32> {
        let at = self.entry(tag)?;
        match u16_at(self.bytes, at + 2, self.order)? {
            1 | 7 => u8_at(self.bytes, at + 8).map(u32::from),
            3 => u16_at(self.bytes, at + 8, self.order).map(u32::from),
            4 => u32_at(self.bytes, at + 8, self.order),
            _ => None,
        }
    }

    /// A fraction of two longs (type 5), elsewhere in the bytes.
    fn fraction(&self, tag: u16) -> Option<f64> {
        let at = self.entry(tag)?;
        if u16_at(self.bytes, at + 2, self.order)? != 5 {
            return None;
        }
        let place = usize::try_from(u32_at(self.bytes, at + 8, self.order)?).ok()?;
        let over = u32_at(self.bytes, place, self.order)?;
        let under = u32_at(self.bytes, place.checked_add(4)?, self.order)?;
        (under != 0).then(|| f64::from(over) / f64::from(under))
    }
}

/// Reads a tag directory; whatever is broken in it is left out, and the rest kept.
pub(super) fn read(bytes: &[u8]) -> Exif {
    let order = if stands(bytes, 0, b"II*\0") {
        Order::Little
    } else if stands(bytes, 0, b"MM\0*") {
        Order::Big
    } else {
        return Exif::default();
    };
    let Some(main) = u32_at(bytes, 4, order).and_then(|offset| Directory::at(bytes, order, offset)) else {
        return Exif::default();
    };
    let camera = main.number(0x8769).and_then(|offset| Directory::at(bytes, order, offset));
    let scanned = camera.as_ref().and_then(|c| c.number(0xA300)).is_some_and(|s| s == 1 || s == 2);
    let exposed = |c: &Directory<'_>| [0x829A, 0x829D, 0x920A, 0xA405].iter().any(|&t| c.entry(t).is_some());
    Exif {
        size: main.number(0x0100).and_then(|w| Some([w, main.number(0x0101)?])),
        orientation: orientation(&main),
        pixels: pixels(&main),
        focal_35mm: camera.as_ref().and_then(|c| c.number(0xA405)).filter(|&f| f > 0).map(f64::from),
        from_camera: !scanned && camera.as_ref().is_some_and(exposed),
    }
}

fn orientation(main: &Directory<'_>) -> Option<u8> {
    u8::try_from(main.number(0x0112)?).ok().filter(|o| (1..=8).contains(o))
}

fn pixels(main: &Directory<'_>) -> Option<Pixels> {
    let density = [main.fraction(0x011A)?, main.fraction(0x011B)?];
    // Unit 1 is "no absolute unit"; with no unit at all the standard says inches.
    match main.number(0x0128).unwrap_or(2) {
        2 => Some(Pixels::PerInch(density)),
        3 => Some(Pixels::PerCentimetre(density)),
        _ => Some(Pixels::Shape),
    }
}
