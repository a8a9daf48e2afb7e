//! Closed outlines of points; the last joins the first.

use super::{Point, Space, Vector};

/// Area and balance point of an outline.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Moments<S: Space> {
    /// Signed area as in [`signed_area`], in the space's unit squared.
    pub area: f64,
    /// The balance point (centroid) of a flat sheet of that outline.
    pub centroid: Point<S>,
}

/// Each point as a step from the first. Products of large coordinates lose the digits that their
/// difference needs, so every sum here is taken about a point of the outline itself.
fn local<S: Space>(points: &[Point<S>]) -> impl Iterator<Item = (Vector<S>, Vector<S>)> + '_ {
    let at = points.first().copied().unwrap_or_default();
    (0..points.len()).map(move |i| (points[i] - at, points[(i + 1) % points.len()] - at))
}

/// The area inside, in the space's unit squared: positive when the points run clockwise as seen on a screen
/// (y down), negative the other way round. For an outline that crosses itself, parts cancel.
///
/// # References
/// The shoelace formula ½Σ(xᵢ·yᵢ₊₁ − xᵢ₊₁·yᵢ), Meister (1769).
pub fn signed_area<S: Space>(points: &[Point<S>]) -> f64 {
    local(points).map(|(a, b)| a.cross(b)).sum::<f64>() / 2.0
}

/// Left, top, right, bottom of places, in the space's unit; inside out where there are none.
pub fn bounds<'a, S: Space + 'a>(points: impl Iterator<Item = &'a Point<S>>) -> [f64; 4] {
    let none = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    points.fold(none, |b, p| [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)])
}

/// The length of the outline, closing side included, in the space's unit.
pub fn perimeter<S: Space>(points: &[Point<S>]) -> f64 {
    local(points).map(|(a, b)| (b + a * -1.0).length()).sum()
}

/// Area and balance point; `None` when the outline encloses nothing (or as much one way as the other).
///
/// # References
/// Centroid of a polygon: Bourke (1988), (1/6A)·Σ(xᵢ + xᵢ₊₁)(xᵢ·yᵢ₊₁ − xᵢ₊₁·yᵢ); follows from Green's theorem.
pub fn moments<S: Space>(points: &[Point<S>]) -> Option<Moments<S>> {
    let at = *points.first()?;
    let (mut twice, mut size, mut sum) = (0.0, 0.0, Vector::new(0.0, 0.0));
    for (a, b) in local(points) {
        let cross = a.cross(b);
        twice += cross;
        size += cross.abs();
        sum = sum + (a + b) * cross;
    }
    let centroid = at + sum * (1.0 / (3.0 * twice));
    (twice.abs() > 1e-12 * size && centroid.is_finite()).then_some(Moments { area: twice / 2.0, centroid })
}

/// Is `p` inside? On the border either may be said.
///
/// # References
/// Even–odd rule by counting crossings of a ray: Shimrat, Communications of the ACM 5 (1962) 434.
pub fn contains<S: Space>(points: &[Point<S>], p: Point<S>) -> bool {
    let mut inside = false;
    for i in 0..points.len() {
        let (a, b) = (points[i] - p, points[(i + 1) % points.len()] - p);
        if (a.y > 0.0) != (b.y > 0.0) && (a.cross(b) > 0.0) == (b.y > a.y) {
            inside = !inside;
        }
    }
    inside
}

/// Two sides that cross or touch where they shouldn't, each by the number of its first point;
/// `None` for a sound outline.
///
/// Sides are swept from left to right, so that only those whose widths overlap are compared. A point
/// repeated in succession is passed over.
pub fn crossing_edges<S: Space>(points: &[Point<S>]) -> Option<(usize, usize)> {
    let kept: Vec<usize> =
        (0..points.len()).filter(|&i| points[i] != points[(i + 1) % points.len()]).collect();
    if kept.len() < 3 {
        return None;
    }
    let side = |k: usize| (points[kept[k]], points[kept[(k + 1) % kept.len()]]);
    let left = |k: usize| side(k).0.x.min(side(k).1.x);
    let right = |k: usize| side(k).0.x.max(side(k).1.x);
    let mut order: Vec<usize> = (0..kept.len()).collect();
    crate::order::sort_by(&mut order, |&a, &b| left(a).total_cmp(&left(b)));
    let mut open: Vec<usize> = Vec::new();
    for &k in &order {
        open.retain(|&other| right(other) >= left(k));
        for &other in &open {
            let (low, high) = (k.min(other), k.max(other));
            let next = high == low + 1;
            let round = low == 0 && high == kept.len() - 1;
            let bad = if next || round {
                let (first, second) = if next { (low, high) } else { (high, low) };
                folds_back(side(first), side(second))
            } else {
                meet(side(low), side(high))
            };
            if bad {
                return Some((kept[low], kept[high]));
            }
        }
        open.push(k);
    }
    None
}

/// Two sides in succession share a point, and cross only if the second runs back along the first.
fn folds_back<S: Space>(first: (Point<S>, Point<S>), second: (Point<S>, Point<S>)) -> bool {
    let (a, b) = (first.1 - first.0, second.1 - second.0);
    a.cross(b) == 0.0 && a.dot(b) < 0.0
}

/// Do two sides share a point?
///
/// # References
/// By orientations: Sedgewick, Algorithms, 2nd ed., ch. 24 [memory].
fn meet<S: Space>(p: (Point<S>, Point<S>), q: (Point<S>, Point<S>)) -> bool {
    let boxes = |a: f64, b: f64, c: f64, d: f64| a.max(b) >= c.min(d) && c.max(d) >= a.min(b);
    if !boxes(p.0.x, p.1.x, q.0.x, q.1.x) || !boxes(p.0.y, p.1.y, q.0.y, q.1.y) {
        return false;
    }
    let turn = |line: (Point<S>, Point<S>), at: Point<S>| (line.1 - line.0).cross(at - line.0);
    let astride = |line, (a, b): (Point<S>, Point<S>)| {
        let (s, t): (f64, f64) = (turn(line, a), turn(line, b));
        !((s > 0.0 && t > 0.0) || (s < 0.0 && t < 0.0))
    };
    astride(p, q) && astride(q, p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;
    use proptest::prelude::*;

    fn points(list: &[[f64; 2]]) -> Vec<Point<Real>> {
        list.iter().map(|p| Point::from(*p)).collect()
    }

    /// An L of three unit squares, worked by hand, far from the origin.
    #[test]
    fn an_l_of_three_squares() {
        let far = 1e7;
        let l = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        let p = points(&l.map(|[x, y]| [x + far, y + far]));
        let m = moments(&p).unwrap();
        assert!((m.area - 3.0).abs() < 1e-9 && (signed_area(&p) - 3.0).abs() < 1e-9);
        assert!(m.centroid.distance(Point::new(far + 5.0 / 6.0, far + 5.0 / 6.0)) < 1e-8);
        assert!((perimeter(&p) - 8.0).abs() < 1e-9);
        let back: Vec<_> = p.iter().rev().copied().collect();
        assert!((signed_area(&back) + 3.0).abs() < 1e-9);
        assert_eq!(crossing_edges(&p), None);
        for (x, y, inside) in [(0.5, 0.5, true), (1.5, 1.5, false), (1.5, 0.5, true), (-1.0, 0.5, false)] {
            assert_eq!(contains(&p, Point::new(far + x, far + y)), inside, "{x} {y}");
        }
    }

    #[test]
    fn what_crosses_itself_is_found() {
        for (list, expected) in [
            (vec![[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]], Some((0, 2))),
            (vec![[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 0.0], [0.0, 2.0]], Some((0, 3))),
            (vec![[0.0, 0.0], [2.0, 0.0], [1.0, 0.0], [1.0, 1.0]], Some((0, 1))),
            (vec![[0.0, 0.0], [2.0, 0.0], [2.0, 0.0], [1.0, 1.0]], None),
            (vec![[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [1.0, 1.0]], None),
            (vec![[0.0, 0.0], [1.0, 0.0]], None),
            (vec![], None),
        ] {
            assert_eq!(crossing_edges(&points(&list)), expected, "{list:?}");
        }
        assert_eq!(moments(&points(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]])), None);
        assert_eq!(moments(&points(&[[0.0, 0.0], [3.0, 3.0]])), None);
    }

    /// A regular polygon: area ½·n·r²·sin(2π/n) (Euclid's way of cutting it in triangles).
    #[test]
    fn regular_polygons() {
        for n in [3_u32, 4, 6, 360, 5000] {
            let a = |i: u32| std::f64::consts::TAU * f64::from(i) / f64::from(n);
            let p: Vec<Point<Real>> =
                (0..n).map(|i| Point::new(9.0 + 2.0 * libm::cos(a(i)), 2.0 * libm::sin(a(i)))).collect();
            let m = moments(&p).unwrap();
            assert!((m.area - f64::from(n) * 2.0 * libm::sin(a(1))).abs() < 1e-9);
            assert!(m.centroid.distance(Point::new(9.0, 0.0)) < 1e-9);
            assert_eq!(crossing_edges(&p), None);
        }
    }

    proptest! {
        /// The sweep finds a crossing just when comparing every side with every other does.
        #[test]
        fn the_sweep_misses_nothing(list in prop::collection::vec(prop::array::uniform2(0..12i32), 4..9)) {
            let p = points(&list.iter().map(|c| c.map(f64::from)).collect::<Vec<_>>());
            prop_assume!((0..p.len()).all(|i| p[i] != p[(i + 1) % p.len()]));
            let n = p.len();
            let side = |i: usize| (p[i], p[(i + 1) % n]);
            let mut found = false;
            for i in 0..n {
                found |= folds_back(side(i), side((i + 1) % n));
                for j in i + 2..n {
                    found |= (i, j) != (0, n - 1) && meet(side(i), side(j));
                }
            }
            prop_assert_eq!(crossing_edges(&p).is_some(), found);
        }
    }
}
