//! The sheet by which a printer is measured: one long bar across, one down, and what to do.

use super::draw::{Anchor, Drawing, Item, Line, Path, Pen};
use super::joint::Strip;
use super::paper::Stock;
use super::write::Writing;
use crate::plane::Point;
use crate::words::Say;

const BAR: Pen = Pen { width: 0.25, line: Line::Solid };
/// Half the length of the ticks at a bar's ends, mm.
const TICK: f64 = 7.0;
/// Where the bar down begins, mm below the one across.
const DOWN: f64 = 16.0;
/// Room round the bars, mm.
const EDGE: f64 = 3.0;

/// How long its bars are drawn, mm: as long as this paper takes, in whole inches or whole centimetres.
pub fn bars(stock: &Stock, metric: bool) -> [f64; 2] {
    let strip = Strip::of(stock);
    let [w, h] = stock.printable();
    let step = if metric { 10.0 } else { 25.4 };
    // Longer than anyone's rule is no help.
    let whole = |room: f64| libm::floor((room / step).min(1000.0 / step)) * step;
    [whole(w - strip.right - 2.0 * EDGE), whole(h - strip.below - 2.0 * EDGE - DOWN)]
}

/// The sheet's drawing.
pub fn drawing(stock: &Stock, said: &Writing<'_>) -> Drawing {
    let [across, down] = bars(stock, said.style().is_metric());
    let mut items = Vec::new();
    let mut bar = |from: [f64; 2], along: usize, length: f64| {
        let at =
            |u: f64, v: f64| if along == 0 { [from[0] + u, from[1] + v] } else { [from[0] + v, from[1] + u] };
        for ends in [
            [at(0.0, 0.0), at(length, 0.0)],
            [at(0.0, -TICK), at(0.0, TICK)],
            [at(length, -TICK), at(length, TICK)],
        ] {
            let path = Path::line(&ends.map(Point::from));
            items.push(Item::Path { path, pen: Some(BAR), fill: None });
        }
    };
    bar([EDGE, EDGE + TICK], 0, across);
    bar([EDGE + TICK, EDGE + DOWN], 1, down);
    let left = EDGE + 4.0 * TICK;
    let words = [
        said.tell(&Say::new("sheet.test-across").length("length", across)),
        said.tell(&Say::new("sheet.test-down").length("length", down)),
        said.word("sheet.test-print"),
        said.word("sheet.test-measure"),
        said.word("sheet.test-type"),
    ];
    for (i, text) in words.into_iter().enumerate() {
        let at = Point::new(left, EDGE + 3.5 * TICK + 9.0 * i as f64);
        items.push(Item::Text {
            at,
            size: 4.6,
            turn: 0.0,
            anchor: Anchor::Start,
            bold: i < 2,
            ground: false,
            text,
        });
    }
    let size = [across + 2.0 * EDGE, down + DOWN + 2.0 * EDGE];
    Drawing { size, items, title: said.word("sheet.test"), ..Drawing::default() }
}
