//! Which true length the others say is wrong.

use super::fit::{Chosen, DISAGREE, Named, Odd, is_tilted};
use super::knowns::{Known, Knowns, RectangleOf};
use super::lengths::{self, Fitted};
use super::map::ViewMap;
use super::rectangle;
use super::tilt::fit_tilt;
use crate::estimate::{Estimate, Source};
use crate::words::Say;

/// Two explanations whose χ² differ by less can't be told apart: Akaike's criterion calls models within 2 of
/// the best about as good (Burnham & Anderson, Model Selection, 2nd ed., 2.6) [memory].
pub(super) const CLEAR: f64 = 2.0;

/// How many standard uncertainties a length is off.
pub(super) fn standing(left: &Estimate) -> f64 {
    let u = left.u();
    if u > 0.0 { left.value.abs() / u } else { 0.0 }
}

/// The length whose removal lets the others agree and that lies farthest from what they say of it;
/// `None` when nobody can tell.
///
/// Naming one takes three witnesses: true lengths, and a rectangle of the thing counts as one.
///
/// # References
/// A residual over its own standard uncertainty ranks the suspects as leaving each out would (Baarda's
/// w-test, A Testing Procedure for Use in Geodetic Networks, 1968); the first two are then left out in fact.
pub(crate) fn find(knowns: &Knowns, pulling: &[&Known], chosen: &Chosen) -> Result<Option<Odd>, Say> {
    let frame = usize::from(knowns.rectangle.is_some_and(|r| r.of == RectangleOf::Thing));
    if pulling.len() + frame < 3 {
        return Ok(None);
    }
    let mut order: Vec<usize> = (0..pulling.len()).collect();
    crate::order::sort_by(&mut order, |&a, &b| {
        standing(&chosen.fitted.left[b]).total_cmp(&standing(&chosen.fitted.left[a]))
    });
    let mut cures = Vec::new();
    for &suspect in order.iter().take(2) {
        let others: Vec<&Known> =
            pulling.iter().enumerate().filter(|(i, _)| *i != suspect).map(|(_, k)| *k).collect();
        // What the others can't settle by themselves (two scales from lengths one way) cures nothing.
        if let Ok(Some(without)) = refit(knowns, &others, chosen)
            && without.p() >= DISAGREE
        {
            cures.push((suspect, without));
        }
    }
    crate::order::sort_by(&mut cures, |a, b| a.1.chi2.total_cmp(&b.1.chi2));
    if let [best, second] = &cures[..]
        && second.1.chi2 - best.1.chi2 < CLEAR
    {
        return Ok(None);
    }
    let Some((suspect, without)) = cures.into_iter().next() else { return Ok(None) };
    let known = pulling[suspect];
    let map = ViewMap::new(without.model, without.params, None)?;
    let others_say = map.measure(&known.span)?;
    let given = Estimate::of(known.mm, Source::Known(known.mark), known.u);
    let apart = others_say.minus(&given);
    let what = Named::Mark(known.mark);
    Ok((apart.value.abs() > apart.half_width()).then_some(Odd { what, given: known.mm, others_say }))
}

/// The same kind of map from other lengths.
fn refit(knowns: &Knowns, pulling: &[&Known], chosen: &Chosen) -> Result<Option<Fitted>, Say> {
    if is_tilted(knowns) {
        return fit_tilt(knowns, pulling).map(|t| Some(t.fitted));
    }
    if let Some(r) = knowns.rectangle
        && let [Some(w), Some(h)] = r.sides
    {
        return rectangle::fit_rectangle(knowns, r, [w, h], pulling, 1.0).map(Some);
    }
    let shape = &chosen.fitted.model.shape;
    let one = lengths::one_scale(shape, pulling)?;
    match (chosen.two_scales, pulling.len()) {
        (true, _) => lengths::two_scales(shape, pulling, &one, true),
        (false, 0..2) => Ok(Some(one)),
        (false, _) => lengths::held(knowns.view, shape, pulling, &one).map(Some),
    }
}
