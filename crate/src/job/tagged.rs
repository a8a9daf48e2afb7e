//! Intents as JSON carry their kind among their fields: `{"kind": "move-point", "mark": 1, …}`.
//!
//! The derived code knows them as `{"move-point": {"mark": 1, …}}`, through one intermediate value: derived for every
//! reader and writer, the flat form made a third of the program that a tablet has to fetch.

use super::intent::Intent;
use serde::de::{
    self, DeserializeSeed, EnumAccess, IntoDeserializer, MapAccess, Unexpected, VariantAccess, Visitor,
};
use serde::{Deserialize, Deserializer, Serialize, Serializer, ser};
use serde_json::{Error, Map, Value};

/// The field that names the kind.
const KIND: &str = "kind";

impl Serialize for Intent {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let nested = Intent::serialize(self, serde_json::value::Serializer).map_err(ser::Error::custom)?;
        flat(nested).serialize(to)
    }
}

fn flat(nested: Value) -> Value {
    let mut out = Map::new();
    match nested {
        Value::String(kind) => {
            out.insert(KIND.to_owned(), Value::String(kind));
        }
        Value::Object(one) => {
            for (kind, fields) in one {
                out.insert(KIND.to_owned(), Value::String(kind));
                if let Value::Object(fields) = fields {
                    out.extend(fields);
                }
            }
        }
        _ => {}
    }
    Value::Object(out)
}

impl<'de> Deserialize<'de> for Intent {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        read(Map::deserialize(from)?).map_err(de::Error::custom)
    }
}

/// One intent from its fields, the kind among them.
pub(super) fn read(mut fields: Map<String, Value>) -> Result<Intent, Error> {
    match fields.remove(KIND) {
        Some(Value::String(kind)) => Intent::deserialize(Tagged { kind, fields }),
        _ => Err(de::Error::missing_field(KIND)),
    }
}

/// An intent as the derived code reads it. It offers nothing but fields by name: for a reader that also took
/// them by place, each kind would be compiled twice.
struct Tagged {
    kind: String,
    fields: Map<String, Value>,
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
    type Variant = Fields;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Fields), Error> {
        let kind = seed.deserialize(self.kind.into_deserializer())?;
        Ok((kind, Fields { rest: self.fields.into_iter(), value: Value::Null }))
    }
}

/// The fields still to be read, and the value of the one whose name was read last.
struct Fields {
    rest: serde_json::map::IntoIter,
    value: Value,
}

impl<'de> VariantAccess<'de> for Fields {
    type Error = Error;

    fn unit_variant(mut self) -> Result<(), Error> {
        self.rest.next().map_or(Ok(()), |(name, _)| Err(de::Error::unknown_field(&name, &[])))
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, _: T) -> Result<T::Value, Error> {
        Err(de::Error::invalid_type(Unexpected::Map, &"fields by name"))
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        Err(de::Error::invalid_type(Unexpected::Map, &visitor))
    }

    fn struct_variant<V: Visitor<'de>>(self, _: &[&str], visitor: V) -> Result<V::Value, Error> {
        visitor.visit_map(self)
    }
}

impl<'de> MapAccess<'de> for Fields {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Error> {
        let Some((name, value)) = self.rest.next() else { return Ok(None) };
        self.value = value;
        seed.deserialize(name.into_deserializer()).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Error> {
        seed.deserialize(std::mem::take(&mut self.value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
