//! The four straight sides of what was touched inside: a door, a top, a sheet of paper, as a camera saw it.

use super::ask::{At, Fitted};
use super::edge::{Straight, straight};
use super::luma::Luma;
use super::region;
use crate::plane::signed_area;

/// A border whose area differs by more than this from that of its four corners has no four straight sides: rounded corners
/// are borne, a fifth side isn't (ours; no source).
const OTHER: f64 = 0.03;
/// This much of a side is left out at either end, where corners are rounded or worn.
const ENDS: f64 = 0.08;

/// The corners of the four-sided part that was touched at `inside`, in order round it from the one that is first at the top
/// left: each where two fitted lines cross, so that a rounded or chipped corner doesn't matter. `None` where there is none.
///
/// # References
/// The border: [`region::border`]; a side: [`straight`]. A crossing of two lines n·p = c with independent errors has the
/// covariance N⁻¹·diag(u²)·N⁻ᵀ (JCGM 100:2008, 5.1.2).
pub fn quad(luma: &Luma, inside: At) -> Option<[Fitted; 4]> {
    let border = region::border(luma, inside).ok()?;
    let ring = border.rings.first()?;
    let rough = four(ring)?;
    let side = |i: usize| {
        let (a, b) = (rough[i], rough[(i + 1) % 4]);
        let step = b - a;
        // The four places stand beside rounded corners, so that a stroke between two may lean on the side.
        let reach = (0.03 * step.length()).clamp(8.0, 16.0);
        let found = straight(luma, &[a + step * ENDS, b + step * -ENDS], reach)?;
        Line::of(&found)
    };
    let sides = [side(0)?, side(1)?, side(2)?, side(3)?];
    let corner = |i: usize| {
        let found = sides[(i + 3) % 4].crossing(&sides[i])?;
        let near = 0.05 * (rough[(i + 1) % 4] - rough[i]).length() + 8.0;
        (found.at.distance(rough[i]) <= near).then_some(found)
    };
    let found = [corner(0)?, corner(1)?, corner(2)?, corner(3)?];
    let (all, own) = (signed_area(ring).abs(), signed_area(&found.map(|f| f.at)).abs());
    ((all - own).abs() <= OTHER * own).then_some(found)
}

/// The four places of a ring that stand for it best: the two farthest apart, then the farthest from the line between those on
/// either side, then each the farthest from its neighbours, till nothing moves. From the top left, clockwise as seen.
fn four(ring: &[At]) -> Option<[At; 4]> {
    let farthest =
        |score: &dyn Fn(At) -> f64| ring.iter().copied().max_by(|p, q| score(*p).total_cmp(&score(*q)));
    let first = farthest(&|p| p.distance(*ring.first().unwrap_or(&p)))?;
    let third = farthest(&|p| p.distance(first))?;
    let off = |a: At, b: At| move |p: At| (b - a).cross(p - a);
    let second = farthest(&|p| -off(first, third)(p))?;
    let fourth = farthest(&|p| off(first, third)(p))?;
    let mut at = [first, second, third, fourth];
    for _ in 0..6 {
        let was = at;
        for i in 0..4 {
            let (before, after) = (at[(i + 3) % 4], at[(i + 1) % 4]);
            at[i] = farthest(&|p| -off(before, after)(p))?;
        }
        if at == was {
            break;
        }
    }
    if signed_area(&at) < 0.0 {
        at.reverse();
    }
    let start = (0..4).min_by(|i, j| (at[*i].x + at[*i].y).total_cmp(&(at[*j].x + at[*j].y)))?;
    at.rotate_left(start);
    Some(at)
}

/// A fitted line, and two places on it whose errors across are independent.
struct Line {
    at: [At; 2],
    /// Variance across at either, px².
    across: [f64; 2],
    normal: [f64; 2],
}

impl Line {
    fn of(found: &Straight) -> Option<Line> {
        let [a, b] = found.fitted;
        let step = b.at - a.at;
        let length = step.length();
        if length.is_nan() || length <= 0.0 {
            return None;
        }
        let [nx, ny] = [-step.y / length, step.x / length];
        let across = |f: &Fitted| nx * nx * f.cov[0] + 2.0 * nx * ny * f.cov[1] + ny * ny * f.cov[2];
        Some(Line { at: [a.at, b.at], across: [across(&a), across(&b)], normal: [nx, ny] })
    }

    /// Variance across where the line passes `p`, px².
    fn variance(&self, p: At) -> f64 {
        let step = self.at[1] - self.at[0];
        let t = step.dot(p - self.at[0]) / step.dot(step);
        (1.0 - t) * (1.0 - t) * self.across[0] + t * t * self.across[1]
    }

    fn crossing(&self, other: &Line) -> Option<Fitted> {
        let ([a, b], [c, d]) = (self.normal, other.normal);
        let det = a * d - b * c;
        if det.abs() < 0.05 {
            return None;
        }
        let dot = |n: [f64; 2], p: At| n[0] * p.x + n[1] * p.y;
        let (r, s) = (dot(self.normal, self.at[0]), dot(other.normal, other.at[0]));
        let at = At::new((r * d - b * s) / det, (a * s - r * c) / det);
        let (u, v) = (self.variance(at) / (det * det), other.variance(at) / (det * det));
        let cov = [d * d * u + b * b * v, -(d * c * u + b * a * v), c * c * u + a * a * v];
        at.is_finite().then_some(Fitted { at, cov })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A dark four-sided part on a light ground, each pixel as dark as it is covered (by 8 × 8 looks).
    fn picture(corners: &[[f64; 2]; 4], round: f64) -> Luma {
        let (width, height) = (420_u32, 320_u32);
        let inside = |x: f64, y: f64| {
            (0..4).all(|i| {
                let ([ax, ay], [bx, by]) = (corners[i], corners[(i + 1) % 4]);
                (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0
            }) && corners.iter().all(|c| libm::hypot(x - c[0], y - c[1]) > round)
        };
        let mut rgba = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let looks = (0..64).filter(|k| {
                    let at = |n: u32, k: u32| f64::from(n) + (f64::from(k) + 0.5) / 8.0;
                    inside(at(x, k % 8), at(y, k / 8))
                });
                let tone = 210.0 - 150.0 * looks.count() as f64 / 64.0;
                rgba.extend([tone.round() as u8, tone.round() as u8, tone.round() as u8, 255]);
            }
        }
        let mut luma = Luma::new(width, height).unwrap();
        luma.set_band(0, &rgba).unwrap();
        luma
    }

    const SEEN: [[f64; 2]; 4] = [[61.3, 48.7], [352.2, 71.9], [331.4, 262.6], [83.8, 239.1]];

    #[test]
    fn one_touch_inside_gives_four_corners() {
        for round in [0.0, 6.0] {
            let found = quad(&picture(&SEEN, round), At::new(200.0, 150.0)).unwrap();
            for (f, [x, y]) in found.iter().zip(SEEN) {
                assert!(f.at.distance(At::new(x, y)) < 0.05, "{:?} {x} {y}", f.at);
                assert!(f.cov[0] > 0.0 && f.cov[2] > 0.0 && f.cov[0] < 0.01, "{:?}", f.cov);
            }
        }
    }

    #[test]
    fn what_has_no_four_sides_has_no_corners() {
        assert!(quad(&picture(&SEEN, 60.0), At::new(200.0, 150.0)).is_none());
        assert!(quad(&picture(&SEEN, 0.0), At::new(10.0, 10.0)).is_none());
    }
}
