//! The door: what the page may ask of the core. Only WebAssembly opens it.
//!
//! Plain objects go in and out. An error is thrown as `{key, text, at?, len?}`, its text ready to be shown; the
//! job is then as it was.
//!
//! The door has three parts, by feature: `desk` for the page's own thread, which has no pixels; `mill` for a picture's
//! Worker, which has no document; `press` for the Worker that makes sheets and shapes, loaded when it is first needed.
//! A build with one part holds nothing of what only another calls.

#[cfg(feature = "desk")]
mod desk;
#[cfg(feature = "mill")]
mod mill;
#[cfg(feature = "mill")]
mod plain;
#[cfg(feature = "press")]
mod press;
#[cfg(feature = "sweep")]
mod sweep;

#[cfg(feature = "desk")]
pub use desk::{Bundle, Desk};

#[cfg(any(feature = "desk", feature = "press"))]
use serde::Serialize;
#[cfg(any(feature = "desk", feature = "press"))]
use wasm_bindgen::prelude::*;

/// A plain object, `null` for what isn't there. By way of JSON: the browser's own parser is quick, and code for
/// building objects field by field would be half as large again as the rest of the core.
#[cfg(any(feature = "desk", feature = "press"))]
pub(crate) fn to_js<T: Serialize>(value: &T) -> JsValue {
    let text = crate::json::write(value).unwrap_or_else(|_| "null".to_owned());
    js_sys::JSON::parse(&text).unwrap_or(JsValue::NULL)
}

/// What the page sent, as JSON.
#[cfg(any(feature = "desk", feature = "press"))]
pub(crate) fn from_js(value: &JsValue) -> String {
    js_sys::JSON::stringify(value).map(String::from).unwrap_or_default()
}
