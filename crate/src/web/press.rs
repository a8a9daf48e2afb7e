//! The press's side of the door: what makes sheets and shapes, in a Worker of its own. It has neither document nor pixels: an
//! order comes from the desk, windows of pixels from the mills of the pictures. What it exports is listed, as the page sees it,
//! in `www/types/press.d.ts` (`PressCore`).

use super::{from_js, to_js};
use crate::plane::shaping;
use crate::words::Say;
use wasm_bindgen::prelude::*;

/// Does with an outline what is asked: [`shaping::shape`].
///
/// # Errors
/// As there, as a [`Say`].
#[wasm_bindgen]
pub fn shape(ask: JsValue) -> Result<JsValue, JsValue> {
    let ask = serde_json::from_str(&from_js(&ask)).map_err(|e| not_understood(&e))?;
    shaping::shape(&ask).map(|shaped| to_js(&shaped)).map_err(|say| to_js(&say))
}

fn not_understood(e: &serde_json::Error) -> JsValue {
    to_js(&Say::new("job.not-understood").text("why", e.to_string()))
}
