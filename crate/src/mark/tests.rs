//! Closed forms, and slopes against differences: what a mark measures when nothing is in
//! doubt, and what it says when something is.

use super::trials::{World, click};
use super::*;
use crate::estimate::Source;
use crate::view::{Known, Knowns, Span, fit};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

const WORLDS: [World; 2] = [World::Flat, World::Slanted];

fn sizes(world: World, kind: Kind, ends: Ends, points: &[[f64; 2]], sigma: f64) -> Result<Measures, Say> {
    measure(kind, ends, &world.clicks(1, points, sigma, || 0.0), &[], &world.true_map())
}

/// The sizes of points whose places are certain; those named must be as expected, to 1e-6 of them.
fn check(kind: Kind, ends: Ends, points: &[[f64; 2]], expected: &[(Quantity, f64)]) {
    for world in WORLDS {
        let got = sizes(world, kind, ends, points, 1e-6).expect("a sound mark");
        assert_eq!(got.all.first().map(|m| m.what), Some(got.primary), "{kind:?}: the primary comes first");
        for (what, value) in expected {
            let e = got.get(*what).unwrap_or_else(|| panic!("{kind:?} has {what:?}"));
            assert!(
                (e.value - value).abs() <= 1e-6 * value.abs(),
                "{world:?} {what:?} {}, not {value}",
                e.value
            );
        }
    }
}

#[test]
fn sizes_are_those_of_the_handbook() {
    use Quantity::*;
    // Pythagoras, 3-4-5.
    check(Kind::Length, Ends::Between, &[[100.0, 100.0], [400.0, 500.0]], &[(Length, 500.0)]);
    check(Kind::Length, Ends::FromCentre, &[[100.0, 100.0], [400.0, 500.0]], &[(Length, 1000.0)]);
    let line = [[100.0, 100.0], [100.0, 500.0], [250.0, 700.0]];
    check(Kind::Length, Ends::FromLine, &line, &[(Length, 300.0)]);
    let path = [[100.0, 100.0], [400.0, 500.0], [400.0, 300.0]];
    check(Kind::Path, Ends::Between, &path, &[(PathLength, 700.0), (Segment(0), 500.0), (Segment(1), 200.0)]);
    check(
        Kind::Angle,
        Ends::Between,
        &[[200.0, 100.0], [100.0, 100.0], [150.0, 150.0]],
        &[(Angle, PI / 4.0)],
    );
    let cross = [[300.0, 200.0], [200.0, 300.0], [100.0, 200.0], [200.0, 100.0]];
    check(
        Kind::Circle,
        Ends::Between,
        &cross,
        &[(Radius, 100.0), (Diameter, 200.0), (Circumference, TAU * 100.0)],
    );
    // Chord 240, rise 30: radius (120² + 30²)/(2·30) = 255, any handbook of trade mathematics.
    let arc = [[100.0, 200.0], [220.0, 170.0], [340.0, 200.0]];
    let swept = 2.0 * libm::asin(120.0 / 255.0);
    check(
        Kind::Arc,
        Ends::Between,
        &arc,
        &[(ArcRadius, 255.0), (Rise, 30.0), (Chord, 240.0), (ArcLength, 255.0 * swept)],
    );
    // The same circle the long way round, passing the far side.
    let far = [[100.0, 200.0], [220.0, 170.0 + 510.0], [340.0, 200.0]];
    check(
        Kind::Arc,
        Ends::Between,
        &far,
        &[(ArcRadius, 255.0), (Rise, 480.0), (ArcLength, 255.0 * (TAU - swept))],
    );
    // Two level edges 250 apart; two that cross square.
    let level = [[100.0, 100.0], [300.0, 100.0], [150.0, 350.0], [400.0, 350.0]];
    check(Kind::Gap, Ends::Between, &level, &[(Length, 250.0)]);
    let square = [[100.0, 100.0], [300.0, 100.0], [200.0, 150.0], [200.0, 350.0]];
    check(Kind::Crossing, Ends::Between, &square, &[(Angle, PI / 2.0)]);
    // A right triangle of 300 and 400: height on the hypotenuse 240.
    let triangle = [[100.0, 100.0], [400.0, 100.0], [100.0, 500.0]];
    check(
        Kind::Outline,
        Ends::Between,
        &triangle,
        &[(Area, 60_000.0), (Perimeter, 1200.0), (GreatestLength, 500.0), (Width, 240.0)],
    );
}

/// NACA 0012 with the open tail closed by a straight edge, chord 700 mm; figures of methods.md [computed
/// there]: area 0.082210 c², border 2.04179 c, greatest thickness 0.12003 c.
#[test]
fn a_wing_section() {
    let c = 700.0;
    let thick = |x: f64| {
        let root = 0.2969 * libm::sqrt(x);
        5.0 * 0.12 * (root + x * (-0.1260 + x * (-0.3516 + x * (0.2843 - x * 0.1015))))
    };
    let n = 800;
    let side = |sign: f64| {
        (0..=n).map(move |k| {
            let x = (1.0 - libm::cos(PI * f64::from(k) / f64::from(n))) / 2.0;
            [50.0 + c * x, 300.0 + sign * c * thick(x)]
        })
    };
    let mut points: Vec<[f64; 2]> = side(1.0).collect();
    let mut lower: Vec<[f64; 2]> = side(-1.0).skip(1).collect();
    lower.reverse();
    points.extend(lower);
    let got = sizes(World::Flat, Kind::Outline, Ends::Between, &points, 1e-6).expect("a sound outline");
    let close = |what, expected: f64, within: f64| {
        let e = got.get(what).expect("an outline's size").value;
        assert!((e - expected).abs() < within, "{what:?} {e}, not {expected}");
    };
    close(Quantity::Area, 0.082_210 * c * c, 1e-6 * c * c);
    close(Quantity::Perimeter, 2.041_79 * c, 1e-5 * c);
    close(Quantity::Width, 0.120_03 * c, 2e-4 * c); // from tail corner to nose the line is a hair off the chord
}

/// Ends that are known well across an edge and badly along it: by how much that lengthens is known no better than it is.
/// By hand: both ends 20 px good along, 400 mm (200 px) apart: √2 × (2 × 20²)/(2 × 200) px × 2 mm.
#[test]
fn what_slides_along_an_edge_is_not_known_across() {
    let world = World::Flat;
    let (s, c) = (libm::sin(super::trials::TILT), libm::cos(super::trials::TILT));
    // Across the mark, which runs level in life, is (−s, c) on the picture.
    let cov = [400.0 * s * s + 1e-4, -400.0 * s * c, 400.0 * c * c + 1e-4];
    let clicks: Vec<Click> = world
        .clicks(1, &[[100.0, 100.0], [500.0, 100.0]], 20.0, || 0.0)
        .into_iter()
        .map(|k| Click { cov: Some(cov), ..k })
        .collect();
    let got = measure(Kind::Length, Ends::Between, &clicks, &[], &world.true_map()).expect("a length");
    let u = got.get(Quantity::Length).expect("its length").u();
    let by_hand = 2.0_f64.sqrt() * 2.0 * 400.0 / 400.0 * 2.0;
    assert!(u > 0.8 * by_hand && u < 1.3 * by_hand, "{u}, by hand {by_hand}");
}

/// With one true length, the mark that carries it reads exactly as given, with the ± given (GUM 5.2.2: its
/// clicks cancel).
#[test]
fn a_true_length_reads_as_given() {
    for (ends, points) in [
        (Ends::Between, vec![[10.0, 20.0], [310.0, 60.0]]),
        (Ends::FromCentre, vec![[10.0, 20.0], [310.0, 60.0]]),
        (Ends::FromLine, vec![[10.0, 20.0], [310.0, 60.0], [100.0, 200.0]]),
    ] {
        let clicks: Vec<Click> =
            points.iter().enumerate().map(|(i, p)| click(3, i, Point::from(*p), 0.8)).collect();
        let span = match (ends, clicks.as_slice()) {
            (Ends::Between, &[a, b]) => Span::Between([a, b]),
            (Ends::FromCentre, &[a, b]) => Span::FromCentre([a, b]),
            (_, &[a, b, c]) => Span::FromLine([a, b, c]),
            _ => unreachable!("two points or three"),
        };
        let knowns = [Known { mark: 3, span, mm: 368.3, u: 0.4, pulls: true }];
        let asked = Knowns { view: 1, knowns: &knowns, ..Knowns::default() };
        let map = fit(&asked).expect("one true length").map;
        let got = measure(Kind::Length, ends, &clicks, &[], &map).expect("a length");
        let e = got.get(Quantity::Length).expect("its length");
        assert!((e.value - 368.3).abs() < 1e-10, "{ends:?}: {}", e.value);
        assert!((e.u() - 0.4).abs() < 1e-10, "{ends:?}: u {}", e.u());
    }
}

/// What is refused, and what is measured but flagged.
#[test]
fn slips_are_answered_in_words() {
    let a = [300.0, 300.0];
    let check = |kind, ends, points: &[[f64; 2]], sigma, expected: Result<&[&str], &str>| {
        let got = sizes(World::Flat, kind, ends, points, sigma);
        let got = got.as_ref().map(|m| m.flags.iter().map(|f| f.key.as_ref()).collect::<Vec<_>>());
        let got = got.map_err(|say| say.key.as_ref());
        assert_eq!(got, expected.map(<[&str]>::to_vec), "{kind:?} {ends:?} of {points:?}");
    };
    let line = [[100.0, 100.0], [200.0, 200.0], [400.0, 400.0]];
    check(Kind::Length, Ends::Between, &[a], 0.5, Err("mark.too-few"));
    check(Kind::Length, Ends::Between, &line, 0.5, Err("mark.too-many"));
    check(Kind::Length, Ends::Between, &[a, a], 0.5, Err("mark.same-place"));
    check(Kind::Length, Ends::FromLine, &[a, a, [1.0, 2.0]], 0.5, Err("mark.same-place"));
    check(Kind::Length, Ends::Between, &[a, [f64::NAN, 0.0]], 0.5, Err("mark.not-a-place"));
    check(Kind::Length, Ends::Between, &[a, [f64::INFINITY, 0.0]], 0.5, Err("mark.not-a-place"));
    check(Kind::Length, Ends::Between, &[a, [400.0, 300.0]], f64::NAN, Err("mark.not-a-place"));
    check(Kind::Length, Ends::Between, &[a, [302.0, 300.0]], 0.5, Ok(&["mark.within-error"]));
    check(Kind::Path, Ends::Between, &[a, a, a], 0.5, Err("mark.same-place"));
    check(Kind::Path, Ends::Between, &[a, [302.0, 300.0], [390.0, 300.0]], 0.5, Ok(&["mark.crowded"]));
    check(Kind::Angle, Ends::Between, &[a, a, [1.0, 2.0]], 0.5, Err("mark.same-place"));
    check(Kind::Angle, Ends::Between, &[[1.0, 2.0], a, a], 0.5, Err("mark.same-place"));
    check(Kind::Circle, Ends::Between, &line, 0.5, Err("mark.in-a-line"));
    check(Kind::Circle, Ends::Between, &[a, a, a], 0.5, Err("mark.in-a-line"));
    check(Kind::Arc, Ends::Between, &line, 0.5, Err("mark.in-a-line"));
    let flat = [[100.0, 100.0], [200.0, 101.0], [300.0, 100.0]];
    check(Kind::Arc, Ends::Between, &flat, 0.5, Ok(&["mark.nearly-flat"]));
    check(Kind::Circle, Ends::Between, &flat, 0.5, Ok(&["mark.short-arc"]));
    let bow = [[100.0, 100.0], [400.0, 300.0], [400.0, 100.0], [100.0, 300.0]];
    check(Kind::Outline, Ends::Between, &bow, 0.5, Ok(&["mark.crosses"]));
    check(Kind::Outline, Ends::Between, &[a, a, a], 0.5, Err("mark.same-place"));
    check(Kind::Point, Ends::Between, &[], 0.5, Err("mark.too-few"));
    check(Kind::Point, Ends::Between, &[a], 0.5, Ok(&[]));
}

/// Points for each kind of mark, spread so that the mark is sound.
fn marks() -> impl Strategy<Value = (Kind, Ends, Vec<[f64; 2]>)> {
    let near = |x: f64, y: f64| (x - 40.0..x + 40.0, y - 40.0..y + 40.0).prop_map(|(x, y)| [x, y]);
    let three =
        (near(150.0, 150.0), near(350.0, 300.0), near(600.0, 200.0)).prop_map(|p| vec![p.0, p.1, p.2]);
    let five =
        (near(150.0, 150.0), near(450.0, 120.0), near(620.0, 260.0), near(400.0, 420.0), near(180.0, 380.0))
            .prop_map(|p| vec![p.0, p.1, p.2, p.3, p.4]);
    let two = three.clone().prop_map(|p| vec![p[0], p[2]]);
    prop_oneof![
        two.clone().prop_map(|p| (Kind::Length, Ends::Between, p)),
        two.prop_map(|p| (Kind::Length, Ends::FromCentre, p)),
        three.clone().prop_map(|p| (Kind::Length, Ends::FromLine, p)),
        three.clone().prop_map(|p| (Kind::Angle, Ends::Between, p)),
        three.clone().prop_map(|p| (Kind::Circle, Ends::Between, p)),
        three.prop_map(|p| (Kind::Arc, Ends::Between, p)),
        five.clone().prop_map(|p| (Kind::Path, Ends::Between, p)),
        five.clone().prop_map(|p| (Kind::Circle, Ends::Between, p)),
        five.clone().prop_map(|p| (Kind::Arc, Ends::Between, p)),
        five.clone().prop_map(|p| (Kind::Outline, Ends::Between, p)),
        five.prop_map(|p| (Kind::Point, Ends::Between, vec![p[0]])),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Every click's part is its σ times the central difference of the size by it.
    #[test]
    fn slopes_are_differences((kind, ends, points) in marks(), slanted: bool) {
        let world = if slanted { World::Slanted } else { World::Flat };
        let (sigma, step) = (1e-5, 1e-3);
        let map = world.true_map();
        let clicks = world.clicks(1, &points, sigma, || 0.0);
        let here = measure(kind, ends, &clicks, &[], &map).expect("a sound mark");
        for (i, axis) in (0..points.len()).flat_map(|i| [(i, 0u8), (i, 1)]) {
            let moved = |by: f64| {
                let mut clicks = clicks.clone();
                let at = clicks[i].at;
                let (x, y) = if axis == 0 { (at.x + by, at.y) } else { (at.x, at.y + by) };
                clicks[i].at = Point::new(x, y);
                measure(kind, ends, &clicks, &[], &map).expect("a sound mark")
            };
            let (ahead, behind) = (moved(step), moved(-step));
            for m in &here.all {
                let get = |from: &Measures| from.get(m.what).expect("the same sizes").value;
                let expected = (get(&ahead) - get(&behind)) / (2.0 * step);
                let source = Source::Click(1, i as u16, axis);
                let got = m.value.parts().iter().find(|p| p.source == source).map_or(0.0, |p| p.effect / sigma);
                let scale = 1e-5 * (1.0 + m.value.value.abs() / 100.0);
                prop_assert!((got - expected).abs() < scale.max(1e-4 * expected.abs()),
                    "{kind:?} {:?} by point {i} axis {axis}: {got}, not {expected}", m.what);
            }
        }
    }

    /// A mark moved by "another like it", or turned into its other hand and back, keeps its sizes.
    #[test]
    fn like_and_other_hand_keep_sizes((kind, ends, points) in marks(), slanted: bool) {
        let world = if slanted { World::Slanted } else { World::Flat };
        let map = world.true_map();
        let seen: Vec<Point<Picture>> = points.iter().map(|p| world.seen(*p)).collect();
        let size = |points: &[Point<Picture>]| {
            let clicks: Vec<Click> = points.iter().enumerate().map(|(i, p)| click(1, i, *p, 1e-5)).collect();
            measure(kind, ends, &clicks, &[], &map).expect("a sound mark")
        };
        let first = size(&seen);
        let (a, b) = (world.seen([380.0, 0.0]), world.seen([420.0, 600.0]));
        let other = mirrored(&seen, a, b, &map).expect("on the view");
        let back = mirrored(&other, a, b, &map).expect("on the view");
        for (p, q) in seen.iter().zip(&back) {
            prop_assert!(p.distance(*q) < 1e-6);
        }
        let step = world.seen([180.0, 130.0]) - world.seen([150.0, 150.0]);
        let like = like(&seen, step, &map).expect("on the view");
        for again in [size(&other), size(&like)] {
            for m in first.all.iter().filter(|m| !m.what.is_place()) {
                let e = again.get(m.what).expect("the same sizes").value;
                prop_assert!((e - m.value.value).abs() < 1e-6 * (1.0 + e.abs()), "{:?}", m.what);
            }
        }
    }

    /// Whatever is placed is answered, and so is what it looks like.
    #[test]
    fn nothing_panics(
        kind in prop::sample::select(vec![Kind::Length, Kind::Path, Kind::Angle, Kind::Circle, Kind::Arc, Kind::Outline, Kind::Point, Kind::Gap, Kind::Crossing]),
        ends in prop::sample::select(vec![Ends::Between, Ends::FromCentre, Ends::FromLine]),
        points in prop::collection::vec((wild(), wild()), 0..7),
        sigma in wild(),
        slanted: bool,
    ) {
        let world = if slanted { World::Slanted } else { World::Flat };
        let map = world.true_map();
        let seen: Vec<Point<Picture>> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let clicks: Vec<Click> = seen.iter().enumerate().map(|(i, p)| click(1, i, *p, sigma)).collect();
        let got = measure(kind, ends, &clicks, &[clicks.clone(), clicks.clone()], &map);
        if let Ok(got) = got {
            prop_assert!(got.all.iter().all(|m| m.value.value.is_finite()));
        }
        let drawn = shape(kind, ends, &seen, &map);
        prop_assert!(drawn.strokes.iter().all(|s| s.points.iter().all(|p| !p.x.is_nan())));
    }
}

/// Found by the test above: noise that is more than numbers hold was taken off an outline's area.
#[test]
fn a_place_put_absurdly_badly_is_refused() {
    let map = World::Slanted.true_map();
    let at = [(0.0, 0.0), (0.0, 0.0), (0.0, 1294.2775934367896)];
    for sigma in [1e12, 1e308] {
        let clicks: Vec<Click> =
            at.iter().enumerate().map(|(i, p)| click(1, i, Point::new(p.0, p.1), sigma)).collect();
        assert!(measure(Kind::Outline, Ends::Between, &clicks, &[], &map).is_err(), "{sigma}");
    }
}

/// Coordinates such as slips and broken files give.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        -100.0..4000.0f64,
        prop::sample::select(vec![
            0.0,
            1.0,
            100.0,
            100.0 + 1e-13,
            -1e-300,
            1e12,
            1e308,
            f64::NAN,
            f64::INFINITY
        ]),
    ]
}
