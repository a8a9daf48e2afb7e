//! Whole sheets of parts of many sizes: nothing that is written stands over anything else that is written, and no title over a joint.

use super::*;
use crate::plane::Vector;
use crate::sheet::draw::Item;
use crate::sheet::free::Quad;
use crate::sheet::order::{Hand, Outline, Shape};
use crate::sheet::pdf::{Canvas, Frame, POINT};
use crate::sheet::trial::{marked, order, outline, pattern};
use proptest::prelude::*;

const REGULAR: &[u8] = include_bytes!("../../../../www/fonts/sheet-400.type");
const BOLD: &[u8] = include_bytes!("../../../../www/fonts/sheet-600.type");

/// What is written on a sheet, mm on its page: each line's words and the room they take up, without more round it.
#[derive(Default)]
struct Written {
    said: Vec<(String, Quad)>,
    /// What goes on beyond the edge.
    cut: Vec<String>,
    clips: Vec<Quad>,
}

/// Where an area of a drawing comes to lie, mm.
fn on_page(frame: &Frame, quad: &Quad) -> Quad {
    let corners: Vec<Point<Finished>> = quad
        .corners()
        .iter()
        .map(|p| {
            let [x, y] = frame.apply(*p);
            Point::new(x / POINT, -y / POINT)
        })
        .collect();
    Quad::of([corners[0], corners[1], corners[2], corners[3]], 4)
}

impl Canvas for Written {
    fn clip(&mut self, frame: &Frame, bounds: [f64; 4]) {
        self.clips.push(on_page(frame, &Quad::upright(bounds)));
    }

    fn restore(&mut self) {
        self.clips.pop();
    }

    fn item(&mut self, frame: &Frame, item: &Item, faces: &Faces) {
        let Item::Text { at, size, turn, anchor, bold, text, .. } = item else { return };
        // Letters without the slack round them: a little less than the room that is kept for them.
        let room = Quad::written(*at, *size, *turn, *anchor, faces.width(text, *size, *bold), -0.05);
        let lies = on_page(frame, &room);
        if !self.clips.iter().all(|clip| clip.overlaps(&lies)) {
            return;
        }
        // What is beyond the edge isn't seen; of what stands aslant all is looked at.
        let upright = lies
            .corners()
            .windows(2)
            .all(|c| (c[0].x - c[1].x).abs() < 1e-6 || (c[0].y - c[1].y).abs() < 1e-6);
        let seen = self.clips.iter().filter(|_| upright).fold(lies.bounds(), |a, clip| {
            let b = clip.bounds();
            [a[0].max(b[0]), a[1].max(b[1]), a[2].min(b[2]), a[3].min(b[3])]
        });
        let [l, t, r, b] = lies.bounds();
        if self.clips.iter().map(Quad::bounds).any(|c| l < c[0] || t < c[1] || r > c[2] || b > c[3]) {
            self.cut.push(text.clone());
        }
        self.said.push((text.clone(), if upright { Quad::upright(seen) } else { lies }));
    }

    fn picture(&mut self, _: &Frame, _: usize, _: [Point<Finished>; 3]) {}
}

fn press(order: Order) -> Press {
    Press::new(order, REGULAR.to_vec(), BOLD.to_vec()).unwrap()
}

/// What is written on each sheet.
fn written(press: &Press) -> Vec<Written> {
    let sheet = |index| {
        let mut page = Written::default();
        press
            .written(|with| {
                draw(&mut page, &press.plan, index, &press.drawings, &[], with);
                Ok(())
            })
            .unwrap();
        page
    };
    (0..press.plan.sheets.len()).map(sheet).collect()
}

/// Pairs of lines that stand over one another, sheet by sheet.
fn over_one_another(press: &Press) -> Vec<String> {
    let mut out = Vec::new();
    for (page, sheet) in written(press).iter().zip(&press.plan.sheets) {
        for (i, (a, one)) in page.said.iter().enumerate() {
            let clash = page.said.iter().skip(i + 1).filter(|(_, other)| one.overlaps(other));
            out.extend(clash.map(|(b, _)| format!("{}: “{a}” and “{b}”", sheet.name)));
        }
    }
    out
}

/// What goes on beyond the edge of a sheet although another one shows it whole.
fn cut_off(press: &Press) -> Vec<String> {
    let pages = written(press);
    let whole = |text: &String| {
        pages.iter().any(|p| p.said.iter().any(|(said, _)| said == text) && !p.cut.contains(text))
    };
    pages.iter().flat_map(|p| &p.cut).filter(|text| whole(text)).cloned().collect()
}

/// Titles that stand over a joint, but for those that are longer than a sheet is wide: they go over one wherever they stand.
fn over_joints(press: &Press) -> Vec<String> {
    let mut out = Vec::new();
    for (whole, drawing) in press.plan.wholes.iter().zip(&press.drawings) {
        // The room on the narrowest sheet but for the last, which may be a mere strip.
        let joints = &whole.joints[usize::from(whole.turned)];
        let gaps = [0.0].iter().chain(joints).zip(joints).map(|(a, b)| b - a - beside::BAND);
        let room = gaps.fold(f64::INFINITY, f64::min);
        let titles = drawing.items.iter().filter(|i| match i {
            Item::Text { bold: true, size, text, .. } if *size > 4.5 => {
                press.written(|with| Ok(with.said.width(text, *size, true))).unwrap() <= room
            }
            _ => false,
        });
        let titles = Drawing { items: titles.cloned().collect(), ..drawing.clone() };
        let over = press.written(|with| Ok(beside::crossed(whole, &titles, with.said))).unwrap();
        if over > 0 {
            out.push(format!("{} of {:?} joined at {:?}", whole.title, whole.size, whole.joints));
        }
    }
    out
}

/// A part that is a box with a corner cut off, and what may be marked on it.
fn part(w: f64, h: f64, name: &str, marks: usize) -> crate::sheet::order::Pattern {
    let ring: &[[f64; 2]] = &[[0.0, 0.0], [w * 0.8, 0.0], [w, h * 0.4], [w, h], [0.0, h]];
    let at = |x: f64, y: f64| Point::new(w * x, h * y);
    let all = [
        marked(1, "shaft", Shape::Round { centre: at(0.5, 0.5), radius: 3.0, drilled: true }),
        marked(2, "along the back, from the nose", Shape::Length([at(0.1, 0.8), at(0.9, 0.8)])),
        marked(3, "pivot", Shape::Point(at(0.3, 0.4))),
        marked(4, "rib", Shape::Lands { line: [at(0.7, 0.1), at(0.7, 0.9)], thick: 6.0 }),
    ];
    let mut one = pattern(Outline { ..outline(&[ring]) });
    one.name = name.to_owned();
    one.marks = all.into_iter().take(marks).collect();
    one.bounds = [0.0, 0.0, w, h];
    one.grain = Some(0.0);
    one.front = Some(std::f64::consts::PI);
    one
}

fn made(parts: Vec<crate::sheet::order::Pattern>, paper: &str, size: [f64; 2]) -> Press {
    let mut all = order();
    all.paper.name = paper.to_owned();
    all.paper.size = size;
    all.pieces = parts.into_iter().map(Piece::Pattern).collect();
    press(all)
}

#[test]
fn a_propellers_stick_is_written_on_beside_its_joints() {
    // Wider than a sheet, too thin for its writing: what stood under the check length's letter and over a joint.
    for long in [240.0, 300.0, 420.0, 610.0] {
        let mut stick = part(long, 33.0, "stick, face to the wind", 1);
        stick.outline = Some(outline(&[&[[0.0, 0.0], [long, 0.0], [long, 33.0], [0.0, 33.0]]]));
        stick.lines = ["Propeller, made and not scaled: one stick of 24 in × 1 5⁄16 in × 7⁄8 in, bored 3⁄16 in.",
            "Pare each blade down to the line across its end, 35° out of the plane in which it turns; both blades alike."]
            .map(str::to_owned)
            .to_vec();
        for paper in ["letter", "a4"] {
            let press = made(vec![stick.clone()], paper, [0.0; 2]);
            assert_eq!(over_one_another(&press), Vec::<String>::new(), "{long} on {paper}");
            assert_eq!(over_joints(&press), Vec::<String>::new(), "{long} on {paper}");
            let over = |with: &Furniture<'_>| {
                Ok(beside::crossed(&press.plan.wholes[0], &press.drawings[0], with.said))
            };
            assert_eq!(press.written(over), Ok(0), "{long} on {paper}");
        }
    }
}

/// A pair on small sheets: its straight line ran so near the end of its sheet that its words stood over the sheet's own name.
#[test]
fn words_along_a_straight_line_stay_on_their_sheet() {
    let mut one = part(182.723_324_332_266_5, 75.781_678_947_175_32, "U", 1);
    one.hand = Hand::Pair;
    let press = made(vec![one, part(60.0, 40.0, "Fin", 0)], "custom", [150.0, 190.0]);
    assert_eq!(over_one_another(&press), Vec::<String>::new());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 12, ..ProptestConfig::default() })]
    /// Whatever its size, a part's sheets can be read.
    #[test]
    fn nothing_is_written_over_writing(
        w in 30.0..1500.0_f64, h in 20.0..700.0_f64, marks in 0..5_usize, long in 1..40_usize, hand in 0..3_usize,
        paper in prop::sample::select(vec![("letter", [0.0; 2]), ("a4", [0.0; 2]), ("tabloid", [0.0; 2]), ("custom", [150.0, 190.0])]),
    ) {
        let name: String = "Upper wing, left half ".chars().cycle().take(long).collect();
        let mut one = part(w, h, &name, marks);
        if hand == 1 {
            let middle = Vector::new(0.0, h / 2.0);
            one.axis = Some([Point::new(0.0, 0.0) + middle, Point::new(w, 0.0) + middle]);
        }
        if hand == 2 {
            one.hand = Hand::Pair;
        }
        // Alone, so that no line stands in two drawings.
        if hand < 2 {
            let press = made(vec![one.clone()], paper.0, paper.1);
            prop_assert_eq!(cut_off(&press), Vec::<String>::new());
        }
        let press = made(vec![one, part(60.0, 40.0, "Fin", 0)], paper.0, paper.1);
        prop_assert_eq!(over_one_another(&press), Vec::<String>::new());
        // On sheets the size of a hand a title may find no place between two joints.
        if hand < 2 && paper.0 != "custom" {
            prop_assert_eq!(over_joints(&press), Vec::<String>::new());
        }
    }
}
