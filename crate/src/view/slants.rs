//! Trials of planes seen by a camera: does the stated ± cover the truth, and are proportions as good as they are said to be?

use super::scenes::{Chance, Ends, Errors, MARKS, still};
use super::*;
use crate::estimate::{Estimate, Source};
use crate::plane::{Homography, Picture, Point, Real};
use crate::words::Say;

const SIZE: [f64; 2] = [4000.0, 3000.0];
const DIAGONAL: f64 = 5000.0;
/// 600 × 400 mm about the middle.
const FRAME: [[f64; 2]; 4] = [[-300.0, -200.0], [300.0, -200.0], [300.0, 200.0], [-300.0, 200.0]];

/// A plane in front of a camera, and what is known of it.
#[derive(Clone)]
struct Seen {
    /// Turned about the upright, then about the level, then about the line of sight, in degrees.
    turned: [f64; 3],
    /// Where the middle lies, in mm.
    far: [f64; 3],
    focal: f64,
    sigma: f64,
    told: bool,
    cropped: bool,
    frame: bool,
    /// The sides that are given.
    sides: [bool; 2],
    lengths: Vec<Ends>,
    forms: Vec<Shape>,
}

#[derive(Clone)]
enum Shape {
    Parallel([[f64; 2]; 4]),
    Square([[f64; 2]; 4]),
    Round([f64; 3]),
}

impl Seen {
    fn new(turned: [f64; 3]) -> Seen {
        Seen {
            turned,
            far: [20.0, -15.0, 900.0],
            focal: 3600.0,
            sigma: 0.5,
            told: false,
            cropped: false,
            frame: true,
            sides: [false; 2],
            lengths: Vec::new(),
            forms: Vec::new(),
        }
    }

    fn with(mut self, ends: Ends) -> Seen {
        self.lengths.push(ends);
        self
    }

    /// From the plane to the picture: a pinhole camera, written out apart from the code under test.
    fn map(&self, centre: [f64; 2], focal: f64) -> Homography<Real, Picture> {
        let [a, b, c] = self.turned.map(f64::to_radians);
        let (ca, sa, cb, sb, cc, sc) =
            (libm::cos(a), libm::sin(a), libm::cos(b), libm::sin(b), libm::cos(c), libm::sin(c));
        // Rz(c)·Rx(b)·Ry(a): its first two columns.
        let x = [ca, sa * sb, -sa * cb];
        let y = [0.0, cb, sb];
        let about = |v: [f64; 3]| [cc * v[0] - sc * v[1], sc * v[0] + cc * v[1], v[2]];
        let columns = [about(x), about(y), self.far];
        let row = |i: usize| columns.map(|v| focal * v[i] + centre[i] * v[2]);
        Homography::from_rows([row(0), row(1), columns.map(|v| v[2])])
    }

    fn fit(&self, errors: &mut Errors) -> (Result<Fit, Say>, Homography<Real, Picture>) {
        let share = if self.cropped { 0.05 } else { 0.01 };
        let centre = [0, 1].map(|i| SIZE[i] / 2.0 + share * SIZE[0] * errors.of(Source::Centre(1, i as u8)));
        // The truth lies about what the file tells.
        let file = self.focal * 43.266_615_305_567_87 / DIAGONAL;
        let focal = self.focal * if self.told { 1.0 + 0.03 * errors.of(Source::Focal(1)) } else { 1.0 };
        let seen = self.map(centre, focal);
        let mut at = |p: [f64; 2], source: [Source; 2]| {
            let q = seen.apply(Point::from(p)).unwrap();
            let off = source.map(|s| self.sigma * errors.of(s));
            Click {
                at: Point::new(q.x + off[0], q.y + off[1]),
                sigma: self.sigma,
                cov: None,
                source,
                freedom: f64::INFINITY,
                bent: None,
            }
        };
        let mut k = 0;
        let corners = FRAME.map(|p| {
            k += 1;
            at(p, [Source::Corner(1, k, 0), Source::Corner(1, k, 1)])
        });
        let mut knowns = Vec::new();
        for (i, ends) in self.lengths.iter().enumerate() {
            let mark = i as u32 + 1;
            knowns.push(Known {
                mark,
                span: span(mark, ends, &mut at),
                mm: ends.truth(),
                u: 0.25,
                pulls: true,
            });
        }
        let mut forms = Vec::new();
        for (i, shape) in self.forms.iter().enumerate() {
            let mark = i as u32 + 50;
            let mut j = 0;
            let mut click = |p: [f64; 2]| {
                j += 1;
                at(p, [Source::Click(mark, j, 0), Source::Click(mark, j, 1)])
            };
            let form = match shape {
                Shape::Parallel(p) => Form::Parallel(p.map(&mut click)),
                Shape::Square(p) => Form::Square(p.map(&mut click)),
                Shape::Round([x, y, r]) => Form::Round(
                    (0..8)
                        .map(|i| f64::from(i) * 0.8)
                        .map(|t| click([x + r * libm::cos(t), y + r * libm::sin(t)]))
                        .collect(),
                ),
            };
            forms.push(Formed { mark, form });
        }
        for known in &mut knowns {
            known.mm += known.u * errors.of(Source::Known(known.mark));
        }
        let mut side = |i: usize, mm: f64| {
            self.sides[i].then(|| Side { mm: mm + 0.3 * errors.of(Source::Side(1, i as u8)), u: 0.3 })
        };
        let rectangle =
            Rectangle { corners, sides: [side(0, 600.0), side(1, 400.0)], of: RectangleOf::Thing };
        let camera =
            Camera { picture: 1, size: SIZE, focal_35mm: self.told.then_some(file), cropped: self.cropped };
        let fit = fit(&Knowns {
            view: 1,
            tilt: 0.0,
            knowns: &knowns,
            rectangle: self.frame.then_some(&rectangle),
            resolution: None,
            drawing_scale: None,
            two_scales: false,
            camera: Some(&camera),
            forms: &forms,
            slanted: true,
        });
        (fit, seen)
    }

    /// Each mark as measured, its clicks with errors of their own.
    fn marks(&self, errors: &mut Errors) -> Result<Vec<Estimate>, Say> {
        let (fit, seen) = self.fit(errors);
        let map = fit?.map;
        let mut all = Vec::new();
        for (i, ends) in MARKS.iter().enumerate() {
            let mut at = |p: [f64; 2], source: [Source; 2]| {
                let q = seen.apply(Point::from(p)).unwrap();
                let off = source.map(|s| 0.1 * errors.of(s));
                let at = Point::new(q.x + off[0], q.y + off[1]);
                Click { at, sigma: 0.1, cov: None, source, freedom: f64::INFINITY, bent: None }
            };
            all.push(map.measure(&span(90 + i as u32, ends, &mut at))?);
        }
        Ok(all)
    }
}

fn span(mark: u32, ends: &Ends, at: &mut dyn FnMut([f64; 2], [Source; 2]) -> Click) -> Span {
    let mut i = 0;
    ends.span(|p| {
        i += 1;
        at(p, [Source::Click(mark, i, 0), Source::Click(mark, i, 1)])
    })
}

const ALONG: Ends = Ends::Between([[-250.0, 150.0], [260.0, 120.0]]);
const UP: Ends = Ends::Between([[-180.0, -150.0], [-190.0, 160.0]]);

fn scenes() -> Vec<(&'static str, Seen)> {
    let both = || Seen::new([28.0, 22.0, 4.0]);
    vec![
        ("turned both ways, no focal length", Seen { sigma: 0.3, ..both() }.with(ALONG)),
        ("turned both ways, width given", Seen { sigma: 0.3, sides: [true, false], ..both() }),
        ("turned both ways, the file's focal length", Seen { told: true, ..both() }.with(ALONG)),
        (
            "turned one way, the file's focal length",
            Seen { told: true, ..Seen::new([25.0, 0.0, 0.0]) }.with(ALONG),
        ),
        (
            "hardly turned, the file's focal length",
            Seen { told: true, ..Seen::new([3.0, 2.0, 1.0]) }.with(ALONG),
        ),
        ("square-on, two lengths", Seen::new([0.0; 3]).with(ALONG).with(UP)),
        ("turned one way, two lengths", Seen::new([20.0, 1.0, 0.0]).with(ALONG).with(UP)),
        ("cropped", Seen { sigma: 0.2, cropped: true, ..Seen::new([38.0, 32.0, 5.0]) }.with(ALONG)),
        (
            "two pairs of parallel edges, the file's focal length",
            Seen {
                told: true,
                frame: false,
                forms: vec![
                    Shape::Parallel([[-300.0, -200.0], [300.0, -180.0], [-300.0, 180.0], [300.0, 200.0]]),
                    Shape::Parallel([[-280.0, -200.0], [-200.0, 210.0], [220.0, -200.0], [300.0, 210.0]]),
                ],
                ..both()
            }
            .with(ALONG),
        ),
        (
            "parallel edges and a right angle",
            Seen {
                sigma: 0.3,
                frame: false,
                forms: vec![
                    Shape::Parallel([[-300.0, -200.0], [300.0, -200.0], [-300.0, 200.0], [300.0, 200.0]]),
                    Shape::Parallel([[-280.0, -200.0], [-280.0, 210.0], [280.0, -200.0], [280.0, 210.0]]),
                    Shape::Square([[-280.0, -200.0], [-280.0, 210.0], [-300.0, 200.0], [300.0, 200.0]]),
                ],
                ..both()
            }
            .with(ALONG),
        ),
        (
            "something round, the file's focal length, parallel edges",
            Seen {
                told: true,
                frame: false,
                forms: vec![
                    Shape::Round([30.0, 20.0, 170.0]),
                    Shape::Parallel([[-300.0, -200.0], [300.0, -200.0], [-300.0, 200.0], [300.0, 200.0]]),
                ],
                ..both()
            }
            .with(ALONG),
        ),
        (
            "six lengths between four places, the file's focal length",
            Seen { told: true, frame: false, ..both() }
                .with(Ends::Between([FRAME[0], FRAME[1]]))
                .with(Ends::Between([FRAME[1], FRAME[2]]))
                .with(Ends::Between([FRAME[2], FRAME[3]]))
                .with(Ends::Between([FRAME[3], FRAME[0]]))
                .with(Ends::Between([FRAME[0], FRAME[2]]))
                .with(Ends::Between([FRAME[1], FRAME[3]])),
        ),
    ]
}

/// Without error every mark comes out true.
#[test]
fn without_error_all_is_true() {
    for (name, scene) in scenes() {
        let got = scene.marks(&mut Errors(&mut still)).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        for (ends, e) in MARKS.iter().zip(&got) {
            assert!((e.value / ends.truth() - 1.0).abs() < 1e-7, "{name}: {} {}", e.value, ends.truth());
        }
    }
}

/// JCGM 101:2008 8: in each scene the truth lies within the ± 93–97 times in 100.
#[test]
fn the_stated_interval_covers_the_truth() {
    let mut bad = Vec::new();
    for (i, (name, scene)) in scenes().iter().enumerate() {
        let mut chance = Chance::new(i as u64 + 40);
        let mut sums = [(0, 0.0, 0.0); MARKS.len()];
        let mut times = 0;
        for _ in 0..TRIALS {
            let mut draw = |_| chance.normal();
            let mut known: Vec<(Source, f64)> = Vec::new();
            // What the picture and its marks share is drawn once a trial.
            let mut once = |s: Source| match known.iter().find(|k| k.0 == s) {
                Some(k) => k.1,
                None => {
                    let v = draw(s);
                    known.push((s, v));
                    v
                }
            };
            let Ok(got) = scene.marks(&mut Errors(&mut once)) else { continue };
            times += 1;
            for ((ends, e), sum) in MARKS.iter().zip(&got).zip(&mut sums) {
                let error = e.value - ends.truth();
                sum.0 += u32::from(error.abs() <= e.half_width());
                sum.1 += e.u();
                sum.2 += error * error;
            }
        }
        for (j, (covered, stated, square)) in sums.into_iter().enumerate() {
            let n = f64::from(times);
            let (covered, width) = (f64::from(covered) / n, stated / n / libm::sqrt(square / n));
            let share = stated / n / MARKS[j].truth();
            println!("{name}, mark {j}: {covered:.4} {width:.3} u {share:.5} of {times}");
            if !(0.93..=0.97).contains(&covered) || times < TRIALS * 99 / 100 {
                bad.push(format!("{name}, mark {j}: {covered} {width} {times}"));
            }
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

const TRIALS: u32 = 2_000;
