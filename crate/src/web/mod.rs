//! The door: what the page may ask of the core. Only WebAssembly opens it.
//!
//! Plain objects go in and out. An error is thrown as `{key, text, at?, len?}`, its text ready to be shown; the
//! job is then as it was.

mod desk;
mod mill;

pub use desk::Desk;

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

/// A plain object, `null` for what isn't there. By way of JSON: the browser's own parser is quick, and code for
/// building objects field by field would be half as large again as the rest of the core.
pub(crate) fn to_js<T: Serialize>(value: &T) -> JsValue {
    let text = serde_json::to_string(value).unwrap_or_else(|_| "null".to_owned());
    js_sys::JSON::parse(&text).unwrap_or(JsValue::NULL)
}

/// What the page sent, as JSON.
pub(crate) fn from_js(value: &JsValue) -> String {
    js_sys::JSON::stringify(value).map(String::from).unwrap_or_default()
}
