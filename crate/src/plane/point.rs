//! Points and vectors. Point + point does not exist, and neither does anything between two spaces.

use serde::{Deserialize, Serialize};
use std::marker::PhantomData;

/// A plane with its unit.
pub trait Space: Copy + Clone + std::fmt::Debug + PartialEq + Default {}

/// Original picture pixels, f64, origin top left, pixel centres at .5, y down.
#[derive(Copy, Clone, Debug, PartialEq, Default)]
pub struct Picture;
/// Millimetres on the thing pictured; x across, y down, as the view is seen.
#[derive(Copy, Clone, Debug, PartialEq, Default)]
pub struct Real;
/// Millimetres on the thing to be built.
#[derive(Copy, Clone, Debug, PartialEq, Default)]
pub struct Finished;
/// Millimetres on a sheet of paper.
#[derive(Copy, Clone, Debug, PartialEq, Default)]
pub struct Paper;
impl Space for Picture {}
impl Space for Real {}
impl Space for Finished {}
impl Space for Paper {}

/// A place in `S`. Written as `[x, y]`.
#[derive(Copy, Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 2]", into = "[f64; 2]")]
pub struct Point<S: Space> {
    /// Across, in the space's unit.
    pub x: f64,
    /// Down, in the space's unit.
    pub y: f64,
    space: PhantomData<S>,
}

/// A step in `S`.
#[derive(Copy, Clone, Debug, PartialEq, Default)]
pub struct Vector<S: Space> {
    /// Across, in the space's unit.
    pub x: f64,
    /// Down, in the space's unit.
    pub y: f64,
    space: PhantomData<S>,
}

impl<S: Space> Point<S> {
    /// The place at `x`, `y`.
    pub const fn new(x: f64, y: f64) -> Self {
        Point { x, y, space: PhantomData }
    }
    /// Both coordinates are numbers that can be reckoned with.
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
    /// The distance to `other`, in the space's unit.
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }
}

impl<S: Space> Vector<S> {
    /// The step `x` across and `y` down.
    pub const fn new(x: f64, y: f64) -> Self {
        Vector { x, y, space: PhantomData }
    }
    /// Its length, in the space's unit.
    pub fn length(self) -> f64 {
        libm::hypot(self.x, self.y)
    }
    /// x·x' + y·y'.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }
    /// x·y' − y·x'.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl<S: Space> std::ops::Sub for Point<S> {
    type Output = Vector<S>;
    fn sub(self, from: Self) -> Vector<S> {
        Vector::new(self.x - from.x, self.y - from.y)
    }
}
impl<S: Space> std::ops::Add<Vector<S>> for Point<S> {
    type Output = Point<S>;
    fn add(self, step: Vector<S>) -> Point<S> {
        Point::new(self.x + step.x, self.y + step.y)
    }
}
impl<S: Space> std::ops::Add for Vector<S> {
    type Output = Vector<S>;
    fn add(self, other: Self) -> Vector<S> {
        Vector::new(self.x + other.x, self.y + other.y)
    }
}
impl<S: Space> std::ops::Mul<f64> for Vector<S> {
    type Output = Vector<S>;
    fn mul(self, k: f64) -> Vector<S> {
        Vector::new(self.x * k, self.y * k)
    }
}
impl<S: Space> From<[f64; 2]> for Point<S> {
    fn from([x, y]: [f64; 2]) -> Self {
        Point::new(x, y)
    }
}
impl<S: Space> From<Point<S>> for [f64; 2] {
    fn from(p: Point<S>) -> [f64; 2] {
        [p.x, p.y]
    }
}
