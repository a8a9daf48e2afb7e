//! The map of a view: where a point of the picture lies on the thing, and how that moves with everything
//! that went into it.

use super::corners::Corners;
use super::knowns::{Click, Span};
use super::lens::{Lens, TERMS};
use super::span;
use super::tilted::Tilted;
use crate::estimate::Estimate;
use crate::plane::{Homography, Paper, Picture, Point, Real};
use crate::words::Say;

/// The most unknowns any map has: four corners, width and height.
pub(crate) const MOST: usize = 10;

/// d(real) / d(unknown) for each unknown of a map, in mm over the unknown's own unit. Reads as a slice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Partials {
    cells: [[f64; 2]; MOST + TERMS],
    count: usize,
}

impl Partials {
    /// From at most [`MOST`] cells; any more are left out.
    pub(crate) fn of(list: &[[f64; 2]]) -> Partials {
        let mut cells = [[0.0; 2]; MOST + TERMS];
        let count = list.len().min(MOST);
        cells[..count].copy_from_slice(&list[..count]);
        Partials { cells, count }
    }

    /// The same with those by a lens's errors after them.
    fn and(mut self, more: &[[f64; 2]; TERMS]) -> Partials {
        self.cells[self.count..self.count + TERMS].copy_from_slice(more);
        self.count += TERMS;
        self
    }
}

impl std::ops::Deref for Partials {
    type Target = [[f64; 2]];
    fn deref(&self) -> &[[f64; 2]] {
        &self.cells[..self.count]
    }
}

/// A point of the picture as it lies on the thing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Where it lies, in real mm.
    pub real: Point<Real>,
    /// d(real)/d(picture), `[[dX/dx, dX/dy], [dY/dx, dY/dy]]`, in mm a px.
    pub d_at: [[f64; 2]; 2],
    /// d(real)/d(unknown) for each of [`ViewMap::params`], in their order.
    pub d_params: Partials,
}

/// What kind of map, with the numbers that are not unknowns.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    /// real = diag(θ₀, θ₁) · `level` · px. One scale is θ₀ = θ₁.
    Scales {
        /// Turns the picture to the view's level axis, in px or in mm of paper.
        level: [[f64; 2]; 2],
    },
    /// θ: the four corners of a rectangle in picture px (x, y each), its width and its height in mm.
    Corners {
        /// Signed permutation that turns the rectangle's own axes nearest to the view's.
        turn: [[f64; 2]; 2],
    },
    /// θ: where the plane runs out, f², the picture's centre, a scale (see [`Tilted`]).
    Tilted {
        /// Turns the plane's axes to those of what is on it.
        turn: [[f64; 2]; 2],
    },
}

/// What a map at a slant has worked out to place with.
#[derive(Clone, Debug, PartialEq)]
enum Slanting {
    Corners(Box<Corners>),
    Tilted(Tilted),
}

/// A map at one value of its unknowns.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Model {
    pub shape: Shape,
    pub theta: Vec<f64>,
    forward: Homography<Picture, Real>,
    slanting: Option<Slanting>,
}

impl Model {
    /// # Errors
    /// `view.no-map` when θ is no map: a scale that isn't positive, corners that don't stand square round.
    pub fn at(shape: &Shape, theta: &[f64]) -> Result<Model, Say> {
        let none = || Say::new("view.no-map");
        let (forward, slanting) = match (shape, theta) {
            (Shape::Scales { level: [a, b] }, &[across, along]) => {
                if !(across > 0.0 && along > 0.0 && across.is_finite() && along.is_finite()) {
                    return Err(none());
                }
                let rows =
                    [[across * a[0], across * a[1], 0.0], [along * b[0], along * b[1], 0.0], [0.0, 0.0, 1.0]];
                (Homography::from_rows(rows), None)
            }
            (Shape::Corners { turn }, theta) => {
                let corners = Corners::at(turn, theta).ok_or_else(none)?;
                (*corners.forward(), Some(Slanting::Corners(Box::new(corners))))
            }
            (Shape::Tilted { turn }, theta) => {
                let tilted = Tilted::at(turn, theta).ok_or_else(none)?;
                (*tilted.forward(), Some(Slanting::Tilted(tilted)))
            }
            _ => return Err(none()),
        };
        Ok(Model { shape: shape.clone(), theta: theta.to_vec(), forward, slanting })
    }

    pub fn place(&self, p: Point<Picture>) -> Result<Placed, Say> {
        let beyond = || Say::new("view.beyond-horizon");
        let placed = match (&self.shape, &self.slanting) {
            (_, Some(Slanting::Corners(corners))) => corners.place(p),
            (_, Some(Slanting::Tilted(tilted))) => tilted.place(p),
            (Shape::Scales { level: [a, b] }, _) => {
                let (x, y) = (a[0] * p.x + a[1] * p.y, b[0] * p.x + b[1] * p.y);
                let (across, along) = (self.theta[0], self.theta[1]);
                Some(Placed {
                    real: Point::new(across * x, along * y),
                    d_at: [a.map(|v| v * across), b.map(|v| v * along)],
                    d_params: Partials::of(&[[x, 0.0], [0.0, y]]),
                })
            }
            _ => None,
        };
        placed.filter(|q| q.real.is_finite()).ok_or_else(beyond)
    }
}

/// From the picture to the thing, on one view.
#[derive(Clone, Debug, PartialEq)]
pub struct ViewMap {
    model: Model,
    params: Vec<Estimate>,
    back: Homography<Real, Picture>,
    paper: Option<Homography<Picture, Paper>>,
    lens: Option<Lens>,
}

impl ViewMap {
    pub(crate) fn new(
        model: Model,
        params: Vec<Estimate>,
        paper: Option<Homography<Picture, Paper>>,
    ) -> Result<ViewMap, Say> {
        let back = model.forward.inverse().ok_or_else(|| Say::new("view.no-map"))?;
        Ok(ViewMap { model, params, back, paper, lens: None })
    }

    /// Takes the bend of `lens` out of every place before it is carried to the thing.
    pub(super) fn put_behind(&mut self, lens: Lens) {
        self.params.extend(lens.errors());
        self.lens = Some(lens);
    }

    /// How far the camera stands from the plane, in real mm, where the map has a camera: the depth on the axis is scale × f,
    /// and as much less square to the plane as the plane is steep.
    pub(crate) fn away(&self) -> Option<Estimate> {
        let (Shape::Tilted { .. }, [a, b, f2, _, _, scale, ..]) = (&self.model.shape, &self.params[..])
        else {
            return None;
        };
        let square = a.value * a.value + b.value * b.value;
        let steep2 = 1.0 + f2.value * square;
        let away = scale.value * libm::sqrt(f2.value / steep2);
        // ln away = ln scale + ½·ln f² − ½·ln(1 + f²·|α|²)
        let by_f2 = 0.5 / f2.value - 0.5 * square / steep2;
        let by = |x: f64| -away * f2.value * x / steep2;
        let terms = [(by(a.value), a), (by(b.value), b), (away * by_f2, f2), (away / scale.value, scale)];
        away.is_finite().then(|| Estimate::combine(away, &terms))
    }

    /// The map of a plane that is parallel to this one and `times` as far away: everything on it is as many times larger.
    ///
    /// # Errors
    /// `view.no-map` unless `times` is more than nothing.
    pub(crate) fn grown(&self, times: &Estimate) -> Result<ViewMap, Say> {
        let scales = match self.model.shape {
            Shape::Scales { .. } => 0..2,
            Shape::Corners { .. } => 8..10,
            Shape::Tilted { .. } => 5..6,
        };
        let mut params = self.params.clone();
        for param in params.get_mut(scales).into_iter().flatten() {
            let (k, was) = (times.value, param.value);
            *param = Estimate::combine(was * k, &[(k, param), (was, times)]);
        }
        let own = self.model.theta.len();
        let theta: Vec<f64> = params.iter().take(own).map(|p| p.value).collect();
        let mut map = ViewMap::new(Model::at(&self.model.shape, &theta)?, params, self.paper)?;
        map.lens = self.lens.clone();
        Ok(map)
    }

    /// The lens whose bend is taken out.
    pub fn lens(&self) -> Option<&Lens> {
        self.lens.as_ref()
    }

    /// The map itself, from picture px to real mm; behind a lens, from px of the picture without its bend.
    pub fn homography(&self) -> &Homography<Picture, Real> {
        &self.model.forward
    }

    /// The unknowns that were fitted, with what every source does to them: two scales (across, along, the
    /// same when there is one); or the four corners (x, y each, picture px), width and height (mm); or, of a plane seen by a
    /// camera, its horizon (2, a px), f² (px²), the picture's centre (2, px) and a scale (mm a px). Behind a lens its errors
    /// come after them.
    pub fn params(&self) -> &[Estimate] {
        &self.params
    }

    /// Where `p` lies on the thing, with its partials.
    ///
    /// # Errors
    /// `view.beyond-horizon` when `p` lies on or beyond the horizon of a slanted view, `view.beyond-lens` where the lens
    /// can't have shown anything.
    pub fn place(&self, p: Point<Picture>) -> Result<Placed, Say> {
        let Some(lens) = &self.lens else { return self.model.place(p) };
        let straight = lens.slopes(p).ok_or_else(|| Say::new("view.beyond-lens"))?;
        let Placed { real, d_at: [a, b], d_params } = self.model.place(straight.at)?;
        let along = |[x, y]: [f64; 2]| [a[0] * x + a[1] * y, b[0] * x + b[1] * y];
        let [[xx, xy], [yx, yy]] = straight.d_at;
        let (by_x, by_y) = (along([xx, yx]), along([xy, yy]));
        Ok(Placed {
            real,
            d_at: [[by_x[0], by_y[0]], [by_x[1], by_y[1]]],
            d_params: d_params.and(&lens.sways(&straight.d_terms).map(along)),
        })
    }

    /// Where a point of the thing is seen on the picture; `None` beyond the horizon.
    pub fn unplace(&self, p: Point<Real>) -> Option<Point<Picture>> {
        let straight = self.back.apply(p)?;
        self.lens.as_ref().map_or(Some(straight), |lens| lens.bow(straight))
    }

    /// Where `p` lies on the paper, in mm of paper, when the resolution of the file or the rectangle of the
    /// sheet tells; `None` otherwise.
    pub fn to_sheet(&self, p: Point<Picture>) -> Option<Point<Paper>> {
        let straight = self.lens.as_ref().map_or(Some(p), |lens| lens.straighten(p))?;
        self.paper.as_ref()?.apply(straight)
    }

    /// The map to mm of paper, when it is known; as [`ViewMap::homography`] behind a lens.
    pub fn sheet(&self) -> Option<&Homography<Picture, Paper>> {
        self.paper.as_ref()
    }

    /// The real length of `span`, in mm.
    ///
    /// # Errors
    /// As for [`ViewMap::place`], and `view.same-place` when the span has no length.
    pub fn measure(&self, span: &Span) -> Result<Estimate, Say> {
        let run = span::measured(|p| self.place(p), self.params.len(), span)?;
        Ok(self.estimate(run.value, &run.by_params, run.by_clicks))
    }

    /// The place of `click`, each coordinate in real mm.
    ///
    /// # Errors
    /// As for [`ViewMap::place`].
    pub fn locate(&self, click: &Click) -> Result<[Estimate; 2], Say> {
        let placed = self.place(click.at)?;
        let one = |axis: usize, value: f64| {
            let by_params: Vec<f64> = placed.d_params.iter().map(|d| d[axis]).collect();
            self.estimate(value, &by_params, click.parts(placed.d_at[axis]))
        };
        Ok([one(0, placed.real.x), one(1, placed.real.y)])
    }

    /// A value from its slope by each unknown and the parts that the clicks give it directly.
    pub fn estimate(&self, value: f64, by_params: &[f64], mut parts: Vec<crate::estimate::Part>) -> Estimate {
        let terms: Vec<(f64, &Estimate)> = by_params.iter().copied().zip(&self.params).collect();
        parts.extend_from_slice(Estimate::combine(value, &terms).parts());
        Estimate::from_parts(value, parts)
    }
}
