//! Puts what the core says into words and into the person's own units.

use super::document::Units;
use crate::order::Table;
use crate::quantity::{Figure, write_length, write_number, write_plus_minus};
use crate::words::{self, Arg, Say};
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use std::fmt;

/// The words file: each sentence by name, with `{slots}`.
#[derive(Clone, Debug, Default)]
pub struct Words {
    sentences: Table<String, String>,
}

impl Words {
    /// From the words file's text: one JSON object of strings.
    ///
    /// # Errors
    /// When it isn't that.
    pub fn read(json: &str) -> Result<Words, Say> {
        crate::json::read(json)
            .map(|Sentences(sentences)| Words { sentences })
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

    /// A sentence with everything filled in: [`words::tell`].
    pub fn tell(&self, say: &Say, units: &Units) -> String {
        words::tell(say, |key| self.sentences.get(key).map(String::as_str), |arg| self.arg(arg, units))
    }

    fn arg(&self, arg: &Arg, units: &Units) -> String {
        match arg {
            Arg::Text(t) => t.clone(),
            Arg::Count(n) => n.to_string(),
            Arg::Length(mm) => length(*mm, units).text,
            Arg::PlusMinus(mm) => write_plus_minus(*mm, units.style).text,
            Arg::Number(v, decimals) => write_number(*v, *decimals).text,
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
