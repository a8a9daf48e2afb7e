//! Lenses whose truth is known: is the bend found, is every slope what it claims, does the ± cover?

use super::bowed::{Bend, Edge, bend_of};
use super::lens::{Lens, TERMS, fit_behind};
use super::scenes::{A4, Chance, Ends, Errors, MARKS, Scene, still};
use super::*;
use crate::estimate::Source;
use crate::plane::{Picture, Point, Vector};

const SIZE: [f64; 2] = [1800.0, 1400.0];

fn lens(terms: [f64; TERMS]) -> Lens {
    Lens { terms, ..Lens::none(1, SIZE) }
}

/// The usual lens of these tests: a fortieth of the way in at the corners, its centre beside the picture's.
fn barrel() -> Lens {
    lens([-0.08, 0.0, 0.008, -0.006])
}

/// `count` places along the straight line from a to b, as `through` shows them, with errors of `sigma`.
fn edge(
    through: &dyn Fn(Point<Picture>) -> Point<Picture>,
    ends: [[f64; 2]; 2],
    count: u32,
    sigma: f64,
    chance: &mut Chance,
) -> Edge {
    let [a, b] = ends.map(Point::from);
    let one = |i: u32| {
        let p = through(a + (b - a) * (f64::from(i) / f64::from(count - 1)));
        p + Vector::new(chance.normal(), chance.normal()) * sigma
    };
    Edge { points: (0..count).map(one).collect(), sigma }
}

/// The sides of a large rectangle, and its middle line.
const SIDES: [[[f64; 2]; 2]; 4] = [
    [[150.0, 120.0], [1660.0, 150.0]],
    [[1650.0, 160.0], [1620.0, 1290.0]],
    [[1630.0, 1300.0], [140.0, 1270.0]],
    [[130.0, 1260.0], [160.0, 130.0]],
];

fn seen(
    through: &dyn Fn(Point<Picture>) -> Point<Picture>,
    sides: &[[[f64; 2]; 2]],
    sigma: f64,
    seed: u64,
) -> Result<Bend, crate::words::Say> {
    let mut chance = Chance::new(seed);
    let edges: Vec<Edge> = sides.iter().map(|s| edge(through, *s, 60, sigma, &mut chance)).collect();
    bend_of(1, SIZE, &edges)
}

fn by(lens: Lens) -> impl Fn(Point<Picture>) -> Point<Picture> {
    move |p| lens.bow(p).unwrap()
}

#[test]
fn what_is_straightened_is_bowed_back() {
    for terms in [[-0.2, 0.03, 0.01, -0.02], [0.15, -0.02, 0.0, 0.0], [-0.5, 0.0, 0.0, 0.0]] {
        let lens = lens(terms);
        for p in [[0.0, 0.0], [900.0, 700.0], [1799.0, 3.0], [400.0, 1300.0]].map(Point::from) {
            let back = lens.bow(lens.straighten(p).unwrap()).unwrap();
            assert!(back.distance(p) < 1e-8, "{terms:?} {p:?} {back:?}");
        }
    }
}

#[test]
fn every_slope_is_what_a_small_step_shows() {
    let lens = lens([-0.2, 0.03, 0.01, -0.02]);
    let p = Point::new(300.0, 1100.0);
    let here = lens.slopes(p).unwrap();
    let h = 1e-4;
    for (axis, step) in [Vector::new(h, 0.0), Vector::new(0.0, h)].into_iter().enumerate() {
        let d = (lens.straighten(p + step).unwrap() - lens.straighten(p + step * -1.0).unwrap()) * (0.5 / h);
        assert!((d.x - here.d_at[0][axis]).abs() < 1e-7 && (d.y - here.d_at[1][axis]).abs() < 1e-7);
    }
    for k in 0..TERMS {
        let moved = |by: f64| {
            let mut other = lens.clone();
            other.terms[k] += by;
            other.straighten(p).unwrap()
        };
        let d = (moved(1e-6) - moved(-1e-6)) * 0.5e6;
        let [x, y] = here.d_terms[k];
        assert!((d.x - x).abs() < 1e-4 && (d.y - y).abs() < 1e-4, "{k}: {d:?} {x} {y}");
    }
}

/// Aim: at most 0.03 px left over where the truth is the division model: RMS over the part of the picture that the edges
/// run round, once the places that a homography takes up anyway (the corners) are made to agree.
#[test]
fn a_bend_is_found_and_little_is_left_over() {
    let truth = barrel();
    let Ok(Bend::Found(found)) = seen(&by(truth.clone()), &SIDES, 0.03, 1) else { panic!("no bend") };
    let corners = [[150.0, 150.0], [1640.0, 150.0], [1640.0, 1280.0], [150.0, 1280.0]].map(Point::from);
    let ours = corners.map(|p| found.straighten(p).unwrap());
    let theirs = corners.map(|p| truth.straighten(p).unwrap());
    let there = crate::plane::Homography::<Picture, Picture>::four_points(&ours, &theirs).unwrap();
    let (mut sum, mut n) = (0.0, 0.0);
    for x in 0..15 {
        for y in 0..12 {
            let p = Point::new(160.0 + 105.0 * f64::from(x), 150.0 + 102.0 * f64::from(y));
            let off =
                there.apply(found.straighten(p).unwrap()).unwrap().distance(truth.straighten(p).unwrap());
            (sum, n) = (sum + off * off, n + 1.0);
        }
    }
    let left = libm::sqrt(sum / n);
    assert!(left < 0.03, "{left}");
}

#[test]
fn what_can_not_be_told_is_left_alone() {
    let truth = barrel();
    // Short, in the middle, rough.
    let short = [[[820.0, 700.0], [980.0, 705.0]]];
    assert_eq!(seen(&by(truth), &short, 0.3, 2), Ok(Bend::Unclear));
    // A lens without bend.
    let none = lens([0.0; TERMS]);
    let told = seen(&by(none.clone()), &SIDES, 0.05, 3).unwrap();
    let Bend::Straight(found) = told else { panic!("{told:?}") };
    assert_eq!(found.terms, [0.0; TERMS]);
    assert!(found.pull(1.0)[1] > 0.0);
    let key = |r: Result<Bend, crate::words::Say>| r.unwrap_err().key;
    assert_eq!(key(bend_of(1, SIZE, &[])), "lens.too-few-places");
    let few = Edge { points: vec![Point::new(1.0, 1.0); 4], sigma: 0.1 };
    assert_eq!(key(bend_of(1, SIZE, &[few])), "lens.too-few-places");
    let lost = Edge { points: vec![Point::new(f64::NAN, 1.0); 9], sigma: 0.1 };
    assert_eq!(key(bend_of(1, SIZE, &[lost])), "lens.not-a-place");
    let same = Edge { points: vec![Point::new(5.0, 1.0); 9], sigma: 0.1 };
    assert_eq!(key(bend_of(1, SIZE, &[same])), "lens.not-straight");
}

/// The whole way: a scene seen through a lens, edges, corners and marks each with errors of their own.
fn trial(
    scene: &Scene,
    through: &dyn Fn(Point<Picture>) -> Point<Picture>,
    chance: &mut Chance,
) -> Option<[(f64, f64); 3]> {
    let edges: Vec<Edge> = SIDES.iter().map(|s| edge(through, *s, 40, 0.1, chance)).collect();
    let bend = bend_of(1, SIZE, &edges).ok()?;
    let mut draw = |_: Source| chance.normal();
    let mut errors = Errors(&mut draw);
    let bow = |c: Click, truth: [f64; 2]| {
        let exact = scene.seen.apply(Point::from(truth)).unwrap();
        Click { at: through(exact) + (c.at - exact), ..c }
    };
    let mut k = 0;
    let corners = A4.map(|p| {
        k += 1;
        bow(scene.click(p, [Source::Corner(1, k, 0), Source::Corner(1, k, 1)], &mut errors), p)
    });
    let (u, of) = (1e-3, RectangleOf::Thing);
    let r = Rectangle { corners, sides: [297.0, 210.0].map(|mm| Some(Side { mm, u })), of };
    let knowns = Knowns { view: 1, rectangle: Some(&r), ..Knowns::default() };
    let map = fit_behind(&knowns, bend.lens()).ok()?.map;
    let mut one = |i: usize| {
        let Ends::Between(ends) = &MARKS[i % 2] else { panic!() };
        let ends = if i < 2 { *ends } else { [[-140.0, -100.0], [140.0, 100.0]] };
        let mut n = 0;
        let clicks = ends.map(|p| {
            n += 1;
            bow(scene.click(p, [Source::Click(9, n, 0), Source::Click(9, n, 1)], &mut errors), p)
        });
        let got = map.measure(&Span::Between(clicks)).unwrap();
        (got.value - Ends::Between(ends).truth(), got.half_width())
    };
    Some([one(0), one(1), one(2)])
}

fn covered(through: &dyn Fn(Point<Picture>) -> Point<Picture>, times: u32) -> [f64; 3] {
    // A rectangle that fills most of the picture, seen at a slant.
    let rows = [[4.2, -0.44, 900.0], [0.5, 4.4, 700.0], [2.4e-4, 4.1e-4, 1.0]];
    let scene = Scene { seen: crate::plane::Homography::from_rows(rows), ..Scene::flat([1.0, 1.0], 0.1) };
    let mut chance = Chance::new(7);
    let mut hits = [0; 3];
    for _ in 0..times {
        let got = trial(&scene, through, &mut chance).unwrap();
        for (hit, (error, half)) in hits.iter_mut().zip(got) {
            *hit += u32::from(error.abs() <= half);
        }
    }
    hits.map(|h| f64::from(h) / f64::from(times))
}

/// JCGM 101:2008, 8: Monte Carlo. Where the truth is another model (x_d = x_u (1 + k₁ r² + k₂ r⁴), Brown, Photogrammetric
/// Engineering 37 (1971) 855) the ± still covers.
#[test]
fn the_pm_covers_the_truth() {
    let truth = barrel();
    for share in covered(&by(truth), 400) {
        assert!(share > 0.92, "{share}");
    }
    let half = libm::hypot(0.5 * SIZE[0], 0.5 * SIZE[1]);
    let radial = |p: Point<Picture>| {
        let middle = Point::new(0.5 * SIZE[0], 0.5 * SIZE[1]);
        let d = p - middle;
        let r2 = d.dot(d) / half / half;
        middle + d * (1.0 - 0.09 * r2 + 0.03 * r2 * r2)
    };
    for share in covered(&radial, 400) {
        assert!(share > 0.92, "{share}");
    }
}

/// A true length behind a lens reads exactly as given, without error: the click, the map and the lens share theirs.
#[test]
fn a_true_length_reads_as_given() {
    let truth = barrel();
    let Ok(Bend::Found(found)) = seen(&by(truth), &SIDES, 0.05, 4) else { panic!() };
    let scene = Scene::flat([2.0, 2.0], 0.5);
    let span = scene.span(3, &MARKS[0], &mut Errors(&mut still));
    let known = Known { mark: 3, span: span.clone(), mm: 330.0, u: 0.2, pulls: true };
    let knowns = Knowns { view: 1, knowns: &[known], ..Knowns::default() };
    let map = fit_behind(&knowns, Some(&found)).unwrap().map;
    let got = map.measure(&span).unwrap();
    assert!((got.value - 330.0).abs() < 1e-9 && (got.u() - 0.2).abs() < 1e-9, "{} {}", got.value, got.u());
    let other = map.measure(&scene.span(4, &MARKS[1], &mut Errors(&mut still))).unwrap();
    assert!(other.parts().iter().any(|p| matches!(p.source, Source::Lens(1, _))));
}
