//! Where sheets are joined, as a drawing's writing sees it, which keeps clear of it: a drawing is made once without knowing, and once more
//! where something that is written on it lies over a joint.

use super::busy::written;
use super::draw::Drawing;
use super::free::Quad;
use super::plan::Whole;
use super::write::Writing;

/// A joint's own words and marks reach so far from it, mm.
const NEAR: f64 = 5.5;
/// What a joint and a lap of half an inch take of a sheet's width, mm.
#[cfg(test)]
pub(super) const BAND: f64 = NEAR + 12.7;
/// A column of writing that is at least so wide is taken where it comes first, mm.
const COLUMN: f64 = 75.0;
/// Farther than any drawing goes, mm.
const FAR: f64 = 1e6;

/// Bands along joints, in the mm that a drawing's maker counts in, each from where to where.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joints {
    /// Along joints that run down the drawing.
    upright: Vec<[f64; 2]>,
    /// Along those that run across it.
    level: Vec<[f64; 2]>,
}

impl Joints {
    /// The joints of a whole, each with the lap behind it, of which both sheets show what is drawn there.
    pub fn of(whole: &Whole, drawing: &Drawing, lap: f64) -> Joints {
        let [x, y] = drawing.origin;
        let high = drawing.size[1];
        let band = |at: &f64, from: f64| [at - NEAR - from, at + lap.max(NEAR) - from];
        let [across, down] = &whole.joints;
        if !whole.turned {
            return Joints {
                upright: across.iter().map(|at| band(at, x)).collect(),
                level: down.iter().map(|at| band(at, y)).collect(),
            };
        }
        // As it lies: (x, y) was (y, height − x).
        let back = |at: &f64| {
            let [a, b] = band(at, 0.0);
            [high - b - y, high - a - y]
        };
        Joints {
            upright: down.iter().map(|at| band(at, x)).collect(),
            level: across.iter().rev().map(back).collect(),
        }
    }

    /// No joint is known.
    pub fn is_empty(&self) -> bool {
        self.upright.is_empty() && self.level.is_empty()
    }

    /// The same for what is moved by so much once it is drawn.
    pub fn moved(&self, [x, y]: [f64; 2]) -> Joints {
        let moved = |bands: &[[f64; 2]], by: f64| bands.iter().map(|[a, b]| [a - by, b - by]).collect();
        Joints { upright: moved(&self.upright, x), level: moved(&self.level, y) }
    }

    /// The bands, as far as they go.
    pub fn bands(&self) -> Vec<Quad> {
        let upright = self.upright.iter().map(|[l, r]| Quad::upright([*l, -FAR, *r, FAR]));
        upright.chain(self.level.iter().map(|[t, b]| Quad::upright([-FAR, *t, FAR, *b]))).collect()
    }

    /// Whether a column of writing from `l` to `r` would run over one of those that run down.
    pub fn run_through(&self, l: f64, r: f64) -> bool {
        self.upright.iter().any(|[a, b]| *a < r && *b > l)
    }

    /// From where to where a column of writing can stand between `l` and `r`: the first place that is wide enough, or else the widest.
    pub fn column(&self, l: f64, r: f64) -> [f64; 2] {
        let (mut best, mut from) = ([l, l], l);
        for [a, b] in self.upright.iter().chain(&[[r, r]]) {
            if best[1] - best[0] < COLUMN && a.min(r) - from > best[1] - best[0] {
                best = [from, a.min(r)];
            }
            from = from.max(*b);
        }
        best
    }

    /// The next place at `y` or below it where something so `high` is clear of those that run across.
    pub fn clear(&self, y: f64, high: f64) -> f64 {
        self.level.iter().fold(y, |y, [a, b]| if *a < y + high && *b > y { *b } else { y })
    }
}

/// How much of what is written on a whole lies over its joints.
pub fn crossed(whole: &Whole, drawing: &Drawing, said: &Writing<'_>) -> usize {
    if whole.joints.iter().all(Vec::is_empty) {
        return 0;
    }
    let over = |quad: &Quad| {
        let b = quad.bounds();
        let [across, down] = &whole.joints;
        across.iter().any(|at| b[0] < *at && b[2] > *at) || down.iter().any(|at| b[1] < *at && b[3] > *at)
    };
    drawing.items.iter().filter_map(|item| written(item, drawing, whole.turned, said)).filter(over).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_lie_where_the_drawing_is_joined() {
        let drawing = Drawing { size: [300.0, 100.0], origin: [10.0, 20.0], ..Drawing::default() };
        let whole = Whole { joints: [vec![150.0], vec![]], size: [300.0, 100.0], ..Whole::default() };
        let joints = Joints::of(&whole, &drawing, 12.7);
        assert_eq!(joints.upright, [[134.5, 152.7]]);
        assert!(joints.run_through(100.0, 140.0) && !joints.run_through(20.0, 134.0));
        assert_eq!(joints.column(0.0, 290.0), [0.0, 134.5]);
        assert_eq!(joints.column(100.0, 290.0), [152.7, 290.0]);
        assert_eq!(joints.column(120.0, 160.0), [120.0, 134.5]);
        assert_eq!(Joints::default().column(3.0, 50.0), [3.0, 50.0]);
        // A quarter clockwise: what lies at 60 from the left was 40 from the top.
        let turned = Whole { joints: [vec![60.0], vec![90.0]], size: [100.0, 300.0], turned: true, ..whole };
        let joints = Joints::of(&turned, &drawing, 12.7);
        assert_eq!(joints.upright, [[74.5, 92.7]]);
        assert!(joints.level.iter().all(|[a, b]| (a - 7.3).abs() < 1e-9 && (b - 25.5).abs() < 1e-9));
        assert_eq!([joints.clear(0.0, 5.0), joints.clear(4.0, 5.0)], [0.0, 25.5]);
    }
}
