//! Regions against pictures whose truth is known, and whatever may be sent.

use super::*;
use crate::plane::{Picture, Point, contains, perimeter, signed_area};
use crate::raster::luma::Luma;
use proptest::prelude::*;

/// Whether a place is inked.
type Ink<'a> = &'a dyn Fn(f64, f64) -> bool;

/// A grey picture from a share of ink, 0..1, at each of 4 × 4 places in a pixel.
pub(super) fn drawn(width: u32, height: u32, ink: impl Fn(f64, f64) -> bool) -> Luma {
    let mut luma = Luma::new(width, height).expect("fits");
    let mut rgba = Vec::new();
    for y in 0..height {
        for x in 0..width {
            let at = |i: u32, x: u32| f64::from(x) + (f64::from(i) + 0.5) / 4.0;
            let inked = (0..16).filter(|i| ink(at(i % 4, x), at(i / 4, y))).count();
            let value = (230.0 - 190.0 * inked as f64 / 16.0).round() as u8;
            rgba.extend([value, value, value, 255]);
        }
    }
    luma.set_band(0, &rgba).expect("a whole picture");
    luma
}

fn at(x: f64, y: f64) -> Point<Picture> {
    Point::new(x, y)
}

/// Expected: the circle's own area and length of border.
#[test]
fn a_drawn_circle_is_followed_in_its_middle() {
    for wide in [1.5, 3.0, 6.0] {
        let luma = drawn(300, 280, |x, y| (libm::hypot(x - 151.3, y - 140.7) - 100.0).abs() < wide / 2.0);
        let border = border(&luma, at(150.0, 150.0)).expect("a border");
        assert_eq!(border.rings.len(), 1, "{wide}");
        let area = signed_area(&border.rings[0]).abs();
        assert!((area / (std::f64::consts::PI * 1e4) - 1.0).abs() < 0.001, "{wide}: {area}");
        assert!((perimeter(&border.rings[0]) / 628.32 - 1.0).abs() < 0.003);
        assert!((border.half * 2.0 - wide).abs() < 0.25, "{wide}: {}", border.half);
    }
}

/// Area of a border's rings, px².
fn areas(border: &crate::raster::ask::Border) -> Vec<f64> {
    border.rings.iter().map(|ring| signed_area(ring).abs()).collect()
}

/// Whether a place is within so many px of a frame of lines: x or y at one of these, inside the box they span.
fn on_lines(x: f64, y: f64, xs: &[f64], ys: &[f64], half: f64) -> bool {
    let within = |v: f64, list: &[f64]| v > list[0] - half && v < list[list.len() - 1] + half;
    within(x, xs)
        && within(y, ys)
        && (xs.iter().any(|at| (x - at).abs() < half) || ys.iter().any(|at| (y - at).abs() < half))
}

/// What is touched, where, and the areas expected (worked out by hand from the sizes drawn), to half a per cent.
#[test]
fn each_drawing_gives_its_own_rings() {
    let frame = |x: f64, y: f64| on_lines(x, y, &[40.0, 260.0], &[30.0, 170.0], 1.5);
    let hole = |x: f64, y: f64| (libm::hypot(x - 200.0, y - 100.0) - 25.0).abs() < 1.5;
    let gap = |x: f64, y: f64| frame(x, y) && !(y < 40.0 && x > 100.0 && x < 108.0);
    let solid = |x: f64, y: f64| x > 40.0 && x < 260.0 && y > 30.0 && y < 170.0;
    let disc = |x: f64, y: f64| libm::hypot(x - 200.0, y - 100.0) < 25.0;
    let rib = |x: f64, y: f64| frame(x, y) || on_lines(x, y, &[200.0, 201.0], &[30.0, 170.0], 1.0);
    let strokes = |x: f64, y: f64| {
        frame(x, y)
            // A line that goes in, one that comes up from outside, and one that crosses the border.
            || ((x - 90.0).abs() < 1.0 && y > 30.0 && y < 100.0)
            || ((x - 150.0).abs() < 1.0 && y > 170.0)
            || ((y - 60.0).abs() < 1.0 && x > 220.0 && x < 290.0)
    };
    let cases: [(&str, Ink, [f64; 2], &[f64]); 7] = [
        ("a frame", &frame, [100.0, 100.0], &[220.0 * 140.0]),
        ("with a round hole", &|x, y| frame(x, y) || hole(x, y), [100.0, 100.0], &[220.0 * 140.0, 1963.5]),
        ("the hole itself", &|x, y| frame(x, y) || hole(x, y), [200.0, 100.0], &[1963.5]),
        ("with a gap", &gap, [100.0, 100.0], &[220.0 * 140.0]),
        ("parted by a rib", &rib, [100.0, 100.0], &[220.0 * 140.0]),
        ("with strokes", &strokes, [180.0, 100.0], &[220.0 * 140.0]),
        (
            "a solid thing with a hole",
            &|x, y| solid(x, y) && !disc(x, y),
            [100.0, 50.0],
            &[220.0 * 140.0, 1963.5],
        ),
    ];
    for (name, ink, [x, y], expected) in cases {
        let found = border(&drawn(300, 200, ink), at(x, y)).unwrap_or_else(|say| panic!("{name}: {say}"));
        let got = areas(&found);
        let alike = got.iter().zip(expected).all(|(a, b)| (a / b - 1.0).abs() < 0.005);
        let bridges = usize::from(name == "with a gap");
        assert!(alike && got.len() == expected.len(), "{name}: {got:?}, not {expected:?}");
        assert_eq!(found.bridges.len(), bridges, "{name}: {:?}", found.bridges);
    }
}

/// Expected: nothing to hold, or that it runs off; worked out by looking.
#[test]
fn what_has_no_border_is_refused_in_words() {
    let cases: [(&str, Ink, &str); 4] = [
        ("blank", &|_, _| false, "seek.nothing"),
        ("black", &|_, _| true, "seek.nothing"),
        ("outside the thing", &|x, y| libm::hypot(x - 220.0, y - 120.0) < 40.0, "seek.runs-off"),
        ("half a frame", &|x, y| on_lines(x, y, &[40.0, 400.0], &[30.0, 170.0], 1.5), "seek.runs-off"),
    ];
    for (name, ink, key) in cases {
        let found = border(&drawn(300, 200, ink), at(100.0, 100.0));
        assert_eq!(
            found.map_err(|say| say.key.into_owned()).map(|b| b.rings.len()),
            Err(key.to_owned()),
            "{name}"
        );
    }
}

#[test]
fn textures_and_odd_sizes_end() {
    let checker = |x: f64, y: f64| (x as u32 + y as u32).is_multiple_of(2);
    let mut state = 7u32;
    let mut noise = Vec::new();
    for _ in 0..600 * 500 {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let v = (state >> 24) as u8;
        noise.extend([v, v, v, 255]);
    }
    let mut noisy = Luma::new(600, 500).expect("fits");
    noisy.set_band(0, &noise).expect("a whole picture");
    let wide = Luma::new(30_000, 100).expect("fits");
    for luma in [drawn(500, 400, checker), noisy, wide, drawn(1, 1, |_, _| true), drawn(2, 3, checker)] {
        for (x, y) in [(0.0, 0.0), (250.3, 200.9), (1e9, 5.0), (f64::NAN, 1.0)] {
            let _ = border(&luma, at(x, y));
            let _ = follow(&luma, at(x, y), at(300.0, 20.0));
        }
        let _ = views(&luma);
    }
}

/// Two views, a frame, a title in a box and a dimension line: two boxes come out, in reading order.
#[test]
fn a_sheet_is_divided_into_its_views() {
    let ink = |x: f64, y: f64| {
        on_lines(x, y, &[10.0, 790.0], &[10.0, 590.0], 1.5)
            || on_lines(x, y, &[80.0, 400.0], &[80.0, 200.0], 1.2)
            || (libm::hypot((x - 240.0) / 1.6, y - 400.0) - 100.0).abs() < 1.2
            || ((y - 250.0).abs() < 0.8 && x > 80.0 && x < 400.0)
            || on_lines(x, y, &[600.0, 790.0], &[520.0, 590.0], 1.2)
            || (x > 610.0 && x < 770.0 && y > 540.0 && y < 552.0 && x % 16.0 < 9.0)
    };
    let found = views(&drawn(800, 600, ink)).expect("two views");
    let middles: Vec<[f64; 2]> = found
        .iter()
        .map(|v| [(v.bounds[0] + v.bounds[2]) / 2.0, (v.bounds[1] + v.bounds[3]) / 2.0])
        .collect();
    assert_eq!(found.len(), 2, "{middles:?}");
    for ([x, y], (wanted_x, wanted_y)) in middles.iter().zip([(240.0, 140.0), (240.0, 400.0)]) {
        assert!((x - wanted_x).abs() < 25.0 && (y - wanted_y).abs() < 40.0, "{middles:?}");
    }
    assert_eq!(found.iter().map(|v| v.shapes.len()).collect::<Vec<_>>(), [1, 1]);
}

/// Expected: points on the circle that was drawn, all the way between the touches and no further.
#[test]
fn an_edge_is_followed_between_touches() {
    let shapes: [Ink; 3] = [
        &|x, y| (libm::hypot(x - 150.0, y - 150.0) - 100.0).abs() < 1.5,
        &|x, y| (libm::hypot(x - 150.0, y - 150.0) - 100.0).abs() < 4.0,
        &|x, y| libm::hypot(x - 150.0, y - 150.0) < 100.0,
    ];
    for ink in shapes {
        let (points, sigma) =
            follow(&drawn(300, 300, ink), at(253.0, 148.0), at(151.0, 247.0)).expect("an edge");
        let off: f64 =
            points.iter().map(|p| (p.distance(at(150.0, 150.0)) - 100.0).abs()).fold(0.0, f64::max);
        assert!(off < 0.25 && sigma < 0.1, "{off} {sigma}");
        assert!((points.len() as f64 - 157.0).abs() < 12.0, "{}", points.len());
    }
}

proptest! {
    /// Wherever a thing lies and whatever its tones, its ring holds the touch and has its area.
    #[test]
    fn a_disc_has_its_area(x in 60.0..140.0f64, y in 60.0..140.0f64, r in 15.0..50.0f64, dark: bool, thin: bool) {
        let disc = |px: f64, py: f64| {
            let d = libm::hypot(px - x, py - y);
            if thin { (d - r).abs() < 1.2 } else { (d < r) == dark }
        };
        let found = border(&drawn(200, 200, disc), at(x, y)).expect("a border");
        let area = std::f64::consts::PI * r * r;
        prop_assert!((areas(&found)[0] / area - 1.0).abs() < 0.01 && contains(&found.rings[0], at(x, y)));
    }
}

/// Three shelves alike, one thinner and one shorter, as tones and as drawn lines: from one of the three its two fellows, each
/// with the area that it was drawn with.
#[test]
fn the_others_like_it_are_found_and_nothing_else() {
    // left, top, right, bottom
    const SHELVES: [[f64; 4]; 5] = [
        [40.0, 30.0, 340.0, 50.0],
        [40.5, 110.25, 340.5, 130.25],
        [40.0, 190.0, 340.0, 210.0],
        [40.0, 260.0, 340.0, 272.0],
        [40.0, 310.0, 300.0, 330.0],
    ];
    let inside = |[l, t, r, b]: [f64; 4], x: f64, y: f64| x > l && x < r && y > t && y < b;
    let solid = |x: f64, y: f64| SHELVES.iter().any(|s| inside(*s, x, y));
    let lines = |x: f64, y: f64| {
        let edge = |s: &[f64; 4], by: f64| inside([s[0] - by, s[1] - by, s[2] + by, s[3] + by], x, y);
        SHELVES.iter().any(|s| edge(s, 1.0) && !edge(s, -1.0))
    };
    let inks: [(&str, Ink); 2] = [("solid", &solid), ("drawn", &lines)];
    for (name, ink) in inks {
        let luma = drawn(400, 380, ink);
        let found = like(&luma, SHELVES[0]).unwrap_or_else(|say| panic!("{name}: {say}"));
        let tops: Vec<f64> = found.iter().map(|b| crate::plane::bounds(b.rings[0].iter())[1]).collect();
        assert!(
            tops.len() == 2 && (tops[0] - 110.25).abs() < 0.1 && (tops[1] - 190.0).abs() < 0.1,
            "{name} {tops:?}"
        );
        for border in &found {
            assert!((areas(border)[0] / 6000.0 - 1.0).abs() < 0.005, "{name}: {:?}", areas(border));
        }
        assert!(like(&luma, SHELVES[3]).is_err(), "{name}: there is only one as thin");
        assert!(like(&luma, [100.0, 60.0, 200.0, 90.0]).is_err(), "{name}: nothing lies there");
    }
}
