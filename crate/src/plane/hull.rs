//! The convex hull, and the greatest length and width found on it.

use super::{Line, Point, Space};

/// The greatest length of a set of points and its extent square to that.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Greatest {
    /// The two points farthest apart, by number, the lower first.
    pub ends: [usize; 2],
    /// Their distance, in the space's unit.
    pub length: f64,
    /// The points farthest out to either side of the line through the ends: left of it, right of it.
    pub sides: [usize; 2],
    /// The extent square to the greatest length, in the space's unit.
    pub width: f64,
}

/// The corners of the convex hull by number, clockwise as seen on a screen (y down), from the leftmost;
/// points along a side of it are left out.
///
/// # References
/// Andrew, Information Processing Letters 9 (1979) 216.
pub fn convex_hull<S: Space>(points: &[Point<S>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).filter(|&i| points[i].is_finite()).collect();
    let place = |&i: &usize| (points[i].x, points[i].y);
    crate::order::sort_by(&mut order, |a, b| {
        place(a).0.total_cmp(&place(b).0).then(place(a).1.total_cmp(&place(b).1))
    });
    order.dedup_by(|a, b| points[*a] == points[*b]);
    if order.len() < 3 {
        return order;
    }
    let mut hull = half(points, order.iter().copied());
    let lower = half(points, order.iter().rev().copied());
    hull.pop();
    hull.extend(&lower[..lower.len() - 1]);
    hull
}

/// The chain that turns one way only.
fn half<S: Space>(points: &[Point<S>], order: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut chain: Vec<usize> = Vec::new();
    for i in order {
        while let [.., a, b] = chain[..] {
            if (points[b] - points[a]).cross(points[i] - points[b]) > 0.0 {
                break;
            }
            chain.pop();
        }
        chain.push(i);
    }
    chain
}

/// The greatest length and the width square to it; `None` when all points are in one place.
///
/// # References
/// Antipodal pairs by rotating callipers: Shamos, Computational Geometry (thesis, Yale, 1978); Preparata &
/// Shamos, Computational Geometry (1985), 4.2.3.
pub fn greatest<S: Space>(points: &[Point<S>]) -> Option<Greatest> {
    let hull = convex_hull(points);
    let n = hull.len();
    if n < 2 {
        return None;
    }
    let at = |k: usize| points[hull[k % n]];
    let mut best = (0.0, 0, 0);
    let mut far = 1;
    for k in 0..n {
        let side = at(k + 1) - at(k);
        loop {
            for end in [k, k + 1] {
                let length = at(end).distance(at(far));
                if length > best.0 {
                    best = (length, hull[end % n], hull[far % n]);
                }
            }
            // Equal heights (parallel sides) are stepped over too, once round at most.
            if side.cross(at(far + 1) - at(far)) < 0.0 || far >= k + n {
                break;
            }
            far += 1;
        }
    }
    let (length, a, b) = best;
    let line = Line::through(points[a.min(b)], points[a.max(b)])?;
    let height = |i: &&usize| line.distance(points[**i]);
    let low = *hull.iter().min_by(|i, j| height(i).total_cmp(&height(j)))?;
    let high = *hull.iter().max_by(|i, j| height(i).total_cmp(&height(j)))?;
    let width = line.distance(points[high]) - line.distance(points[low]);
    Some(Greatest { ends: [a.min(b), a.max(b)], length, sides: [low, high], width })
}

/// The least box round a part: what it is cut from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastBox {
    /// Its longer side, then its shorter one.
    pub sides: [f64; 2],
    /// Which way the longer side runs, radians, clockwise from level as seen (y down).
    pub along: f64,
}

/// The rectangle of least area round all points; `None` when they lie on a line. A rectangle's greatest length is its diagonal:
/// this is what its sides are.
///
/// # References
/// One side lies along a side of the hull: Freeman & Shapira, Communications of the ACM 18 (1975) 409 (memory).
pub fn least_box<S: Space>(points: &[Point<S>]) -> Option<LeastBox> {
    let hull: Vec<Point<S>> =
        convex_hull(points).into_iter().filter_map(|i| points.get(i).copied()).collect();
    let mut best: Option<(f64, LeastBox)> = None;
    for (i, a) in hull.iter().enumerate() {
        let b = hull.get((i + 1) % hull.len())?;
        let side = *b - *a;
        let length = side.length();
        if !(length > 0.0) {
            continue;
        }
        let (c, s) = (side.x / length, side.y / length);
        let reach = |u: f64, v: f64| {
            let at = hull.iter().map(|p| (p.x - a.x) * u + (p.y - a.y) * v);
            let [low, high] = at.fold([f64::MAX, f64::MIN], |[l, h], t| [l.min(t), h.max(t)]);
            high - low
        };
        let (along, across) = (reach(c, s), reach(-s, c));
        let turn = if along >= across { 0.0 } else { std::f64::consts::FRAC_PI_2 };
        let found =
            LeastBox { sides: [along.max(across), along.min(across)], along: libm::atan2(s, c) + turn };
        if along * across > 0.0 && best.is_none_or(|(area, _)| along * across < area) {
            best = Some((along * across, found));
        }
    }
    best.map(|(_, b)| b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Real, contains};
    use proptest::prelude::*;

    fn points(list: &[[f64; 2]]) -> Vec<Point<Real>> {
        list.iter().map(|p| Point::from(*p)).collect()
    }

    /// A 4 × 3 rectangle with points inside and along its sides: the diagonal is 5, and the two other
    /// corners each lie 12/5 from it (the altitude of a 3-4-5 triangle).
    #[test]
    fn a_rectangle() {
        let p = points(&[[0.0, 0.0], [2.0, 0.0], [4.0, 0.0], [2.0, 1.0], [4.0, 3.0], [0.0, 3.0], [0.0, 1.0]]);
        assert_eq!(convex_hull(&p), [0, 2, 4, 5]);
        let g = greatest(&p).unwrap();
        assert!((g.length - 5.0).abs() < 1e-12 && (g.width - 4.8).abs() < 1e-12);
    }

    #[test]
    fn few_points() {
        assert_eq!(greatest(&points(&[])), None);
        assert_eq!(greatest(&points(&[[1.0, 1.0], [1.0, 1.0]])), None);
        let g = greatest(&points(&[[0.0, 0.0], [1.0, 1.0], [3.0, 3.0]])).unwrap();
        assert_eq!((g.ends, g.width), ([0, 2], 0.0));
    }

    proptest! {
        #[test]
        fn as_good_as_trying_every_pair(list in prop::collection::vec(prop::array::uniform2(0..30i32), 2..40)) {
            let p = points(&list.iter().map(|c| c.map(f64::from)).collect::<Vec<_>>());
            let longest = p.iter().flat_map(|a| p.iter().map(|b| a.distance(*b))).fold(0.0, f64::max);
            prop_assert_eq!(greatest(&p).map_or(0.0, |g| g.length), longest);
        }

        #[test]
        fn the_hull_holds_every_point(list in prop::collection::vec(prop::array::uniform2(-9.0..9.0f64), 3..40)) {
            let p = points(&list);
            let hull: Vec<_> = convex_hull(&p).into_iter().map(|i| p[i]).collect();
            let middle = crate::plane::moments(&hull).unwrap().centroid;
            for q in p {
                prop_assert!(contains(&hull, q + (middle - q) * 1e-9));
            }
        }
    }

    /// By hand: a rectangle of 30 × 6, however it is turned, and a triangle of 3, 4, 5 whose box is 3 × 4 or 5 × 2.4, both 12.
    #[test]
    fn a_board_in_its_box() {
        for turn in [0.0, 0.3, 1.2, -2.0] {
            let (c, s) = (libm::cos(turn), libm::sin(turn));
            let corners = [[0.0, 0.0], [30.0, 0.0], [30.0, 6.0], [0.0, 6.0]];
            let points: Vec<Point<crate::plane::Finished>> =
                corners.iter().map(|[x, y]| Point::new(c * x - s * y, s * x + c * y)).collect();
            let found = least_box(&points).unwrap();
            assert!((found.sides[0] - 30.0).abs() < 1e-9 && (found.sides[1] - 6.0).abs() < 1e-9, "{found:?}");
            assert!(libm::sin(found.along - turn).abs() < 1e-9, "{found:?} {turn}");
            assert!(least_box(&points[..2]).is_none());
            let right: Vec<_> = [[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]
                .map(|[x, y]| Point::<crate::plane::Finished>::new(x, y))
                .to_vec();
            let [a, b] = least_box(&right).unwrap().sides;
            assert!((a * b - 12.0).abs() < 1e-9);
        }
    }
}
