//! Reading the sizes of a thing as a caption gives them: `72 H × 32 W × 12 D`.
//!
//! Each size is an amount with the letter or word for what it is of, before it or behind; between them stand ×, x, `by`, `mal`,
//! commas, or nothing. A unit that is written once goes for all. Sizes without letters are refused: some write the height first
//! and some last.

use super::read::{ReadError, Reader, Unit, in_range};
use super::scan::Kind;
use super::units::Style;

/// Height, width and depth, mm, each where it is told.
pub type Sizes = [Option<f64>; 3];

/// What a size is of: its place among [`Sizes`]. German letters and words as well.
fn extent(word: &str) -> Option<usize> {
    Some(match word.trim_end_matches('.') {
        "h" | "ht" | "high" | "height" | "tall" | "hoch" | "höhe" => 0,
        "w" | "wd" | "wide" | "width" | "l" | "long" | "length" | "b" | "br" | "breit" | "breite"
        | "lang" => 1,
        "d" | "dp" | "deep" | "depth" | "t" | "tief" | "tiefe" => 2,
        _ => return None,
    })
}

/// A size as written: of what, how much in its own unit, in which unit, and where it stands.
type Written = (usize, f64, Option<Unit>, (usize, usize));

/// The sizes that a caption tells. Bare numbers are in the unit that is written with another, or else in that of `style`.
///
/// # Errors
/// What can't be read, is told twice or of nothing, with its place; `read.caption-nothing` where there is no size.
pub fn read_caption(text: &str, style: Style) -> Result<Sizes, ReadError> {
    let text = parted(text);
    let mut reader = Reader::new(&text)?;
    let mut written: Vec<Written> = Vec::new();
    loop {
        let before = name(&mut reader);
        if !reader.more() {
            if before.is_some() {
                return Err(reader.wrong());
            }
            break;
        }
        reader.refuse_sign()?;
        let (value, mut unit, span) = reader.amount_in_unit()?;
        let of = before.or_else(|| name(&mut reader));
        if unit.is_none() && reader.at_unit() {
            // `12 D in`
            unit = reader.unit()?;
        }
        let Some(of) = of else { return Err(ReadError::new("read.caption-which", span.0, span.1)) };
        if written.iter().any(|w| w.0 == of) {
            return Err(ReadError::new("read.caption-twice", span.0, span.1));
        }
        written.push((of, value, unit, span));
        while skip_between(&mut reader) {}
    }
    sizes(&written, style)
}

/// Each in mm.
fn sizes(written: &[Written], style: Style) -> Result<Sizes, ReadError> {
    let mut units = written.iter().filter_map(|w| w.2);
    let first = units.next();
    let several = units.any(|u| Some(u) != first);
    let mut out = [None; 3];
    for (of, value, unit, (at, len)) in written {
        let mm = match unit.or(first) {
            Some(_) if several && unit.is_none() => {
                return Err(ReadError::new("read.caption-unit", *at, *len));
            }
            Some(unit) => value * unit.mm(),
            None => value * style.unit_mm(),
        };
        out[*of] = Some(in_range(mm, (*at, *len))?);
    }
    if written.is_empty() { Err(ReadError::new("read.caption-nothing", 0, 0)) } else { Ok(out) }
}

/// A comma that no digit goes before, or none behind, stands between two sizes.
fn parted(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let digit = |i: Option<usize>| i.and_then(|i| chars.get(i)).is_some_and(char::is_ascii_digit);
    let part = |(i, c): (usize, &char)| match c {
        ',' | '.' if !(digit(i.checked_sub(1)) && digit(Some(i + 1))) => {
            // The point of a bare decimal stays.
            if *c == '.' && digit(Some(i + 1)) { '.' } else { ';' }
        }
        c => *c,
    };
    chars.iter().enumerate().map(part).collect()
}

/// The name of what a size is of, if one stands here.
fn name(reader: &mut Reader) -> Option<usize> {
    reader.skip_space();
    let of = match reader.kind(0) {
        Some(Kind::Word(word)) => extent(word)?,
        _ => return None,
    };
    reader.take();
    reader.skip_space();
    let _ = reader.skip(&Kind::Other(':')) || reader.skip(&Kind::Other('='));
    reader.skip_space();
    Some(of)
}

/// What may stand between two sizes.
fn skip_between(reader: &mut Reader) -> bool {
    let between = match reader.kind(0) {
        Some(Kind::Space | Kind::Slash | Kind::Other('×' | ';' | '*')) => true,
        // Right before a figure it is a minus.
        Some(Kind::Dash) => reader.kind(1) == Some(&Kind::Space),
        Some(Kind::Word(word)) => matches!(word.as_str(), "x" | "by" | "mal" | "and" | "und"),
        _ => false,
    };
    if between {
        reader.take();
    }
    between
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inches(text: &str) -> Option<[Option<f64>; 3]> {
        let found = read_caption(text, Style::Inches).ok()?;
        Some(found.map(|s| s.map(|mm| (mm / 25.4 * 1e9).round() / 1e9)))
    }

    #[test]
    fn captions_are_read() {
        let all = Some([Some(72.0), Some(32.0), Some(12.0)]);
        for text in [
            "72 H x 32 W x 12 D",
            "72H x 32W x 12D",
            "72 h × 32 w × 12 d",
            "72\" H by 32\" W by 12\" D",
            "H 72, W 32, D 12",
            "H: 72 W: 32 D: 12 in",
            "12 deep, 32 wide, 72 tall",
            "72 in tall × 32 in wide × 12 in deep",
            "6' H x 32\" W x 12\" D",
            "height 6 ft, width 2 ft 8 in, depth 1 ft",
            "72 H,32 W,12 D",
            "1828.8 H x 812.8 W x 304.8 D mm",
            "182.88 cm hoch, 81.28 cm breit, 30.48 cm tief",
            "H 182.88. B 81.28. T 30.48 cm",
            "Höhe 72, Breite 32, Tiefe 12",
            "72 H x 32 L x 12 D",
        ] {
            assert_eq!(inches(text), all, "{text}");
        }
        assert_eq!(inches("29 1/2 H x 36-1/4 W"), Some([Some(29.5), Some(36.25), None]));
        assert_eq!(inches("5' 3 1/2\" tall"), Some([Some(63.5), None, None]));
        let mm = read_caption("1830 H × 810 B × 300 T", Style::Millimetres);
        assert_eq!(mm, Ok([Some(1830.0), Some(810.0), Some(300.0)]));
    }

    #[test]
    fn what_could_mean_two_things_is_refused() {
        for (text, key, at) in [
            ("72 x 32 x 12", "read.caption-which", 0),
            ("72 H x 32 W x 12", "read.caption-which", 14),
            ("72 H x 32 H", "read.caption-twice", 7),
            ("72 in H x 30 cm W x 12 D", "read.caption-unit", 20),
            ("", "read.empty", 0),
            ("x", "read.not-a-figure", 0),
            ("H", "read.unfinished", 0),
            ("72 H x -32 W", "read.negative", 7),
            ("72 Z", "read.caption-which", 0),
            ("0 H", "read.zero", 0),
        ] {
            let error = read_caption(text, Style::Inches).unwrap_err();
            assert_eq!((error.say.key.as_ref(), error.at), (key, at), "{text}");
        }
    }
}
