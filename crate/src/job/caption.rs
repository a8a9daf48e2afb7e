//! The sizes that a caption gives of the whole thing: entered once, they serve wherever a person touches that extent.

use super::apply::usual_pm;
use super::desk::Desk;
use super::document::Document;
use super::intent::{How, Intent, Length, Way};
use crate::quantity::{Sizes, read_caption};
use crate::words::Say;
use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

/// How near a length must come to one of the caption's to be that, mm: it may have been written rounded.
const SAME: f64 = 0.02;

/// What a caption says of the thing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Caption {
    /// Height, width, depth, mm, each where it is told.
    #[cfg_attr(test, ts(type = "[number | null, number | null, number | null]"))]
    pub sizes: Sizes,
    /// They take in moulding and feet; otherwise they are of the body alone.
    pub whole: bool,
}

/// The names of a caption's sizes, in their order.
pub(super) const NAMES: [&str; 3] = ["height", "width", "depth"];

impl Document {
    /// The caption, where `mm` is one of the sizes that it tells.
    pub(super) fn captioned(&self, mm: f64) -> Option<&Caption> {
        let told = |c: &&Caption| c.sizes.iter().flatten().any(|s| (s - mm).abs() <= SAME);
        self.caption.as_ref().filter(told)
    }
}

/// The fact that keeps what stands in the keypad.
pub(super) fn fact(desk: &Desk, text: &str, way: Way) -> Result<Intent, Say> {
    let read = read_caption(text, desk.document().units.style);
    let sizes = read.map_err(|e| e.say.count("at", e.at).count("len", e.len))?;
    Ok(Intent::SetCaption { caption: Some(Caption { sizes, whole: way != Way::Body }) })
}

/// Keeps it, if it can be.
pub(super) fn set(document: &mut Document, caption: &Option<Caption>) -> Result<(), Say> {
    for mm in caption.iter().flat_map(|c| c.sizes).flatten() {
        super::apply::length(&Length::Mm { mm }, document.units.style)?;
    }
    document.caption = caption.clone().filter(|c| c.sizes.iter().any(Option::is_some));
    Ok(())
}

/// The ± of a side that a caption tells, mm.
pub(super) fn pm(document: &Document, mm: f64) -> Option<f64> {
    document.captioned(mm).map(|_| usual_pm(mm, How::Caption))
}
