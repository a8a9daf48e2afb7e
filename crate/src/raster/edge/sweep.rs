//! All edges of a whole picture in one pass, row by row, each to a part of a pixel.
//!
//! The page has no use for them all at once: it looks where someone touches. This is what `scripts/bench` lays beside a
//! well-known library's pass over the same picture, to show what the same first steps cost here.
//!
//! # Units
//! Picture px, pixel centres at .5. Slopes in grey levels, as Sobel's two masks give them, |across| + |down|.
//!
//! # References
//! Canny, IEEE PAMI 8 (1986) 679: blur, slope, thinning, two thresholds. Devernay, INRIA RR-2724 (1995): the place within the
//! pixel from a parabola through three slopes. The blur of σ 1 is the binomial 1 4 6 4 1 both ways, whose variance is 1.

/// Slopes are reckoned in sixteenths of a grey level.
const FINE: i16 = 16;
/// Nothing is told of a border this wide, px: the blur, the slopes and the thinning reach over it.
const BORDER: usize = 4;

/// How far rows are kept: those that the blur, the slopes and the thinning look at.
struct Rows {
    grey: Vec<u16>,
    across: [Vec<u16>; 5],
    soft: [Vec<i16>; 3],
    dx: [Vec<i16>; 3],
    dy: [Vec<i16>; 3],
    size: [Vec<i16>; 3],
}

/// Places of all edges whose slope is at least `high`, and of those of at least `low` that hang on such a one; of each its
/// `[x, y]`, from the top. `rgba`: four bytes a pixel, row by row, all of them opaque.
pub fn sweep(width: usize, rgba: &[u8], low: u8, high: u8) -> Vec<[f32; 2]> {
    let (pixels, _) = rgba.as_chunks::<4>();
    if width <= 2 * BORDER || pixels.len() < width * (2 * BORDER + 1) {
        return Vec::new();
    }
    let mut rows = Rows::new(width);
    let mut chains = Chains::new(width, i16::from(high) * FINE);
    for (y, row) in pixels.chunks_exact(width).enumerate() {
        rows.take(y, row);
        if y >= 2 * BORDER {
            rows.thin(y - BORDER, i16::from(low) * FINE, &mut chains);
        }
    }
    chains.kept()
}

impl Rows {
    fn new(width: usize) -> Rows {
        let signed = || [(); 3].map(|()| vec![0; width]);
        Rows {
            grey: vec![0; width],
            across: [(); 5].map(|()| vec![0; width]),
            soft: signed(),
            dx: signed(),
            dy: signed(),
            size: signed(),
        }
    }

    /// One more row of pixels; the slopes that it completes are those of the row three above it.
    fn take(&mut self, y: usize, pixels: &[[u8; 4]]) {
        for (to, &[r, g, b, _]) in self.grey.iter_mut().zip(pixels) {
            // ITU-R BT.709-6, item 3.2, in 1/256.
            *to = (54 * u16::from(r) + 183 * u16::from(g) + 19 * u16::from(b) + 128) >> 8;
        }
        binomial(&mut self.across[y % 5], &self.grey);
        if y < 4 {
            return;
        }
        let five = [y - 4, y - 3, y - 2, y - 1, y].map(|row| self.across[row % 5].as_slice());
        downward(&mut self.soft[(y - 2) % 3], five);
        if y < 6 {
            return;
        }
        let three = [y - 4, y - 3, y - 2].map(|row| self.soft[row % 3].as_slice());
        let at = (y - 3) % 3;
        slopes(three, &mut self.dx[at], &mut self.dy[at], &mut self.size[at]);
    }

    /// Hands on the pixels of row `y` whose slope is the steepest across the edge.
    fn thin(&self, y: usize, low: i16, chains: &mut Chains) {
        let [above, own, below] = [y - 1, y, y + 1].map(|row| self.size[row % 3].as_slice());
        let (dx, dy) = (&self.dx[y % 3], &self.dy[y % 3]);
        chains.next_row();
        let width = own.len();
        let mut x = BORDER;
        while x < width - BORDER {
            // Most of a picture is no edge: eight pixels are passed at once.
            if let Some(eight) = own.get(x..x + 8)
                && eight.iter().fold(0, |a, &b| a.max(b)) < low
            {
                x += 8;
                continue;
            }
            if own[x] >= low {
                let upright = dx[x].unsigned_abs() >= dy[x].unsigned_abs();
                let (before, after) = if upright { (own[x - 1], own[x + 1]) } else { (above[x], below[x]) };
                if own[x] > before && own[x] >= after {
                    let off = top(before, own[x], after);
                    let (along, down) = if upright { (off, 0.0) } else { (0.0, off) };
                    chains.add(x, [x as f32 + 0.5 + along, y as f32 + 0.5 + down], own[x]);
                }
            }
            x += 1;
        }
    }
}

/// `to[x]` = 1 4 6 4 1 of `from` about x: sixteen times the grey level.
fn binomial(to: &mut [u16], from: &[u16]) {
    for (to, w) in to[2..].iter_mut().zip(from.windows(5)) {
        *to = w[0] + w[4] + 4 * (w[1] + w[3]) + 6 * w[2];
    }
}

/// The same down five rows: at most 255 × 256 before the shift, sixteen times the grey level after it.
fn downward(to: &mut [i16], [a, b, c, d, e]: [&[u16]; 5]) {
    let ends = a.iter().zip(e);
    let near = b.iter().zip(d);
    for (((to, (a, e)), (b, d)), c) in to.iter_mut().zip(ends).zip(near).zip(c) {
        *to = ((a + e + 4 * (b + d) + 6 * c) >> 4).cast_signed();
    }
}

/// Sobel's two slopes and the sum of their sizes; at most 16 × 4 × 255 each.
fn slopes([a, b, c]: [&[i16]; 3], dx: &mut [i16], dy: &mut [i16], size: &mut [i16]) {
    let three = a.windows(3).zip(b.windows(3)).zip(c.windows(3));
    let to = dx[1..].iter_mut().zip(&mut dy[1..]).zip(&mut size[1..]);
    for (((dx, dy), size), ((a, b), c)) in to.zip(three) {
        *dx = (a[2] - a[0]) + 2 * (b[2] - b[0]) + (c[2] - c[0]);
        *dy = (c[0] - a[0]) + 2 * (c[1] - a[1]) + (c[2] - a[2]);
        *size = dx.abs() + dy.abs();
    }
}

/// Where a parabola through three slopes, one px apart, is highest: −0.5 to 0.5 px from the middle one.
fn top(before: i16, own: i16, after: i16) -> f32 {
    let [a, b, c] = [before, own, after].map(f32::from);
    0.5 * (a - c) / (a - 2.0 * b + c)
}

/// Edges that hang together: each knows an older one of its chain, and the oldest whether any of them is steep.
struct Chains {
    high: i16,
    places: Vec<[f32; 2]>,
    older: Vec<u32>,
    steep: Vec<bool>,
    /// Which edge lies in a column, by one more than its number, in the row above and in this one; a column more at each side.
    above: Vec<u32>,
    own: Vec<u32>,
}

impl Chains {
    fn new(width: usize, high: i16) -> Chains {
        let row = vec![0; width + 2];
        Chains {
            high,
            places: Vec::new(),
            older: Vec::new(),
            steep: Vec::new(),
            above: row.clone(),
            own: row,
        }
    }

    fn next_row(&mut self) {
        std::mem::swap(&mut self.above, &mut self.own);
        self.own.fill(0);
    }

    fn add(&mut self, x: usize, place: [f32; 2], size: i16) {
        let new = self.places.len() as u32;
        self.places.push(place);
        self.older.push(new);
        self.steep.push(size >= self.high);
        self.own[x + 1] = new + 1;
        let beside = [self.above[x], self.above[x + 1], self.above[x + 2], self.own[x]];
        for other in beside.into_iter().filter(|&other| other > 0) {
            let (a, b) = (self.oldest(other - 1), self.oldest(new));
            let (old, young) = (a.min(b) as usize, a.max(b) as usize);
            self.older[young] = old as u32;
            self.steep[old] |= self.steep[young];
        }
    }

    /// The oldest of an edge's chain; the way there is made shorter for the next who asks.
    fn oldest(&mut self, edge: u32) -> u32 {
        let mut at = edge as usize;
        while self.older[at] as usize != at {
            self.older[at] = self.older[self.older[at] as usize];
            at = self.older[at] as usize;
        }
        at as u32
    }

    fn kept(mut self) -> Vec<[f32; 2]> {
        let count = self.places.len() as u32;
        let kept = (0..count).filter(|&edge| {
            let oldest = self.oldest(edge);
            self.steep[oldest as usize]
        });
        kept.collect::<Vec<_>>().into_iter().map(|edge| self.places[edge as usize]).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::drawn::drawn;
    use super::*;

    fn rgba(width: usize, height: usize, noise: f64, tone: impl Fn(f64, f64) -> f64) -> Vec<u8> {
        let luma = drawn(width, height, 1.0, noise, 5, tone);
        luma.values().iter().flat_map(|&v| [v, v, v, 255]).collect()
    }

    /// A disc's border, at every angle: expected are its closed form, and as many edges as its octagonal length has pixels.
    #[test]
    fn a_disc_has_its_border_and_nothing_else() {
        let (middle, radius) = ([60.25, 58.75], 40.0);
        let disc = |x: f64, y: f64| if (x - middle[0]).hypot(y - middle[1]) < radius { 40.0 } else { 220.0 };
        let found = sweep(120, &rgba(120, 120, 2.55, disc), 50, 100);
        let off: Vec<f64> = found
            .iter()
            .map(|&[x, y]| (f64::from(x) - middle[0]).hypot(f64::from(y) - middle[1]) - radius)
            .collect();
        let rms = (off.iter().map(|d| d * d).sum::<f64>() / off.len() as f64).sqrt();
        let worst = off.iter().fold(0.0f64, |a, b| a.max(b.abs()));
        assert!(rms < 0.06 && worst < 0.2, "rms {rms}, worst {worst}");
        let eighths = 8.0 * radius * std::f64::consts::FRAC_1_SQRT_2;
        assert!((found.len() as f64 - eighths).abs() < 0.05 * eighths, "{} of {eighths}", found.len());
    }

    /// A faint edge is kept only where it goes on from a strong one.
    #[test]
    fn what_is_faint_must_hang_on_something() {
        // Sobel's slope of a blurred step of h grey levels is about 1.4 h here.
        let fades =
            |x: f64, y: f64| if x < 40.0 { 128.0 } else { 128.0 - if y < 60.0 { 100.0 } else { 50.0 } };
        let alone = |x: f64, _: f64| if x < 40.0 { 128.0 } else { 78.0 };
        assert_eq!(sweep(80, &rgba(80, 120, 0.0, alone), 50, 200), Vec::<[f32; 2]>::new());
        let upright = |&[x, y]: &[f32; 2]| (x - 40.0).abs() < 0.2 && !(56.0..=64.0).contains(&y);
        let found = sweep(80, &rgba(80, 120, 0.0, fades), 50, 100);
        assert!(found.iter().filter(|one| upright(one)).count() > 95, "{}", found.len());
    }

    #[test]
    fn nothing_is_no_edge_and_never_a_panic() {
        assert!(sweep(64, &[127; 64 * 64 * 4], 1, 2).is_empty());
        for (width, length) in [(0, 0), (1, 4), (8, 8 * 8 * 4), (9, 9 * 9 * 4 - 1), (30_000, 10)] {
            assert!(sweep(width, &vec![200; length], 50, 100).is_empty());
        }
        let check: Vec<u8> =
            (0..64 * 64).flat_map(|i| [if (i + i / 64) % 2 == 0 { 0 } else { 255 }; 4]).collect();
        assert!(sweep(64, &check, 50, 100).is_empty());
    }
}
