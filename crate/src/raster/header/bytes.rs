//! Reading numbers out of bytes that nobody vouches for: every read is bounds-checked, none panics.

/// Which end of a number comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    /// Least significant byte first.
    Little,
    /// Most significant byte first.
    Big,
}

/// `length` bytes from `at`, or nothing when they aren't all there.
pub(super) fn slice(bytes: &[u8], at: usize, length: usize) -> Option<&[u8]> {
    bytes.get(at..at.checked_add(length)?)
}

/// Whether `what` stands at `at`.
pub(super) fn stands(bytes: &[u8], at: usize, what: &[u8]) -> bool {
    slice(bytes, at, what.len()) == Some(what)
}

/// The byte at `at`.
pub(super) fn u8_at(bytes: &[u8], at: usize) -> Option<u8> {
    bytes.get(at).copied()
}

/// The number in the two bytes from `at`.
pub(super) fn u16_at(bytes: &[u8], at: usize, order: Order) -> Option<u16> {
    let two: [u8; 2] = slice(bytes, at, 2)?.try_into().ok()?;
    Some(match order {
        Order::Little => u16::from_le_bytes(two),
        Order::Big => u16::from_be_bytes(two),
    })
}

/// The number in the three bytes from `at`, least significant first (WebP's canvas size).
pub(super) fn u24_at(bytes: &[u8], at: usize) -> Option<u32> {
    match slice(bytes, at, 3)? {
        [a, b, c] => Some(u32::from_le_bytes([*a, *b, *c, 0])),
        _ => None,
    }
}

/// The number in the four bytes from `at`.
pub(super) fn u32_at(bytes: &[u8], at: usize, order: Order) -> Option<u32> {
    let four: [u8; 4] = slice(bytes, at, 4)?.try_into().ok()?;
    Some(match order {
        Order::Little => u32::from_le_bytes(four),
        Order::Big => u32::from_be_bytes(four),
    })
}

/// Where `what` stands first in `bytes`.
pub(super) fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len().max(1)).position(|w| w == what)
}
