//! Fits of true lengths: to one scale, to two, or to two held together.

use super::knowns::{Known, Knowns};
use super::map::{Model, Shape};
use super::span;
use crate::estimate::{Estimate, Part, Row, Solved, Source, solve};
use crate::fault::{Area, spoil};
use crate::words::Say;

/// A map as fitted, before it is judged.
#[derive(Clone, Debug)]
pub(crate) struct Fitted {
    pub model: Model,
    pub params: Vec<Estimate>,
    pub chi2: f64,
    pub freedom: usize,
    /// What is left of each pulling length (measured less given, mm), in the order handed over.
    pub left: Vec<Estimate>,
}

impl Fitted {
    pub fn p(&self) -> f64 {
        crate::estimate::chi_square_tail(self.chi2, self.freedom)
    }
}

/// By how much prints and scans are stretched, as a relative standard deviation: few by more than twice this
/// (common practice, no source). It says how large a stretch the lengths are allowed to show before they are
/// said to disagree, and how well they must tell it to be heard.
pub(crate) const USUAL: f64 = 0.02;

/// How well the lengths must tell a stretch that a person wants taken out: worse, and they run in one direction.
const WANTED: f64 = 0.2;

/// The turn to the view's level axis: in px, or in mm of paper where the file has a resolution, so that
/// unlike resolutions across and down make no stretch.
pub(crate) fn level(knowns: &Knowns) -> [[f64; 2]; 2] {
    let [rx, ry] = knowns.resolution.map_or([1.0, 1.0], |r| r.px_per_mm);
    // The level axis is drawn on the picture; on the paper it lies at another angle if rx ≠ ry.
    let tilt = libm::atan2(libm::sin(knowns.tilt) / ry, libm::cos(knowns.tilt) / rx);
    let (cos, sin) = (libm::cos(tilt), libm::sin(tilt));
    [[cos / rx, sin / ry], [-sin / rx, cos / ry]]
}

/// The row of a true length: measured less given, in mm.
pub(crate) fn row(model: &Model, known: &Known) -> Result<Row, Say> {
    let run = span::measure(model, &known.span)?;
    let mut parts = run.by_clicks;
    parts.push(Part { source: Source::Known(known.mark), effect: -known.u, freedom: f64::INFINITY });
    Ok(Row { residual: run.value - known.mm, slope: run.by_params, parts })
}

/// By how much a model is to grow to give `lengths`, roughly.
pub(crate) fn start_scale<'a>(model: &Model, lengths: impl Iterator<Item = &'a Known>) -> Result<f64, Say> {
    let (mut top, mut bottom) = (0.0, 0.0);
    for known in lengths {
        let length = span::measure(model, &known.span)?.value;
        top += known.mm * length;
        bottom += length * length;
    }
    Ok(top / bottom)
}

/// One scale through all lengths.
pub(crate) fn one_scale(shape: &Shape, pulling: &[&Known]) -> Result<Fitted, Say> {
    let unit = Model::at(shape, &[1.0, 1.0])?;
    let start = start_scale(&unit, pulling.iter().copied())?;
    let solved = solve(&[start], |theta| {
        let model = Model::at(shape, &[theta[0], theta[0]])?;
        let one = |known: &&Known| {
            let both = row(&model, known)?;
            Ok(Row { slope: vec![both.slope.iter().sum()], ..both })
        };
        pulling.iter().map(one).collect()
    })?;
    let scale = solved.theta[0].times(spoil(Area::Scale, 1.001));
    fitted(shape, vec![scale.clone(), scale], &solved, 0)
}

/// A scale across and one along, held together: the stretch between them is an unknown with a prior, none
/// give or take [`USUAL`], and so follows the lengths as far as they tell it. Lengths in one direction give
/// one scale, lengths well apart two, with nothing sudden between.
///
/// What the lengths don't tell is *taken* as none, as it is with a single length: so the prior weighs as an
/// observation would, but is not counted as a source of error. What it takes off a stretch that does show
/// is: its part, [`Source::Stretch`], is as large as if the prior were off by the stretch found.
///
/// # References
/// Hoerl & Kennard, Technometrics 12 (1970) 55 [memory]: ridge estimates, whose variance is that of the
/// data alone.
pub(crate) fn held(view: u32, shape: &Shape, pulling: &[&Known], one: &Fitted) -> Result<Fitted, Say> {
    let solved = solve(&one.model.theta, |theta| {
        let model = Model::at(shape, theta)?;
        let mut rows = vec![Row {
            residual: libm::log(theta[0] / theta[1]),
            slope: vec![1.0 / theta[0], -1.0 / theta[1]],
            parts: vec![Part { source: Source::Stretch(view), effect: USUAL, freedom: f64::INFINITY }],
        }];
        for known in pulling {
            rows.push(row(&model, known)?);
        }
        Ok(rows)
    })?;
    let shown = libm::log(solved.theta[0].value / solved.theta[1].value) / USUAL;
    let weigh = |e: &Estimate| {
        let part = |p: &Part| match p.source {
            Source::Stretch(_) => Part { effect: p.effect * shown, ..*p },
            _ => *p,
        };
        Estimate::from_parts(e.value, e.parts().iter().map(part).collect())
    };
    let params = solved.theta.iter().map(|t| weigh(t).times(spoil(Area::Scale, 1.001))).collect();
    let fitted = fitted(shape, params, &solved, 1)?;
    Ok(Fitted { left: fitted.left.iter().map(weigh).collect(), ..fitted })
}

/// Two scales, across and along the view, each free; `None` when the lengths tell less of a stretch between
/// them than is known of prints at large, or next to nothing where a person `wanted` each direction by its own: the ± is
/// then as wide as that makes it.
pub(crate) fn two_scales(
    shape: &Shape,
    pulling: &[&Known],
    one: &Fitted,
    wanted: bool,
) -> Result<Option<Fitted>, Say> {
    if pulling.len() < 2 {
        return Ok(None);
    }
    let rows = |theta: &[f64]| {
        let model = Model::at(shape, theta)?;
        pulling.iter().map(|known| row(&model, known)).collect()
    };
    // Lengths in one direction leave the other scale open; that is no error, but no second scale either.
    let Ok(solved) = solve(&one.model.theta, rows) else { return Ok(None) };
    let ratio = solved.theta[0].over(&solved.theta[1]);
    let most = if wanted { WANTED } else { USUAL };
    if ratio.u() / ratio.value > most {
        return Ok(None);
    }
    fitted(shape, solved.theta.clone(), &solved, 0).map(Some)
}

/// The fit at an answer, whose pulling lengths' rows start at `from`.
pub(crate) fn fitted(
    shape: &Shape,
    params: Vec<Estimate>,
    solved: &Solved,
    from: usize,
) -> Result<Fitted, Say> {
    let theta: Vec<f64> = params.iter().map(|p| p.value).collect();
    Ok(Fitted {
        model: Model::at(shape, &theta)?,
        params,
        chi2: solved.chi2,
        freedom: solved.freedom,
        left: solved.left[from..].to_vec(),
    })
}
