//! How finely a page that comes as lines and letters is drawn as a picture.

/// Pixels to the metre: 300 to the inch, as near as a PNG can say it.
const USUAL: f64 = 11_811.0;
/// A small page gets more, up to 600 to the inch, while it stays below so many pixels.
const FINEST: f64 = 23_622.0;
const SMALL: f64 = 8e6;
/// The most pixels, and the widest and tallest, that a page is drawn with: a giant sheet gets fewer to the inch.
const MOST: f64 = 48e6;
const SIDES: [f64; 2] = [16_000.0, 40_000.0];
/// 72 and 96 to the inch are what programs write that know nothing ([`super::header`]): never just these.
const MEANINGLESS: [f64; 2] = [2_835.0, 3_780.0];
/// Rounded down to these, which miss them.
const STEP: f64 = 25.0;
/// Metres in a point of 1/72 in.
const POINT: f64 = 0.0254 / 72.0;

/// Pixels to the metre for a page, a whole number.
///
/// # Units
/// `size`: across and down, points of 1/72 in (ISO 32000-2's user unit).
pub fn fineness(size: [f64; 2]) -> u32 {
    let [across, down] = size.map(|side| side * POINT);
    if !(across > 0.0 && down > 0.0) {
        // A page of no size is refused where it is drawn.
        return USUAL as u32;
    }
    let area = across * down;
    let wanted = libm::sqrt(SMALL / area).clamp(USUAL, FINEST);
    let most = libm::sqrt(MOST / area).min(SIDES[0] / across).min(SIDES[1] / down);
    if wanted <= most {
        return libm::floor(wanted) as u32;
    }
    let least = STEP.max(libm::floor(most / STEP) * STEP);
    let spoilt = MEANINGLESS.iter().any(|one| (one - least).abs() < 5.0);
    (if spoilt { least - STEP } else { least }) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: pixels = mm / 1000 · pixels to the metre; paper by ISO 216 and ANSI/ASME Y14.1.
    #[test]
    fn a_page_is_as_fine_as_its_size_lets_it_be() {
        let points = |mm: [f64; 2]| mm.map(|v| v / 25.4 * 72.0);
        // Letter, an inch square; A6 and a strip of 36 in get more than usual.
        assert_eq!([fineness([612.0, 792.0]), fineness([72.0, 72.0])], [11_811, 23_622]);
        assert!((11_812..23_622).contains(&fineness(points([105.0, 148.0]))));
        assert!(fineness([36.0 * 72.0, 10.0]) > 11_811);
        // A giant sheet is as fine as 48 million pixels let it be.
        for mm in [[841.0, 1189.0], [5080.0, 5080.0]] {
            let n = f64::from(fineness(points(mm))) / 1000.0;
            let pixels = mm[0] * n * mm[1] * n;
            assert!(pixels <= 48e6 && pixels > 44e6, "{mm:?}: {pixels}");
        }
        // Never what means nothing, nor nothing at all.
        for side in 1..40_000 {
            let n = fineness([f64::from(side), f64::from(side)]);
            let inch = f64::from(n) * 0.0254;
            assert!(n >= 25 && (inch - 72.0).abs() > 0.1 && (inch - 96.0).abs() > 0.1, "{side}: {n}");
        }
        assert_eq!(fineness([f64::NAN, 0.0]), 11_811);
    }
}
