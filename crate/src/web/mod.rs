//! The door: what the page may ask of the core. Only WebAssembly opens it.
//!
//! Plain objects go in and out. An error is thrown as `{key, text, at?, len?}`, its text ready to be shown; the
//! job is then as it was.

mod desk;

use crate::job::Words;
use crate::words::{Arg, Say};
use serde::Serialize;
use wasm_bindgen::prelude::*;

/// What is thrown at the page.
#[derive(Serialize)]
struct Thrown<'a> {
    key: &'a str,
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    len: Option<u32>,
}

/// A whole number that stands in a sentence by name: where an entry is wrong.
fn count(say: &Say, name: &str) -> Option<u32> {
    say.args.iter().find_map(|(n, a)| match a {
        Arg::Count(c) if n == name => u32::try_from(*c).ok(),
        _ => None,
    })
}

/// An error as the page sees it.
pub(crate) fn thrown(say: &Say, text: String) -> JsValue {
    let at = count(say, "at");
    to_js(&Thrown { key: &say.key, text, at, len: at.and(count(say, "len")) })
}

/// Plain objects, `null` for what isn't there, no `Map`s.
pub(crate) fn to_js<T: Serialize>(value: &T) -> JsValue {
    let plain = serde_wasm_bindgen::Serializer::new()
        .serialize_maps_as_objects(true)
        .serialize_missing_as_null(true);
    value.serialize(&plain).unwrap_or(JsValue::NULL)
}

/// What a picture file's beginning says of it; throws why it can't be taken, with the remedy.
#[wasm_bindgen(js_name = readHeader)]
pub fn read_header(bytes: &[u8], name: &str, words: &str) -> Result<JsValue, JsValue> {
    let tell = |say: &Say| match Words::read(words) {
        Ok(w) => thrown(say, w.tell(say, &Default::default())),
        Err(_) => thrown(say, say.key.clone()),
    };
    crate::raster::header::read(bytes, name).map(|h| to_js(&h)).map_err(|s| tell(&s))
}
