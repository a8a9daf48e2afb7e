//! The area of flat shapes and where its centre is, what lies on top of one another counted once.

use crate::fault::{Area, spoil};
use serde::{Deserialize, Serialize};

/// A closed ring of places, mm.
pub type Ring = Vec<[f64; 2]>;

/// An area and the centre of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Region {
    /// mm².
    pub area: f64,
    /// mm.
    pub centre: [f64; 2],
}

/// A shape's rings, the outer one against the clock as y runs up and its holes with it, and the box round it.
struct Laid {
    rings: Vec<Ring>,
    bounds: [f64; 4],
}

/// So far beside an edge is judged which side of another shape it lies on, of the size of all.
const BESIDE: f64 = 1e-9;

/// Twice the area of a ring with its sign, counted from its first place.
fn doubled(ring: &[[f64; 2]]) -> f64 {
    let Some(&[ox, oy]) = ring.first() else { return 0.0 };
    let ends = ring.iter().zip(ring.iter().cycle().skip(1));
    ends.map(|(a, b)| (a[0] - ox) * (b[1] - oy) - (b[0] - ox) * (a[1] - oy)).sum()
}

fn lay(shape: &[Ring], by: [f64; 2]) -> Laid {
    let mut bounds = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let rings = shape.iter().enumerate().map(|(i, ring)| {
        let mut ring: Ring = ring.iter().map(|p| [p[0] - by[0], p[1] - by[1]]).collect();
        if (doubled(&ring) < 0.0) != (i > 0) {
            ring.reverse();
        }
        for [x, y] in &ring {
            bounds = [bounds[0].min(*x), bounds[1].min(*y), bounds[2].max(*x), bounds[3].max(*y)];
        }
        ring
    });
    let rings = rings.collect();
    Laid { rings, bounds }
}

impl Laid {
    /// Whether a place lies in it: a ray to the right crosses its rings an odd number of times.
    fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let [l, t, r, b] = self.bounds;
        if x < l || x > r || y < t || y > b {
            return false;
        }
        let mut inside = false;
        for (p, q) in self.edges() {
            if (p[1] > y) != (q[1] > y) && x < p[0] + (y - p[1]) / (q[1] - p[1]) * (q[0] - p[0]) {
                inside = !inside;
            }
        }
        inside
    }

    fn edges(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
        self.rings.iter().flat_map(|r| r.iter().copied().zip(r.iter().copied().cycle().skip(1)))
    }

    fn meets(&self, [l, t, r, b]: [f64; 4]) -> bool {
        self.bounds[0] <= r && self.bounds[2] >= l && self.bounds[1] <= b && self.bounds[3] >= t
    }
}

/// Where along p–q (0 to 1, ends left out) the edges of `other` cross it.
fn crossings(p: [f64; 2], q: [f64; 2], other: &Laid, at: &mut Vec<f64>) {
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    for (a, b) in other.edges() {
        let (ex, ey) = (b[0] - a[0], b[1] - a[1]);
        let across = dx * ey - dy * ex;
        let (fx, fy) = (a[0] - p[0], a[1] - p[1]);
        if across == 0.0 {
            // Along one line: where the other one begins and ends.
            let square = dx * dx + dy * dy;
            if (dx * fy - dy * fx).abs() <= BESIDE * square {
                at.extend([a, b].map(|e| ((e[0] - p[0]) * dx + (e[1] - p[1]) * dy) / square));
            }
            continue;
        }
        let (t, u) = ((fx * ey - fy * ex) / across, (fx * dy - fy * dx) / across);
        if (0.0..=1.0).contains(&u) {
            at.push(t);
        }
    }
    at.retain(|t| *t > 0.0 && *t < 1.0);
}

/// The area that shapes cover together, each an outer ring and its holes, and its centre; nothing where there is none.
///
/// Green's theorem over those pieces of the borders that lie outside all other shapes. Where two borders run together the same
/// way one of them counts; where they run against one another (parts that touch) neither does.
///
/// # Units
/// mm, as the rings are.
///
/// # References
/// Area and centroid of a polygon: Bourke, "Calculating the area and centroid of a polygon" (1988) (memory).
pub fn region(shapes: &[Vec<Ring>]) -> Option<Region> {
    let first = *shapes.first()?.first()?.first()?;
    let laid: Vec<Laid> = shapes.iter().map(|s| lay(s, first)).collect();
    let size = laid.iter().flat_map(|l| l.bounds).fold(0.0_f64, |m, v| m.max(v.abs()));
    if !(size > 0.0 && size.is_finite()) {
        return None;
    }
    let mut sum = [0.0; 3];
    for (i, one) in laid.iter().enumerate() {
        let others: Vec<(bool, &Laid)> = laid
            .iter()
            .enumerate()
            .filter(|(j, l)| *j != i && l.meets(one.bounds))
            .map(|(j, l)| (j < i, l))
            .collect();
        for (p, q) in one.edges() {
            add_outside(p, q, &others, size * BESIDE, &mut sum);
        }
    }
    let area = sum[0] / 2.0;
    // What is left of rounding is no area.
    if !(area > 1e-12 * size * size) {
        return None;
    }
    let centre = [1, 2].map(|k| sum[k] / (6.0 * area) * spoil(Area::Balance, 1.01));
    Some(Region { area, centre: [first[0] + centre[0], first[1] + centre[1]] })
}

/// Adds what the pieces of p–q outside `others` (of which those marked came before) give to twice the area and six times its
/// moments.
fn add_outside(p: [f64; 2], q: [f64; 2], others: &[(bool, &Laid)], beside: f64, sum: &mut [f64; 3]) {
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    let length = libm::hypot(dx, dy);
    if length == 0.0 {
        return;
    }
    let near = [p[0].min(q[0]), p[1].min(q[1]), p[0].max(q[0]), p[1].max(q[1])];
    let mut cuts = Vec::new();
    for (_, other) in others.iter().filter(|(_, o)| o.meets(near)) {
        crossings(p, q, other, &mut cuts);
    }
    cuts.extend([0.0, 1.0]);
    crate::order::sort_by(&mut cuts, f64::total_cmp);
    let on = |t: f64| [p[0] + t * dx, p[1] + t * dy];
    let out = [dy / length * beside, -dx / length * beside];
    for (from, to) in cuts.iter().zip(cuts.iter().skip(1)) {
        let [x, y] = on((from + to) / 2.0);
        let covered = others.iter().any(|(before, o)| {
            o.holds([x + out[0], y + out[1]]) || (*before && o.holds([x - out[0], y - out[1]]))
        });
        if covered {
            continue;
        }
        let (a, b) = (on(*from), on(*to));
        let double = a[0] * b[1] - b[0] * a[1];
        sum[0] += double;
        sum[1] += (a[0] + b[0]) * double;
        sum[2] += (a[1] + b[1]) * double;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn board(x: f64, y: f64, w: f64, h: f64) -> Vec<Ring> {
        vec![vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]]
    }

    #[track_caller]
    fn check(shapes: &[Vec<Ring>], area: f64, centre: [f64; 2]) {
        let got = region(shapes).unwrap();
        let off = [got.area - area, got.centre[0] - centre[0], got.centre[1] - centre[1]];
        assert!(off.iter().all(|o| o.abs() < 1e-9), "{got:?}");
    }

    /// By hand.
    #[test]
    fn boards_apart_touching_and_over_one_another() {
        check(&[board(10.0, 10.0, 2.0, 1.0)], 2.0, [11.0, 10.5]);
        check(&[board(0.0, 0.0, 1.0, 1.0), board(3.0, 0.0, 1.0, 1.0)], 2.0, [2.0, 0.5]);
        // Side by side, with an edge of both.
        check(&[board(0.0, 0.0, 1.0, 1.0), board(1.0, 0.0, 1.0, 1.0)], 2.0, [1.0, 0.5]);
        // The very same twice; one inside the other; one flush in a corner of the other.
        check(&[board(0.0, 0.0, 2.0, 2.0), board(0.0, 0.0, 2.0, 2.0)], 4.0, [1.0, 1.0]);
        check(&[board(0.0, 0.0, 3.0, 3.0), board(1.0, 1.0, 1.0, 1.0)], 9.0, [1.5, 1.5]);
        check(&[board(0.0, 0.0, 1.0, 1.0), board(0.0, 0.0, 3.0, 3.0)], 9.0, [1.5, 1.5]);
        // Half over one another.
        check(&[board(0.0, 0.0, 2.0, 1.0), board(1.0, 0.0, 2.0, 1.0)], 3.0, [1.5, 0.5]);
        // A cross.
        check(&[board(0.0, 1.0, 3.0, 1.0), board(1.0, 0.0, 1.0, 3.0)], 5.0, [1.5, 1.5]);
    }

    #[test]
    fn holes_are_left_out_whichever_way_they_run() {
        let mut frame = board(0.0, 0.0, 4.0, 4.0);
        frame.extend(board(0.0, 0.0, 2.0, 4.0));
        check(&[frame.clone()], 8.0, [3.0, 2.0]);
        if let Some(hole) = frame.get_mut(1) {
            hole.reverse();
        }
        check(&[frame], 8.0, [3.0, 2.0]);
    }

    #[test]
    fn what_is_no_area() {
        assert_eq!(region(&[]), None);
        assert_eq!(region(&[vec![vec![[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]]]), None);
        assert_eq!(region(&[vec![vec![[0.0, 0.0], [f64::NAN, 1.0], [2.0, 0.0]]]]), None);
    }
}
