//! A view that is parallel to another and stands behind it, seen by the same camera: everything on it is as many times larger
//! as it is farther away.

use super::fit::{Fit, Scale, checks, says};
use super::knowns::{Known, Knowns, Side, check_known, check_length};
use super::tilt::fit_tilt;
use crate::estimate::{Estimate, Source};
use crate::fault::{Area, spoil};
use crate::words::Say;

/// What is known of where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Back<'a> {
    /// The view.
    pub view: u32,
    /// How far behind the other it stands, mm; less than nothing before it. Nothing where true lengths of its own tell.
    pub back: Option<Side>,
    /// How far the camera stood from the other's plane, mm, where a person says so.
    pub away: Option<Side>,
    /// True and check lengths on it.
    pub knowns: &'a [Known],
}

/// The map of what stands behind `base`, whose own knowns are `from`.
///
/// # Errors
/// `view.back-unknown` where nothing tells how far it stands or how far the camera stood; `view.back-behind-camera`.
pub fn stand_back(base: &Fit, from: Option<&Knowns>, behind: &Back) -> Result<Fit, Say> {
    for side in [behind.back, behind.away].into_iter().flatten() {
        check_length(side.mm.abs().max(1e-3), side.u)?;
    }
    behind.knowns.iter().try_for_each(check_known)?;
    let times = match own_scale(base, behind)? {
        Some(times) => times,
        None => farther(base, from, behind)?,
    };
    if !(times.value > 0.0 && times.value.is_finite()) {
        return Err(Say::new("view.back-behind-camera"));
    }
    let own = behind.knowns.iter().any(|k| k.pulls);
    let map = base.map.grown(&times)?;
    let scale = if own { Scale::Lengths } else { base.scale };
    let left = Vec::new();
    let checks = if scale == Scale::None { Vec::new() } else { checks(behind.knowns, &map, left)? };
    let away = base
        .away
        .as_ref()
        .map(|a| Estimate::combine(a.value * times.value, &[(times.value, a), (a.value, &times)]));
    let mut fit = Fit { map, scale, checks, away, odd: None, unclear: false, stretch: None, ..base.clone() };
    fit.says = says(&fit);
    Ok(fit)
}

/// How many times larger its own true lengths make everything, the mean of what they say by their weights.
fn own_scale(base: &Fit, behind: &Back) -> Result<Option<Estimate>, Say> {
    let mut all = Vec::new();
    for known in behind.knowns.iter().filter(|k| k.pulls) {
        let given = Estimate::of(known.mm, Source::Known(known.mark), known.u);
        all.push(given.over(&base.map.measure(&known.span)?));
    }
    let weight = |e: &Estimate| 1.0 / e.variance().max(f64::MIN_POSITIVE);
    let sum: f64 = all.iter().map(weight).sum();
    let terms: Vec<(f64, &Estimate)> = all.iter().map(|e| (weight(e) / sum, e)).collect();
    let value = terms.iter().map(|(w, e)| w * e.value).sum();
    Ok((!terms.is_empty()).then(|| Estimate::combine(value, &terms)))
}

/// How many times farther away it is: 1 + back / away.
fn farther(base: &Fit, from: Option<&Knowns>, behind: &Back) -> Result<Estimate, Say> {
    let unknown = || Say::new("view.back-unknown");
    let back = behind.back.ok_or_else(unknown)?;
    let back = Estimate::of(back.mm, Source::Back(behind.view), back.u).times(spoil(Area::Depth, 1.5));
    let told = behind.away.map(|a| Estimate::of(a.mm, Source::Away(behind.view), a.u));
    let seen =
        || base.away.clone().or_else(|| from.and_then(by_camera)).filter(|_| base.scale != Scale::None);
    let away = told.or_else(seen).ok_or_else(unknown)?;
    let times = back.over(&away);
    Ok(Estimate::combine(1.0 + times.value, &[(1.0, &times)]))
}

/// How far the camera stood from a view whose map has no camera in it (a rectangle of known sides), if one can be found.
fn by_camera(from: &Knowns) -> Option<Estimate> {
    from.rectangle?;
    let pulling: Vec<&Known> = from.knowns.iter().filter(|k| k.pulls).collect();
    let fitted = fit_tilt(from, &pulling).ok()?.fitted;
    super::map::ViewMap::new(fitted.model, fitted.params, None).ok()?.away()
}
