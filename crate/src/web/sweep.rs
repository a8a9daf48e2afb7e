//! All edges of a whole picture at once, for the bench that lays them beside another library's.

use wasm_bindgen::prelude::*;

use crate::raster::edge::sweep;

/// A picture's pixels, held.
#[wasm_bindgen]
pub struct Sweep {
    width: usize,
    rgba: Vec<u8>,
}

#[wasm_bindgen]
impl Sweep {
    /// Takes the pixels, four bytes each (RGBA), row by row.
    #[wasm_bindgen(constructor)]
    pub fn new(width: usize, rgba: Vec<u8>) -> Sweep {
        Sweep { width, rgba }
    }

    /// The places of all edges, x and y in turn, px: [`sweep::sweep`].
    pub fn edges(&self, low: u8, high: u8) -> Vec<f32> {
        sweep::sweep(self.width, &self.rgba, low, high).into_flattened()
    }
}
