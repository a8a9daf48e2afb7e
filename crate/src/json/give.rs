//! From [`Json`] to whatever is wanted.

use super::read::wrong_length;
use super::{Error, Json};
use crate::order::Table;
use serde::de::{
    self, DeserializeSeed, Deserializer, EnumAccess, Expected, IntoDeserializer, MapAccess, SeqAccess,
    Unexpected, VariantAccess, Visitor,
};
use std::fmt;

/// Reads anything as [`Json`].
pub(super) struct Anything;

impl<'de> Visitor<'de> for Anything {
    type Value = Json;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("anything")
    }
    fn visit_bool<E>(self, b: bool) -> Result<Json, E> {
        Ok(Json::Bool(b))
    }
    fn visit_i64<E>(self, n: i64) -> Result<Json, E> {
        Ok(Json::Whole(n))
    }
    fn visit_u64<E>(self, n: u64) -> Result<Json, E> {
        Ok(i64::try_from(n).map_or(Json::Real(n as f64), Json::Whole))
    }
    fn visit_f64<E>(self, x: f64) -> Result<Json, E> {
        Ok(Json::Real(x))
    }
    fn visit_str<E>(self, t: &str) -> Result<Json, E> {
        Ok(Json::Text(t.to_owned()))
    }
    fn visit_string<E>(self, t: String) -> Result<Json, E> {
        Ok(Json::Text(t))
    }
    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Null)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut all: A) -> Result<Json, A::Error> {
        let mut list = Vec::new();
        while let Some(value) = all.next_element()? {
            list.push(value);
        }
        Ok(Json::List(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut all: A) -> Result<Json, A::Error> {
        let mut fields = Table::default();
        while let Some((name, value)) = all.next_entry()? {
            fields.insert(name, value);
        }
        Ok(Json::Fields(fields))
    }
}

fn refused<T>(value: &dyn Expected) -> Result<T, Error> {
    Err(de::Error::invalid_type(Unexpected::Unit, value))
}

macro_rules! numbers {
    ($($name:ident)*) => { $(fn $name<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self {
            Json::Whole(n) if n < 0 => visitor.visit_i64(n),
            Json::Whole(n) => visitor.visit_u64(n.unsigned_abs()),
            Json::Real(x) => visitor.visit_f64(x),
            _ => refused(&visitor),
        }
    })* };
}

macro_rules! texts {
    ($($name:ident)*) => { $(fn $name<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self {
            Json::Text(text) => visitor.visit_string(text),
            _ => refused(&visitor),
        }
    })* };
}

impl<'de> Deserializer<'de> for Json {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self {
            Json::Null => visitor.visit_unit(),
            Json::Bool(b) => visitor.visit_bool(b),
            Json::Whole(n) if n < 0 => visitor.visit_i64(n),
            Json::Whole(n) => visitor.visit_u64(n.unsigned_abs()),
            Json::Real(x) => visitor.visit_f64(x),
            Json::Text(text) => visitor.visit_string(text),
            Json::List(list) => visitor.visit_seq(Rest(list.into_iter())),
            Json::Fields(fields) => visitor.visit_map(Named::of(fields)),
        }
    }

    numbers! { deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64 deserialize_i8 deserialize_i16
    deserialize_i32 deserialize_i64 deserialize_f32 deserialize_f64 }
    texts! { deserialize_str deserialize_string deserialize_identifier deserialize_char }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if let Json::Bool(b) = self { visitor.visit_bool(b) } else { refused(&visitor) }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if self == Json::Null { visitor.visit_none() } else { visitor.visit_some(self) }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let Json::List(list) = self else { return refused(&visitor) };
        visitor.visit_seq(Rest(list.into_iter()))
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Error> {
        match self {
            Json::List(list) if list.len() == len => visitor.visit_seq(Rest(list.into_iter())),
            Json::List(_) => Err(wrong_length(&visitor)),
            _ => refused(&visitor),
        }
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        len: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_tuple(len, visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let Json::Fields(fields) = self else { return refused(&visitor) };
        visitor.visit_map(Named::of(fields))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let Json::Fields(fields) = self else { return refused(&visitor) };
        in_order(fields, names, visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        match self {
            Json::Text(name) => visitor.visit_enum(Variant { name, holds: None }),
            Json::Fields(fields) if fields.len() == 1 => match fields.into_entries().pop() {
                Some((name, value)) => visitor.visit_enum(Variant { name, holds: Some(value) }),
                None => refused(&visitor),
            },
            _ => refused(&visitor),
        }
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if self == Json::Null { visitor.visit_unit() } else { refused(&visitor) }
    }

    serde::forward_to_deserialize_any! { i128 u128 bytes byte_buf unit_struct }
}

/// What is left of a list.
struct Rest(std::vec::IntoIter<Json>);

impl<'de> SeqAccess<'de> for Rest {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Error> {
        self.0.next().map(|value| seed.deserialize(value)).transpose()
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.0.len())
    }
}

/// What a shape has, field by field in its own order: for a list the derived code is a third of what it is for fields by name.
struct InOrder {
    fields: Table<String, Json>,
    names: std::slice::Iter<'static, &'static str>,
}

/// Reads a shape with these fields from those that there are. One that isn't there is read from nothing, which serves what needn't
/// be there; else it has a value of its own for that, or is missed.
fn in_order<'de, V: Visitor<'de>>(
    fields: Table<String, Json>,
    names: &'static [&'static str],
    visitor: V,
) -> Result<V::Value, Error> {
    visitor.visit_seq(InOrder { fields, names: names.iter() }).map_err(|e| e.missing(names))
}

impl<'de> SeqAccess<'de> for InOrder {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Error> {
        let found = self.names.next().and_then(|name| self.fields.take(*name));
        let there = found.is_some();
        match seed.deserialize(found.unwrap_or_default()) {
            Err(_) if !there => Ok(None),
            read => read.map(Some),
        }
    }
}

/// The fields still to be read, and the value of the one whose name was read last.
struct Named {
    rest: std::vec::IntoIter<(String, Json)>,
    value: Json,
}

impl Named {
    fn of(fields: Table<String, Json>) -> Named {
        Named { rest: fields.into_entries().into_iter(), value: Json::Null }
    }
}

impl<'de> MapAccess<'de> for Named {
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

/// One of several kinds, by name, with what it holds.
struct Variant {
    name: String,
    holds: Option<Json>,
}

impl<'de> EnumAccess<'de> for Variant {
    type Error = Error;
    type Variant = Holds;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Holds), Error> {
        Ok((seed.deserialize(self.name.into_deserializer())?, Holds(self.holds)))
    }
}

/// What a kind holds, if anything.
pub(crate) struct Holds(pub Option<Json>);

impl<'de> VariantAccess<'de> for Holds {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        match self.0 {
            None | Some(Json::Null) => Ok(()),
            Some(Json::Fields(fields)) => match fields.into_entries().first() {
                Some((name, _)) => Err(de::Error::unknown_field(name, &[])),
                None => Ok(()),
            },
            Some(_) => refused(&"nothing in it"),
        }
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(self.0.unwrap_or_default())
    }

    fn tuple_variant<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Error> {
        self.0.unwrap_or_default().deserialize_tuple(len, visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let Some(Json::Fields(fields)) = self.0 else { return refused(&visitor) };
        // Whoever sends an intent is told of what it doesn't know.
        if let Some((name, _)) = fields.iter().find(|(name, _)| !names.contains(&name.as_str())) {
            return Err(de::Error::unknown_field(name, names));
        }
        in_order(fields, names, visitor)
    }
}
