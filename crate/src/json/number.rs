//! The number nearest to what is written in decimals.

/// The powers of ten that an f64 holds exactly.
const EXACT: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];
/// Up to here every whole number is an f64.
const WHOLE: u64 = 1 << 53;
/// No f64 lies half way to its neighbour with more digits than this (768, for the smallest), so that beyond them it
/// only counts whether any is not zero.
const MOST_DIGITS: usize = 770;

/// The f64 nearest to `digits` (ASCII) × 10^`power`; of two as near the even one. Larger than any is infinity.
///
/// # References
/// W. D. Clinger, How to Read Floating Point Numbers Accurately, PLDI 1990: one rounding where both are exact;
/// otherwise by whole numbers of any length.
pub fn nearest(digits: &str, power: i64) -> f64 {
    let digits = digits.trim_start_matches('0');
    let small = digits.parse::<u64>().ok().filter(|n| *n <= WHOLE);
    match (small, usize::try_from(power.unsigned_abs()).ok().and_then(|p| EXACT.get(p))) {
        (Some(n), Some(ten)) if power >= 0 => n as f64 * ten,
        (Some(n), Some(ten)) => n as f64 / ten,
        _ if digits.is_empty() => 0.0,
        _ => long(digits, power),
    }
}

fn long(digits: &str, power: i64) -> f64 {
    let kept = digits.len().min(MOST_DIGITS);
    let power = power.saturating_add((digits.len() - kept) as i64);
    let size = power.saturating_add(kept as i64);
    if size > 310 {
        return f64::INFINITY;
    }
    if size < -330 {
        return 0.0;
    }
    let mut n = Long::default();
    for digit in digits.bytes().take(kept) {
        n.times(10, u32::from(digit - b'0'));
    }
    let mut rest = digits.bytes().skip(kept).any(|d| d != b'0');
    for _ in 0..power {
        n.times(10, 0);
    }
    // Room for 64 bits and more after all divisions: a division by ten takes less than four.
    let down = u32::try_from(-power.min(0)).unwrap_or(0);
    let words = if down == 0 { 2 } else { down / 8 + 3 };
    n.0.splice(0..0, (0..words).map(|_| 0));
    for _ in 0..down / 9 {
        rest |= n.over(1_000_000_000) != 0;
    }
    rest |= n.over(10_u32.pow(down % 9)) != 0;
    n.rounded(-32 * i64::from(words), rest)
}

/// A whole number of any length, in words of 32 bits, the lowest first.
#[derive(Default)]
struct Long(Vec<u32>);

impl Long {
    fn times(&mut self, by: u32, plus: u32) {
        let mut carry = u64::from(plus);
        for word in &mut self.0 {
            carry += u64::from(*word) * u64::from(by);
            *word = carry as u32;
            carry >>= 32;
        }
        if carry > 0 {
            self.0.push(carry as u32);
        }
    }

    /// Divides; gives what is left over.
    fn over(&mut self, by: u32) -> u32 {
        let mut left = 0_u64;
        for word in self.0.iter_mut().rev() {
            left = left << 32 | u64::from(*word);
            *word = (left / u64::from(by)) as u32;
            left %= u64::from(by);
        }
        while self.0.last() == Some(&0) {
            self.0.pop();
        }
        left as u32
    }

    /// Times 2^`power`, and a little more where `rest` says so, as the nearest f64.
    fn rounded(&self, power: i64, rest: bool) -> f64 {
        let Some(top) = self.0.last() else { return 0.0 };
        let bits = 32 * self.0.len() as i64 - i64::from(top.leading_zeros());
        // The first bit's worth, and how many bits an f64 of that size has: fewer under 2^−1022.
        let first = bits - 1 + power;
        let keep = (first + 1075).min(53);
        let drop = bits - keep;
        let bit = |i: i64| -> bool {
            let word = usize::try_from(i / 32).ok().filter(|_| i >= 0).and_then(|w| self.0.get(w));
            word.is_some_and(|w| w >> (i % 32) & 1 == 1)
        };
        let mut kept = (0..keep).rev().fold(0_u64, |n, i| n << 1 | u64::from(bit(drop + i)));
        let above = rest || (0..drop - 1).any(bit);
        if bit(drop - 1) && (above || kept & 1 == 1) {
            kept += 1;
        }
        // With the exponent's field behind it, carrying over is right by itself.
        let field = first + 1023;
        let whole = if field > 0 { ((field - 1) as u64) << 52 } else { 0 };
        if field >= 2047 { f64::INFINITY } else { f64::from_bits(whole + kept) }
    }
}
