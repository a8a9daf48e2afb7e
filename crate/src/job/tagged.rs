//! Intents as JSON carry their kind among their fields: `{"kind": "move-point", "mark": 1, …}`.
//!
//! The derived code knows them as `{"move-point": {"mark": 1, …}}`, through one intermediate value: derived for every
//! reader and writer, the flat form made a third of the program that a tablet has to fetch.

use super::intent::{About, Intent};
use crate::WHOLE;
use crate::json::{self, Error, Holds, Json};
use crate::order::Table;
use serde::de::{self, DeserializeSeed, EnumAccess, IntoDeserializer, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer, ser};

/// The field that names the kind.
const KIND: &str = "kind";

/// An intent as the derived code writes it.
struct Nested<'a>(&'a Intent);

impl Serialize for Nested<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Intent::serialize(self.0, to)
    }
}

impl Serialize for Intent {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if let Some(traced) = Traced::of(self).filter(|_| WHOLE) {
            return traced.serialize(to);
        }
        // By way of text: a writer of its own into values would be compiled for all that an intent holds.
        let nested = json::write(&Nested(self)).and_then(|text| json::read(&text));
        flat(nested.map_err(ser::Error::custom)?).serialize(to)
    }
}

/// The two that stand in lists by the thousand, written straight as [`flat`] has them: fields by name.
#[derive(Serialize)]
struct Traced {
    #[serde(skip_serializing_if = "Option::is_none")]
    about: Option<About>,
    kind: &'static str,
    mark: Option<u32>,
}

impl Traced {
    fn of(intent: &Intent) -> Option<Traced> {
        match *intent {
            Intent::AskPart { mark, about } => {
                Some(Traced { about: Some(about), kind: "ask-part", mark: Some(mark) })
            }
            Intent::Select { mark } => Some(Traced { about: None, kind: "select", mark }),
            _ => None,
        }
    }
}

fn flat(nested: Json) -> Json {
    let (kind, mut fields) = match nested {
        Json::Fields(one) => match one.into_entries().pop() {
            Some((kind, Json::Fields(fields))) => (kind, fields),
            _ => Default::default(),
        },
        Json::Text(kind) => (kind, Table::default()),
        _ => Default::default(),
    };
    fields.insert(KIND.to_owned(), Json::Text(kind));
    Json::Fields(fields)
}

impl<'de> Deserialize<'de> for Intent {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        match Json::deserialize(from)? {
            Json::Fields(fields) => read(fields).map_err(de::Error::custom),
            _ => Err(de::Error::custom("invalid type, expected an intent")),
        }
    }
}

/// One intent from its fields, the kind among them.
pub(super) fn read(mut fields: Table<String, Json>) -> Result<Intent, Error> {
    match fields.take(KIND) {
        Some(Json::Text(kind)) => Intent::deserialize(Tagged { kind, fields }),
        _ => Err(de::Error::missing_field(KIND)),
    }
}

/// An intent as the derived code reads it.
struct Tagged {
    kind: String,
    fields: Table<String, Json>,
}

impl<'de> Deserializer<'de> for Tagged {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_enum(self)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map struct enum identifier ignored_any
    }
}

impl<'de> EnumAccess<'de> for Tagged {
    type Error = Error;
    type Variant = Holds;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Holds), Error> {
        let kind = seed.deserialize(self.kind.into_deserializer())?;
        Ok((kind, Holds(Some(Json::Fields(self.fields)))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    // Expected: what the derived, internally tagged form of the enum reads and writes (`#[serde(tag = "kind")]`, serde's
    // own documentation).
    fn check(json: &str, expected: Result<&str, &str>) {
        let got = serde_json::from_str::<Intent>(json).map(|i| serde_json::to_string(&i).unwrap());
        match (got, expected) {
            (Ok(got), Ok(expected)) => {
                let [got, expected] = [got.as_str(), expected].map(|t| t.parse::<Value>().unwrap());
                assert_eq!(got, expected, "{json}");
            }
            (Err(got), Err(part)) => assert!(got.to_string().contains(part), "{json}: {got}"),
            (got, _) => panic!("{json}: {got:?}"),
        }
    }

    #[test]
    fn reads_and_writes() {
        let whole = r#"{"kind":"nudge","by":[0.1,-2.0],"zoom":1.0}"#;
        check(whole, Ok(whole));
        check(r#"{"zoom":1,"by":[0.1,-2],"kind":"nudge"}"#, Ok(whole));
        check(r#"{"kind":"undo"}"#, Ok(r#"{"kind":"undo"}"#));
        check(r#"{"mark":3,"kind":"select"}"#, Ok(r#"{"kind":"select","mark":3}"#));
        check(r#"{"kind":"select","mark":null}"#, Ok(r#"{"kind":"select","mark":null}"#));
        check(
            r#"{"kind":"ask-part","mark":3,"about":"part-stock"}"#,
            Ok(r#"{"about":"part-stock","kind":"ask-part","mark":3}"#),
        );
        check(
            r#"{"kind":"set-known","mark":3,"length":{"mm":0.30000000000000004}}"#,
            Ok(
                r#"{"kind":"set-known","mark":3,"length":{"mm":0.30000000000000004},"how":"printed","pm":null,"pulls":true}"#,
            ),
        );
    }

    #[test]
    fn refuses() {
        for (json, part) in [
            (r#"{"mark":3}"#, "missing field `kind`"),
            (r#"{"kind":3}"#, "missing field `kind`"),
            (r#"{"kind":"explode"}"#, "unknown variant `explode`"),
            (r#"{"kind":"undo","mark":3}"#, "unknown field `mark`"),
            (r#"{"kind":"delete-mark","mark":3,"by":1}"#, "unknown field `by`"),
            (r#"{"kind":"delete-mark"}"#, "missing field `mark`"),
            (r#"{"kind":"delete-mark","mark":-1}"#, "invalid value"),
            (r#"{"kind":"delete-mark","mark":1,"mark":"2"}"#, "invalid type"),
            (r#"["delete-mark",1]"#, "invalid type"),
        ] {
            check(json, Err(part));
        }
    }
}
