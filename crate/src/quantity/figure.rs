//! A quantity as type to be set: what stands where, without a font or a language.

use super::number::DECIMAL_SIGN;
use serde::{Deserialize, Serialize};

/// U+2044, which fonts set as a fraction.
pub const FRACTION_SLASH: char = '\u{2044}';
/// U+2212, as wide as a figure, unlike a hyphen.
pub const MINUS: char = '\u{2212}';
/// What stands for a quantity that is not known.
pub const UNKNOWN: &str = "\u{2014}";

/// A quantity in pieces, so that the page can set it as type, and the same as plain text.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct Figure {
    /// Whether a minus stands before it. Never for a figure that shows nothing but zeros.
    pub negative: bool,
    /// Whole feet; only then is `unit` `"ft"`, and `whole`, `num`, `den` are inches.
    pub feet: Option<String>,
    /// The whole part, or the number with its decimals. Missing beside a bare fraction.
    pub whole: Option<String>,
    /// Above the fraction's bar.
    pub num: Option<String>,
    /// Below the fraction's bar.
    pub den: Option<String>,
    /// `"in"`, `"ft"` (feet and inches), `"mm"`, `"sq in"`, `"mm²"`, `"cm²"`, `"°"`, `"%"`, or nothing.
    pub unit: String,
    /// All of it as plain text without the unit, save the marks that feet and inches can't do without:
    /// `31 5⁄16`, `5′ 3 1⁄2″`, `36.8`; a dash where the quantity is unknown.
    pub text: String,
}

impl Figure {
    /// The figure of what is not known.
    pub fn unknown(unit: &str) -> Figure {
        Figure { unit: unit.to_owned(), text: UNKNOWN.to_owned(), ..Figure::default() }
    }

    /// Whether there is anything to set but a dash.
    pub fn is_known(&self) -> bool {
        self.whole.is_some() || self.num.is_some()
    }

    /// The text with its unit, for a sentence: `31 5⁄16 in`, `5′ 3 1⁄2″`, `12.5°`.
    pub fn with_unit(&self) -> String {
        match self.unit.as_str() {
            "" | "ft" => self.text.clone(),
            // Under a foot the mark already stands in the text.
            "in" if self.text.ends_with('\u{2033}') => self.text.clone(),
            "°" => [&self.text, "°"].concat(),
            unit => [&self.text, "\u{a0}", unit].concat(),
        }
    }

    /// The same with `sign` before its decimals, as a language has it.
    #[must_use]
    pub fn with_decimal_sign(mut self, sign: char) -> Figure {
        let set = |text: &mut String| {
            *text = text.chars().map(|c| if c == DECIMAL_SIGN { sign } else { c }).collect();
        };
        set(&mut self.text);
        self.whole.iter_mut().for_each(set);
        self
    }

    /// A number with its decimals; `digits` is what [`decimal`] gave.
    pub(super) fn of_number(negative: bool, digits: String, unit: &str) -> Figure {
        let negative = negative && digits.bytes().any(|c| (b'1'..=b'9').contains(&c));
        let text = signed(negative, &digits);
        Figure { negative, whole: Some(digits), unit: unit.to_owned(), text, ..Figure::default() }
    }
}

/// `digits` with a minus before them where it is due.
pub(super) fn signed(negative: bool, digits: &str) -> String {
    let mut out = String::with_capacity(digits.len() + MINUS.len_utf8());
    if negative {
        out.push(MINUS);
    }
    out.push_str(digits);
    out
}

/// A count of 10^-`decimals` as digits with a decimal sign; sign left out.
pub(super) fn decimal(count: u128, decimals: u8) -> String {
    let width = usize::from(decimals);
    let (mut rest, mut written) = (count, 0);
    // From the last digit on, in as many as the largest count has and then some.
    let mut room = [b'0'; 64];
    let mut at = room.len();
    while rest > 0 || written <= width {
        if written == width && width > 0 {
            at -= 1;
            room[at] = DECIMAL_SIGN as u8;
        }
        at -= 1;
        // Wide numbers are slow to divide, and rare.
        let digit = match u64::try_from(rest) {
            Ok(small) => {
                rest = u128::from(small / 10);
                (small % 10) as u8
            }
            Err(_) => {
                let digit = (rest % 10) as u8;
                rest /= 10;
                digit
            }
        };
        room[at] = b'0' + digit;
        written += 1;
    }
    room[at..].iter().map(|b| char::from(*b)).collect()
}

/// The same without zeros at its end.
pub(super) fn trimmed(digits: &str) -> String {
    if digits.chars().all(|c| c != DECIMAL_SIGN) {
        return digits.to_owned();
    }
    digits.trim_end_matches('0').trim_end_matches(DECIMAL_SIGN).to_owned()
}
