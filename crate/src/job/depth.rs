//! What stands in the document of things with depth: boxes, their sides, views that stand behind others.

use super::document::{Placing, View};
use super::intent::At;
use serde::{Deserialize, Serialize};

/// Corners of anything rectangular that is seen from a corner. Corner k stands as many edges from corner 0 as its bits tell:
/// 1 along the front, 2 along the end, 4 along the upright.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoxGiven {
    /// Its id, which is that of the first of its sides.
    pub id: u32,
    /// The picture it is on.
    pub picture: u32,
    /// Where each corner is seen.
    pub corners: [Option<Placing>; 8],
    /// Its edges (front's width, end's width, upright) and the standard uncertainty of each, mm, where they are known.
    pub edges: [Option<(f64, f64)>; 3],
}

/// A side of a box.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaceOf {
    /// The box.
    pub of: u32,
    /// 0 its front, 1 its end, 2 its top.
    pub side: u8,
    /// Its corners as they are seen, in order round it.
    pub corners: [At; 4],
}

/// How a view stands behind another.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Behind {
    /// The view that it is parallel to.
    pub from: u32,
    /// How far behind it stands (before it: less than nothing), and the standard uncertainty, mm; nothing where true lengths
    /// of its own tell.
    pub back: Option<(f64, f64)>,
    /// How far the camera stood from the other view, and the standard uncertainty, mm, where a person says so.
    pub away: Option<(f64, f64)>,
}

impl View {
    /// Whether `p` lies in it, or a little outside: an end on the border belongs to it.
    pub fn holds(&self, p: At) -> bool {
        let Some(face) = &self.face else { return self.bounds.holds(p) };
        // On the same side of all its edges, by a hundredth of its size at most on the other.
        let slack = 0.01 * libm::sqrt(self.bounds.area());
        let off = [0, 1, 2, 3].map(|i| {
            let (a, run) = (face.corners[i], face.corners[(i + 1) % 4] - face.corners[i]);
            run.cross(p - a) / run.length().max(f64::MIN_POSITIVE)
        });
        off.iter().all(|d| *d >= -slack) || off.iter().all(|d| *d <= slack)
    }

    /// Its corners as they are seen, in order.
    pub fn corners(&self) -> [At; 4] {
        self.face.map_or_else(|| self.bounds.corners(), |f| f.corners)
    }
}
