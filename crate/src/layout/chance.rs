//! Chance that is the same every time.

/// A row of numbers that look like chance and are always the same.
///
/// # References
/// Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (2003) 14.
#[derive(Clone, Debug)]
pub(super) struct Chance(u64);

impl Chance {
    /// From the beginning of the row.
    pub fn new() -> Chance {
        Chance(0x9E37_79B9_7F4A_7C15)
    }

    fn next(&mut self) -> u64 {
        let mut x = self.0;
        x ^= x << 13;
        x ^= x >> 7;
        x ^= x << 17;
        self.0 = x;
        x
    }

    /// Below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.next() >> 33) as usize) % n.max(1)
    }

    /// 0 to 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
