//! Catching, against what was drawn.

use super::drawn::{Coin, drawn};
use super::{catch, round, straight};
use crate::plane::Point;
use crate::raster::ask::{Caught, What};
use crate::raster::luma::Luma;

/// A half-plane through `at`, dark on the side that `angle` points to.
fn side(at: [f64; 2], angle: f64, dark: f64, light: f64) -> impl Fn(f64, f64) -> f64 {
    move |x, y| if (x - at[0]) * angle.cos() + (y - at[1]) * angle.sin() > 0.0 { dark } else { light }
}

/// Ink within `half` of the stretch from a to b, round ends.
fn ink(a: [f64; 2], b: [f64; 2], half: f64) -> impl Fn(f64, f64) -> bool {
    move |x, y| {
        let d = [b[0] - a[0], b[1] - a[1]];
        let t = ((x - a[0]) * d[0] + (y - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1]);
        let t = t.clamp(0.0, 1.0);
        (x - a[0] - t * d[0]).hypot(y - a[1] - t * d[1]) <= half
    }
}

fn caught(luma: &Luma, at: [f64; 2], reach: f64) -> Caught {
    catch(luma, Point::from(at), reach).unwrap_or_else(|| panic!("nothing at {at:?}"))
}

#[test]
fn an_edge_is_caught_where_it_is() {
    for (angle, blur) in [(0.0, 0.7), (0.3, 0.7), (0.785, 1.0), (1.2, 1.5), (2.9, 2.0), (-1.6, 1.0)] {
        // A whole number of samples, or the drawing itself would be off.
        let at = [40.25, 39.75];
        let luma = drawn(80, 80, blur, 2.55, 7, side(at, angle, 20.0, 235.0));
        let got = caught(&luma, [42.0, 41.0], 12.0);
        let off = (got.at.x - at[0]) * angle.cos() + (got.at.y - at[1]) * angle.sin();
        let sigma = (got.cov[0] + got.cov[2]).sqrt();
        assert_eq!(got.what, What::Edge);
        assert!(off.abs() < 0.02 + 3.0 * sigma && sigma < 0.03, "{angle} {blur}: off {off} sigma {sigma}");
    }
}

#[test]
fn a_line_gives_its_middle_and_half() {
    for (half, blur) in [(0.7, 0.8), (1.0, 1.0), (2.6, 0.8), (5.0, 1.2)] {
        let line = ink([-20.0, 30.0], [130.0, 52.0], half);
        let luma = drawn(100, 80, blur, 2.55, 3, |x, y| if line(x, y) { 30.0 } else { 230.0 });
        let got = caught(&luma, [50.0, 44.0], 15.0);
        let n = [-22.0 / 22f64.hypot(150.0), 150.0 / 22f64.hypot(150.0)];
        let off = (got.at.x + 20.0) * n[0] + (got.at.y - 30.0) * n[1];
        let sigma = (got.cov[0] + got.cov[2]).sqrt();
        let width = got.half[0].hypot(got.half[1]);
        assert_eq!(got.what, What::Line);
        assert!(off.abs() < 0.02 + 3.0 * sigma && sigma < 0.03, "{half} {blur}: off {off} sigma {sigma}");
        // The width of a line that is thinner than its blur can't be told from its tone.
        let may = if half > blur { 0.15 } else { 0.4 };
        assert!((width - half).abs() < may, "{half} {blur}: {width}");
    }
}

/// The upright of a bookcase, say: where one looks closely at its side, its middle isn't what is meant.
#[test]
fn of_something_wide_the_side_is_caught_where_it_alone_is_near() {
    let luma = drawn(90, 90, 0.8, 2.55, 9, |x, _| if (x - 45.25).abs() < 4.0 { 190.0 } else { 120.0 });
    for (x, what, expected) in
        [(49.0, What::Edge, 49.25), (41.0, What::Edge, 41.25), (45.5, What::Line, 45.25)]
    {
        let got = caught(&luma, [x, 44.0], 2.0);
        assert_eq!(got.what, what, "{x}: {got:?}");
        assert!((got.at.x - expected).abs() < 0.05, "{x}: {got:?}");
    }
    // Where everything about is looked at, it is a line as any other.
    assert_eq!(caught(&luma, [49.0, 44.0], 12.0).what, What::Line);
}

#[test]
fn a_corner_wins_over_an_edge() {
    for (angle, open, blur) in [(0.2, 1.571, 0.8), (1.0, 1.2, 1.0), (2.0, 2.2, 1.5), (3.0, 1.571, 2.0)] {
        let at = [50.4, 49.7];
        let (a, b) = (side(at, angle, 0.0, 1.0), side(at, angle + std::f64::consts::PI - open, 0.0, 1.0));
        let luma =
            drawn(100, 100, blur, 2.55, 11, |x, y| if a(x, y) + b(x, y) == 0.0 { 30.0 } else { 220.0 });
        let got = caught(&luma, [52.0, 53.0], 15.0);
        let off = (got.at.x - at[0]).hypot(got.at.y - at[1]);
        let sigma = (got.cov[0] + got.cov[2]).sqrt();
        assert_eq!(got.what, What::Corner, "{angle} {open} {blur} {got:?}");
        assert!(
            off < 0.02 + 3.0 * sigma && off < 0.1 && sigma < 0.08,
            "{angle} {blur}: off {off} sigma {sigma}"
        );
    }
}

#[test]
fn drawn_lines_meet_and_end() {
    for half in [1.0, 2.2] {
        let (a, b) = (ink([50.3, 50.6], [120.0, 70.0], half), ink([50.3, 50.6], [40.0, 120.0], half));
        let luma = drawn(110, 110, 0.9, 2.55, 5, |x, y| if a(x, y) || b(x, y) { 30.0 } else { 230.0 });
        let got = caught(&luma, [48.0, 52.0], 15.0);
        let off = (got.at.x - 50.3).hypot(got.at.y - 50.6);
        assert_eq!(got.what, What::Corner, "{half} {got:?}");
        assert!(off < 0.08, "{half}: off {off}");
        assert!(got.half[0] < 0.0 && got.half[1] < 0.0, "{got:?}");

        let luma = drawn(110, 110, 0.9, 2.55, 5, |x, y| if a(x, y) { 30.0 } else { 230.0 });
        let got = caught(&luma, [47.0, 52.0], 15.0);
        let off = (got.at.x - 50.3).hypot(got.at.y - 50.6);
        assert_eq!(got.what, What::End, "{half} {got:?}");
        assert!(off < 0.5 * half, "{half}: off {off} {got:?}");
        assert!(got.half[0] < 0.0, "{got:?}");
    }
}

#[test]
fn a_straight_edge_is_two_places_and_its_ends() {
    let at = [80.25, 60.5];
    let luma = drawn(160, 120, 1.0, 2.55, 7, side(at, 1.2, 20.0, 235.0));
    let (along, n) = ([1.2f64.sin(), -1.2f64.cos()], [1.2f64.cos(), 1.2f64.sin()]);
    let place = |t: f64, u: f64| Point::new(at[0] + along[0] * t + n[0] * u, at[1] + along[1] * t + n[1] * u);
    let got =
        straight(&luma, &[place(-50.0, 4.0), place(0.0, -2.0), place(50.0, 3.0)], 8.0).expect("there is one");
    for f in got.fitted {
        let off = (f.at.x - at[0]) * n[0] + (f.at.y - at[1]) * n[1];
        let sigma = (f.cov[0] + f.cov[2]).sqrt();
        assert!(off.abs() < 3.5 * sigma && sigma < 0.01, "off {off} sigma {sigma}");
    }
    assert!(got.ends[0].distance(place(-50.0, 0.0)) < 4.0 && got.ends[1].distance(place(50.0, 0.0)) < 4.0);
    assert!(straight(&luma, &[place(-50.0, 40.0), place(50.0, 40.0)], 8.0).is_none());
}

#[test]
fn a_circle_is_places_on_it_and_part_of_one_is_less_sure() {
    let ring = |x: f64, y: f64| (x - 60.2).hypot(y - 59.7) < 40.0;
    let whole = drawn(120, 120, 1.5, 2.55, 7, |x, y| if ring(x, y) { 20.0 } else { 235.0 });
    let part = drawn(120, 120, 1.5, 2.55, 7, |x, y| if ring(x, y) && x > 62.0 { 20.0 } else { 235.0 });
    let touch = |a: f64, r: f64| Point::new(60.2 + r * a.cos(), 59.7 + r * a.sin());
    let wide = |luma: &Luma, touches: &[Point<crate::plane::Picture>]| {
        let got = round(luma, touches, 6.0).expect("there is one");
        assert_eq!(got.len(), 12);
        for f in &got {
            let off = (f.at.x - 60.2).hypot(f.at.y - 59.7) - 40.0;
            assert!(off.abs() < 0.06, "{off} {f:?}");
        }
        got.iter().map(|f| f.cov[0] + f.cov[2]).sum::<f64>()
    };
    let all = wide(&whole, &[touch(0.2, 41.0), touch(2.0, 39.0), touch(4.5, 41.0)]);
    let some = wide(&part, &[touch(-1.3, 41.0), touch(0.1, 39.5), touch(1.3, 40.5)]);
    assert!(some > 1.4 * all, "{some} {all}");
}

#[test]
fn whatever_the_picture_is_there_is_an_answer() {
    let mut sizes: Vec<Luma> = [(1, 1), (1, 40), (7, 7), (30_000, 100)]
        .into_iter()
        .map(|(w, h)| Luma::new(w, h).expect("fits"))
        .collect();
    sizes.push(drawn(60, 60, 0.7, 0.0, 1, side([30.0, 30.0], 0.4, 0.0, 255.0)));
    let odd = [-1e300, -5.0, 0.0, 0.5, 29.0, 59.9, 1e5, f64::MAX, f64::NAN, f64::INFINITY];
    for luma in &sizes {
        for x in odd {
            for y in odd {
                for reach in [-1.0, 0.0, 3.0, 40.0, 1e9, f64::NAN] {
                    let at = Point::new(x, y);
                    let _ = catch(luma, at, reach);
                    let _ = straight(luma, &[Point::new(3.0, 3.0), at], reach);
                    let _ = round(luma, &[Point::new(3.0, 3.0), Point::new(20.0, y), at], reach);
                }
            }
        }
    }
}

/// Dots of a printed tone, grain, single pixels, blocks, a faint grid.
#[test]
fn nothing_to_hold_is_nothing() {
    let mut coin = Coin(1);
    let noise: Vec<f64> = (0..128 * 128).map(|_| 128.0 + 40.0 * coin.normal()).collect();
    let scenes: [(&str, Luma); 7] = [
        ("blank", drawn(128, 128, 0.7, 0.0, 1, |_, _| 200.0)),
        ("faint noise", drawn(128, 128, 0.7, 4.0, 2, |_, _| 200.0)),
        ("noise", drawn(128, 128, 0.1, 0.0, 3, |x, y| noise[y as usize * 128 + x as usize])),
        ("grain", drawn(128, 128, 1.2, 0.0, 3, |x, y| noise[y as usize * 128 + x as usize])),
        (
            "single pixels",
            drawn(128, 128, 0.05, 0.0, 1, |x, y| if (x as i32 + y as i32) % 2 == 0 { 0.0 } else { 255.0 }),
        ),
        (
            "dots",
            drawn(128, 128, 0.6, 3.0, 1, |x, y| {
                let (u, v) = ((x + y) / 1.414 / 6.0, (x - y) / 1.414 / 6.0);
                if (u - u.round()).hypot(v - v.round()) < 0.3 { 40.0 } else { 230.0 }
            }),
        ),
        (
            "faint grid",
            drawn(128, 128, 0.7, 3.0, 1, |x, y| if x % 15.0 < 1.5 || y % 15.0 < 1.5 { 212.0 } else { 235.0 }),
        ),
    ];
    let mut found = Vec::new();
    for (name, luma) in &scenes {
        for k in 0..25 {
            let at = [40.0 + 11.3 * f64::from(k % 5), 40.0 + 9.7 * f64::from(k / 5)];
            for reach in [6.0, 15.0, 40.0] {
                if let Some(got) = catch(luma, Point::from(at), reach) {
                    found.push(format!("{name} {at:?} {reach}: {got:?}"));
                }
            }
        }
    }
    assert!(found.is_empty(), "{} found\n{}", found.len(), found.join("\n"));
}
