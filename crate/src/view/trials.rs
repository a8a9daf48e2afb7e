//! Trials of whole views: does the stated ± cover the truth, and is every part the slope it claims to be?

use super::scenes::{A4, Chance, Ends, Errors, MARKS, Scene, across, still, upright};
use super::*;
use crate::estimate::{Estimate, Source};
use crate::plane::{Picture, Point};
use proptest::prelude::*;

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
        ("one scale, a coin", flat(0.4).with(Ends::Round([-20.0, 30.0], 12.13), 0.05)),
        (
            "a sheet and a coin on it",
            Scene { rectangle: sheet(RectangleOf::Sheet, 10.0, 0.12), ..Scene::slanted(0.3) }
                .with(Ends::Round([20.0, -30.0], 12.13), 0.05),
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

/// The marks, each measured in every trial on the same map.
fn trials(scene: &Scene, seed: u64, times: u32) -> Vec<Coverage> {
    let mut chance = Chance::new(seed);
    let mut sums = [(0, 0.0, 0.0); MARKS.len()];
    for _ in 0..times {
        let mut draw = |_| chance.normal();
        let mut errors = Errors(&mut draw);
        let map = scene.fit(&mut errors).unwrap().map;
        for (i, ends) in MARKS.iter().enumerate() {
            let got = map.measure(&scene.span(90 + i as u32, ends, &mut errors)).unwrap();
            let error = got.value - ends.truth();
            sums[i].0 += u32::from(error.abs() <= got.half_width());
            sums[i].1 += got.u();
            sums[i].2 += error * error;
        }
    }
    let n = f64::from(times);
    let coverage = |(covered, stated, square): (u32, f64, f64)| Coverage {
        covered: f64::from(covered) / n,
        width: stated / n / libm::sqrt(square / n),
    };
    sums.into_iter().map(coverage).collect()
}

/// JCGM 101:2008 8 (Monte Carlo as the check of a first-order ±): in each scene, each kind of span, the
/// truth lies within the ± 93–97 times in 100, and the ± is no more than 1.1 × as wide as it need be.
#[test]
fn the_stated_interval_covers_the_truth() {
    for (i, (name, scene)) in scenes().iter().enumerate() {
        for (j, seen) in trials(scene, i as u64, 10_000).iter().enumerate() {
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

/// Two lengths at an angle on a print that may be stretched, by 0, 0.5, 1, 2.4 and 5 times the 0.4 % that two
/// upright to one another tell (of a stretch, 0.7 px and 0.25 mm). From 45° on the ± is right at any of
/// these; at 30° it covers up to 1 %. At every angle it is enough where there is no stretch, and never
/// more than a third too wide. What lengths nearer one direction can't tell is *taken* as none, as with one
/// length; nothing is asserted of it there.
#[test]
fn a_stretch_is_followed_as_far_as_it_is_told() {
    for degrees in [0.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 90.0] {
        for stretch in [0.0, 0.002, -0.004, 0.0096, 0.02] {
            let told = match degrees {
                45.0.. => 0.02,
                30.0.. => 0.01,
                _ => 0.0,
            };
            if f64::abs(stretch) > told {
                continue;
            }
            for (j, seen) in trials(&leaning(degrees, stretch), 5, 2_500).iter().enumerate() {
                let most = if degrees >= 45.0 { (0.97, 1.1) } else { (1.0, 4.0 / 3.0) };
                let about = format!("{degrees}°, {stretch}, mark {j}: {seen:?}");
                assert!((0.93..=most.0).contains(&seen.covered), "{about}");
                assert!(seen.width <= most.1, "{about}");
            }
        }
    }
}

/// A second length never makes any ± wider than a stretch of the usual size would, in whatever direction it
/// runs, and none changes by more than an eighth as it turns by a degree.
#[test]
fn no_angle_blows_up() {
    for ends in &MARKS {
        let us: Vec<f64> = (0..=90)
            .map(|degrees| leaning(f64::from(degrees), 0.0).mark(ends, &mut Errors(&mut still)).u())
            .collect();
        let alone = us[0];
        for (degrees, pair) in us.windows(2).enumerate() {
            let carried = libm::sqrt((pair[1] * pair[1] - alone * alone).max(0.0)) / ends.truth();
            assert!(carried < super::lengths::USUAL / 2.0, "{degrees}°: {carried}");
            assert!((pair[1] / pair[0] - 1.0).abs() < 0.125, "{degrees}°: {pair:?}");
        }
    }
}

/// Two lengths so many degrees apart, on a print stretched across.
fn leaning(degrees: f64, stretch: f64) -> Scene {
    let turn = degrees.to_radians();
    let (x, y) = (100.0 * libm::cos(turn), 100.0 * libm::sin(turn));
    Scene::flat([2.0 * (1.0 + stretch), 2.0], 0.7)
        .with(across(200.0), 0.25)
        .with(Ends::Between([[30.0 - x, -y], [30.0 + x, y]]), 0.25)
}

/// Scales held together are a little better known than free ones, by no more than the prior's own weight k =
/// u²/(u² + τ²), u being what free ones leave of the stretch and τ the prior (normal equations of one unknown).
#[test]
fn held_scales_are_nearly_as_wide_as_free_ones() {
    let held =
        Scene::flat([2.0, 2.0], 0.7).with(across(200.0), 0.25).with(upright(180.0), 0.5).with(MARKS[2], 0.4);
    let free = Scene { two_scales: true, ..held.clone() };
    let stretch = free.fit(&mut Errors(&mut still)).unwrap().stretch.unwrap().ratio.u();
    let k = stretch * stretch / (stretch * stretch + 0.02 * 0.02);
    for ends in &MARKS {
        let [held, free] = [&held, &free].map(|s| s.mark(ends, &mut Errors(&mut still)).u());
        assert!(held < free && held > (1.0 - k) * free, "{held} {free} {k}");
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
            at: Point::new(v[i], v[i + 1]), sigma: v[i + 2].abs().min(1.0), cov: None,
            source: [Source::Click(1, i as u16, 0), Source::Click(1, i as u16, 1)], freedom: f64::INFINITY, bent: None,
        };
        let knowns = [0, 5].map(|i| Known { mark: i as u32, span: Span::FromLine([click(i), click(i + 2), click(i + 4)]), mm: v[i + 7], u: v[i + 8].abs(), pulls: i == 0 || two_scales });
        let rectangle = Rectangle { corners: [click(1), click(7), click(12), click(17)], sides: [v[3], v[4]].map(|mm| (mm != 0.0).then_some(Side { mm, u: 0.1 })), of };
        let camera = Camera { picture: 1, size: [v[20].abs(), v[21].abs()], focal_35mm: Some(v[18]), cropped: two_scales };
        let forms = [Formed { mark: 7, form: Form::Square([click(3), click(8), click(11), click(15)]) }];
        for rectangle in [None, Some(&rectangle)] {
            let resolution = Resolution { picture: 1, px_per_mm: [v[20], v[21]], u_relative: v[22] };
            let _ = fit(&Knowns { view: 1, tilt: v[23], knowns: &knowns, rectangle, resolution: Some(&resolution), drawing_scale: Some(v[19]), two_scales, camera: Some(&camera), forms: &[], slanted: two_scales });
            let _ = fit(&Knowns { view: 1, tilt: 0.0, knowns: &knowns, rectangle, resolution: None, drawing_scale: None, two_scales, camera: Some(&camera), forms: &forms, slanted: false });
        }
    }
}

/// A longer reference beats a sharper click: 95 % error of a 1000 mm length through the middle, the map's
/// own part, from an A4 sheet and from 1000 × 700 mm, corners good to 0.1, 0.5 and 1 px. Expected values
/// [computed] by the project's notes on methods, which don't state the scene: one free parameter, 1.1 px a
/// mm, and a picture square-on bring ours within 15 % of all six.
#[test]
fn a_longer_reference_beats_a_sharper_click() {
    let table = [([210.0, 297.0], [0.9, 4.4, 8.7]), ([1000.0, 700.0], [0.16, 0.84, 1.6])];
    for ([w, h], expected) in table {
        for (sigma, expected) in [0.1, 0.5, 1.0].into_iter().zip(expected) {
            let (x, y) = (w / 2.0, h / 2.0);
            let at = [[-x, -y], [x, -y], [x, y], [-x, y]];
            let rectangle = Some((at, 1.0, 0.0, RectangleOf::Thing));
            let scene = Scene { rectangle, ..Scene::flat([1.1, 1.1], sigma) };
            let map = scene.fit(&mut Errors(&mut still)).unwrap().map;
            let ends = Ends::Between([[-500.0, 0.0], [500.0, 0.0]]);
            let whole = map.measure(&scene.span(9, &ends, &mut Errors(&mut still))).unwrap();
            let corners = whole.parts().iter().filter(|p| !matches!(p.source, Source::Click(..)));
            let got = Estimate::from_parts(whole.value, corners.copied().collect()).half_width();
            assert!((got / expected - 1.0).abs() < 0.15, "{w} x {h}, {sigma} px: {got}");
        }
    }
}
