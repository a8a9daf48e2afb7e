//! Reading lengths as people write them.
//!
//! What is taken: `23 5/16`, `23-5/16`, `½`, `1½`, `14.5`, `36,8 cm`, `5' 3-1/2"`, `5 ft 3 in`; each amount
//! with or without its unit. What could mean two things is refused rather than guessed:
//!
//! - `1,200`: a comma is a decimal comma, but with exactly three digits behind it and no leading 0 it may
//!   be thousands;
//! - `235/16`: a fraction of one or more is most likely `23 5/16` without its space;
//! - `23 - 5/16`: spaced out, the dash may be a minus;
//! - `5/16` while bare numbers are millimetres: a fraction is most likely inches;
//! - `5 3`: two numbers side by side.

use super::number::read_digits;
use super::scan::{BadNumber, Digits, Kind, Piece, scan};
use super::units::{INCHES_PER_FOOT, MM_PER_CM, MM_PER_FOOT, MM_PER_INCH, MM_PER_M, Style};
use crate::fault::{Area, spoil};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// The longest text that is read, in characters.
pub const LONGEST_TEXT: usize = 64;
/// The shortest length that is taken, in mm.
pub const SHORTEST_MM: f64 = 0.01;
/// The longest length that is taken, in mm: 100 m.
pub const LONGEST_MM: f64 = 100_000.0;

/// Why a text can't be read, and where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReadError {
    /// What is wrong, in words.
    pub say: Say,
    /// The first offending character, counted in characters (not bytes) from 0.
    pub at: usize,
    /// How many characters offend; 0 where something is missing.
    pub len: usize,
}

impl ReadError {
    pub(super) fn new(key: &'static str, at: usize, len: usize) -> ReadError {
        ReadError { say: Say::new(key), at, len }
    }
    fn what(mut self, text: &str) -> ReadError {
        let what: String = text.chars().skip(self.at).take(self.len).collect();
        self.say = self.say.text("what", what);
        self
    }
}

/// The length written in `text`, in mm. Bare numbers are in the unit of `style`.
///
/// # Errors
/// What can't be read, or is negative, zero, under [`SHORTEST_MM`] or over [`LONGEST_MM`], with its place.
pub fn read_length(text: &str, style: Style) -> Result<f64, ReadError> {
    let mut reader = Reader::new(text)?;
    reader.refuse_sign()?;
    let first = reader.amount()?;
    let unit = reader.unit()?;
    let mm = match unit {
        Some(Unit::Foot) if reader.more() => reader.inches_after(&first)?,
        Some(unit) => first.value * unit.mm(),
        None if style.is_metric() && first.fraction => {
            return Err(ReadError::new("read.fraction-needs-unit", first.at, first.len));
        }
        None => first.value * style.unit_mm(),
    };
    reader.refuse_rest()?;
    in_range(mm, reader.span())
}

pub(super) fn in_range(mm: f64, (at, len): (usize, usize)) -> Result<f64, ReadError> {
    let refuse = |key: &'static str, limit: Option<f64>| {
        let error = ReadError::new(key, at, len);
        Err(match limit {
            Some(limit) => ReadError { say: error.say.length("limit", limit), ..error },
            None => error,
        })
    };
    if mm == 0.0 {
        refuse("read.zero", None)
    } else if mm < SHORTEST_MM * (1.0 - 1e-12) {
        refuse("read.too-short", Some(SHORTEST_MM))
    } else if mm <= LONGEST_MM * (1.0 + 1e-12) {
        Ok(mm * spoil(Area::Fraction, 1.000_001))
    } else {
        refuse("read.too-long", Some(LONGEST_MM))
    }
}

/// A unit of length.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Unit {
    Inch,
    Foot,
    Mm,
    Cm,
    M,
}

impl Unit {
    pub fn mm(self) -> f64 {
        match self {
            Unit::Inch => MM_PER_INCH,
            Unit::Foot => MM_PER_FOOT,
            Unit::Mm => 1.0,
            Unit::Cm => MM_PER_CM,
            Unit::M => MM_PER_M,
        }
    }

    fn named(word: &str) -> Option<Unit> {
        Some(match word {
            "in" | "inch" | "inches" => Unit::Inch,
            "ft" | "foot" | "feet" => Unit::Foot,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Unit::Mm,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Unit::Cm,
            "m" | "metre" | "metres" | "meter" | "meters" => Unit::M,
            _ => return None,
        })
    }
}

/// How much, in which unit where one is written, and its place: from, and how long.
type InUnit = (f64, Option<Unit>, (usize, usize));

/// A number with its place.
pub(super) struct Amount {
    pub value: f64,
    /// Written with a fraction.
    fraction: bool,
    /// Written with a decimal sign.
    decimal: bool,
    pub at: usize,
    pub len: usize,
}

/// Goes through the pieces of a text.
pub(super) struct Reader<'a> {
    text: &'a str,
    pieces: Vec<Piece>,
    next: usize,
}

impl<'a> Reader<'a> {
    /// Cuts the text up and drops the spaces around it.
    pub fn new(text: &'a str) -> Result<Reader<'a>, ReadError> {
        let chars = text.chars().count();
        if chars > LONGEST_TEXT {
            let error = ReadError::new("read.too-much-text", LONGEST_TEXT, chars - LONGEST_TEXT);
            return Err(ReadError { say: error.say.count("limit", LONGEST_TEXT), ..error });
        }
        let mut pieces = scan(text).map_err(|bad| match bad {
            BadNumber::SecondSign { at } => ReadError::new("read.two-decimal-signs", at, 1).what(text),
            BadNumber::BareSign { at } => ReadError::new("read.unfinished", at, 1).what(text),
            BadNumber::Thousands { at, len } => ReadError::new("read.thousands", at, len).what(text),
        })?;
        while pieces.last().is_some_and(|p| p.kind == Kind::Space) {
            pieces.pop();
        }
        let next = usize::from(pieces.first().is_some_and(|p| p.kind == Kind::Space));
        if pieces.len() <= next {
            return Err(ReadError::new("read.empty", 0, 0));
        }
        Ok(Reader { text, pieces, next })
    }

    pub fn kind(&self, ahead: usize) -> Option<&Kind> {
        self.pieces.get(self.next + ahead).map(|p| &p.kind)
    }

    /// Takes the next piece.
    pub fn take(&mut self) -> Option<Piece> {
        let piece = self.pieces.get(self.next).cloned();
        self.next += usize::from(piece.is_some());
        piece
    }

    /// Puts the piece taken last back.
    pub fn back(&mut self) {
        self.next = self.next.saturating_sub(1);
    }

    /// Takes the next piece if it is `kind`.
    pub fn skip(&mut self, kind: &Kind) -> bool {
        let is = self.kind(0) == Some(kind);
        self.next += usize::from(is);
        is
    }

    pub fn skip_space(&mut self) {
        self.skip(&Kind::Space);
    }

    pub fn more(&self) -> bool {
        self.next < self.pieces.len()
    }

    /// From the first character to the last, spaces around left out.
    pub fn span(&self) -> (usize, usize) {
        let first = self.pieces.iter().find(|p| p.kind != Kind::Space).map_or(0, |p| p.at);
        (first, self.pieces.last().map_or(0, |p| p.at + p.len).saturating_sub(first))
    }

    /// The error of what stands at `next`; where nothing does, what stands before it is unfinished.
    pub fn wrong(&self) -> ReadError {
        let Some(piece) = self.pieces.get(self.next) else {
            let last = self.pieces.iter().rev().find(|p| p.kind != Kind::Space);
            let (at, len) = last.map_or((0, 0), |p| (p.at, p.len));
            return ReadError::new("read.unfinished", at, len).what(self.text);
        };
        let key = match piece.kind {
            Kind::Word(_) => "read.not-a-figure",
            Kind::Number { .. } | Kind::Vulgar(..) | Kind::OneOver => "read.two-numbers",
            _ => "read.unexpected",
        };
        ReadError::new(key, piece.at, piece.len).what(self.text)
    }

    /// The same place with other words.
    fn wrong_as(&self, key: &'static str) -> ReadError {
        let ReadError { at, len, .. } = self.wrong();
        ReadError::new(key, at, len).what(self.text)
    }

    /// Nothing may be left.
    pub fn refuse_rest(&mut self) -> Result<(), ReadError> {
        self.skip_space();
        if self.more() { Err(self.wrong()) } else { Ok(()) }
    }

    /// A dash in front is a minus.
    pub fn refuse_sign(&mut self) -> Result<(), ReadError> {
        if self.kind(0) != Some(&Kind::Dash) {
            return Ok(());
        }
        let ahead = if self.kind(1) == Some(&Kind::Space) { 2 } else { 1 };
        if matches!(self.kind(ahead), Some(Kind::Number { .. } | Kind::Vulgar(..) | Kind::OneOver)) {
            let at = self.pieces.get(self.next).map_or(0, |p| p.at);
            return Err(ReadError::new("read.negative", at, 1));
        }
        Err(self.wrong())
    }

    /// Whether a unit stands next.
    pub fn at_unit(&self) -> bool {
        match self.kind(usize::from(self.kind(0) == Some(&Kind::Space))) {
            Some(Kind::Word(word)) => Unit::named(word).is_some(),
            other => matches!(other, Some(Kind::FootMark | Kind::InchMark)),
        }
    }

    pub fn unit(&mut self) -> Result<Option<Unit>, ReadError> {
        let before = self.next;
        self.skip_space();
        let unit = match self.kind(0) {
            Some(Kind::FootMark) => Unit::Foot,
            Some(Kind::InchMark) => Unit::Inch,
            Some(Kind::Word(word)) => match Unit::named(word) {
                Some(unit) => unit,
                None => return Err(self.wrong_as("read.unit-unknown")),
            },
            _ => {
                self.next = before;
                return Ok(None);
            }
        };
        self.next += 1;
        Ok(Some(unit))
    }

    /// An amount of a caption. A word that is no unit stays.
    pub fn amount_in_unit(&mut self) -> Result<InUnit, ReadError> {
        let first = self.amount()?;
        let place = (first.at, first.len);
        if !self.at_unit() {
            return Ok((first.value, None, place));
        }
        let unit = self.unit()?;
        let gap = usize::from(self.kind(0) == Some(&Kind::Space));
        let more = matches!(self.kind(gap), Some(Kind::Number { .. } | Kind::Vulgar(..) | Kind::OneOver));
        if unit == Some(Unit::Foot) && more {
            self.skip_space();
            let inches = self.amount()?;
            let gap = usize::from(self.kind(0) == Some(&Kind::Space));
            let inch = match self.kind(gap) {
                Some(Kind::Word(word)) => Unit::named(word) == Some(Unit::Inch),
                other => other == Some(&Kind::InchMark),
            };
            self.next += if inch { gap + 1 } else { 0 };
            return Ok((first.value * INCHES_PER_FOOT + inches.value, Some(Unit::Inch), place));
        }
        Ok(match unit {
            // Feet and inches are of one kind.
            Some(Unit::Foot) => (first.value * INCHES_PER_FOOT, Some(Unit::Inch), place),
            unit => (first.value, unit, place),
        })
    }

    /// The inches behind whole feet; both in mm.
    fn inches_after(&mut self, feet: &Amount) -> Result<f64, ReadError> {
        self.skip_space();
        // On drawings: 5' - 3".
        if self.skip(&Kind::Dash) {
            self.skip_space();
        }
        let inches = self.amount()?;
        if feet.fraction || feet.decimal {
            return Err(ReadError::new("read.whole-feet", feet.at, feet.len).what(self.text));
        }
        let before = self.next;
        match self.unit()? {
            None | Some(Unit::Inch) => Ok((feet.value * INCHES_PER_FOOT + inches.value) * MM_PER_INCH),
            Some(_) => {
                self.next = before;
                self.skip_space();
                Err(self.wrong_as("read.inches-after-feet"))
            }
        }
    }

    /// A number: whole, with decimals, a fraction, or whole and fraction.
    pub fn amount(&mut self) -> Result<Amount, ReadError> {
        if self.at_fraction(0) {
            return self.fraction();
        }
        let amount = self.plain_number()?;
        self.with_fraction(amount)
    }

    /// A number in plain digits, with or without decimals.
    pub fn plain_number(&mut self) -> Result<Amount, ReadError> {
        let (value, decimal) = match self.kind(0) {
            Some(Kind::Number { text, digits: Digits::Plain, decimal }) => (read_digits(text), *decimal),
            Some(Kind::Number { .. }) => return Err(self.wrong_as("read.unexpected")),
            _ => return Err(self.wrong()),
        };
        match (self.take(), value) {
            (Some(piece), Some(value)) => {
                Ok(Amount { value, fraction: false, decimal, at: piece.at, len: piece.len })
            }
            _ => Err(self.wrong()),
        }
    }

    /// `whole` with the fraction behind it, if one stands there.
    fn with_fraction(&mut self, whole: Amount) -> Result<Amount, ReadError> {
        let before = usize::from(self.kind(0) == Some(&Kind::Space));
        let dash = usize::from(self.kind(before) == Some(&Kind::Dash));
        let after = usize::from(dash == 1 && self.kind(before + 1) == Some(&Kind::Space));
        let joint = before + dash + after;
        if !self.at_fraction(joint) {
            return Ok(whole);
        }
        if dash == 1 && before + after > 0 {
            let at = self.pieces.get(self.next + before).map_or(0, |p| p.at);
            return Err(ReadError::new("read.spaced-dash", at, 1));
        }
        self.next += joint;
        let part = self.fraction()?;
        if whole.decimal {
            return Err(ReadError::new("read.fraction-after-decimals", part.at, part.len).what(self.text));
        }
        let len = part.at + part.len - whole.at;
        Ok(Amount { value: whole.value + part.value, fraction: true, decimal: false, at: whole.at, len })
    }

    /// Whether a fraction begins so many pieces ahead.
    fn at_fraction(&self, ahead: usize) -> bool {
        match self.kind(ahead) {
            Some(Kind::Vulgar(..) | Kind::OneOver) => true,
            Some(Kind::Number { .. }) => {
                let gap = usize::from(self.kind(ahead + 1) == Some(&Kind::Space));
                self.kind(ahead + 1 + gap) == Some(&Kind::Slash)
            }
            _ => false,
        }
    }

    fn fraction(&mut self) -> Result<Amount, ReadError> {
        let Some(first) = self.take() else { return Err(self.wrong()) };
        let top = match first.kind {
            Kind::Vulgar(num, den) => {
                let value = f64::from(num) / f64::from(den);
                return Ok(Amount { value, fraction: true, decimal: false, at: first.at, len: first.len });
            }
            Kind::OneOver => 1.0,
            Kind::Number { .. } => self.whole_figure(&first, Digits::Super)?,
            _ => return Err(ReadError::new("read.unexpected", first.at, first.len).what(self.text)),
        };
        self.skip_space();
        self.skip(&Kind::Slash);
        self.skip_space();
        if !matches!(self.kind(0), Some(Kind::Number { .. })) {
            return Err(self.wrong());
        }
        let Some(second) = self.take() else { return Err(self.wrong()) };
        let below = self.whole_figure(&second, Digits::Sub)?;
        if below == 0.0 {
            return Err(ReadError::new("read.zero-below", second.at, second.len));
        }
        let len = second.at + second.len - first.at;
        if top >= below {
            return Err(ReadError::new("read.fraction-of-one-or-more", first.at, len).what(self.text));
        }
        Ok(Amount { value: top / below, fraction: true, decimal: false, at: first.at, len })
    }

    /// A figure of a fraction: whole, in plain digits or in those of its place.
    fn whole_figure(&self, piece: &Piece, own: Digits) -> Result<f64, ReadError> {
        let error = |key| ReadError::new(key, piece.at, piece.len).what(self.text);
        match &piece.kind {
            Kind::Number { decimal: true, .. } => Err(error("read.decimals-in-fraction")),
            Kind::Number { text, digits, .. } if *digits == Digits::Plain || *digits == own => {
                read_digits(text).ok_or_else(|| error("read.unexpected"))
            }
            _ => Err(error("read.unexpected")),
        }
    }
}
