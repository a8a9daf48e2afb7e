//! The fit of a plane seen at a slant, to anything that is known of it and of the camera, all at once.

use super::camera::Camera;
use super::corners::Corners;
use super::fit::{DISAGREE, Seen};
use super::forms::angled;
use super::knowns::{Known, Knowns, Rectangle, Span};
use super::lengths::{Fitted, row, start_scale};
use super::map::{Model, Shape};
use super::tilted::UNKNOWNS;
use super::unknowable;
use crate::estimate::{Estimate, Row, Solved, Source, chi_square_tail, solve};
use crate::fault::{Area, spoil};
use crate::plane::{Picture, Point};
use crate::words::Say;

/// Where a file doesn't tell the focal length and the knowns needn't know it either, it is taken to be the usual one give
/// or take a factor of two (common practice, no source).
const USUAL_U: f64 = 0.7;
/// A circle's own place and a rectangle's edges need no scale; without any length this stands for it, in mm a px.
const PLAIN: f64 = 1.0;
/// A file whose focal length disagrees so badly by chance less often than this is not believed.
const FILE_WRONG: f64 = 0.01;
/// How steep a slant is tried, as its tangent, in four directions, where none at first leads nowhere.
const TRY: f64 = 0.6;

/// The map from everything that is known, and whether it disagrees with the file's focal length only.
pub(crate) struct Tilt {
    pub fitted: Fitted,
    pub seen: Seen,
}

/// The map of `knowns`, whose pulling lengths are `pulling`: one weighted least squares.
///
/// # Errors
/// `view.unknowable` and its like where the knowns leave the slant open.
///
/// # References
/// Zhang & He, Digital Signal Processing 17 (2007) 414, for what a rectangle tells; Criminisi, Reid & Zisserman, BMVC 1997,
/// §4, for covariance to first order.
pub(crate) fn fit_tilt(knowns: &Knowns, pulling: &[&Known]) -> Result<Tilt, Say> {
    let camera = knowns.camera.ok_or_else(|| Say::new("view.no-map"))?;
    let sides = sides(knowns);
    let scaled = !(pulling.is_empty() && sides.is_empty());
    let job = Task { knowns, camera, pulling, sides, scaled };
    let (mut fitted, focal_disagrees) = job.with_file()?;
    unknowable::check(&fitted, camera, &job.seen(), knowns.rectangle.is_some())?;
    turn_level(knowns, &mut fitted)?;
    let f2 = &fitted.params[2];
    let f = libm::sqrt(f2.value);
    let focal = Estimate::combine(f, &[(0.5 / f, f2)]);
    Ok(Tilt { seen: Seen { focal, focal_disagrees, file_lies: camera.lies() }, fitted })
}

/// What is to be solved.
pub(crate) struct Task<'a> {
    knowns: &'a Knowns<'a>,
    camera: &'a Camera,
    pulling: &'a [&'a Known],
    /// The rectangle's own sides, where they are known.
    sides: Vec<Known>,
    scaled: bool,
}

/// A known side of a rectangle as a length between two corners. Its source is not a mark's.
fn sides(knowns: &Knowns) -> Vec<Known> {
    let Some(r) = knowns.rectangle else { return Vec::new() };
    let side = |i: usize| {
        let given = r.sides[i]?;
        let span = Span::Between([r.corners[i], r.corners[i + 1]]);
        Some(Known { mark: i as u32, span, mm: given.mm, u: given.u.max(1e-6 * given.mm), pulls: true })
    };
    [0, 1].into_iter().filter_map(side).collect()
}

impl Task<'_> {
    /// Without a file's word: the rectangle's own, or, where lengths tell its proportions in any case, the usual.
    fn without_focal(&self) -> Result<Solved, Say> {
        if let Some(r) = self.knowns.rectangle {
            let lengths = self.pulling.len() + self.sides.len();
            match unknowable::corners(r, self.camera) {
                Err(_) if lengths > 1 => return self.best(Some((self.camera.usual(), USUAL_U))),
                other => other?,
            }
            return self.best(None);
        }
        let free = self.best(None).ok().filter(|s| {
            let f2 = &s.theta[2];
            f2.value > 0.0 && f2.u() < f2.value / unknowable::CLEAR
        });
        free.map_or_else(|| self.best(Some((self.camera.usual(), USUAL_U))), Ok)
    }

    /// With the file's focal length, where it tells one; without it where everything else agrees better so, and whether
    /// that was so: then the file is wrong, or the picture was cropped.
    fn with_file(&self) -> Result<(Fitted, bool), Say> {
        let Some(told) = self.camera.told() else { return Ok((self.fitted(&self.without_focal()?)?, false)) };
        let with = self.best(Some(told)).and_then(|solved| self.fitted(&solved));
        if with.as_ref().is_ok_and(|f| f.p() >= FILE_WRONG) {
            return with.map(|f| (f, false));
        }
        match self.without_focal().and_then(|solved| self.fitted(&solved)) {
            Ok(free) if free.p() >= FILE_WRONG => Ok((free, true)),
            _ => with.map(|f| (f, false)),
        }
    }

    /// The best of several starts.
    fn best(&self, focal: Option<(f64, f64)>) -> Result<Solved, Say> {
        let f = focal.map_or_else(|| self.camera.usual(), |f| f.0);
        if let Some(r) = self.knowns.rectangle {
            return self.solve(focal, &start(r, self.camera, focal.map(|f| f.0))?);
        }
        let from = |k: u8| {
            let tan = if k == 0 { 0.0 } else { TRY / f };
            let turn = (f64::from(k) - 0.5) * std::f64::consts::FRAC_PI_2;
            self.solve(focal, &[tan * libm::cos(turn), tan * libm::sin(turn), f * f])
        };
        let mut best = from(0);
        for k in 1..=4 {
            if best.as_ref().is_ok_and(|s| chi_square_tail(s.chi2, s.freedom) >= DISAGREE) {
                break;
            }
            let other = from(k);
            let better = match (&best, &other) {
                (Ok(best), Ok(other)) => other.chi2 < best.chi2,
                (Err(_), Ok(_)) => true,
                _ => false,
            };
            if better {
                best = other;
            }
        }
        let best = best.map_err(open)?;
        // Seen from afar, a plane that leans back looks like one that leans forward: is the other as good?
        let [a, b, f2] = [0, 1, 2].map(|i| best.theta[i].value);
        match self.solve(focal, &[-a, -b, f2.max(0.01 * f * f)]) {
            Ok(other) if self.rival(&best, &other) => Err(Say::new("view.two-ways")),
            Ok(other) if other.chi2 < best.chi2 => Ok(other),
            _ => Ok(best),
        }
    }

    /// Another slant that fits about as well: within 4 of χ² (two standard deviations), and not the same within both ±.
    fn rival(&self, best: &Solved, other: &Solved) -> bool {
        let apart = |i: usize| {
            let u = best.theta[i].u().max(other.theta[i].u());
            (best.theta[i].value - other.theta[i].value).abs() > 4.0 * u
        };
        (other.chi2 - best.chi2).abs() < 4.0 && (apart(0) || apart(1))
    }

    /// θ as a map takes it.
    fn model(&self, theta: &[f64]) -> Result<Model, Say> {
        let [a, b, f2, cx, cy, rest @ ..] = theta else { return Err(Say::new("view.no-map")) };
        let scale = if self.scaled { rest.first().copied().unwrap_or(0.0) } else { PLAIN };
        Model::at(&Shape::Tilted { turn: LEVEL }, &[*a, *b, *f2, *cx, *cy, scale])
    }

    fn solve(&self, focal: Option<(f64, f64)>, slant: &[f64]) -> Result<Solved, Say> {
        let [cx, cy] = self.camera.middle();
        let mut theta = vec![slant[0], slant[1], slant[2], cx, cy];
        if self.scaled {
            theta.push(1.0);
            let model = self.model(&theta)?;
            theta[5] = start_scale(&model, self.pulling.iter().copied().chain(&self.sides))?;
        }
        let model = self.model(&theta)?;
        for formed in self.knowns.forms {
            theta.extend(formed.form.start(&model)?);
        }
        solve(&theta, |theta| self.rows(theta, focal))
    }

    /// All equations: the camera's, the rectangle's, the sides', the forms', the lengths'.
    fn rows(&self, theta: &[f64], focal: Option<(f64, f64)>) -> Result<Vec<Row>, Say> {
        let model = self.model(theta)?;
        let mut rows = self.camera.rows(theta, focal);
        if let Some(r) = self.knowns.rectangle {
            let [a, b, c, d] = r.corners.each_ref();
            rows.push(angled(&model, [a, b], [d, c], false)?);
            rows.push(angled(&model, [a, d], [b, c], false)?);
            rows.push(angled(&model, [a, b], [a, d], true)?);
        }
        for side in &self.sides {
            let mut one = row(&model, side)?;
            for part in one.parts.iter_mut().filter(|p| matches!(p.source, Source::Known(_))) {
                part.source = Source::Side(self.knowns.view, side.mark as u8);
            }
            rows.push(one);
        }
        let from = 5 + usize::from(self.scaled);
        let mut own = from;
        for formed in self.knowns.forms {
            let to = own + formed.form.unknowns();
            rows.extend(formed.form.rows(&model, theta.get(own..to).unwrap_or(&[]), [from, own])?);
            own = to;
        }
        for known in self.pulling {
            rows.push(row(&model, known)?);
        }
        for row in rows.iter_mut().filter(|row| !self.scaled && row.slope.len() == UNKNOWNS) {
            // The map has a slope by its scale, even where that is not an unknown.
            row.slope.truncate(5);
        }
        Ok(rows)
    }

    fn fitted(&self, solved: &Solved) -> Result<Fitted, Say> {
        let mut params: Vec<Estimate> = solved.theta.iter().take(UNKNOWNS).cloned().collect();
        if !self.scaled {
            params.truncate(5);
            params.push(Estimate::exact(PLAIN));
        }
        params[2] = params[2].times(spoil(Area::Aspect, 1.02));
        let theta: Vec<f64> = params.iter().map(|p| p.value).collect();
        Ok(Fitted {
            model: Model::at(&Shape::Tilted { turn: LEVEL }, &theta)?,
            params,
            chi2: solved.chi2,
            freedom: solved.freedom,
            left: solved.left[solved.left.len() - self.pulling.len()..].to_vec(),
        })
    }

    /// Every place that something is known of.
    fn seen(&self) -> Vec<Point<Picture>> {
        let corners = self.knowns.rectangle.iter().flat_map(|r| r.corners.iter());
        let lengths = self.pulling.iter().flat_map(|k| k.span.clicks());
        let forms = self.knowns.forms.iter().flat_map(|f| f.form.clicks());
        corners.chain(lengths).chain(forms).map(|c| c.at).collect()
    }
}

const LEVEL: [[f64; 2]; 2] = [[1.0, 0.0], [0.0, 1.0]];

/// What a solver couldn't settle, in words for a view.
fn open(why: Say) -> Say {
    if why.key.starts_with("fit.") { Say::new("view.not-enough") } else { why }
}

/// Where the plane of a rectangle runs out, and f², by its corners alone.
fn start(r: &Rectangle, camera: &Camera, focal: Option<f64>) -> Result<[f64; 3], Say> {
    let none = || Say::new("view.no-map");
    let corners = r.corners.iter().flat_map(|c| [c.at.x, c.at.y]);
    let theta: Vec<f64> = corners.chain([1.0, 1.0]).collect();
    let unit = Corners::at(&LEVEL, &theta).ok_or_else(none)?;
    let [a, b, c] = unit.forward().rows()[2];
    let [cx, cy] = camera.middle();
    let w = a * cx + b * cy + c;
    let middle = r.corners.iter().fold((0.0, 0.0), |s, c| (s.0 + c.at.x / 4.0, s.1 + c.at.y / 4.0));
    // The rectangle lies on one side of the horizon, the picture's middle must lie on the same.
    if w * (a * middle.0 + b * middle.1 + c) <= 0.0 {
        return Err(Say::new("view.horizon-in-between"));
    }
    let alpha = [a / w, b / w];
    let f2 = match focal {
        Some(f) => f * f,
        None => unknowable::closed(r, camera).ok_or_else(none)?,
    };
    Ok([alpha[0], alpha[1], f2])
}

/// Turns the real axes to those of the rectangle that lie nearest the view's level, or to the level itself.
fn turn_level(knowns: &Knowns, fitted: &mut Fitted) -> Result<(), Say> {
    let angle = match knowns.rectangle {
        Some(r) => {
            let at = |i: usize| fitted.model.place(r.corners[i].at).map(|p| p.real);
            let run = (at(1)? - at(0)?) + (at(2)? - at(3)?);
            let quarter = std::f64::consts::FRAC_PI_2;
            let off = libm::atan2(run.y, run.x) - knowns.tilt;
            knowns.tilt + off - quarter * libm::round(off / quarter)
        }
        None => knowns.tilt,
    };
    let (cos, sin) = (libm::cos(angle), libm::sin(angle));
    let turn = [[cos, sin], [-sin, cos]];
    fitted.model = Model::at(&Shape::Tilted { turn }, &fitted.model.theta)?;
    Ok(())
}
