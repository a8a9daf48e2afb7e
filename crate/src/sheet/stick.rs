//! A story stick: every mark of one direction at full size from one end, on a strip an inch wide, and as a list.
//!
//! Marks are drawn where they are told: rounded from the datum ([`mod@crate::finish::running`]), so that the stick and a tape
//! hooked on its end agree. A neighbour's thickness is drawn as it is, since joints are fitted.

use super::draw::{Anchor, Drawing};
use super::order::{Stick, StickMark};
use super::outline::fits;
use super::pattern::below;
use super::sketch::{FINE, MEDIUM, OUTLINE, Sketch};
use super::table;
use super::write::{LEAST, MAIN, SMALL, TITLE, Writing, clean};
use crate::fault::{Area, spoil};
use crate::finish::running_positions;
use crate::plane::{Finished, Point};
use crate::quantity::units::MM_PER_INCH;
use crate::words::Say;

type P = Point<Finished>;

/// How wide the strip is, mm.
pub const WIDE: f64 = MM_PER_INCH;
/// Where both edges are used a mark reaches this far in from its own, mm.
const DEEP: f64 = 11.5;
/// Room left round the strip, mm.
const MARGIN: f64 = 5.0;
/// No stick has more marks.
const MOST: usize = 2_000;

/// A mark as it is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Told<'a> {
    /// From the datum, rounded, mm.
    pub at: f64,
    /// The mark.
    pub mark: &'a StickMark,
}

/// The marks in order, edge by edge, each rounded from the datum.
///
/// # Errors
/// `sheet.not-finite`, `sheet.too-long`, `sheet.too-small` for a stick that can't be drawn; `sheet.stick-beyond` for a mark that
/// stands off it; `sheet.stick-many`.
pub fn told<'a>(stick: &'a Stick, words: &Writing<'_>) -> Result<Vec<Told<'a>>, Say> {
    fits(stick.length, WIDE)?;
    if !(stick.length > 0.0) {
        return Err(Say::new("sheet.too-small"));
    }
    if stick.marks.len() > MOST {
        return Err(Say::new("sheet.stick-many").count("count", stick.marks.len()));
    }
    let mut marks: Vec<&StickMark> = stick.marks.iter().collect();
    for mark in &marks {
        if !(mark.at.is_finite() && mark.thick.is_finite()) {
            return Err(Say::new("sheet.not-finite"));
        }
        // A half step over is what rounding leaves.
        let over = mark.at + mark.thick > stick.length + words.step().mm();
        if over || mark.at < -words.step().mm() || mark.thick < 0.0 {
            return Err(Say::new("sheet.stick-beyond")
                .text("what", mark.text.clone())
                .length("size", mark.at));
        }
    }
    crate::order::sort_by(&mut marks, |a, b| a.edge.cmp(&b.edge).then(a.at.total_cmp(&b.at)));
    let from: Vec<f64> = std::iter::once(0.0).chain(marks.iter().map(|m| m.at)).collect();
    let rounded = running_positions(&from, words.step(), words.direction())?.positions;
    Ok(marks.into_iter().zip(rounded).map(|(mark, at)| Told { at, mark }).collect())
}

/// "24 1/16 in: Shelf, 23/32 in", line by line.
///
/// # Errors
/// As [`told`].
pub fn running_list(stick: &Stick, words: &Writing<'_>) -> Result<Vec<String>, Say> {
    let line = |t: &Told<'_>| {
        let say = Say::new(if t.mark.thick > 0.0 { "sheet.stick-thick" } else { "sheet.stick-line" });
        let say = say.text("size", words.length(t.at)).text("what", t.mark.text.clone());
        words.tell(&say.text("thick", words.fine(t.mark.thick)))
    };
    Ok(told(stick, words)?.iter().map(line).collect())
}

/// The stick, and its list.
///
/// # Errors
/// As [`told`].
pub fn drawings(stick: &Stick, words: &Writing<'_>) -> Result<Vec<Drawing>, Say> {
    let marks = told(stick, words)?;
    let title = words.tell(&Say::new("sheet.stick").text("what", stick.title.clone()));
    Ok(vec![strip(stick, &marks, &title, words), list(stick, &marks, &title, words)])
}

fn strip(stick: &Stick, marks: &[Told<'_>], title: &str, words: &Writing<'_>) -> Drawing {
    let mut sketch = Sketch::new(words);
    let long = stick.length;
    sketch.lines(&[[0.0, 0.0], [long, 0.0], [long, WIDE], [0.0, WIDE]].map(P::from), true, OUTLINE);
    // The datum end, heavy, and its name beside it.
    sketch.black(&[[0.0, 0.0], [0.8, 0.0], [0.8, WIDE], [0.0, WIDE]].map(P::from));
    let datum = words.fit(&stick.datum, MAIN, true, 60.0);
    sketch.text(P::new(-2.0, WIDE / 2.0 + 1.8), MAIN, 0.0, Anchor::End, true, &datum);
    let both = marks.iter().any(|m| m.mark.edge > 0) && marks.iter().any(|m| m.mark.edge == 0);
    let deep = if both { DEEP } else { WIDE };
    let edges = |m: &StickMark| if m.edge == 0 { (0.0, deep) } else { (WIDE, WIDE - deep) };
    for Told { at, mark } in marks {
        let at = at * spoil(Area::Stick, 1.001);
        let (edge, inner) = edges(mark);
        let line = |x: f64| [P::new(x, edge), P::new(x, inner)];
        sketch.lines(&line(at), false, MEDIUM);
        if mark.thick > 0.0 {
            let far = at + mark.thick;
            sketch.lines(&line(far), false, MEDIUM);
            sketch.lines(&[P::new(at, edge), P::new(far, inner)], false, FINE);
            sketch.lines(&[P::new(at, inner), P::new(far, edge)], false, FINE);
        }
    }
    for Told { at, mark } in marks {
        let (edge, inner) = edges(mark);
        write(&mut sketch, *at, mark, (edge.min(inner), edge.max(inner)), words);
    }
    let end = words.tell(&Say::new("sheet.stick-long").length("size", long));
    sketch.text(P::new(long + 2.0, WIDE / 2.0 + 1.4), SMALL, 0.0, Anchor::Start, false, &end);
    let lines = [
        (title.to_owned(), MAIN, true),
        (words.word("sheet.full-size"), SMALL, true),
        (words.made(), SMALL, false),
    ];
    below(&mut sketch, &lines.into());
    sketch.finish(title, MARGIN)
}

/// A mark's running size and its name in the first place that is free: beside it in a row, else the size alone, upright.
fn write(sketch: &mut Sketch<'_>, at: f64, mark: &StickMark, (top, bottom): (f64, f64), words: &Writing<'_>) {
    let figure = words.length(at);
    let name = clean(&mark.text);
    let say = Say::new("sheet.stick-line").text("size", figure.clone()).text("what", name.clone());
    let whole = if name.is_empty() { figure.clone() } else { words.tell(&say) };
    let far = at + mark.thick;
    let rows = libm::floor((bottom - top - 1.0) / (SMALL * 1.15)).max(1.0);
    let row = |k: usize| P::new(0.0, top + 1.0 + SMALL * (0.8 + 1.15 * k as f64));
    for text in [&whole, &figure] {
        for k in 0..rows as usize {
            for (x, anchor) in [(far + 1.0, Anchor::Start), (at - 1.0, Anchor::End)] {
                let p = P::new(x, row(k).y);
                let quad = sketch.box_of(p, SMALL, 0.0, anchor, false, text);
                if quad.bounds()[0] >= 0.0 && sketch.taken.is_free(&quad) {
                    return sketch.text(p, SMALL, 0.0, anchor, false, text);
                }
            }
        }
    }
    // Upright, its foot towards the strip's lower edge.
    let turn = -std::f64::consts::FRAC_PI_2;
    let spots = [at - 0.9, far + LEAST + 0.3].map(|x| P::new(x, bottom - 0.7));
    let free = |p: &&P| sketch.taken.is_free(&sketch.box_of(**p, LEAST, turn, Anchor::Start, false, &figure));
    let spot = spots.iter().find(free).copied();
    if let Some(p) = spot {
        sketch.text(p, LEAST, turn, Anchor::Start, false, &figure);
    }
}

fn list(stick: &Stick, marks: &[Told<'_>], title: &str, words: &Writing<'_>) -> Drawing {
    let mut sketch = Sketch::new(words);
    let datum = words.tell(&Say::new("sheet.stick-from").text("what", stick.datum.clone()));
    let lines = [(title.to_owned(), TITLE * 0.8, true), (datum, MAIN, false)];
    sketch.block(P::new(0.0, 0.0), &lines);
    let top = sketch.block_size(&lines)[1] + 2.0;
    let heads = ["sheet.head-size", "sheet.head-mark", "sheet.head-thick"].map(|k| words.word(k));
    let both = marks.iter().any(|m| m.mark.edge > 0);
    let rows: Vec<Vec<String>> = marks
        .iter()
        .map(|Told { at, mark }| {
            let thick = if mark.thick > 0.0 { words.fine(mark.thick) } else { String::new() };
            let name = clean(&mark.text);
            let edge = Say::new("sheet.second-edge").text("what", name.clone());
            let name = if both && mark.edge > 0 { words.tell(&edge) } else { name };
            vec![words.length(*at), name, thick]
        })
        .chain([vec![words.length(stick.length), words.word("sheet.end"), String::new()]])
        .collect();
    table::draw(&mut sketch, P::new(0.0, top), &heads, &rows, &[1]);
    below(&mut sketch, &vec![(words.made(), SMALL, false)]);
    let title = words.tell(&Say::new("sheet.running").text("what", stick.title.clone()));
    sketch.finish(&title, MARGIN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::draw::Item;
    use crate::sheet::trial::{look, order, texts};
    use crate::sheet::write::estimate;

    const IN: f64 = 25.4;

    fn mark(at: f64, text: &str, thick: f64, edge: u8) -> StickMark {
        StickMark { at, text: text.to_owned(), thick, edge }
    }

    fn bookcase() -> Stick {
        let mut marks: Vec<StickMark> = (1..=5)
            .map(|k| mark(f64::from(k) * 11.713 * IN, &format!("Shelf {k}"), 23.0 / 32.0 * IN, 0))
            .collect();
        marks.push(mark(0.0, "Plinth", 3.5 * IN, 0));
        marks.push(mark(15.25 * IN, "Hinge", 0.0, 1));
        marks.push(mark(15.4 * IN, "Screw", 0.0, 1));
        marks.push(mark(15.5 * IN, "Screw", 0.0, 1));
        Stick { title: "height, front".to_owned(), datum: "FLOOR".to_owned(), marks, length: 72.0 * IN }
    }

    #[test]
    fn marks_are_rounded_from_the_datum() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let stick = bookcase();
        let marks = told(&stick, &words).unwrap();
        // 11.713 in at 1/16, each from the datum: 187.4 374.8 562.2 749.6 937.0 sixteenths, by hand.
        let sixteenths: Vec<f64> = marks.iter().map(|m| m.at / IN * 16.0).collect();
        for (got, by_hand) in
            sixteenths.iter().zip([0.0, 187.0, 375.0, 562.0, 750.0, 937.0, 244.0, 246.0, 248.0])
        {
            assert!((got - by_hand).abs() < 1e-9, "{sixteenths:?}");
        }
        let list = running_list(&stick, &words).unwrap();
        assert_eq!(list[1], "11 11⁄16\u{a0}in\u{a0}\u{a0}Shelf 1, 23⁄32\u{a0}in");
        let all = drawings(&stick, &words).unwrap();
        look("stick", &all[0]);
        look("list", &all[1]);
        let strip = &all[0];
        assert!(strip.size[0] > 72.0 * IN && strip.size[0] < 72.0 * IN + 110.0, "{:?}", strip.size);
        assert!(strip.size[1] < 70.0);
        assert!(texts(strip).contains(&"FLOOR"));
        assert!(texts(&all[1]).iter().any(|t| t.contains("35 1⁄8")));
    }

    #[test]
    fn what_can_not_be_a_stick() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let key = |s: &Stick| drawings(s, &words).map(|_| ()).map_err(|e| e.key.into_owned());
        for (length, expected) in
            [(0.0, "sheet.too-small"), (41_000.0, "sheet.too-long"), (f64::NAN, "sheet.not-finite")]
        {
            assert_eq!(key(&Stick { length, ..bookcase() }), Err(expected.to_owned()));
        }
        let with = |m: StickMark| Stick { marks: vec![m], ..bookcase() };
        assert_eq!(key(&with(mark(f64::NAN, "", 0.0, 0))), Err("sheet.not-finite".to_owned()));
        assert_eq!(key(&with(mark(80.0 * IN, "", 0.0, 0))), Err("sheet.stick-beyond".to_owned()));
        assert_eq!(key(&with(mark(-8.0, "", 0.0, 0))), Err("sheet.stick-beyond".to_owned()));
        assert_eq!(key(&Stick { marks: Vec::new(), ..bookcase() }), Ok(()));
    }

    #[test]
    fn crowded_marks_do_not_collide() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let marks = (0..60).map(|k| mark(f64::from(k) * 5.0, "A long name of a mark", 0.0, 0)).collect();
        let d = drawings(&Stick { marks, ..bookcase() }, &words).unwrap();
        look("crowded", &d[0]);
        let sketch = Sketch::new(&words);
        let boxes: Vec<_> = d[0]
            .items
            .iter()
            .filter_map(|i| match i {
                Item::Text { at, size, turn, anchor, bold, text, .. } => {
                    Some(sketch.box_of(*at, size * 0.85, *turn, *anchor, *bold, text))
                }
                _ => None,
            })
            .collect();
        for (i, a) in boxes.iter().enumerate() {
            assert!(boxes[i + 1..].iter().all(|b| !a.overlaps(b)));
        }
        assert!(boxes.len() > 40, "{}", boxes.len());
    }
}
