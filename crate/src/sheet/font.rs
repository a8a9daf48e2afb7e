//! A TrueType font: which glyph a letter has, how wide it is, and a copy with only the glyphs that were used.
//!
//! What comes with the page leaves out what the outlines tell anyway, so that less is fetched (`scripts/lib/fonts.py` makes it): in place of
//! `loca` it has `size`, a byte for each glyph, how long its outline is in words of two bytes; in place of `hmtx` it has `wide`, how far each
//! glyph reaches, without where it begins. A copy is a plain TrueType font again.
//!
//! # References
//! ISO/IEC 14496-22 (Open Font Format): `cmap` format 4, `glyf`, `head`, `hhea`, `hmtx`, `loca`, `maxp`.

use crate::words::Say;

/// Where the small figures of fractions stand: letters of private use (`scripts/lib/fonts.py` puts them there).
const ABOVE: u32 = 0xE000;
const BELOW: u32 = 0xE010;
/// The bar of a fraction.
const BAR: char = crate::quantity::FRACTION_SLASH;

/// A font as it is read.
#[derive(Clone, Debug)]
pub struct Font {
    bytes: Vec<u8>,
    tables: Vec<([u8; 4], usize, usize)>,
    /// Glyphs in it.
    count: u16,
    /// Units of the em.
    em: f64,
    metrics: u16,
    /// Where each glyph's outline begins, and where the last one ends.
    places: Vec<usize>,
}

/// One letter set in type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Glyph {
    /// Its number in the font; 0 where the font has none.
    pub id: u16,
    /// The letter that it stands for.
    pub letter: char,
}

/// A number of two bytes.
fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at.checked_add(2)?)?.try_into().ok()?))
}

/// A number of four bytes.
fn u32_at(bytes: &[u8], at: usize) -> Option<usize> {
    Some(u32::from_be_bytes(bytes.get(at..at.checked_add(4)?)?.try_into().ok()?) as usize)
}

impl Font {
    /// From a file's bytes.
    ///
    /// # Errors
    /// `sheet.font` when it is no TrueType font that can be used here.
    pub fn read(bytes: Vec<u8>) -> Result<Font, Say> {
        Font::parse(bytes).ok_or_else(|| Say::new("sheet.font"))
    }

    fn parse(bytes: Vec<u8>) -> Option<Font> {
        let n = usize::from(u16_at(&bytes, 4)?);
        let mut tables = Vec::new();
        for i in 0..n {
            let at = 12 + 16 * i;
            let tag: [u8; 4] = bytes.get(at..at + 4)?.try_into().ok()?;
            let (from, length) = (u32_at(&bytes, at + 8)?, u32_at(&bytes, at + 12)?);
            bytes.get(from..from.checked_add(length)?)?;
            tables.push((tag, from, length));
        }
        let mut font = Font { bytes, tables, count: 0, em: 0.0, metrics: 0, places: vec![0] };
        let (em, metrics) = (u16_at(font.table(b"head")?, 18)?, u16_at(font.table(b"hhea")?, 34)?);
        let count = u16_at(font.table(b"maxp")?, 4)?;
        (em > 0 && count > 0 && metrics > 0 && metrics <= count).then_some(())?;
        let mut end = 0;
        for words in font.table(b"size")?.get(..usize::from(count))?.to_vec() {
            end += 2 * usize::from(words);
            font.places.push(end);
        }
        (font.count, font.em, font.metrics) = (count, f64::from(em), metrics);
        font.outline(count - 1)?;
        font.mapped('A')?;
        Some(font)
    }

    fn table(&self, tag: &[u8; 4]) -> Option<&[u8]> {
        let (_, from, length) = self.tables.iter().find(|(t, _, _)| t == tag)?;
        self.bytes.get(*from..from + length)
    }

    /// The glyph of a letter, by the font's own table.
    fn mapped(&self, letter: char) -> Option<u16> {
        let cmap = self.table(b"cmap")?;
        let code = u16::try_from(u32::from(letter)).ok()?;
        (0..usize::from(u16_at(cmap, 2)?)).find_map(|i| {
            let sub = cmap.get(u32_at(cmap, 4 + 8 * i + 4)?..)?;
            (u16_at(sub, 0)? == 4).then(|| format_4(sub, code)).flatten()
        })
    }

    /// Whether the font has that letter.
    pub fn has(&self, letter: char) -> bool {
        self.mapped(letter).is_some()
    }

    /// A line of writing as glyphs. Control characters and marks of direction are dropped, other spaces become plain ones, and
    /// the figures at a fraction's bar are set small.
    pub fn set(&self, text: &str) -> Vec<Glyph> {
        let letters: Vec<char> = text.chars().filter(|c| !is_dropped(*c)).collect();
        let mut out = Vec::with_capacity(letters.len());
        for (i, &letter) in letters.iter().enumerate() {
            let letter = if letter.is_whitespace() { ' ' } else { letter };
            let id = letter
                .to_digit(10)
                .and_then(|digit| Some(side_of_bar(&letters, i)? + digit))
                .and_then(|small| self.mapped(char::from_u32(small)?))
                .or_else(|| self.mapped(letter));
            out.push(Glyph { id: id.unwrap_or(0), letter });
        }
        out
    }

    /// How far the next glyph stands from this one, in ems.
    pub fn advance(&self, id: u16) -> f64 {
        f64::from(self.wide(id)) / self.em
    }

    /// The same in units of the font.
    fn wide(&self, id: u16) -> u16 {
        let at = 2 * usize::from(id.min(self.metrics.saturating_sub(1)));
        self.table(b"wide").and_then(|t| u16_at(t, at)).unwrap_or(0)
    }

    /// How wide a line of writing is, in ems.
    pub fn width(&self, text: &str) -> f64 {
        self.set(text).iter().map(|g| self.advance(g.id)).sum()
    }

    /// Glyphs in the font.
    pub fn glyphs(&self) -> u16 {
        self.count
    }

    /// Left, bottom, right, top of all glyphs, in thousandths of an em.
    pub fn bounds(&self) -> [f64; 4] {
        let head = self.table(b"head").unwrap_or_default();
        let side = |at| f64::from(u16_at(head, at).unwrap_or(0).cast_signed()) * 1000.0 / self.em;
        [side(36), side(38), side(40), side(42)]
    }

    /// How far it stands above the base line and hangs below, in thousandths of an em.
    pub fn reach(&self) -> [f64; 2] {
        let hhea = self.table(b"hhea").unwrap_or_default();
        [4, 6].map(|at| f64::from(u16_at(hhea, at).unwrap_or(0).cast_signed()) * 1000.0 / self.em)
    }

    /// The bytes of a glyph's outline.
    fn outline(&self, id: u16) -> Option<&[u8]> {
        let i = usize::from(id);
        self.table(b"glyf")?.get(*self.places.get(i)?..*self.places.get(i + 1)?)
    }

    /// The glyphs that a glyph is put together from.
    fn parts(&self, id: u16) -> Vec<u16> {
        let Some(data) = self.outline(id) else { return Vec::new() };
        let mut parts = Vec::new();
        // A negative number of rings says that it is put together.
        if u16_at(data, 0).is_none_or(|rings| rings.cast_signed() >= 0) {
            return parts;
        }
        let mut at = 10;
        while let (Some(flags), Some(part)) = (u16_at(data, at), u16_at(data, at + 2)) {
            parts.push(part);
            // Its place as words or bytes; its scale: one, two or four numbers.
            at += if flags & 1 == 0 { 6 } else { 8 };
            at += if flags & 8 != 0 { 2 } else { 0 };
            at += if flags & 0x40 != 0 { 4 } else { 0 };
            at += if flags & 0x80 != 0 { 8 } else { 0 };
            if flags & 0x20 == 0 {
                break;
            }
        }
        parts
    }

    /// A font file with the outlines of `used` alone; glyphs keep their numbers.
    pub fn subset(&self, used: &[u16]) -> Vec<u8> {
        let mut kept = vec![false; usize::from(self.count)];
        let mut open: Vec<u16> = used.iter().copied().chain([0]).collect();
        while let Some(id) = open.pop() {
            if let Some(seen @ false) = kept.get_mut(usize::from(id)) {
                *seen = true;
                open.extend(self.parts(id));
            }
        }
        let (mut glyf, mut loca, mut hmtx) = (Vec::new(), Vec::new(), Vec::new());
        for (id, kept) in (0..self.count).zip(kept) {
            loca.extend((glyf.len() as u32).to_be_bytes());
            let outline = if kept { self.outline(id).unwrap_or_default() } else { &[] };
            glyf.extend_from_slice(outline);
            glyf.resize(glyf.len().next_multiple_of(4), 0);
            if id < self.metrics {
                hmtx.extend(if kept { self.wide(id) } else { 0 }.to_be_bytes());
            }
            // Where it begins: the least x of its outline.
            hmtx.extend_from_slice(outline.get(2..4).unwrap_or(&[0, 0]));
        }
        loca.extend((glyf.len() as u32).to_be_bytes());
        let mut head = self.table(b"head").unwrap_or_default().to_vec();
        if let Some(wide) = head.get_mut(50..52) {
            wide.copy_from_slice(&1_u16.to_be_bytes());
        }
        let own = |tag: &[u8; 4]| self.table(tag).unwrap_or_default().to_vec();
        let tables = [
            (b"glyf", glyf),
            (b"head", head),
            (b"hhea", own(b"hhea")),
            (b"hmtx", hmtx),
            (b"loca", loca),
            (b"maxp", own(b"maxp")),
        ];
        file(&tables)
    }
}

/// Tables, in the order of their names, as a font file.
fn file(tables: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    let n = tables.len() as u16;
    let largest = n.checked_ilog2().unwrap_or(0) as u16;
    let range = 16 << largest;
    let mut out = vec![0, 1, 0, 0];
    for number in [n, range, largest, 16 * n - range] {
        out.extend(number.to_be_bytes());
    }
    let mut from = 12 + 16 * tables.len();
    for (tag, data) in tables {
        let words = data
            .chunks(4)
            .map(|c| c.iter().fold(0, |sum, b| sum << 8 | u32::from(*b)) << (8 * (4 - c.len())));
        let sum = words.fold(0_u32, u32::wrapping_add);
        out.extend_from_slice(*tag);
        for number in [sum, from as u32, data.len() as u32] {
            out.extend(number.to_be_bytes());
        }
        from += data.len().next_multiple_of(4);
    }
    for (_, data) in tables {
        out.extend_from_slice(data);
        out.resize(out.len().next_multiple_of(4), 0);
    }
    out
}

/// The glyph of `code` by a table of format 4.
fn format_4(sub: &[u8], code: u16) -> Option<u16> {
    let n = usize::from(u16_at(sub, 6)?) / 2;
    // Runs are in order of their ends.
    let (mut low, mut high) = (0, n);
    while low < high {
        let middle = usize::midpoint(low, high);
        if u16_at(sub, 14 + 2 * middle)? < code { low = middle + 1 } else { high = middle }
    }
    let at = |list: usize| 16 + 2 * n * list + 2 * low;
    let (start, delta, range) = (u16_at(sub, at(1))?, u16_at(sub, at(2))?, u16_at(sub, at(3))?);
    if low >= n || code < start {
        return None;
    }
    let id = if range == 0 {
        code.wrapping_add(delta)
    } else {
        let listed = u16_at(sub, at(3) + usize::from(range) + 2 * usize::from(code - start))?;
        if listed == 0 { 0 } else { listed.wrapping_add(delta) }
    };
    (id != 0).then_some(id)
}

/// What is neither seen nor a space: control characters, marks of direction, joiners.
fn is_dropped(c: char) -> bool {
    let space = matches!(c, '\t' | '\n' | '\r');
    (c.is_control() && !space)
        || matches!(u32::from(c), 0xAD | 0x200B..=0x200F | 0x2028..=0x202E | 0x2060..=0x206F | 0xFE00..=0xFE0F | 0xFEFF)
}

/// Where the small figures stand that the digit at `i` takes: those above a bar that follows its number, those below one that
/// stands before it.
fn side_of_bar(letters: &[char], i: usize) -> Option<u32> {
    let digit = |c: &&char| c.is_ascii_digit();
    let after = letters.get(i..)?.iter().find(|c| !digit(c));
    let before = letters.get(..i)?.iter().rev().find(|c| !digit(c));
    match (before, after) {
        (Some(&BAR), _) => Some(BELOW),
        (_, Some(&BAR)) => Some(ABOVE),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn font() -> Font {
        Font::read(include_bytes!("../../../www/fonts/sheet-400.type").to_vec()).expect("reads")
    }

    /// Expected widths, in thousandths of an em: read from the font file by fontTools (`hmtx` at `cmap`).
    #[test]
    fn letters_have_their_own_widths() {
        let font = font();
        for (letter, width) in [('A', 543.0), ('0', 497.0), ('\u{3a9}', 678.0), ('Ж', 830.0)] {
            assert!((font.width(&letter.to_string()) * 1000.0 - width).abs() < 1e-9, "{letter}");
        }
        assert_eq!(font.set("\u{202e}a\u{7}\tb").iter().map(|g| g.letter).collect::<String>(), "a b");
        assert!(!font.has('א') && font.set("א")[0].id == 0);
    }

    #[test]
    fn a_fraction_is_set_small() {
        let font = font();
        let ids = |text: &str| font.set(text).iter().map(|g| g.id).collect::<Vec<_>>();
        let (set, plain) = (ids("31 15⁄16 in"), ids("31 15 16 in"));
        assert_eq!(set[..3], plain[..3]);
        assert!(set[3] != plain[3] && set[4] != plain[4] && set[6] != plain[6] && set[7] != plain[7]);
        assert_ne!(set[3], set[6], "1 above and 1 below");
        assert_eq!(font.set("5⁄16").iter().map(|g| g.letter).collect::<String>(), "5⁄16");
    }

    #[test]
    fn a_subset_is_a_font_with_what_was_used() {
        let font = font();
        let used: Vec<u16> = font.set("Å9").iter().map(|g| g.id).collect();
        let small = Font::read(font.subset(&used).into_iter().collect()).is_err();
        assert!(small, "it has no table of letters");
        let bytes = font.subset(&used);
        assert!(bytes.len() < 20_000, "{}", bytes.len());
        assert_eq!(bytes.len() % 4, 0);
    }

    proptest! {
        #[test]
        fn bytes_gone_wrong_never_panic(at in 0_usize..100_000, to: u8, cut in 0_usize..100_000, text: String) {
            let mut bytes = include_bytes!("../../../www/fonts/sheet-400.type").to_vec();
            bytes[at] = to;
            for bytes in [bytes[..cut].to_vec(), bytes] {
                if let Ok(font) = Font::read(bytes) {
                    let used: Vec<u16> = font.set(&text).iter().map(|g| g.id).collect();
                    prop_assert!(font.width(&text).is_finite());
                    let _ = font.subset(&used);
                }
            }
        }
    }
}
