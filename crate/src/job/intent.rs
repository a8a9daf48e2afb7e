//! What a person (or a replayed log) asks for. Plain data, in the words of the screen.
//!
//! Two sorts travel through the same door. *Facts* change the document and are kept in the log ([`Intent::is_fact`]);
//! *gestures* only move the hand: which step is open, what is being placed, what is held. A gesture that
//! finishes something becomes a fact.

pub use super::choices::{
    About, Along, How, RectangleOf, Role, Side, StepName, TableName, Tool, Way, Wish, Work,
};
use super::document::{
    About as ThingChoice, Caption, OnPattern, PaperChoice, PartChoice, PatternChoice, Printer, VaneChoice,
};
pub use super::given::{Bounds, KnownLens, Length, NewView};
use super::given::{by_mouse, one, yes};
use crate::layout::{Pin, Spot};
use crate::mark::{By, Ends, Kind};
use crate::part::Bought;
use crate::plane::Shaped;
use crate::plane::{Picture, Point};
use crate::quantity::{Direction, Step, Style};
use crate::raster::ask::{Border, Caught, Fitted, Found};
use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

/// A place in picture px, `[x, y]`.
pub type At = Point<Picture>;

/// A mark's finished size as it stood: the mark's id, mm, and as it was written.
pub type Size = (u32, f64, String);

/// One thing asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts", tag = "kind"))]
#[serde(remote = "Self", rename_all = "kebab-case", rename_all_fields = "kebab-case", deny_unknown_fields)]
pub enum Intent {
    // ---- facts: pictures and views ----
    /// A picture has come in. Its bytes are kept by the page under `digest`.
    AddPicture {
        /// The file's name, always treated as text.
        name: String,
        /// Width in picture px, after the file's orientation.
        width: u32,
        /// Height in picture px.
        height: u32,
        /// Pixels per inch across and down, where the file says so and means it.
        #[serde(default)]
        resolution: Option<[f64; 2]>,
        /// The focal length that its file tells, as on 35 mm film, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        focal_35mm: Option<f64>,
        /// What the page finds the bytes by (SHA-256, hex).
        #[serde(default)]
        digest: String,
    },
    /// Take a picture away, with its views and marks.
    RemovePicture { picture: u32 },
    /// How large the picture is on paper, when the file doesn't say or says it wrongly.
    SetResolution { picture: u32, resolution: Option<[f64; 2]> },
    /// The scale printed on the drawing: `Some(12.0)` for 1:12.
    SetDrawingScale { picture: u32, one_to: Option<f64> },
    /// Bound a view by a box that may be turned.
    AddView {
        picture: u32,
        #[serde(default)]
        name: String,
        role: Role,
        #[serde(rename = "box")]
        bounds: Bounds,
    },
    /// Divide a picture into views, all at once.
    AddViews { picture: u32, views: Vec<NewView> },
    /// Make two views one: the first takes in the other.
    MergeViews { view: u32, with: u32 },
    /// Cut a view in two along a level or plumb line.
    SplitView {
        view: u32,
        #[cfg_attr(test, ts(type = "[[number, number], [number, number]]"))]
        along: [At; 2],
    },
    /// Change a view's name, role or box.
    ChangeView {
        view: u32,
        #[serde(default)]
        name: Option<String>,
        #[serde(default)]
        role: Option<Role>,
        #[serde(default, rename = "box")]
        bounds: Option<Bounds>,
    },
    /// Take a view away; its marks fall to the view around it.
    RemoveView { view: u32 },
    /// Give a view its true shape from four corners of something rectangular.
    SquareOn {
        view: u32,
        /// In order round it; the first side is the width.
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        corners: [At; 4],
        /// A sheet by name (`a4`, `letter`, …), or nothing and two lengths, each of which may be left open.
        #[serde(default)]
        sheet: Option<String>,
        /// The sheet's long side is the first side (of the corners 1 and 2); nothing for a guess by the picture.
        #[serde(default)]
        long_first: Option<bool>,
        #[serde(default)]
        width: Option<Length>,
        #[serde(default)]
        height: Option<Length>,
        of: RectangleOf,
        #[serde(default = "by_mouse")]
        by: By,
        #[serde(default = "one")]
        zoom: f64,
        #[serde(default)]
        seen: bool,
        /// What each corner holds on to.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        caught: Vec<Option<Caught>>,
    },
    /// Corners of anything rectangular that is seen from a corner: its sides become views.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Boxed {
        picture: u32,
        /// Where the sides meet; the far ends of the front's width, of the end's width and of the upright from there; the far
        /// corners of the front, of the end, of the top; the hidden one. Six at least; nothing for one that isn't seen.
        #[cfg_attr(test, ts(type = "([number, number] | null)[]"))]
        corners: Vec<Option<At>>,
        /// The front's width, the end's width, the upright, each where it is known.
        #[serde(default)]
        edges: Vec<Option<Length>>,
        #[serde(default = "by_mouse")]
        by: By,
        #[serde(default = "one")]
        zoom: f64,
        #[serde(default)]
        seen: bool,
        /// What each corner holds on to.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        caught: Vec<Option<Caught>>,
    },
    /// A view is parallel to another and stands behind it (nothing: it doesn't).
    #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))]
    StandsBack {
        view: u32,
        from: Option<u32>,
        /// How far; nothing where true lengths of its own tell.
        #[serde(default)]
        back: Option<Length>,
        /// It stands before it.
        #[serde(default)]
        before: bool,
        /// The ± of that; nothing for the usual one.
        #[serde(default)]
        pm: Option<Length>,
        /// How far the camera stood from the other, where that isn't known from the picture.
        #[serde(default)]
        away: Option<Length>,
        /// The ± of that; nothing for the usual one.
        #[serde(default)]
        away_pm: Option<Length>,
    },
    /// Treat a view as flat again.
    Flat { view: u32 },
    /// An edge that is straight in life, as it is seen: it tells how the lens bends straight things.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    StraightEdge {
        picture: u32,
        /// In order along it.
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        points: Vec<At>,
        /// Standard uncertainty of each across the edge, picture px.
        sigma: f64,
    },
    /// The lens that took a picture is known, from pictures of a target (nothing: it no longer is).
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    KnowLens { picture: u32, lens: Option<KnownLens> },
    /// Forget all edges of a picture that are straight in life, and with them the bend of its lens.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    ForgetEdges { picture: u32 },
    /// The picture is only a part of what the camera took, or all of it.
    #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))]
    Cropped { picture: u32, on: bool },
    /// The view is seen at a slant, which its true lengths and shapes are to tell.
    #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))]
    Slanted { view: u32, on: bool },
    /// A mark is in life what it stands for: edges that run alike (a gap), edges square to one another (a crossing, an
    /// angle), something round (a circle).
    #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))]
    Formed { mark: u32, on: bool },
    /// Accept or drop a map with two scales (a stretched print or scan).
    TwoScales { view: u32, on: bool },
    /// Take a view's scale from another one, or (nothing) let the program choose.
    ScaleFrom { view: u32, from: Option<u32> },
    /// When two views disagree about a direction, this is the one to trust.
    Trust { view: u32, mark: u32, other: u32 },

    // ---- facts: marks ----
    /// Place a whole mark at once.
    Place {
        picture: u32,
        mark: Kind,
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        points: Vec<At>,
        #[serde(default)]
        ends: Ends,
        #[serde(default = "by_mouse")]
        by: By,
        #[serde(default = "one")]
        zoom: f64,
        #[serde(default)]
        seen: bool,
        #[serde(default)]
        name: String,
    },
    /// Put one more point on a mark that is still open.
    AddPoint {
        mark: u32,
        #[cfg_attr(test, ts(type = "[number, number]"))]
        at: At,
        by: By,
        zoom: f64,
        seen: bool,
    },
    /// Move one point of a mark.
    MovePoint {
        mark: u32,
        point: u16,
        #[cfg_attr(test, ts(type = "[number, number]"))]
        at: At,
        by: By,
        zoom: f64,
        seen: bool,
        /// What it holds on to there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        caught: Option<Caught>,
    },
    /// A point lets go of what it holds on to, and goes where it was put.
    PutBack { mark: u32, point: u16 },
    /// Put places that were fitted to an edge for those that were touched along it: for two from `from` on, or for
    /// all of a circle.
    Fit { mark: u32, from: u16, points: Vec<Fitted> },
    /// Put places that were found along an edge before the point `before` of an outline or a path, or at its end.
    Follow {
        mark: u32,
        before: u16,
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        points: Vec<At>,
        sigma: f64,
    },
    /// Lay a border that was found in the picture on an outline.
    Trace { mark: u32, border: Border },
    /// Lay a border that was found on the picture on a new outline each, all at once.
    Outlines { picture: u32, borders: Vec<Border> },
    /// What was made of an outline: smoothed, faired, cut off, made even, or made one with another, which is then gone.
    Shape {
        mark: u32,
        work: Work,
        #[serde(default)]
        with: Option<u32>,
        shaped: Shaped,
    },
    /// One more point on a smooth outline, nearest to a place; nothing moves.
    AddKnot {
        mark: u32,
        #[cfg_attr(test, ts(type = "[number, number]"))]
        at: At,
    },
    /// Make a smooth outline sharp at one of its points, or round.
    TurnKnot { mark: u32, point: u16, sharp: bool },
    /// Take one point off a path, circle, outline.
    RemovePoint { mark: u32, point: u16 },
    /// Mark the same thing once more; the spread goes into its ±.
    Again {
        mark: u32,
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        points: Vec<At>,
    },
    /// Take a mark away.
    DeleteMark { mark: u32 },
    /// Name a mark.
    NameMark { mark: u32, name: String },
    /// Give a mark another number; whoever has that number takes this one's.
    NumberMark { mark: u32, number: u32 },
    /// Keep a length level or plumb on its view, or let it run free.
    Keep { mark: u32, along: Along },
    /// Another like it, `step` px away.
    Like { mark: u32, step: [f64; 2] },
    /// The other hand about the line through a length mark.
    OtherHand { mark: u32, line: u32 },
    /// Say how long a mark is in life.
    SetKnown {
        mark: u32,
        length: Length,
        #[serde(default)]
        how: How,
        /// The ± in the same words; nothing for the usual one.
        #[serde(default)]
        pm: Option<Length>,
        /// False for a check length: it checks but doesn't pull.
        #[serde(default = "yes")]
        pulls: bool,
    },
    /// It is no longer known.
    ClearKnown { mark: u32 },
    /// These marks run end to end along one line: their sizes add up.
    Chain { marks: Vec<u32> },
    /// They needn't.
    Unchain { mark: u32 },
    /// This one takes up the difference of its chain, or no longer.
    TakeUp { mark: u32, on: bool },
    /// Two marks are of the same thing (the span, in two views), or aren't.
    SameThing { marks: [u32; 2], same: bool },

    /// The sizes that a caption gives of the whole thing, entered once for all views; nothing: it gives none.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetCaption { caption: Option<Caption> },

    // ---- facts: the size to build ----
    /// How long a mark is to be when built.
    SetBuild { mark: u32, length: Length },
    /// Build at `finished` : `real`, 1:12 as 1 and 12.
    SetBuildRatio { finished: f64, real: f64 },
    /// Build at so many per cent of life.
    SetBuildPercent { percent: f64 },
    /// No size to build yet.
    ClearBuild,
    /// The mark that ratios are told against.
    SetBase { mark: u32 },
    /// How lengths are told and rounded.
    SetUnits { style: Style, step: Step, direction: Direction },
    /// Which part of a drawn line ends hold on to.
    SetSide { side: Side },
    /// The job's name.
    NameJob { name: String },

    // ---- facts: sheets ----
    /// How the pattern of a part (an outline) is to be made.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetPattern { mark: u32, choice: PatternChoice },
    /// How a part (an outline) is cut: its stock, its joints.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetPart { mark: u32, choice: PartChoice },
    /// A part that no outline shows: like another one, by rule, or with nothing known of it.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    AddPart {
        #[serde(default)]
        like: Option<u32>,
    },
    /// A part, or what a mark measures, is bought in a size of its own (nothing: it isn't).
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetBought { of: u32, bought: Option<Bought> },
    /// A hidden part that is the axle of a bought wheel; `through` is the part that it goes through.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    AddAxle {
        wheel: u32,
        #[serde(default)]
        through: Option<u32>,
    },
    /// A hidden part's name.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    NamePart { part: u32, name: String },
    /// Take a hidden part away.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    RemovePart { part: u32 },
    /// What it is, and what is to be looked at.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetThing { about: ThingChoice },
    /// It as a whirligig or a vane: where it turns, what is heavy, its propeller.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetVane { vane: VaneChoice },
    /// What the saw takes away.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetKerf { kerf: Length },
    /// How long and wide the boards or sheets of a stock are bought, mm; a width of 0 for every width it is sold in.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetBoards { lot: String, size: [f64; 2] },
    /// So many boards or sheets of a stock are at hand in a size, mm; none of it with 0.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetAtHand { lot: String, size: [f64; 2], count: u32 },
    /// A piece stays where it was put on a board of a stock, or needn't any longer.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Pin { lot: String, pin: Pin, on: bool },
    /// Nothing may lie there on a board of a stock, or it may again; in place of one that was there before.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Spot {
        lot: String,
        spot: Spot,
        on: bool,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        was: Option<Spot>,
    },
    /// A piece of a part is cut, or isn't.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Tick { mark: u32, copy: u32, on: bool },
    /// What a length stands for on patterns; nothing for itself alone.
    #[cfg_attr(not(feature = "whole"), serde(skip_deserializing))]
    OnPattern { mark: u32, what: Option<OnPattern> },
    /// Make a pattern of a whole view, or no longer.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    PatternOfView { view: u32, on: bool },
    /// What patterns are printed on.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetPaper { paper: PaperChoice },
    /// Move the sheets against what is drawn on them, finished mm.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    ShiftSheets { whole: u32, by: [f64; 2] },
    /// What a printer makes of a length, across and down; nothing for one that prints true.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    SetPrinter { printer: Option<Printer> },
    /// Take back the last fact.
    Undo,
    /// Put it back.
    Redo,
    /// Give how the job stands a name, to go back to.
    NameMoment { name: String },
    /// Go back to a moment, by its place among them.
    GoBack { moment: u32 },
    /// Something was printed, while sizes stood like this: what changes from now on is told.
    Printed {
        #[cfg_attr(test, ts(type = "[number, number, string][]"))]
        sizes: Vec<Size>,
    },

    // ---- gestures: only the hand moves ----
    /// Open one of the five steps.
    Go { step: StepName },
    /// Show another picture of the job.
    ShowPicture { picture: u32 },
    /// What the next touches make.
    Tool { tool: Tool },
    /// A touch on the board, at a place in picture px.
    Tap {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        at: At,
        by: By,
        /// Screen (CSS) px per picture px where the person was looking.
        zoom: f64,
        /// A touch within this many screen px of a mark's end picks it up.
        reach: f64,
    },
    /// The held end has been slid about (see the door's `slide`) and is let go here.
    Settle,
    /// Move the held end by picture px.
    Nudge { by: [f64; 2], zoom: f64 },
    /// Hold another point of the same mark.
    OtherEnd,
    /// What was asked of the pixels ([`super::scene::Scene::seek`]) has been answered; nothing when there is none.
    Found { serial: u32, found: Option<Found> },
    /// The end in hand lets go of the edge it holds, and goes where it was put.
    Loosen,
    /// Done with what is held.
    LetGo,
    /// Drop what is half placed.
    Forget,
    /// The corner that is asked for can't be seen.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Hidden,
    /// Hold this point of this mark.
    Hold { mark: u32, point: u16 },
    /// Choose a mark (its row is opened), or none.
    Select { mark: Option<u32> },
    /// Show the sizes or the ratios.
    Show { table: TableName },
    /// Open the keypad for something.
    Ask { about: About },
    /// Show a part's keys, where there are too many parts to show those of all.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    OpenPart { part: Option<u32> },
    /// Open the keypad for something about a part.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    AskPart { mark: u32, about: About },
    /// What stands in the keypad now.
    Entry { text: String },
    /// How the length was got, chosen in the keypad.
    EntryHow { how: How },
    /// Take what stands in the keypad, in one of the ways it offers.
    Accept { way: Way },
    /// Close the keypad.
    Dismiss,
    /// Do something with the chosen outline.
    Want { wish: Wish },
    /// Take the main outlines of all views.
    TakeOutlines,
    /// What the page remembers of printers that were measured for other jobs.
    #[cfg_attr(not(feature = "whole"), serde(skip))]
    Remember { printers: Vec<Printer> },
    /// A note has been read and needn't be shown again.
    Hush { note: String },
    /// Read a length and say what it reads as; nothing changes.
    AskLength { text: String, style: Style },
}
