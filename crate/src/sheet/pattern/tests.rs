//! Patterns as they are drawn, and that nothing collides on them.

use super::*;
use crate::plane::Homography;
use crate::sheet::draw::{Fill, Path, Pen};
use crate::sheet::free::Quad;
use crate::sheet::order::{Outline, Shape, Under};
use crate::sheet::trial::{ellipse, look, marked, naca, naca_half, order, outline, pattern, points, texts};
use crate::sheet::write::estimate;
use crate::sheet::{Ink, Order};

fn draw(p: &Pattern) -> Result<Drawing, Say> {
    let order: Order = order();
    drawing(p, &Writing::new(&order, &estimate))
}

/// The side of a whirligig's body: holes, lengths, a housing, a cut-out.
fn body() -> Pattern {
    let side = [
        [0.0, 60.0],
        [40.0, 28.0],
        [150.0, 10.0],
        [420.0, 30.0],
        [560.0, 40.0],
        [600.0, 0.0],
        [610.0, 70.0],
        [420.0, 95.0],
        [120.0, 120.0],
        [20.0, 100.0],
    ];
    let window = [[190.0, 30.0], [250.0, 34.0], [250.0, 60.0], [190.0, 58.0]];
    let round = |x, y, r| Shape::Round { centre: P::new(x, y), radius: r, drilled: true };
    Pattern {
        name: "Body".to_owned(),
        marks: vec![
            marked(1, "Shaft", round(24.0, 66.0, 3.0)),
            marked(2, "Pivot hole", round(200.0, 96.0, 4.7625)),
            marked(3, "Length", Shape::Length([P::new(0.0, 60.0), P::new(610.0, 70.0)])),
            marked(
                4,
                "Wing",
                Shape::Lands { line: [P::new(100.0, 80.0), P::new(220.0, 80.0)], thick: 18.25 },
            ),
            marked(
                5,
                "Tailplane",
                Shape::Lands { line: [P::new(520.0, 52.0), P::new(590.0, 48.0)], thick: 6.35 },
            ),
            marked(
                6,
                "Cockpit",
                Shape::Lines {
                    points: points(&[[260.0, 18.0], [275.0, 40.0], [330.0, 40.0], [350.0, 25.0]]),
                    closed: false,
                },
            ),
            marked(7, "Balance", Shape::Point(P::new(300.0, 70.0))),
        ],
        axis: Some([P::new(0.0, 66.0), P::new(600.0, 66.0)]),
        grain: Some(0.0),
        front: Some(std::f64::consts::PI),
        up: Some(-std::f64::consts::FRAC_PI_2),
        ..pattern(outline(&[&side, &window]))
    }
}

/// No two pieces of writing overlap, and none lies on the outline's line.
fn nothing_collides(d: &Drawing) {
    let order = order();
    let words = Writing::new(&order, &estimate);
    let sketch = Sketch::new(&words);
    let mut boxes: Vec<(Quad, &str)> = Vec::new();
    for item in &d.items {
        if let Item::Text { at, size, turn, anchor, bold, text, .. } = item {
            let quad = sketch.box_of(*at, size * 0.9, *turn, *anchor, *bold, text);
            for (other, what) in &boxes {
                assert!(!quad.overlaps(other), "{text} over {what}");
            }
            for p in quad.corners() {
                assert!(p.x >= 0.0 && p.y >= 0.0 && p.x <= d.size[0] && p.y <= d.size[1], "{text} beyond");
            }
            assert!(*size >= LEAST);
            boxes.push((quad, text));
        }
    }
    for item in &d.items {
        if let Item::Path { path, pen: Some(Pen { width, .. }), .. } = item
            && *width >= OUTLINE.width
        {
            let line = flat(path);
            for pair in line.windows(2) {
                let line = Quad::line(pair[0], pair[1]);
                assert!(boxes.iter().all(|(b, t)| !b.overlaps(&line) || panic!("{t} on an outline")));
            }
        }
    }
}

fn flat(path: &Path) -> Vec<P> {
    use crate::sheet::Step;
    let mut out: Vec<P> = Vec::new();
    for step in &path.steps {
        match step {
            Step::Move(p) | Step::Line(p) => out.push(*p),
            Step::Cubic(a, b, c) => {
                let cubic = crate::plane::Cubic([*out.last().unwrap(), *a, *b, *c]);
                out.extend((1..=8).map(|k| cubic.at(f64::from(k) / 8.0)));
            }
            Step::Close => out.push(out[0]),
        }
    }
    out
}

#[test]
fn a_whole_part_says_all_there_is_to_say() {
    let d = draw(&body()).unwrap();
    look("body", &d);
    nothing_collides(&d);
    let all = texts(&d).join("|");
    for what in [
        "A\u{a0}\u{a0}Body",
        "Make 2",
        "finish to the line",
        "FULL SIZE",
        "check the bars",
        "GRAIN",
        "FRONT",
        "UP",
        "Pivot hole",
        "Ø\u{a0}3⁄8",
        "Wing",
        "23⁄32",
        "start hole",
        "Marsh Hen, 3 May, revision 12",
    ] {
        assert!(all.contains(what), "{what} in {all}");
    }
    assert_eq!(d.title, "A\u{a0}\u{a0}Body");
    assert_eq!(d.keep_clear.len(), 3, "two drilled, one start hole");
    // The size of the whole: the outline, its margin, and no more than the writing needs.
    assert!(d.size[0] >= 610.0 + 12.0 && d.size[0] < 680.0, "{:?}", d.size);
}

#[test]
fn a_section_is_drawn_to_the_formula() {
    let mut p = pattern(Outline { rings: vec![naca(300.0)], ..Outline::default() });
    p.name = "Section".to_owned();
    let d = draw(&p).unwrap();
    look("section", &d);
    nothing_collides(&d);
    let outline = d.items.iter().find_map(|i| match i {
        Item::Path { path, pen: Some(pen), .. } if *pen == OUTLINE => Some(flat(path)),
        _ => None,
    });
    let outline = outline.unwrap();
    let left = outline.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let middle = (outline.iter().map(|p| p.y).fold(f64::INFINITY, f64::min)
        + outline.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max))
        / 2.0;
    for q in outline {
        let x = (q.x - left) / 300.0;
        if x < 0.9999 {
            assert!(((q.y - middle).abs() - 300.0 * naca_half(x)).abs() < 0.002, "{q:?}");
        }
    }
}

#[test]
fn half_a_part_has_its_fold() {
    let mut p = pattern(Outline {
        rings: vec![ellipse([200.0, 0.0], 180.0, 60.0), ellipse([90.0, 0.0], 20.0, 12.0)],
        ..Outline::default()
    });
    p.hand = Hand::Half;
    p.axis = Some([P::new(200.0, 80.0), P::new(200.0, -80.0)]);
    p.grain = Some(0.0);
    let round = |x| Shape::Round { centre: P::new(x, 20.0), radius: 4.0, drilled: true };
    p.marks = vec![
        marked(1, "Span", Shape::Length([P::new(20.0, 0.0), P::new(380.0, 0.0)])),
        marked(2, "Strut", round(120.0)),
        marked(3, "Strut", round(280.2)),
        marked(4, "Peg", Shape::Point(P::new(330.0, -20.0))),
    ];
    let d = draw(&p).unwrap();
    look("half", &d);
    nothing_collides(&d);
    assert!(texts(&d).iter().any(|t| t.starts_with("FOLD")));
    let fold = d.items.iter().any(|i| matches!(i, Item::Path { pen: Some(pen), .. } if *pen == FOLD));
    assert!(fold);
    assert!(d.size[0] < 250.0, "half as wide: {:?}", d.size);
    // The strut's two holes are one; the peg of the other half is brought over.
    assert_eq!(d.keep_clear.len(), 2, "{:?}", d.keep_clear);
    assert!(texts(&d).iter().any(|t| t.contains("Peg")));
    p.axis = None;
    assert_eq!(draw(&p).unwrap_err().key, "sheet.fold-none");
}

#[test]
fn a_pair_is_it_and_its_mirror_image() {
    let mut p = body();
    p.hand = Hand::Pair;
    let d = draw(&p).unwrap();
    look("pair", &d);
    nothing_collides(&d);
    assert_eq!(texts(&d).iter().filter(|t| **t == "left" || **t == "right").count(), 2);
    assert_eq!(d.keep_clear.len(), 6);
}

#[test]
fn what_is_too_small_is_written_on_below() {
    let mut p = pattern(Outline { rings: vec![ellipse([0.0, 0.0], 15.0, 8.0)], ..Outline::default() });
    p.name = "x".repeat(500);
    p.grain = Some(1.0);
    p.front = Some(0.0);
    p.marks =
        (0..12).map(|k| marked(k, "Some mark", Shape::Point(P::new(f64::from(k) - 6.0, 0.0)))).collect();
    let d = draw(&p).unwrap();
    look("small", &d);
    assert!(d.size[1] < 330.0 && d.size[0] < 260.0, "{:?}", d.size);
    let all = texts(&d).join("|");
    assert!(all.contains("FULL SIZE"));
    p.name = "\u{202e}\u{7}".to_owned();
    assert_eq!(draw(&p).unwrap().title, "A");
}

#[test]
fn a_whole_view_with_its_picture() {
    let map = Homography::from_rows([[0.5, 0.0, 10.0], [0.0, 0.5, 20.0], [0.0, 0.0, 1.0]]);
    let mut p = pattern(outline(&[&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]]));
    p.outline = None;
    p.bounds = [0.0, 0.0, 300.0, 150.0];
    p.picture = Some(Under { picture: 3, size: [500, 400], map, ink: Ink::Grey });
    p.marks = vec![marked(1, "Length", Shape::Length([P::new(20.0, 90.0), P::new(250.0, 90.0)]))];
    let d = draw(&p).unwrap();
    look("view", &d);
    nothing_collides(&d);
    let Some(Item::Picture { map, bounds, .. }) = d.items.first() else { panic!("no picture") };
    // The picture's own corner lies 10 right and 20 down of the view's; the view's is a margin from the drawing's.
    let [x, y] = <[f64; 2]>::from(map.apply(Point::new(0.0, 0.0)).unwrap());
    assert!((x - 16.0).abs() < 1e-9 && (y - 26.0).abs() < 1e-9, "{x} {y}");
    for (got, expected) in bounds.iter().zip([16.0, 26.0, 266.0, 156.0]) {
        assert!((got - expected).abs() < 1e-9, "{bounds:?}");
    }
    let grounds = d.items.iter().all(|i| !matches!(i, Item::Text { ground: false, .. }));
    assert!(grounds, "all writing on white");
    assert!(d.items.iter().all(|i| !matches!(i, Item::Path { fill: Some(Fill::Grey), .. })));
}
