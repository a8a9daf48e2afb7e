//! Which point or line of which mark lies under a finger.
//!
//! # Units
//! Everything in picture px: the page's reach on the screen, divided by its zoom.

use super::shape::Shape;
use crate::plane::{Picture, Point, from_segment};

/// A point of a mark that lies within reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Handle {
    /// The mark's id.
    pub mark: u32,
    /// Which of its points, from 0.
    pub point: usize,
    /// How far away, in picture px.
    pub away: f64,
}

/// The point nearest to `at` within `reach`, of `marks` (id and points).
///
/// Points of `held`, the mark being worked on, come before any other within reach, as they lie on top. Of two
/// just as near, the later one lies on top.
pub fn nearest_handle(
    marks: &[(u32, &[Point<Picture>])],
    held: Option<u32>,
    at: Point<Picture>,
    reach: f64,
) -> Option<Handle> {
    let mut best: Option<Handle> = None;
    for &(mark, points) in marks {
        for (point, p) in points.iter().enumerate() {
            let away = p.distance(at);
            let found = Handle { mark, point, away };
            if away <= reach && best.is_none_or(|b| comes_before(&found, &b, held)) {
                best = Some(found);
            }
        }
    }
    best
}

fn comes_before(a: &Handle, b: &Handle, held: Option<u32>) -> bool {
    let (a_held, b_held) = (Some(a.mark) == held, Some(b.mark) == held);
    if a_held != b_held { a_held } else { a.away <= b.away }
}

/// The mark whose drawn line passes nearest to `at` within `reach`.
pub fn nearest_stroke(shapes: &[(u32, &Shape)], at: Point<Picture>, reach: f64) -> Option<u32> {
    let mut best: Option<(u32, f64)> = None;
    for &(mark, shape) in shapes {
        for stroke in &shape.strokes {
            let n = stroke.points.len();
            let last = if stroke.closed { n } else { n.saturating_sub(1) };
            for i in 0..last {
                let (Some(a), Some(b)) = (stroke.points.get(i), stroke.points.get((i + 1) % n)) else {
                    continue;
                };
                let away = from_segment(at, *a, *b);
                if away <= reach && best.is_none_or(|b| away <= b.1) {
                    best = Some((mark, away));
                }
            }
        }
    }
    best.map(|b| b.0)
}

#[cfg(test)]
mod tests {
    use super::super::shape::{Role, Stroke};
    use super::*;

    fn at(x: f64, y: f64) -> Point<Picture> {
        Point::new(x, y)
    }

    #[test]
    fn the_nearest_point_within_reach_is_taken_hold_of() {
        let (one, two) = ([at(0.0, 0.0), at(10.0, 0.0)], [at(12.0, 0.0), at(0.0, 0.0), at(f64::NAN, 1.0)]);
        let marks: [(u32, &[Point<Picture>]); 2] = [(7, &one), (9, &two)];
        let check = |held, place, reach, expected: Option<(u32, usize)>| {
            let got = nearest_handle(&marks, held, place, reach).map(|h| (h.mark, h.point));
            assert_eq!(got, expected, "at {place:?} within {reach}, {held:?} held");
        };
        check(None, at(10.9, 0.0), 3.0, Some((7, 1)));
        check(None, at(11.1, 0.0), 3.0, Some((9, 0)));
        check(Some(7), at(11.9, 0.0), 3.0, Some((7, 1)));
        check(Some(7), at(14.0, 0.0), 3.0, Some((9, 0)));
        check(None, at(0.0, 1.0), 3.0, Some((9, 1)));
        check(None, at(5.0, 0.0), 3.0, None);
        check(None, at(f64::NAN, 0.0), 3.0, None);
        check(None, at(0.0, 0.0), f64::NAN, None);
    }

    #[test]
    fn the_nearest_line_within_reach_is_taken_hold_of() {
        let stroke = |points: Vec<Point<Picture>>, closed| Stroke { points, closed, role: Role::Mark };
        let shape = |strokes| Shape { strokes, ..Shape::default() };
        let square =
            shape(vec![stroke(vec![at(0.0, 0.0), at(10.0, 0.0), at(10.0, 10.0), at(0.0, 10.0)], true)]);
        let line = shape(vec![stroke(vec![at(20.0, 0.0), at(20.0, 10.0)], false), stroke(vec![], true)]);
        let shapes = [(1, &square), (2, &line)];
        let check = |place, expected| assert_eq!(nearest_stroke(&shapes, place, 2.0), expected, "{place:?}");
        check(at(-1.0, 5.0), Some(1)); // the side that closes it
        check(at(5.0, 5.0), None);
        check(at(19.0, 5.0), Some(2));
        check(at(20.0, 11.5), Some(2));
        check(at(20.0, 12.5), None);
    }
}
