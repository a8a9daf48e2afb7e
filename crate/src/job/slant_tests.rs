//! Whole jobs through the desk about views that are seen at a slant.

use super::Desk;
use super::intent::Intent;
use super::tests::{self, intent};
use crate::mark::By;
use crate::raster::ask::Ask;

const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":4000,"height":3000}"#;
/// The check vector of the project's notes on methods: w : h is 1.5, f 3000 px, in order round it.
const VECTOR: [[f64; 2]; 4] =
    [[1109.3977, 615.5494], [2972.7207, 1026.2756], [2536.6454, 2032.9387], [845.7795, 2062.1166]];

fn after(lines: &[String]) -> Desk {
    tests::after(&lines.iter().map(String::as_str).collect::<Vec<_>>())
}

fn tap([x, y]: [f64; 2]) -> String {
    format!(r#"{{"kind":"tap","at":[{x},{y}],"by":"mouse","zoom":2,"reach":10}}"#)
}

fn begun() -> Vec<String> {
    [PICTURE, r#"{"kind":"go","step":"picture"}"#, r#"{"kind":"tool","tool":"square-on"}"#]
        .map(String::from)
        .to_vec()
}

/// Four corners, "I know neither", one side's length: the other side.
#[test]
fn a_rectangle_of_unknown_size_leads_to_one_true_length() {
    let mut lines = begun();
    lines.extend(VECTOR.map(tap));
    lines.push(r#"{"kind":"accept","way":"open"}"#.into());
    let mut desk = after(&lines);
    let scene = desk.scene();
    assert!(
        scene.entry.is_none() && scene.guide.starts_with("Touch both ends of one thing"),
        "{}",
        scene.guide
    );
    lines.extend([VECTOR[1], VECTOR[2]].map(tap));
    for more in [r#"{"kind":"entry","text":"400 mm"}"#, r#"{"kind":"accept","way":"is"}"#] {
        lines.push(more.into());
    }
    lines.extend([VECTOR[0], VECTOR[1]].map(tap));
    let desk = after(&lines);
    let width = desk.reckoned.reading(2).and_then(|r| r.primary()).unwrap();
    assert!((width.value - 600.0).abs() < 0.01 && width.half_width() < 20.0, "{} {}", width.value, width.u());
}

/// Corners touched across one another are put in order, and that is said.
#[test]
fn corners_are_put_in_order() {
    let mut lines = begun();
    lines.extend([VECTOR[0], VECTOR[1], VECTOR[3], VECTOR[2]].map(tap));
    let mut desk = after(&lines);
    let pending: Vec<[f64; 2]> = desk.hand.pending.iter().map(|t| [t.at.x, t.at.y]).collect();
    assert_eq!(pending, VECTOR);
    assert!(desk.scene().aside.contains("in order"));
}

/// Answers what is sought just now: an edge's corner there.
fn find(desk: &mut Desk, [x, y]: [f64; 2]) {
    let serial = desk.scene().seek.map_or(0, |s| s.serial);
    desk.intend(intent(&format!(
        r#"{{"kind":"found","serial":{serial},"found":{{"caught":{{"what":"corner","at":[{x},{y}],"cov":[0.01,0,0.01],"half":[0,0]}}}}}}"#
    )))
    .unwrap();
}

/// Where the corner in hand is, and whether what is shown to hold it is only a glimpse.
fn in_hand(desk: &mut Desk) -> ([f64; 2], Option<bool>) {
    let hand = desk.scene().hand.unwrap();
    (hand.at, hand.hold.map(|h| h.glimpse))
}

/// As a mark's end does: slid it goes free, let go it catches what is there, which one key takes back.
#[test]
fn a_corner_that_is_slid_goes_free_until_it_is_let_go() {
    let mut desk = after(&[begun(), vec![tap([1000.0, 800.0])]].concat());
    find(&mut desk, [1004.0, 800.0]);
    assert_eq!(in_hand(&mut desk), ([1004.0, 800.0], Some(false)));
    // Each answer to a slide shows what it would hold, and the slide goes on from where the finger has come.
    for x in [1002.0, 1000.0] {
        desk.slide([-2.0, 0.0], By::Touch, 4.0).unwrap();
        assert_eq!(in_hand(&mut desk).0, [x, 800.0]);
        find(&mut desk, [1004.0, 800.0]);
        assert_eq!(in_hand(&mut desk), ([x, 800.0], Some(true)));
    }
    // What is taken away goes back to what it held.
    desk.intend(intent(r#"{"kind":"show","table":"sizes"}"#)).unwrap();
    assert_eq!(in_hand(&mut desk), ([1004.0, 800.0], Some(false)));
    desk.slide([-2.0, 1.0], By::Touch, 4.0).unwrap();
    desk.intend(intent(r#"{"kind":"settle"}"#)).unwrap();
    assert_eq!(in_hand(&mut desk), ([1002.0, 801.0], None));
    find(&mut desk, [1001.5, 801.5]);
    assert_eq!(in_hand(&mut desk), ([1001.5, 801.5], Some(false)));
    desk.intend(intent(r#"{"kind":"loosen"}"#)).unwrap();
    assert_eq!(in_hand(&mut desk), ([1002.0, 801.0], None));
    // A nudge is by an eye, exactly: nothing is sought for it.
    desk.intend(intent(r#"{"kind":"nudge","by":[0.5,0],"zoom":8}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"settle"}"#)).unwrap();
    let sought = desk.scene().seek.map(|s| s.ask);
    assert_eq!(in_hand(&mut desk), ([1002.5, 801.0], None));
    assert!(!matches!(sought, Some(Ask::Catch { .. })), "{sought:?}");
}

/// What can't be known is refused, the corners stay, and the map is as it was.
#[test]
fn what_can_not_be_known_changes_nothing() {
    let mut lines = begun();
    lines.extend([[1000.0, 800.0], [3000.0, 800.0], [3000.0, 2100.0], [1000.0, 2100.0]].map(tap));
    let mut desk = after(&lines);
    let before = desk.document().clone();
    let say = desk.intend(intent(r#"{"kind":"accept","way":"open"}"#)).unwrap_err();
    assert_eq!(say.key, "view.unknowable");
    assert_eq!((desk.document(), desk.hand.pending.len()), (&before, 4));
    assert!(desk.scene().entry.is_some(), "the size can still be given");
}

/// One touch inside offers four corners; taken, they hold what was found.
#[test]
fn the_rectangle_itself_is_offered() {
    let mut lines = begun();
    lines.push(tap([1900.0, 1400.0]));
    let mut desk = after(&lines);
    let serial = |desk: &mut Desk| desk.scene().seek.map_or(0, |s| s.serial);
    let none = format!(r#"{{"kind":"found","serial":{},"found":null}}"#, serial(&mut desk));
    desk.intend(intent(&none)).unwrap();
    let corners = VECTOR.map(|[x, y]| format!(r#"{{"at":[{x},{y}],"cov":[0.0004,0,0.0004]}}"#)).join(",");
    let quad = format!(r#"{{"kind":"found","serial":{},"found":{{"quad":[{corners}]}}}}"#, serial(&mut desk));
    desk.intend(intent(&quad)).unwrap();
    let scene = desk.scene();
    assert!(scene.ledge.iter().any(|k| k.id == "take-corners"), "{}", scene.guide);
    assert_eq!(scene.pending_paths[0].len(), 5);
    desk.intend(Intent::LetGo).unwrap();
    assert!(desk.scene().entry.is_some());
    desk.intend(intent(r#"{"kind":"accept","way":"open"}"#)).unwrap();
    let square = desk.document().views[0].rectangle.as_ref().unwrap();
    assert_eq!(square.size, [None, None]);
    assert!(square.corners.iter().all(|c| c.hold.is_some() && c.worst() < 0.2));
    // A touch beside takes no offer.
    let mut other = after(&lines);
    other.intend(intent(&tap([500.0, 500.0]))).unwrap();
    assert_eq!(other.hand.pending.len(), 2);
}

/// Six true lengths between four places tell how the view is turned, once a person says that it is.
#[test]
fn lengths_alone_turn_a_view() {
    let mut lines = vec![PICTURE.to_owned()];
    let sizes = [
        (0, 1, 600.0),
        (1, 2, 400.0),
        (2, 3, 600.0),
        (3, 0, 400.0),
        (0, 2, 721.1102551),
        (1, 3, 721.1102551),
    ];
    for (i, (a, b, mm)) in sizes.into_iter().enumerate() {
        let ([p, q], [r, s]) = (VECTOR[a], VECTOR[b]);
        lines.push(format!(r#"{{"kind":"place","picture":1,"mark":"length","points":[[{p},{q}],[{r},{s}]],"zoom":2,"seen":true}}"#));
        lines.push(format!(r#"{{"kind":"set-known","mark":{},"length":{{"mm":{mm}}},"how":"tape"}}"#, i + 1));
    }
    lines.push(r#"{"kind":"go","step":"picture"}"#.into());
    let mut desk = after(&lines);
    let slanted = desk.scene().ledge.into_iter().find(|k| k.id == "slanted").and_then(|k| k.intent).unwrap();
    desk.intend(slanted).unwrap();
    let fit = desk.reckoned.mapped(1).and_then(|m| m.fit.as_ref().ok()).unwrap();
    let f = &fit.camera.as_ref().unwrap().focal;
    assert!((f.value / 3000.0 - 1.0).abs() < 1e-3 && fit.p > 0.9, "{} {}", f.value, fit.p);
}
