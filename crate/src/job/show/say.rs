//! Small words that several parts of the scene share.

use super::Sight;
use crate::estimate::{Estimate, Interval, Source};
use crate::job::document::{Mark, OnPattern};
use crate::job::intent::{Intent, Work};
use crate::job::scene::{Key, Size, Traced, Weight};
use crate::job::smooth::EDGE;
use crate::mark::{Dimension, Kind, Quantity};
use crate::quantity::{
    Figure, write_angle, write_angle_plus_minus, write_area, write_area_plus_minus, write_plus_minus,
    write_unrounded,
};
use crate::words::{Arg, Say};

/// The name of a kind, as in the words file.
pub fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Length => "length",
        Kind::Path => "path",
        Kind::Angle => "angle",
        Kind::Circle => "circle",
        Kind::Arc => "arc",
        Kind::Outline => "outline",
        Kind::Point => "point",
        Kind::Gap => "gap",
        Kind::Crossing => "crossing",
    }
}

/// The name of a quantity, as in the words file.
pub fn quantity(what: Quantity) -> &'static str {
    match what {
        Quantity::Length => "length",
        Quantity::PathLength => "path-length",
        Quantity::Segment(_) => "segment",
        Quantity::Angle => "angle",
        Quantity::Radius | Quantity::ArcRadius => "radius",
        Quantity::Diameter => "diameter",
        Quantity::Circumference => "circumference",
        Quantity::ArcLength => "arc-length",
        Quantity::Rise => "rise",
        Quantity::Chord => "chord",
        Quantity::Area => "area",
        Quantity::Perimeter => "perimeter",
        Quantity::GreatestLength => "greatest-length",
        Quantity::Width => "width",
        Quantity::BalanceAcross => "balance-across",
        Quantity::BalanceDown => "balance-down",
        Quantity::PlaceAcross => "place-across",
        Quantity::PlaceDown => "place-down",
    }
}

/// A size of any dimension, rounded as the person wants it (or as a chain rounds it), with its ±.
pub fn size(sight: &Sight, what: Quantity, e: &Estimate, rounded: Option<f64>) -> Size {
    size_within(sight, what, e, rounded, even_where_it_is(what, e), true)
}

/// The interval of a size. An arc's radius goes with one over its rise: the errors are even in the curvature, and around the
/// radius of a shallow arc the truth lies farther above than below. Where the rise may be none it is as first order has it.
pub fn even_where_it_is(what: Quantity, e: &Estimate) -> Interval {
    let i = e.interval();
    let share = i.plus / e.value;
    if what == Quantity::ArcRadius && share < 1.0 {
        return Interval { minus: i.minus / (1.0 + share), plus: i.plus / (1.0 - share) };
    }
    i
}

/// The same with an interval of its own: a quotient's isn't even on both sides; and as it is before rounding only where that is
/// `exact`ly told.
pub fn size_within(
    sight: &Sight,
    what: Quantity,
    e: &Estimate,
    rounded: Option<f64>,
    interval: Interval,
    exact: bool,
) -> Size {
    let figure = figure(sight, what, e.value, rounded);
    let unrounded = match what.dimension() {
        _ if !exact => String::new(),
        Dimension::Length => sight.unrounded(e.value).with_unit(),
        Dimension::Angle | Dimension::Area => figure.with_unit(),
    };
    Size {
        value: e.value,
        minus: interval.minus,
        plus: interval.plus,
        pm: pm(sight, what.dimension(), e.value, interval.minus, interval.plus),
        figure,
        unrounded,
    }
}

/// A value alone, rounded in the same way.
pub fn figure(sight: &Sight, what: Quantity, value: f64, rounded: Option<f64>) -> Figure {
    match what.dimension() {
        Dimension::Length => sight.length(rounded.unwrap_or(value)),
        Dimension::Angle => sight.set(write_angle(value)),
        Dimension::Area => sight.set(write_area(value, sight.units.style)),
    }
}

/// "± 1⁄32", or both ways where they differ by more than a tenth; nothing when there is no error.
fn pm(sight: &Sight, dimension: Dimension, value: f64, minus: f64, plus: f64) -> String {
    let write = |w: f64| -> Figure {
        sight.set(match dimension {
            Dimension::Length => write_plus_minus(w, sight.units.style),
            Dimension::Angle => write_angle_plus_minus(w),
            Dimension::Area => write_area_plus_minus(w, value, sight.units.style),
        })
    };
    let largest = minus.max(plus);
    // A length that clicks cancel out of keeps a trace of them in its last digits.
    if largest <= 1e-9 * value.abs() {
        String::new()
    } else if !largest.is_finite() {
        "± ?".to_owned()
    } else {
        if (minus - plus).abs() > 0.1 * largest {
            let (below, above) = (write(minus).text, write(plus).text);
            if below != above {
                return ["−", &below, " +", &above].concat();
            }
        }
        ["± ", &write(largest).text].concat()
    }
}

/// A length on the picture: mm on paper when the picture knows its size, otherwise px.
pub fn on_picture(sight: &Sight, picture: u32, px: f64) -> String {
    let resolution = sight.document.picture(picture).and_then(|p| p.resolution);
    match resolution {
        Some(r) => {
            let mm = px * 25.4 / libm::sqrt(r[0] * r[1]);
            let f = write_unrounded(
                mm,
                if sight.units.style.is_metric() {
                    sight.units.style
                } else {
                    crate::quantity::Style::DecimalInches
                },
            );
            sight.set(f).with_unit()
        }
        None => format!("{} px", sight.number(px, 0)),
    }
}

/// A key that sends an intent.
pub fn key(sight: &Sight, id: &str, intent: Intent) -> Key {
    Key {
        id: id.to_owned(),
        label: sight.word(&format!("key.{id}")),
        weight: Weight::Plain,
        on: false,
        intent: Some(intent),
        page: None,
    }
}

/// A key that the page itself acts on.
pub fn page_key(sight: &Sight, id: &str) -> Key {
    Key {
        id: id.to_owned(),
        label: sight.word(&format!("key.{id}")),
        weight: Weight::Plain,
        on: false,
        intent: None,
        page: Some(id.to_owned()),
    }
}

impl Key {
    /// The filled one.
    pub fn main(mut self) -> Key {
        self.weight = Weight::Main;
        self
    }
    /// Asks for a second touch.
    pub fn guarded(mut self) -> Key {
        self.weight = Weight::Guarded;
        self
    }
    /// Pressed in, or not.
    pub fn pressed(mut self, on: bool) -> Key {
        self.on = on;
        self
    }
    /// With words of its own.
    pub fn labelled(mut self, label: String) -> Key {
        self.label = label;
        self
    }
}

/// Spreads from here on are what first order leaves out (see `mark`): ends that vie for being the farthest, pieces
/// so short that noise lengthens them.
const BEYOND_FIRST_ORDER: u16 = 0x8000;

/// Whether a point wasn't put there by anyone, but found along an edge; the points of holes come after the mark's own.
pub fn is_found(sight: &Sight, mark: u32, point: u16) -> bool {
    let m = sight.document.mark(mark);
    m.is_some_and(|m| m.fitted || m.points.get(usize::from(point)).is_none_or(|p| p.between))
}

/// Where an error comes from, in words.
pub fn source(sight: &Sight, source: Source) -> String {
    let mark = |id: u32| sight.mark_named(id);
    let view = |id: u32| sight.document.view(id).map_or_else(String::new, |v| sight.view_name(v));
    let say = match source {
        Source::Click(m, p, _) if is_found(sight, m, p) => Say::new("source.edge").text("mark", mark(m)),
        Source::Spread(m, part) if (EDGE..BEYOND_FIRST_ORDER).contains(&part) => {
            Say::new("source.edge").text("mark", mark(m))
        }
        Source::Click(m, p, _) => Say::new("source.click")
            .text("mark", mark(m))
            .with("end", crate::words::Arg::Say(Box::new(end_say(sight, m, p)))),
        Source::Spread(m, part) if part >= BEYOND_FIRST_ORDER => {
            Say::new("source.beyond").text("mark", mark(m))
        }
        Source::Spread(m, _) => Say::new("source.spread").text("mark", mark(m)),
        Source::Known(m) => Say::new("source.known").text("mark", mark(m)),
        Source::Corner(v, ..) => Say::new("source.corner").text("view", view(v)),
        Source::Side(v, _) => Say::new("source.side").text("view", view(v)),
        Source::Resolution(_) => Say::new("source.resolution"),
        Source::Stretch(v) => Say::new("source.stretch").text("view", view(v)),
        Source::Centre(..) => Say::new("source.centre"),
        Source::Focal(_) => Say::new("source.focal"),
        Source::Misfit(v, _) => Say::new("source.misfit").text("view", view(v)),
        Source::Lens(..) => Say::new("source.lens"),
        Source::Back(v) => Say::new("source.back").text("view", view(v)),
        Source::Away(v) => Say::new("source.away").text("view", view(v)),
    };
    sight.say(&say)
}

/// Which end a point is, as seen: "left end", "upper end", "corner", "point 3".
pub fn end_say(sight: &Sight, mark: u32, point: u16) -> Say {
    let numbered = || Say::new("end.numbered").count("number", usize::from(point) + 1);
    let Some(m) = sight.document.mark(mark) else { return numbered() };
    if m.points.len() == 1 {
        return Say::new(if m.kind == Kind::Point { "end.point" } else { "end.first" });
    }
    match (m.kind, m.ends) {
        (Kind::Length, crate::mark::Ends::Between) => {
            let (Some(a), Some(b)) =
                (m.points.get(usize::from(point)), m.points.get(usize::from(1 - point.min(1))))
            else {
                return numbered();
            };
            let (dx, dy) = (a.at.x - b.at.x, a.at.y - b.at.y);
            Say::new(match (dx.abs() >= dy.abs(), dx < 0.0, dy < 0.0) {
                (true, true, _) => "end.left",
                (true, false, _) => "end.right",
                (false, _, true) => "end.upper",
                (false, _, false) => "end.lower",
            })
        }
        (Kind::Length, crate::mark::Ends::FromCentre) => {
            Say::new(if point == 0 { "end.middle" } else { "end.end" })
        }
        (Kind::Length, crate::mark::Ends::FromLine) => {
            Say::new(if point < 2 { "end.line" } else { "end.end" })
        }
        (Kind::Angle, _) => Say::new(if point == 1 { "end.corner" } else { "end.arm" }),
        _ => numbered(),
    }
}

/// What a length stands for on a pattern, in words.
pub fn stands_for(sight: &Sight, mark: &Mark) -> Option<String> {
    Some(match mark.on_pattern? {
        OnPattern::Lands { thick, deep } if deep > 0.0 => {
            sight.say(&Say::new("pattern.let-in").length("thick", thick).length("deep", deep))
        }
        OnPattern::Lands { thick, .. } => sight.say(&Say::new("pattern.lands").length("thick", thick)),
        OnPattern::Bevel { degrees } => {
            let digits = if (degrees - libm::round(degrees)).abs() < 1e-9 { 0 } else { 1 };
            sight.say(&Say::new("pattern.bevel").with("degrees", Arg::Number(degrees, digits)))
        }
    })
}

/// What undo or redo would do: "undo.place" and the like, with the mark's number where there is one.
pub fn fact(sight: &Sight, fact: &Intent, way: &str) -> String {
    let (name, mark) = fact_name(fact);
    let number = mark.and_then(|m| sight.document.mark(m)).map(|m| m.number.to_string());
    let what = sight.say(&Say::new(format!("fact.{name}")).text("mark", number.unwrap_or_default()));
    sight.say(&Say::new(format!("{way}.it")).text("what", what.trim().to_owned()))
}

fn fact_name(fact: &Intent) -> (&'static str, Option<u32>) {
    use Intent::*;
    match fact {
        AddPicture { .. } => ("picture", None),
        SetCaption { .. } => ("caption", None),
        RemovePicture { .. } => ("remove-picture", None),
        SetResolution { .. } => ("resolution", None),
        SetDrawingScale { .. } => ("drawing-scale", None),
        AddView { .. } => ("view", None),
        AddViews { .. } => ("views", None),
        MergeViews { .. } => ("merge", None),
        SplitView { .. } => ("split", None),
        ChangeView { .. } => ("change-view", None),
        RemoveView { .. } => ("remove-view", None),
        SquareOn { .. } => ("square-on", None),
        Flat { .. } => ("flat", None),
        Boxed { .. } => ("boxed", None),
        StandsBack { .. } => ("stands-back", None),
        StraightEdge { .. } => ("straight-edge", None),
        ForgetEdges { .. } => ("forget-edges", None),
        KnowLens { .. } => ("know-lens", None),
        Cropped { .. } => ("cropped", None),
        Slanted { .. } => ("slanted", None),
        Formed { mark, .. } => ("formed", Some(*mark)),
        TwoScales { .. } => ("two-scales", None),
        ScaleFrom { .. } => ("scale-from", None),
        Trust { .. } => ("trust", None),
        Place { .. } | Like { .. } | OtherHand { .. } => ("place", None),
        AddPoint { mark, .. } => ("point", Some(*mark)),
        MovePoint { mark, .. } | PutBack { mark, .. } => ("move", Some(*mark)),
        Fit { mark, .. } => ("fit", Some(*mark)),
        Trace { mark, .. } | Follow { mark, .. } => ("trace", Some(*mark)),
        Outlines { .. } => ("outlines", None),
        Shape { mark, work, .. } => (worked(*work), Some(*mark)),
        AddKnot { mark, .. } => ("knot", Some(*mark)),
        TurnKnot { mark, .. } => ("turn", Some(*mark)),
        RemovePoint { mark, .. } => ("remove-point", Some(*mark)),
        Again { mark, .. } => ("again", Some(*mark)),
        DeleteMark { .. } => ("delete", None),
        NameMark { mark, .. } => ("name", Some(*mark)),
        NumberMark { .. } => ("number", None),
        Keep { mark, .. } => ("keep", Some(*mark)),
        SetKnown { mark, .. } => ("known", Some(*mark)),
        ClearKnown { mark } => ("not-known", Some(*mark)),
        Chain { .. } | Unchain { .. } | TakeUp { .. } => ("chain", None),
        SameThing { .. } => ("same", None),
        SetBuild { .. } | SetBuildRatio { .. } | SetBuildPercent { .. } | ClearBuild => ("build", None),
        SetBase { .. } => ("base", None),
        SetUnits { .. } => ("units", None),
        SetSide { .. } => ("side", None),
        SetPattern { mark, .. } => ("pattern", Some(*mark)),
        OnPattern { mark, .. } => ("on-pattern", Some(*mark)),
        PatternOfView { .. } => ("pattern-of-view", None),
        SetPart { mark, .. } => ("part", Some(*mark)),
        SetBought { .. } => ("bought", None),
        AddAxle { .. } | AddPart { .. } | NamePart { .. } | RemovePart { .. } => ("hidden", None),
        SetThing { .. } => ("thing", None),
        SetVane { .. } => ("vane", None),
        Tick { mark, .. } => ("tick", Some(*mark)),
        Pin { .. } => ("pin", None),
        Spot { .. } => ("spot", None),
        SetBoards { .. } | SetAtHand { .. } => ("boards", None),
        SetKerf { .. } => ("kerf", None),
        SetPaper { .. } => ("paper", None),
        ShiftSheets { .. } => ("shift", None),
        SetPrinter { .. } => ("printer", None),
        _ => ("name-job", None),
    }
}

fn worked(work: Work) -> &'static str {
    match work {
        Work::Smooth => "smooth",
        Work::Fair => "fair",
        Work::Join => "join",
        Work::Cut => "cut",
        Work::Even => "even",
    }
}

impl From<String> for Traced {
    fn from(text: String) -> Traced {
        Traced { text, leads: None }
    }
}

impl Traced {
    /// What leads somewhere.
    pub fn to(text: String, leads: Intent) -> Traced {
        Traced { text, leads: Some(leads) }
    }
}
