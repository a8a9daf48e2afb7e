//! What is known of the camera that took a picture, before anything on it is.

use crate::estimate::{Part, Row, Source};

/// A picture as a camera took it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// The picture.
    pub picture: u32,
    /// Its width and height, in px.
    pub size: [f64; 2],
    /// The focal length that would see as much on 35 mm film, in mm, where the picture's file tells.
    pub focal_35mm: Option<f64>,
    /// Only a part of what the camera took.
    pub cropped: bool,
}

/// A picture's longer side over this is the standard uncertainty of where the lens looked (1 %: the project's notes on
/// methods).
const CENTRE: f64 = 0.01;
/// The same where the picture was cropped: a crop that takes a fifth off one side only is at the end of its ±
/// (common practice, no source).
const CENTRE_CROPPED: f64 = 0.05;
/// Relative standard uncertainty of a file's focal length: it is rounded to a millimetre, reckoned by the diagonal or by the
/// long side (4 % apart on 4:3), and lengthens as the lens is set nearer (common practice, no source).
const FOCAL_U: f64 = 0.03;
/// Focal lengths that a lens can have, in mm on 35 mm film.
const FOCALS: std::ops::RangeInclusive<f64> = 5.0..=2000.0;
/// The diagonal of 35 mm film, 36 × 24 mm.
const FILM: f64 = 43.266_615_305_567_87;

impl Camera {
    /// Half the picture, in px.
    pub(crate) fn middle(&self) -> [f64; 2] {
        self.size.map(|s| s / 2.0)
    }

    fn diagonal(&self) -> f64 {
        libm::hypot(self.size[0], self.size[1])
    }

    /// The file tells a focal length that no lens has.
    pub(crate) fn lies(&self) -> bool {
        self.focal_35mm.is_some_and(|f| !FOCALS.contains(&f))
    }

    /// The focal length in px that the file tells; nothing for one that can't be, or of a picture that was cropped, whose
    /// width is no longer what the file's figure was reckoned by.
    pub(crate) fn focal(&self) -> Option<f64> {
        let sound = self.focal_35mm.filter(|_| !self.lies() && !self.cropped)?;
        Some(sound / FILM * self.diagonal())
    }

    /// A focal length to begin with, in px: as most cameras see, a little wider than their diagonal is long.
    pub(crate) fn usual(&self) -> f64 {
        self.focal().unwrap_or(self.diagonal())
    }

    /// Where the lens looked, and how far it sees where that is told (`focal`, px, with its relative standard
    /// uncertainty), against unknowns f² at 2 and the centre at 3 and 4.
    pub(crate) fn rows(&self, theta: &[f64], focal: Option<(f64, f64)>) -> Vec<Row> {
        let share = if self.cropped { CENTRE_CROPPED } else { CENTRE };
        let u = share * self.size[0].max(self.size[1]);
        let middle = self.middle();
        let row = |at: usize, slope: f64, residual: f64, source: Source, effect: f64| {
            let mut slopes = vec![0.0; 5];
            slopes[at] = slope;
            Row { residual, slope: slopes, parts: vec![Part { source, effect, freedom: f64::INFINITY }] }
        };
        let centre = |axis: usize| {
            let source = Source::Centre(self.picture, axis as u8);
            row(3 + axis, 1.0, theta[3 + axis] - middle[axis], source, -u)
        };
        let mut rows = vec![centre(0), centre(1)];
        if let Some((f, share)) = focal {
            let now = libm::sqrt(theta[2].max(1e-12));
            rows.push(row(2, 0.5 / now, now - f, Source::Focal(self.picture), -share * f));
        }
        rows
    }

    /// What the file tells, as [`Camera::rows`] takes it.
    pub(crate) fn told(&self) -> Option<(f64, f64)> {
        self.focal().map(|f| (f, FOCAL_U))
    }
}
