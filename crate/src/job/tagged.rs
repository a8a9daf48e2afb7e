//! Intents as JSON carry their kind among their fields: `{"kind": "move-point", "mark": 1, …}`.
//!
//! The derived code knows them as `{"move-point": {"mark": 1, …}}`, through one intermediate value: derived for every
//! reader and writer, the flat form made a third of the program that a tablet has to fetch.

use super::intent::Intent;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser};
use serde_json::{Map, Value};

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
        let mut fields = Map::deserialize(from)?;
        let Some(Value::String(kind)) = fields.remove(KIND) else {
            return Err(de::Error::missing_field(KIND));
        };
        let bare = Value::String(kind.clone());
        let one = |fields| {
            // Inserted: collecting would sort first, which is compiled anew for every map.
            let mut one = Map::new();
            one.insert(kind.clone(), Value::Object(fields));
            Value::Object(one)
        };
        let nested = if fields.is_empty() { bare.clone() } else { one(fields) };
        let empty = || one(Map::new());
        // A kind without fields is written bare; one whose fields may all be left out is not.
        Intent::deserialize(nested.clone())
            .or_else(|e| if nested == bare { Intent::deserialize(empty()).map_err(|_| e) } else { Err(e) })
            .map_err(de::Error::custom)
    }
}
