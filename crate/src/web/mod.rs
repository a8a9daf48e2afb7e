//! The door: what the page may ask of the core. Only WebAssembly opens it.
//!
//! Plain objects go in and out. An error is thrown as `{key, text, at?, len?}`, its text ready to be shown; the
//! job is then as it was.
//!
//! The door has two halves, by feature: `desk` for the page's own thread, which has no pixels, and `mill` for its
//! Worker, which has no document. A build with one half holds nothing of what only the other calls.

#[cfg(feature = "desk")]
mod desk;
#[cfg(feature = "mill")]
mod mill;
#[cfg(feature = "mill")]
mod plain;

#[cfg(feature = "desk")]
pub use desk::Desk;

#[cfg(feature = "desk")]
use serde::Serialize;
#[cfg(feature = "desk")]
use wasm_bindgen::prelude::*;

/// A plain object, `null` for what isn't there. By way of JSON: the browser's own parser is quick, and code for
/// building objects field by field would be half as large again as the rest of the core.
#[cfg(feature = "desk")]
pub(crate) fn to_js<T: Serialize>(value: &T) -> JsValue {
    let text = serde_json::to_string(value).unwrap_or_else(|_| "null".to_owned());
    js_sys::JSON::parse(&text).unwrap_or(JsValue::NULL)
}

/// What the page sent, as JSON.
#[cfg(feature = "desk")]
pub(crate) fn from_js(value: &JsValue) -> String {
    js_sys::JSON::stringify(value).map(String::from).unwrap_or_default()
}
