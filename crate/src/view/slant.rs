//! Is something treated as flat seen at a slant?

use super::knowns::{Click, Knowns};
use super::map::ViewMap;
use crate::plane::{Picture, Point, Vector};

/// Opposite edges that should be parallel and aren't.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slant {
    /// The larger angle between two opposite edges, in rad, > 0.
    pub angle: f64,
    /// Its standard uncertainty, in rad.
    pub u: f64,
    /// Which edges: 0 the first and third, 1 the second and fourth.
    pub edges: u8,
}

/// Edges nearer to parallel than this are let pass: half a degree.
const LEAST: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// What four corners, in order round a rectangle that was taken to be square-on, say of a slant; `None` when
/// opposite edges are parallel within half a degree or within their ±.
pub fn slant(corners: &[Click; 4]) -> Option<Slant> {
    let pair = |edges: u8, from: usize| {
        let edge = |i: usize, j: usize| (&corners[i % 4], &corners[j % 4]);
        let (a, b) = (edge(from, from + 1), edge(from + 3, from + 2));
        let angle = crate::plane::angle_between(step(a), step(b));
        Slant { angle, u: libm::hypot(u(a), u(b)), edges }
    };
    let worst = |s: &Slant| s.angle > LEAST && s.angle > crate::estimate::normal_quantile(0.975) * s.u;
    let mut found: Vec<Slant> = [pair(0, 0), pair(1, 1)].into_iter().filter(worst).collect();
    crate::order::sort_by(&mut found, |a, b| b.angle.total_cmp(&a.angle));
    found.first().copied()
}

/// A view seen at a steeper slant than this is nearly edge-on: 75°.
const EDGE_ON: f64 = 75.0 * std::f64::consts::PI / 180.0;

/// The corners of a view's rectangle, or the places of what else is known of it.
pub(crate) fn places(knowns: &Knowns) -> Vec<Point<Picture>> {
    match knowns.rectangle {
        Some(r) => r.corners.iter().map(|c| c.at).collect(),
        None => knowns.forms.iter().flat_map(|f| f.form.clicks()).map(|c| c.at).collect(),
    }
}

/// How steeply the line of sight meets the view in the middle of some places, in rad, where that is nearly edge-on: a
/// small circle there is seen as an oval, as narrow against its length as the cosine.
pub(crate) fn edge_on(map: &ViewMap, places: &[Point<Picture>]) -> Option<f64> {
    let n = places.len() as f64;
    let middle = places.iter().fold((0.0, 0.0), |s, p| (s.0 + p.x / n, s.1 + p.y / n));
    let [[a, b], [c, d]] = map.homography().jacobian(Point::new(middle.0, middle.1))?;
    // The two singular values are half the sum and the difference of these (the turning and the mirroring part).
    let (p, q) = (libm::hypot(a + d, c - b), libm::hypot(a - d, c + b));
    let slant = libm::acos(((p - q).abs() / (p + q)).min(1.0));
    (slant > EDGE_ON).then_some(slant)
}

fn step((a, b): (&Click, &Click)) -> Vector<Picture> {
    b.at - a.at
}

/// Standard uncertainty of an edge's direction: both ends' σ across it, over its length.
fn u((a, b): (&Click, &Click)) -> f64 {
    libm::hypot(a.sigma, b.sigma) / step((a, b)).length()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Source;
    use crate::plane::Point;

    fn corners(at: [[f64; 2]; 4], sigma: f64) -> [Click; 4] {
        let click = |p: [f64; 2]| Click {
            at: Point::from(p),
            sigma,
            cov: None,
            source: [Source::Corner(1, 0, 0), Source::Corner(1, 0, 1)],
            freedom: f64::INFINITY,
            bent: None,
        };
        at.map(click)
    }

    /// Worked by hand: sides that lean in by 20 px over 1000 px are 2·atan(0.02) = 2.29° apart.
    #[test]
    fn leaning_sides() {
        let leaning = [[20.0, 0.0], [980.0, 0.0], [1000.0, 1000.0], [0.0, 1000.0]];
        let found = slant(&corners(leaning, 0.5)).unwrap();
        assert!((found.angle - 2.0 * libm::atan(0.02)).abs() < 1e-12);
        assert_eq!(found.edges, 1);
        assert_eq!(slant(&corners(leaning, 20.0)), None, "within what the clicks are good to");
        let upright = [[3.0, 0.0], [997.0, 0.0], [1000.0, 1000.0], [0.0, 1000.0]];
        assert_eq!(slant(&corners(upright, 0.1)), None, "under half a degree");
        assert_eq!(slant(&corners([[f64::NAN; 2]; 4], 0.1)), None);
    }
}
