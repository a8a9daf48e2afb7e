//! Parts that no outline shows, rules between parts, and what looks wrong, from the desk.

use super::Desk;
use super::tests::{after, intent};

pub(super) const PICTURE: &str =
    r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250,"resolution":[254,254]}"#;
/// 40 px are an inch: a front of 32 × 20 in, and a side of 12 × 20 in.
pub(super) const FRONT: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,100],[1380,100],[1380,900],[100,900]],"name":"Front"}"#;
pub(super) const SIDE: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[1500,100],[1980,100],[1980,900],[1500,900]],"name":"Side"}"#;
pub(super) const LENGTH: &str =
    r#"{"kind":"place","picture":1,"mark":"length","points":[[100,1400],[1100,1400]]}"#;
pub(super) const BUILD: &str = r#"{"kind":"set-build","mark":3,"length":"25"}"#;
pub(super) const SOLID: &str =
    r#"{"kind":"set-part","mark":2,"choice":{"made":{"goods":"softwood","stock":"1"}}}"#;
pub(super) const LISTS: &str = r#"{"kind":"go","step":"lists"}"#;
const ADD: &str = r#"{"kind":"add-part"}"#;
/// Between two sides: the front's length less two sides; as wide as the side is (its lesser side).
const SHELF: &str = r#"{"kind":"set-part","mark":4,"choice":{"rules":[
    [{"times":1,"part":1,"side":"length"},{"times":-2,"part":2,"side":"thickness"}],
    [{"times":1,"part":2,"side":"width"}]]}}"#;

fn lines(desk: &mut Desk, part: u32) -> String {
    let parts = desk.scene().parts;
    let shown = parts.iter().find(|p| p.id == part).unwrap();
    let cut: Vec<String> =
        shown.cut.iter().map(|l| l.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join(" ")).collect();
    [&[shown.letter.clone(), shown.name.clone(), shown.size.clone()], cut.as_slice()]
        .concat()
        .join(" | ")
        .replace('\u{a0}', " ")
}

/// By hand: 32 − 2 · 3/4 = 30 1/2; with 23/32 plywood 30 9/16.
#[test]
fn a_hidden_shelf_follows_the_stock_of_its_sides() {
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, SOLID, ADD, LISTS]);
    assert!(lines(&mut desk, 4).starts_with("C | hidden part |  |"), "{}", lines(&mut desk, 4));
    desk.intend(intent(SHELF)).unwrap();
    desk.intend(intent(r#"{"kind":"name-part","part":4,"name":"Shelf"}"#)).unwrap();
    let shelf = lines(&mut desk, 4);
    assert!(shelf.contains("30 1⁄2") && shelf.contains("length of A less 2 × thickness of B"), "{shelf}");
    desk.intend(intent(
        r#"{"kind":"set-part","mark":2,"choice":{"made":{"goods":"plywood","stock":"3/4"}}}"#,
    ))
    .unwrap();
    assert!(lines(&mut desk, 4).contains("30 9⁄16"), "{}", lines(&mut desk, 4));
    let said = desk.scene().aside.replace('\u{a0}', " ");
    assert!(said.contains("C Shelf was 30 1⁄2 in × 12 in, now 30 9⁄16 in × 12 in"), "{said}");
}

#[test]
fn what_runs_in_a_ring_is_refused_by_name() {
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, SOLID, ADD, SHELF, LISTS]);
    let before = desk.document().clone();
    let ring =
        r#"{"kind":"set-part","mark":1,"choice":{"rules":[[{"times":2,"part":4,"side":"length"}],[]]}}"#;
    let refused = desk.intend(intent(ring)).unwrap_err();
    assert_eq!(refused.key, "rule.circle");
    assert!(desk.tell(&refused).contains("A → C → A"), "{}", desk.tell(&refused));
    assert_eq!(*desk.document(), before);
    // A copy goes with its like; what is altered names those it goes with; what is gone leaves a reason, and the rest hold.
    desk.intend(intent(r#"{"kind":"add-part","like":4}"#)).unwrap();
    assert!(lines(&mut desk, 5).contains("30 1⁄2"), "{}", lines(&mut desk, 5));
    desk.intend(intent(&SHELF.replace(r#""choice":{"#, r#""choice":{"altered":true,"#))).unwrap();
    assert!(lines(&mut desk, 4).contains("look at A, B, D"), "{}", lines(&mut desk, 4));
    desk.intend(intent(r#"{"kind":"remove-part","part":4}"#)).unwrap();
    assert!(lines(&mut desk, 5).contains("isn’t known yet"), "{}", lines(&mut desk, 5));
    assert!(lines(&mut desk, 1).contains("32"), "{}", lines(&mut desk, 1));
    for bad in [
        r#"{"kind":"add-part","like":99}"#,
        r#"{"kind":"remove-part","part":1}"#,
        r#"{"kind":"set-part","mark":5,"choice":{"rules":[[{"times":0,"part":1,"side":"length"}],[]]}}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
}

#[test]
fn what_looks_wrong_is_said_and_no_crib_gets_sizes() {
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, SOLID, LISTS]);
    let said = |desk: &mut Desk| {
        let sections = desk.scene().lists.unwrap().sections;
        let looks = sections.into_iter().find(|s| s.id == "looks").unwrap();
        looks.lines.iter().map(|t| t.text.clone()).collect::<Vec<_>>().join(" ").replace('\u{a0}', " ")
    };
    let seat = r#"{"kind":"set-thing","about":{"thing":"seat","tells":[["seat-height",3]]}}"#;
    desk.intend(intent(seat)).unwrap();
    let words = said(&mut desk);
    assert!(words.contains("seat height 25 in") && words.contains("looks high"), "{words}");
    assert!(words.contains("Common practice, no source") && words.contains("licensed practice"), "{words}");
    desk.intend(intent(r#"{"kind":"set-thing","about":{"thing":"crib"}}"#)).unwrap();
    let lists = desk.scene().lists.unwrap();
    assert!(desk.scene().parts.is_empty() && !lists.ready && said(&mut desk).contains("no sizes are given"));
    assert!(desk.scene().rows.iter().all(|r| r.finished.is_none()));
    assert_eq!(desk.order(super::Make::List, "").unwrap_err().key, "caution.crib");
    // Other sizes side by side: doubled, four times the area and eight times the weight.
    desk.intend(intent(r#"{"kind":"set-thing","about":{"compare":2}}"#)).unwrap();
    let sections = desk.scene().lists.unwrap().sections;
    let other = sections.iter().find(|s| s.id == "other").unwrap();
    let other =
        other.lines.iter().map(|t| t.text.clone()).collect::<Vec<_>>().join(" ").replace('\u{a0}', " ");
    assert!(
        other.contains("4.00 times the area, 8.00 times the weight")
            && other.contains("3: 25 in, then 50 in"),
        "{other}"
    );
}

/// What was kept from the scene before is what a fresh look gives, whatever a part that follows others rests on.
#[test]
fn a_part_that_follows_is_told_anew_with_all_it_rests_on() {
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, SOLID, ADD, SHELF, LISTS]);
    for fact in [
        r#"{"kind":"set-part","mark":2,"choice":{"made":{"goods":"plywood","stock":"3/4"}}}"#,
        r#"{"kind":"move-point","mark":1,"point":0,"at":[60,100],"by":"key","zoom":8,"seen":true}"#,
        r#"{"kind":"set-build","mark":3,"length":"26"}"#,
        r#"{"kind":"set-units","style":"millimetres","step":"1 mm","direction":"nearest"}"#,
        r#"{"kind":"set-part","mark":1,"choice":{"rules":[[{"times":2,"part":2,"side":"length"}],[]]}}"#,
        r#"{"kind":"set-part","mark":1,"choice":{"rules":[[{"times":-2,"part":2,"side":"length"}],[]]}}"#,
        r#"{"kind":"delete-mark","mark":2}"#,
        r#"{"kind":"undo"}"#,
        r#"{"kind":"name-part","part":4,"name":"Shelf"}"#,
    ] {
        desk.intend(intent(fact)).unwrap_or_else(|e| panic!("{fact}: {}", desk.tell(&e)));
        let kept = desk.scene().parts;
        desk.shelf = super::show::Shelf::default();
        assert_eq!(kept, desk.scene().parts, "after {fact}");
    }
}
