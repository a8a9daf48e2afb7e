//! The fit of a rectangle's corners, jointly with the true lengths.

use super::corners::upright;
use super::knowns::{Known, Knowns, Rectangle, RectangleOf, Side};
use super::lengths::{Fitted, fitted, row, start_scale};
use super::map::{MOST, Model, Shape};
use crate::estimate::{Part, Row, Source, solve};
use crate::words::Say;

/// The map from the rectangle's corners and `sides` and the pulling lengths: one weighted least squares.
///
/// A sheet gives the shape only; its scale comes from the lengths, or is `per_sheet` real mm a mm of sheet
/// where there are none.
///
/// # References
/// Criminisi, Reid & Zisserman, "A Plane Measuring Device", BMVC 1997, §4, for covariance to first order.
pub(crate) fn fit_rectangle(
    knowns: &Knowns,
    rectangle: &Rectangle,
    sides: [Side; 2],
    pulling: &[&Known],
    per_sheet: f64,
) -> Result<Fitted, Say> {
    let turn = upright(&rectangle.corners.map(|c| c.at), knowns.tilt);
    let shape = Shape::Corners { turn };
    let free = rectangle.of == RectangleOf::Sheet && !pulling.is_empty();
    let scale = match rectangle.of {
        RectangleOf::Thing => 1.0,
        RectangleOf::Sheet if free => {
            // Real mm a mm of sheet.
            let model = Model::at(&shape, &start(rectangle, sides, 1.0))?;
            start_scale(&model, pulling.iter().copied())?
        }
        RectangleOf::Sheet => per_sheet,
    };
    let start = start(rectangle, sides, scale);
    let solved = solve(&start, |theta| {
        let model = Model::at(&shape, theta)?;
        let mut rows = corner_rows(rectangle, theta);
        rows.extend(side_rows(knowns.view, sides, theta, free, scale));
        for known in pulling {
            rows.push(row(&model, known)?);
        }
        Ok(rows)
    })?;
    let lengths_from = solved.left.len() - pulling.len();
    fitted(&shape, solved.theta.clone(), &solved, lengths_from)
}

/// The corners where they were put, the sides as given × `scale`.
fn start(rectangle: &Rectangle, [width, height]: [Side; 2], scale: f64) -> Vec<f64> {
    let corners = rectangle.corners.iter().flat_map(|c| [c.at.x, c.at.y]);
    corners.chain([width.mm * scale, height.mm * scale]).collect()
}

/// Each corner's unknown less where it was put, in px.
fn corner_rows(rectangle: &Rectangle, theta: &[f64]) -> Vec<Row> {
    let mut rows = Vec::with_capacity(MOST);
    for (k, click) in rectangle.corners.iter().enumerate() {
        for (axis, at) in [click.at.x, click.at.y].into_iter().enumerate() {
            let i = 2 * k + axis;
            let mut slope = [0.0; 2];
            slope[axis] = -1.0;
            let mut parts = click.parts(slope);
            parts.retain(|p| p.effect != 0.0);
            rows.push(Row { residual: theta[i] - at, slope: unit(i, 1.0), parts });
        }
    }
    rows
}

fn unit(i: usize, value: f64) -> Vec<f64> {
    let mut slope = vec![0.0; MOST];
    slope[i] = value;
    slope
}

/// The sides: each as given × `scale`, or, where the scale is `free`, only their proportion. In mm.
fn side_rows(view: u32, [w, h]: [Side; 2], theta: &[f64], free: bool, scale: f64) -> Vec<Row> {
    let (width, height) = (theta[8], theta[9]);
    let part =
        |side: u8, effect: f64| Part { source: Source::Side(view, side), effect, freedom: f64::INFINITY };
    // A side stated without error would leave its row without weight; a micrometre is nobody's paper.
    let (u_width, u_height) = (w.u.max(1e-6 * w.mm), h.u.max(1e-6 * h.mm));
    if free {
        let shape = h.mm / w.mm;
        let mut slope = unit(8, shape);
        slope[9] = -1.0;
        let parts = vec![part(0, -width * shape / w.mm * u_width), part(1, width / w.mm * u_height)];
        return vec![Row { residual: width * shape - height, slope, parts }];
    }
    vec![
        Row { residual: width - scale * w.mm, slope: unit(8, 1.0), parts: vec![part(0, -scale * u_width)] },
        Row { residual: height - scale * h.mm, slope: unit(9, 1.0), parts: vec![part(1, -scale * u_height)] },
    ]
}
