//! What is drawn on a whole as it lies on its sheets: the marks and words by which they are joined keep out of its way.

use super::draw::{Drawing, Item};
use super::free::Quad;
use super::preview::lines;
use super::write::Writing;
use crate::plane::Point;
use std::f64::consts::FRAC_PI_2;

/// Writing over writing can't be read: it counts as so many lines through it.
pub const WRITTEN: f64 = 20.0;
/// Room kept round writing, mm.
pub const PAD: f64 = 0.3;

/// Writing and lines, in the whole's mm as it lies.
#[derive(Clone, Debug, Default)]
pub struct Drawn {
    /// What is written, and whatever else must not be written over.
    pub texts: Vec<Quad>,
    /// Each straight piece of what is drawn.
    pub lines: Vec<Quad>,
}

impl Drawn {
    /// What of a drawing reaches into a window (left, top, right, bottom).
    pub fn of(drawing: &Drawing, turned: bool, [l, t, r, b]: [f64; 4], said: &Writing<'_>) -> Drawn {
        let high = drawing.size[1];
        let lie = |p: Point<_>| if turned { Point::new(high - p.y, p.x) } else { p };
        let reaches = |quad: &Quad| {
            let [ql, qt, qr, qb] = quad.bounds();
            ql <= r && qr >= l && qt <= b && qb >= t
        };
        let mut drawn = Drawn::default();
        for item in &drawing.items {
            match item {
                Item::Text { .. } => drawn.texts.extend(written(item, drawing, turned, said).filter(reaches)),
                Item::Path { path, .. } => {
                    for line in lines(path) {
                        let pieces = line.windows(2).map(|pair| Quad::line(lie(pair[0]), lie(pair[1])));
                        drawn.lines.extend(pieces.filter(reaches));
                    }
                }
                Item::Picture { .. } => {}
            }
        }
        drawn
    }

    /// How much is in the way of something to be written or drawn in `quad`.
    pub fn cost(&self, quad: &Quad) -> f64 {
        let count = |all: &[Quad]| all.iter().filter(|one| one.overlaps(quad)).count() as f64;
        WRITTEN * count(&self.texts) + count(&self.lines)
    }

    /// How long lines run, along x (0) or y (1), between `low` and `high` across it; mm in all.
    pub fn along(&self, axis: usize, [low, high]: [f64; 2]) -> f64 {
        let run = |line: &Quad| {
            let [a, b] = *line.corners() else { return 0.0 };
            let (a, b) = ([a.x, a.y], [b.x, b.y]);
            let (from, to) = (a[1 - axis], b[1 - axis]);
            let (near, far) = (from.min(to), from.max(to));
            let inside = far.min(high) - near.max(low);
            if inside < 0.0 {
                return 0.0;
            }
            let share = if far - near > 1e-9 { inside / (far - near) } else { 1.0 };
            (b[axis] - a[axis]).abs() * share
        };
        self.lines.iter().map(run).sum()
    }
}

/// The room that a line of writing takes up as a whole lies; nothing for what is no writing.
pub fn written(item: &Item, drawing: &Drawing, turned: bool, said: &Writing<'_>) -> Option<Quad> {
    let Item::Text { at, size, turn, anchor, bold, text, .. } = item else { return None };
    let (at, quarter) =
        if turned { (Point::new(drawing.size[1] - at.y, at.x), FRAC_PI_2) } else { (*at, 0.0) };
    Some(Quad::written(at, *size, turn + quarter, *anchor, said.width(text, *size, *bold), PAD))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_runs_along_a_band_is_counted() {
        let line = |a: [f64; 2], b: [f64; 2]| Quad::line(Point::from(a), Point::from(b));
        let lines = vec![
            line([0.0, 5.0], [100.0, 5.0]),
            line([50.0, 0.0], [50.0, 100.0]),
            line([0.0, 0.0], [100.0, 100.0]),
            line([0.0, 40.0], [100.0, 40.0]),
        ];
        let drawn = Drawn { texts: vec![Quad::upright([0.0, 0.0, 10.0, 4.0])], lines };
        assert!((drawn.along(0, [0.0, 10.0]) - 110.0).abs() < 1e-9);
        assert!((drawn.along(1, [45.0, 55.0]) - 110.0).abs() < 1e-9);
        assert_eq!(drawn.cost(&Quad::upright([5.0, 2.0, 20.0, 6.0])), WRITTEN + 2.0);
        assert_eq!(drawn.cost(&Quad::upright([60.0, 10.0, 70.0, 20.0])), 0.0);
    }
}
