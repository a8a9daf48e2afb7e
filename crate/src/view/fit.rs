//! From what is known of a view to its map, and what is to be said about it.

use super::knowns::{self, Known, Knowns, RectangleOf};
use super::lengths::{self, Fitted};
use super::map::{Model, Shape, ViewMap};
use super::tilt::fit_tilt;
use super::{odd, rectangle, slant};
use crate::WHOLE;
use crate::estimate::{Estimate, Part, Source, dense::Dense, split};
use crate::plane::{Homography, Paper, Picture};
use crate::words::Say;

/// Knowns that would disagree so badly by chance less often than this are said to disagree.
pub(crate) const DISAGREE: f64 = 0.05;

/// Where the scale of a map comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Nowhere: ratios only. "Real" mm are px, or mm of paper where those are known.
    None,
    /// True lengths.
    Lengths,
    /// The drawing's scale, with the file's resolution or a sheet of known size.
    Drawing,
    /// A rectangle of the thing itself.
    Rectangle,
}

/// A true or check length against the map.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// The mark.
    pub mark: u32,
    /// What was vouched for, in mm.
    pub given: f64,
    /// What the map makes of it, in mm.
    pub measured: Estimate,
    /// Measured less given, in mm; what they share has cancelled. For a length that pulls, before any
    /// widening for disagreement.
    pub difference: Estimate,
    /// The difference is within its ±.
    pub agrees: bool,
    /// It pulled on the map.
    pub pulls: bool,
}

/// What a person gave a length of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// A mark.
    Mark(u32),
    /// An edge of a box: along the front, along the end, the upright.
    Edge(u8),
}

/// The length that doesn't agree with the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Odd {
    /// Of what.
    pub what: Named,
    /// What was vouched for, in mm.
    pub given: f64,
    /// What the other lengths make of it, in mm.
    pub others_say: Estimate,
}

/// Whether the print or scan is stretched.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Scale across ÷ scale along the view: above 1, the picture is squeezed across.
    pub ratio: Estimate,
    /// It differs from 1 beyond its ±.
    pub significant: bool,
    /// One scale doesn't fit the lengths and two do.
    pub cured: bool,
}

/// What a fit makes of the camera.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// How far it sees (the focal length), in px.
    pub focal: Estimate,
    /// The file tells another focal length, which was not used: all else agrees.
    pub focal_disagrees: bool,
    /// The file tells a focal length that no lens has; it was not used.
    pub file_lies: bool,
}

/// A view's map and what is to be said about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The map.
    pub map: ViewMap,
    /// Where its scale comes from.
    pub scale: Scale,
    /// Two scales were fitted (a stretched print or scan).
    pub two_scales: bool,
    /// The weighted sum of squares that is left.
    pub chi2: f64,
    /// Knowns less unknowns.
    pub freedom: usize,
    /// How often knowns as good as stated would disagree this badly; 1 when there is nothing to disagree.
    pub p: f64,
    /// Every true and check length against the map; none without a scale.
    pub checks: Vec<Check>,
    /// The length that the others say is wrong.
    pub odd: Option<Odd>,
    /// The knowns disagree, and nobody can tell which is wrong.
    pub unclear: bool,
    /// What the lengths say of a stretch, when they run in directions that tell.
    pub stretch: Option<Stretch>,
    /// What it makes of the camera, where it took one.
    pub camera: Option<Seen>,
    /// The view is seen nearly edge-on: the slant, in rad, where its known places lie.
    pub edge_on: Option<f64>,
    /// How far the camera stands from the view's plane, mm, where that follows.
    pub away: Option<Estimate>,
    /// What a person should be told, most pressing first.
    pub says: Vec<Say>,
}

/// Fits the simplest map the knowns can bear.
///
/// One scale from a true length; from several, two held together, or free when the person accepted that, both
/// along the view's axes; a homography from a rectangle; the file's resolution with a drawing's scale; or
/// ratios only.
///
/// - Scales held together follow a stretch as far as the lengths tell it. What they don't tell is taken as
///   none, as with one length; [`Source::Stretch`] is what that takes off a stretch that shows.
/// - Where the knowns disagree, [`Source::Misfit`] widens the map's covariance by χ²/ν, the square of the
///   Birge ratio, without touching what it shares with the marks.
///
/// # Errors
/// In words: `view.*` for what can't be used, `fit.*` when no map is found.
///
/// # References
/// Birge, Physical Review 40 (1932) 207; the same widening is the scale factor of the Particle Data Group's
/// Review, "Introduction", §5.2 (memory).
pub fn fit(knowns: &Knowns) -> Result<Fit, Say> {
    knowns::check(knowns)?;
    let pulling: Vec<&Known> = knowns.knowns.iter().filter(|k| k.pulls).collect();
    let mut chosen = choose(knowns, &pulling)?;
    let p = chosen.fitted.p();
    let disagree = p < DISAGREE;
    let (odd, unclear) = match disagree {
        true => odd::find(knowns, &pulling, &chosen)?.map_or((None, true), |o| (Some(o), false)),
        false => (None, false),
    };
    if disagree {
        let Fitted { params, chi2, freedom, .. } = &mut chosen.fitted;
        widen(knowns.view, params, *chi2, *freedom);
    }
    let Chosen { fitted, scale, two_scales, stretch, paper, camera, wanting } = chosen;
    let Fitted { model, params, chi2, freedom, left } = fitted;
    let map = ViewMap::new(model, params, paper)?;
    let away = map.away().filter(|_| scale != Scale::None);
    let checks = if scale == Scale::None { Vec::new() } else { checks(knowns.knowns, &map, left)? };
    let edge_on = slant::edge_on(&map, &slant::places(knowns));
    let mut fit = Fit {
        map,
        scale,
        two_scales,
        chi2,
        freedom,
        p,
        checks,
        odd,
        unclear,
        stretch,
        camera,
        edge_on,
        away,
        says: Vec::new(),
    };
    fit.says = says(&fit);
    fit.says.extend(wanting);
    Ok(fit)
}

/// The map that was chosen, and why.
pub(crate) struct Chosen {
    pub fitted: Fitted,
    pub scale: Scale,
    pub two_scales: bool,
    pub stretch: Option<Stretch>,
    paper: Option<Homography<Picture, Paper>>,
    pub camera: Option<Seen>,
    /// What is missing for the view to be turned square-on.
    wanting: Option<Say>,
}

impl Chosen {
    /// A map with one scale, of which there is nothing more to say.
    fn of(fitted: Fitted, scale: Scale) -> Chosen {
        Chosen { fitted, scale, two_scales: false, stretch: None, paper: None, camera: None, wanting: None }
    }
}

fn choose(knowns: &Knowns, pulling: &[&Known]) -> Result<Chosen, Say> {
    let plain = |wanting: Option<Say>| {
        let chosen = match knowns.rectangle {
            Some(_) => by_rectangle(knowns, pulling),
            None if pulling.is_empty() => unscaled(knowns),
            None => by_lengths(knowns, pulling),
        };
        chosen.map(|c| Chosen { wanting, ..c })
    };
    if !is_tilted(knowns) {
        return plain(None);
    }
    match by_anything(knowns, pulling) {
        // Shapes are vouched for one after the other: until they tell enough, the view stays as it was.
        Err(say) if say.key == "view.not-enough" && knowns.rectangle.is_none() && !knowns.slanted => {
            plain(Some(say))
        }
        other => other,
    }
}

/// What is known takes the camera to make a map of it.
pub(crate) fn is_tilted(knowns: &Knowns) -> bool {
    let open = knowns.rectangle.is_some_and(|r| r.sides.iter().any(Option::is_none));
    WHOLE && (open || knowns.slanted || !knowns.forms.is_empty())
}

fn by_anything(knowns: &Knowns, pulling: &[&Known]) -> Result<Chosen, Say> {
    let tilt = fit_tilt(knowns, pulling)?;
    let sided = knowns.rectangle.is_some_and(|r| r.sides.iter().any(Option::is_some));
    let scale = match (pulling.is_empty(), sided) {
        (false, _) => Scale::Lengths,
        (true, true) => Scale::Rectangle,
        (true, false) => Scale::None,
    };
    Ok(Chosen { camera: Some(tilt.seen), ..Chosen::of(tilt.fitted, scale) })
}

fn by_rectangle(knowns: &Knowns, pulling: &[&Known]) -> Result<Chosen, Say> {
    let Some(r) = knowns.rectangle else { return unscaled(knowns) };
    let per_sheet = knowns.drawing_scale.unwrap_or(1.0);
    let [Some(width), Some(height)] = r.sides else {
        return if WHOLE { by_anything(knowns, pulling) } else { Err(Say::new("job.wants-whole")) };
    };
    let fitted = rectangle::fit_rectangle(knowns, r, [width, height], pulling, per_sheet)?;
    let scale = match (r.of, pulling.is_empty(), knowns.drawing_scale) {
        (RectangleOf::Thing, ..) => Scale::Rectangle,
        (RectangleOf::Sheet, false, _) => Scale::Lengths,
        (RectangleOf::Sheet, true, Some(_)) => Scale::Drawing,
        (RectangleOf::Sheet, true, None) => Scale::None,
    };
    let paper = (r.of == RectangleOf::Sheet).then(|| {
        let k = width.mm / fitted.params[8].value;
        let smaller = Homography::from_rows([[k, 0.0, 0.0], [0.0, k, 0.0], [0.0, 0.0, 1.0]]);
        ViewMap::new(fitted.model.clone(), Vec::new(), None).map(|m| m.homography().then(&smaller))
    });
    Ok(Chosen { paper: paper.transpose()?, ..Chosen::of(fitted, scale) })
}

/// Without a true length: the resolution with a drawing's scale, or ratios only.
fn unscaled(knowns: &Knowns) -> Result<Chosen, Say> {
    let shape = Shape::Scales { level: lengths::level(knowns) };
    let (scale, n) = match (knowns.resolution, knowns.drawing_scale) {
        (Some(_), Some(n)) => (Scale::Drawing, n),
        _ => (Scale::None, 1.0),
    };
    let one = knowns
        .resolution
        .map_or(Estimate::exact(n), |r| Estimate::of(n, Source::Resolution(r.picture), n * r.u_relative));
    let fitted = Fitted {
        model: Model::at(&shape, &[n, n])?,
        params: vec![one.clone(), one],
        chi2: 0.0,
        freedom: 0,
        left: Vec::new(),
    };
    Ok(Chosen { paper: paper(knowns), ..Chosen::of(fitted, scale) })
}

fn by_lengths(knowns: &Knowns, pulling: &[&Known]) -> Result<Chosen, Say> {
    let shape = Shape::Scales { level: lengths::level(knowns) };
    let one = lengths::one_scale(&shape, pulling)?;
    let two = lengths::two_scales(&shape, pulling, &one)?;
    let stretch = two.as_ref().map(|two| {
        let ratio = two.params[0].over(&two.params[1]);
        let significant = (ratio.value - 1.0).abs() > ratio.half_width();
        Stretch { ratio, significant, cured: one.p() < DISAGREE && two.p() >= DISAGREE }
    });
    let (fitted, two_scales) = match two {
        Some(two) if knowns.two_scales => (two, true),
        _ if pulling.len() > 1 => (lengths::held(knowns.view, &shape, pulling, &one)?, false),
        _ => (one, false),
    };
    let paper = paper(knowns);
    Ok(Chosen { two_scales, stretch, paper, ..Chosen::of(fitted, Scale::Lengths) })
}

/// To mm of paper, where the file tells.
fn paper(knowns: &Knowns) -> Option<Homography<Picture, Paper>> {
    knowns.resolution?;
    let [a, b] = lengths::level(knowns);
    Some(Homography::from_rows([[a[0], a[1], 0.0], [b[0], b[1], 0.0], [0.0, 0.0, 1.0]]))
}

/// Widens the covariance C of the map to (χ²/ν)·C by independent parts, so that what the map shares with
/// the marks that made it still cancels.
pub(super) fn widen(view: u32, params: &mut [Estimate], chi2: f64, freedom: usize) {
    let extra = libm::sqrt((chi2 / freedom as f64 - 1.0).max(0.0));
    let n = params.len();
    let columns = split(&Dense::by(n, n, |i, j| params[i].covariance(&params[j])));
    for (i, param) in params.iter_mut().enumerate() {
        let part = |j: usize| Part {
            source: Source::Misfit(view, j as u8),
            effect: extra * columns[(i, j)],
            freedom: f64::INFINITY,
        };
        let misfit = Estimate::from_parts(0.0, (0..=i).map(part).collect());
        *param = Estimate::combine(param.value, &[(1.0, param), (1.0, &misfit)]);
    }
}

pub(super) fn checks(knowns: &[Known], map: &ViewMap, left: Vec<Estimate>) -> Result<Vec<Check>, Say> {
    let mut left = left.into_iter();
    let mut checks = Vec::with_capacity(knowns.len());
    for known in knowns {
        let measured = match map.measure(&known.span) {
            Ok(measured) => measured,
            // A check length beyond the horizon proves nothing, but stops nothing either.
            Err(_) if !known.pulls => continue,
            Err(say) => return Err(say),
        };
        let given = Estimate::of(known.mm, Source::Known(known.mark), known.u);
        let pulled = if known.pulls { left.next() } else { None };
        let difference = pulled.unwrap_or_else(|| measured.minus(&given));
        // A length that alone sets the scale agrees with itself, whatever rounding left of it.
        let agrees = difference.value.abs() <= difference.half_width() + 1e-9 * known.mm;
        checks.push(Check {
            mark: known.mark,
            given: known.mm,
            measured,
            difference,
            agrees,
            pulls: known.pulls,
        });
    }
    Ok(checks)
}

pub(super) fn says(fit: &Fit) -> Vec<Say> {
    let mut says = Vec::new();
    // By how much a length across reads long against one along.
    let apart = |stretch: &Stretch| (1.0 / stretch.ratio.value - 1.0) * 100.0;
    match &fit.stretch {
        Some(s) if s.significant && !fit.two_scales => {
            let by = crate::words::Arg::Number(apart(s).abs(), 1);
            let key = if s.ratio.value > 1.0 { "view.squeezed-across" } else { "view.stretched-across" };
            says.push(Say::new(key).with("percent", by));
        }
        _ => {}
    }
    if let Some(odd) = &fit.odd
        && let Named::Mark(mark) = odd.what
    {
        let half = crate::words::Arg::PlusMinus(odd.others_say.half_width());
        says.push(
            Say::new("view.odd-one-out")
                .count("mark", mark as usize)
                .length("given", odd.given)
                .length("others", odd.others_say.value)
                .with("half", half),
        );
    }
    let seen = fit.camera.as_ref();
    if seen.is_some_and(|c| c.file_lies) {
        says.push(Say::new("view.focal-absurd"));
    }
    if seen.is_some_and(|c| c.focal_disagrees) {
        says.push(Say::new("view.focal-disagrees"));
    }
    if fit.unclear {
        says.push(Say::new("view.lengths-disagree"));
    }
    if fit.p < DISAGREE {
        says.push(Say::new("view.widened"));
    }
    for check in fit.checks.iter().filter(|c| !c.pulls && !c.agrees) {
        says.push(
            Say::new("view.check-fails")
                .count("mark", check.mark as usize)
                .length("given", check.given)
                .length("measured", check.measured.value)
                .with("half", crate::words::Arg::PlusMinus(check.measured.half_width())),
        );
    }
    if let Some(slant) = fit.edge_on {
        says.push(Say::new("view.edge-on").with("degrees", crate::words::Arg::Number(slant.to_degrees(), 0)));
    }
    if fit.scale == Scale::None {
        says.push(Say::new("view.ratios-only"));
    }
    says
}
