//! Bought things from the desk: a measured wheel becomes one that is sold, its axle follows, and both stand under what to buy.

use super::tests::{after, intent};
use super::{Desk, Make, cutting_table};
use crate::sheet::order::Piece;

const PICTURE: &str =
    r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250,"resolution":[254,254]}"#;
/// 40 px are an inch: a body of 10 × 4 in, and a wheel of 87.5 px: 2 3/16 in across.
const BODY: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,100],[500,100],[500,260],[100,260]],"name":"Body"}"#;
const LENGTH: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[100,1400],[1100,1400]]}"#;
const BUILD: &str = r#"{"kind":"set-build","mark":2,"length":"25"}"#;
const WHEEL: &str = r#"{"kind":"place","picture":1,"mark":"circle","points":[[356.25,180],[268.75,180],[312.5,136.25],[312.5,223.75]],"name":"Wheel"}"#;
/// 2 by 4: 1 1/2 in thick.
const STOCK: &str = r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"softwood","stock":"2"}}}"#;
const LISTS: &str = r#"{"kind":"go","step":"lists"}"#;
const ASK: &str = r#"{"kind":"ask-part","mark":3,"about":"bought"}"#;

fn press(desk: &mut Desk, id: &str) {
    let scene = desk.scene();
    let lists = scene.parts.iter().flat_map(|p| &p.keys);
    let keys: Vec<_> =
        scene.entry.iter().flat_map(|e| e.choices.iter().chain(&e.ways)).chain(lists).collect();
    let key = keys.iter().find(|k| k.id == id);
    let key = key.unwrap_or_else(|| panic!("no {id}: {:?}", keys.iter().map(|k| &k.id).collect::<Vec<_>>()));
    desk.intend(key.intent.clone().unwrap()).unwrap();
}

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

fn below(desk: &mut Desk) -> String {
    let below = desk.scene().lists.unwrap().below;
    plain(&below.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join("\n"))
}

#[test]
fn a_wheel_is_bought_and_its_axle_follows() {
    let mut desk = after(&[PICTURE, BODY, LENGTH, BUILD, WHEEL, STOCK, LISTS, ASK]);
    let reads = plain(&desk.scene().entry.unwrap().reads);
    assert!(reads.starts_with("measures 2.187") || reads.starts_with("measures 2.188"), "{reads}");
    press(&mut desk, "ware-wheel");
    // Both are offered, the nearer one first; the other one is a touch away.
    let offered: Vec<String> = desk.scene().entry.unwrap().choices.iter().map(|k| plain(&k.label)).collect();
    assert!(offered.contains(&"wheel 2 1⁄4 in: 1⁄16 in more than measured".to_owned()), "{offered:?}");
    assert!(offered.contains(&"wheel 2 in: 3⁄16 in less than measured".to_owned()), "{offered:?}");
    press(&mut desk, "size-5080");
    press(&mut desk, "part-done");
    press(&mut desk, "part-more");
    // By hand: 1 1/2 of body, two wheels of 5/8, two washers of 1/16, 1/16 of play: 2 15/16.
    press(&mut desk, "axle");
    let bought = below(&mut desk);
    assert!(
        bought.contains("B Wheel, to buy: 1 × wheel 2 in (3⁄16 in less than measured; measured 2.18"),
        "{bought}"
    );
    assert!(bought.contains("C dowel, to buy: 1 × dowel 1⁄4 in Cut to 2 15⁄16 in"), "{bought}");
    assert!(
        bought.contains(
            "thickness of A plus 2 × thickness of B plus 2 × washer of 1⁄16 in plus 1⁄16 in of play"
        ),
        "{bought}"
    );
    assert!(
        bought.contains("A hole it turns in is 17⁄64 in to 9⁄32 in; one it is glued in 1⁄4 in."),
        "{bought}"
    );
    // A larger wheel is thicker, and the axle follows: 2 1/4 is 11/16 thick, so 3 1/16.
    desk.intend(intent(ASK)).unwrap();
    press(&mut desk, "size-5715");
    assert!(
        plain(&desk.scene().aside).contains("C dowel was 2 15⁄16 in × 1⁄4 in, now 3 1⁄16 in × 1⁄4 in"),
        "{}",
        desk.scene().aside
    );
    assert!(below(&mut desk).contains("Cut to 3 1⁄16 in"), "{}", below(&mut desk));
}

#[test]
fn what_is_bought_is_not_cut() {
    let mut desk = after(&[PICTURE, BODY, LENGTH, BUILD, WHEEL, STOCK, LISTS, ASK]);
    press(&mut desk, "ware-wheel");
    press(&mut desk, "bought-thick");
    desk.intend(intent(r#"{"kind":"entry","text":"3/4"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"accept","way":"take"}"#)).unwrap();
    let order = desk.order(Make::List, "").unwrap();
    let [Piece::List(list), ..] = order.pieces.as_slice() else { panic!("{order:?}") };
    assert_eq!(list.rows.len(), 1, "{:?}", list.rows);
    assert!(plain(&list.lines[0]).starts_with("B Wheel, to buy: 1 × wheel 2 1⁄4 in"), "{:?}", list.lines);
    assert!(plain(&list.lines[0]).contains("It is 3⁄4 in thick."), "{:?}", list.lines);
    let table = plain(&cutting_table(&desk));
    assert!(table.lines().last().unwrap().contains("to buy: wheel 2 1⁄4 in"), "{table}");
    // On the body's pattern it is as large as it is sold: 57.15 mm.
    let order = desk.order(Make::Patterns, "").unwrap();
    assert!(format!("{order:?}").contains("radius: 28.57"), "{order:?}");
    // A part that was outlined may be bought too, and then no pattern is made of it; nothing again takes it back.
    desk.intend(intent(r#"{"kind":"set-bought","of":1,"bought":{"ware":"dowel","across":25.4}}"#)).unwrap();
    assert!(desk.order(Make::Patterns, "").is_err());
    desk.intend(intent(r#"{"kind":"set-bought","of":3,"bought":null}"#)).unwrap();
    assert!(desk.document().hidden.is_empty(), "{:?}", desk.document().hidden);
    for bad in [
        r#"{"kind":"set-bought","of":9,"bought":{"ware":"dowel","across":5}}"#,
        r#"{"kind":"set-bought","of":3,"bought":{"ware":"dowel","across":0}}"#,
        r#"{"kind":"set-bought","of":1,"bought":{"ware":"wheel","across":50,"thick":-1}}"#,
        r#"{"kind":"add-axle","wheel":1}"#,
        r#"{"kind":"ask-part","mark":9,"about":"bought"}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
}
