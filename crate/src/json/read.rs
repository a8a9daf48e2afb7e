//! From text to [`Json`].

use super::{Json, nearest};
use crate::order::Table;
use serde::de::{self, Expected, Unexpected};
use std::fmt;

/// Lists within lists deeper than this are refused.
const DEEPEST: u32 = 128;

/// More values than this are refused: a job of a hundred thousand touches has fewer, and each takes memory that its text,
/// a digit perhaps, says nothing of.
const MOST: u32 = 8_000_000;

/// What is wrong, for whoever wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    told: String,
    /// Of a shape that is read in order: which of its fields isn't there.
    short: Option<usize>,
}

impl Error {
    pub(super) fn new(told: String) -> Error {
        Error { told, short: None }
    }

    /// The same, told by the name of the field that isn't there.
    pub(super) fn missing(self, names: &'static [&'static str]) -> Error {
        match self.short.and_then(|i| names.get(i)) {
            Some(name) => de::Error::missing_field(name),
            None => self,
        }
    }
}

/// A list has more or fewer entries than what it is to be.
pub(super) fn wrong_length(expected: &dyn Expected) -> Error {
    joined(&["invalid length, expected ", &expected.to_string()])
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told)
    }
}

impl std::error::Error for Error {}

fn joined(parts: &[&str]) -> Error {
    Error::new(parts.concat())
}

// What was found is not told: only what was expected. The numbers in it would bring another way of writing them.
impl de::Error for Error {
    fn custom<T: fmt::Display>(told: T) -> Error {
        Error::new(told.to_string())
    }
    fn invalid_type(_: Unexpected, expected: &dyn Expected) -> Error {
        joined(&["invalid type, expected ", &expected.to_string()])
    }
    fn invalid_value(_: Unexpected, expected: &dyn Expected) -> Error {
        joined(&["invalid value, expected ", &expected.to_string()])
    }
    fn invalid_length(at: usize, expected: &dyn Expected) -> Error {
        Error { short: Some(at), ..wrong_length(expected) }
    }
    fn unknown_variant(variant: &str, _: &'static [&'static str]) -> Error {
        joined(&["unknown variant `", variant, "`"])
    }
    fn unknown_field(field: &str, _: &'static [&'static str]) -> Error {
        joined(&["unknown field `", field, "`"])
    }
    fn missing_field(field: &'static str) -> Error {
        joined(&["missing field `", field, "`"])
    }
    fn duplicate_field(field: &'static str) -> Error {
        joined(&["duplicate field `", field, "`"])
    }
}

/// All of `text`.
pub(super) fn parse(text: &str) -> Result<Json, Error> {
    let mut reader = Reader { text, at: 0, left: MOST };
    let value = reader.value(DEEPEST)?;
    match reader.peek() {
        None => Ok(value),
        Some(_) => Err(reader.wrong("nothing more")),
    }
}

struct Reader<'a> {
    text: &'a str,
    /// Where it is, in bytes; always at the start of a character.
    at: usize,
    /// How many more values are taken.
    left: u32,
}

impl<'a> Reader<'a> {
    fn wrong(&self, expected: &str) -> Error {
        joined(&["expected ", expected, " at place ", &self.at.to_string()])
    }

    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// What comes after any space.
    fn peek(&mut self) -> Option<u8> {
        while matches!(self.byte(), Some(b' ' | b'\n' | b'\r' | b'\t')) {
            self.at += 1;
        }
        self.byte()
    }

    /// Whether `byte` comes next; then it is passed.
    fn pass(&mut self, byte: u8) -> bool {
        let there = self.peek() == Some(byte);
        self.at += usize::from(there);
        there
    }

    fn value(&mut self, deep: u32) -> Result<Json, Error> {
        self.left = self.left.checked_sub(1).ok_or_else(|| self.wrong("less"))?;
        match self.peek() {
            Some(b'{') if deep > 0 => self.fields(deep - 1),
            Some(b'[') if deep > 0 => self.list(deep - 1),
            Some(b'"') => self.string().map(Json::Text),
            Some(b'-' | b'0'..=b'9') => self.number(),
            _ => self.word(),
        }
    }

    fn word(&mut self) -> Result<Json, Error> {
        let known = [("null", Json::Null), ("true", Json::Bool(true)), ("false", Json::Bool(false))];
        let rest = self.text.get(self.at..).unwrap_or_default();
        match known.into_iter().find(|(name, _)| rest.starts_with(name)) {
            Some((name, value)) => {
                self.at += name.len();
                Ok(value)
            }
            None => Err(self.wrong("a value")),
        }
    }

    fn list(&mut self, deep: u32) -> Result<Json, Error> {
        self.at += 1;
        let mut all = Vec::new();
        if self.pass(b']') {
            return Ok(Json::List(all));
        }
        loop {
            all.push(self.value(deep)?);
            if self.pass(b']') {
                return Ok(Json::List(all));
            }
            if !self.pass(b',') {
                return Err(self.wrong("`,` or `]`"));
            }
        }
    }

    fn fields(&mut self, deep: u32) -> Result<Json, Error> {
        self.at += 1;
        let mut all = Vec::new();
        if self.pass(b'}') {
            return Ok(Json::Fields(Table::default()));
        }
        loop {
            if self.peek() != Some(b'"') {
                return Err(self.wrong("a name"));
            }
            let name = self.string()?;
            if !self.pass(b':') {
                return Err(self.wrong("`:`"));
            }
            all.push((name, self.value(deep)?));
            if self.pass(b'}') {
                return Ok(Json::Fields(Table::gathered(all)));
            }
            if !self.pass(b',') {
                return Err(self.wrong("`,` or `}`"));
            }
        }
    }

    fn string(&mut self) -> Result<String, Error> {
        self.at += 1;
        let mut out = String::new();
        loop {
            let rest = self.text.get(self.at..).unwrap_or_default();
            let plain = rest.bytes().position(|b| b == b'"' || b == b'\\' || b < 0x20).unwrap_or(rest.len());
            out.push_str(rest.get(..plain).unwrap_or_default());
            self.at += plain;
            match self.byte() {
                Some(b'"') => {
                    self.at += 1;
                    return Ok(out);
                }
                Some(b'\\') => out.push(self.escape()?),
                _ => return Err(self.wrong("the end of a string")),
            }
        }
    }

    fn escape(&mut self) -> Result<char, Error> {
        self.at += 2;
        let short = self.at.checked_sub(1).and_then(|i| self.text.as_bytes().get(i));
        Ok(match short {
            Some(b @ (b'"' | b'\\' | b'/')) => char::from(*b),
            Some(b'b') => '\u{8}',
            Some(b'f') => '\u{c}',
            Some(b'n') => '\n',
            Some(b'r') => '\r',
            Some(b't') => '\t',
            Some(b'u') => return self.unit(),
            _ => {
                self.at -= 1;
                return Err(self.wrong("an escape"));
            }
        })
    }

    /// `XXXX` of `\uXXXX`, with the second half where it is a pair.
    fn unit(&mut self) -> Result<char, Error> {
        let first = self.hex()?;
        let code = if (0xd800..0xdc00).contains(&first) && self.byte() == Some(b'\\') {
            self.at += 1;
            if self.byte() != Some(b'u') {
                return Err(self.wrong("the other half of a pair"));
            }
            self.at += 1;
            let second = self.hex()?.wrapping_sub(0xdc00);
            if second >= 0x400 {
                return Err(self.wrong("the other half of a pair"));
            }
            0x10000 + (first - 0xd800) * 0x400 + second
        } else {
            first
        };
        char::from_u32(code).ok_or_else(|| self.wrong("the other half of a pair"))
    }

    fn hex(&mut self) -> Result<u32, Error> {
        let mut code = 0;
        for _ in 0..4 {
            let digit = self.byte().and_then(|b| char::from(b).to_digit(16));
            code = code * 16 + digit.ok_or_else(|| self.wrong("four hex digits"))?;
            self.at += 1;
        }
        Ok(code)
    }

    /// As many digits as there are.
    fn digits(&mut self) -> &'a str {
        let from = self.at;
        while matches!(self.byte(), Some(b'0'..=b'9')) {
            self.at += 1;
        }
        self.text.get(from..self.at).unwrap_or_default()
    }

    fn number(&mut self) -> Result<Json, Error> {
        let negative = self.pass(b'-');
        let from = self.at;
        let whole = self.digits();
        if whole.is_empty() || (whole.len() > 1 && whole.starts_with('0')) {
            self.at = from;
            return Err(self.wrong("a number"));
        }
        let mut part = "";
        if self.byte() == Some(b'.') {
            self.at += 1;
            part = self.digits();
            if part.is_empty() {
                return Err(self.wrong("a digit"));
            }
        }
        let power = self.power()?;
        if let (true, "", None, Ok(n)) = (!negative || whole != "0", part, power, whole.parse::<i64>()) {
            return Ok(Json::Whole(if negative { -n } else { n }));
        }
        let size = match part {
            "" => nearest(whole, power.unwrap_or(0)),
            _ => nearest(&[whole, part].concat(), power.unwrap_or(0).saturating_sub(part.len() as i64)),
        };
        if size.is_finite() {
            Ok(Json::Real(if negative { -size } else { size }))
        } else {
            Err(self.wrong("a smaller number"))
        }
    }

    fn power(&mut self) -> Result<Option<i64>, Error> {
        if !matches!(self.byte(), Some(b'e' | b'E')) {
            return Ok(None);
        }
        self.at += 1;
        let negative = self.byte() == Some(b'-');
        self.at += usize::from(negative || self.byte() == Some(b'+'));
        let digits = self.digits();
        if digits.is_empty() {
            return Err(self.wrong("a digit"));
        }
        // Ten million is more than any number can make good with digits.
        let size = digits.parse::<i64>().unwrap_or(i64::MAX).min(10_000_000_000);
        Ok(Some(if negative { -size } else { size }))
    }
}
