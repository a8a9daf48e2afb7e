//! Boards from the desk: what is ordered to be laid out, what is pinned, what is cut at the bench.

use super::tests::{after, intent};
use super::{Desk, Make, bench};
use crate::sheet::order::{Boards, Piece};

const PICTURE: &str =
    r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250,"resolution":[254,254]}"#;
/// 1220 × 240 px and 1000 × 400 px; 1000 px are to be 25 in.
const SHELF: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,500],[1720,500],[1720,740],[500,740]],"name":"Shelf"}"#;
const SIDE: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[500,900],[1500,900],[1500,1300],[500,1300]],"name":"Side"}"#;
const LENGTH: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[500,900],[1500,900]]}"#;
const BUILD: &str = r#"{"kind":"set-build","mark":3,"length":"25"}"#;
const PINE: &str = r#"{"kind":"set-part","mark":1,"choice":{"made":{"goods":"softwood","stock":"1"},"ends":[{"joint":"dado","depth":6.35},{"joint":"dado","depth":6.35}]}}"#;
const TWO: &str = r#"{"kind":"set-pattern","mark":2,"choice":{"wanted":true,"quantity":2,"hand":"one","under":null,"grain":"along"}}"#;
const LISTS: &str = r#"{"kind":"go","step":"lists"}"#;
const LOT: &str = "softwood/1/";

fn desk() -> Desk {
    after(&[PICTURE, SHELF, SIDE, LENGTH, BUILD, PINE, TWO, LISTS])
}

fn boards(desk: &Desk) -> Boards {
    match desk.order(Make::Boards, "").unwrap().pieces.as_slice() {
        [Piece::Boards(boards)] => boards.clone(),
        other => panic!("{other:?}"),
    }
}

/// By hand: 30 1/2 and two dadoes of 1/4 are 31 in, of a 6 × 1; two sides of 25 × 10 in come from 11 1/4 wide boards.
#[test]
fn what_is_laid_out_is_what_is_cut() {
    let boards = boards(&desk());
    assert_eq!(boards.lots.len(), 1);
    let stack = &boards.lots[0];
    assert_eq!((stack.name.as_str(), stack.sheets), (LOT, false));
    let inches = |v: f64| (v / 25.4 * 64.0).round() / 64.0;
    let sizes: Vec<_> = stack.lot.items.iter().map(|i| (i.part, i.copy, i.size.map(inches))).collect();
    assert_eq!(sizes, [(1, 0, [31.0, 6.0]), (2, 0, [25.0, 10.0]), (2, 1, [25.0, 10.0])]);
    assert_eq!(
        stack.lot.boards.iter().map(|b| b.map(inches)).collect::<Vec<_>>(),
        [[96.0, 7.25], [96.0, 11.25]]
    );
    // With the list they stand on paper as well.
    let list = desk().order(Make::List, "").unwrap();
    assert!(matches!(list.pieces.as_slice(), [Piece::List(_), Piece::Boards(_)]));
}

#[test]
fn boards_are_chosen_pieces_pinned_and_all_of_it_undone() {
    let mut desk = desk();
    let before = boards(&desk);
    let scene = desk.scene();
    let keys = &scene.lists.as_ref().unwrap().stocks[0].keys;
    let ten = keys.iter().find(|k| k.id == "board-3048-0").unwrap().intent.clone().unwrap();
    desk.intend(ten).unwrap();
    assert_eq!(boards(&desk).lots[0].lot.boards[0][0], 3048.0);
    for fact in [
        r#"{"kind":"pin","lot":"softwood/1/","pin":{"part":2,"copy":1,"board":0,"size":[3048,285.75],"at":[100,0]},"on":true}"#,
        r#"{"kind":"spot","lot":"softwood/1/","spot":{"board":0,"size":[3048,285.75],"at":[900,0],"over":[40,40]},"on":true}"#,
        r#"{"kind":"set-kerf","kerf":"3/32"}"#,
    ] {
        desk.intend(intent(fact)).unwrap();
    }
    let lot = boards(&desk).lots[0].lot.clone();
    assert_eq!((lot.pins.len(), lot.spots.len(), lot.kerf), (1, 1, 3.0 * 25.4 / 32.0));
    for bad in [
        r#"{"kind":"set-kerf","kerf":"1"}"#,
        r#"{"kind":"set-boards","lot":"softwood/1/","size":[-1,0]}"#,
        r#"{"kind":"pin","lot":"x","pin":{"part":2,"copy":1,"board":0,"size":[1e9,1],"at":[100,0]},"on":true}"#,
        r#"{"kind":"tick","mark":99,"copy":0,"on":true}"#,
    ] {
        assert!(desk.intend(intent(bad)).is_err(), "{bad}");
    }
    // On boards of another size nothing lies where it did.
    desk.intend(intent(r#"{"kind":"set-boards","lot":"softwood/1/","size":[2438.4,0]}"#)).unwrap();
    assert!(boards(&desk).lots[0].lot.pins.is_empty());
    for _ in 0..5 {
        desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    }
    assert_eq!(boards(&desk), before);
}

/// The longest of a stock comes first, pieces of one length at one setting of the saw; a tick is kept and undone.
#[test]
fn the_bench_goes_from_long_to_short() {
    let mut desk = desk();
    let told = |desk: &Desk| {
        let bench = bench(desk);
        let one = |c: &super::Bench| {
            c.cuts
                .iter()
                .map(|c| (c.letter.clone(), c.cut.replace('\u{a0}', " "), c.first, c.done))
                .collect::<Vec<_>>()
        };
        (one(&bench), bench)
    };
    let (cuts, all) = told(&desk);
    let want = [("A", "31 in", true, false), ("B", "25 in", true, false), ("B", "25 in", false, false)];
    assert_eq!(cuts, want.map(|(l, c, f, d)| (l.to_owned(), c.to_owned(), f, d)));
    assert!(
        all.cuts[0].shoulder.replace('\u{a0}', " ").contains("30 1⁄2 in") && all.cuts[1].shoulder.is_empty()
    );
    assert!(all.cuts[1].setting.contains('2') && all.done.starts_with('0'), "{all:?}");
    desk.intend(all.cuts[1].tick.clone()).unwrap();
    let (ticked, all) = told(&desk);
    assert!(ticked[1].3 && !ticked[2].3 && all.done.starts_with('1'), "{all:?}");
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    assert_eq!(told(&desk).0, cuts);
}
