//! The largest that boards bear, from the desk.

use super::Desk;
use super::rule_tests::{BUILD, FRONT, LENGTH, LISTS, PICTURE, SIDE, SOLID};
use super::tests::{after, intent};

fn offered(desk: &mut Desk, part: u32) -> (String, Vec<String>) {
    let ask = format!(r#"{{"kind":"ask-part","mark":{part},"about":"part-largest"}}"#);
    desk.intend(intent(&ask)).unwrap();
    let entry = desk.scene().entry.unwrap();
    let plain = |t: &str| t.replace('\u{a0}', " ");
    (plain(&entry.reads), entry.choices.iter().map(|k| plain(&k.label)).collect())
}

/// By hand: softwood is 15 1/4 wide at the most. The side is 12 wide at 25: 15.25 / 12 · 25 = 31.77, down to 31 3/4; the front is
/// 20 wide: 15.25 / 20 · 25 = 19 1/16.
#[test]
fn the_widest_board_limits() {
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, SOLID, LISTS]);
    let (reads, keys) = offered(&mut desk, 2);
    assert_eq!(reads, "the boards for it: 96 in × 15 1⁄4 in");
    assert_eq!(
        keys,
        [
            "For this part alone: build 3 at 31 3⁄4 in, limited by the width of B",
            "For all parts, each by itself: build 3 at 19 1⁄16 in, limited by the width of A"
        ]
    );
    let key = desk.scene().entry.unwrap().choices[1].intent.clone().unwrap();
    desk.intend(key).unwrap();
    assert!(
        format!("{:?}", desk.scene().parts[0].cut[0]).contains("15 1⁄4"),
        "{:?}",
        desk.scene().parts[0].cut
    );
}

/// By hand: of a board of 30 × 14 in at hand, a side of 20 with dadoes of 1/4 at both ends takes 20 k + 1/2 of 30 and 12 k of 14: k
/// is 1.1667, 29.17 in, down to 29 1/8 (by width); and a shelf that is the front less two sides (32 k − 1 1/2, joints none) 31 1/2 of
/// 30 at k = 0.984, so 24.6, down to 24 9/16.
#[test]
fn joints_and_stock_do_not_grow_and_what_is_at_hand_counts() {
    let at_hand = r#"{"kind":"set-at-hand","lot":"softwood/1/","size":[762,355.6],"count":2}"#;
    let ends = r#"{"kind":"set-part","mark":2,"choice":{"made":{"goods":"softwood","stock":"1"},"ends":[{"joint":"dado","depth":6.35},{"joint":"dado","depth":6.35}]}}"#;
    let front = r#"{"kind":"set-part","mark":1,"choice":{"left_out":true}}"#;
    let mut desk = after(&[PICTURE, FRONT, SIDE, LENGTH, BUILD, ends, front, at_hand, LISTS]);
    let (reads, keys) = offered(&mut desk, 2);
    assert_eq!(reads, "the boards for it: 30 in × 14 in");
    assert_eq!(keys[0], "For this part alone: build 3 at 29 1⁄8 in, limited by the width of B");
    desk.intend(intent(r#"{"kind":"dismiss"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"add-part"}"#)).unwrap();
    let shelf = r#"{"kind":"set-part","mark":4,"choice":{"rules":[
        [{"times":1,"part":1,"side":"length"},{"times":-2,"part":2,"side":"thickness"}],
        [{"times":1,"part":2,"side":"width"}]]}}"#;
    desk.intend(intent(shelf)).unwrap();
    let (_, keys) = offered(&mut desk, 4);
    // 30 + 1.5 of 32 k: 31.5 / 32 · 25 = 24.609, down to 24 9/16.
    assert_eq!(keys[0], "For this part alone: build 3 at 24 9⁄16 in, limited by the length of C");
    for bad in [
        r#"{"kind":"set-at-hand","lot":"softwood/1/","size":[762,0],"count":2}"#,
        r#"{"kind":"set-at-hand","lot":"softwood/1/","size":[762,100],"count":2000}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
}
