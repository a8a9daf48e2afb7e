use super::*;
use crate::plane::{Picture, Point, perimeter, signed_area};
use crate::raster::luma::Luma;

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
