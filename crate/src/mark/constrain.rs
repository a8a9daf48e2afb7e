//! Moves that keep something: level, plumb, the other hand, another like it. All on the real plane, as a
//! slanted view keeps none of them on the picture.

use super::straight::{same_place, unit};
use crate::plane::{Picture, Point, Real, Vector};
use crate::view::ViewMap;
use crate::words::Say;

/// Where an end that was moved to `wanted` goes so that it lies level with `other`: along the view's own
/// level, which the view's map lays along x of the real plane.
///
/// # Errors
/// `mark.off-the-view`, and what the map says of a point it can't place.
pub fn keep_level(
    other: Point<Picture>,
    wanted: Point<Picture>,
    map: &ViewMap,
) -> Result<Point<Picture>, Say> {
    let (o, w) = (map.place(other)?.real, map.place(wanted)?.real);
    back(Point::new(w.x, o.y), map)
}

/// The same, straight above or below `other`.
///
/// # Errors
/// As [`keep_level`].
pub fn keep_plumb(
    other: Point<Picture>,
    wanted: Point<Picture>,
    map: &ViewMap,
) -> Result<Point<Picture>, Say> {
    let (o, w) = (map.place(other)?.real, map.place(wanted)?.real);
    back(Point::new(o.x, w.y), map)
}

/// The other hand: every point over the line through `a` and `b` to its far side, in the same order.
///
/// # Errors
/// `mark.same-place` when `a` and `b` make no line, `mark.off-the-view`, and what the map says of a point it
/// can't place.
pub fn mirrored(
    points: &[Point<Picture>],
    a: Point<Picture>,
    b: Point<Picture>,
    map: &ViewMap,
) -> Result<Vec<Point<Picture>>, Say> {
    let (ra, rb) = (map.place(a)?.real, map.place(b)?.real);
    let Some(e) = unit(rb - ra) else { return Err(same_place(0, 1)) };
    let n = Vector::<Real>::new(-e.y, e.x);
    let over = |p: &Point<Picture>| {
        let real = map.place(*p)?.real;
        back(real + n * (-2.0 * n.dot(real - ra)), map)
    };
    points.iter().map(over).collect()
}

/// Another like it: every point moved by the step on the real plane that carries the first point by `step` on
/// the picture, so that it keeps its real size on a slanted view.
///
/// # Errors
/// `mark.off-the-view`, and what the map says of a point it can't place.
pub fn like(
    points: &[Point<Picture>],
    step: Vector<Picture>,
    map: &ViewMap,
) -> Result<Vec<Point<Picture>>, Say> {
    let Some(first) = points.first() else { return Ok(Vec::new()) };
    let by = map.place(*first + step)?.real - map.place(*first)?.real;
    points.iter().map(|p| back(map.place(*p)?.real + by, map)).collect()
}

fn back(p: Point<Real>, map: &ViewMap) -> Result<Point<Picture>, Say> {
    match map.unplace(p) {
        Some(p) if p.is_finite() => Ok(p),
        _ => Err(Say::new("mark.off-the-view")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::trials::World;
    use super::*;

    #[test]
    fn an_end_is_kept_level_and_plumb_on_the_thing() {
        for world in [World::Flat, World::Slanted] {
            let map = world.true_map();
            let (other, wanted) = (world.seen([200.0, 150.0]), world.seen([520.0, 171.0]));
            let check = |got: Result<Point<Picture>, Say>, truth: [f64; 2]| {
                let away = got.expect("on the view").distance(world.seen(truth));
                assert!(away < 1e-6, "{world:?}: {away} px off");
            };
            check(keep_level(other, wanted, &map), [520.0, 150.0]);
            check(keep_plumb(other, wanted, &map), [200.0, 171.0]);
            let over = mirrored(&[wanted], other, world.seen([200.0, 400.0]), &map);
            check(over.map(|p| p[0]), [-120.0, 171.0]);
            let like = like(&[other, wanted], world.seen([260.0, 210.0]) - other, &map).expect("on the view");
            check(Ok(like[1]), [580.0, 231.0]);
        }
    }

    #[test]
    fn what_can_not_be_is_refused() {
        let map = World::Slanted.true_map();
        let here = World::Slanted.seen([100.0, 100.0]);
        let nowhere = Point::new(f64::NAN, 0.0);
        assert_eq!(
            mirrored(&[here], here, here, &map).map_err(|e| e.key.into_owned()),
            Err("mark.same-place".into())
        );
        assert!(keep_level(nowhere, here, &map).is_err() && keep_plumb(here, nowhere, &map).is_err());
        assert!(like(&[nowhere], Vector::new(1.0, 1.0), &map).is_err());
        assert_eq!(like(&[], Vector::new(1.0, 1.0), &map), Ok(Vec::new()));
    }
}
