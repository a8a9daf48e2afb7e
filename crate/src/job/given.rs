//! What is given with an intent: lengths, boxes, and the words that are chosen from.

use super::intent::At;
use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

/// A length as a person gives it (read in the job's unit), or in mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(untagged)]
pub enum Length {
    /// As written: `23 5/16`, `36,8 cm`.
    Text(String),
    /// In millimetres.
    Mm {
        /// The length.
        mm: f64,
    },
}

/// A view to be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct NewView {
    /// What it shows.
    pub role: Role,
    /// Its box.
    #[serde(rename = "box")]
    pub bounds: Bounds,
}

/// A box on the picture, turned about its first corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Bounds {
    /// Its top-left corner, picture px.
    #[cfg_attr(test, ts(type = "[number, number]"))]
    pub at: At,
    /// Along its own level and plumb, picture px.
    pub size: [f64; 2],
    /// How its level runs against the picture's, in degrees, clockwise as seen.
    #[serde(default)]
    pub tilt: f64,
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant),* }
    };
}
pub(super) use words;

words! {
    /// Which side of the thing a view shows; it decides which directions views share.
    Role {
        /// From the front: span (across) and height.
        Front,
        /// From the side: length and height.
        Side,
        /// From above: length and span, whichever way it lies.
        Top,
        /// Anything else: shares no direction by itself.
        Other,
    }
}
words! {
    /// What a rectangle's size is the size of.
    RectangleOf {
        /// Of the thing itself, in life.
        Thing,
        /// Of the sheet that the thing is drawn on.
        Sheet,
    }
}
words! {
    /// How a length runs on its view.
    Along {
        /// As it likes.
        Free,
        /// Level on the view.
        Level,
        /// Plumb on the view.
        Plumb,
    }
}
words! {
    /// A part of a drawn line.
    #[derive(Default)]
    Side {
        /// Its middle.
        #[default]
        Middle,
        /// The side away from the rest of the mark.
        Outer,
        /// The side towards the rest of the mark.
        Inner,
    }
}
words! {
    /// How a length was got; it sets the usual ±.
    #[derive(Default)]
    How {
        /// Measured on the thing with a tape.
        Tape,
        /// A figure printed on the drawing.
        #[default]
        Printed,
        /// From a caption or a catalogue.
        Caption,
        /// A guess.
        Guess,
    }
}
words! {
    /// The five steps.
    StepName { /** Pictures and views. */ Picture, /** What is known. */ TrueLength, /** What is asked. */ Marks, /** How large. */ Build, /** What to take along. */ Lists }
}
words! {
    /// Which table the size board shows.
    TableName { /** Every size. */ Sizes, /** Every ratio. */ Ratios }
}
words! {
    /// How an entry is taken.
    Way {
        /** It is this long. */ Is,
        /** I want it this long. */ Want,
        /** It only checks. */ Check,
        /** Take it. */ Take,
    }
}
