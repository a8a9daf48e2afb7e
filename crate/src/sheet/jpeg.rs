//! Grey JPEG files, written band by band.
//!
//! # References
//! ITU-T T.81 (1992): B.2 (markers), F.1.2 (baseline coding), annex K (tables K.1, K.3, K.5), figure 5 (zigzag).

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
    out: Vec<u8>,
    width: usize,
    /// One over each step of quantisation, in rows.
    steps: [f32; 64],
    cosines: [[f32; 8]; 8],
    dc: [(u16, u8); 256],
    ac: [(u16, u8); 256],
    last_dc: i32,
    bits: u64,
    held: u8,
}

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
        segment(0xC4, &[&[0], &DC_COUNTS[..], &DC_VALUES].concat());
        segment(0xC4, &[&[0x10], &AC_COUNTS[..], &AC_VALUES].concat());
        segment(0xDA, &[1, 1, 0, 0, 63, 0]);
        let mut cosines = [[0.0; 8]; 8];
        for (u, row) in cosines.iter_mut().enumerate() {
            for (x, c) in row.iter_mut().enumerate() {
                let angle = (2 * x + 1) as f64 * u as f64 * std::f64::consts::PI / 16.0;
                let weight = if u == 0 { libm::sqrt(0.125) } else { 0.5 };
                *c = (weight * libm::cos(angle)) as f32;
            }
        }
        let steps = quant.map(|q| 1.0 / f32::from(q));
        let (dc, ac) = (codes(&DC_COUNTS, &DC_VALUES), codes(&AC_COUNTS, &AC_VALUES));
        Jpeg { out, width: usize::from(width), steps, cosines, dc, ac, last_dc: 0, bits: 0, held: 0 }
    }

    /// The next eight rows (the last ones may be fewer), without gaps.
    pub fn band(&mut self, rows: &[u8]) {
        let n = (rows.len() / self.width.max(1)).max(1);
        for left in (0..self.width).step_by(8) {
            let mut block = [[0.0_f32; 8]; 8];
            for (y, line) in block.iter_mut().enumerate() {
                let row = y.min(n - 1) * self.width;
                for (x, value) in line.iter_mut().enumerate() {
                    // Beyond the border the last pixel goes on.
                    let at = row + (left + x).min(self.width - 1);
                    *value = f32::from(rows.get(at).copied().unwrap_or(255)) - 128.0;
                }
            }
            self.block(&block);
        }
    }

    /// The whole file.
    pub fn finish(mut self) -> Vec<u8> {
        // The last byte is filled with ones (F.1.2.3).
        self.put(0x7F, 7);
        self.out.extend([0xFF, 0xD9]);
        self.out
    }

    fn block(&mut self, block: &[[f32; 8]; 8]) {
        let (mut half, mut full) = ([[0.0_f32; 8]; 8], [0.0_f32; 64]);
        for (u, cosines) in self.cosines.iter().enumerate() {
            for (row, cosine) in block.iter().zip(cosines) {
                for (h, value) in half[u].iter_mut().zip(row) {
                    *h += cosine * value;
                }
            }
        }
        for (row, out) in half.iter().zip(full.chunks_exact_mut(8)) {
            for (v, cosines) in out.iter_mut().zip(&self.cosines) {
                *v = row.iter().zip(cosines).map(|(a, b)| a * b).sum();
            }
        }
        for (v, step) in full.iter_mut().zip(&self.steps) {
            *v *= step;
        }
        let whole = |i: usize| (full[i] + if full[i] < 0.0 { -0.5 } else { 0.5 }) as i32;
        let dc = whole(0);
        let change = dc - std::mem::replace(&mut self.last_dc, dc);
        let size = size_of(change);
        self.code(self.dc[usize::from(size)]);
        self.value(change, size);
        let mut zeros = 0_u8;
        for &i in &ZIGZAG[1..] {
            let value = whole(i);
            if value == 0 {
                zeros += 1;
                continue;
            }
            while zeros > 15 {
                self.code(self.ac[0xF0]);
                zeros -= 16;
            }
            let size = size_of(value);
            self.code(self.ac[usize::from(zeros << 4 | size)]);
            self.value(value, size);
            zeros = 0;
        }
        if zeros > 0 {
            self.code(self.ac[0]);
        }
    }

    fn code(&mut self, (code, length): (u16, u8)) {
        self.put(u32::from(code), length);
    }

    /// A value's own bits: those of a negative one are of it less one (F.1.2.1).
    fn value(&mut self, value: i32, size: u8) {
        let bits = if value < 0 { value - 1 } else { value };
        self.put(bits.cast_unsigned() & ((1 << size) - 1), size);
    }

    fn put(&mut self, bits: u32, length: u8) {
        self.bits = self.bits << length | u64::from(bits);
        self.held += length;
        while self.held >= 8 {
            self.held -= 8;
            let byte = (self.bits >> self.held & 0xFF) as u8;
            self.out.push(byte);
            if byte == 0xFF {
                self.out.push(0);
            }
        }
    }
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
