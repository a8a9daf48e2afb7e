//! How far what is printed must be turned to lie straight: a scan lies a little askew.

use super::Sight;
use crate::job::document::{Mark, View};
use crate::job::reckon::Reading;
use crate::plane::{Homography, Picture, Point, Real, lean};

/// For a part: for its centre line to run level or plumb, or else what is level on its view; on a picture whose views nobody marked its
/// straight sides. Radians.
pub fn of_part(sight: &Sight, mark: &Mark, reading: &Reading, to_real: &Homography<Picture, Real>) -> f64 {
    if let Some(centre) = mark.centre {
        return of_line(centre, to_real);
    }
    match sight.document.view(reading.view) {
        Some(view) if !view.whole => of_view(view, to_real),
        Some(_) if is_flat(to_real) => {
            let ring = mark.line().iter().map(|p| to_real.apply(*p)).collect::<Option<Vec<_>>>();
            ring.and_then(|ring| lean(&ring)).unwrap_or(0.0)
        }
        _ => 0.0,
    }
}

/// For what is level on a view to run level; a view that was turned square-on does already.
pub fn of_view(view: &View, to_real: &Homography<Picture, Real>) -> f64 {
    let [a, b, ..] = view.bounds.corners();
    if is_flat(to_real) { of_line([a, b], to_real) } else { 0.0 }
}

/// Nothing on it is foreshortened.
fn is_flat(to_real: &Homography<Picture, Real>) -> bool {
    to_real.rows()[2][..2] == [0.0; 2]
}

/// For a line to run level or plumb.
fn of_line([a, b]: [Point<Picture>; 2], to_real: &Homography<Picture, Real>) -> f64 {
    let (Some(a), Some(b)) = (to_real.apply(a), to_real.apply(b)) else { return 0.0 };
    let way = b - a;
    let quarter = std::f64::consts::FRAC_PI_2;
    let angle = libm::atan2(way.y, way.x);
    angle - quarter * libm::round(angle / quarter)
}
