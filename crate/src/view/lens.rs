//! The bend that a lens puts into straight things, and taking it out of a place.
//!
//! # References
//! Division model: Fitzgibbon, CVPR 2001, I-125 [memory]; straight lines are then seen as circles (Wu, Wei & Wang, Optical
//! Engineering 56 (2017) 013108). A second term takes what one term leaves of other lenses.

use super::forms::{Form, Formed};
use super::knowns::{Click, Known, Knowns, Rectangle, Span};
use crate::estimate::{Estimate, Part, Source};
use crate::plane::{Picture, Point, Vector};
use crate::words::Say;

/// Unknowns of a lens: λ, μ, and where the centre lies across and down.
pub(crate) const TERMS: usize = 4;

/// More than any lens that shows straight things has, of any term.
pub(super) const ABSURD: f64 = 0.8;

/// A lens: x_u = c + (x_d − c) / (1 + λ r² + μ r⁴), where r = |x_d − c| / (half the picture's diagonal).
#[derive(Clone, Debug, PartialEq)]
pub struct Lens {
    pub(super) picture: u32,
    /// The picture's middle, px.
    pub(super) middle: Point<Picture>,
    /// Half the picture's diagonal, px.
    pub(super) half: f64,
    /// λ, μ, and from the picture's middle to c across and down, in halves of the diagonal.
    pub(super) terms: [f64; TERMS],
    /// Column k: what the lens's k-th independent error does to each term, at one standard uncertainty.
    pub(super) effects: [[f64; TERMS]; TERMS],
}

/// A place as it would be without bend, with its slopes.
pub(super) struct Straightened {
    pub at: Point<Picture>,
    /// d(at)/d(place on the picture).
    pub d_at: [[f64; 2]; 2],
    /// d(at)/d(term) for each term.
    pub d_terms: [[f64; 2]; TERMS],
}

/// What moves a click that was straightened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bent {
    /// The picture whose lens it was.
    pub picture: u32,
    /// How far each of the click's own errors moves it, px.
    pub sway: [[f64; 2]; 2],
    /// How far each of the lens's errors moves it, px.
    pub lens: [[f64; 2]; TERMS],
}

impl Lens {
    /// A lens without bend or error in a picture of so many px.
    pub(super) fn none(picture: u32, size: [f64; 2]) -> Lens {
        let [x, y] = size.map(|s| 0.5 * s);
        let (middle, half) = (Point::new(x, y), libm::hypot(x, y));
        Lens { picture, middle, half, terms: [0.0; TERMS], effects: [[0.0; TERMS]; TERMS] }
    }

    /// A lens that is known, from its terms and what its independent errors do to each (see [`super::calibrate`]).
    ///
    /// # Errors
    /// `lens.absurd` for what no lens is.
    pub fn known(
        picture: u32,
        size: [f64; 2],
        terms: [f64; TERMS],
        effects: [[f64; TERMS]; TERMS],
    ) -> Result<Lens, Say> {
        let sound = terms.iter().chain(effects.iter().flatten()).all(|v| v.is_finite() && v.abs() < ABSURD);
        let lens = Lens { terms, effects, ..Lens::none(picture, size) };
        if sound { Ok(lens) } else { Err(Say::new("lens.absurd")) }
    }

    /// Its terms, and what its independent errors do to each, as [`Lens::known`] takes them.
    pub fn told(&self) -> ([f64; TERMS], [[f64; TERMS]; TERMS]) {
        (self.terms, self.effects)
    }

    /// λ and μ: negative where straight things bow outwards, as of most lenses.
    pub fn bend(&self) -> [f64; 2] {
        [self.terms[0], self.terms[1]]
    }

    /// Where straight things are seen straight, px.
    pub fn centre(&self) -> Point<Picture> {
        self.middle + Vector::new(self.terms[2], self.terms[3]) * self.half
    }

    /// How much nearer to the centre (as a share) a place `r` halves of the diagonal from it is seen than it should be,
    /// and the standard uncertainty of that.
    pub fn pull(&self, r: f64) -> [f64; 2] {
        let (r2, r4) = (r * r, r * r * r * r);
        let value = self.terms[0] * r2 + self.terms[1] * r4;
        let u2: f64 = (0..TERMS)
            .map(|k| r2 * self.effects[0][k] + r4 * self.effects[1][k])
            .map(|effect| effect * effect)
            .sum();
        [value, libm::sqrt(u2)]
    }

    /// `p` as it would be seen without bend, with slopes; `None` where this lens shows nothing.
    pub(super) fn slopes(&self, p: Point<Picture>) -> Option<Straightened> {
        let [lambda, mu, ..] = self.terms;
        let c = self.centre();
        let (x, y) = ((p.x - c.x) / self.half, (p.y - c.y) / self.half);
        let r2 = x * x + y * y;
        let under = 1.0 + lambda * r2 + mu * r2 * r2;
        // Where the picture would be folded over, and beyond.
        if !(under > 0.05 && 1.0 - lambda * r2 - 3.0 * mu * r2 * r2 > 0.05) {
            return None;
        }
        let grow = 1.0 / under;
        // d(grow)/d(x) = −grow² · (2λ + 4μ r²) · x
        let fall = -grow * grow * (2.0 * lambda + 4.0 * mu * r2);
        let d_at = [[grow + fall * x * x, fall * x * y], [fall * x * y, grow + fall * y * y]];
        let by = |k: f64| [-grow * grow * k * x * self.half, -grow * grow * k * y * self.half];
        let shift = |axis: usize| {
            let own = if axis == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
            [self.half * (own[0] - d_at[0][axis]), self.half * (own[1] - d_at[1][axis])]
        };
        Some(Straightened {
            at: Point::new(c.x + x * grow * self.half, c.y + y * grow * self.half),
            d_at,
            d_terms: [by(r2), by(r2 * r2), shift(0), shift(1)],
        })
    }

    /// `p` as it would be seen without bend; `None` where this lens shows nothing.
    pub fn straighten(&self, p: Point<Picture>) -> Option<Point<Picture>> {
        self.slopes(p).map(|s| s.at)
    }

    /// Where this lens shows what would be seen at `p` without bend; `None` where it shows it nowhere.
    pub fn bow(&self, p: Point<Picture>) -> Option<Point<Picture>> {
        let [lambda, mu, ..] = self.terms;
        let c = self.centre();
        let d = (p - c) * (1.0 / self.half);
        let far = d.length();
        let mut r = far;
        for _ in 0..40 {
            let r2 = r * r;
            let slope = 1.0 - far * (2.0 * lambda * r + 4.0 * mu * r * r2);
            let step = (r - far * (1.0 + lambda * r2 + mu * r2 * r2)) / slope;
            // Never more than half the way back to the centre at once.
            r = (r - step).max(0.5 * r);
            if step.abs() < 1e-14 * (1.0 + r) {
                break;
            }
        }
        let q = c + d * (self.half * if far > 0.0 { r / far } else { 1.0 });
        let back = self.straighten(q)?;
        (back.distance(p) < 1e-6 * self.half).then_some(q)
    }

    /// How far each of the lens's errors moves a place whose slopes by the terms are `d_terms`.
    pub(super) fn sways(&self, d_terms: &[[f64; 2]; TERMS]) -> [[f64; 2]; TERMS] {
        let one = |k: usize, axis: usize| (0..TERMS).map(|i| d_terms[i][axis] * self.effects[i][k]).sum();
        [0, 1, 2, 3].map(|k| [one(k, 0), one(k, 1)])
    }

    /// Its errors, each by its name.
    pub(super) fn errors(&self) -> [Estimate; TERMS] {
        [0, 1, 2, 3].map(|k| Estimate::of(0.0, Source::Lens(self.picture, k), 1.0))
    }

    /// All that is known of a view, every place straightened; what can't be stays where it is, for the map to refuse.
    pub(super) fn straighten_all(
        &self,
        knowns: &[Known],
        rectangle: Option<&Rectangle>,
        forms: &[Formed],
    ) -> (Vec<Known>, Option<Rectangle>, Vec<Formed>) {
        let known = |k: &Known| {
            let span = match &k.span {
                Span::Between(c) => Span::Between(c.map(|c| self.click(c))),
                Span::FromCentre(c) => Span::FromCentre(c.map(|c| self.click(c))),
                Span::FromLine(c) => Span::FromLine(c.map(|c| self.click(c))),
                Span::Round(c) => Span::Round(c.iter().map(|c| self.click(*c)).collect()),
            };
            Known { span, ..k.clone() }
        };
        let rectangle =
            rectangle.map(|r| Rectangle { corners: r.corners.map(|c| self.click(c)), ..r.clone() });
        let formed = |f: &Formed| {
            let form = match &f.form {
                Form::Parallel(c) => Form::Parallel(c.map(|c| self.click(c))),
                Form::Square(c) => Form::Square(c.map(|c| self.click(c))),
                Form::Round(c) => Form::Round(c.iter().map(|c| self.click(*c)).collect()),
            };
            Formed { form, ..*f }
        };
        (knowns.iter().map(known).collect(), rectangle, forms.iter().map(formed).collect())
    }

    fn click(&self, click: Click) -> Click {
        let Some(s) = self.slopes(click.at) else { return click };
        let turn =
            |[x, y]: [f64; 2]| [s.d_at[0][0] * x + s.d_at[0][1] * y, s.d_at[1][0] * x + s.d_at[1][1] * y];
        let bent = Bent { picture: self.picture, sway: click.sway().map(turn), lens: self.sways(&s.d_terms) };
        Click { at: s.at, bent: Some(bent), ..click }
    }
}

impl Bent {
    /// The parts that the lens gives to something whose slope by the click is `slope`.
    pub(super) fn parts(&self, slope: [f64; 2]) -> [Part; TERMS] {
        [0, 1, 2, 3].map(|k| {
            let [x, y] = self.lens[usize::from(k)];
            Part {
                source: Source::Lens(self.picture, k),
                effect: slope[0] * x + slope[1] * y,
                freedom: f64::INFINITY,
            }
        })
    }
}

/// As [`super::fit`], the picture's bend taken out of everything first; `None` for no bend.
///
/// # Errors
/// As [`super::fit`].
pub fn fit_behind(knowns: &Knowns, lens: Option<&Lens>) -> Result<super::Fit, Say> {
    let Some(lens) = lens else { return super::fit(knowns) };
    let (lengths, rectangle, forms) = lens.straighten_all(knowns.knowns, knowns.rectangle, knowns.forms);
    let straight =
        Knowns { knowns: &lengths, rectangle: rectangle.as_ref(), forms: &forms, ..knowns.clone() };
    let mut fit = super::fit(&straight)?;
    fit.map.put_behind(lens.clone());
    Ok(fit)
}
