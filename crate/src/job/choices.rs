//! What a person chooses between, by name: plain words on both sides of the door.

use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident),* $(,)? }
        $(whole { $($(#[$wdoc:meta])* $whole:ident),* $(,)? })?) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
        #[serde(rename_all = "kebab-case")]
        pub enum $name {
            $($(#[$vdoc])* $variant,)*
            // What only the whole core does is not understood by the one that a page begins with.
            $($($(#[$wdoc])* #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))] $whole,)*)?
        }
    };
}

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
    StepName {
        /** Pictures and views. */ Picture,
        /** What is known. */ TrueLength,
        /** What is asked. */ Marks,
        /** How large. */ Build,
    } whole {
        /** What to take along. */ Lists,
    }
}
words! {
    /// What touches make.
    Tool {
        /** Two ends. */ Length,
        /** The middle, then one end: half of it. */ LengthFromCentre,
        /** Two points of a line, then one end: half of it. */ LengthFromLine,
        /** Point after point. */ Path,
        /** One leg, the corner, the other leg. */ Angle,
        /** Three or more on the rim. */ Circle,
        /** One end, somewhere on it, the other end. */ Arc,
        /** Round the part. */ Outline,
        /** A single place. */ Point,
        /** Two places along one straight edge, two along another: how far apart they are. */ Gap,
        /** The same: where they cross. */ Crossing,
        /** Two opposite corners of a view. */ ViewBox,
        /** Two points that are level in life, to turn the view's box. */ ViewLevel,
        /** Two places of the line that cuts a view in two. */ ViewSplit,
        /** A view that is to be one with the chosen one. */ ViewMerge,
        /** Four corners of a rectangle. */ SquareOn,
        /** The same mark once more. */ Again,
        /** Another outline, to be one with the chosen one. */ JoinWith,
        /** Two places of a line, then the side to keep. */ CutOff,
        /** A place on the chosen outline for one more point. */ Knot,
    } whole {
        /** Two places along an edge that is straight in life. */ Straighten,
        /** Corners of a box. */ Boxed,
    }
}
words! {
    /// Which table the size board shows.
    TableName { /** Every size. */ Sizes, /** Every ratio. */ Ratios }
}
words! {
    /// What the keypad is for.
    About {
        /** How long the mark is, or is wanted. */ Length,
        /** How long the mark is to be. */ Build,
        /** A scale to build at. */ BuildScale,
        /** A percentage to build at. */ BuildPercent,
        /** The ± of a true length. */ PlusMinus,
        /** A mark's name. */ MarkName,
        /** A mark's number. */ MarkNumber,
        /** A view's name. */ ViewName,
        /** The job's name. */ JobName,
        /** The scale printed on the drawing. */ DrawingScale,
        /** Pixels per inch. */ Resolution,
        /** The rectangle's width. */ Width,
        /** The rectangle's height. */ Height,
    } whole {
        /** The sizes that a caption tells. */ Caption,
        /** The width of a box's front. */ BoxFront,
        /** The width of its end. */ BoxEnd,
        /** Its upright. */ BoxUpright,
        /** How far behind another a view stands. */ Back,
        /** How far the camera stood from that. */ Away,
        /** The paper that patterns are printed on. */ Paper,
        /** How wide a paper of one's own is. */ PaperWidth,
        /** And how high. */ PaperHeight,
        /** What the printer leaves white at each edge. */ Margin,
        /** How far neighbouring sheets lap over one another. */ Lap,
        /** What a part is made of. */ PartStock,
        /** How a part's ends are joined. */ PartEnds,
        /** How large it can be built from its boards. */ PartLargest,
        /** How deep its joints go. */ JointDepth,
        /** How thick it is planed. */ Planed,
        /** Which point of a whirligig or a vane is what. */ Vane,
        /** What is built. */ Thing,
        /** What something weighs. */ Weight,
        /** What lies on a shelf. */ Load,
        /** What a part's length follows from. */ RuleLength,
        /** What its width follows from. */ RuleWidth,
        /** A length of its own in the rule of its length. */ OwnLength,
        /** And of its width. */ OwnWidth,
        /** A hidden part's name. */ PartName,
        /** What it is bought as. */ Bought,
        /** By how much the moisture of the wood changes. */ Moisture,
        /** By which work it is rounded. */ Work,
        /** How large across that is. */ BoughtAcross,
        /** How thick a bought wheel is. */ BoughtThick,
        /** What the saw takes away. */ Kerf,
        /** How long the boards of a part's stock are. */ BoardLength,
        /** How wide they are. */ BoardWidth,
        /** How thick what lands along a length is. */ LandsThick,
        /** How deep it is let in. */ LandsDeep,
        /** At how many degrees off square an edge is sawn. */ Bevel,
        /** What the measured printer is called. */ PrinterName,
        /** How long the test sheet's bar came out across. */ PrinterAcross,
        /** How long its bar came out down. */ PrinterDown,
    }
}
words! {
    /// How an entry is taken.
    Way {
        /** It is this long. */ Is,
        /** I want it this long. */ Want,
        /** It only checks. */ Check,
        /** Take it. */ Take,
        /** Take it although it looks wrong: it is always so. */ Always,
    } whole {
        /** A rectangle's side isn't known; of its width, neither is. */ Open,
        /** Of a rectangle only the height is known. */ Skip,
        /** A caption's sizes take in moulding and feet. */ Whole,
        /** They are of the body alone. */ Body,
    }
}
words! {
    /// What was done with an outline.
    Work {
        /** The fewest smooth pieces through it. */ Smooth,
        /** Its wiggles taken out. */ Fair,
        /** Made one with another. */ Join,
        /** Cut off along a line. */ Cut,
        /** Both halves made alike. */ Even,
    }
}
words! {
    /// What is to be done with the chosen outline.
    Wish {
        /** Smooth its line. */ Smooth,
        /** Fair it. */ Fair,
        /** Find its centre line. */ Halves,
        /** Make the right half like the left one, seen along the centre line. */ LeftTwice,
        /** The other way round. */ RightTwice,
        /** Make both the mean of both. */ Mean,
        /** Find the other parts like it. */ Others,
    }
}
