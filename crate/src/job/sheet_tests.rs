//! Patterns from the desk: what is ordered, and how the printer is asked about.

use super::tests::{after, intent};
use super::{Desk, Make};
use crate::sheet::order::{Hand, Order, Piece, Shape};

const PICTURE: &str =
    r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250,"resolution":[254,254]}"#;
/// A box of 1000 × 400 px.
const BOX: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,500],[1500,500],[1500,900],[500,900]],"name":"Side"}"#;
/// 1000 px along its top.
const LENGTH: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[500,500],[1500,500]]}"#;
/// The length is to be 200 mm: a fifth of a mm a px.
const BUILD: &str = r#"{"kind":"set-build","mark":2,"length":{"mm":200}}"#;
/// A circle of 50 px about the middle: 10 mm.
const HOLE: &str =
    r#"{"kind":"place","picture":1,"mark":"circle","points":[[1050,700],[1000,750],[950,700],[1000,650]]}"#;

/// What the noise of two clicks adds to a length is taken off again, mm: σ²/L of 1 px² over 1000 px is 0.0002 mm.
const NOISE: f64 = 2e-3;

fn order(desk: &Desk) -> Order {
    desk.order(Make::Patterns, "1 May").unwrap()
}

#[test]
fn a_part_is_ordered_at_its_finished_size() {
    let desk = after(&[PICTURE, BOX, LENGTH, BUILD, HOLE]);
    let order = order(&desk);
    assert_eq!((order.date.as_str(), order.paper.name.as_str()), ("1 May", "letter"));
    let [Piece::Pattern(part)] = order.pieces.as_slice() else { panic!("{:?}", order.pieces) };
    assert_eq!((part.letter.as_str(), part.name.as_str(), part.hand), ("A", "Side", Hand::One));
    let ring = &part.outline.as_ref().unwrap().points[0];
    // By hand: 200 mm over 1000 px, and 400 px of it.
    let corners = [[0.0, 0.0], [200.0, 0.0], [200.0, 80.0], [0.0, 80.0]];
    for (p, [x, y]) in ring.iter().zip(corners) {
        assert!((p.x - x).abs() < NOISE && (p.y - y).abs() < NOISE, "{ring:?}");
    }
    let round = part.marks.iter().find_map(|m| match m.shape {
        Shape::Round { centre, radius, drilled } => Some((centre, radius, drilled)),
        _ => None,
    });
    let (centre, radius, drilled) = round.unwrap();
    assert!((centre.x - 100.0).abs() < NOISE && (centre.y - 40.0).abs() < NOISE && drilled, "{centre:?}");
    // σ²/2R of four rough clicks is taken off a radius: a hundredth of a px on 50, no more.
    assert!((radius - 10.0).abs() < 1e-2, "{radius}");
    assert!(part.marks.iter().any(|m| matches!(m.shape, Shape::Length(_))));
    assert!(part.grain.unwrap().abs() < 0.4, "along its length");
}

#[test]
fn what_a_person_chose_is_ordered() {
    let choose = r#"{"kind":"set-pattern","mark":1,"choice":{"wanted":true,"quantity":3,"hand":"pair","under":"grey","grain":"none"}}"#;
    let paper = r#"{"kind":"set-paper","paper":{"name":"a3","turn":"lying"}}"#;
    let mut desk = after(&[PICTURE, BOX, LENGTH, BUILD, choose, paper]);
    let made = order(&desk);
    let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    assert_eq!(
        (part.quantity, part.hand, part.grain, made.paper.size),
        (3, Hand::Pair, None, [297.0, 420.0])
    );
    let under = part.picture.as_ref().unwrap();
    let at = under.map.apply(crate::plane::Point::new(1500.0, 900.0)).unwrap();
    assert!(
        (at.x - 200.0).abs() < NOISE && (at.y - 80.0).abs() < NOISE,
        "the picture's map is the pattern's"
    );
    let none = r#"{"kind":"set-pattern","mark":1,"choice":{"wanted":false,"quantity":3,"hand":"pair","under":"grey","grain":"none"}}"#;
    desk.intend(intent(none)).unwrap();
    assert_eq!(desk.order(Make::Patterns, "").unwrap_err().key, "job.no-patterns");
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    assert_eq!(order(&desk).pieces.len(), 1);
}

#[test]
fn without_a_size_there_is_no_pattern_and_the_list_says_why() {
    let desk_lines = [
        PICTURE,
        BOX,
        r#"{"kind":"set-resolution","picture":1,"resolution":null}"#,
        r#"{"kind":"go","step":"lists"}"#,
    ];
    let mut desk = after(&desk_lines);
    assert_eq!(desk.order(Make::Patterns, "").unwrap_err().key, "job.no-patterns");
    let lists = desk.scene().lists.unwrap();
    assert!(!lists.ready && desk.scene().parts[0].why.contains("true length"), "{lists:?}");
}

#[test]
fn a_printer_is_known_by_its_two_bars() {
    let mut desk = after(&[
        PICTURE,
        BOX,
        LENGTH,
        BUILD,
        r#"{"kind":"go","step":"lists"}"#,
        r#"{"kind":"ask","about":"printer-across"}"#,
    ]);
    let say = |desk: &mut Desk, text: &str, way: &str| {
        desk.intend(intent(&format!(r#"{{"kind":"entry","text":"{text}"}}"#))).unwrap();
        desk.intend(intent(&format!(r#"{{"kind":"accept","way":"{way}"}}"#)))
    };
    let title = desk.scene().entry.unwrap().title;
    let drawn: f64 = title.split_whitespace().find_map(|w| w.parse().ok()).unwrap();
    // A twentieth short: what no printer does by itself; and 2.7 % short, as Letter comes out that is fitted to A4.
    let refused = say(&mut desk, &format!("{}", drawn * 0.9), "take").unwrap_err();
    assert_eq!(refused.key, "printer.far-off");
    let refused = say(&mut desk, &format!("{}", drawn * 210.0 / 215.9), "take").unwrap_err();
    assert_eq!(refused.key, "printer.letter-on-a4");
    say(&mut desk, &format!("{}", drawn * 0.97), "always").unwrap();
    let title = desk.scene().entry.unwrap().title;
    let down: f64 = title.split_whitespace().find_map(|w| w.parse().ok()).unwrap();
    say(&mut desk, &format!("{down}"), "take").unwrap();
    let printer = order(&desk).paper.printer;
    assert!((printer[0] - 0.97).abs() < 1e-6 && (printer[1] - 1.0).abs() < 1e-6, "{printer:?}");
}

#[test]
fn other_ways_are_ordered_too() {
    let desk = after(&[PICTURE, BOX, LENGTH, BUILD, HOLE]);
    let made = desk.order(Make::Sticks, "").unwrap();
    let [Piece::Stick(stick)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    let across: Vec<f64> = stick.marks.iter().filter(|m| m.edge == 0).map(|m| m.at).collect();
    // The length's ends at 0 and 200, the circle's middle at 100 mm.
    assert!(across.iter().zip([0.0, 100.0, 200.0]).all(|(a, b)| (a - b).abs() < NOISE), "{across:?}");
    let made = desk.order(Make::Sectors, "").unwrap();
    let [Piece::Sector(card)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    // 254 px to the inch are 10 to the mm: 0.2 mm a px is twice as large as printed.
    assert!((card.ratio - 2.0).abs() < 1e-4, "{}", card.ratio);
    assert!(
        matches!(desk.order(Make::Grids, "").unwrap().pieces.as_slice(), [Piece::Grid(g)] if g.square == 25.4)
    );
    assert!(matches!(desk.order(Make::Offsets, "").unwrap().pieces.as_slice(), [Piece::Offsets(_)]));
}

/// Where a neighbour lands a stick has its two faces; on the edge along it only where it ends.
#[test]
fn a_stick_shows_how_thick_a_neighbour_is() {
    let shelf =
        r#"{"kind":"place","picture":1,"mark":"length","points":[[500,700],[1500,700]],"name":"shelf"}"#;
    let lands = r#"{"kind":"on-pattern","mark":3,"what":{"lands":{"thick":18.0,"deep":0.0}}}"#;
    let desk = after(&[PICTURE, BOX, LENGTH, BUILD, shelf, lands]);
    let made = desk.order(Make::Sticks, "").unwrap();
    let [Piece::Stick(stick)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    let told = |edge: u8| {
        let on = stick.marks.iter().filter(|m| m.edge == edge);
        on.map(|m| [m.at, m.thick].map(|v| (v * 10.0).round() / 10.0)).collect::<Vec<_>>()
    };
    // The shelf's middle is the lowest place, 40 mm below the length: its lower face is the floor.
    assert_eq!(told(1), [[0.0, 18.0], [49.0, 0.0]]);
    assert_eq!(told(0), [[0.0, 0.0], [200.0, 0.0]]);
}

#[test]
fn what_a_card_lacks_is_said() {
    let paperless = PICTURE.replace(r#","resolution":[254,254]"#, "");
    let said = |facts: &[&str]| after(facts).order(Make::Sectors, "").unwrap_err().key;
    assert_eq!(said(&[&paperless, LENGTH]), "job.no-sector");
    assert_eq!(said(&[PICTURE]), "sheet.no-ratio");
}

#[test]
fn a_part_with_a_centre_line_lies_straight() {
    // The same box, 3° askew as a scan lies, with the centre line that it was made even about.
    let turn = |x: f64, y: f64| {
        let (s, c) = 3.0_f64.to_radians().sin_cos();
        format!("[{},{}]", 1000.0 + x * c - y * s, 700.0 + x * s + y * c)
    };
    let ring = [(-500.0, -200.0), (500.0, -200.0), (500.0, 200.0), (-500.0, 200.0)]
        .map(|(x, y)| turn(x, y))
        .join(",");
    let place = format!(r#"{{"kind":"place","picture":1,"mark":"outline","points":[{ring}]}}"#);
    let even = format!(
        r#"{{"kind":"shape","mark":1,"work":"even","with":null,"shaped":{{"rings":[[{ring}]],"even":{{"axis":[{},{}],"rms":0.1,"greatest":0.2,"better":"left"}}}}}}"#,
        turn(-500.0, 0.0),
        turn(500.0, 0.0)
    );
    let desk = after(&[PICTURE, &place, &even, LENGTH, BUILD]);
    let made = order(&desk);
    let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    let [a, b] = part.axis.unwrap();
    assert!(
        (a.y - b.y).abs() < 1e-6 && (part.bounds[3] - 80.0).abs() < NOISE,
        "{a:?} {b:?} {:?}",
        part.bounds
    );
}

/// The same without a centre line: by its straight sides, but not where its view says which way is level.
#[test]
fn a_part_of_an_askew_scan_lies_straight() {
    let turn = |x: f64, y: f64| {
        let (s, c) = 1.0_f64.to_radians().sin_cos();
        format!("[{},{}]", 1000.0 + x * c - y * s, 700.0 + x * s + y * c)
    };
    let ring = [(-500.0, -200.0), (500.0, -200.0), (500.0, 200.0), (-500.0, 200.0)]
        .map(|(x, y)| turn(x, y))
        .join(",");
    let place = format!(r#"{{"kind":"place","picture":1,"mark":"outline","points":[{ring}]}}"#);
    let view =
        r#"{"kind":"add-view","picture":1,"role":"top","box":{"at":[300,300],"size":[1400,800],"tilt":0.4}}"#;
    for (facts, high) in [
        (&[PICTURE, &place, LENGTH, BUILD][..], 80.0),
        // 200 mm long and 0.6° askew of the view's own level.
        (&[PICTURE, view, &place, LENGTH, BUILD], 80.0 + 200.0 * 0.6_f64.to_radians()),
    ] {
        let made = order(&after(facts));
        let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
        assert!((part.bounds[3] - high).abs() < 0.02, "{high} {:?}", part.bounds);
    }
}

/// Types into the keypad and takes it.
fn typed(desk: &mut Desk, text: &str, way: &str) -> Result<(), crate::words::Say> {
    desk.intend(intent(&format!(r#"{{"kind":"entry","text":"{text}"}}"#))).unwrap();
    desk.intend(intent(&format!(r#"{{"kind":"accept","way":"{way}"}}"#))).map(|_| ())
}

fn asked(desk: &mut Desk, about: &str) {
    desk.intend(intent(&format!(r#"{{"kind":"ask","about":"{about}"}}"#))).unwrap();
}

#[test]
fn paper_of_ones_own_is_typed() {
    let mut desk = after(&[PICTURE, BOX, LENGTH, BUILD]);
    asked(&mut desk, "paper-width");
    typed(&mut desk, "329 mm", "take").unwrap();
    typed(&mut desk, "483 mm", "take").unwrap();
    assert!(desk.scene().entry.is_none());
    asked(&mut desk, "margin");
    typed(&mut desk, "0", "take").unwrap();
    asked(&mut desk, "lap");
    typed(&mut desk, "1", "take").unwrap();
    let paper = order(&desk).paper;
    assert_eq!((paper.name.as_str(), paper.size), ("custom", [329.0, 483.0]));
    assert_eq!((paper.margins, paper.lap), ([0.0; 4], 25.4));
    // What can't be printed on is refused, and the paper stays as it was.
    asked(&mut desk, "margin");
    assert_eq!(typed(&mut desk, "200 mm", "take").unwrap_err().key, "sheet.paper-small");
    asked(&mut desk, "lap");
    assert_eq!(typed(&mut desk, "200 mm", "take").unwrap_err().key, "sheet.lap");
    assert_eq!(order(&desk).paper, paper);
    asked(&mut desk, "paper-width");
    typed(&mut desk, "610 mm", "always").unwrap();
    assert_eq!(
        (order(&desk).paper.name.as_str(), order(&desk).paper.size, order(&desk).paper.lap),
        ("roll", [610.0, 0.0], 25.4)
    );
}

#[test]
fn many_sheets_are_made_when_they_are_wanted() {
    let desk = after(&[
        PICTURE,
        BOX,
        LENGTH,
        BUILD,
        r#"{"kind":"set-paper","paper":{"name":"letter","turn":"fewest","many":true}}"#,
    ]);
    assert!(order(&desk).paper.allow_many);
}

/// FRONT where the person says, UP where the view shows the thing standing.
#[test]
fn a_part_says_which_way_it_goes() {
    let front = r#"{"kind":"set-pattern","mark":1,"choice":{"wanted":true,"quantity":1,"hand":"one","under":null,"grain":"none","front":"left"}}"#;
    let pointed = |role: &str| {
        let view = format!(
            r#"{{"kind":"add-view","picture":1,"role":"{role}","box":{{"at":[400,400],"size":[1300,700]}}}}"#
        );
        let made = order(&after(&[PICTURE, &view, BOX, LENGTH, BUILD, front]));
        let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
        (part.front, part.up)
    };
    use std::f64::consts::{FRAC_PI_2, PI};
    assert_eq!(pointed("side"), (Some(PI), Some(-FRAC_PI_2)));
    assert_eq!(pointed("top"), (Some(PI), None));
}

/// The middle line of what lands across the box, 100 px from its end.
const ACROSS: &str =
    r#"{"kind":"place","picture":1,"mark":"length","points":[[600,500],[600,900]],"name":"Rib"}"#;

#[test]
fn where_a_neighbour_lands_is_drawn_and_told() {
    let lands = r#"{"kind":"on-pattern","mark":3,"what":{"lands":{"thick":12,"deep":6}}}"#;
    let metric = r#"{"kind":"set-units","style":"millimetres","step":"1 mm","direction":"nearest"}"#;
    let mut desk = after(&[PICTURE, BOX, LENGTH, ACROSS, BUILD, metric, lands]);
    let made = order(&desk);
    let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    let found = part.marks.iter().find_map(|m| match m.shape {
        Shape::Lands { line, thick } => Some((line, thick, m.text.clone())),
        _ => None,
    });
    let ([a, b], thick, text) = found.unwrap();
    // A fifth of a mm a px: from the upper edge to the lower, 20 mm in.
    assert!((a.x - 20.0).abs() < NOISE && a.y.abs() < NOISE && (b.y - 80.0).abs() < NOISE, "{a:?} {b:?}");
    assert_eq!((thick, text.as_str()), (12.0, "Rib 12 thick, let in 6"));
    desk.intend(intent(r#"{"kind":"on-pattern","mark":3,"what":{"bevel":{"degrees":12.5}}}"#)).unwrap();
    let made = order(&desk);
    let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    assert!(part.marks.iter().any(|m| m.text == "Rib bevel 12.5°"), "{:?}", part.marks);
    for (what, key) in [
        (r#"{"bevel":{"degrees":90}}"#, "job.bevel-absurd"),
        (r#"{"lands":{"thick":0,"deep":1}}"#, "job.thickness-absurd"),
        (r#"{"lands":{"thick":5,"deep":-1}}"#, "job.thickness-absurd"),
    ] {
        let fact = format!(r#"{{"kind":"on-pattern","mark":3,"what":{what}}}"#);
        assert_eq!(desk.intend(intent(&fact)).unwrap_err().key, key);
    }
    let outline = r#"{"kind":"on-pattern","mark":1,"what":{"bevel":{"degrees":9}}}"#;
    assert_eq!(desk.intend(intent(outline)).unwrap_err().key, "job.on-pattern-lengths-only");
}

#[test]
fn how_thick_and_how_deep_are_asked_one_after_the_other() {
    let choose = [
        r#"{"kind":"go","step":"marks"}"#,
        r#"{"kind":"select","mark":3}"#,
        r#"{"kind":"ask","about":"lands-thick"}"#,
        r#"{"kind":"entry","text":"3/4"}"#,
        r#"{"kind":"accept","way":"take"}"#,
    ];
    let start = [PICTURE, BOX, LENGTH, ACROSS, BUILD];
    let mut desk = after(&[&start[..], &choose[..]].concat());
    desk.intend(intent(r#"{"kind":"accept","way":"open"}"#)).unwrap();
    assert!(desk.scene().entry.is_none());
    let made = order(&desk);
    let [Piece::Pattern(part)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    assert!(part.marks.iter().any(|m| m.text == "Rib lands here, 3⁄4 thick"), "{:?}", part.marks);
}

#[test]
fn a_whole_view_is_a_pattern_with_its_picture() {
    let view = r#"{"kind":"add-view","picture":1,"role":"top","box":{"at":[400,400],"size":[1200,600]}}"#;
    let whole = r#"{"kind":"pattern-of-view","view":2,"on":true}"#;
    let mut desk =
        after(&[PICTURE, view, LENGTH, r#"{"kind":"set-build","mark":1,"length":{"mm":200}}"#, whole]);
    let made = order(&desk);
    let [Piece::Pattern(view)] = made.pieces.as_slice() else { panic!("{:?}", made.pieces) };
    assert!(view.outline.is_none() && view.picture.is_some());
    let [l, t, r, b] = view.bounds;
    // 1200 by 600 px at a fifth of a mm.
    assert!((r - l - 240.0).abs() < NOISE && (b - t - 120.0).abs() < NOISE, "{:?}", view.bounds);
    assert!(view.marks.iter().any(|m| matches!(m.shape, Shape::Length(_))));
    desk.intend(intent(r#"{"kind":"pattern-of-view","view":2,"on":false}"#)).unwrap();
    assert_eq!(desk.order(Make::Patterns, "").unwrap_err().key, "job.no-patterns");
}

#[test]
fn a_printer_that_was_measured_before_is_offered_on_its_own_paper() {
    let known = r#"{"kind":"remember","printers":[{"name":"den","paper":"letter","factor":[0.997,1.001]},{"name":"den","paper":"a4","factor":[0.99,1.0]}]}"#;
    let mut desk = after(&[PICTURE, BOX, LENGTH, BUILD, known, r#"{"kind":"go","step":"lists"}"#]);
    let more = desk.scene().lists.clone().unwrap().more;
    let again: Vec<_> = more.iter().filter(|k| k.id.starts_with("printer-again")).collect();
    let [key] = again.as_slice() else { panic!("{again:?}") };
    assert_eq!(key.label, "den, measured before: 99.70 % across, 100.10 % down");
    desk.intend(key.intent.clone().unwrap()).unwrap();
    assert_eq!(order(&desk).paper.printer, [0.997, 1.001]);
}
