//! The picture's own JPEG file in a PDF, where the way it lies allows that: its luminance alone, as it was coded.
//!
//! Of a file in colours only what is coded of luminance is taken, block by block with its very bits, in a grey file: nothing is lost a
//! second time, it is printed in black alone, and every reader of PDFs knows what to do with it.
//!
//! # References
//! ITU-T T.81 (1992), A.2 (order of blocks), B.2.2 to B.2.4 (frames, scans, tables), annexes F.2 and G.1 (codes, baseline and progressive).
//! ISO 32000-1:2008, 7.4.8 (DCTDecode), 8.9.5.2 (Decode arrays). ITU-T T.872 (2012), 6.5.3 (the Adobe segment).

use super::jpeg::{Coder, means};
use crate::fault::{Area, spoil};

/// Codes of a table: by the next 16 bits, a code's length times 256 and what it stands for; 0 where there is no such code.
type Codes = Vec<u16>;

/// One component of the frame.
#[derive(Clone, Copy, Debug)]
struct Component {
    id: u8,
    across: usize,
    down: usize,
}

/// What stands before scans and is needed to read them.
#[derive(Debug, Default)]
struct Read {
    components: Vec<Component>,
    progressive: bool,
    size: [usize; 2],
    /// For means, then for all else, four of each.
    tables: [Codes; 8],
    /// How many units lie between restarts, as read and as written; 0 for none.
    restarts: [u16; 2],
    out: Vec<u8>,
}

/// The luminance of the file `bytes` as a file, without what doesn't belong to the picture (where it was taken, a small copy, remarks):
/// of a grey JPEG or one in luminance and colour, of this size as stored, a byte a pixel, whose kind every reader of PDFs knows.
pub fn grey(bytes: &[u8], size: [u32; 2]) -> Option<Vec<u8>> {
    bytes.strip_prefix(&[0xFF, 0xD8])?;
    let mut read = Read { out: vec![0xFF, 0xD8], ..Read::default() };
    let (mut at, mut scans) = (2, 0);
    loop {
        let [0xFF, kind] = *bytes.get(at..)?.first_chunk()? else { return None };
        if kind == 0xD9 {
            // What cameras put behind it is another picture.
            read.out.extend([0xFF, 0xD9]);
            return (scans > 0).then_some(read.out);
        }
        let length = u16::from_be_bytes(*bytes.get(at + 2..)?.first_chunk()?);
        let end = at + 2 + usize::from(length);
        let segment = bytes.get(at..end)?;
        let body = segment.get(4..)?;
        at = end;
        match kind {
            // Baseline, extended or progressive.
            0xC0..=0xC2 => read.frame(kind, body, size)?,
            0xC4 => {
                read.codes(body)?;
                read.out.extend_from_slice(segment);
            }
            0xDB => read.out.extend_from_slice(segment),
            0xDD => read.restarts[0] = u16::from_be_bytes(*body.first_chunk()?),
            0xDA => {
                let data = bytes.get(at..)?;
                let data = data.get(..scanned(data)?)?;
                at += data.len();
                scans += usize::from(read.scan(segment, data)?);
            }
            // Red, green and blue: none of the three is luminance.
            0xEE if body.starts_with(b"Adobe") && body.get(11) == Some(&0) => return None,
            // What applications add, and comments.
            0xE0..=0xEF | 0xFE => {}
            _ => return None,
        }
    }
}

/// How long a scan's data is: to the next marker that is no restart.
fn scanned(data: &[u8]) -> Option<usize> {
    let ends = |pair: &[u8]| pair[0] == 0xFF && !matches!(pair[1], 0 | 0xD0..=0xD7 | 0xFF);
    data.windows(2).position(ends)
}

impl Read {
    /// Takes the frame's head (B.2.2) and writes one of its luminance alone.
    fn frame(&mut self, kind: u8, body: &[u8], size: [u32; 2]) -> Option<()> {
        let [bits, h1, h2, w1, w2, count, of @ ..] = body else { return None };
        let own = [[*w1, *w2], [*h1, *h2]].map(|side| u32::from(u16::from_be_bytes(side)));
        if !self.components.is_empty() || *bits != 8 || own != size || !matches!(count, 1 | 3) {
            return None;
        }
        self.progressive = kind == 0xC2;
        self.size = size.map(|side| side as usize);
        for [id, factors, _] in of.as_chunks::<3>().0 {
            let [across, down] = [factors >> 4, factors & 15].map(usize::from);
            self.components.push(Component { id: *id, across, down });
        }
        let [id, _, table] = *of.first_chunk()?;
        let first = *self.components.first()?;
        let fine = |c: &Component| {
            (1..=4).contains(&c.across)
                && (1..=4).contains(&c.down)
                && c.across <= first.across
                && c.down <= first.down
        };
        let named = self.components.iter().map(|c| c.id).eq(*b"RGB");
        if self.components.len() != usize::from(*count) || !self.components.iter().all(fine) || named {
            return None;
        }
        self.out.extend([0xFF, kind, 0, 11, 8, *h1, *h2, *w1, *w2, 1, id, 0x11, table]);
        Some(())
    }

    /// Takes tables of codes (B.2.4.2, annex C).
    fn codes(&mut self, mut body: &[u8]) -> Option<()> {
        while let Some((id, rest)) = body.split_first() {
            let (counts, mut values) = rest.split_at_checked(16)?;
            let table = self.tables.get_mut(usize::from(id >> 4 & 1) * 4 + usize::from(id & 3))?;
            table.clear();
            for (length, count) in (1_u16..).zip(counts) {
                for _ in 0..*count {
                    let (value, left) = values.split_first()?;
                    values = left;
                    let all = table.len() + (1 << (16 - length));
                    if all > 1 << 16 {
                        return None;
                    }
                    table.resize(all, length << 8 | u16::from(*value));
                }
            }
            table.resize(1 << 16, 0);
            body = values;
        }
        Some(())
    }

    /// Takes a scan (B.2.3): as it is where it holds luminance alone, sorted out where it holds more; says whether it holds any.
    fn scan(&mut self, head: &[u8], data: &[u8]) -> Option<bool> {
        let luma = *self.components.first()?;
        let (count, rest) = head.get(4..)?.split_first()?;
        let (of, how) = rest.split_at_checked(2 * usize::from(*count))?;
        let of = of.as_chunks::<2>().0;
        let Some([id, tables]) = of.iter().find(|[id, _]| *id == luma.id) else { return Some(false) };
        let [first, last, steps] = *how.first_chunk()?;
        if of.len() == 1 {
            self.restart(self.restarts[0]);
            self.out.extend_from_slice(head);
            self.out.extend_from_slice(data);
            return Some(true);
        }
        // Of a progressive picture only means lie side by side with colour.
        if (first, last) != (0, if self.progressive { 0 } else { 63 }) {
            return None;
        }
        let refined = steps >> 4 > 0;
        let blocks = self.blocks(of, data, refined)?;
        self.restart(0);
        if !refined {
            let table = means(tables >> 4 & 3);
            self.out.extend([0xFF, 0xC4, 0, table.len() as u8 + 2]);
            self.out.extend(table);
        }
        self.out.extend([0xFF, 0xDA, 0, 8, 1, *id, *tables, first, last, steps]);
        let mut coder = Coder::new(std::mem::take(&mut self.out));
        let mut before = 0;
        let off = i32::from(spoil(Area::Sheet, 2.0) > 1.0);
        for block in &blocks.all {
            let mean = block.mean + off;
            if refined {
                coder.put(mean.cast_unsigned() & 1, 1);
            } else if mean.abs_diff(before) < 2048 {
                coder.mean(mean);
                before = mean;
            } else {
                return None;
            }
            let mut bits = Bits { data: &blocks.data, at: block.from as usize };
            let end = bits.at + block.length as usize;
            while bits.at < end {
                let length = (end - bits.at).min(16) as u32;
                coder.put(bits.take(length), length);
            }
        }
        self.out = coder.finish();
        Some(true)
    }

    /// Writes how many units lie between restarts, where that changes.
    fn restart(&mut self, units: u16) {
        if std::mem::replace(&mut self.restarts[1], units) != units {
            self.out.extend([0xFF, 0xDD, 0, 4]);
            self.out.extend(units.to_be_bytes());
        }
    }

    /// Reads a scan of several components; `refined`: a bit of each mean.
    fn blocks(&self, of: &[[u8; 2]], data: &[u8], refined: bool) -> Option<Blocks> {
        let luma = *self.components.first()?;
        let [wide, high] = self.size.map(|side| side.div_ceil(8));
        let [columns, rows] = [wide.div_ceil(luma.across), high.div_ceil(luma.down)];
        let mut parts = Vec::new();
        for [id, tables] in of {
            let component = self.components.iter().find(|c| c.id == *id)?;
            let table = |kind: u8, id: u8| self.tables.get(usize::from(kind * 4 + (id & 3)));
            parts.push((component, table(0, tables >> 4)?, table(1, *tables)?));
        }
        let (data, starts) = plain(data)?;
        let mut all = Vec::new();
        all.try_reserve_exact(wide * high).ok()?;
        all.resize(wide * high, Block::default());
        let (mut bits, mut means, mut next) = (Bits { data: &data, at: 0 }, [0; 3], starts.iter());
        for unit in 0..columns * rows {
            if self.restarts[0] > 0 && unit > 0 && unit % usize::from(self.restarts[0]) == 0 {
                (bits.at, means) = (next.next()? * 8, [0; 3]);
            }
            for ((component, low, rest), mean) in parts.iter().zip(&mut means) {
                let [x, y] = [unit % columns * component.across, unit / columns * component.down];
                for k in 0..component.across * component.down {
                    let block =
                        bits.block(mean, low, if self.progressive { None } else { Some(rest) }, refined)?;
                    let [x, y] = [x + k % component.across, y + k / component.across];
                    // What lies beyond the picture's edge is not in a scan of one component.
                    if component.id == luma.id
                        && x < wide
                        && let Some(place) = all.get_mut(y * wide + x)
                    {
                        *place = block;
                    }
                }
            }
        }
        Some(Blocks { all, data })
    }
}

/// A block of luminance: its mean, and where the codes of all else stand.
#[derive(Clone, Copy, Debug, Default)]
struct Block {
    mean: i32,
    from: u32,
    length: u32,
}

/// A scan's blocks of luminance, row by row, and its data as [`plain`] gives it.
struct Blocks {
    all: Vec<Block>,
    data: Vec<u8>,
}

/// Bytes behind a scan's data, so that any 16 bits can be looked at.
const MORE: usize = 4;

/// A scan's data without what keeps markers apart, with [`MORE`] behind it; and the bytes at which it begins again.
fn plain(data: &[u8]) -> Option<(Vec<u8>, Vec<usize>)> {
    // Places of bits are kept in 32.
    if data.len() >= 1 << 28 {
        return None;
    }
    let (mut plain, mut starts, mut last) = (Vec::with_capacity(data.len() + MORE), Vec::new(), 0);
    for byte in data {
        match (last, *byte) {
            (0xFF, 0) => plain.push(0xFF),
            (0xFF, 0xD0..=0xD7) => starts.push(plain.len()),
            (_, 0xFF) => {}
            (_, other) => plain.push(other),
        }
        last = *byte;
    }
    plain.extend([0; MORE]);
    Some((plain, starts))
}

/// Bits, from the highest of each byte; 0 beyond their end.
struct Bits<'a> {
    data: &'a [u8],
    at: usize,
}

impl Bits<'_> {
    /// Goes past a block: its mean by the codes of means, or a bit of it that is `refined`, then all else by its codes where it stands here.
    fn block(&mut self, mean: &mut i32, means: &Codes, rest: Option<&Codes>, refined: bool) -> Option<Block> {
        if refined {
            *mean = self.take(1).cast_signed();
        } else {
            *mean = mean.wrapping_add(self.value(means)?);
        }
        let from = self.at;
        if let Some(rest) = rest {
            self.pass(rest)?;
        }
        Some(Block { mean: *mean, from: from as u32, length: (self.at - from) as u32 })
    }

    /// The next 16.
    fn peek(&self) -> u32 {
        let four = self.data.get(self.at >> 3..).and_then(|rest| rest.first_chunk()).copied();
        u32::from_be_bytes(four.unwrap_or_default()) << (self.at & 7) >> 16
    }

    /// The next of them, 16 at the most.
    fn take(&mut self, length: u32) -> u32 {
        let bits = self.peek() >> (16 - length);
        self.at += length as usize;
        bits
    }

    /// What the next code stands for; nothing where there is none.
    fn code(&mut self, codes: &Codes) -> Option<u8> {
        let [length, value] = codes.get(self.peek() as usize)?.to_be_bytes();
        self.at += usize::from(length);
        (length > 0 && self.at <= (self.data.len() - MORE) * 8).then_some(value)
    }

    /// How far a mean is from the last one (F.2.2.1).
    fn value(&mut self, codes: &Codes) -> Option<i32> {
        let length = u32::from(self.code(codes)?);
        if length > 15 {
            return None;
        }
        let bits = self.take(length).cast_signed();
        // Without its highest bit it is below 0.
        Some(if length > 0 && bits < 1 << (length - 1) { bits + 1 - (1 << length) } else { bits })
    }

    /// Goes past the codes of a block but for its mean (F.2.2.2).
    fn pass(&mut self, codes: &Codes) -> Option<()> {
        let mut k = 1;
        while k < 64 {
            let [zeros, length] = self.code(codes).map(|run| [run >> 4, run & 15])?;
            self.at += usize::from(length);
            match (zeros, length) {
                (15, 0) => k += 16,
                (_, 0) => return Some(()),
                _ => k += 1 + usize::from(zeros),
            }
        }
        (k == 64).then_some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::jpeg::Jpeg;

    /// A grey file of 16 × 8 px, and where its frame header begins.
    fn file() -> (Vec<u8>, usize) {
        let mut jpeg = Jpeg::new(16, 8, 80);
        jpeg.band(&(0..128).collect::<Vec<u8>>());
        let bytes = jpeg.finish();
        let frame = bytes.windows(2).position(|p| p == [0xFF, 0xC0]).unwrap();
        (bytes, frame)
    }

    #[test]
    fn a_grey_file_is_kept_but_for_what_was_added() {
        let (plain, frame) = file();
        // Ours begins with a segment of its own kind, 18 bytes long.
        let bare: Vec<u8> = [&plain[..2], &plain[20..]].concat();
        let added = [
            &plain[..frame],
            b"\xFF\xE1\0\x0AExif\0\0here".get(..12).unwrap(),
            b"\xFF\xFE\0\x04hi",
            &plain[frame..],
            b"more",
        ]
        .concat();
        assert_eq!(grey(&plain, [16, 8]), Some(bare.clone()));
        assert_eq!(grey(&added, [16, 8]), Some(bare));
    }

    #[test]
    fn others_are_not() {
        let (plain, frame) = file();
        let changed = |at: usize, to: u8| {
            let mut other = plain.clone();
            other[at] = to;
            other
        };
        for (bytes, size) in [
            (plain.clone(), [8, 16]),
            (changed(frame + 1, 0xC3), [16, 8]),
            (changed(frame + 4, 12), [16, 8]),
            (changed(frame + 9, 3), [16, 8]),
            (changed(0, 0), [16, 8]),
            (plain[..plain.len() - 2].to_vec(), [16, 8]),
            (plain[..frame + 3].to_vec(), [16, 8]),
            (Vec::new(), [16, 8]),
        ] {
            assert_eq!(grey(&bytes, size), None, "{size:?}");
        }
    }

    /// Pillow wrote these, 24 × 16 px in colours: `tests/pictures/make.py`. What their pixels become is looked at in `tests/check/areas/sheet.py`.
    const COLOURED: [&[u8]; 2] = [
        include_bytes!("../../../tests/pictures/small/jfif-300.jpg"),
        include_bytes!("../../../tests/pictures/small/progressive.jpg"),
    ];

    #[test]
    fn of_colours_luminance_is_left() {
        for file in COLOURED {
            let made = grey(file, [24, 16]).unwrap();
            assert!(made.len() < file.len() && made.ends_with(&[0xFF, 0xD9]));
            // It is a grey file now, of which nothing more is taken away.
            assert_eq!(grey(&made, [24, 16]), Some(made));
        }
    }

    proptest::proptest! {
        /// Nothing that stands in a file stops it.
        #[test]
        fn whatever_stands_in_a_file(which in 0..2_usize, places in proptest::collection::vec((2..600_usize, 0..=255_u8), 1..6)) {
            let mut file = COLOURED[which].to_vec();
            for (at, byte) in places {
                if let Some(place) = file.get_mut(at) {
                    *place = byte;
                }
            }
            let _ = grey(&file, [24, 16]);
        }
    }
}
