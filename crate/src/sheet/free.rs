//! Finding a free place: what is drawn takes up room, and writing keeps out of it.

use super::draw::Anchor;
use super::write::{ABOVE, BELOW};
use crate::plane::{Finished, Point, Vector, contains};

type P = Point<Finished>;

/// A convex area of two to four corners: a line, or a box turned any way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quad {
    corners: [P; 4],
    count: usize,
    bounds: [f64; 4],
}

impl Quad {
    /// The area between the first `count` of these corners.
    pub fn of(corners: [P; 4], count: usize) -> Quad {
        let some = &corners[..count];
        let least = |f: fn(&P) -> f64| some.iter().map(f).fold(f64::INFINITY, f64::min);
        let most = |f: fn(&P) -> f64| some.iter().map(f).fold(f64::NEG_INFINITY, f64::max);
        Quad { corners, count, bounds: [least(|p| p.x), least(|p| p.y), most(|p| p.x), most(|p| p.y)] }
    }

    /// The line from `a` to `b`.
    pub fn line(a: P, b: P) -> Quad {
        Quad::of([a, b, b, b], 2)
    }

    /// The upright box: left, top, right, bottom.
    pub fn upright([l, t, r, b]: [f64; 4]) -> Quad {
        Quad::of([P::new(l, t), P::new(r, t), P::new(r, b), P::new(l, b)], 4)
    }

    /// A box about `middle`, `size` wide and high, turned by `turn` radians clockwise as seen.
    pub fn turned(middle: P, size: [f64; 2], turn: f64) -> Quad {
        let along = Vector::new(libm::cos(turn), libm::sin(turn)) * (size[0] / 2.0);
        let down = Vector::new(-libm::sin(turn), libm::cos(turn)) * (size[1] / 2.0);
        let at = |i: f64, j: f64| middle + along * i + down * j;
        Quad::of([at(-1.0, -1.0), at(1.0, -1.0), at(1.0, 1.0), at(-1.0, 1.0)], 4)
    }

    /// The room that a line of writing `wide` mm long takes up, with `pad` more in its length and half of that above and below.
    pub fn written(at: P, size: f64, turn: f64, anchor: Anchor, wide: f64, pad: f64) -> Quad {
        let share = match anchor {
            Anchor::Start => 0.5,
            Anchor::Middle => 0.0,
            Anchor::End => -0.5,
        };
        let along = Vector::new(libm::cos(turn), libm::sin(turn));
        let down = Vector::new(-along.y, along.x);
        let middle = at + along * (share * wide) + down * (size * (BELOW - ABOVE) / 2.0);
        Quad::turned(middle, [wide + 2.0 * pad, size * (ABOVE + BELOW) + pad], turn)
    }

    /// Its corners.
    pub fn corners(&self) -> &[P] {
        &self.corners[..self.count]
    }

    /// Left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        self.bounds
    }

    /// Whether the two share more than a border.
    ///
    /// # References
    /// The separating axis of two convex areas is square to a side of one of them: Gottschalk, Lin & Manocha, SIGGRAPH
    /// 1996, 171 (memory).
    pub fn overlaps(&self, other: &Quad) -> bool {
        let (a, b) = (self.bounds, other.bounds);
        if !(a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]) {
            return false;
        }
        !self.parted(other) && !other.parted(self)
    }

    /// A side of this one has all of the other beyond it.
    fn parted(&self, other: &Quad) -> bool {
        (0..self.count).any(|i| {
            let (a, b) = (self.corners[i], self.corners[(i + 1) % self.count]);
            let along = b - a;
            let axes = [Vector::new(-along.y, along.x), along];
            // A line has no breadth: beyond its ends counts as well.
            axes[..if self.count == 2 { 2 } else { 1 }].iter().any(|axis| {
                let span = |q: &Quad| {
                    let at = q.corners().iter().map(|p| (*p - a).dot(*axis));
                    at.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
                };
                let ((l, h), (m, n)) = (span(self), span(other));
                let slack = 1e-9 * (along.length() * along.length() + 1e-12);
                h <= m + slack || n <= l + slack
            })
        })
    }
}

/// What is taken up.
#[derive(Clone, Debug, Default)]
pub struct Taken {
    all: Vec<Quad>,
}

impl Taken {
    /// Takes up a place.
    pub fn take(&mut self, quad: Quad) {
        if quad.bounds.iter().all(|v| v.is_finite()) {
            self.all.push(quad);
        }
    }

    /// Takes up a line from point to point.
    pub fn take_lines(&mut self, points: &[P], closed: bool) {
        let last = if closed { points.len() } else { points.len().saturating_sub(1) };
        for i in 0..last {
            self.take(Quad::line(points[i], points[(i + 1) % points.len()]));
        }
    }

    /// Whether nothing taken lies in `quad`.
    pub fn is_free(&self, quad: &Quad) -> bool {
        !self.all.iter().any(|t| t.overlaps(quad))
    }

    /// Takes up the same places as these.
    pub fn take_all(&mut self, quads: &[Quad]) {
        quads.iter().for_each(|q| self.take(*q));
    }

    /// How many things lie in `quad`.
    pub fn in_the_way(&self, quad: &Quad) -> usize {
        self.all.iter().filter(|t| t.overlaps(quad)).count()
    }
}

/// Places tried each way when looking over an area.
const TRIES: usize = 28;

/// The middle of a free place inside `area` (a border and its holes) for a box of `size` turned by `turn`: the one
/// nearest to `near`. Nothing that is taken lies in it, which must hold the area's own borders.
pub fn place(taken: &Taken, area: &[Vec<P>], size: [f64; 2], turn: f64, near: P) -> Option<P> {
    let border = area.first()?;
    let whole =
        border.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
            [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]
        });
    let needed = Quad::turned(P::new(0.0, 0.0), size, turn).bounds;
    let room = [whole[2] - whole[0] - (needed[2] - needed[0]), whole[3] - whole[1] - (needed[3] - needed[1])];
    if !(room[0] >= 0.0 && room[1] >= 0.0) {
        return None;
    }
    let first = P::new(whole[0] - needed[0], whole[1] - needed[1]);
    let at = |i: usize, j: usize| {
        let share = |k: usize| k as f64 / (TRIES - 1) as f64;
        P::new(first.x + room[0] * share(i), first.y + room[1] * share(j))
    };
    let mut tries: Vec<P> = (0..TRIES * TRIES).map(|k| at(k % TRIES, k / TRIES)).collect();
    tries.push(near);
    let mut best: Option<(f64, P)> = None;
    for p in tries {
        let far = p.distance(near);
        if best.is_some_and(|(d, _)| d <= far) {
            continue;
        }
        let quad = Quad::turned(p, size, turn);
        if inside(area, p) && taken.is_free(&quad) {
            best = Some((far, p));
        }
    }
    best.map(|(_, p)| p)
}

/// Whether `p` lies within the border and in no hole.
pub fn inside(area: &[Vec<P>], p: P) -> bool {
    area.iter().filter(|ring| contains(ring, p)).count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn p(x: f64, y: f64) -> P {
        P::new(x, y)
    }

    #[test]
    fn by_hand() {
        let unit = Quad::upright([0.0, 0.0, 10.0, 10.0]);
        for (other, expected) in [
            (Quad::upright([10.0, 0.0, 20.0, 10.0]), false),
            (Quad::upright([9.0, 9.0, 20.0, 20.0]), true),
            (Quad::line(p(-5.0, 5.0), p(15.0, 5.0)), true),
            (Quad::line(p(2.0, 3.0), p(4.0, 3.0)), true),
            (Quad::line(p(5.0, 5.0), p(5.0, 5.0)), false),
            (Quad::line(p(-5.0, 12.0), p(15.0, 12.0)), false),
            (Quad::line(p(-6.0, 5.0), p(5.0, 16.0)), false),
            (Quad::line(p(-4.0, 5.0), p(5.0, 14.0)), true),
            (Quad::turned(p(13.0, 5.0), [10.0, 1.0], std::f64::consts::FRAC_PI_4), true),
            (Quad::turned(p(15.0, 5.0), [10.0, 1.0], std::f64::consts::FRAC_PI_2), false),
            (Quad::turned(p(12.0, 12.0), [5.0, 5.0], std::f64::consts::FRAC_PI_4), false),
        ] {
            assert_eq!(unit.overlaps(&other), expected, "{other:?}");
            assert_eq!(other.overlaps(&unit), expected, "the other way: {other:?}");
        }
    }

    #[test]
    fn a_place_is_found_beside_what_is_taken() {
        let border = vec![p(0.0, 0.0), p(100.0, 0.0), p(100.0, 40.0), p(0.0, 40.0)];
        let mut taken = Taken::default();
        taken.take_lines(&border, true);
        taken.take_lines(&[p(50.0, -5.0), p(50.0, 45.0)], false);
        let area = [border];
        let at = place(&taken, &area, [40.0, 20.0], 0.0, p(50.0, 20.0)).unwrap();
        assert!((at.x - 50.0).abs() >= 20.0 && (at.x - 50.0).abs() < 26.0, "{at:?}");
        assert_eq!(place(&taken, &area, [60.0, 20.0], 0.0, p(50.0, 20.0)), None);
        assert!(place(&taken, &area, [30.0, 20.0], std::f64::consts::FRAC_PI_2, p(10.0, 20.0)).is_some());
        let hole = vec![p(10.0, 5.0), p(40.0, 5.0), p(40.0, 35.0), p(10.0, 35.0)];
        assert!(!inside(&[area[0].clone(), hole], p(20.0, 20.0)));
    }

    proptest! {
        /// The outside check: points of one that lie within the other.
        #[test]
        fn overlap_is_seen(a in prop::array::uniform5(1.0..30.0f64), b in prop::array::uniform5(1.0..30.0f64)) {
            let quad = |v: [f64; 5]| Quad::turned(p(v[0], v[1]), [v[2], v[3]], v[4]);
            let (a, b) = (quad(a), quad(b));
            let dots = (0..900).map(|k| {
                let (s, t) = (f64::from(k % 30) / 29.0, f64::from(k / 30) / 29.0);
                let c = a.corners();
                c[0] + (c[1] - c[0]) * s + (c[3] - c[0]) * t
            });
            let seen = dots.filter(|d| contains(b.corners(), *d)).count();
            if seen > 0 { prop_assert!(a.overlaps(&b) && b.overlaps(&a)); }
            if !a.overlaps(&b) { prop_assert_eq!(seen, 0); }
        }
    }
}
