//! Which corner of a box is which, where they were touched in another order than was asked for.

use super::box_faces::check;
use super::boxed::{BoxKnowns, Boxed, judged};
use super::camera::Camera;
use super::knowns::Click;
use crate::plane::{Picture, Point, convex_hull};
use crate::words::Say;

/// Orders that fit within this of χ² of one another can't be told apart: four standard deviations.
const APART: f64 = 16.0;
/// A box that fits worse than this by chance is none.
const LEAST: f64 = 1e-4;

/// Corner k of a box was touched as number `order[k]`.
pub type Order = [Option<usize>; 8];

/// The order in which the corners of `boxed` fit a box, if that isn't the order in which they stand.
///
/// # Errors
/// `view.box-no-box` (or what is wrong with them) where they fit none, `view.box-two-ways` where they fit more than one.
pub fn box_order(boxed: &Boxed, camera: &Camera) -> Result<Option<Order>, Say> {
    let touched = judged(boxed, camera);
    if touched.is_some_and(|(_, p)| p >= LEAST) {
        return Ok(None);
    }
    let at: Vec<(usize, Point<Picture>)> =
        boxed.corners.iter().enumerate().filter_map(|(k, c)| c.map(|c| (k, c.at))).collect();
    let points: Vec<Point<Picture>> = at.iter().map(|(_, p)| *p).collect();
    let mut fitting: Vec<(f64, Order)> = Vec::new();
    for candidate in candidates(&points) {
        let named = named(&points, &candidate);
        let order = named.map(|i| i.and_then(|i| at.get(i)).map(|(k, _)| *k));
        if let Some((chi2, p)) = judged(&put(boxed, &order), camera)
            && p >= LEAST
        {
            fitting.push((chi2, order));
        }
    }
    crate::order::sort_by(&mut fitting, |a, b| a.0.total_cmp(&b.0));
    match &fitting[..] {
        // Touched roughly, but in the right order.
        [] if touched.is_some() => Ok(None),
        [] => {
            let knowns = BoxKnowns { boxed, camera, knowns: &[] };
            Err(check(&knowns).err().unwrap_or_else(|| Say::new("view.box-no-box")))
        }
        [one, next, ..] if next.0 - one.0 < APART => Err(Say::new("view.box-two-ways")),
        [one, ..] => Ok(Some(one.1)),
    }
}

/// `boxed` with its corners in `order`.
fn put(boxed: &Boxed, order: &Order) -> Boxed {
    let corners: [Option<Click>; 8] = order.map(|k| k.and_then(|k| boxed.corners.get(k).copied().flatten()));
    Boxed { corners, ..boxed.clone() }
}

/// Every way in which so many places could be a box's corners, whichever edge is whichever.
fn candidates(points: &[Point<Picture>]) -> Vec<Order> {
    let hull = convex_hull(points);
    let inner: Vec<usize> = (0..points.len()).filter(|i| !hull.contains(i)).collect();
    let mut all = Vec::new();
    // Three sides are seen: six corners round the one where they meet, one of them perhaps hidden.
    if let [inner] = inner[..] {
        let whole: Vec<Option<usize>> = hull.iter().copied().map(Some).collect();
        let rounds: Vec<Vec<Option<usize>>> = match whole.len() {
            6 => vec![whole],
            5 => (0..5).map(|gap| [&whole[..gap], &[None], &whole[gap..]].concat()).collect(),
            _ => Vec::new(),
        };
        for round in rounds {
            for turn in 0..2 {
                let h = |i: usize| round[(i + turn) % 6];
                all.push([Some(inner), h(0), h(2), h(1), h(4), h(5), h(3), None]);
            }
        }
    }
    // Two sides are seen: six corners, two of them opposite one another on the edge where they meet.
    if let [a, b, c, d, e, f] = hull[..] {
        for h in [[a, b, c, d, e, f], [b, c, d, e, f, a], [c, d, e, f, a, b]] {
            let h = h.map(Some);
            all.push([h[0], h[1], h[5], None, h[3], h[2], h[4], None]);
        }
    }
    all
}

/// The same with the edges named as they are seen: the third runs most upright, its upper end first where only two sides
/// are seen, and the front is the larger of the two others.
fn named(points: &[Point<Picture>], order: &Order) -> Order {
    let at = |k: usize| order.get(k).copied().flatten().and_then(|i| points.get(i)).copied();
    let run = |k: usize| at(1 << k).zip(at(0)).map(|(a, b)| a - b);
    let steep = |k: usize| run(k).map_or(0.0, |v| v.y.abs() / v.length().max(f64::MIN_POSITIVE));
    let upright = [0, 1, 2].into_iter().fold(0, |best, k| if steep(k) > steep(best) { k } else { best });
    let [a, b] = [(upright + 1) % 3, (upright + 2) % 3];
    let wide = |k: usize| run(k).zip(run(upright)).map_or(0.0, |(u, v)| u.cross(v).abs());
    let axes = if wide(a) >= wide(b) { [a, b, upright] } else { [b, a, upright] };
    [0, 1, 2, 3, 4, 5, 6, 7].map(|k: usize| {
        let was: usize = (0..3).filter(|bit| k >> bit & 1 == 1).map(|bit| 1 << axes[bit]).sum();
        order.get(was).copied().flatten()
    })
}
