//! Walking the kinds of picture file: how each says its size, its resolution and where its tags are.
//!
//! # References
//! JPEG: ITU-T T.81 (1992) annex B; JFIF 1.02 (ITU-T T.871). PNG: W3C PNG 3rd ed. 11.2.1 IHDR, 11.3.4.3
//! pHYs, 11.3.2.? eXIf, acTL. WebP: RFC 9649. GIF: GIF89a specification. BMP: the BITMAPINFOHEADER
//! layout. AVIF, HEIC: ISO/IEC 14496-12 boxes, ISO/IEC 23008-12 `ispe`. All *[memory]*; the test files are
//! written by other programs.

use super::bytes::{Order::Big, Order::Little, find, slice, stands, u8_at, u16_at, u24_at, u32_at};
use super::exif::{self, Exif};
use super::{Format, Pixels};

/// What was found on one walk through a file.
#[derive(Clone, Debug, Default)]
pub(super) struct Found {
    pub(super) size: Option<[u32; 2]>,
    /// What the file itself says, apart from its tag directory.
    pub(super) pixels: Option<Pixels>,
    pub(super) exif: Exif,
    pub(super) animated: bool,
    /// The bytes ended before everything that was looked for had been passed.
    pub(super) ran_out: bool,
}

/// What kind of file begins so.
pub(super) fn format(bytes: &[u8]) -> Format {
    let starts = |what: &[u8]| stands(bytes, 0, what);
    if starts(b"\xFF\xD8\xFF") || bytes == b"\xFF\xD8" {
        Format::Jpeg
    } else if starts(b"\x89PNG\r\n\x1A\n") {
        Format::Png
    } else if starts(b"RIFF") && stands(bytes, 8, b"WEBP") {
        Format::Webp
    } else if starts(b"GIF87a") || starts(b"GIF89a") {
        Format::Gif
    } else if starts(b"BM") && u32_at(bytes, 14, Little).is_some_and(|n| (12..=124).contains(&n)) {
        Format::Bmp
    } else if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
        Format::Tiff
    } else if slice(bytes, 0, bytes.len().min(1024)).is_some_and(|head| find(head, b"%PDF-").is_some()) {
        Format::Pdf
    } else if stands(bytes, 4, b"ftyp") {
        boxed(bytes)
    } else if drawn(bytes) {
        Format::Svg
    } else {
        Format::Unknown
    }
}

/// Which of the kinds that are made of boxes: the major brand, then the compatible ones.
fn boxed(bytes: &[u8]) -> Format {
    let length = u32_at(bytes, 0, Big).and_then(|n| usize::try_from(n).ok()).unwrap_or(0);
    let brands = bytes.get(8..length.clamp(12, 256).min(bytes.len())).unwrap_or(&[]);
    let any = |names: &[&[u8; 4]]| brands.chunks_exact(4).any(|b| names.iter().any(|n| b == *n));
    if any(&[b"avif", b"avis"]) {
        Format::Avif
    } else if any(&[b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"]) {
        Format::Heic
    } else {
        Format::Unknown
    }
}

/// Whether this is a drawing in text: `<svg`, perhaps after a declaration and remarks.
fn drawn(bytes: &[u8]) -> bool {
    let head = bytes.get(..bytes.len().min(2048)).unwrap_or(&[]);
    let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head).trim_ascii_start();
    head.starts_with(b"<") && find(head, b"<svg").is_some()
}

/// Walks a file of this kind.
pub(super) fn walk(format: Format, bytes: &[u8]) -> Found {
    match format {
        Format::Jpeg => jpeg(bytes),
        Format::Png => png(bytes),
        Format::Webp => webp(bytes),
        Format::Gif => gif(bytes),
        Format::Bmp => bmp(bytes),
        Format::Tiff => {
            let exif = exif::read(bytes);
            Found { size: exif.size, exif, ..Found::default() }
        }
        Format::Avif | Format::Heic => boxes(bytes),
        Format::Pdf | Format::Svg | Format::Unknown => Found::default(),
    }
}

/// Marker by marker to the first scan.
fn jpeg(bytes: &[u8]) -> Found {
    let mut found = Found::default();
    let mut seen = false;
    let mut at = 2;
    loop {
        let (Some(0xFF), Some(marker)) = (u8_at(bytes, at), u8_at(bytes, at + 1)) else {
            found.ran_out = at + 1 >= bytes.len();
            return found;
        };
        match marker {
            // Fill bytes and markers that stand alone.
            0xFF => at += 1,
            0x01 | 0xD0..=0xD8 => at += 2,
            0xD9 | 0xDA => return found,
            _ => {
                let Some(length) = u16_at(bytes, at + 2, Big).map(usize::from) else {
                    found.ran_out = true;
                    return found;
                };
                let Some(body) = slice(bytes, at + 4, length.saturating_sub(2)) else {
                    // Cut within this piece: its beginning may still hold what is wanted.
                    segment(marker, bytes.get(at + 4..).unwrap_or(&[]), &mut found, &mut seen);
                    found.ran_out = true;
                    return found;
                };
                segment(marker, body, &mut found, &mut seen);
                at += 2 + length.max(2);
            }
        }
    }
}

fn segment(marker: u8, body: &[u8], found: &mut Found, seen: &mut bool) {
    match marker {
        0xE0 if body.starts_with(b"JFIF\0") && found.pixels.is_none() => {
            let density = u16_at(body, 8, Big).zip(u16_at(body, 10, Big));
            found.pixels = u8_at(body, 7).zip(density).map(|(unit, (x, y))| {
                let density = [f64::from(x), f64::from(y)];
                match unit {
                    1 => Pixels::PerInch(density),
                    2 => Pixels::PerCentimetre(density),
                    _ => Pixels::Shape,
                }
            });
        }
        0xE1 if body.starts_with(b"Exif\0") && !*seen => {
            found.exif = exif::read(body.get(6..).unwrap_or(&[]));
            *seen = true;
        }
        // Frames, but not the Huffman table, the arithmetic table and the reserved one among them.
        0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => {
            let size = u16_at(body, 3, Big).zip(u16_at(body, 1, Big));
            // A height of zero is told after the first scan; the decoder will know.
            found.size = size.filter(|&(w, h)| w > 0 && h > 0).map(|(w, h)| [w.into(), h.into()]);
        }
        _ => {}
    }
}

/// Chunk by chunk to the first pixels. Tags that stand after the pixels are not looked for.
fn png(bytes: &[u8]) -> Found {
    let mut found = Found::default();
    let mut at: usize = 8;
    while let (Some(length), Some(name)) = (u32_at(bytes, at, Big), slice(bytes, at + 4, 4)) {
        let length = usize::try_from(length).unwrap_or(usize::MAX);
        let body = slice(bytes, at + 8, length).unwrap_or(bytes.get(at + 8..).unwrap_or(&[]));
        match name {
            b"IHDR" => {
                found.size = u32_at(body, 0, Big).zip(u32_at(body, 4, Big)).map(|(w, h)| [w, h]);
            }
            b"pHYs" => {
                let density = u32_at(body, 0, Big).zip(u32_at(body, 4, Big));
                found.pixels = density.zip(u8_at(body, 8)).map(|((x, y), unit)| match unit {
                    1 => Pixels::PerMetre([f64::from(x), f64::from(y)]),
                    _ => Pixels::Shape,
                });
            }
            b"eXIf" => found.exif = exif::read(body),
            b"acTL" => found.animated = u32_at(body, 0, Big).is_some_and(|frames| frames > 1),
            b"IDAT" | b"IEND" => return found,
            _ => {}
        }
        let Some(next) = length.checked_add(12).and_then(|step| at.checked_add(step)) else { break };
        at = next;
    }
    found.ran_out = true;
    found
}

/// Chunk by chunk to the end: the tags stand last.
fn webp(bytes: &[u8]) -> Found {
    let mut found = Found::default();
    let mut tags = false;
    let mut at: usize = 12;
    while let (Some(name), Some(length)) = (slice(bytes, at, 4), u32_at(bytes, at + 4, Little)) {
        let length = usize::try_from(length).unwrap_or(usize::MAX);
        let body = slice(bytes, at + 8, length).unwrap_or(bytes.get(at + 8..).unwrap_or(&[]));
        match name {
            b"VP8X" => {
                let flags = u8_at(body, 0).unwrap_or(0);
                (found.animated, tags) = (flags & 0x02 != 0, flags & 0x08 != 0);
                found.size = u24_at(body, 4).zip(u24_at(body, 7)).map(|(w, h)| [w + 1, h + 1]);
            }
            b"VP8 " if found.size.is_none() && stands(body, 3, b"\x9D\x01\x2A") => {
                let size = u16_at(body, 6, Little).zip(u16_at(body, 8, Little));
                found.size = size.map(|(w, h)| [u32::from(w & 0x3FFF), u32::from(h & 0x3FFF)]);
            }
            b"VP8L" if found.size.is_none() && u8_at(body, 0) == Some(0x2F) => {
                let packed = u32_at(body, 1, Little);
                found.size = packed.map(|p| [(p & 0x3FFF) + 1, ((p >> 14) & 0x3FFF) + 1]);
            }
            b"EXIF" => {
                // Some writers put JPEG's own heading in front.
                found.exif = exif::read(body.strip_prefix(b"Exif\0\0").unwrap_or(body));
                return found;
            }
            _ => {}
        }
        let step = length.checked_add(length & 1).and_then(|n| n.checked_add(8));
        let Some(next) = step.and_then(|n| at.checked_add(n)) else { break };
        at = next;
    }
    found.ran_out = found.size.is_none() || tags;
    found
}

/// Block by block until a second picture, or the end of what there is.
fn gif(bytes: &[u8]) -> Found {
    let size = u16_at(bytes, 6, Little).zip(u16_at(bytes, 8, Little));
    let mut found = Found { size: size.map(|(w, h)| [w.into(), h.into()]), ..Found::default() };
    let table = |flags: u8| if flags & 0x80 != 0 { 6usize << (flags & 7) } else { 0 };
    let mut at = 13 + u8_at(bytes, 10).map_or(0, table);
    let mut pictures = 0;
    loop {
        let body = match u8_at(bytes, at) {
            Some(0x21) => at + 2,
            Some(0x2C) => {
                pictures += 1;
                found.animated = pictures > 1;
                at + 11 + u8_at(bytes, at + 9).map_or(0, table)
            }
            Some(_) => return found,
            None => {
                found.ran_out = found.size.is_none();
                return found;
            }
        };
        at = body;
        while let Some(length @ 1..) = u8_at(bytes, at) {
            at += 1 + usize::from(length);
        }
        at += 1;
        if found.animated {
            return found;
        }
    }
}

fn bmp(bytes: &[u8]) -> Found {
    let narrow = u32_at(bytes, 14, Little) == Some(12);
    let size = if narrow {
        u16_at(bytes, 18, Little).zip(u16_at(bytes, 20, Little)).map(|(w, h)| [w.into(), h.into()])
    } else {
        // Rows from the top down are told by a negative height.
        let signed = |at| u32_at(bytes, at, Little).map(|n| n.cast_signed().unsigned_abs());
        signed(18).zip(signed(22)).map(|(w, h)| [w, h])
    };
    let density = u32_at(bytes, 38, Little).zip(u32_at(bytes, 42, Little));
    let pixels = density.filter(|&(x, y)| !narrow && x > 0 && y > 0);
    Found {
        size,
        pixels: pixels.map(|(x, y)| Pixels::PerMetre([f64::from(x), f64::from(y)])),
        ran_out: size.is_none(),
        ..Found::default()
    }
}

/// The greatest size that any item in the file has. Turning is left to the decoder.
fn boxes(bytes: &[u8]) -> Found {
    let mut size: Option<[u32; 2]> = None;
    let mut from = 0;
    while let Some(at) = bytes.get(from..).and_then(|rest| find(rest, b"ispe")).map(|at| from + at) {
        if let Some((w, h)) = u32_at(bytes, at + 8, Big).zip(u32_at(bytes, at + 12, Big)) {
            let area = |[w, h]: [u32; 2]| u64::from(w) * u64::from(h);
            size = size.filter(|&s| area(s) >= area([w, h])).or(Some([w, h]));
        }
        from = at + 4;
    }
    Found { size, animated: stands(bytes, 8, b"avis") || stands(bytes, 8, b"msf1"), ..Found::default() }
}
