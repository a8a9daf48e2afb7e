//! Pieces of sheet: joined, and cut off along a line.

use super::overlay::overlay;
use super::{Line, Point, Space, Vector, contains, signed_area};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// A piece of flat sheet: its border, and the holes in it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(bound = "")]
pub struct Patch<S: Space> {
    /// The border, clockwise as seen on a screen (y down), the last point joining the first.
    pub outer: Vec<Point<S>>,
    /// Holes, the other way round.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Vec<Point<S>>>,
}

impl<S: Space> Patch<S> {
    /// The area left, in the space's unit squared.
    pub fn area(&self) -> f64 {
        signed_area(&self.outer).abs() - self.holes.iter().map(|h| signed_area(h).abs()).sum::<f64>()
    }

    /// Its rings, the border clockwise and the holes the other way, whichever way they were given.
    fn rings(&self) -> Vec<Vec<Point<S>>> {
        let turned = |ring: &Vec<Point<S>>, clockwise: bool| {
            let mut ring = ring.clone();
            if (signed_area(&ring) > 0.0) != clockwise {
                ring.reverse();
            }
            ring
        };
        std::iter::once(turned(&self.outer, true))
            .chain(self.holes.iter().map(|h| turned(h, false)))
            .collect()
    }
}

/// The pieces as one, or as few as touch: what overlaps counts once, and where two run along each other no farther than
/// `gap` apart (the two sides of a drawn line), what lies between them is filled in. Holes are kept, but for what another
/// piece covers.
///
/// # Units
/// `gap` in the space's unit, ≥ 0.
///
/// # Errors
/// `plane.outline-not-finite`, `plane.tangled` for borders that can't be laid over each other; `plane.tolerance` for a gap
/// that is no length.
pub fn join<S: Space>(pieces: &[Patch<S>], gap: f64) -> Result<Vec<Patch<S>>, Say> {
    if !(gap >= 0.0 && gap.is_finite()) {
        return Err(Say::new("plane.tolerance"));
    }
    let mut rings: Vec<(usize, Vec<Point<S>>)> = Vec::new();
    for piece in pieces {
        rings.extend(piece.rings().into_iter().map(|r| (0, r)));
    }
    if gap > 0.0 {
        for (i, a) in pieces.iter().enumerate() {
            // Each way, since the feet of one border's points may pass over much of the other.
            for (_, b) in pieces.iter().enumerate().filter(|(j, _)| *j != i) {
                rings.extend(bridges(&a.outer, &b.outer, gap).into_iter().map(|r| (1, r)));
            }
        }
    }
    let found = overlay(&rings, |w| w[0] > 0 || w[1] > 0)?;
    Ok(patches(found, gap))
}

/// What of a piece lies on the side of `line` where `keep` is.
///
/// # Errors
/// `plane.cut-side` when `keep` lies on the line; `plane.outline-not-finite`, `plane.tangled` as [`join`].
pub fn cut<S: Space>(piece: &Patch<S>, line: &Line<S>, keep: Point<S>) -> Result<Vec<Patch<S>>, Say> {
    let side = line.distance(keep);
    if !(side.abs() > 0.0 && side.is_finite()) {
        return Err(Say::new("plane.cut-side"));
    }
    let runs = piece.outer.iter().map(|p| line.run(*p));
    let (low, high) = runs.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), r| (l.min(r), h.max(r)));
    let deep = piece.outer.iter().map(|p| line.distance(*p).abs()).fold(0.0, f64::max);
    if !((high - low).is_finite() && deep.is_finite()) || piece.outer.len() < 3 {
        return Err(Say::new("plane.outline-not-finite"));
    }
    let out =
        Vector::new(-line.along.y, line.along.x) * libm::copysign(1.1 * deep + 1e-9 * (high - low), side);
    let margin = 0.05 * (high - low + deep);
    let (a, b) = (line.at + line.along * (low - margin), line.at + line.along * (high + margin));
    let mut half = vec![a, b, b + out, a + out];
    if signed_area(&half) < 0.0 {
        half.reverse();
    }
    let mut rings: Vec<(usize, Vec<Point<S>>)> = piece.rings().into_iter().map(|r| (0, r)).collect();
    rings.push((1, half));
    Ok(patches(overlay(&rings, |w| w[0] > 0 && w[1] > 0)?, 0.0))
}

/// Rings sorted into borders and their holes; slivers no wider than rounding are left out.
fn patches<S: Space>(rings: Vec<Vec<Point<S>>>, gap: f64) -> Vec<Patch<S>> {
    let largest = rings.iter().map(|r| signed_area(r).abs()).fold(0.0, f64::max);
    // A hole that fits into the gap closed was left between two feet of a bridge.
    let least = (1e-9 * largest).max(0.25 * gap * gap);
    let (outer, holes): (Vec<_>, Vec<_>) = rings
        .into_iter()
        .filter(|r| signed_area(r).abs() > if signed_area(r) > 0.0 { 1e-9 * largest } else { least })
        .partition(|r| signed_area(r) > 0.0);
    let mut found: Vec<Patch<S>> =
        outer.into_iter().map(|outer| Patch { outer, holes: Vec::new() }).collect();
    for hole in holes {
        let Some(p) = within(&hole) else { continue };
        let holds = |f: &&mut Patch<S>| contains(&f.outer, p);
        let size = |f: &&mut Patch<S>| signed_area(&f.outer);
        if let Some(home) = found.iter_mut().filter(holds).min_by(|a, b| size(a).total_cmp(&size(b))) {
            home.holes.push(hole);
        }
    }
    found
}

/// A place just inside the first side of a hole: within the sheet around it, but for a hair.
fn within<S: Space>(ring: &[Point<S>]) -> Option<Point<S>> {
    let (a, b) = (*ring.first()?, *ring.get(1)?);
    let step = b - a;
    // A hole runs the other way, so that its inside lies to the left as seen on a screen.
    Some(a + step * 0.5 + Vector::new(step.y, -step.x) * 1e-3)
}

/// The strips between two borders where they run no farther than `gap` apart, each reaching a hair into both.
fn bridges<S: Space>(a: &[Point<S>], b: &[Point<S>], gap: f64) -> Vec<Vec<Point<S>>> {
    let dense = super::border::Border::new(a, true, (gap / 2.0).max(1e-9));
    let Ok(dense) = dense else { return Vec::new() };
    let finder = Finder::new(b, gap);
    let feet: Vec<Option<Point<S>>> = dense.points.iter().map(|p| finder.foot(*p)).collect();
    let n = feet.len();
    let mut strips = Vec::new();
    for i in 0..n {
        let (p, q) = (dense.points[i], dense.points[(i + 1) % n]);
        let (Some(f), Some(g)) = (feet[i], feet[(i + 1) % n]) else { continue };
        // Feet far from each other lie to either side of a bay.
        if f.distance(g) > 2.0 * gap {
            continue;
        }
        let hair = 0.02;
        let (over, under) =
            (|p: Point<S>, f: Point<S>| f + (f - p) * hair, |p: Point<S>, f: Point<S>| p + (p - f) * hair);
        let mut strip = vec![under(p, f), under(q, g), over(q, g), over(p, f)];
        if signed_area(&strip) < 0.0 {
            strip.reverse();
        }
        strips.push(strip);
    }
    strips
}

/// A square of the net, and a side in it.
type Sided<S> = ((i64, i64), [Point<S>; 2]);

/// Sides of a ring by the squares of a coarse net, to find the nearest within a reach quickly.
struct Finder<S: Space> {
    /// In the order of their squares.
    sides: Vec<Sided<S>>,
    size: f64,
    reach: f64,
}

impl<S: Space> Finder<S> {
    fn new(ring: &[Point<S>], reach: f64) -> Finder<S> {
        let whole = super::perimeter(ring);
        let size = reach.max(whole / 2000.0).max(1e-9);
        let n = ring.len();
        let mut finder = Finder { sides: Vec::new(), size, reach };
        for i in 0..n {
            let (a, b) = (ring[i], ring[(i + 1) % n]);
            // Long sides in parts no longer than a square, each in the square of its middle.
            let parts = libm::ceil(a.distance(b) / size).clamp(1.0, 4000.0) as usize;
            for k in 0..parts {
                let at = |k: usize| a + (b - a) * (k as f64 / parts as f64);
                let side = [at(k), at(k + 1)];
                let square = finder.square(side[0] + (side[1] - side[0]) * 0.5);
                finder.sides.push((square, side));
            }
        }
        crate::order::sort_by_key(&mut finder.sides, |(square, _)| *square);
        finder
    }

    fn square(&self, p: Point<S>) -> (i64, i64) {
        (libm::floor(p.x / self.size) as i64, libm::floor(p.y / self.size) as i64)
    }

    /// The nearest place of the ring to `p`, if it is within reach.
    fn foot(&self, p: Point<S>) -> Option<Point<S>> {
        let (x, y) = self.square(p);
        let mut best: Option<Point<S>> = None;
        for square in (-2..=2).flat_map(|i| (-2..=2).map(move |j| (x + i, y + j))) {
            let from = self.sides.partition_point(|(s, _)| *s < square);
            for (_, [a, b]) in self.sides[from..].iter().take_while(|(s, _)| *s == square) {
                let step = *b - *a;
                let t = ((p - *a).dot(step) / step.dot(step)).clamp(0.0, 1.0);
                let foot = if t.is_finite() { *a + step * t } else { *a };
                if foot.distance(p) <= best.map_or(self.reach, |f| f.distance(p)) {
                    best = Some(foot);
                }
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    type P = Point<Real>;

    fn sheet(outer: &[[f64; 2]]) -> Patch<Real> {
        Patch { outer: outer.iter().map(|p| P::from(*p)).collect(), holes: Vec::new() }
    }

    fn oblong(x: f64, y: f64, w: f64, h: f64) -> Patch<Real> {
        sheet(&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
    }

    /// How many pieces, how many holes in all, and the area, worked by hand on squares.
    fn check(name: &str, found: &[Patch<Real>], pieces: usize, holes: usize, area: f64) {
        let sum: f64 = found.iter().map(Patch::area).sum();
        let all: usize = found.iter().map(|p| p.holes.len()).sum();
        assert_eq!((found.len(), all), (pieces, holes), "{name}: {found:?}");
        assert!((sum - area).abs() < 1e-4, "{name}: {sum}, not {area}");
        assert!(found.iter().all(|p| signed_area(&p.outer) > 0.0));
    }

    #[test]
    fn squares_joined() {
        let square = oblong(0.0, 0.0, 10.0, 10.0);
        let mut framed = oblong(0.0, 0.0, 30.0, 30.0);
        framed.holes.push(oblong(5.0, 5.0, 10.0, 10.0).outer);
        let reversed = |mut p: Patch<Real>| {
            p.outer.reverse();
            p
        };
        for (name, pieces, gap, expected) in [
            ("overlapping", vec![square.clone(), oblong(5.0, 5.0, 10.0, 10.0)], 0.0, (1, 0, 175.0)),
            ("the same twice", vec![square.clone(), square.clone()], 0.0, (1, 0, 100.0)),
            ("side by side", vec![square.clone(), oblong(10.0, 0.0, 10.0, 10.0)], 0.0, (1, 0, 200.0)),
            ("half along a side", vec![square.clone(), oblong(10.0, 5.0, 10.0, 10.0)], 0.0, (1, 0, 200.0)),
            ("a line between", vec![square.clone(), oblong(11.0, 0.0, 10.0, 10.0)], 1.5, (1, 0, 210.0)),
            ("reversed", vec![reversed(square.clone()), oblong(11.0, 0.0, 10.0, 10.0)], 1.5, (1, 0, 210.0)),
            ("too far", vec![square.clone(), oblong(12.0, 0.0, 10.0, 10.0)], 1.5, (2, 0, 200.0)),
            ("corners", vec![square.clone(), oblong(10.0, 10.0, 10.0, 10.0)], 0.0, (2, 0, 200.0)),
            ("a hole kept", vec![framed.clone(), oblong(25.0, 0.0, 10.0, 10.0)], 0.0, (1, 1, 850.0)),
            ("a hole covered", vec![framed.clone(), oblong(5.0, 5.0, 10.0, 10.0)], 0.0, (1, 0, 900.0)),
            ("a hole half covered", vec![framed.clone(), oblong(0.0, 0.0, 10.0, 30.0)], 0.0, (1, 1, 850.0)),
            ("an island", vec![framed.clone(), oblong(8.0, 8.0, 2.0, 2.0)], 0.0, (2, 1, 804.0)),
            ("nothing", vec![], 1.0, (0, 0, 0.0)),
        ] {
            let found = join(&pieces, gap).unwrap();
            check(name, &found, expected.0, expected.1, expected.2);
        }
    }

    #[test]
    fn squares_cut() {
        let upright = Line::through(P::new(4.0, -3.0), P::new(4.0, 9.0)).unwrap();
        let square = oblong(0.0, 0.0, 10.0, 10.0);
        let (left, right) = (P::new(0.0, 5.0), P::new(9.0, 5.0));
        check("left", &cut(&square, &upright, left).unwrap(), 1, 0, 40.0);
        check("right", &cut(&square, &upright, right).unwrap(), 1, 0, 60.0);
        let beside = Line { at: P::new(20.0, 0.0), ..upright };
        check("all of it", &cut(&square, &beside, left).unwrap(), 1, 0, 100.0);
        check("none of it", &cut(&square, &beside, P::new(30.0, 0.0)).unwrap(), 0, 0, 0.0);
        let along = Line { at: P::new(10.0, 0.0), ..upright };
        check("along its side", &cut(&square, &along, left).unwrap(), 1, 0, 100.0);
        // A U cut across its legs falls in two; a ring across its hole too.
        let u = sheet(&[
            [0.0, 0.0],
            [3.0, 0.0],
            [3.0, 6.0],
            [6.0, 6.0],
            [6.0, 0.0],
            [9.0, 0.0],
            [9.0, 9.0],
            [0.0, 9.0],
        ]);
        let level = Line::through(P::new(0.0, 4.0), P::new(1.0, 4.0)).unwrap();
        check("legs", &cut(&u, &level, P::new(0.0, 0.0)).unwrap(), 2, 0, 24.0);
        check("foot", &cut(&u, &level, P::new(0.0, 8.0)).unwrap(), 1, 0, 39.0);
        let mut framed = oblong(0.0, 0.0, 30.0, 30.0);
        framed.holes.push(oblong(10.0, 10.0, 10.0, 10.0).outer);
        let through = Line::through(P::new(0.0, 15.0), P::new(1.0, 15.0)).unwrap();
        check("through a hole", &cut(&framed, &through, P::new(0.0, 0.0)).unwrap(), 1, 0, 400.0);
        let past = Line::through(P::new(0.0, 25.0), P::new(1.0, 25.0)).unwrap();
        check("past a hole", &cut(&framed, &past, P::new(0.0, 0.0)).unwrap(), 1, 1, 650.0);
        assert_eq!(cut(&square, &upright, upright.at).unwrap_err().key, "plane.cut-side");
        let nan = sheet(&[[f64::NAN, 0.0], [1.0, 0.0], [1.0, 1.0]]);
        assert!(
            cut(&nan, &upright, left).is_err()
                && join(&[nan], 0.0).is_err()
                && join(&[square], -1.0).is_err()
        );
    }

    /// Two wavy halves of a disc, a drawn line's width apart: joined, the area is the disc's but for the line's ends.
    #[test]
    fn across_a_drawn_line() {
        let wave = |y: f64| 3.0 * libm::sin(y / 20.0);
        let half = |side: f64| {
            let mut outer: Vec<P> = (0..=200)
                .map(|i| TAU / 4.0 * (f64::from(i) / 100.0 - 1.0))
                .map(|t| {
                    P::new(
                        side * (1.0 + 100.0 * libm::cos(t)) + wave(100.0 * libm::sin(t)),
                        100.0 * libm::sin(t),
                    )
                })
                .collect();
            outer.extend((1..100).map(|i| 100.0 - 2.0 * f64::from(i)).map(|y| P::new(side + wave(y), y)));
            Patch { outer, holes: Vec::new() }
        };
        let found = join(&[half(1.0), half(-1.0)], 2.5).unwrap();
        // Cavalieri: shearing by the wave changes no area; the strip is 2 wide and 200 high.
        check("disc", &found, 1, 0, signed_area(&half(1.0).outer).abs() * 2.0 + 400.0);
    }

    fn blob(list: &[f64], x: f64, y: f64) -> Patch<Real> {
        let n = list.len() as f64;
        let at = |(i, r): (usize, &f64)| {
            let t = TAU * i as f64 / n;
            P::new(x + 40.0 * r * libm::cos(t), y + 40.0 * r * libm::sin(t))
        };
        Patch { outer: list.iter().enumerate().map(at).collect(), holes: Vec::new() }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// What is cut off and what is left make up the whole; a join covers what either covers and nothing else.
        #[test]
        fn areas_add_up(a in prop::collection::vec(0.2..1.0f64, 3..40), b in prop::collection::vec(0.2..1.0f64, 3..40), x in -60.0..60.0f64, turn in 0.0..3.1f64, at in -50.0..50.0f64) {
            let (a, b) = (blob(&a, 0.0, 0.0), blob(&b, x, 0.3 * x));
            let line = Line { at: P::new(at, 0.0), along: Vector::new(libm::cos(turn), libm::sin(turn)) };
            let beside = Vector::new(-line.along.y, line.along.x);
            let area = |p: &[Patch<Real>]| p.iter().map(Patch::area).sum::<f64>();
            // Borders of under 1,000 in all, each place rounded to a grid of 2^26 steps over less than 300.
            let rounding = 1000.0 * 300.0 / 67_108_864.0;
            let (one, other) = (cut(&a, &line, line.at + beside).unwrap(), cut(&a, &line, line.at + beside * -1.0).unwrap());
            prop_assert!((area(&one) + area(&other) - a.area()).abs() < rounding, "{} {} {}", area(&one), area(&other), a.area());
            let both = join(&[a.clone(), b.clone()], 0.0).unwrap();
            let rings = vec![(0, a.rings().remove(0)), (1, b.rings().remove(0))];
            let shared = patches(overlay(&rings, |w| w[0] > 0 && w[1] > 0).unwrap(), 0.0);
            prop_assert!((area(&both) + area(&shared) - a.area() - b.area()).abs() < 2.0 * rounding);
            for i in 0..60 {
                let p = P::new(f64::from(i * 37 % 120) - 60.3, f64::from(i * 53 % 90) - 45.2);
                let near = |p: P| [&a, &b].iter().any(|s| crate::plane::Curve::polygon(&s.outer).nearest(p).is_some_and(|n| n.1 < 1e-3));
                let holds = |s: &Patch<Real>| contains(&s.outer, p) && !s.holes.iter().any(|h| contains(h, p));
                let expected = contains(&a.outer, p) || contains(&b.outer, p);
                prop_assert!(near(p) || both.iter().any(holds) == expected, "{p:?}");
            }
        }

        /// Near-coincident borders and rings that cross themselves come out sound.
        #[test]
        fn never_tangled(list in prop::collection::vec(prop::array::uniform2(0..8i32), 3..24), off in -1e-6..1e-6f64, gap in 0.0..2.0f64) {
            let at = |off: f64| Patch { outer: list.iter().map(|p| P::new(f64::from(p[0]) + off, f64::from(p[1]) - off)).collect(), holes: Vec::new() };
            let found = join(&[at(0.0), at(off)], gap);
            for p in found.unwrap() {
                prop_assert!(p.area() > 0.0);
            }
        }
    }
}
