//! Reading ratios as people write them.

use super::read::{ReadError, Reader};
use super::scan::Kind;

/// A ratio such as `1:12`, `2 : 1`, `1/12` or `50 %`: its two terms, first : second.
///
/// # Errors
/// What can't be read, or has a zero or negative term, with its place. A bare number is refused: `12`
/// may be twelve times as large or a twelfth.
pub fn read_ratio(text: &str) -> Result<(f64, f64), ReadError> {
    terms(text).map_err(|error| match &*error.say.key {
        // The same slips, but it is no length that is asked for.
        "read.empty" => ReadError::new("read.ratio-bare", error.at, error.len),
        "read.negative" => ReadError::new("read.ratio-negative", error.at, error.len),
        _ => error,
    })
}

fn terms(text: &str) -> Result<(f64, f64), ReadError> {
    let mut reader = Reader::new(text)?;
    reader.refuse_sign()?;
    let first = term(&mut reader)?;
    reader.skip_space();
    let second = match reader.take().map(|p| p.kind) {
        Some(Kind::Other('%')) => 100.0,
        Some(Kind::Other(':' | '\u{2236}') | Kind::Slash) => {
            reader.skip_space();
            reader.refuse_sign()?;
            term(&mut reader)?
        }
        Some(_) => {
            reader.back();
            return Err(reader.wrong());
        }
        None => {
            let (at, len) = reader.span();
            return Err(ReadError::new("read.ratio-bare", at, len));
        }
    };
    reader.refuse_rest()?;
    Ok((first, second))
}

/// A term: a number with or without decimals, not zero.
fn term(reader: &mut Reader) -> Result<f64, ReadError> {
    let number = reader.plain_number()?;
    if number.value == 0.0 {
        return Err(ReadError::new("read.ratio-zero", number.at, number.len));
    }
    Ok(number.value)
}
