//! Outlines as they are drawn: whole or half, mirrored, and refused where nothing can be made of them.

use super::draw::{Path, Step};
use super::order::{Marked, Outline, Pattern, Shape, Under};
use super::paper::LONGEST_WHOLE;
use crate::plane::{Cubic, Curve, Finished, Homography, Line, Point, Vector, crossing_edges, signed_area};
use crate::words::Say;

type P = Point<Finished>;

/// Nothing smaller is drawn, mm.
const SMALLEST: f64 = 0.5;

/// One border as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Border {
    /// What is drawn; of a half not the fold.
    pub path: Path,
    /// Points along it, near enough for finding places; the last joins the first.
    pub points: Vec<P>,
}

/// How far flattened points may stray from an outline of this size, mm: far under a line's width.
fn tolerance([l, t, r, b]: [f64; 4]) -> f64 {
    ((r - l).max(b - t) / 40_000.0).max(0.02)
}

/// Left, top, right, bottom of a pattern: of its outline and of what is shown besides.
///
/// # Errors
/// `sheet.no-area`, `sheet.too-long`, `sheet.too-small`, `sheet.not-finite`, `sheet.crossing` for what no pattern can be made of.
pub fn extent(pattern: &Pattern) -> Result<[f64; 4], Say> {
    let numbers = || pattern.bounds.iter().chain([&pattern.margin]);
    let marks = || pattern.marks.iter().all(|m| marked_points(&m.shape).iter().all(|p| p.is_finite()));
    let axis = pattern.axis.is_none_or(|a| a[0].is_finite() && a[1].is_finite());
    let ways = [pattern.grain, pattern.front, pattern.up].iter().flatten().all(|a| a.is_finite());
    if !numbers().all(|v| v.is_finite()) || !marks() || !axis || !ways {
        return Err(Say::new("sheet.not-finite"));
    }
    let outer = match &pattern.outline {
        Some(outline) => Some(sound(outline)?),
        None => None,
    };
    let [l, t, r, b] = pattern.bounds;
    let shown = (r > l && b > t).then_some(pattern.bounds);
    let all = match (outer, shown) {
        (Some(a), Some(b)) => [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])],
        (Some(a), None) | (None, Some(a)) => a,
        (None, None) => return Err(Say::new("sheet.no-area")),
    };
    fits(all[2] - all[0], all[3] - all[1])?;
    Ok(all)
}

/// A finished width and height that can be drawn.
///
/// # Errors
/// `sheet.not-finite`, `sheet.too-long`, `sheet.too-small`.
pub fn fits(wide: f64, high: f64) -> Result<(), Say> {
    let (most, least) = (wide.max(high), wide.min(high));
    if !(wide.is_finite() && high.is_finite()) {
        Err(Say::new("sheet.not-finite"))
    } else if most > LONGEST_WHOLE {
        Err(Say::new("sheet.too-long").length("size", most))
    } else if most < SMALLEST || least <= 0.0 {
        Err(Say::new("sheet.too-small"))
    } else {
        Ok(())
    }
}

/// The bounds of an outline that can be cut.
fn sound(outline: &Outline) -> Result<[f64; 4], Say> {
    let first = outline.rings.first().ok_or_else(|| Say::new("sheet.no-area"))?;
    if !outline.rings.iter().all(Curve::is_finite) {
        return Err(Say::new("sheet.not-finite"));
    }
    let bounds = first.bounds().ok_or_else(|| Say::new("sheet.no-area"))?;
    let (wide, high) = (bounds[2] - bounds[0], bounds[3] - bounds[1]);
    if wide.max(high) > LONGEST_WHOLE {
        return Err(Say::new("sheet.too-long").length("size", wide.max(high)));
    }
    let near = tolerance(bounds);
    let rings: Vec<Vec<P>> = outline.rings.iter().map(|r| r.flatten(near)).collect();
    // A figure of eight holds as much one way as the other, though it is no flat thing.
    let flat =
        |r: &Vec<P>| !(signed_area(r).abs() > 1e-9 * (wide * wide + high * high).max(1e-9)) && lies_flat(r);
    if rings.iter().any(flat) {
        return Err(Say::new("sheet.no-area"));
    }
    if rings.iter().any(|r| crossing_edges(r).is_some()) {
        return Err(Say::new("sheet.crossing"));
    }
    Ok(bounds)
}

/// All of it lies on one line.
fn lies_flat(ring: &[P]) -> bool {
    let Some(first) = ring.first() else { return true };
    let far = ring.iter().map(|p| p.distance(*first)).fold(0.0, f64::max);
    let line = ring.iter().find(|p| p.distance(*first) >= far).and_then(|p| Line::through(*first, *p));
    line.is_none_or(|l| ring.iter().all(|p| l.distance(*p).abs() <= 1e-7 * far))
}

/// The borders of a pattern as they are drawn; none without an outline.
pub fn borders(pattern: &Pattern) -> Vec<Border> {
    let of = |ring: &Curve<Finished>| Border {
        path: Path::curve(ring),
        points: ring.flatten(tolerance(ring.bounds().unwrap_or_default())),
    };
    pattern.outline.iter().flat_map(|o| o.rings.iter().map(of)).collect()
}

/// What of a pattern lies to the left of its centre line, and where the fold runs.
///
/// # Errors
/// `sheet.fold-none` without a centre line; `sheet.fold-apart` where that doesn't cross the outline.
pub fn half(pattern: &Pattern) -> Result<(Vec<Border>, [P; 2]), Say> {
    let axis =
        pattern.axis.and_then(|[a, b]| Line::through(a, b)).ok_or_else(|| Say::new("sheet.fold-none"))?;
    let mut all = Vec::new();
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for ring in pattern.outline.iter().flat_map(|o| &o.rings) {
        let near = tolerance(ring.bounds().unwrap_or_default());
        for chain in left_of(ring, &axis) {
            let mut path = Path { steps: vec![Step::Move(chain.pieces[0].0[0])] };
            let mut points = vec![chain.pieces[0].0[0]];
            for c in &chain.pieces {
                path.steps.push(Step::Cubic(c.0[1], c.0[2], c.0[3]));
                let n = 1.0 + (c.length() / (20.0 * near)).min(200.0);
                points.extend((1..=n as usize).map(|k| c.at(k as f64 / libm::floor(n))));
            }
            if chain.closed {
                path.steps.push(Step::Close);
            } else {
                for p in [points[0], points[points.len() - 1]] {
                    low = low.min(axis.run(p));
                    high = high.max(axis.run(p));
                }
            }
            all.push(Border { path, points });
        }
    }
    if high - low > 0.0 {
        Ok((all, [axis.at + axis.along * low, axis.at + axis.along * high]))
    } else {
        Err(Say::new("sheet.fold-apart"))
    }
}

/// Pieces of a ring, one after the other.
struct Chain {
    pieces: Vec<Cubic<Finished>>,
    closed: bool,
}

/// What of a ring lies to the left of a line, in pieces that begin and end on it.
fn left_of(ring: &Curve<Finished>, axis: &Line<Finished>) -> Vec<Chain> {
    let mut chains: Vec<Chain> = Vec::new();
    let mut open = false;
    let mut every = true;
    for c in ring.cubics() {
        for piece in split_at(&c, |p| axis.distance(p)) {
            if axis.distance(piece.at(0.5)) >= 0.0 {
                every = false;
                open = false;
                continue;
            }
            match chains.last_mut() {
                Some(chain) if open => chain.pieces.push(piece),
                _ => chains.push(Chain { pieces: vec![piece], closed: false }),
            }
            open = true;
        }
    }
    if every {
        chains.iter_mut().for_each(|c| c.closed = true);
    } else if open && chains.len() > 1 {
        // The ring begins in the middle of a chain: its end and its beginning are one.
        let first = chains.remove(0);
        let joins = |last: &Chain| last.pieces.last().map(|c| c.0[3]) == first.pieces.first().map(|c| c.0[0]);
        match chains.last_mut() {
            Some(last) if joins(last) => last.pieces.extend(first.pieces),
            _ => chains.insert(0, first),
        }
    }
    chains
}

/// A piece cut wherever `f`, which is linear in the place, passes through 0.
fn split_at(c: &Cubic<Finished>, f: impl Fn(P) -> f64) -> Vec<Cubic<Finished>> {
    let mut rest = *c;
    let mut done = 0.0;
    let mut out = Vec::new();
    for t in roots(c.0.map(f)) {
        let share = (t - done) / (1.0 - done);
        if share > 1e-9 && share < 1.0 - 1e-9 {
            let [first, last] = rest.split(share);
            out.push(first);
            rest = last;
            done = t;
        }
    }
    out.push(rest);
    out
}

/// Where a cubic with these Bernstein coefficients passes through 0 between 0 and 1, in order.
pub fn roots([a, b, c, d]: [f64; 4]) -> Vec<f64> {
    let at = |t: f64| {
        let u = 1.0 - t;
        a * u * u * u + 3.0 * b * u * u * t + 3.0 * c * u * t * t + d * t * t * t
    };
    // Between the turns of the cubic it runs one way only.
    let (p, q, r) = (b - a, c - b, d - c);
    let (k2, k1, k0) = (p - 2.0 * q + r, q - p, p);
    let mut stops = vec![0.0];
    let inner = k1 * k1 - k2 * k0;
    if k2.abs() > 1e-14 * (p.abs() + q.abs() + r.abs()) && inner > 0.0 {
        let root = libm::sqrt(inner);
        let (s, t) = ((-k1 - root) / k2, (-k1 + root) / k2);
        stops.extend([s.min(t), s.max(t)]);
    } else if k1 != 0.0 {
        stops.push(-k0 / (2.0 * k1));
    }
    stops.retain(|t| (0.0..1.0).contains(t));
    stops.push(1.0);
    let mut found: Vec<f64> = Vec::new();
    for pair in stops.windows(2) {
        let (mut low, mut high) = (pair[0], pair[1]);
        let (from, to) = (at(low), at(high));
        if from == 0.0 && found.last() != Some(&low) {
            found.push(low);
        }
        if (from < 0.0) == (to < 0.0) || from == 0.0 || to == 0.0 {
            continue;
        }
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if (at(middle) < 0.0) == (from < 0.0) { low = middle } else { high = middle }
        }
        found.push((low + high) / 2.0);
    }
    if at(1.0) == 0.0 && found.last() != Some(&1.0) {
        found.push(1.0);
    }
    found
}

/// A pattern as a mirror on `line` shows it. What is written stays as it is.
pub fn mirrored(pattern: &Pattern, line: &Line<Finished>) -> Pattern {
    let zero = line.mirrored(P::new(0.0, 0.0));
    let (x, y) = (line.mirrored(P::new(1.0, 0.0)) - zero, line.mirrored(P::new(0.0, 1.0)) - zero);
    let map: Homography<Finished, Finished> =
        Homography::from_rows([[x.x, y.x, zero.x], [x.y, y.y, zero.y], [0.0, 0.0, 1.0]]);
    let turn = |a: f64| {
        let way = line.mirrored(P::new(libm::cos(a), libm::sin(a))) - zero;
        libm::atan2(way.y, way.x)
    };
    let rings = |o: &Outline| Outline {
        rings: o.rings.iter().filter_map(|r| r.through(&map, 1e-3)).collect(),
        ..Outline::default()
    };
    let [l, t, r, b] = pattern.bounds;
    let corners = [(l, t), (r, b)].map(|(x, y)| line.mirrored(P::new(x, y)));
    let [p, q] = corners;
    Pattern {
        outline: pattern.outline.as_ref().map(rings),
        bounds: [p.x.min(q.x), p.y.min(q.y), p.x.max(q.x), p.y.max(q.y)],
        marks: pattern
            .marks
            .iter()
            .map(|m| Marked { shape: mirrored_shape(&m.shape, line), ..m.clone() })
            .collect(),
        axis: pattern.axis.map(|a| a.map(|p| line.mirrored(p))),
        grain: pattern.grain.map(turn),
        front: pattern.front.map(turn),
        up: pattern.up.map(turn),
        picture: pattern.picture.as_ref().map(|u| Under { map: u.map.then(&map), ..u.clone() }),
        ..pattern.clone()
    }
}

/// A mark's shape as a mirror shows it.
pub fn mirrored_shape(shape: &Shape, line: &Line<Finished>) -> Shape {
    let turn = |p: &P| line.mirrored(*p);
    match shape {
        Shape::Point(p) => Shape::Point(turn(p)),
        Shape::Round { centre, radius, drilled } => {
            Shape::Round { centre: turn(centre), radius: *radius, drilled: *drilled }
        }
        Shape::Length([a, b]) => Shape::Length([turn(a), turn(b)]),
        Shape::Lines { points, closed } => {
            Shape::Lines { points: points.iter().map(turn).collect(), closed: *closed }
        }
        Shape::Lands { line: [a, b], thick } => Shape::Lands { line: [turn(a), turn(b)], thick: *thick },
    }
}

/// The places that a mark stands at; what isn't a number in it becomes a place that isn't.
pub fn marked_points(shape: &Shape) -> Vec<P> {
    match shape {
        Shape::Point(p) => vec![*p],
        Shape::Round { centre, radius, .. } => {
            [-1.0, 1.0].iter().map(|k| *centre + Vector::new(k * radius, k * radius)).collect()
        }
        Shape::Length(ends) => ends.to_vec(),
        Shape::Lines { points, .. } => points.clone(),
        Shape::Lands { line, thick } => line.iter().map(|p| *p + Vector::new(thick * 0.0, 0.0)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::trial::{ellipse, naca, naca_half, outline, pattern};
    use proptest::prelude::*;

    #[test]
    fn what_no_pattern_can_be_made_of() {
        let square = |s: f64| outline(&[&[[0.0, 0.0], [s, 0.0], [s, s], [0.0, s]]]);
        let key = |p: &Pattern| extent(p).map_err(|e| e.key.into_owned());
        assert_eq!(key(&pattern(square(100.0))), Ok([0.0, 0.0, 100.0, 100.0]));
        for (o, expected) in [
            (outline(&[&[[0.0, 0.0], [9.0, 9.0], [9.0, 0.0], [0.0, 9.0]]]), "sheet.crossing"),
            (outline(&[&[[0.0, 0.0], [9.0, 9.0], [18.0, 18.0]]]), "sheet.no-area"),
            (outline(&[]), "sheet.no-area"),
            (outline(&[&[]]), "sheet.no-area"),
            (square(0.0), "sheet.no-area"),
            (square(0.1), "sheet.too-small"),
            (square(40_001.0), "sheet.too-long"),
            (square(f64::NAN), "sheet.not-finite"),
            (square(f64::INFINITY), "sheet.not-finite"),
        ] {
            assert_eq!(key(&pattern(o)), Err(expected.to_owned()));
        }
        let view = Pattern { outline: None, bounds: [1.0, 2.0, 31.0, 42.0], ..pattern(square(1.0)) };
        assert_eq!(key(&view), Ok([1.0, 2.0, 31.0, 42.0]));
        assert_eq!(key(&Pattern { bounds: [0.0; 4], ..view.clone() }), Err("sheet.no-area".to_owned()));
        assert_eq!(key(&Pattern { margin: f64::NAN, ..view.clone() }), Err("sheet.not-finite".to_owned()));
        assert_eq!(key(&Pattern { grain: Some(f64::NAN), ..view }), Err("sheet.not-finite".to_owned()));
    }

    /// A half's border stands on the ellipse and its area is πab/2.
    #[test]
    fn half_an_ellipse() {
        let mut p = pattern(Outline {
            rings: vec![ellipse([10.0, 20.0], 60.0, 25.0), ellipse([10.0, 20.0], 8.0, 8.0)],
            ..Outline::default()
        });
        assert_eq!(half(&p).unwrap_err().key, "sheet.fold-none");
        p.axis = Some([P::new(10.0, 60.0), P::new(10.0, -60.0)]);
        let (borders, fold) = half(&p).unwrap();
        assert_eq!(borders.len(), 2);
        let area = signed_area(&borders[0].points).abs();
        assert!((area / (std::f64::consts::PI * 60.0 * 25.0 / 2.0) - 1.0).abs() < 1e-4, "{area}");
        assert!(borders.iter().flat_map(|b| &b.points).all(|q| q.x <= 10.0 + 1e-6), "left of it, looking up");
        for q in &borders[0].points {
            let (x, y) = ((q.x - 10.0) / 60.0, (q.y - 20.0) / 25.0);
            assert!((x * x + y * y - 1.0).abs() < 1e-5, "{q:?}");
        }
        assert!((fold[0].distance(fold[1]) - 50.0).abs() < 1e-4, "{fold:?}");
        p.axis = Some([P::new(100.0, 60.0), P::new(100.0, -60.0)]);
        assert_eq!(half(&p).unwrap_err().key, "sheet.fold-apart");
    }

    #[test]
    fn half_of_what_the_line_crosses_often() {
        let comb = [
            [0.0, 0.0],
            [100.0, 0.0],
            [100.0, 30.0],
            [60.0, 30.0],
            [60.0, 10.0],
            [40.0, 10.0],
            [40.0, 30.0],
            [0.0, 30.0],
        ];
        let mut p = pattern(outline(&[&comb]));
        p.axis = Some([P::new(0.0, 20.0), P::new(10.0, 20.0)]);
        let (borders, fold) = half(&p).unwrap();
        // Above the line: all but the teeth, in one border; the line along the teeth's feet is the fold.
        let area: f64 = borders.iter().map(|b| signed_area(&b.points).abs()).sum();
        assert_eq!(borders.len(), 2, "the back, and the gap between the teeth");
        assert!((area - (100.0 * 20.0 + 20.0 * 10.0)).abs() < 1e-6, "{area}");
        assert!((fold[0].x - 0.0).abs() < 1e-9 && (fold[1].x - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_mirror_turns_all_of_it() {
        let mut p = pattern(Outline { rings: vec![naca(300.0)], ..Outline::default() });
        p.front = Some(std::f64::consts::PI);
        p.bounds = [-10.0, -30.0, 310.0, 40.0];
        p.marks = vec![crate::sheet::trial::marked(1, "", Shape::Point(P::new(90.0, 5.0)))];
        let line = Line::through(P::new(150.0, 0.0), P::new(150.0, 9.0)).unwrap();
        let m = mirrored(&p, &line);
        assert_eq!(m.bounds, [-10.0, -30.0, 310.0, 40.0]);
        assert!(m.front.unwrap().abs() < 1e-12);
        assert_eq!(m.marks[0].shape, Shape::Point(P::new(210.0, 5.0)));
        for q in m.outline.as_ref().unwrap().rings[0].flatten(0.01) {
            let x = (1.0 - q.x / 300.0).max(0.0);
            if x < 0.9999 {
                assert!((q.y.abs() - 300.0 * naca_half(x)).abs() < 0.01, "{q:?}");
            }
        }
        let back = mirrored(&m, &line);
        assert_eq!(back.marks, p.marks);
    }

    proptest! {
        /// The outside check: the polynomial made from its roots.
        #[test]
        fn roots_are_found(r in prop::array::uniform3(-1.0..2.0f64), k in 0.1..10.0f64) {
            let mut r = r.to_vec();
            r.sort_by(f64::total_cmp);
            prop_assume!(r.windows(2).all(|w| w[1] - w[0] > 1e-3) && r.iter().all(|t| t.abs() > 1e-6 && (t - 1.0).abs() > 1e-6));
            // Power form, then Bernstein.
            let (k1, k2) = (r[0] * r[1] + r[1] * r[2] + r[0] * r[2], -(r[0] + r[1] + r[2]));
            let (p0, p1, p2, p3) = (-k * r[0] * r[1] * r[2], k * k1, k * k2, k);
            let b = [p0, p0 + p1 / 3.0, p0 + 2.0 * p1 / 3.0 + p2 / 3.0, p0 + p1 + p2 + p3];
            let found = roots(b);
            let expected: Vec<f64> = r.into_iter().filter(|t| (0.0..=1.0).contains(t)).collect();
            prop_assert_eq!(found.len(), expected.len());
            for (a, b) in found.iter().zip(expected) { prop_assert!((a - b).abs() < 1e-8); }
        }
    }
}
