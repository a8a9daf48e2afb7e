//! Shapes that something on a view has in life, as equations on the view's map.

use super::knowns::Click;
use super::map::{Model, Placed};
use crate::estimate::{Part, Row};
use crate::plane::{Real, Vector};
use crate::words::Say;

/// What something is in life.
#[derive(Clone, Debug, PartialEq)]
pub enum Form {
    /// Two straight edges that run alike: two places on each.
    Parallel([Click; 4]),
    /// Two straight edges at right angles: two places on each.
    Square([Click; 4]),
    /// Places round a circle, five or more.
    Round(Vec<Click>),
}

/// A mark whose shape in life a person vouches for.
#[derive(Clone, Debug, PartialEq)]
pub struct Formed {
    /// The mark.
    pub mark: u32,
    /// What it is.
    pub form: Form,
}

impl Form {
    /// The places that were put.
    pub fn clicks(&self) -> &[Click] {
        match self {
            Form::Parallel(c) | Form::Square(c) => c,
            Form::Round(c) => c,
        }
    }

    /// Unknowns of its own: a circle's centre and radius.
    pub(crate) fn unknowns(&self) -> usize {
        if matches!(self, Form::Round(_)) { 3 } else { 0 }
    }

    /// A start for those: the mean place and the mean distance from it.
    pub(crate) fn start(&self, model: &Model) -> Result<Vec<f64>, Say> {
        let Form::Round(clicks) = self else { return Ok(Vec::new()) };
        let placed = clicks.iter().map(|c| Ok(model.place(c.at)?.real)).collect::<Result<Vec<_>, Say>>()?;
        let n = placed.len().max(1) as f64;
        let (x, y) = placed.iter().fold((0.0, 0.0), |s, p| (s.0 + p.x / n, s.1 + p.y / n));
        let radius = placed.iter().map(|p| libm::hypot(p.x - x, p.y - y)).sum::<f64>() / n;
        Ok(vec![x, y, radius])
    }

    /// Its equations on `model`, which has `from[0]` unknowns. Its own are `own`, the first of them at `from[1]`.
    pub(crate) fn rows(&self, model: &Model, own: &[f64], from: [usize; 2]) -> Result<Vec<Row>, Say> {
        match self {
            Form::Parallel([a, b, c, d]) => Ok(vec![angled(model, [a, b], [c, d], false)?]),
            Form::Square([a, b, c, d]) => Ok(vec![angled(model, [a, b], [c, d], true)?]),
            Form::Round(clicks) => clicks.iter().map(|c| on_circle(model, c, own, from)).collect(),
        }
    }
}

/// An equation from its slope by some real places, each seen at a click.
pub(crate) fn chain(residual: f64, slopes: &[(&Click, Placed, Vector<Real>)]) -> Row {
    let n = slopes.first().map_or(0, |s| s.1.d_params.len());
    let mut slope = vec![0.0; n];
    let mut parts: Vec<Part> = Vec::with_capacity(2 * slopes.len());
    for (click, at, g) in slopes {
        let along = |axis: usize| g.x * at.d_at[0][axis] + g.y * at.d_at[1][axis];
        parts.extend(click.parts([along(0), along(1)]));
        for (sum, d) in slope.iter_mut().zip(at.d_params.iter()) {
            *sum += g.x * d[0] + g.y * d[1];
        }
    }
    Row { residual, slope, parts }
}

/// The sine of the angle between two edges, or, of those that should be `square`, its cosine.
pub(crate) fn angled(
    model: &Model,
    first: [&Click; 2],
    second: [&Click; 2],
    square: bool,
) -> Result<Row, Say> {
    let ends = |e: [&Click; 2]| -> Result<([Placed; 2], Vector<Real>, f64), Say> {
        let placed = [model.place(e[0].at)?, model.place(e[1].at)?];
        let run = placed[1].real - placed[0].real;
        let square = run.dot(run);
        if square > 0.0 { Ok((placed, run, square)) } else { Err(Say::new("view.same-place")) }
    };
    let ([a, b], u, uu) = ends(first)?;
    let ([c, d], v, vv) = ends(second)?;
    let size = libm::sqrt(uu * vv);
    let (sin, cos) = (u.cross(v) / size, u.dot(v) / size);
    // r = sin(θ₂ − θ₁) or cos(θ₂ − θ₁), and θ turns by cross(run, step)/|run|².
    let (residual, by) = if square { (cos, -sin) } else { (sin, cos) };
    let turning = |run: Vector<Real>, square: f64, k: f64| Vector::new(-run.y, run.x) * (k / square);
    let (p, q) = (turning(u, uu, -by), turning(v, vv, by));
    Ok(chain(
        residual,
        &[(first[0], a, p * -1.0), (first[1], b, p), (second[0], c, q * -1.0), (second[1], d, q)],
    ))
}

/// The distance from a circle's centre less its radius, in mm.
fn on_circle(model: &Model, click: &Click, own: &[f64], from: [usize; 2]) -> Result<Row, Say> {
    let &[x, y, radius] = own else { return Err(Say::new("fit.undetermined")) };
    let at = model.place(click.at)?;
    let out = Vector::<Real>::new(at.real.x - x, at.real.y - y);
    let distance = out.length();
    if distance.is_nan() || distance <= 0.0 {
        return Err(Say::new("view.same-place"));
    }
    let out = out * (1.0 / distance);
    let mut row = chain(distance - radius, &[(click, at, out)]);
    let [map, from] = from;
    row.slope.truncate(map);
    row.slope.resize(from + 3, 0.0);
    row.slope[from] = -out.x;
    row.slope[from + 1] = -out.y;
    row.slope[from + 2] = -1.0;
    Ok(row)
}
