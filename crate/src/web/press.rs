//! The press's side of the door: what makes sheets and shapes and lays boards out, in a Worker of its own. It has neither document nor pixels: an
//! order comes from the desk, windows of pixels from the mills of the pictures. What it exports is listed, as the page sees it,
//! in `www/types/press.d.ts` (`PressCore`).

use super::{from_js, to_js};
use crate::json;
use crate::layout::Laying;
use crate::plane;
use crate::sheet::{self, Piece, boards, write};
use crate::words::Say;
use wasm_bindgen::prelude::*;

/// Does with an outline what is asked: [`plane::shape`].
///
/// # Errors
/// As there, as a [`Say`].
#[wasm_bindgen]
pub fn shape(ask: JsValue) -> Result<JsValue, JsValue> {
    let ask = json::read(&from_js(&ask)).map_err(|e| not_understood(&e))?;
    plane::shape(&ask).map(|shaped| to_js(&shaped)).map_err(|say| to_js(&say))
}

fn not_understood(e: &json::Error) -> JsValue {
    to_js(&Say::new("job.not-understood").text("why", e.to_string()))
}

/// Boards being laid out.
#[wasm_bindgen]
pub struct Boards {
    order: sheet::Order,
    laying: Laying,
}

#[wasm_bindgen]
impl Boards {
    /// Takes an order of boards as the desk wrote it.
    ///
    /// # Errors
    /// As [`Laying::new`], as a [`Say`]; `sheet.nothing` where no boards are ordered.
    #[wasm_bindgen(constructor)]
    pub fn new(order: &str) -> Result<Boards, JsValue> {
        let order: sheet::Order = json::read(order).map_err(|e| not_understood(&e))?;
        let Some(Piece::Boards(boards)) = order.pieces.first() else {
            return Err(to_js(&Say::new("sheet.nothing")));
        };
        let laying = boards::begin(boards).map_err(|say| to_js(&say))?;
        Ok(Boards { order, laying })
    }

    /// Does a little; how much is done, of how much. What is laid can be seen at any time.
    pub fn step(&mut self) -> Vec<u32> {
        let progress = self.laying.step();
        [progress.done, progress.of].map(|n| u32::try_from(n).unwrap_or(u32::MAX)).to_vec()
    }

    /// The boards as well as they are laid by now ([`boards::Shown`]).
    pub fn shown(&self) -> JsValue {
        let words = write::Writing::new(&self.order, &write::estimate);
        match self.order.pieces.first() {
            Some(Piece::Boards(of)) => to_js(&boards::shown(of, &self.laying.laid(), &words)),
            _ => JsValue::NULL,
        }
    }
}

/// One order being made.
#[wasm_bindgen]
pub struct Press {
    press: sheet::Press,
}

#[wasm_bindgen]
impl Press {
    /// Takes an order as the desk wrote it, with the two weights of type as TrueType files.
    ///
    /// # Errors
    /// As [`sheet::Press::new`], as a [`Say`].
    #[wasm_bindgen(constructor)]
    pub fn new(order: &str, regular: Vec<u8>, bold: Vec<u8>) -> Result<Press, JsValue> {
        let order = json::read(order).map_err(|e| not_understood(&e))?;
        let press = sheet::Press::new(order, regular, bold).map_err(|say| to_js(&say))?;
        Ok(Press { press })
    }

    /// Which sheets there will be.
    pub fn plan(&self) -> JsValue {
        to_js(self.press.plan())
    }

    /// The luminance that it needs before it can go on: picture, x, y, width, height, px; nothing when it needs none.
    pub fn wants(&self) -> Vec<u32> {
        self.press.wants().map_or_else(Vec::new, |w| {
            vec![w.picture, w.window.x, w.window.y, w.window.width, w.window.height]
        })
    }

    /// The pictures whose own files may be used, if they are JPEGs.
    pub fn reusable(&self) -> Vec<u32> {
        self.press.reusable()
    }

    /// Takes such a file and its way up (an EXIF orientation), for the PDF.
    pub fn reuse(&mut self, picture: u32, file: &[u8], orientation: u8) {
        self.press.reuse(picture, file, orientation);
    }

    /// Takes what it wanted, row by row.
    pub fn give(&mut self, luminance: &[u8]) {
        self.press.give(luminance);
    }

    /// Does a little; how much is done, of how much. When all is, the file can be had.
    pub fn step(&mut self) -> Vec<u32> {
        let progress = self.press.step();
        [progress.done, progress.of].map(|n| u32::try_from(n).unwrap_or(u32::MAX)).to_vec()
    }

    /// All sheets as one PDF.
    ///
    /// # Errors
    /// As [`sheet::Press::pdf`], as a [`Say`].
    pub fn pdf(&self) -> Result<Vec<u8>, JsValue> {
        self.press.pdf().map_err(|say| to_js(&say))
    }

    /// One sheet as an SVG picture of its own size, for a browser to print.
    ///
    /// # Errors
    /// As [`sheet::Press::sheet`], as a [`Say`].
    pub fn sheet(&self, index: usize) -> Result<Option<String>, JsValue> {
        self.press.sheet(index).map_err(|say| to_js(&say))
    }

    /// One piece of the order, full size, as SVG.
    pub fn svg(&self, piece: usize) -> Option<String> {
        self.press.svg(piece)
    }
}
