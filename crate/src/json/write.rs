//! From whatever there is to text.
//!
//! As `serde_json` writes it, to the byte (the tests hold one against the other), without what that brings for files and
//! for errors.

use super::Error;
use serde::ser::{self, Serialize, Serializer};

/// `value` as JSON, without spaces; what is not a number is `null`.
///
/// # Errors
/// When it is a map whose keys aren't strings, or says so itself.
pub fn write<T: Serialize + ?Sized>(value: &T) -> Result<String, Error> {
    let mut out = String::new();
    value.serialize(Writer { out: &mut out })?;
    Ok(out)
}

impl ser::Error for Error {
    fn custom<T: std::fmt::Display>(told: T) -> Error {
        Error::new(told.to_string())
    }
}

struct Writer<'a> {
    out: &'a mut String,
}

impl<'a> Writer<'a> {
    fn put(self, text: &str) -> Result<(), Error> {
        self.out.push_str(text);
        Ok(())
    }

    fn text(&mut self, text: &str) {
        self.out.push('"');
        let mut rest = text;
        while let Some(at) = rest.bytes().position(|b| b == b'"' || b == b'\\' || b < 0x20) {
            let (plain, odd) = (rest.get(..at), rest.as_bytes().get(at).copied().unwrap_or_default());
            self.out.push_str(plain.unwrap_or_default());
            self.escaped(odd);
            rest = rest.get(at + 1..).unwrap_or_default();
        }
        self.out.push_str(rest);
        self.out.push('"');
    }

    fn escaped(&mut self, odd: u8) {
        const HEX: [char; 16] =
            ['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', 'a', 'b', 'c', 'd', 'e', 'f'];
        self.out.push('\\');
        match odd {
            b'"' | b'\\' => self.out.push(char::from(odd)),
            8 => self.out.push('b'),
            12 => self.out.push('f'),
            b'\n' => self.out.push('n'),
            b'\r' => self.out.push('r'),
            b'\t' => self.out.push('t'),
            _ => {
                self.out.push_str("u00");
                self.out.push(HEX[usize::from(odd >> 4 & 15)]);
                self.out.push(HEX[usize::from(odd & 15)]);
            }
        }
    }

    fn opened(self, with: &str, end: &'static str) -> Within<'a> {
        self.out.push_str(with);
        Within { out: self.out, begun: false, end }
    }

    /// `{"name":` and what is in it opened by `with`; closed by `end`.
    fn named(mut self, name: &str, with: &str, end: &'static str) -> Within<'a> {
        self.out.push('{');
        self.text(name);
        self.out.push(':');
        self.opened(with, end)
    }
}

/// A list or an object that is being written.
struct Within<'a> {
    out: &'a mut String,
    begun: bool,
    end: &'static str,
}

impl Within<'_> {
    fn next(&mut self) -> Writer<'_> {
        if self.begun {
            self.out.push(',');
        }
        self.begun = true;
        Writer { out: self.out }
    }

    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Result<(), Error> {
        self.next().text(name);
        self.out.push(':');
        value.serialize(Writer { out: self.out })
    }

    fn finish(self) -> Result<(), Error> {
        self.out.push_str(self.end);
        Ok(())
    }
}

macro_rules! whole {
    ($($name:ident $t:ty as $wide:ty;)*) => { $(fn $name(self, n: $t) -> Result<(), Error> {
        self.put(&<$wide>::from(n).to_string())
    })* };
}

impl<'a> Serializer for Writer<'a> {
    type Ok = ();
    type Error = Error;
    type SerializeSeq = Within<'a>;
    type SerializeTuple = Within<'a>;
    type SerializeTupleStruct = Within<'a>;
    type SerializeTupleVariant = Within<'a>;
    type SerializeMap = Within<'a>;
    type SerializeStruct = Within<'a>;
    type SerializeStructVariant = Within<'a>;

    whole! {
        serialize_i8 i8 as i64; serialize_i16 i16 as i64; serialize_i32 i32 as i64; serialize_i64 i64 as i64;
        serialize_u8 u8 as u64; serialize_u16 u16 as u64; serialize_u32 u32 as u64; serialize_u64 u64 as u64;
    }

    fn serialize_bool(self, b: bool) -> Result<(), Error> {
        self.put(if b { "true" } else { "false" })
    }

    fn serialize_f32(self, x: f32) -> Result<(), Error> {
        self.serialize_f64(x.into())
    }

    fn serialize_f64(self, x: f64) -> Result<(), Error> {
        if x.is_finite() { self.put(zmij::Buffer::new().format_finite(x)) } else { self.put("null") }
    }

    fn serialize_char(mut self, c: char) -> Result<(), Error> {
        self.text(c.encode_utf8(&mut [0; 4]));
        Ok(())
    }

    fn serialize_str(mut self, text: &str) -> Result<(), Error> {
        self.text(text);
        Ok(())
    }

    fn serialize_bytes(self, bytes: &[u8]) -> Result<(), Error> {
        self.collect_seq(bytes)
    }

    fn serialize_none(self) -> Result<(), Error> {
        self.put("null")
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Error> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Error> {
        self.put("null")
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), Error> {
        self.put("null")
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, kind: &'static str) -> Result<(), Error> {
        self.serialize_str(kind)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Error> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        kind: &'static str,
        value: &T,
    ) -> Result<(), Error> {
        let within = self.named(kind, "", "}");
        value.serialize(Writer { out: within.out })?;
        within.finish()
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Within<'a>, Error> {
        Ok(self.opened("[", "]"))
    }

    fn serialize_tuple(self, _: usize) -> Result<Within<'a>, Error> {
        Ok(self.opened("[", "]"))
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Within<'a>, Error> {
        Ok(self.opened("[", "]"))
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        kind: &'static str,
        _: usize,
    ) -> Result<Within<'a>, Error> {
        Ok(self.named(kind, "[", "]}"))
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Within<'a>, Error> {
        Ok(self.opened("{", "}"))
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Within<'a>, Error> {
        Ok(self.opened("{", "}"))
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        kind: &'static str,
        _: usize,
    ) -> Result<Within<'a>, Error> {
        Ok(self.named(kind, "{", "}}"))
    }
}

macro_rules! lists {
    ($($kind:ident $name:ident;)*) => { $(impl ser::$kind for Within<'_> {
        type Ok = ();
        type Error = Error;
        fn $name<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Error> {
            value.serialize(self.next())
        }
        fn end(self) -> Result<(), Error> {
            self.finish()
        }
    })* };
}

lists! {
    SerializeSeq serialize_element; SerializeTuple serialize_element; SerializeTupleStruct serialize_field;
    SerializeTupleVariant serialize_field;
}

macro_rules! objects {
    ($($kind:ident)*) => { $(impl ser::$kind for Within<'_> {
        type Ok = ();
        type Error = Error;
        fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Result<(), Error> {
            self.field(name, value)
        }
        fn end(self) -> Result<(), Error> {
            self.finish()
        }
    })* };
}

objects! { SerializeStruct SerializeStructVariant }

impl ser::SerializeMap for Within<'_> {
    type Ok = ();
    type Error = Error;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), Error> {
        let from = self.next().out.len();
        key.serialize(Writer { out: self.out })?;
        // Only a string can be a name.
        let named = self.out.as_bytes().get(from) == Some(&b'"');
        named.then_some(()).ok_or_else(|| ser::Error::custom("a name must be a string"))
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Error> {
        self.out.push(':');
        value.serialize(Writer { out: self.out })
    }

    fn end(self) -> Result<(), Error> {
        self.finish()
    }
}
