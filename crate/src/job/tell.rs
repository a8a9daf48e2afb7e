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

/// A number for a name, by which sentences are found: a look at the list compares numbers, not names that begin alike.
///
/// # References
/// Fowler, Noll and Vo's hash, variant 1a, 64 bits, its two constants from memory. Of a few thousand names two have the same number
/// once in a million million files; one of them would then be shown in place of its sentence, and a test would notice.
fn number(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |n, b| (n ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// The words file: each sentence by its name's number, with its name and `{slots}`.
#[derive(Clone, Debug, Default)]
pub struct Words {
    sentences: Table<u64, (String, String)>,
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
            .map(|Sentences(mut all)| {
                crate::order::sort_by_key(&mut all, |(n, _)| *n);
                let mut words = Words { sign: None, sentences: all.into_iter().collect() };
                let sign = words.find("number.decimal").and_then(|text| text.chars().next());
                words.sign = sign.filter(|sign| *sign != DECIMAL_SIGN);
                words
            })
            .map_err(|e| Say::new("words.unreadable").text("why", e.to_string()))
    }

    /// Whether there is a sentence of that name.
    pub fn has(&self, key: &str) -> bool {
        self.find(key).is_some()
    }

    /// The sentence of that name.
    fn find(&self, key: &str) -> Option<&str> {
        self.sentences
            .get(&number(key))
            .filter(|(name, _)| name == key)
            .map(|(_, sentence)| sentence.as_str())
    }

    /// Every sentence whose name begins so, by name, with its slots as they are.
    pub fn beginning(&self, name: &str) -> Vec<(String, String)> {
        let these = self.sentences.iter().map(|(_, one)| one).filter(|(key, _)| key.starts_with(name));
        let mut these: Vec<(String, String)> = these.cloned().collect();
        crate::order::sort_by(&mut these, |a, b| a.0.cmp(&b.0));
        these
    }

    /// A fixed word or sentence, nothing to fill in. One that is missing shows its name, so that it is noticed.
    pub fn fixed(&self, key: &str) -> String {
        self.find(key).unwrap_or(key).to_owned()
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
        let metric = self.find("units.start") == Some("millimetres");
        // Whole millimetres, as furniture is measured there: common practice, no source.
        let (style, step, direction) = (Style::Millimetres, Step::OneMm, Direction::Nearest);
        metric.then_some(Intent::SetUnits { style, step, direction })
    }

    /// A sentence with everything filled in: [`words::tell`].
    pub fn tell(&self, say: &Say, units: &Units) -> String {
        words::tell(say, |key| self.find(key), |arg, out| self.arg(arg, units, out))
    }

    fn arg(&self, arg: &Arg, units: &Units, out: &mut String) {
        let figure = match arg {
            Arg::Text(t) => return out.push_str(t),
            Arg::Count(n) => return out.push_str(&n.to_string()),
            Arg::Say(s) => return out.push_str(&self.tell(s, units)),
            Arg::Length(mm) => length(*mm, units),
            Arg::PlusMinus(mm) => write_plus_minus(*mm, units.style),
            Arg::Number(v, decimals) => write_number(*v, *decimals),
        };
        out.push_str(&self.set(figure).text);
    }
}

/// The words file as it is read.
struct Sentences(Vec<(u64, (String, String))>);

impl<'de> Deserialize<'de> for Sentences {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Sentences;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object of strings")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Sentences, A::Error> {
                let mut all = Vec::new();
                while let Some((key, sentence)) = map.next_entry::<String, String>()? {
                    all.push((number(&key), (key, sentence)));
                }
                Ok(Sentences(all))
            }
        }
        from.deserialize_map(Reader)
    }
}

/// A length rounded and set as the person wants it.
pub fn length(mm: f64, units: &Units) -> Figure {
    write_length(mm, units.style, units.step, units.direction)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From memory of the authors' own test vectors.
    #[test]
    fn numbers_names() {
        for (name, expected) in
            [("", 0xcbf2_9ce4_8422_2325_u64), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)]
        {
            assert_eq!(number(name), expected, "{name}");
        }
    }

    #[test]
    fn no_two_sentences_have_one_number() {
        for file in [include_str!("../../../www/words/en.json"), include_str!("../../../www/words/de.json")] {
            let all: std::collections::BTreeMap<String, String> = serde_json::from_str(file).unwrap();
            let words = Words::read(file).unwrap();
            assert_eq!(words.beginning(""), all.clone().into_iter().collect::<Vec<_>>());
            for (name, sentence) in all {
                assert_eq!(words.fixed(&name), sentence);
            }
        }
    }
}
