//! The real length of a span on a map, with its slopes.

use super::knowns::Span;
use super::map::{Model, Placed};
use crate::estimate::Part;
use crate::plane::{Picture, Point, Real, Vector};
use crate::words::Say;

/// A length in real mm, with its slopes.
pub(crate) struct Run {
    /// The length, in mm.
    pub value: f64,
    /// d(length)/d(unknown) for each unknown of the map.
    pub by_params: Vec<f64>,
    /// What each click does to it directly, the map held still.
    pub by_clicks: Vec<Part>,
}

/// The length of `span` on `model`.
pub(crate) fn measure(model: &Model, span: &Span) -> Result<Run, Say> {
    measured(|p| model.place(p), model.theta.len(), span)
}

/// The length of `span`, by where a map of so many unknowns `place`s its points.
pub(crate) fn measured(
    place: impl Fn(Point<Picture>) -> Result<Placed, Say>,
    unknowns: usize,
    span: &Span,
) -> Result<Run, Say> {
    let placed = span.clicks().iter().map(|c| place(c.at)).collect::<Result<Vec<Placed>, Say>>()?;
    let (value, slopes) = match (span, &placed[..]) {
        (Span::Between(_), [a, b]) => between(a, b, 1.0)?,
        (Span::FromCentre(_), [a, b]) => between(a, b, 2.0)?,
        (Span::FromLine(_), [a, b, c]) => from_line(a, b, c)?,
        (Span::Round(_), rim) => across(rim)?,
        _ => return Err(Say::new("view.same-place")),
    };
    let mut by_params = vec![0.0; unknowns];
    let mut by_clicks = Vec::with_capacity(2 * placed.len());
    for ((click, at), g) in span.clicks().iter().zip(&placed).zip(&slopes) {
        let along = |axis: usize| g.x * at.d_at[0][axis] + g.y * at.d_at[1][axis];
        by_clicks.extend(click.parts([along(0), along(1)]));
        for (sum, d) in by_params.iter_mut().zip(at.d_params.iter()) {
            *sum += g.x * d[0] + g.y * d[1];
        }
    }
    Ok(Run { value, by_params, by_clicks })
}

type Slopes = Vec<Vector<Real>>;

/// `times` × the distance from a to b, and its slope by each.
fn between(a: &Placed, b: &Placed, times: f64) -> Result<(f64, Slopes), Say> {
    let step = b.real - a.real;
    let length = step.length();
    if !(length.is_finite() && length > 0.0) {
        return Err(Say::new("view.same-place"));
    }
    let out = step * (times / length);
    Ok((times * length, vec![out * -1.0, out]))
}

/// The diameter of the circle nearest to places on a rim, and its slope by each.
fn across(rim: &[Placed]) -> Result<(f64, Slopes), Say> {
    let real: Vec<Point<Real>> = rim.iter().map(|p| p.real).collect();
    let fit = crate::plane::fit_circle(&real).map_err(|_| Say::new("view.round-in-line"))?;
    let slopes = fit.partials.iter().map(|d| Vector::new(2.0 * d[2][0], 2.0 * d[2][1])).collect();
    Ok((2.0 * fit.circle.radius, slopes))
}

/// Twice the distance of c from the line through a and b, and its slope by each.
fn from_line(a: &Placed, b: &Placed, c: &Placed) -> Result<(f64, Slopes), Say> {
    let line = crate::plane::Line::through(a.real, b.real).ok_or_else(|| Say::new("view.same-place"))?;
    let off = line.distance(c.real);
    let sign = if off < 0.0 { -2.0 } else { 2.0 };
    let normal = Vector::new(-line.along.y, line.along.x) * sign;
    // The foot divides a–b in the ratio `at`; a turn of the line about it moves the far end's side.
    let at = line.run(c.real) / a.real.distance(b.real);
    Ok((sign * off, vec![normal * (at - 1.0), normal * -at, normal]))
}
