//! What joints add to what shows.

use crate::words::Say;
use serde::{Deserialize, Serialize};

/// How an end of a part goes into its neighbour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Joint {
    /// It only meets it.
    #[default]
    None,
    /// A tongue in a hole.
    Tenon,
    /// Let into a groove across it.
    Dado,
    /// Let into a step along its edge.
    Rabbet,
    /// Tails or pins as long as it is thick.
    Dovetail,
    /// Laid over it.
    Lap,
}

impl Joint {
    /// All of them, in the order to offer them.
    pub const ALL: [Joint; 6] =
        [Joint::None, Joint::Dado, Joint::Rabbet, Joint::Tenon, Joint::Dovetail, Joint::Lap];

    /// Its name in the words file, after `joint.`.
    pub fn name(self) -> &'static str {
        match self {
            Joint::None => "none",
            Joint::Tenon => "tenon",
            Joint::Dado => "dado",
            Joint::Rabbet => "rabbet",
            Joint::Dovetail => "dovetail",
            Joint::Lap => "lap",
        }
    }
}

/// One end of a part: its joint, and how far it goes into its neighbour, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "PartEnd"))]
pub struct End {
    /// How.
    pub joint: Joint,
    /// How far beyond the shoulder.
    pub depth: f64,
}

impl End {
    /// What this end adds to the part's length, mm.
    pub fn adds(&self) -> f64 {
        if self.joint == Joint::None { 0.0 } else { self.depth }
    }
}

/// The length to cut: what fits between the neighbours, and what goes into them.
///
/// # Units
/// `shoulder` in mm, as shows.
///
/// # Errors
/// `part.length` for a length that is none, `part.joint-depth` for a joint that is negative or longer than the part.
///
/// # References
/// Common practice, no source.
pub fn cut_length(shoulder: f64, ends: [End; 2]) -> Result<f64, Say> {
    if !(shoulder > 0.0 && shoulder.is_finite()) {
        return Err(Say::new("part.length"));
    }
    if !ends.iter().all(|e| e.adds() >= 0.0 && e.adds() <= shoulder) {
        return Err(Say::new("part.joint-depth"));
    }
    Ok(shoulder + ends[0].adds() + ends[1].adds())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a rail of 20 in between its legs with tenons of 1 1/4 in at both ends is cut 22 1/2 in long; a shelf of 30 1/2
    /// in dadoes of 1/4 in is 31 in.
    #[test]
    fn what_shows_and_what_is_cut() {
        let of = |joint, depth: f64| End { joint, depth: depth * 25.4 };
        let cut = |length: f64, a, b| cut_length(length * 25.4, [a, b]).map(|mm| mm / 25.4);
        assert_eq!(cut(20.0, of(Joint::Tenon, 1.25), of(Joint::Tenon, 1.25)).unwrap(), 22.5);
        assert_eq!(cut(30.5, of(Joint::Dado, 0.25), of(Joint::Dado, 0.25)).unwrap(), 31.0);
        assert_eq!(cut(30.5, of(Joint::None, 9.0), End::default()).unwrap(), 30.5);
        assert_eq!(cut(20.0, of(Joint::Tenon, -1.0), End::default()).unwrap_err().key, "part.joint-depth");
        assert_eq!(cut(20.0, of(Joint::Lap, f64::NAN), End::default()).unwrap_err().key, "part.joint-depth");
        assert_eq!(cut(0.0, End::default(), End::default()).unwrap_err().key, "part.length");
    }
}
