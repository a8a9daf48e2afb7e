//! Puts what the core says into words and into the person's own units.

use super::document::Units;
use super::intent::Intent;
use crate::order::Table;
use crate::quantity::{
    DECIMAL_SIGN, Direction, Figure, Step, Style, write_length, write_number, write_plus_minus,
};
use crate::words::{self, Arg, Say};
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use std::fmt;

/// The words file: each sentence by name, with `{slots}`.
#[derive(Clone, Debug, Default)]
pub struct Words {
    sentences: Table<String, String>,
    /// What stands before decimals in this language, where that isn't [`DECIMAL_SIGN`].
    sign: Option<char>,
}

impl Words {
    /// From the words file's text: one JSON object of strings.
    ///
    /// # Errors
    /// When it isn't that.
    pub fn read(json: &str) -> Result<Words, Say> {
        crate::json::read(json)
            .map(|Sentences(sentences)| {
                let sign = sentences.get("number.decimal").and_then(|text| text.chars().next());
                Words { sign: sign.filter(|sign| *sign != DECIMAL_SIGN), sentences }
            })
            .map_err(|e| Say::new("words.unreadable").text("why", e.to_string()))
    }

    /// Whether there is a sentence of that name.
    pub fn has(&self, key: &str) -> bool {
        self.sentences.has(key)
    }

    /// Every sentence whose name begins so, by name, with its slots as they are.
    pub fn beginning(&self, name: &str) -> Vec<(String, String)> {
        let these = self.sentences.iter().filter(|(key, _)| key.starts_with(name));
        these.map(|(key, sentence)| (key.clone(), sentence.clone())).collect()
    }

    /// A fixed word or sentence, nothing to fill in. One that is missing shows its name, so that it is noticed.
    pub fn fixed(&self, key: &str) -> String {
        self.sentences.get(key).cloned().unwrap_or_else(|| key.to_owned())
    }

    /// A figure with this language's decimal sign.
    pub fn set(&self, figure: Figure) -> Figure {
        match self.sign {
            Some(sign) => figure.with_decimal_sign(sign),
            None => figure,
        }
    }

    /// What a person typed as it is read, and so kept, in every language: where another sign stands before decimals, it
    /// and the point change places. The same once more is what they typed.
    pub fn plain(&self, typed: &str) -> String {
        let Some(sign) = self.sign else { return typed.to_owned() };
        let other = |c: char| match c {
            DECIMAL_SIGN => sign,
            c if c == sign => DECIMAL_SIGN,
            c => c,
        };
        typed.chars().map(other).collect()
    }

    /// The units that a new job begins with, as a fact, where they are others than `Units::default`.
    pub fn first_units(&self) -> Option<Intent> {
        let metric = self.sentences.get("units.start").is_some_and(|units| units == "millimetres");
        // Whole millimetres, as furniture is measured there: common practice, no source.
        let (style, step, direction) = (Style::Millimetres, Step::OneMm, Direction::Nearest);
        metric.then_some(Intent::SetUnits { style, step, direction })
    }

    /// A sentence with everything filled in: [`words::tell`].
    pub fn tell(&self, say: &Say, units: &Units) -> String {
        words::tell(say, |key| self.sentences.get(key).map(String::as_str), |arg| self.arg(arg, units))
    }

    fn arg(&self, arg: &Arg, units: &Units) -> String {
        match arg {
            Arg::Text(t) => t.clone(),
            Arg::Count(n) => n.to_string(),
            Arg::Length(mm) => self.set(length(*mm, units)).text,
            Arg::PlusMinus(mm) => self.set(write_plus_minus(*mm, units.style)).text,
            Arg::Number(v, decimals) => self.set(write_number(*v, *decimals)).text,
            Arg::Say(s) => self.tell(s, units),
        }
    }
}

/// The words file as it is read.
struct Sentences(Table<String, String>);

impl<'de> Deserialize<'de> for Sentences {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Sentences;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object of strings")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Sentences, A::Error> {
                let mut table = Table::default();
                while let Some((key, sentence)) = map.next_entry::<String, String>()? {
                    table.insert(key, sentence);
                }
                Ok(Sentences(table))
            }
        }
        from.deserialize_map(Reader)
    }
}

/// A length rounded and set as the person wants it.
pub fn length(mm: f64, units: &Units) -> Figure {
    write_length(mm, units.style, units.step, units.direction)
}
