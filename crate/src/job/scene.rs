//! What the page shows: everything to draw (in picture px), every table, every word. Plain data; strings are
//! ready to be set as text, with U+2044 between the figures of a fraction.

use super::document::Printer;
use super::intent::{Intent, Role, StepName, TableName};
use crate::quantity::Figure;
use crate::raster::ask::Ask;
use serde::Serialize;
use std::rc::Rc;

#[cfg(test)]
use ts_rs::TS;

macro_rules! data {
    ($($item:item)*) => { $(
        #[derive(Clone, Debug, PartialEq, Serialize)]
        #[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
        $item
    )* };
}

data! {
    /// The whole of what the page shows.
    pub struct Scene {
        /// The job's name.
        pub name: String,
        /// The open step.
        pub step: StepName,
        /// The five steps.
        pub steps: Vec<StepShown>,
        /// What to do next, in one sentence.
        pub guide: String,
        /// A second, quieter line under it; may be empty.
        pub aside: String,
        /// The keys that this moment needs, main one last.
        pub ledge: Vec<Key>,
        /// What undo would take back, if anything.
        pub undo: Option<String>,
        /// What redo would put back, if anything.
        pub redo: Option<String>,
        /// The picture on the board.
        pub picture: Option<u32>,
        /// All pictures of the job.
        pub pictures: Vec<PictureShown>,
        /// The views of all pictures.
        pub views: Vec<ViewShown>,
        /// The marks of all pictures.
        pub marks: Vec<Rc<MarkShown>>,
        /// Points touched so far for something that isn't a mark yet (a box, four corners).
        pub pending: Vec<[f64; 2]>,
        /// What each of them is called, where the sentence calls it something.
        pub pending_names: Vec<String>,
        /// What they make so far, as lines, picture px.
        pub pending_paths: Vec<Vec<[f64; 2]>>,
        /// What was reckoned, over the picture.
        pub drawn: Vec<Drawn>,
        /// The end in hand, if any.
        pub hand: Option<Hand>,
        /// Which table stands on the size board.
        pub table: TableName,
        /// Head of the size board: unit at the left, rounding at the right.
        pub head: [String; 2],
        /// A row for each mark.
        pub rows: Vec<Rc<Row>>,
        /// A row for each ratio (only when that table is shown).
        pub ratios: Vec<RatioRow>,
        /// More about the chosen mark.
        pub detail: Option<Detail>,
        /// Questions, warnings and remarks, most pressing first.
        pub notes: Vec<Note>,
        /// The keypad, when open.
        pub entry: Option<Entry>,
        /// What is to be asked of a picture's pixels; the answer comes back as `found`.
        pub seek: Option<SeekShown>,
        /// What is made of the sizes, while that step is open.
        pub lists: Option<Lists>,
        /// The parts, by letter, while that step is open.
        pub parts: Vec<Rc<PartShown>>,
        /// Moments to go back to, and what has changed since something was printed.
        pub history: History,
    }

    /// Moments to go back to, and what has changed since something was printed.
    pub struct History {
        /// What the moments are called, in the order in which they were named; `go-back` goes by their places.
        pub moments: Vec<String>,
        /// What was printed last, told by its revision; empty when nothing was.
        pub printed: String,
        /// What is another size since then, line by line.
        pub since: Vec<String>,
    }

    /// What is made of the sizes.
    pub struct Lists {
        /// Other ways to get sizes onto wood, and what has to do with the printer.
        pub more: Vec<Key>,
        /// There is something to print.
        pub ready: bool,
        /// What the printer makes of a length, for the page to remember for other jobs.
        pub printer: Option<Printer>,
        /// Things of known size by which the glass is measured.
        pub gauges: Vec<Gauge>,
        /// What to buy for the cutting list, and what to heed.
        pub below: Vec<Traced>,
        /// What can be chosen about the boards of each stock.
        pub stocks: Vec<StockShown>,
        /// What else is told of the whole: whether a vane faces the wind, what looks wrong.
        pub sections: Vec<Section>,
    }

    /// The boards of one stock.
    pub struct StockShown {
        /// What pins and bad spots know it by.
        pub lot: String,
        /// What it is called.
        pub title: String,
        /// How they are bought, what the saw takes.
        pub keys: Vec<Key>,
    }

    /// What is told, and what a touch on it leads to: where its figures come from.
    pub struct Traced {
        /// In words.
        pub text: String,
        /// What to send to the core; nothing where there is nothing to trace.
        pub leads: Option<Intent>,
    }

    /// What is said of the whole, under a head of its own.
    pub struct Section {
        /// A steady name.
        pub id: String,
        /// Its head.
        pub title: String,
        /// What it says, line by line.
        pub lines: Vec<Traced>,
        /// What can be done about it.
        pub keys: Vec<Key>,
    }

    /// A line and a place that were reckoned, drawn over the picture.
    pub struct Drawn {
        /// The picture.
        pub picture: u32,
        /// How it is drawn.
        pub line: Line,
        /// Lines, picture px.
        pub paths: Vec<Vec<[f64; 2]>>,
        /// Where a cross stands and what is written there, picture px.
        pub at: [f64; 2],
        /// What is written there.
        pub label: String,
    }

    /// A thing of known size.
    pub struct Gauge {
        /// Its name.
        pub label: String,
        /// Across and high, mm.
        pub size: [f64; 2],
        /// A coin.
        pub round: bool,
    }

    /// A part.
    pub struct PartShown {
        /// Its id: that of the outline it comes from, where there is one.
        pub id: u32,
        /// A, B, C.
        pub letter: String,
        /// Its name.
        pub name: String,
        /// Its length and width as built; empty while they aren't known.
        pub size: String,
        /// It on the cutting list, line by line and piece by piece: its sizes, what it is made of, where each size comes from.
        pub cut: Vec<Vec<Traced>>,
        /// Why there is no pattern of it; empty when there is, or none is wanted.
        pub why: String,
        /// How it is made.
        pub keys: Vec<Key>,
    }

    /// What is to be asked of a picture's pixels.
    pub struct SeekShown {
        /// Goes back with the answer.
        pub serial: u32,
        /// The picture.
        pub picture: u32,
        /// The question.
        pub ask: Ask,
    }

    /// What an end holds on to.
    pub struct HoldShown {
        /// Where, picture px.
        pub at: [f64; 2],
        /// Which way the edge runs; nothing for a corner or the end of a line.
        pub along: Option<[f64; 2]>,
        /// From the middle of a drawn line to its side, picture px.
        pub half: [f64; 2],
        /// It only would, if the end were let go here.
        pub glimpse: bool,
    }

    /// One of the five steps as shown.
    pub struct StepShown {
        /// Which.
        pub step: StepName,
        /// Its words.
        pub label: String,
        /// Something has been done in it.
        pub done: bool,
    }

    /// A key: what it says and what it does. Either `intent` or `page` is there.
    pub struct Key {
        /// A steady name for tests and for the page's icons.
        pub id: String,
        /// What it says.
        pub label: String,
        /// `main` (filled), `plain`, or `guarded` (asks for a second touch).
        pub weight: Weight,
        /// Pressed in.
        pub on: bool,
        /// What to send to the core.
        pub intent: Option<Intent>,
        /// What the page itself has to do: `take-picture`, `find-picture`, `open-job`, `save-job`, `csv`, `print`, `example`.
        pub page: Option<String>,
    }

    /// A picture of the job.
    pub struct PictureShown {
        /// Its id.
        pub id: u32,
        /// The file's name.
        pub name: String,
        /// Width in picture px.
        pub width: u32,
        /// Height in picture px.
        pub height: u32,
        /// What the page finds the bytes by.
        pub digest: String,
    }

    /// A view's box.
    pub struct ViewShown {
        /// Its id.
        pub id: u32,
        /// The picture it is on.
        pub picture: u32,
        /// Its name.
        pub name: String,
        /// What it shows.
        pub role: Role,
        /// The whole picture: no box is drawn.
        pub whole: bool,
        /// Its four corners, picture px, in order.
        pub corners: Vec<[f64; 2]>,
        /// Where its name stands, picture px.
        pub label_at: [f64; 2],
        /// The rectangle it is turned square-on by, if any.
        pub rectangle: Option<Vec<[f64; 2]>>,
        /// Where its scale comes from, in words.
        pub scale: String,
        /// Chosen.
        pub selected: bool,
    }

    /// A mark as drawn.
    pub struct MarkShown {
        /// Its id.
        pub id: u32,
        /// The picture it is on.
        pub picture: u32,
        /// The number shown beside it.
        pub number: u32,
        /// How its line is drawn.
        pub line: Line,
        /// Lines to draw, picture px.
        pub paths: Vec<Vec<[f64; 2]>>,
        /// Thin helping lines (the line of a half length, legs of an angle).
        pub thin: Vec<Vec<[f64; 2]>>,
        /// Ends that carry a carpenter's V: x, y, and the way it points (radians, y down).
        pub vees: Vec<[f64; 3]>,
        /// Where small crosses stand, picture px: a balance point, a centre.
        pub dots: Vec<[f64; 2]>,
        /// The points that can be held, picture px.
        pub handles: Vec<[f64; 2]>,
        /// Where its number stands, picture px.
        pub label_at: [f64; 2],
        /// Its size as set beside it, or nothing.
        pub caption: String,
        /// A true length is vouched for on it.
        pub known: bool,
        /// Its row is open.
        pub selected: bool,
        /// The point in hand.
        pub held: Option<u16>,
        /// Still waiting for points.
        pub open: bool,
    }

    /// The end in hand.
    pub struct Hand {
        /// Its mark; nothing for a box or a corner.
        pub mark: Option<u32>,
        /// Which of its points.
        pub point: u16,
        /// Where it is, picture px.
        pub at: [f64; 2],
        /// "the right end of 3"
        pub what: String,
        /// "good to 1⁄64 in the wood", or on the picture when no size is known.
        pub good: String,
        /// What it holds on to, in words; may be empty.
        pub holding: String,
        /// The same, to be drawn.
        pub hold: Option<HoldShown>,
    }

    /// A size with its plus-or-minus.
    pub struct Size {
        /// Unrounded: mm, mm², or radians.
        pub value: f64,
        /// 95 % half-width below.
        pub minus: f64,
        /// 95 % half-width above.
        pub plus: f64,
        /// Rounded, as set.
        pub figure: Figure,
        /// "± 1⁄32", or "−1⁄32 +1⁄16"; empty when it was chosen.
        pub pm: String,
        /// Unrounded, with unit: "31.304 in".
        pub unrounded: String,
    }

    /// One line of the size board. While it is closed and a page draws it, what doesn't stand on it isn't made: `more`, the size
    /// in life beside the one as built, and how they read unrounded.
    pub struct Row {
        /// The mark.
        pub id: u32,
        /// Its number.
        pub number: u32,
        /// Its name, or the word for its kind.
        pub name: String,
        /// Its line, shown small beside the number.
        pub line: Line,
        /// "on the picture 184 mm · 1.304 × body".
        pub under: String,
        /// Size on the picture: mm on paper when the picture knows its size, otherwise px.
        pub picture: String,
        /// In life, when known.
        pub real: Option<Size>,
        /// As built, when known.
        pub finished: Option<Size>,
        /// What it has besides its main size (area, rise, segments): label and size, finished when known, otherwise real.
        pub more: Vec<Measured>,
        /// What stands under the figure instead of ±: "you chose it", "you said so".
        pub from: String,
        /// What is missing before a size can be told, and the step that gives it.
        pub missing: Option<Missing>,
        /// Remarks on this mark.
        pub flags: Vec<String>,
        /// Its row is open.
        pub selected: bool,
    }

    /// One more measure of a mark.
    pub struct Measured {
        /// "area", "rise", …
        pub label: String,
        /// Its size.
        pub size: Size,
    }

    /// What is missing.
    pub struct Missing {
        /// In words: "needs a true length".
        pub text: String,
        /// A touch takes the person there.
        pub intent: Intent,
    }

    /// One line of the ratio table.
    pub struct RatioRow {
        /// The mark.
        pub id: u32,
        /// Its number.
        pub number: u32,
        /// Its name.
        pub name: String,
        /// "1.304 ± 0.002", unrounded value beside.
        pub ratio: String,
        /// The number itself.
        pub value: f64,
        /// Its 95 % half-width, shared scale left out; nothing when unbounded.
        pub half_width: Option<f64>,
        /// "130.4 %"
        pub percent: String,
        /// "0.767"
        pub inverse: String,
        /// Whole-number ratios within the ±: "30 : 23, 0.02 % off".
        pub whole: Vec<String>,
        /// The golden section, when within the ±, with how far off.
        pub golden: Option<String>,
        /// It is what the others are told against.
        pub base: bool,
    }

    /// More about the chosen mark.
    pub struct Detail {
        /// The mark.
        pub mark: u32,
        /// Label and text: unrounded sizes, in life, on the picture, on which view.
        pub lines: Vec<[String; 2]>,
        /// Where the ± comes from, largest first: in words, and its share, 0 to 1.
        pub sources: Vec<SourceShown>,
        /// What can be done with it.
        pub keys: Vec<Key>,
    }

    /// One cause of the ±.
    pub struct SourceShown {
        /// "where the left end of 1 was put"
        pub text: String,
        /// Share of the variance, 0 to 1.
        pub share: f64,
    }

    /// A question, a warning or a remark.
    pub struct Note {
        /// A steady name.
        pub id: String,
        /// How pressing.
        pub tone: Tone,
        /// In words.
        pub text: String,
        /// What can be answered.
        pub keys: Vec<Key>,
    }

    /// The keypad.
    pub struct Entry {
        /// What it asks.
        pub title: String,
        /// What stands in it.
        pub text: String,
        /// Which keys: `length` (digits, fraction, feet, unit), `number`, or `text` (the system's keyboard).
        pub pad: Pad,
        /// The unit of a bare number, in words.
        pub unit: String,
        /// "reads as 23 5⁄16 in"; empty while there is nothing to read.
        pub reads: String,
        /// What is wrong, and where (characters from the start, how many).
        pub error: Option<EntryError>,
        /// How it was got, when that matters: keys that stay pressed in.
        pub how: Vec<Key>,
        /// How it can be taken, main one last.
        pub ways: Vec<Key>,
        /// Ready-made answers (sheets of paper by name).
        pub choices: Vec<Key>,
    }

    /// What is wrong with an entry.
    pub struct EntryError {
        /// In words.
        pub text: String,
        /// First character it is about.
        pub at: usize,
        /// How many.
        pub len: usize,
    }
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
        #[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
        #[serde(rename_all = "kebab-case")]
        pub enum $name { $($(#[$vdoc])* $variant),* }
    };
}

words! { /// How a key looks.
Weight { /** Filled. */ Main, /** Outlined. */ Plain, /** Asks for a second touch. */ Guarded } }
words! { /// How a mark's line is drawn.
Line { /** Unbroken. */ Solid, /** Long, short, long. */ Chain, /** Short dashes. */ Dash, /** Dots. */ Dot } }
words! { /// How pressing a note is.
Tone { /** Needs an answer. */ Ask, /** Should be looked at. */ Warn, /** By the way. */ Say } }
words! { /// Which keys an entry gets.
Pad { /** Digits, fractions, feet. */ Length, /** Digits. */ Number, /** Nothing to type: only ready answers. */ Choice, /** The system's own keyboard. */ Text } }
