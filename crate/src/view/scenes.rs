//! Scenes whose truth is known, seen with the errors that their ± claims: for tests only.

use super::*;
use crate::estimate::{Estimate, Source};
use crate::plane::{Homography, Picture, Point, Real};

/// Normal deviates from a linear congruential generator (Knuth, TAOCP 2, 3.3.4, table 1, line 26) by the
/// polar method (Knuth, 3.4.1, algorithm P), so that trials are the same everywhere.
pub(crate) struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(seed.wrapping_mul(2).wrapping_add(1))
    }

    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        loop {
            let (a, b) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let s = a * a + b * b;
            if s > 0.0 && s < 1.0 {
                return a * libm::sqrt(-2.0 * libm::log(s) / s);
            }
        }
    }
}

/// Everything that is seen or given, without error; the fitted map should be `seen` backwards.
#[derive(Clone)]
pub(crate) struct Scene {
    /// Where a real point is seen.
    pub seen: Homography<Real, Picture>,
    pub sigma: f64,
    /// Real points and the standard uncertainty of the length given.
    pub lengths: Vec<(Ends, f64)>,
    pub rectangle: Option<([[f64; 2]; 4], f64, f64, RectangleOf)>,
    /// Real mm a mm of paper, px a mm of paper.
    pub paper: Option<(f64, [f64; 2], f64)>,
    pub two_scales: bool,
    pub tilt: f64,
}

#[derive(Clone, Copy)]
pub(crate) enum Ends {
    Between([[f64; 2]; 2]),
    FromCentre([[f64; 2]; 2]),
    FromLine([[f64; 2]; 3]),
    /// A centre and a radius: twelve places round the rim.
    Round([f64; 2], f64),
}

impl Ends {
    /// By elementary geometry, apart from the code under test.
    pub fn truth(&self) -> f64 {
        match *self {
            Ends::Between([a, b]) => libm::hypot(b[0] - a[0], b[1] - a[1]),
            Ends::FromCentre([a, b]) => 2.0 * libm::hypot(b[0] - a[0], b[1] - a[1]),
            Ends::FromLine([a, b, c]) => {
                let twice_area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
                2.0 * twice_area.abs() / libm::hypot(b[0] - a[0], b[1] - a[1])
            }
            Ends::Round(_, radius) => 2.0 * radius,
        }
    }

    /// The span of these ends, each place seen by `click`.
    pub fn span(&self, mut click: impl FnMut([f64; 2]) -> Click) -> Span {
        match *self {
            Ends::Between(p) => Span::Between(p.map(click)),
            Ends::FromCentre(p) => Span::FromCentre(p.map(click)),
            Ends::FromLine(p) => Span::FromLine(p.map(click)),
            Ends::Round([x, y], radius) => {
                let turn = |k: u32| f64::from(k) * std::f64::consts::TAU / 12.0;
                let on = |a: f64| [x + radius * libm::cos(a), y + radius * libm::sin(a)];
                Span::Round((0..12).map(|k| click(on(turn(k)))).collect())
            }
        }
    }
}

/// All errors of one trial, in order of use, each in standard uncertainties.
pub(crate) struct Errors<'a>(pub &'a mut dyn FnMut(Source) -> f64);

impl Errors<'_> {
    pub fn of(&mut self, source: Source) -> f64 {
        (self.0)(source)
    }
}

impl Scene {
    pub fn flat(px_per_mm: [f64; 2], sigma: f64) -> Scene {
        let [x, y] = px_per_mm;
        let seen = Homography::from_rows([[x, 0.0, 300.0], [0.0, y, 400.0], [0.0, 0.0, 1.0]]);
        let (lengths, rectangle, paper) = (Vec::new(), None, None);
        Scene { seen, sigma, lengths, rectangle, paper, two_scales: false, tilt: 0.0 }
    }

    /// As a hand-held picture sees it: leaning and turning away, about 2 px a mm.
    pub fn slanted(sigma: f64) -> Scene {
        let rows = [[2.1, -0.22, 900.0], [0.31, 1.8, 700.0], [2.4e-4, 4.1e-4, 1.0]];
        Scene { seen: Homography::from_rows(rows), ..Scene::flat([1.0, 1.0], sigma) }
    }

    pub fn with(mut self, ends: Ends, u: f64) -> Scene {
        self.lengths.push((ends, u));
        self
    }

    pub fn click(&self, at: [f64; 2], source: [Source; 2], errors: &mut Errors) -> Click {
        let p = self.seen.apply(Point::from(at)).unwrap();
        let (x, y) = (self.sigma * errors.of(source[0]), self.sigma * errors.of(source[1]));
        Click {
            at: Point::new(p.x + x, p.y + y),
            sigma: self.sigma,
            cov: None,
            source,
            freedom: f64::INFINITY,
            bent: None,
        }
    }

    pub fn span(&self, mark: u32, ends: &Ends, errors: &mut Errors) -> Span {
        let mut i = 0;
        ends.span(|at| {
            i += 1;
            self.click(at, [Source::Click(mark, i, 0), Source::Click(mark, i, 1)], errors)
        })
    }

    pub fn fit(&self, errors: &mut Errors) -> Result<Fit, crate::words::Say> {
        let mut knowns = Vec::new();
        for (i, (ends, u)) in self.lengths.iter().enumerate() {
            let mark = i as u32 + 1;
            let span = self.span(mark, ends, errors);
            // What is given is the truth and an error of its own.
            let mm = ends.truth() + u * errors.of(Source::Known(mark));
            knowns.push(Known { mark, span, mm, u: *u, pulls: true });
        }
        let rectangle = self.rectangle.map(|(at, scale, u, of)| {
            let mut k = 0;
            let corners = at.map(|p| {
                k += 1;
                self.click(p, [Source::Corner(1, k, 0), Source::Corner(1, k, 1)], errors)
            });
            let side = |a: [f64; 2], b: [f64; 2]| Ends::Between([a, b]).truth() / scale;
            let width = side(at[0], at[1]) + u * errors.of(Source::Side(1, 0));
            let height = side(at[1], at[2]) + u * errors.of(Source::Side(1, 1));
            Rectangle { corners, sides: [width, height].map(|mm| Some(Side { mm, u })), of }
        });
        let resolution = self.paper.map(|(_, px_per_mm, u_relative)| {
            let error = 1.0 + u_relative * errors.of(Source::Resolution(1));
            Resolution { picture: 1, px_per_mm: px_per_mm.map(|r| r / error), u_relative }
        });
        fit(&Knowns {
            view: 1,
            tilt: self.tilt,
            knowns: &knowns,
            rectangle: rectangle.as_ref(),
            resolution: resolution.as_ref(),
            drawing_scale: self.paper.map(|p| p.0),
            two_scales: self.two_scales,
            ..Knowns::default()
        })
    }

    /// A mark placed and measured, its clicks with errors of their own.
    pub fn mark(&self, ends: &Ends, errors: &mut Errors) -> Estimate {
        let map = self.fit(errors).unwrap().map;
        let span = self.span(99, ends, errors);
        map.measure(&span).unwrap()
    }
}

pub(crate) const MARKS: [Ends; 4] = [
    Ends::Between([[-150.0, -60.0], [180.0, -40.0]]),
    Ends::Between([[20.0, -110.0], [35.0, 140.0]]),
    Ends::FromCentre([[0.0, 0.0], [-70.0, 75.0]]),
    Ends::FromLine([[-100.0, -20.0], [150.0, 10.0], [40.0, 95.0]]),
];

pub(crate) const A4: [[f64; 2]; 4] = [[-148.5, -105.0], [148.5, -105.0], [148.5, 105.0], [-148.5, 105.0]];

pub(crate) fn across(mm: f64) -> Ends {
    Ends::Between([[-mm / 2.0, 55.0], [mm / 2.0, 55.0]])
}

pub(crate) fn upright(mm: f64) -> Ends {
    Ends::Between([[30.0, -mm / 2.0], [30.0, mm / 2.0]])
}

pub(crate) fn still(_: Source) -> f64 {
    0.0
}
