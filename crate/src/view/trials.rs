//! Trials of whole views: scenes whose truth is known, with the errors that their ± claims.

use super::*;
use crate::estimate::{Estimate, Source};
use crate::plane::{Homography, Picture, Point, Real};
use proptest::prelude::*;

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
struct Scene {
    /// Where a real point is seen.
    seen: Homography<Real, Picture>,
    sigma: f64,
    /// Real points and the standard uncertainty of the length given.
    lengths: Vec<(Ends, f64)>,
    rectangle: Option<([[f64; 2]; 4], f64, f64, RectangleOf)>,
    /// Real mm a mm of paper, px a mm of paper.
    paper: Option<(f64, [f64; 2], f64)>,
    two_scales: bool,
    tilt: f64,
}

#[derive(Clone, Copy)]
enum Ends {
    Between([[f64; 2]; 2]),
    FromCentre([[f64; 2]; 2]),
    FromLine([[f64; 2]; 3]),
}

impl Ends {
    fn points(&self) -> &[[f64; 2]] {
        match self {
            Ends::Between(p) | Ends::FromCentre(p) => p,
            Ends::FromLine(p) => p,
        }
    }

    /// By elementary geometry, apart from the code under test.
    fn truth(&self) -> f64 {
        match *self {
            Ends::Between([a, b]) => libm::hypot(b[0] - a[0], b[1] - a[1]),
            Ends::FromCentre([a, b]) => 2.0 * libm::hypot(b[0] - a[0], b[1] - a[1]),
            Ends::FromLine([a, b, c]) => {
                let twice_area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
                2.0 * twice_area.abs() / libm::hypot(b[0] - a[0], b[1] - a[1])
            }
        }
    }
}

/// All errors of one trial, in order of use, each in standard uncertainties.
struct Errors<'a>(&'a mut dyn FnMut(Source) -> f64);

impl Errors<'_> {
    fn of(&mut self, source: Source) -> f64 {
        (self.0)(source)
    }
}

impl Scene {
    fn flat(px_per_mm: [f64; 2], sigma: f64) -> Scene {
        let [x, y] = px_per_mm;
        let seen = Homography::from_rows([[x, 0.0, 300.0], [0.0, y, 400.0], [0.0, 0.0, 1.0]]);
        let (lengths, rectangle, paper) = (Vec::new(), None, None);
        Scene { seen, sigma, lengths, rectangle, paper, two_scales: false, tilt: 0.0 }
    }

    /// As a hand-held picture sees it: leaning and turning away, about 2 px a mm.
    fn slanted(sigma: f64) -> Scene {
        let rows = [[2.1, -0.22, 900.0], [0.31, 1.8, 700.0], [2.4e-4, 4.1e-4, 1.0]];
        Scene { seen: Homography::from_rows(rows), ..Scene::flat([1.0, 1.0], sigma) }
    }

    fn with(mut self, ends: Ends, u: f64) -> Scene {
        self.lengths.push((ends, u));
        self
    }

    fn click(&self, at: [f64; 2], source: [Source; 2], errors: &mut Errors) -> Click {
        let p = self.seen.apply(Point::from(at)).unwrap();
        let (x, y) = (self.sigma * errors.of(source[0]), self.sigma * errors.of(source[1]));
        Click { at: Point::new(p.x + x, p.y + y), sigma: self.sigma, source, freedom: f64::INFINITY }
    }

    fn span(&self, mark: u32, ends: &Ends, errors: &mut Errors) -> Span {
        let mut i = 0;
        let mut click = |at: [f64; 2]| {
            i += 1;
            self.click(at, [Source::Click(mark, i, 0), Source::Click(mark, i, 1)], errors)
        };
        match *ends {
            Ends::Between(p) => Span::Between(p.map(&mut click)),
            Ends::FromCentre(p) => Span::FromCentre(p.map(&mut click)),
            Ends::FromLine(p) => Span::FromLine(p.map(&mut click)),
        }
    }

    fn fit(&self, errors: &mut Errors) -> Result<Fit, crate::words::Say> {
        let mut knowns = Vec::new();
        for (i, (ends, u)) in self.lengths.iter().enumerate() {
            let mark = i as u32 + 1;
            let span = self.span(mark, ends, errors);
            // A length as given is the truth less its error, so that "measured less given" has it with +.
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
            Rectangle { corners, width, height, u_width: u, u_height: u, of }
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
        })
    }

    /// A mark placed and measured, its clicks with errors of their own.
    fn mark(&self, ends: &Ends, errors: &mut Errors) -> Estimate {
        let map = self.fit(errors).unwrap().map;
        let span = self.span(99, ends, errors);
        map.measure(&span).unwrap()
    }
}

const MARKS: [Ends; 4] = [
    Ends::Between([[-150.0, -60.0], [180.0, -40.0]]),
    Ends::Between([[20.0, -110.0], [35.0, 140.0]]),
    Ends::FromCentre([[0.0, 0.0], [-70.0, 75.0]]),
    Ends::FromLine([[-100.0, -20.0], [150.0, 10.0], [40.0, 95.0]]),
];

const A4: [[f64; 2]; 4] = [[-148.5, -105.0], [148.5, -105.0], [148.5, 105.0], [-148.5, 105.0]];

fn across(mm: f64) -> Ends {
    Ends::Between([[-mm / 2.0, 55.0], [mm / 2.0, 55.0]])
}

fn upright(mm: f64) -> Ends {
    Ends::Between([[30.0, -mm / 2.0], [30.0, mm / 2.0]])
}

fn scenes() -> Vec<(&'static str, Scene)> {
    let flat = |sigma| Scene::flat([2.0, 2.0], sigma);
    let sheet = |of, scale, u| Some((A4, scale, u, of));
    vec![
        ("one scale, one length", flat(0.7).with(across(200.0), 0.25)),
        (
            "one scale, one length from a centre line, view turned",
            Scene { tilt: 0.02, ..flat(0.7) }
                .with(Ends::FromLine([[-90.0, -90.0], [-85.0, 90.0], [60.0, 10.0]]), 0.25),
        ),
        (
            "one scale, three lengths one way",
            flat(1.0).with(across(200.0), 0.4).with(across(130.0), 0.2).with(across(320.0), 1.0),
        ),
        (
            "two scales, stretched 2.5 %",
            Scene { two_scales: true, ..Scene::flat([2.05, 2.0], 0.7) }
                .with(across(250.0), 0.25)
                .with(upright(180.0), 0.25)
                .with(Ends::FromCentre([[0.0, 0.0], [-60.0, 70.0]]), 0.5),
        ),
        ("drawing 1:12 at 300 px an inch", {
            let px = 300.0 / 25.4 / 12.0;
            Scene { paper: Some((12.0, [300.0 / 25.4; 2], 0.002)), ..Scene::flat([px, px], 0.7) }
        }),
        ("rectangle", Scene { rectangle: sheet(RectangleOf::Thing, 1.0, 0.3), ..Scene::slanted(0.5) }),
        (
            "rectangle and two lengths",
            Scene { rectangle: sheet(RectangleOf::Thing, 1.0, 1.0), ..Scene::slanted(1.0) }
                .with(across(250.0), 0.2)
                .with(upright(160.0), 0.2),
        ),
        (
            "sheet and one length",
            Scene { rectangle: sheet(RectangleOf::Sheet, 10.0, 0.12), ..Scene::slanted(0.7) }
                .with(across(250.0), 0.3),
        ),
    ]
}

#[derive(Debug)]
struct Coverage {
    covered: f64,
    /// Mean standard uncertainty stated over the spread of the errors.
    width: f64,
}

fn trials(scene: &Scene, ends: &Ends, seed: u64, times: u32) -> Coverage {
    let mut chance = Chance::new(seed);
    let (mut covered, mut stated, mut square) = (0, 0.0, 0.0);
    for _ in 0..times {
        let got = scene.mark(ends, &mut Errors(&mut |_| chance.normal()));
        let error = got.value - ends.truth();
        covered += u32::from(error.abs() <= got.half_width());
        stated += got.u();
        square += error * error;
    }
    let n = f64::from(times);
    Coverage { covered: f64::from(covered) / n, width: stated / n / libm::sqrt(square / n) }
}

/// JCGM 101:2008 8 (Monte Carlo as the check of a first-order ±): in each scene, each kind of span, the
/// truth lies within the ± 93–97 times in 100, and the ± is no more than 1.1 × as wide as it need be.
#[test]
fn the_stated_interval_covers_the_truth() {
    for (i, (name, scene)) in scenes().iter().enumerate() {
        for (j, ends) in MARKS.iter().enumerate() {
            let seen = trials(scene, ends, (10 * i + j) as u64, 10_000);
            assert!((0.93..=0.97).contains(&seen.covered), "{name}, mark {j}: {seen:?}");
            assert!((0.95..=1.1).contains(&seen.width), "{name}, mark {j}: {seen:?}");
        }
    }
}

/// A ratio of two marks on one view: the shared scale cancels, and the ± still covers.
#[test]
fn the_interval_of_a_ratio_covers_too() {
    let truth = MARKS[1].truth() / MARKS[0].truth();
    for (name, scene) in scenes().iter().filter(|s| s.0.starts_with("one") || s.0.starts_with("rect")) {
        let mut chance = Chance::new(7);
        let mut covered = 0;
        for _ in 0..10_000 {
            let mut draw = |_| chance.normal();
            let mut errors = Errors(&mut draw);
            let map = scene.fit(&mut errors).unwrap().map;
            let [a, b] =
                [0, 1].map(|i| map.measure(&scene.span(90 + i as u32, &MARKS[i], &mut errors)).unwrap());
            let ratio = b.over(&a);
            assert!(ratio.u() / ratio.value <= 1.001 * (a.u() / a.value + b.u() / b.value));
            covered += u32::from((ratio.value - truth).abs() <= ratio.half_width());
        }
        assert!((9300..=9700).contains(&covered), "{name}: {covered}");
    }
}

/// When a stretch can't be told from none, one scale is kept and carries the width of the two refused. Then
/// the ± is never too small, whether there is no stretch or one as large as its own standard uncertainty
/// (and is wider than need be when there is none: the price of not knowing).
#[test]
fn a_refused_stretch_is_carried() {
    for stretch in [0.0, 0.002, -0.004] {
        let scene = Scene::flat([2.0 * (1.0 + stretch), 2.0], 0.7)
            .with(across(200.0), 0.25)
            .with(upright(180.0), 0.25);
        for (j, ends) in MARKS.iter().enumerate() {
            let seen = trials(&scene, ends, j as u64, 10_000);
            assert!(seen.covered >= 0.93, "{stretch}, mark {j}: {seen:?}");
        }
    }
}

fn still(_: Source) -> f64 {
    0.0
}

/// The ± of one scale with a refused stretch is that of two scales (both from the same exact data).
#[test]
fn a_refused_stretch_is_as_wide_as_two_scales() {
    let one =
        Scene::flat([2.0, 2.0], 0.7).with(across(200.0), 0.25).with(upright(180.0), 0.5).with(MARKS[2], 0.4);
    let two = Scene { two_scales: true, ..one.clone() };
    for ends in &MARKS {
        let (kept, free) = (one.mark(ends, &mut Errors(&mut still)), two.mark(ends, &mut Errors(&mut still)));
        assert!((kept.u() / free.u() - 1.0).abs() < 1e-6, "{} {}", kept.u(), free.u());
    }
}

/// One length on a view reads exactly what was given, with exactly its own ±: the clicks cancel.
#[test]
fn one_length_measures_itself_exactly() {
    let mut chance = Chance::new(3);
    for ends in MARKS {
        let scene = Scene::flat([2.0, 2.0], 0.7).with(ends, 0.25);
        let fit = scene.fit(&mut Errors(&mut |_| chance.normal())).unwrap();
        let check = &fit.checks[0];
        assert!((check.measured.value / check.given - 1.0).abs() < 1e-15);
        assert!((check.measured.u() - 0.25).abs() < 1e-12);
        assert!(check.agrees && check.difference.u() < 1e-12);
        assert_eq!((fit.p, fit.scale, &fit.says[..]), (1.0, Scale::Lengths, &[][..]));
    }
}

/// Every part of every size is the slope of that size by its source, through the whole fit: central
/// differences of a half standard uncertainty either way, from data that agree.
fn parts_are_slopes(scene: &Scene, ends: &Ends) {
    let middle = scene.mark(ends, &mut Errors(&mut still));
    assert!((middle.value / ends.truth() - 1.0).abs() < 1e-9, "{} {}", middle.value, ends.truth());
    let h = 1e-3;
    for part in middle.parts().iter().filter(|p| !matches!(p.source, Source::Stretch(_))) {
        let moved =
            |by: f64| scene.mark(ends, &mut Errors(&mut |s| if s == part.source { by } else { 0.0 })).value;
        let slope = (moved(h) - moved(-h)) / (2.0 * h);
        // A known's and a side's error moves what is given, the rest what is seen; all with one sign.
        assert!(
            (slope - part.effect).abs() < 2e-5 * middle.u(),
            "{:?}: {slope} {}",
            part.source,
            part.effect
        );
    }
}

#[test]
fn every_part_is_a_slope() {
    for (_, scene) in scenes() {
        for ends in &MARKS {
            parts_are_slopes(&scene, ends);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Where a point lies, by the click and by every unknown, for any slant that leaves it seen.
    #[test]
    fn a_place_has_the_slopes_it_says(
        c in prop::array::uniform8(-60.0..60.0f64), x in -40.0..240.0f64, y in -40.0..140.0f64,
        (w, h) in (50.0..900.0f64, 50.0..900.0f64), flip in any::<bool>(),
    ) {
        let mut theta = vec![-90.0, -70.0, 1110.0, 20.0, 1000.0, 730.0, 10.0, 640.0];
        for (t, d) in theta.iter_mut().zip(c) { *t += d }
        theta.extend([w, h]);
        let turn = if flip { [[0.0, -1.0], [1.0, 0.0]] } else { [[1.0, 0.0], [0.0, 1.0]] };
        let p = Point::<Picture>::new(5.0 * x, 5.0 * y);
        for (shape, theta) in [
            (map::Shape::Corners { turn }, theta),
            (map::Shape::Scales { level: [[0.9, 0.2], [-0.1, 1.1]] }, vec![w / 100.0, h / 100.0]),
        ] {
            let at = |theta: &[f64], p| map::Model::at(&shape, theta).unwrap().place(p).unwrap();
            let placed = at(&theta, p);
            let size = placed.real.distance(Point::new(0.0, 0.0)) + w + h;
            let step = 1e-3;
            let mut slopes = Vec::new();
            for i in 0..theta.len() {
                let moved = |by: f64| { let mut t = theta.clone(); t[i] += by; at(&t, p).real };
                slopes.push(((moved(step) - moved(-step)) * (0.5 / step), placed.d_params[i]));
            }
            for axis in 0..2 {
                let moved = |by: f64| at(&theta, Point::new(p.x + if axis == 0 { by } else { 0.0 }, p.y + if axis == 1 { by } else { 0.0 })).real;
                let d = [placed.d_at[0][axis], placed.d_at[1][axis]];
                slopes.push(((moved(step) - moved(-step)) * (0.5 / step), d));
            }
            prop_assert_eq!(slopes.len(), theta.len() + 2);
            for (slope, d) in slopes {
                prop_assert!((slope.x - d[0]).abs() < 1e-7 * size && (slope.y - d[1]).abs() < 1e-7 * size, "{slope:?} {d:?}");
            }
        }
    }

    /// No knowns, however odd, make it panic: it fits or it says why not.
    #[test]
    fn whatever_is_known_it_answers(
        v in prop::collection::vec(prop_oneof![Just(0.0), Just(f64::NAN), Just(f64::INFINITY), -1e9..1e9f64, 0.0..500.0f64], 24),
        of in prop_oneof![Just(RectangleOf::Thing), Just(RectangleOf::Sheet)], two_scales in any::<bool>(),
    ) {
        let click = |i: usize| Click {
            at: Point::new(v[i], v[i + 1]), sigma: v[i + 2].abs().min(1.0),
            source: [Source::Click(1, i as u16, 0), Source::Click(1, i as u16, 1)], freedom: f64::INFINITY,
        };
        let knowns = [0, 5].map(|i| Known { mark: i as u32, span: Span::FromLine([click(i), click(i + 2), click(i + 4)]), mm: v[i + 7], u: v[i + 8].abs(), pulls: i == 0 || two_scales });
        let rectangle = Rectangle { corners: [click(1), click(7), click(12), click(17)], width: v[3], height: v[4], u_width: 0.1, u_height: 0.1, of };
        for rectangle in [None, Some(&rectangle)] {
            let resolution = Resolution { picture: 1, px_per_mm: [v[20], v[21]], u_relative: v[22] };
            let _ = fit(&Knowns { view: 1, tilt: v[23], knowns: &knowns, rectangle, resolution: Some(&resolution), drawing_scale: Some(v[19]), two_scales });
            let _ = fit(&Knowns { view: 1, tilt: 0.0, knowns: &knowns, rectangle, resolution: None, drawing_scale: None, two_scales });
        }
    }
}
