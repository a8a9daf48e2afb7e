//! The picture's own JPEG file in a PDF, as it is, where the way it lies allows that.
//!
//! # References
//! ITU-T T.81 (1992), B.1.1.3 and B.2.2 (markers, frame header). ISO 32000-1:2008, 7.4.8 (DCTDecode), 8.9.5.2 (Decode arrays).

/// The file `bytes` without what doesn't belong to the picture (where it was taken, a small copy, remarks), if it is a grey JPEG of this
/// size, a byte a pixel, whose kind every reader of PDFs knows.
pub fn grey(bytes: &[u8], size: [u32; 2]) -> Option<Vec<u8>> {
    let mut out = bytes.strip_prefix(&[0xFF, 0xD8]).map(|_| vec![0xFF, 0xD8])?;
    let (mut at, mut framed) = (2, false);
    loop {
        let [mark, kind, high, low] = *bytes.get(at..)?.first_chunk()?;
        let end = at + 2 + usize::from(u16::from_be_bytes([high, low]));
        let segment = bytes.get(at..end).filter(|_| mark == 0xFF)?;
        match kind {
            // Baseline, extended or progressive; 8 bits; rows, columns; one component.
            0xC0..=0xC2 => {
                let [_, _, _, _, bits, h1, h2, w1, w2, components, ..] = *segment else { return None };
                let own = [[w1, w2], [h1, h2]].map(|side| u32::from(u16::from_be_bytes(side)));
                framed = (bits, components) == (8, 1) && own == size;
            }
            0xDA => break,
            // What applications add, and comments; all else but tables and the interval of restarts is of another kind.
            0xE0..=0xEF | 0xFE => {
                at = end;
                continue;
            }
            0xC4 | 0xDB | 0xDD => {}
            _ => return None,
        }
        out.extend_from_slice(segment);
        at = end;
    }
    // To its end, which can't stand within: what cameras put behind it is another picture.
    let rest = bytes.get(at..)?;
    let end = rest.windows(2).position(|pair| pair == [0xFF, 0xD9])?;
    out.extend_from_slice(rest.get(..end + 2)?);
    framed.then_some(out)
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
}
