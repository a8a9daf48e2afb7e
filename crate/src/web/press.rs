//! The press's side of the door: what makes sheets and shapes, in a Worker of its own. It has neither document nor pixels: an
//! order comes from the desk, windows of pixels from the mills of the pictures. What it exports is listed, as the page sees it,
//! in `www/types/press.d.ts` (`PressCore`).
