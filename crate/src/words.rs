//! What the core says to a person, before it is put into their language and their units.
//!
//! No room writes a sentence: it names one ([`Say::key`]) and hands over what goes into it. The sentences
//! stand in one file, `www/words/en.json`; [`crate::job`] fills them in, with lengths in the person's own
//! unit and rounding.

use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// A sentence by name, with what goes into it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Say {
    /// The sentence's name in the words file, such as `read.not-a-length`.
    pub key: Cow<'static, str>,
    /// What goes in, by the name it has in the sentence.
    pub args: Vec<(Cow<'static, str>, Arg)>,
}

/// One thing that goes into a sentence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Arg {
    /// Words or figures as they are: always treated as text, never as markup.
    Text(String),
    /// A whole number of things.
    Count(u64),
    /// A real or finished length in mm, shown in the person's unit and rounding.
    Length(f64),
    /// A half-width in mm, shown in the person's unit, rounded up to something sensible.
    PlusMinus(f64),
    /// A bare number with as many decimals as given.
    Number(f64, u8),
    /// Another sentence.
    Say(Box<Say>),
}

impl Say {
    /// The sentence named `key`, with nothing in it yet.
    pub fn new(key: impl Into<Cow<'static, str>>) -> Say {
        Say { key: key.into(), args: Vec::new() }
    }

    /// The same with `value` at `name`.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: Arg) -> Say {
        self.args.push((Cow::Borrowed(name), value));
        self
    }

    /// The same with a text at `name`.
    #[must_use]
    pub fn text(self, name: &'static str, value: impl Into<String>) -> Say {
        self.with(name, Arg::Text(value.into()))
    }

    /// The same with a count at `name`.
    #[must_use]
    pub fn count(self, name: &'static str, value: usize) -> Say {
        self.with(name, Arg::Count(value as u64))
    }

    /// The same with a length in mm at `name`.
    #[must_use]
    pub fn length(self, name: &'static str, mm: f64) -> Say {
        self.with(name, Arg::Length(mm))
    }
}

impl std::fmt::Display for Say {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.key)
    }
}

impl std::error::Error for Say {}

/// `say` in full: its sentence, as `find` has it by name, with what `arg` writes of each thing that goes in. Where what it calls
/// `count` is 1 and there is a sentence of the same name ending in `.one`, that one is used; the number of a mark or a view
/// counts nothing. A sentence that is missing shows its name, so that it is noticed.
pub fn tell<'a>(
    say: &'a Say,
    find: impl Fn(&str) -> Option<&'a str>,
    arg: impl Fn(&Arg, &mut String),
) -> String {
    let single = say.args.iter().any(|(name, a)| name == "count" && *a == Arg::Count(1));
    let one = if single { find(&format!("{}.one", say.key)) } else { None };
    fill(one.or_else(|| find(&say.key)).unwrap_or(&say.key), |slot, out| {
        let there = say.args.iter().find(|(name, _)| name == slot);
        if let Some((_, a)) = there {
            arg(a, out);
        }
        there.is_some()
    })
}

/// `sentence` with what `value` writes for each of its `{slots}`, in one pass: what is filled in is never taken for a slot itself. A slot
/// that it writes nothing for, and says so, stays as it is written.
fn fill(sentence: &str, value: impl Fn(&str, &mut String) -> bool) -> String {
    let mut out = String::with_capacity(sentence.len() + 32);
    let mut rest = sentence;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        rest = match after.split_once('}') {
            Some((name, beyond)) if value(name, &mut out) => beyond,
            _ => {
                out.push('{');
                after
            }
        };
    }
    out.push_str(rest);
    out
}
