//! A drawing's main lines, few enough to be shown small.

use super::draw::{Drawing, Item, Line, Path, Step};
use crate::plane::{Cubic, Finished, Point};

/// Lines at least this wide are main ones, mm.
const MAIN: f64 = 0.3;
/// A curve is shown as so many straight lines.
const PIECES: usize = 6;

/// The main lines as points, mm as the drawing lies: `turned` by a quarter, clockwise, or not.
pub fn preview(drawing: &Drawing, turned: bool) -> Vec<Vec<[f64; 2]>> {
    let high = drawing.size[1];
    let lie = |p: Point<Finished>| if turned { [high - p.y, p.x] } else { [p.x, p.y] };
    let main = drawing.items.iter().filter_map(|item| match item {
        Item::Path { path, pen: Some(pen), .. } if pen.width >= MAIN && pen.line == Line::Solid => Some(path),
        _ => None,
    });
    main.flat_map(lines).map(|line| line.into_iter().map(lie).collect()).collect()
}

/// A path's lines as points.
pub fn lines(path: &Path) -> Vec<Vec<Point<Finished>>> {
    let mut out: Vec<Vec<Point<Finished>>> = Vec::new();
    for step in &path.steps {
        if let Step::Move(p) = step {
            out.push(vec![*p]);
            continue;
        }
        let Some(line) = out.last_mut() else { continue };
        let (Some(&first), Some(&last)) = (line.first(), line.last()) else { continue };
        match step {
            Step::Line(p) => line.push(*p),
            Step::Cubic(a, b, p) => {
                let cubic = Cubic([last, *a, *b, *p]);
                line.extend((1..=PIECES).map(|i| cubic.at(i as f64 / PIECES as f64)));
            }
            Step::Close => line.push(first),
            Step::Move(_) => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::Pen;

    #[test]
    fn main_lines_lie_as_the_whole_does() {
        let ring = [[0.0, 0.0], [30.0, 0.0], [30.0, 10.0]].map(|[x, y]| Point::new(x, y));
        let item =
            |width, line| Item::Path { path: Path::ring(&ring), pen: Some(Pen { width, line }), fill: None };
        let items = vec![item(0.35, Line::Solid), item(0.1, Line::Solid), item(0.35, Line::Chain)];
        let drawing = Drawing { size: [30.0, 10.0], items, ..Drawing::default() };
        assert_eq!(preview(&drawing, false), vec![vec![[0.0, 0.0], [30.0, 0.0], [30.0, 10.0], [0.0, 0.0]]]);
        // A quarter clockwise: what was the upper edge is the right one.
        assert_eq!(preview(&drawing, true)[0][1], [10.0, 30.0]);
    }
}
