//! The same thing marked several times: the spread of the placings says how good a placing is.
//!
//! # References
//! JCGM 100:2008 (GUM), 4.2: the mean of k observations has the standard uncertainty s/√k, with k − 1 degrees
//! of freedom.

use super::Measure;
use super::ground::{Found, Ground};
use crate::estimate::{Estimate, Part, Source, chi_square_tail, t_quantile};
use crate::words::Say;

/// Each size as the mean over all placings. What the view's map does to it stays; what the clicks do is what
/// the placings show.
pub(crate) fn mean(
    ground: &Ground,
    first: &[Found],
    rest: &[(Ground, Vec<Found>)],
    flags: &mut Vec<Say>,
) -> Vec<Measure> {
    let mut all = Vec::with_capacity(first.len());
    let mut same = false;
    for found in first {
        // A size that only some placings have (a segment of a path with fewer points) has no mean.
        let others: Option<Vec<(&Ground, &Found)>> =
            rest.iter().map(|(g, f)| f.iter().find(|f| f.what == found.what).map(|f| (g, f))).collect();
        let Some(mut placings) = others else { continue };
        placings.insert(0, (ground, found));
        let (value, alike) = mean_of(&placings);
        same |= alike;
        all.push(Measure { what: found.what, value });
    }
    if same {
        flags.push(Say::new("mark.repeats-same"));
    }
    all
}

/// Separate placings would agree this closely by chance less than 3 times in 100: two within a nineteenth
/// of what one is stated to be good to, three with a spread under about a sixth of it, six under about two fifths.
const SEPARATE: f64 = 0.03;

/// The mean of one size, and whether the placings agree more closely than separate ones would: then they say
/// no more than one does (the same end nudged a hair, a copy, an eye caught twice by the same pixel), and
/// the stated click errors of the first stand.
///
/// # References
/// A variance against its stated value: χ² with k − 1 degrees of freedom, lower tail (any text on statistics).
fn mean_of(placings: &[(&Ground, &Found)]) -> (Estimate, bool) {
    let k = placings.len() as f64;
    let Some(&(ground, found)) = placings.first() else { return (Estimate::exact(f64::NAN), false) };
    let from = found.value;
    let mean = from + placings.iter().map(|(_, f)| f.value - from).sum::<f64>() / k;
    let squares: f64 = placings.iter().map(|(_, f)| (f.value - mean) * (f.value - mean)).sum();
    let u = libm::sqrt(squares / ((k - 1.0) * k));
    let stated = placings.iter().map(|(g, f)| g.click_u(f) * g.click_u(f)).sum::<f64>() / k;
    let closer = 1.0 - chi_square_tail(squares / stated, placings.len() - 1);
    if u <= 1e-12 * mean.abs() || (stated > 0.0 && closer < SEPARATE) {
        return (ground.estimate(found), true);
    }
    let mut by_param = vec![0.0; ground.map.params().len()];
    for (g, f) in placings {
        by_param.iter_mut().zip(g.to_params(f)).for_each(|(sum, d)| *sum += d / k);
    }
    let mut parts = vec![spread(Source::Spread(ground.mark(), found.what.component()), u, placings.len())];
    ground.push_beyond(found, &mut parts);
    (ground.with_map(Estimate::from_parts(mean, parts), &by_param), false)
}

/// Fewer placings than this carry Student's t in the effect itself.
const FEW: usize = 5;

/// The part of a spread that gave the mean of `k` placings the standard uncertainty `u`.
///
/// Where two to four placings come together with a view's map, the effective freedom of GUM G.4 makes the ±
/// too narrow: it covers 87 in 100 for two placings and a map of a third of their error [computed, 20 000
/// trials]. So their u is taken t/z times as large and as known, z the normal quantile: alone that is the very
/// interval of Student's t, and with a map it errs to the wide side.
fn spread(source: Source, u: f64, k: usize) -> Part {
    let freedom = k as f64 - 1.0;
    if k < FEW {
        let wider = t_quantile(0.975, freedom) / t_quantile(0.975, f64::INFINITY);
        Part { source, effect: u * wider, freedom: f64::INFINITY }
    } else {
        Part { source, effect: u, freedom }
    }
}
