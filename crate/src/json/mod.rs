//! Reading JSON, and writing it in one way.
//!
//! The reader is written here for its weight: the usual one is compiled anew for every shape that it reads, checks lists
//! where only fields by name are ever sent, and brings tables of powers, which don't pack. It was a twelfth of the program
//! that a tablet fetches. Everything is written through [`write()`] for the same reason.
//!
//! # References
//! RFC 8259 (the grammar).

mod give;
mod number;
mod read;
mod write;

pub(crate) use give::Holds;
pub use number::nearest;
pub use read::Error;
pub use write::write;

use crate::order::Table;
use serde::de::Deserialize;
use serde::{Serialize, Serializer};

/// Anything that JSON can say. Of two fields of one name the later counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Json {
    /// `null`.
    #[default]
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A number written without a point or exponent, where it fits.
    Whole(i64),
    /// Any other number.
    Real(f64),
    /// A string.
    Text(String),
    /// A list.
    List(Vec<Json>),
    /// An object, its fields by name.
    Fields(Table<String, Json>),
}

/// What stands in `text`.
///
/// # Errors
/// What is wrong with it, for whoever wrote it.
pub fn read<'de, T: Deserialize<'de>>(text: &str) -> Result<T, Error> {
    T::deserialize(read::parse(text)?)
}

/// The same for people: a line for each entry, two spaces deeper within each. `compact` is what [`write()`] gave.
pub fn spread(compact: &str) -> String {
    let mut out = String::with_capacity(2 * compact.len());
    let (mut depth, mut quoted, mut escaped, mut fresh) = (0_usize, false, false, false);
    let line = |out: &mut String, depth: usize| {
        out.push('\n');
        (0..depth).for_each(|_| out.push_str("  "));
    };
    for c in compact.chars() {
        if quoted {
            quoted = c != '"' || escaped;
            escaped = c == '\\' && !escaped;
            out.push(c);
            continue;
        }
        let closes = matches!(c, ']' | '}');
        if closes {
            depth = depth.saturating_sub(1);
        }
        // An empty list or object stays on its line.
        if fresh != closes {
            line(&mut out, depth);
        }
        fresh = matches!(c, '[' | '{');
        quoted = c == '"';
        out.push(c);
        match c {
            '[' | '{' => depth += 1,
            ',' => line(&mut out, depth),
            ':' => out.push(' '),
            _ => {}
        }
    }
    out
}

impl Serialize for Json {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Json::Null => to.serialize_unit(),
            Json::Bool(b) => to.serialize_bool(*b),
            Json::Whole(n) => to.serialize_i64(*n),
            Json::Real(x) => to.serialize_f64(*x),
            Json::Text(t) => to.serialize_str(t),
            Json::List(all) => to.collect_seq(all),
            Json::Fields(fields) => to.collect_map(fields.iter()),
        }
    }
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(give::Anything)
    }
}

#[cfg(test)]
mod tests;
