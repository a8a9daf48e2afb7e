//! Faults planted on purpose, one in each area that the outside checks cover, so that those checks can be seen to bite.
//!
//! Without the feature `fault` there are none and no way to plant one: [`spoil`] is then 1 and costs nothing. Above all
//! rooms; knows nothing of them.

/// An area of the outside checks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Area {
    /// Lengths are read a millionth too long.
    Fraction,
    /// One scale comes out a thousandth too large.
    Scale,
    /// The half-width of a ratio is half as wide again.
    Ratio,
    /// Every half-width is half of what it should be.
    Uncertainty,
    /// A quarter of a step is rounded up.
    Rounding,
    /// A known rectangle is taken for half a per cent wider.
    View,
    /// Pixels per metre are read a hundredth too high.
    File,
    /// What is caught lies a fifth of a pixel off.
    Edge,
    /// A border lies half a pixel off.
    Outline,
    /// Sheets come out a thousandth too large, where empty ones are left out what lies near a sheet's edge isn't seen, and a picture's own
    /// file is taken a step of its coding too light.
    Sheet,
    /// Divisions and marks stand a thousandth too far along.
    Stick,
    /// The bend of a lens comes out a sixth too large.
    Lens,
    /// A focal length comes out a fiftieth too long.
    Camera,
    /// The square of the focal length comes out two per cent too large.
    Aspect,
    /// Board feet come out a hundredth too many.
    Part,
    /// The width of a box's end and of its top comes out a hundredth too long.
    Box,
    /// A plane that stands back is taken to stand back half as far again.
    Depth,
    /// A centre of area lies a hundredth too far, and a piece weighs a hundredth too much.
    Balance,
    /// A saw is thought half as thick as it is.
    Layout,
}

/// What a right result is multiplied by: 1, or `by` where a fault is planted in `area`.
#[cfg(not(feature = "fault"))]
pub(crate) const fn spoil(_area: Area, _by: f64) -> f64 {
    1.0
}

#[cfg(feature = "fault")]
pub use planted::plant;
#[cfg(feature = "fault")]
pub(crate) use planted::spoil;

#[cfg(feature = "fault")]
mod planted {
    use super::Area;
    use std::sync::OnceLock;

    /// Chosen once for the whole run: the only global in the core, and only in this build.
    static PLANTED: OnceLock<String> = OnceLock::new();

    /// Plants the fault of the area named `area`, for the rest of the run; a name that isn't an area's plants none.
    pub fn plant(area: &str) {
        // A second choice is ignored: one run, one fault.
        let _ = PLANTED.set(area.to_owned());
    }

    pub(crate) fn spoil(area: Area, by: f64) -> f64 {
        let name = match area {
            Area::Fraction => "fraction",
            Area::Scale => "scale",
            Area::Ratio => "ratio",
            Area::Uncertainty => "uncertainty",
            Area::Rounding => "rounding",
            Area::View => "view",
            Area::File => "file",
            Area::Edge => "edge",
            Area::Outline => "outline",
            Area::Sheet => "sheet",
            Area::Stick => "stick",
            Area::Lens => "lens",
            Area::Camera => "camera",
            Area::Aspect => "aspect",
            Area::Part => "part",
            Area::Box => "box",
            Area::Depth => "depth",
            Area::Balance => "balance",
            Area::Layout => "layout",
        };
        if PLANTED.get().is_some_and(|p| p == name) { by } else { 1.0 }
    }
}
