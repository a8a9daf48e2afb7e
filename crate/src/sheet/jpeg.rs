//! Grey JPEG files, written band by band.
//!
//! # References
//! ITU-T T.81 (1992): B.2 (markers), F.1.2 (baseline coding), annex K (tables K.1, K.3, K.5), figure 5 (zigzag).
//! Arai, Agui & Nakajima, Trans. IEICE E71 (1988) 1095: the cosine transform with five multiplications, scaled.

/// Table K.1, luminance quantisation, in rows.
const QUANT: [u8; 64] = [
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17,
    22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78,
    87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
];
const ZIGZAG: [usize; 64] = [
    0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5, 12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13, 6, 7,
    14, 21, 28, 35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51, 58, 59, 52, 45, 38, 31, 39,
    46, 53, 60, 61, 54, 47, 55, 62, 63,
];
/// Table K.3: how many codes there are of each length, and what they stand for.
const DC_COUNTS: [u8; 16] = [0, 1, 5, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0];
const DC_VALUES: [u8; 12] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11];
/// Table K.5.
const AC_COUNTS: [u8; 16] = [0, 2, 1, 3, 3, 2, 4, 3, 5, 5, 4, 4, 0, 0, 1, 0x7D];
const AC_VALUES: [u8; 162] = [
    0x01, 0x02, 0x03, 0x00, 0x04, 0x11, 0x05, 0x12, 0x21, 0x31, 0x41, 0x06, 0x13, 0x51, 0x61, 0x07, 0x22,
    0x71, 0x14, 0x32, 0x81, 0x91, 0xA1, 0x08, 0x23, 0x42, 0xB1, 0xC1, 0x15, 0x52, 0xD1, 0xF0, 0x24, 0x33,
    0x62, 0x72, 0x82, 0x09, 0x0A, 0x16, 0x17, 0x18, 0x19, 0x1A, 0x25, 0x26, 0x27, 0x28, 0x29, 0x2A, 0x34,
    0x35, 0x36, 0x37, 0x38, 0x39, 0x3A, 0x43, 0x44, 0x45, 0x46, 0x47, 0x48, 0x49, 0x4A, 0x53, 0x54, 0x55,
    0x56, 0x57, 0x58, 0x59, 0x5A, 0x63, 0x64, 0x65, 0x66, 0x67, 0x68, 0x69, 0x6A, 0x73, 0x74, 0x75, 0x76,
    0x77, 0x78, 0x79, 0x7A, 0x83, 0x84, 0x85, 0x86, 0x87, 0x88, 0x89, 0x8A, 0x92, 0x93, 0x94, 0x95, 0x96,
    0x97, 0x98, 0x99, 0x9A, 0xA2, 0xA3, 0xA4, 0xA5, 0xA6, 0xA7, 0xA8, 0xA9, 0xAA, 0xB2, 0xB3, 0xB4, 0xB5,
    0xB6, 0xB7, 0xB8, 0xB9, 0xBA, 0xC2, 0xC3, 0xC4, 0xC5, 0xC6, 0xC7, 0xC8, 0xC9, 0xCA, 0xD2, 0xD3, 0xD4,
    0xD5, 0xD6, 0xD7, 0xD8, 0xD9, 0xDA, 0xE1, 0xE2, 0xE3, 0xE4, 0xE5, 0xE6, 0xE7, 0xE8, 0xE9, 0xEA, 0xF1,
    0xF2, 0xF3, 0xF4, 0xF5, 0xF6, 0xF7, 0xF8, 0xF9, 0xFA,
];

/// A JPEG file in the making.
#[derive(Clone, Debug)]
pub struct Jpeg {
    coder: Coder,
    stride: usize,
    /// What each coefficient is multiplied by, in rows: one over its step of quantisation, and over what [`transformed`] makes too large.
    steps: [f32; 64],
    ac: [(u16, u8); 256],
}

/// What is written of one scan after its head.
#[derive(Clone, Debug)]
pub struct Coder {
    out: Vec<u8>,
    dc: [(u16, u8); 256],
    last_dc: i32,
    bits: u64,
    held: u32,
}

/// Added to this a number is rounded to a whole one, which then stands in its last bits.
const WHOLE: f32 = 12_582_912.0;

impl Jpeg {
    /// A picture of this size (1 to 65,535 px each way); `quality` from 1 to 100.
    pub fn new(width: u16, height: u16, quality: u32) -> Jpeg {
        let quality = quality.clamp(1, 100);
        // Common practice, no source: 50 is table K.1 itself.
        let scale = if quality < 50 { 5000 / quality } else { 200 - 2 * quality };
        let quant = QUANT.map(|q| ((u32::from(q) * scale + 50) / 100).clamp(1, 255) as u8);
        let mut out = vec![0xFF, 0xD8];
        let mut segment = |marker: u8, body: &[u8]| {
            out.extend([0xFF, marker]);
            out.extend((body.len() as u16 + 2).to_be_bytes());
            out.extend_from_slice(body);
        };
        segment(0xE0, b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0");
        let table: Vec<u8> = [0].into_iter().chain(ZIGZAG.iter().map(|i| quant[*i])).collect();
        segment(0xDB, &table);
        let ([h1, h2], [w1, w2]) = (height.to_be_bytes(), width.to_be_bytes());
        segment(0xC0, &[8, h1, h2, w1, w2, 1, 1, 0x11, 0]);
        segment(0xC4, &means(0));
        segment(0xC4, &[&[0x10], &AC_COUNTS[..], &AC_VALUES].concat());
        segment(0xDA, &[1, 1, 0, 0, 63, 0]);
        let large = |k: usize| match k {
            0 => 1.0,
            k => libm::cos(k as f64 * std::f64::consts::PI / 16.0) * std::f64::consts::SQRT_2,
        };
        let mut steps = [0.0; 64];
        for (i, (step, q)) in steps.iter_mut().zip(quant).enumerate() {
            *step = (1.0 / (8.0 * f64::from(q) * large(i / 8) * large(i % 8))) as f32;
        }
        let ac = codes(&AC_COUNTS, &AC_VALUES);
        Jpeg { coder: Coder::new(out), stride: stride(usize::from(width)), steps, ac }
    }

    /// The next eight rows, without gaps, each [`stride`] px long.
    pub fn band(&mut self, rows: &[u8]) {
        for left in (0..self.stride).step_by(8) {
            let mut block = [0.0_f32; 64];
            let first = rows.get(left).copied().unwrap_or(255);
            let (mut at, mut flat) = (left, true);
            for line in block.as_chunks_mut::<8>().0 {
                let Some(eight) = rows.get(at..).and_then(|r| r.first_chunk()) else { return };
                flat &= u64::from_ne_bytes(*eight) == u64::from_ne_bytes([first; 8]);
                let [a, b, c, d, e, f, g, h] = eight;
                *line = transformed([
                    tone(*a),
                    tone(*b),
                    tone(*c),
                    tone(*d),
                    tone(*e),
                    tone(*f),
                    tone(*g),
                    tone(*h),
                ]);
                at += self.stride;
            }
            if flat {
                self.coder.mean(whole(64.0 * tone(first), self.steps[0]));
                self.coder.code(self.ac[0], 0, 0);
            } else {
                self.block(&block);
            }
        }
    }

    /// The whole file.
    pub fn finish(self) -> Vec<u8> {
        let mut out = self.coder.finish();
        out.extend([0xFF, 0xD9]);
        out
    }

    /// A block whose rows are transformed already.
    fn block(&mut self, block: &[f32; 64]) {
        let mut all = [0_i32; 64];
        for x in 0..8 {
            let b = |y: usize| block[x + y];
            let mut i = x;
            for v in &transformed([b(0), b(8), b(16), b(24), b(32), b(40), b(48), b(56)]) {
                all[i & 63] = whole(*v, self.steps[i & 63]);
                i += 8;
            }
        }
        self.coder.mean(all[0]);
        let mut zeros = 0_u8;
        for i in &ZIGZAG[1..] {
            let value = all[i & 63];
            if value == 0 {
                zeros += 1;
                continue;
            }
            while zeros > 15 {
                self.coder.code(self.ac[0xF0], 0, 0);
                zeros -= 16;
            }
            let size = size_of(value);
            self.coder.code(self.ac[usize::from(zeros << 4 | size)], value, size);
            zeros = 0;
        }
        if zeros > 0 {
            self.coder.code(self.ac[0], 0, 0);
        }
    }
}

/// A table of codes for blocks' first coefficients, table K.3, as a segment has it; `id` from 0 to 3.
pub fn means(id: u8) -> Vec<u8> {
    [&[id], &DC_COUNTS[..], &DC_VALUES].concat()
}

impl Coder {
    /// Goes on after what is written already; first coefficients are coded by [`means`].
    pub fn new(out: Vec<u8>) -> Coder {
        Coder { out, dc: codes(&DC_COUNTS, &DC_VALUES), last_dc: 0, bits: 0, held: 0 }
    }

    /// All that is written, to the scan's last whole byte.
    pub fn finish(mut self) -> Vec<u8> {
        // The last byte is filled with ones (F.1.2.3).
        self.put(0x7F, 7);
        while self.held >= 8 {
            self.held -= 8;
            self.byte((self.bits >> self.held) as u8);
        }
        self.out
    }

    /// A block's first coefficient, as the difference from the last one's (F.1.2.1).
    pub fn mean(&mut self, dc: i32) {
        let change = dc - std::mem::replace(&mut self.last_dc, dc);
        let size = size_of(change);
        self.code(self.dc[usize::from(size)], change, size);
    }

    /// A code, and a value's own bits: those of a negative one are of it less one (F.1.2.1).
    fn code(&mut self, (code, length): (u16, u8), value: i32, size: u8) {
        let bits = (value + (value >> 31)).cast_unsigned() & ((1 << size) - 1);
        self.put(u32::from(code) << size | bits, u32::from(length + size));
    }

    /// So many bits, 32 at the most.
    pub fn put(&mut self, bits: u32, length: u32) {
        self.bits = self.bits << length | u64::from(bits);
        self.held += length;
        if self.held >= 32 {
            self.held -= 32;
            let word = (self.bits >> self.held) as u32;
            // Mostly none of its bytes is 0xFF, after which a 0 would have to stand.
            if word & !word.wrapping_add(0x0101_0101) & 0x8080_8080 == 0 {
                self.out.extend_from_slice(&word.to_be_bytes());
            } else {
                word.to_be_bytes().into_iter().for_each(|b| self.byte(b));
            }
        }
    }

    fn byte(&mut self, byte: u8) {
        self.out.push(byte);
        if byte == 0xFF {
            self.out.push(0);
        }
    }
}

/// How long the rows are that make a picture of so many columns: whole blocks. What is beyond is never shown.
pub fn stride(width: usize) -> usize {
    width.next_multiple_of(8)
}

/// How far a tone is from the middle one.
fn tone(value: u8) -> f32 {
    f32::from(value) - 128.0
}

/// A coefficient in whole steps of quantisation.
fn whole(value: f32, step: f32) -> i32 {
    (value * step + WHOLE).to_bits().cast_signed() - WHOLE.to_bits().cast_signed()
}

/// The cosine transform of eight values, each too large by 8^½ and, all but the first, by 2^½ cos(kπ/16).
#[inline(always)]
fn transformed([d0, d1, d2, d3, d4, d5, d6, d7]: [f32; 8]) -> [f32; 8] {
    const HALF: f32 = std::f32::consts::FRAC_1_SQRT_2;
    let (a0, a7, a1, a6) = (d0 + d7, d0 - d7, d1 + d6, d1 - d6);
    let (a2, a5, a3, a4) = (d2 + d5, d2 - d5, d3 + d4, d3 - d4);
    let (b0, b3, b1, b2) = (a0 + a3, a0 - a3, a1 + a2, a1 - a2);
    let z = (b2 + b3) * HALF;
    let (c0, c1, c2) = (a4 + a5, (a5 + a6) * HALF, a6 + a7);
    // sin, and cos less and plus sin, of π/8.
    let turn = (c0 - c2) * 0.382_683_43;
    let (e, f) = (c0 * 0.541_196_1 + turn, c2 * 1.306_563 + turn);
    let (p, m) = (a7 + c1, a7 - c1);
    [b0 + b1, p + f, b3 + z, m - e, b0 - b1, m + e, b3 - z, p - f]
}

/// How many bits a value takes.
fn size_of(value: i32) -> u8 {
    (32 - value.unsigned_abs().leading_zeros()) as u8
}

/// The code of each value and its length (annex C).
fn codes(counts: &[u8; 16], values: &[u8]) -> [(u16, u8); 256] {
    let mut out = [(0, 0); 256];
    let (mut code, mut values) = (0_u16, values.iter());
    for (length, count) in (1..).zip(counts) {
        for value in values.by_ref().take(usize::from(*count)) {
            out[usize::from(*value)] = (code, length);
            code += 1;
        }
        code <<= 1;
    }
    out
}
