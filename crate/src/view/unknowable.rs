//! What the corners of a rectangle, or a whole fit, leave open, and how that is said.

use super::camera::Camera;
use super::knowns::{Click, Rectangle, Span};
use super::lengths::Fitted;
use super::span;
use crate::estimate::{Estimate, Source};
use crate::plane::{Picture, Point};
use crate::words::Say;

/// What isn't this many standard uncertainties from where it would tell nothing, tells too little: a fifth either way
/// is the most that the first order bears (`view/slants.rs` tries it).
pub(crate) const CLEAR: f64 = 5.0;
/// Proportions that are known no better than this (one relative standard uncertainty) are not shown.
const LOOSE: f64 = 0.05;

/// Zhang & He's two convergences k₂ and k₃, which are 1 where opposite edges run alike in the picture.
fn convergence(r: &Rectangle) -> [Estimate; 2] {
    let [m1, m2, m4, m3] = &r.corners;
    [area(m1, m4, m3).over(&area(m2, m4, m3)), area(m1, m4, m2).over(&area(m3, m4, m2))]
}

/// Twice the area of a triangle, in px².
fn area(a: &Click, b: &Click, c: &Click) -> Estimate {
    let side = |from: &Click, to: &Click| [from.at.y - to.at.y, to.at.x - from.at.x];
    let value = (b.at - a.at).cross(c.at - a.at);
    let mut parts = a.parts(side(b, c)).to_vec();
    parts.extend(b.parts(side(c, a)));
    parts.extend(c.parts(side(a, b)));
    Estimate::from_parts(value, parts)
}

/// f², by the corners alone; `None` where it can't be told or would be no lens's.
///
/// # References
/// Zhang & He, Digital Signal Processing 17 (2007) 414 (MSR-TR-2003-39), equations for k₂, k₃ and f².
pub(crate) fn closed(r: &Rectangle, camera: &Camera) -> Option<f64> {
    let [k2, k3] = convergence(r).map(|k| k.value);
    let [cx, cy] = camera.middle();
    let [m1, m2, _, m3] = r.corners.each_ref().map(|c| [c.at.x - cx, c.at.y - cy]);
    let n = |k: f64, m: [f64; 2]| [k * m[0] - m1[0], k * m[1] - m1[1]];
    let (n2, n3) = (n(k2, m2), n(k3, m3));
    let f2 = -(n2[0] * n3[0] + n2[1] * n3[1]) / ((k2 - 1.0) * (k3 - 1.0));
    (f2.is_finite() && f2 > 0.0).then_some(f2)
}

/// Whether a rectangle's corners alone tell how far the camera saw.
///
/// # Errors
/// `view.unknowable` (with the file's focal length where it lies, `view.unknowable-file`); `view.corners-or-cropped` where
/// no camera saw a rectangle so.
pub(crate) fn corners(r: &Rectangle, camera: &Camera) -> Result<(), Say> {
    let told = |k: &Estimate| (k.value - 1.0).abs() > CLEAR * k.u();
    if !convergence(r).iter().all(told) {
        return Err(unknowable(camera));
    }
    closed(r, camera).map(|_| ()).ok_or_else(|| Say::new("view.corners-or-cropped"))
}

fn unknowable(camera: &Camera) -> Say {
    match camera.focal_35mm.filter(|_| camera.lies()) {
        Some(f) => Say::new("view.unknowable-file").with("focal", crate::words::Arg::Number(f, 0)),
        None if camera.cropped => Say::new("view.unknowable-cropped"),
        None => Say::new("view.unknowable"),
    }
}

/// Whether a fit is good for anything, at the `places` of which something is known.
///
/// # Errors
/// As for [`corners`], and `view.not-enough` where its proportions are too loose.
pub(crate) fn check(
    fitted: &Fitted,
    camera: &Camera,
    places: &[Point<Picture>],
    four: bool,
) -> Result<(), Say> {
    let [a, b, f2, ..] = &fitted.params[..] else { return Err(Say::new("view.no-map")) };
    if f2.value <= 0.0 {
        return Err(Say::new("view.corners-or-cropped"));
    }
    let size = libm::hypot(a.value, b.value);
    let along = if size > 0.0 { [a.value / size, b.value / size] } else { [1.0, 0.0] };
    let lengths = [along, [-along[1], along[0]]].map(|way| across(fitted, places, way));
    let [Ok(down), Ok(over)] = lengths else { return Err(Say::new("view.no-map")) };
    let proportion = down.over(&over);
    // What foreshortening, √(1 + f²|α|²), owes to the bend of it by α, where α is as good as none.
    let bend = 0.5 * (f2.value + f2.u()) * (a.variance() + b.variance()) / (1.0 + f2.value * size * size);
    if libm::hypot(proportion.u() / proportion.value, bend) <= LOOSE {
        return Ok(());
    }
    Err(if four { unknowable(camera) } else { Say::new("view.not-enough") })
}

/// How long a line is in life that runs through the middle of all places one way, the map's own errors only.
fn across(fitted: &Fitted, places: &[Point<Picture>], way: [f64; 2]) -> Result<Estimate, Say> {
    let n = places.len() as f64;
    let (x, y) = places.iter().fold((0.0, 0.0), |s, p| (s.0 + p.x / n, s.1 + p.y / n));
    let reach = places.iter().fold(0.0, |m, p| libm::hypot(p.x - x, p.y - y).max(m)) / 2.0;
    let end = |by: f64| Click {
        at: Point::new(x + by * way[0], y + by * way[1]),
        sigma: 0.0,
        cov: None,
        source: [Source::Misfit(0, 0); 2],
        freedom: f64::INFINITY,
        bent: None,
    };
    let run = span::measure(&fitted.model, &Span::Between([end(-reach), end(reach)]))?;
    let terms: Vec<(f64, &Estimate)> = run.by_params.iter().copied().zip(&fitted.params).collect();
    Ok(Estimate::combine(run.value, &terms))
}
