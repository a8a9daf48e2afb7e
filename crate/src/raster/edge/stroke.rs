//! One short stretch of edge or drawn line, fitted to the pixels themselves.
//!
//! The model is an ideal edge (or a bar with two) under a blur that is fitted too, gently curved; every pixel of a
//! turned box counts. So the place has no bias from a pixel grid, and its spread is that of the best estimate there
//! is (the Cramér–Rao bound) as long as the blur is near to a Gaussian. A pixel's own square adds 1/12 px² to the
//! blur in every direction. Covariance is taken from what is left over ("sandwich"), pixel by pixel, so that noise
//! that differs from side to side is minded; widened where what is left over goes together from pixel to pixel.
//!
//! The values are taken as they are stored: right for drawings and scans, and for what was blurred after encoding.
//!
//! # References
//! Gaussian step as a model of edges: Nalwa & Binford, IEEE PAMI 8 (1986) 699. Sandwich: White, Econometrica 48
//! (1980) 817. Robust weights: Huber, Annals of Mathematical Statistics 35 (1964) 73.

use super::normal::{Cells, MOST, Normal, cholesky_solve, inverse};
use super::patch::{Patch, floor, middle};

/// What a stretch is taken for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shape {
    /// One edge between two tones.
    Step,
    /// A drawn line, from its middle to a side, own px.
    Bar(f64),
}

impl Shape {
    /// Half the width of a drawn line, 0 of an edge.
    pub fn half(self) -> f64 {
        match self {
            Shape::Step => 0.0,
            Shape::Bar(half) => half,
        }
    }
}

/// Where to fit, own px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Box {
    pub middle: [f64; 2],
    /// Unit step along.
    pub along: [f64; 2],
    /// From the middle to either end.
    pub length: f64,
    /// How far across to the left (negative) and to the right of `along` turned by a quarter.
    pub across: [f64; 2],
    pub shape: Shape,
    /// Is how it bends found, rather than given?
    pub curved: bool,
    /// How it bends, where that is given: 1 / radius, positive towards the turned `along`.
    pub bend: f64,
    /// Is its direction given, rather than found?
    pub steady: bool,
    /// Pixels count only where both of these (a place, a step square to the border) are at or over 0.
    pub wedge: [Option<([f64; 2], [f64; 2])>; 2],
}

/// A fitted stretch, own px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stroke {
    /// The place on it nearest to the box's middle.
    pub at: [f64; 2],
    pub along: [f64; 2],
    pub shape: Shape,
    /// 1 / radius; positive when it bends towards the turned `along`.
    pub curve: f64,
    /// Covariance of offset, slope and curve.
    pub cov: [[f64; 3]; 3],
    /// Standard deviation of the blur, the pixel's own included.
    pub blur: f64,
    /// Grey levels from one side to the other, or from paper to ink.
    pub contrast: f64,
    /// The tone half-way (of an edge), or of the paper (of a line).
    pub tone: f64,
    /// How much of either side the fit saw, the lesser.
    pub room: f64,
    /// Share of the variance that is explained.
    pub explained: f64,
    /// How much what is left over goes together from one pixel to the next, −1 to 1.
    pub together: f64,
    /// What is explained over what is left over, as a number of standard deviations.
    pub strength: f64,
    /// The lesser of the contrasts of both halves, over the whole's.
    pub evenness: f64,
}

/// One pixel in the box.
#[derive(Clone, Copy, Debug)]
struct Dot {
    t: f64,
    u: f64,
    value: f64,
    /// Column and row.
    place: [i64; 2],
    weight: f64,
    /// What is left over of its value, and the model's slopes there: as of the last [`measure`].
    left: f64,
    slopes: Cells,
}

/// Parameters: offset, slope, curve, log blur, mean tone, contrast; a bar also log half-width and lean.
const D: usize = 0;
const SLOPE: usize = 1;
const CURVE: usize = 2;
const BLUR: usize = 3;
const TONE: usize = 4;
const CONTRAST: usize = 5;
const HALF: usize = 6;
const LEAN: usize = 7;

impl Stroke {
    /// The unit step across: `along` turned by a quarter.
    pub fn across(&self) -> [f64; 2] {
        turned(self.along)
    }

    /// Grey levels at the middle of a drawn line, from the paper: its contrast as far as its blur lets it show.
    pub fn depth(&self) -> f64 {
        self.contrast.abs() * (2.0 * bell(self.half() / self.blur).1 - 1.0)
    }

    /// Standard deviation of its place across.
    pub fn sigma(&self) -> f64 {
        self.cov[0][0].max(0.0).sqrt()
    }

    /// Half the width of a drawn line, 0 of an edge.
    pub fn half(&self) -> f64 {
        self.shape.half()
    }

    /// Where it is `t` along from its middle, by slope alone or with its curve.
    pub fn offset_variance(&self, t: f64) -> f64 {
        let by = [1.0, t, 0.5 * t * t];
        let mut sum = 0.0;
        for (a, row) in by.iter().zip(&self.cov) {
            for (b, c) in by.iter().zip(row) {
                sum += a * b * c;
            }
        }
        sum
    }
}

/// A step turned by a quarter.
pub(super) fn turned(a: [f64; 2]) -> [f64; 2] {
    [-a[1], a[0]]
}

/// The standard normal's density and integral at `x`.
///
/// # References
/// Abramowitz & Stegun 7.1.26, error at most 1.5e-7.
fn bell(x: f64) -> (f64, f64) {
    let z = x.abs() * std::f64::consts::FRAC_1_SQRT_2;
    let e = fading(z * z);
    let t = 1.0 / (1.0 + 0.327_591_1 * z);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let tail = 0.5 * poly * e;
    (e * 0.398_942_280_401_432_7, if x < 0.0 { tail } else { 1.0 - tail })
}

/// e to the power of −`x`, for `x` of 0 and more; its error is at most 1e-8 of itself, under that of the polynomial
/// that it serves. Half of all the time of a touch is spent here: libm's own takes five times as long, for digits that
/// are lost in the next step.
fn fading(x: f64) -> f64 {
    // 2^−n · e^−r, with r within half of ln 2 of 0. Beyond e^−600 nothing counts.
    let x = if x < 600.0 { x } else { 600.0 };
    let n = (x * std::f64::consts::LOG2_E + 0.5) as u32;
    let r = f64::from(n) * std::f64::consts::LN_2 - x;
    let series = 1.0
        + r * (1.0
            + r * (1.0 / 2.0
                + r * (1.0 / 6.0
                    + r * (1.0 / 24.0 + r * (1.0 / 120.0 + r * (1.0 / 720.0 + r * (1.0 / 5040.0)))))));
    series * f64::from_bits(u64::from(1023 - n) << 52)
}

/// Fits a stretch; nothing when there are too few pixels or no answer.
pub(super) fn fit(patch: &Patch, start: &Box) -> Option<Stroke> {
    let mut frame = *start;
    let mut p = [0.0; MOST];
    let mut dots = Vec::new();
    for round in 0..4 {
        collect(patch, &frame, &mut dots);
        let n = size(&frame);
        if dots.len() < 3 * n {
            return None;
        }
        if round == 0 {
            begin(&frame, &dots, &mut p);
            p[CURVE] = frame.bend;
        }
        improve(&frame, &mut dots, &mut p, n, if round == 0 { 30.0 } else { 1.0 })?;
        let [dx, dy] = turned(frame.along);
        let off = p[D];
        if !(off.abs() < 4.0 && p[SLOPE].abs() < 1.2) {
            return None;
        }
        if round > 0 && off.abs() < 0.02 && p[SLOPE].abs() < 0.01 {
            break;
        }
        frame.middle = [frame.middle[0] + dx * off, frame.middle[1] + dy * off];
        let [ax, ay] = [frame.along[0] + dx * p[SLOPE], frame.along[1] + dy * p[SLOPE]];
        let length = libm::hypot(ax, ay);
        frame.along = [ax / length, ay / length];
        (p[D], p[SLOPE]) = (0.0, 0.0);
    }
    finish(&frame, &mut dots, &p)
}

fn size(frame: &Box) -> usize {
    if frame.shape == Shape::Step { 6 } else { MOST }
}

/// Takes the pixels whose centres lie in the box.
fn collect(patch: &Patch, frame: &Box, dots: &mut Vec<Dot>) {
    dots.clear();
    let ([cx, cy], [ax, ay]) = (frame.middle, frame.along);
    let [nx, ny] = turned(frame.along);
    let [low, high] = frame.across;
    let reach = frame.length + low.abs().max(high.abs());
    let span = |c: f64, side: usize| {
        (floor(c - reach).clamp(0, side as i64), (floor(c + reach) + 1).clamp(0, side as i64))
    };
    let ((x0, x1), (y0, y1)) = (span(cx, patch.width), span(cy, patch.height));
    for y in y0..y1 {
        for x in x0..x1 {
            let (dx, dy) = (x as f64 + 0.5 - cx, y as f64 + 0.5 - cy);
            let (t, u) = (ax * dx + ay * dy, nx * dx + ny * dy);
            if t.abs() > frame.length || u < low || u > high || !allowed(frame, [cx + dx, cy + dy]) {
                continue;
            }
            let value = f64::from(patch.at(x, y));
            dots.push(Dot { t, u, value, place: [x, y], weight: 1.0, left: 0.0, slopes: [0.0; MOST] });
        }
    }
}

fn allowed(frame: &Box, p: [f64; 2]) -> bool {
    frame.wedge.iter().flatten().all(|(at, by)| (p[0] - at[0]) * by[0] + (p[1] - at[1]) * by[1] >= 0.0)
}

/// First guesses: tones by the sides of the box.
fn begin(frame: &Box, dots: &[Dot], p: &mut Cells) {
    let mean = |keep: &dyn Fn(f64) -> bool| {
        let (sum, n) = dots.iter().filter(|d| keep(d.u)).fold((0.0, 0.0), |(s, n), d| (s + d.value, n + 1.0));
        if n > 0.0 { sum / n } else { 0.0 }
    };
    *p = [0.0; MOST];
    p[BLUR] = libm::log(1.0);
    match frame.shape {
        Shape::Step => {
            let (left, right) = (mean(&|u| u < -0.5), mean(&|u| u > 0.5));
            (p[TONE], p[CONTRAST]) = (0.5 * (left + right), right - left);
        }
        Shape::Bar(half) => {
            let (left, right) = (mean(&|u| u < -half - 1.0), mean(&|u| u > half + 1.0));
            p[TONE] = 0.5 * (left + right);
            p[CONTRAST] = (mean(&|u| u.abs() < half.max(0.7)) - p[TONE]) * (1.0 + 0.4 / half);
            (p[HALF], p[LEAN]) = (libm::log(half), right - left);
        }
    }
}

/// The model at every pixel: what is left over, and its slopes by the parameters.
#[inline(never)]
fn measure(frame: &Box, dots: &mut [Dot], p: &Cells) {
    let (s, h) = (libm::exp(p[BLUR]), libm::exp(p[HALF]));
    for dot in dots {
        let (t, slopes) = (dot.t, &mut dot.slopes);
        let u = dot.u - p[D] - p[SLOPE] * t - 0.5 * p[CURVE] * t * t;
        let (value, steep);
        match frame.shape {
            Shape::Step => {
                let (f, integral) = bell(u / s);
                steep = p[CONTRAST] * f / s;
                value = p[TONE] + p[CONTRAST] * (integral - 0.5);
                slopes[BLUR] = -steep * u;
                slopes[CONTRAST] = integral - 0.5;
            }
            Shape::Bar(_) => {
                let ((f1, i1), (f2, i2)) = (bell((u + h) / s), bell((u - h) / s));
                let (f1, f2) = (f1 / s, f2 / s);
                let (near, far) = (p[CONTRAST] + 0.5 * p[LEAN], 0.5 * p[LEAN] - p[CONTRAST]);
                steep = near * f1 + far * f2;
                value = p[TONE] + p[CONTRAST] * (i1 - i2) + p[LEAN] * (0.5 * (i1 + i2) - 0.5);
                slopes[BLUR] = -(near * f1 * (u + h) + far * f2 * (u - h));
                slopes[HALF] = h * (near * f1 - far * f2);
                slopes[CONTRAST] = i1 - i2;
                slopes[LEAN] = 0.5 * (i1 + i2) - 0.5;
            }
        }
        slopes[D] = -steep;
        slopes[SLOPE] = -steep * t;
        slopes[CURVE] = if frame.curved { -0.5 * steep * t * t } else { 0.0 };
        slopes[TONE] = 1.0;
        dot.left = dot.value - value;
    }
}

/// The normal equations of what was measured at `p`, with weights against stragglers, and the sum they make least.
#[inline(never)]
fn normal(frame: &Box, dots: &mut [Dot], p: &Cells, n: usize, scale: f64) -> (Normal, f64) {
    let mut eq = Normal::new(n);
    let mut cost = 0.0;
    for dot in dots {
        let size = dot.left.abs();
        let limit = 2.5 * scale;
        dot.weight = if size > limit { limit / size } else { 1.0 };
        cost += if size > limit { limit * (2.0 * size - limit) } else { size * size };
        eq.add(&dot.slopes, dot.left, dot.weight);
    }
    // Blur and half-width of a thin line can hardly be told apart: each is held, softly, to what is usual. They are
    // even about the line, its place is odd, so this moves nothing.
    let soft = scale * scale;
    eq.hold(BLUR, (0.0 - p[BLUR]) / 0.36, soft / 0.36, soft);
    cost += soft * p[BLUR] * p[BLUR] / 0.36;
    if let (Shape::Bar(half), true) = (frame.shape, n > HALF) {
        let off = libm::log(half) - p[HALF];
        eq.hold(HALF, off / 0.36, soft / 0.36, soft);
        cost += soft * off * off / 0.36;
    }
    if !frame.curved {
        eq.hold(CURVE, 0.0, 1e12, 1.0);
    }
    if frame.steady {
        eq.hold(SLOPE, 0.0, 1e12, 1.0);
    }
    (eq, cost)
}

/// Levenberg–Marquardt from `p`; `loose`: how many times the usual steps may be to be the last one.
fn improve(frame: &Box, dots: &mut [Dot], p: &mut Cells, n: usize, loose: f64) -> Option<()> {
    let mut damping = 1e-3;
    measure(frame, dots, p);
    let mut scale = spread(dots);
    let (mut eq, mut cost) = normal(frame, dots, p, n, scale);
    for turn in 0..14 {
        let step = cholesky_solve(&eq, damping)?;
        let mut trial = *p;
        for (to, by) in trial.iter_mut().zip(&step) {
            *to += by;
        }
        trial[BLUR] = trial[BLUR].clamp(-1.2, 1.7);
        trial[HALF] = trial[HALF].clamp(-1.6, 2.5);
        measure(frame, dots, &trial);
        let (next, sum) = normal(frame, dots, &trial, n, scale);
        let small = step[D].abs() < 1e-4 * loose && step[BLUR].abs() < 2e-3 * loose;
        if sum <= cost {
            damping = (damping * 0.1).max(1e-9);
            *p = trial;
            (eq, cost) = (next, sum);
            if turn % 4 == 3 {
                scale = spread(dots);
                (eq, cost) = normal(frame, dots, p, n, scale);
            }
        } else {
            damping *= 10.0;
        }
        if small || damping > 1e6 {
            break;
        }
    }
    p.iter().all(|v| v.is_finite()).then_some(())
}

/// A robust standard deviation of what is left over, grey levels; never under what whole grey levels make of it.
fn spread(dots: &[Dot]) -> f64 {
    let sizes: Vec<f32> = dots.iter().map(|d| d.left.abs() as f32).collect();
    (f64::from(middle(&sizes)) / 0.6745).max(0.29)
}

/// Everything that is told of the fit.
fn finish(frame: &Box, dots: &mut [Dot], p: &Cells) -> Option<Stroke> {
    let n = size(frame);
    measure(frame, dots, p);
    let scale = spread(dots);
    let (eq, _) = normal(frame, dots, p, n, scale);
    let inverse = inverse(&eq)?;
    let together = together(dots);
    // Under 0.1 the correlation can't be told from chance in a box of some 150 pixels.
    let rho = (together - 0.1).clamp(0.0, 0.8);
    let widen = libm::pow((1.0 + rho) / (1.0 - rho), 2.0);
    let mut cov = [[0.0; 3]; 3];
    let freed = dots.len() as f64 / (dots.len() as f64 - n as f64);
    for dot in dots.iter() {
        let by = |k: usize| inverse[k].iter().zip(&dot.slopes).map(|(a, b)| a * b).sum::<f64>() * dot.weight;
        // What the pixel moves offset, slope and curve by.
        let moves = [by(D), by(SLOPE), by(CURVE)];
        let variance = (dot.left * dot.left * freed).max(0.02) * widen;
        for (row, a) in cov.iter_mut().zip(moves) {
            for (cell, b) in row.iter_mut().zip(moves) {
                *cell += a * b * variance;
            }
        }
    }
    let explained = explained(dots);
    let strength = (dots.len() as f64 * explained.max(0.0) / (1.0 - explained).max(1e-6) / widen).sqrt();
    let blur = libm::exp(p[BLUR]);
    // A blurred bend shows nearer to its centre by σ²/2R; what isn't known of the bend isn't known of the place.
    let shrink = 0.5 * blur * blur;
    let off = p[D] - shrink * p[CURVE];
    let [_, slope, bend] = cov;
    cov[0] = [0, 1, 2].map(|k| cov[0][k] - shrink * bend[k]);
    cov[0][0] -= shrink * cov[0][2];
    (cov[1], cov[2]) = ([cov[0][1], slope[1], slope[2]], [cov[0][2], bend[1], bend[2]]);
    let across = turned(frame.along);
    let length = libm::hypot(1.0, p[SLOPE]);
    let along =
        [(frame.along[0] + across[0] * p[SLOPE]) / length, (frame.along[1] + across[1] * p[SLOPE]) / length];
    let shape = if n > HALF { Shape::Bar(libm::exp(p[HALF])) } else { Shape::Step };
    let stroke = Stroke {
        at: [frame.middle[0] + across[0] * off, frame.middle[1] + across[1] * off],
        along,
        shape,
        curve: p[CURVE],
        cov,
        blur,
        contrast: p[CONTRAST],
        tone: p[TONE],
        room: (-frame.across[0]).min(frame.across[1]) - shape.half(),
        explained,
        together,
        strength,
        evenness: evenness(dots, p),
    };
    (stroke.sigma().is_finite() && stroke.explained.is_finite()).then_some(stroke)
}

/// The share of the pixels' variance that the fit explains.
fn explained(dots: &[Dot]) -> f64 {
    let n = dots.len() as f64;
    let mean = dots.iter().map(|d| d.value).sum::<f64>() / n;
    let whole: f64 = dots.iter().map(|d| (d.value - mean) * (d.value - mean)).sum();
    let left: f64 = dots.iter().map(|d| d.left * d.left).sum();
    1.0 - left / whole.max(1e-9)
}

/// Correlation of what is left over between pixels side by side and one above the other.
fn together(dots: &[Dot]) -> f64 {
    let (mut sum, mut n) = (0.0, 0.0);
    let square = dots.iter().map(|d| d.left * d.left).sum::<f64>() / dots.len() as f64;
    let mut row_above = 0;
    for (i, dot) in dots.iter().enumerate() {
        let [x, y] = dot.place;
        if let Some(next) = dots.get(i + 1).filter(|d| d.place == [x + 1, y]) {
            (sum, n) = (sum + dot.left * next.left, n + 1.0);
        }
        // Rows are in order, so the pixel above is found by walking on from the last one.
        while dots
            .get(row_above)
            .is_some_and(|d| d.place[1] < y - 1 || (d.place[1] == y - 1 && d.place[0] < x))
        {
            row_above += 1;
        }
        if let Some(above) = dots.get(row_above).filter(|d| d.place == [x, y - 1]) {
            (sum, n) = (sum + dot.left * above.left, n + 1.0);
        }
    }
    if n > 0.0 && square > 0.0 { sum / n / square } else { 0.0 }
}

/// The contrast of either half by itself, the lesser over the whole's: near 1 where the stretch goes on to both ends.
fn evenness(dots: &[Dot], p: &Cells) -> f64 {
    let mut sums = [[0.0; 2]; 2];
    for dot in dots {
        let shape = dot.slopes[CONTRAST];
        if let Some(sum) = sums.get_mut(usize::from(dot.t > 0.0)) {
            sum[0] += shape * dot.left;
            sum[1] += shape * shape;
        }
    }
    let of = |s: [f64; 2]| if s[1] > 0.0 { 1.0 + s[0] / s[1] / p[CONTRAST] } else { 0.0 };
    of(sums[0]).min(of(sums[1]))
}
