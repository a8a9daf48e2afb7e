//! The mill's side of the door: one picture's pixels, in a Worker of its own.
//!
//! The page decodes and hands pixels over tile by tile; what is found in them goes back as plain values. A
//! refusal crosses as a [`Say`] (`{ key, args }`): the mill doesn't know the person's words. To stop, the Worker is ended and built again from the bytes.

use wasm_bindgen::prelude::*;

use super::plain;
use crate::raster::header::{self, Format};
use crate::raster::luma::{Luma, Window};
use crate::raster::seek;
use crate::words::Say;

/// One picture's pixels.
#[wasm_bindgen]
pub struct Mill {
    luma: Luma,
}

#[wasm_bindgen]
impl Mill {
    /// Room for the picture called `name`, `width` × `height` px as shown.
    ///
    /// # Errors
    /// The picture is too large, or memory is not to be had.
    #[wasm_bindgen(constructor)]
    pub fn new(width: u32, height: u32, name: &str) -> Result<Mill, JsValue> {
        let luma = Luma::new(width, height).map_err(|say| refusal(say.text("name", name)))?;
        make_room(width as usize * height as usize);
        Ok(Mill { luma })
    }

    /// Takes a tile's pixels, four bytes each (RGBA, not premultiplied), its corner at (`x`, `y`) px.
    ///
    /// # Errors
    /// The tile reaches beyond the picture, or its bytes don't fill it.
    pub fn set_tile(&mut self, x: u32, y: u32, width: u32, height: u32, rgba: &[u8]) -> Result<(), JsValue> {
        self.luma.set_tile(Window { x, y, width, height }, rgba).map_err(refusal)
    }

    /// A rectangle of luminance, row by row.
    ///
    /// # Errors
    /// The rectangle is not within the picture.
    pub fn window(&self, x: u32, y: u32, width: u32, height: u32) -> Result<Vec<u8>, JsValue> {
        self.luma.window(Window { x, y, width, height }).map_err(refusal)
    }

    /// Finds what is asked for: [`seek::answer`].
    ///
    /// # Errors
    /// There is nothing of the kind, or the question is none.
    pub fn seek(&self, ask: &JsValue) -> Result<JsValue, JsValue> {
        let found = plain::ask_of(ask).and_then(|ask| seek::answer(&self.luma, &ask));
        found.map(|found| plain::found(&found)).map_err(refusal)
    }

    /// The window whose colour is worth a look when [`Mill::seek`] found nothing, `[x, y, width, height]` px; empty for
    /// none: [`seek::colour_window`].
    pub fn colour_window(&self, ask: &JsValue) -> Vec<u32> {
        let window = plain::ask_of(ask).ok().and_then(|ask| seek::colour_window(&self.luma, &ask));
        window.map_or_else(Vec::new, |w| vec![w.x, w.y, w.width, w.height])
    }

    /// Finds what is asked for by colour: [`seek::answer_in_colour`].
    ///
    /// # Errors
    /// As there.
    pub fn seek_in_colour(&self, ask: &JsValue, window: &[u32], rgba: &[u8]) -> Result<JsValue, JsValue> {
        let &[x, y, width, height] = window else { return Err(refusal(Say::new("picture.outside"))) };
        let window = Window { x, y, width, height };
        let found = plain::ask_of(ask).and_then(|ask| seek::answer_in_colour(&ask, window, rgba));
        found.map(|found| plain::found(&found)).map_err(refusal)
    }
}

/// What finding views takes for each pixel of a small picture, bytes (a large one's are found in a reduced one).
const ROOM_A_PIXEL: usize = 3;
/// And the most that is made ready.
const MOST_ROOM: usize = 64 << 20;

/// Makes memory grow now, once, rather than bit by bit while questions are answered: where an engine guards it by checks,
/// each growth copies all there is. What isn't written to costs a tablet nothing.
fn make_room(pixels: usize) {
    let mut room = Vec::<u8>::new();
    // Without it things go on as well.
    let _ = room.try_reserve_exact(pixels.saturating_mul(ROOM_A_PIXEL).min(MOST_ROOM));
    std::hint::black_box(&room);
}

/// As many of a file's first bytes as [`picture_header`] likes to have.
#[wasm_bindgen]
pub fn picture_head() -> usize {
    header::HEAD
}

/// What a picture file says about itself: [`header::read`].
///
/// # Errors
/// As there.
#[wasm_bindgen]
pub fn picture_header(bytes: &[u8], name: &str) -> Result<JsValue, JsValue> {
    header::read(bytes, name).map(|header| plain::header(&header)).map_err(refusal)
}

/// Whether a picture that has been decoded can be held; before, only its header was asked.
///
/// # Errors
/// As [`crate::raster::fits`].
#[wasm_bindgen]
pub fn picture_fits(width: u32, height: u32, name: &str) -> Result<(), JsValue> {
    crate::raster::fits(width, height).map_err(|say| refusal(say.text("name", name)))
}

/// What to say when a file of this kind could not be decoded: [`header::remedy`].
#[wasm_bindgen]
pub fn picture_remedy(format: JsValue, name: &str) -> JsValue {
    plain::say(&header::remedy(named(&format), name))
}

/// How many bytes a file says it has, 0 where it doesn't: [`header::own_length`].
#[wasm_bindgen]
pub fn picture_own_length(bytes: &[u8]) -> f64 {
    header::own_length(bytes).unwrap_or(0) as f64
}

/// Whether the mark with which such a file ends stands in `part`: [`header::ends_in`].
#[wasm_bindgen]
pub fn picture_ends_in(format: JsValue, part: &[u8]) -> bool {
    header::ends_in(named(&format), part)
}

/// A kind that nobody here wrote is none that is known.
fn named(format: &JsValue) -> Format {
    let name = format.as_string().unwrap_or_default();
    Format::ALL.into_iter().find(|format| format.name() == name).unwrap_or(Format::Unknown)
}

fn refusal(say: Say) -> JsValue {
    plain::say(&say)
}
