//! The sides of a box as views: each with a map of its own, by the one camera.

use super::box_odd::Stray;
use super::boxed::{
    BoxKnowns, Boxed, FACES, Posed, Sloped, UNKNOWNS, away_at, corner, face_at, facing, model, pose, seen,
};
use super::fit::{self, DISAGREE, Fit, Named, Odd, Scale, Seen};
use super::knowns::{self, Known, Side};
use super::lens::Lens;
use super::map::ViewMap;
use super::slant;
use crate::estimate::{Estimate, Source};
use crate::fault::{Area, spoil};
use crate::plane::{Picture, Point};
use crate::words::Say;

/// A box as it was found.
#[derive(Clone, Debug)]
pub struct BoxFit {
    posed: Posed,
    /// What it was found from, without bend.
    lengths: Vec<(u8, Known)>,
    lens: Option<Lens>,
    lies: bool,
    /// How often knowns as good as stated would disagree this badly.
    p: f64,
    /// The length that the others say is wrong, and the side it is told of.
    odd: Option<(u8, Odd)>,
}

/// The box from all that is known of it, the picture's bend taken out first.
///
/// # Errors
/// `view.box-six` for fewer than six corners; `view.box-in-line`, `view.box-no-box`, `view.box-frontal`,
/// `view.box-edges-disagree` where that says why; and what single places and lengths are refused for.
pub fn fit_box(knowns: &BoxKnowns, lens: Option<&Lens>) -> Result<BoxFit, Say> {
    check(knowns)?;
    let (boxed, lengths) = match lens {
        Some(lens) => lens.straighten_box(knowns),
        None => (knowns.boxed.clone(), knowns.knowns.to_vec()),
    };
    let straight = BoxKnowns { boxed: &boxed, camera: knowns.camera, knowns: &lengths };
    let mut posed = pose(&straight)?;
    let (p, stray) = (posed.p(), posed.stray.take());
    let (lies, lens) = (knowns.camera.lies(), lens.cloned());
    let mut found = BoxFit { posed, lengths, lens, lies, p, odd: None };
    found.odd = stray.and_then(|(which, theta)| found.odd(which, theta, &boxed));
    if p < DISAGREE {
        let Posed { theta, chi2, freedom, .. } = &mut found.posed;
        fit::widen(boxed.view, theta, *chi2, *freedom);
    }
    Ok(found)
}

pub(super) fn check(knowns: &BoxKnowns) -> Result<(), Say> {
    let boxed = knowns.boxed;
    let six = boxed.corners.iter().flatten().count() >= 6;
    if !six {
        return Err(Say::new("view.box-six"));
    }
    boxed.edges.iter().flatten().try_for_each(|side| knowns::check_length(side.mm, side.u))?;
    let given: Vec<_> = boxed.corners.iter().flatten().collect();
    for (i, a) in given.iter().enumerate() {
        knowns::check_click(a)?;
        given[..i].iter().try_for_each(|b| knowns::check_apart(a, b))?;
    }
    for (_, known) in knowns.knowns {
        knowns::check_known(known).map_err(|say| say.count("mark", known.mark as usize))?;
    }
    for (corners, _) in FACES {
        for i in 0..4 {
            let [a, b, c] = [0, 1, 2].map(|j| boxed.corners[corners[(i + j) % 4]].as_ref());
            if let (Some(a), Some(b), Some(c)) = (a, b, c)
                && knowns::in_line(a, b, c)
            {
                return Err(Say::new("view.box-in-line"));
            }
        }
    }
    Ok(())
}

impl BoxFit {
    /// The three edges, mm; relative to one another where no length is known.
    pub fn edges(&self) -> [Estimate; 3] {
        let theta = &self.posed.theta;
        let depth = &theta[UNKNOWNS - 1];
        [8, 9, 10].map(|k| {
            let edge = &theta[k];
            Estimate::combine(edge.value * depth.value, &[(depth.value, edge), (edge.value, depth)])
        })
    }

    /// The side that what holds for the whole box is told of.
    fn first(&self) -> u8 {
        self.facing().iter().position(|f| *f).map_or(0, |n| n as u8)
    }

    /// What the other lengths, by which the box is `theta`, make of the one that is wrong; the side it is told of.
    fn odd(&self, which: Stray, theta: Vec<Estimate>, boxed: &Boxed) -> Option<(u8, Odd)> {
        let posed = Posed { theta, ..self.posed.clone() };
        // The lengths are without bend already.
        let others = BoxFit { posed, lengths: Vec::new(), lens: None, ..self.clone() };
        let (face, odd, source, u) = match which {
            Stray::Edge(k) => {
                let Side { mm, u } = boxed.edges[k]?;
                let odd =
                    Odd { what: Named::Edge(k as u8), given: mm, others_say: others.edges()[k].clone() };
                (self.first(), odd, Source::Side(boxed.view, k as u8), u)
            }
            Stray::Length(i) => {
                let (face, known) = self.lengths.iter().filter(|(_, k)| k.pulls).nth(i)?;
                let others_say = others.face(*face, 0.0).ok()?.map.measure(&known.span).ok()?;
                let odd = Odd { what: Named::Mark(known.mark), given: known.mm, others_say };
                (*face, odd, Source::Known(known.mark), known.u)
            }
        };
        let apart = odd.others_say.minus(&Estimate::of(odd.given, source, u));
        (apart.value.abs() > apart.half_width()).then_some((face, odd))
    }

    /// How far the camera sees, px.
    pub fn focal(&self) -> Estimate {
        let f2 = &self.posed.theta[2];
        let f = libm::sqrt(f2.value);
        Estimate::combine(f, &[(0.5 / f, f2)])
    }

    /// Which sides face the camera: front, end, top.
    pub fn facing(&self) -> [bool; 3] {
        facing(&self.posed.axes, &self.posed.values())
    }

    /// Where corner `k` is seen, touched or not; `None` where the lens shows it nowhere.
    pub fn seen(&self, k: usize) -> Option<Point<Picture>> {
        let at = Point::from(seen(&self.posed.axes, &self.posed.values(), corner(k))?.at);
        self.lens.as_ref().map_or(Some(at), |lens| lens.bow(at))
    }

    /// What follows from the unknowns.
    fn of(&self, (now, by): Sloped) -> Vec<Estimate> {
        let one = |(i, value): (usize, &f64)| {
            let terms: Vec<(f64, &Estimate)> =
                by.iter().filter_map(|d| d.get(i)).copied().zip(&self.posed.theta).collect();
            Estimate::combine(*value, &terms)
        };
        now.iter().enumerate().map(one).collect()
    }

    /// The map of side `face` (0 front, 1 end, 2 top) whose view's level is `tilt`.
    ///
    /// # Errors
    /// `view.no-map` where it is seen edge-on or not at all.
    pub fn face(&self, face: u8, tilt: f64) -> Result<Fit, Say> {
        let none = || Say::new("view.no-map");
        let (which, posed) = (usize::from(face), &self.posed);
        let values = posed.values();
        let mut params = self.of(face_at(&posed.axes, &values, which).ok_or_else(none)?);
        // The sides come after the corners.
        for param in params.iter_mut().skip(8).take(which.min(1)) {
            *param = param.times(spoil(Area::Box, 1.01));
        }
        let away = away_at(&posed.axes, &values, which).and_then(|a| self.of(a).pop());
        let theta: Vec<f64> = params.iter().map(|p| p.value).collect();
        let mut map = ViewMap::new(model(&theta, tilt)?, params, None)?;
        let pulling = self.lengths.iter().filter(|(_, k)| k.pulls).zip(&posed.left);
        let left = pulling.filter(|((on, _), _)| *on == face).map(|(_, e)| e.clone()).collect();
        let own: Vec<Known> =
            self.lengths.iter().filter(|(on, _)| *on == face).map(|(_, k)| k.clone()).collect();
        let checks = if posed.scaled { fit::checks(&own, &map, left)? } else { Vec::new() };
        let edge_on = slant::edge_on(&map, &[0, 1, 2, 3].map(|i| Point::new(theta[2 * i], theta[2 * i + 1])));
        if let Some(lens) = &self.lens {
            map.put_behind(lens.clone());
        }
        let pulled = self.lengths.iter().any(|(_, k)| k.pulls);
        let mut fit = Fit {
            map,
            scale: match (posed.scaled, pulled) {
                (false, _) => Scale::None,
                (true, true) => Scale::Lengths,
                (true, false) => Scale::Rectangle,
            },
            two_scales: false,
            chi2: posed.chi2,
            freedom: posed.freedom,
            p: self.p,
            checks,
            odd: self.odd.as_ref().filter(|(on, _)| *on == face).map(|(_, odd)| odd.clone()),
            unclear: self.p < DISAGREE && self.odd.is_none() && face == self.first(),
            stretch: None,
            camera: Some(Seen {
                focal: self.focal(),
                focal_disagrees: posed.disagrees,
                file_lies: self.lies,
            }),
            edge_on,
            away: away.filter(|_| posed.scaled),
            says: Vec::new(),
        };
        fit.says = fit::says(&fit);
        if posed.shifted {
            fit.says.push(Say::new("view.box-shifted"));
        }
        Ok(fit)
    }
}
