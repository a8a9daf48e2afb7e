//! Parts from the desk: what they are made of, how they are cut, what the list says.

use super::tests::{after, intent};
use super::{Desk, Make, cutting_table};
use crate::sheet::order::{CuttingList, Piece};

const PICTURE: &str =
    r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250,"resolution":[254,254]}"#;
/// A board of 1220 × 240 px.
const BOARD: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,500],[1720,500],[1720,740],[500,740]],"name":"Shelf"}"#;
/// Another of 1000 × 400 px.
const OTHER: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,900],[1500,900],[1500,1300],[500,1300]],"name":"Side"}"#;
/// 1000 px along its top: 25 in are 1000 px.
const LENGTH: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[500,900],[1500,900]]}"#;
const BUILD: &str = r#"{"kind":"set-build","mark":3,"length":"25"}"#;
/// An edge of 24.4 px: 0.61 in.
const EDGE: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[500,1500],[500,1524.4]]}"#;
const LISTS: &str = r#"{"kind":"go","step":"lists"}"#;

fn list(desk: &Desk) -> CuttingList {
    let order = desk.order(Make::List, "").unwrap();
    match order.pieces.as_slice() {
        [Piece::List(list), ..] => {
            let plain = |t: &String| t.replace('\u{a0}', " ");
            let rows = list.rows.iter().map(|r| r.iter().map(plain).collect()).collect();
            CuttingList { rows, ..list.clone() }
        }
        other => panic!("{other:?}"),
    }
}

fn press(desk: &mut Desk, id: &str) {
    let scene = desk.scene();
    let lists = scene.parts.iter().take(1).flat_map(|p| &p.keys);
    let keys: Vec<_> =
        scene.entry.iter().flat_map(|e| e.choices.iter().chain(&e.ways)).chain(lists).collect();
    let key = keys.iter().find(|k| k.id == id);
    let key = key.unwrap_or_else(|| panic!("no {id}: {:?}", keys.iter().map(|k| &k.id).collect::<Vec<_>>()));
    desk.intend(key.intent.clone().unwrap()).unwrap();
}

#[test]
fn without_stock_a_row_says_why_and_the_others_hold() {
    let mut desk = after(&[PICTURE, BOARD, OTHER, LENGTH, BUILD, LISTS]);
    let before = list(&desk);
    assert_eq!(before.rows.len(), 2);
    // By hand: 1220 and 240 px at 25 in for 1000 px.
    assert_eq!(before.rows[0][3], "— × 6 × 30 1⁄2 in");
    assert!(
        before.rows[0][6].contains("thickness not chosen") && before.rows[0][6].contains("made of"),
        "{before:?}"
    );
    assert!(before.rows[0][6].contains("length and width measured (mark 1, ±"), "{before:?}");
    // A choice that can't be is refused, and the job is as it was.
    for bad in [
        r#"{"kind":"set-part","mark":3,"choice":{}}"#,
        r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"softwood","stock":"9"}}}"#,
        r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"softwood","stock":"1","planed":30}}}"#,
        r#"{"kind":"set-part","mark":1,"choice":{"ends":[{"joint":"dado","depth":-1},{"joint":"none","depth":0}]}}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
    assert_eq!(list(&desk), before);
    // A part whose joints are longer than itself says so; the other stands.
    let deep = r#"{"kind":"set-part","mark":2,"choice":{"made":{"goods":"softwood","stock":"1"},"ends":[{"joint":"tenon","depth":900},{"joint":"none","depth":0}]}}"#;
    desk.intend(intent(deep)).unwrap();
    let after = list(&desk);
    assert!(after.rows[1][6].contains("longer than its part") && after.rows[1][4].is_empty(), "{after:?}");
    assert_eq!(after.rows[0][3], "3⁄4 × 6 × 30 1⁄2 in");
}

#[test]
fn a_shelf_is_chosen_by_its_edge_and_let_into_dadoes() {
    let mut desk = after(&[PICTURE, BOARD, OTHER, LENGTH, BUILD, EDGE, LISTS]);
    press(&mut desk, "part-stock");
    press(&mut desk, "goods-softwood");
    press(&mut desk, "species-white-pine");
    let offered: Vec<String> = desk
        .scene()
        .entry
        .unwrap()
        .choices
        .iter()
        .map(|k| k.label.replace('\u{a0}', " "))
        .filter(|l| l.starts_with("edge 4"))
        .collect();
    assert_eq!(
        offered,
        ["edge 4: planed to 5⁄8 in from planed softwood 1 (3⁄4 in)", "edge 4: planed softwood 1 (3⁄4 in)"]
    );
    press(&mut desk, "edge-4-1905");
    press(&mut desk, "part-done");
    press(&mut desk, "part-ends");
    press(&mut desk, "joint-dado");
    press(&mut desk, "part-shelf");
    press(&mut desk, "part-done");
    let made = list(&desk);
    let row = &made.rows[0];
    assert_eq!(row[4], "31 in: 30 1⁄2 in shows + dado 1⁄4 in + dado 1⁄4 in", "{row:?}");
    assert_eq!(
        row[5],
        "planed softwood 1 (3⁄4 in), eastern white pine; grain along the length; 1.29 board feet"
    );
    assert!(row[6].contains("thickness chosen (its edge, mark 4, reads 0.6"), "{row:?}");
    assert!(row[6].contains("Under 25 lb a foot"), "{row:?}");
    // The other part takes the same stock, and says that nobody said so.
    assert!(made.rows[1][6].contains("thickness assumed, as A"), "{:?}", made.rows[1]);
    assert!(made.lines.iter().any(|l| l.contains("for A, B")), "{made:?}");
    let table = cutting_table(&desk).replace('\u{a0}', " ");
    assert!(table.contains("30 1⁄2 in shows + dado") && table.lines().count() == 3, "{table}");
    // Undone touch by touch; and a log without any of it gives a job without any.
    for _ in 0..5 {
        desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    }
    assert!(desk.document().parts.iter().all(|(_, c)| c.made.is_none()), "{:?}", desk.document().parts);
    let left_out = r#"{"kind":"set-part","mark":1,"choice":{"left_out":true}}"#;
    desk.intend(intent(left_out)).unwrap();
    assert_eq!(list(&desk).rows.len(), 1);
}

/// By hand: a carcase of 72 × 32 in is square when both its diagonals are 78 13/16; one that leans or is round has none.
#[test]
fn a_carcase_is_proved_by_its_diagonals() {
    let front = r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,100],[1380,100],[1380,2980],[100,2980]],"name":"Front"}"#;
    let leans = r#"{"kind":"place","picture":1,"mark":"outline","points":[[1500,100],[2780,100],[2980,1600],[1700,1600]],"name":"Side"}"#;
    let tall = PICTURE.replace("2250", "3250");
    let mut desk = after(&[&tall, front, leans, &LENGTH.replace("900", "3100"), BUILD, LISTS]);
    let plain = |t: &String| t.replace('\u{a0}', " ");
    let parts = desk.scene().parts;
    let said =
        |i: usize| parts[i].cut.iter().flatten().map(|t| plain(&t.text)).collect::<Vec<_>>().join(" | ");
    assert!(said(0).contains("square when both diagonals are 78 13⁄16 in"), "{}", said(0));
    assert!(!said(1).contains("diagonals"), "{}", said(1));
    desk.intend(intent(r#"{"kind":"select","mark":1}"#)).unwrap();
    let detail = desk.scene().detail.unwrap().lines;
    assert!(
        detail.iter().any(|[label, text]| label == "diagonals" && plain(text) == "78 13⁄16 in"),
        "{detail:?}"
    );
}

#[test]
fn a_figure_from_the_keypad() {
    let mut desk = after(&[PICTURE, BOARD, OTHER, LENGTH, BUILD, LISTS]);
    press(&mut desk, "part-stock");
    press(&mut desk, "goods-rough");
    press(&mut desk, "part-planed");
    desk.intend(intent(r#"{"kind":"entry","text":"2"}"#)).unwrap();
    let refused = desk.intend(intent(r#"{"kind":"accept","way":"take"}"#)).unwrap_err();
    assert_eq!(refused.key, "part.planed");
    desk.intend(intent(r#"{"kind":"entry","text":"7/8"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"accept","way":"take"}"#)).unwrap();
    assert_eq!(list(&desk).rows[0][3], "7⁄8 × 6 × 30 1⁄2 in");
    // Metric: length first, no board feet.
    desk.intend(intent(r#"{"kind":"set-units","style":"millimetres","step":"1 mm","direction":"nearest"}"#))
        .unwrap();
    let row = list(&desk).rows[0].clone();
    assert_eq!(row[3], "775 × 152 × 22.2 mm", "{row:?}");
}

/// A whirligig, 1000 px for 25 in, so that 40 px are an inch: its body of 20 × 2 in, its length to build, its pivot.
const BODY: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,1000],[1300,1000],[1300,1080],[500,1080]],"name":"Body"}"#;
const SPAN: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[500,1400],[1500,1400]]}"#;
const BUILT: &str = r#"{"kind":"set-build","mark":3,"length":"25"}"#;
const PIVOT: &str = r#"{"kind":"place","picture":1,"mark":"point","points":[[740,1040]],"name":"pivot"}"#;

/// What is said of the vane.
fn of_vane(desk: &mut Desk) -> Vec<String> {
    let sections = desk.scene().lists.unwrap().sections;
    let vane = sections.into_iter().find(|s| s.id == "vane").unwrap();
    vane.lines.iter().map(|l| l.text.replace('\u{a0}', " ")).collect()
}

/// A body and a fin on a side view, a pivot: by hand in the words of the bench.
#[test]
fn a_vane_says_whether_it_faces_the_wind() {
    // A fin of 4 × 5 in at its right end.
    const FIN: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[1140,880],[1300,880],[1300,1080],[1140,1080]],"name":"Fin"}"#;
    const PINE: &str = r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"softwood","stock":"1","species":"white-pine"}}}"#;
    let mut desk = after(&[PICTURE, BODY, FIN, SPAN, BUILT, PIVOT, PINE, LISTS]);
    assert!(desk.scene().drawn.is_empty());
    let more = desk.scene().lists.unwrap().more;
    desk.intend(more.into_iter().find(|k| k.id == "vane").unwrap().intent.unwrap()).unwrap();
    press(&mut desk, "vane-pivot-4");
    press(&mut desk, "part-done");
    // Both together: 40 + 12 in² (the fin's foot lies over the body), centre at (40·10 + 12·18)/52 = 11.846 in, 5.846 behind
    // the pivot at 6 in, 29 % of 20 in.
    let lines = of_vane(&mut desk);
    assert!(lines[0].contains("lies 5 7⁄8 in ±") || lines[0].contains("lies 5 13⁄16 in ±"), "{lines:?}");
    assert!(lines[0].contains("29 % of the length"), "{lines:?}");
    assert!(lines.iter().any(|l| l.starts_with("It will face the wind")), "{lines:?}");
    // Weighed it is as two boards: 40 in² + 20 in² of 3/4 in at 24.5 lb/ft³ … (40·10 + 20·18)/60 = 12.67 in, 6.67 behind.
    assert!(lines.iter().any(|l| l.contains("balances 6 11⁄16 in ±") && l.contains("behind")), "{lines:?}");
    assert_eq!(desk.scene().drawn.len(), 3);
    // The balance point is drawn where it lies: 500 + 12.667 in · 40 px.
    let balance = desk.scene().drawn[2].at;
    assert!((balance[0] - 1006.67).abs() < 0.1, "{balance:?}");
    for bad in [
        r#"{"kind":"set-vane","vane":{"pivot":1}}"#,
        r#"{"kind":"set-vane","vane":{"weights":[[4,-1]]}}"#,
        r#"{"kind":"set-vane","vane":{"propeller":{"across":0,"blades":2,"width":1,"angle":40,"bore":1,"clockwise":true}}}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    assert!(desk.scene().lists.unwrap().sections.iter().all(|s| s.id != "vane"));
}

/// By hand, 40 px to an inch: a shaft an inch ahead of the body, and a wing that crosses the propeller's plane 3 in above it. 1/2 in
/// all round leaves 2 1/2 in a blade: 5 in across clear it, 5 1/4 in don't, and 5 in is told as the most.
#[test]
fn a_propeller_is_to_clear_what_crosses_its_plane() {
    const WING: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[200,900],[800,900],[800,920],[200,920]],"name":"Wing"}"#;
    const HUB: &str = r#"{"kind":"place","picture":1,"mark":"point","points":[[460,1040]],"name":"hub"}"#;
    let said = |inches: f64, wing: bool| {
        let vane = format!(
            r#"{{"kind":"set-vane","vane":{{"pivot":4,"hub":5,"front_right":false,"propeller":{{"across":{},"blades":2,"width":25.4,"angle":40,"bore":3.175,"clockwise":true}}}}}}"#,
            inches * 25.4
        );
        // Out of the plane there is nothing in its way.
        let wing = if wing { WING.to_owned() } else { WING.replace("[200,", "[520,") };
        let mut desk = after(&[PICTURE, BODY, &wing, SPAN, BUILT, PIVOT, HUB, &vane, LISTS]);
        of_vane(&mut desk).join(" | ")
    };
    assert!(said(5.0, true).contains("clear the rest by 1⁄2 in"), "{}", said(5.0, true));
    assert!(!said(5.0, true).contains("at most"), "{}", said(5.0, true));
    assert!(said(5.25, true).contains("so 5 in across at most"), "{}", said(5.25, true));
    assert!(said(12.0, false).contains("Nothing that is seen"), "{}", said(12.0, false));
}

/// By hand: 12 in of red oak over 8 % of moisture gets 12 · 0.00369 · 8 = 0.354 in wider, over the usual 4 % 0.177.
#[test]
fn lists_are_sorted_sheets_measured_and_moisture_chosen() {
    let wide = BOARD.replace("740", "980");
    let oak = r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"surfaced","stock":"4/4","species":"red-oak"}}}"#;
    let sheet = |mm: f64| {
        format!(
            r#"{{"kind":"set-part","mark":2,"choice":{{"made":{{"goods":"plywood","stock":"3/4","planed":{mm}}}}}}}"#
        )
    };
    let mut desk = after(&[PICTURE, &wide, OTHER, LENGTH, BUILD, oak, &sheet(18.0), LISTS]);
    let letters = |desk: &Desk| list(desk).rows.iter().map(|r| r[0].clone()).collect::<String>();
    assert_eq!(letters(&desk), "AB");
    assert!(list(&desk).rows[1][5].contains("measures 45⁄64 in"), "{:?}", list(&desk).rows[1]);
    assert!(desk.intend(intent(&sheet(40.0))).is_err(), "no 3/4 sheet measures 40 mm");
    for (sort, want) in [("stock", "BA"), ("longest", "AB"), ("letter", "AB")] {
        desk.intend(intent(&format!(r#"{{"kind":"set-thing","about":{{"sort":"{sort}"}}}}"#))).unwrap();
        assert_eq!(letters(&desk), want, "{sort}");
        assert_eq!(desk.scene().parts.iter().map(|p| p.letter.clone()).collect::<String>(), want, "{sort}");
    }
    assert!(list(&desk).rows[0][6].contains("over 4 % of moisture"), "{:?}", list(&desk).rows[0]);
    let usual = list(&desk).rows[0][6].clone();
    desk.intend(intent(r#"{"kind":"ask","about":"moisture"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"entry","text":"8"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"accept","way":"take"}"#)).unwrap();
    let row = list(&desk).rows[0][6].clone();
    assert!(row.contains("over 8 % of moisture") && row != usual, "{row}");
    assert!(desk.scene().parts[0].cut.iter().flatten().any(|t| t.text.contains("over 8 % of moisture")));
    // By the work: furniture is rounded to 1/32.
    desk.intend(intent(r#"{"kind":"ask","about":"work"}"#)).unwrap();
    press(&mut desk, "work-furniture");
    assert_eq!(desk.document().units.step.text(), "1/32 in");
}
