//! What a view's map is fitted to besides its true lengths: its rectangle, the camera, shapes that are vouched for.

use super::document::{BoxGiven, Document, Mark, Placing, Sheet, View};
use super::intent::RectangleOf;
use super::reckon::clicks;
use crate::estimate::Source;
use crate::fault::{Area, spoil};
use crate::mark::{Ends, Kind};
use crate::view::{self, Boxed, Camera, Click, Form, Formed, Known, Rectangle, Side, Span};
use std::rc::Rc;

/// What the picture's file and its person say of the camera.
pub(super) fn camera(picture: &Sheet) -> Camera {
    Camera {
        picture: picture.id,
        size: [f64::from(picture.width), f64::from(picture.height)],
        focal_35mm: picture.focal_35mm,
        cropped: picture.cropped,
    }
}

/// The shape that a mark has in life, where a person vouched for it.
pub(super) fn formed(mark: &Mark) -> Option<Formed> {
    if !mark.formed {
        return None;
    }
    let clicks = clicks(mark.id, &mark.points);
    let four = |c: Vec<Click>| <[Click; 4]>::try_from(c).ok();
    let form = match mark.kind {
        Kind::Gap => Form::Parallel(four(clicks)?),
        Kind::Crossing => Form::Square(four(clicks)?),
        Kind::Angle => match &clicks[..] {
            [a, b, c] => Form::Square([*b, *a, *b, *c]),
            _ => return None,
        },
        Kind::Circle => Form::Round(clicks),
        _ => return None,
    };
    Some(Formed { mark: mark.id, form })
}

/// A corner of what is named by `view`, as a click.
fn corner(view: u32, i: u8, p: &Placing) -> Click {
    Click {
        at: p.at,
        sigma: p.worst(),
        cov: p.cov(),
        source: [Source::Corner(view, i, 0), Source::Corner(view, i, 1)],
        freedom: f64::INFINITY,
        bent: None,
    }
}

/// A box as it was given.
pub(super) fn boxed(given: &BoxGiven) -> Boxed {
    Boxed {
        view: given.id,
        corners: [0, 1, 2, 3, 4, 5, 6, 7]
            .map(|k: u8| given.corners[usize::from(k)].as_ref().map(|p| corner(given.id, k, p))),
        edges: given.edges.map(|e| e.map(|(mm, u)| Side { mm, u })),
    }
}

/// The span of a length, or of something round, whose points are all there.
pub(super) fn span(mark: &Mark) -> Option<Span> {
    let c = clicks(mark.id, &mark.points);
    match mark.kind {
        Kind::Length => {}
        Kind::Circle => return (c.len() >= 3).then_some(Span::Round(c)),
        _ => return None,
    }
    match mark.ends {
        Ends::Between => <[Click; 2]>::try_from(c).ok().map(Span::Between),
        Ends::FromCentre => <[Click; 2]>::try_from(c).ok().map(Span::FromCentre),
        Ends::FromLine => <[Click; 3]>::try_from(c).ok().map(Span::FromLine),
    }
}

/// What turns a view square-on.
pub(super) fn rectangle(view: &View) -> Option<Rectangle> {
    let r = view.rectangle.as_ref()?;
    let corner = |i: u8| corner(view.id, i, &r.corners[usize::from(i)]);
    Some(Rectangle {
        corners: [corner(0), corner(1), corner(2), corner(3)],
        sides: [0, 1].map(|i| {
            let spoilt = if i == 0 { spoil(Area::View, 1.005) } else { 1.0 };
            r.size[i].map(|mm| Side { mm: mm * spoilt, u: r.u[i] })
        }),
        of: match r.of {
            RectangleOf::Thing => view::RectangleOf::Thing,
            RectangleOf::Sheet => view::RectangleOf::Sheet,
        },
    })
}

/// A side of a box, and everything that the box is found from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct OnBox {
    pub boxed: Boxed,
    pub side: u8,
    /// True and check lengths on all its sides.
    pub knowns: Vec<(u8, Known)>,
}

impl OnBox {
    /// `on` tells the view of each mark, in the document's order.
    pub fn of(document: &Document, on: &[Option<u32>], view: &View) -> Option<OnBox> {
        let face = view.face?;
        let given = document.boxes.iter().find(|b| b.id == face.of)?;
        let lies = |(m, v): (&Rc<Mark>, &Option<u32>)| {
            let on = document.view((*v)?)?.face.filter(|f| f.of == face.of)?;
            Some((on.side, super::reckon::known(m)?))
        };
        let knowns = document.marks.iter().zip(on).filter_map(lies).collect();
        Some(OnBox { boxed: boxed(given), side: face.side, knowns })
    }
}
