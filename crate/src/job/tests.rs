//! Whole jobs through the desk: what a person does, and what they read.

use super::intent::Intent;
use super::scene::{Scene, Tone};
use super::show::Make;
use super::{Desk, Words};
use proptest::prelude::*;

fn desk() -> Desk {
    Desk::new(Words::read(include_str!("../../../www/words/en.json")).unwrap())
}

pub(super) fn intent(json: &str) -> Intent {
    serde_json::from_str(json).unwrap_or_else(|e| panic!("{json}: {e}"))
}

/// A desk after `lines`, each of which must apply.
pub(super) fn after(lines: &[&str]) -> Desk {
    let mut desk = desk();
    for line in lines {
        desk.intend(intent(line)).unwrap_or_else(|e| panic!("{line}: {}", desk.tell(&e)));
    }
    desk
}

const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;

fn length(x: f64, y: f64, across: f64, down: f64) -> String {
    let (x2, y2) = (x + across, y + down);
    format!(
        r#"{{"kind":"place","picture":1,"mark":"length","points":[[{x},{y}],[{x2},{y2}]],"zoom":8,"seen":true}}"#
    )
}

fn figures(scene: &Scene) -> Vec<String> {
    scene
        .rows
        .iter()
        .map(|r| r.finished.as_ref().map_or_else(String::new, |s| s.figure.text.clone()))
        .collect()
}

/// Trade practice, no source: three lengths read 6, 5 and 1¾; the 5 is to finish at 14½. By hand the others come to
/// 17.4 and 5.075: 17⅜ to the eighth, 17½ to the half, 5 1⁄16 to the sixteenth, 5 to the half.
#[test]
fn three_lengths_and_the_one_that_is_wanted() {
    let lines = [
        length(100.0, 100.0, 1200.0, 0.0),
        length(100.0, 300.0, 1000.0, 0.0),
        length(100.0, 500.0, 350.0, 0.0),
    ];
    let mut desk = after(&[
        PICTURE,
        &lines[0],
        &lines[1],
        &lines[2],
        r#"{"kind":"set-build","mark":2,"length":"14 1/2"}"#,
    ]);
    for (step, expected) in [
        ("1/8 in", ["17 3⁄8", "14 1⁄2", "5 1⁄8"]),
        ("1/2 in", ["17 1⁄2", "14 1⁄2", "5"]),
        ("1/16 in", ["17 3⁄8", "14 1⁄2", "5 1⁄16"]),
    ] {
        let set = format!(r#"{{"kind":"set-units","style":"inches","step":"{step}","direction":"nearest"}}"#);
        desk.intend(intent(&set)).unwrap();
        assert_eq!(figures(&desk.scene()), expected, "to {step}");
    }
    let unrounded: Vec<f64> =
        desk.scene().rows.iter().map(|r| r.finished.as_ref().unwrap().value / 25.4).collect();
    assert!((unrounded[0] - 17.4).abs() < 1e-4 && (unrounded[2] - 5.075).abs() < 1e-4, "{unrounded:?}");
    // What was chosen has no error; what follows from it has.
    let scene = desk.scene();
    assert_eq!(scene.rows[1].finished.as_ref().unwrap().plus, 0.0);
    assert!(scene.rows[0].finished.as_ref().unwrap().plus > 0.0);
}

/// By construction: 10.25 px a mm across and 10 along is a picture stretched across, and the other way round.
#[test]
fn a_stretch_is_told_in_its_own_direction() {
    for (across, along, said) in
        [(10.25, 10.0, "stretched across by 2.5 %"), (10.0, 10.25, "up and down by 2.4 %")]
    {
        let mut desk = after(&[
            PICTURE,
            &length(100.0, 100.0, 200.0 * across, 0.0),
            &length(100.0, 100.0, 0.0, 180.0 * along),
            r#"{"kind":"set-known","mark":1,"length":{"mm":200},"pm":{"mm":0.05}}"#,
            r#"{"kind":"set-known","mark":2,"length":{"mm":180},"pm":{"mm":0.05}}"#,
        ]);
        let notes = desk.scene().notes;
        assert!(notes.iter().any(|n| n.text.contains(said)), "{said}: {notes:?}");
    }
}

/// Undo while an end is being slid takes back the slide, and nothing before it.
#[test]
fn undo_while_sliding_takes_back_the_slide_only() {
    let mut desk =
        after(&[PICTURE, &length(100.0, 100.0, 1200.0, 0.0), r#"{"kind":"hold","mark":1,"point":1}"#]);
    let before = desk.document().clone();
    desk.slide([40.0, 0.0], crate::mark::By::Touch, 1.0).unwrap();
    assert_ne!(*desk.document(), before);
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    assert_eq!(*desk.document(), before);
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    assert!(desk.document().marks.is_empty());
}

/// What a person reads at odd sizes and marks, each by its own rule (ours, no source).
#[test]
fn odd_sizes_say_so() {
    let tiny = length(100.0, 300.0, 12.0, 0.0);
    let mut desk = after(&[
        PICTURE,
        &length(100.0, 100.0, 1200.0, 0.0),
        &tiny,
        r#"{"kind":"place","picture":1,"mark":"point","points":[[500,500]],"zoom":8,"seen":true}"#,
        r#"{"kind":"set-known","mark":1,"length":{"mm":100},"how":"tape"}"#,
        r#"{"kind":"set-units","style":"millimetres","step":"10 mm","direction":"nearest"}"#,
        r#"{"kind":"go","step":"build"}"#,
    ]);
    let flags: Vec<Vec<String>> = desk.scene().rows.iter().map(|r| r.flags.clone()).collect();
    assert!(flags[0].is_empty() && flags[1][0].contains("rounds to nothing"), "{flags:?}");
    for (mark, offered) in [(1, true), (3, false)] {
        desk.intend(intent(&format!(r#"{{"kind":"select","mark":{mark}}}"#))).unwrap();
        assert_eq!(desk.scene().ledge.iter().any(|k| k.id == "build-this"), offered, "mark {mark}");
    }
    // A guess of 2 m is good to 100 mm: no rounding there is bears that.
    let guess = r#"{"kind":"set-known","mark":1,"length":{"mm":2000},"how":"guess"}"#;
    desk.intend(intent(guess)).unwrap();
    let long = length(100.0, 700.0, 1100.0, 0.0);
    desk.intend(intent(&long)).unwrap();
    let notes = desk.scene().notes;
    assert!(notes.iter().any(|n| n.id == "rounding-coarsest"), "{notes:?}");
}

/// A caption's ± is a quarter of an inch, and is told as that.
#[test]
fn a_caption_is_good_to_a_quarter() {
    let known = r#"{"kind":"set-known","mark":1,"length":"72","how":"caption"}"#;
    let mut desk = after(&[PICTURE, &length(100.0, 100.0, 1200.0, 0.0), known]);
    let scene = desk.scene();
    let pm = &scene.rows[0].real.as_ref().unwrap().pm;
    assert_eq!(pm, "± 1⁄4");
}

#[test]
fn the_first_question_is_answered_in_five_touches() {
    let mut desk = after(&[
        PICTURE,
        r#"{"kind":"tap","at":[100,100],"by":"touch","zoom":0.4,"reach":24}"#,
        r#"{"kind":"tap","at":[1300,100],"by":"touch","zoom":0.4,"reach":24}"#,
        r#"{"kind":"entry","text":"24"}"#,
        r#"{"kind":"accept","way":"want"}"#,
    ]);
    let scene = desk.scene();
    assert_eq!(figures(&scene), ["24"]);
    assert_eq!(scene.rows[0].from, "you chose it");
    assert!(scene.entry.is_none() && scene.hand.is_none());
}

#[test]
fn a_touch_in_one_view_picks_up_nothing_of_the_next() {
    let line = length(100.0, 300.0, 890.0, 0.0);
    let views = r#"{"kind":"add-views","picture":1,"views":[{"role":"top","box":{"at":[50,50],"size":[950,900]}},{"role":"front","box":{"at":[1010,50],"size":[900,900]}}]}"#;
    let tap = |x: f64| format!(r#"{{"kind":"tap","at":[{x},300],"by":"touch","zoom":0.4,"reach":24}}"#);
    for (x, marks) in [(1022.0, 2), (985.0, 1)] {
        let desk = after(&[PICTURE, &line, views, r#"{"kind":"go","step":"marks"}"#, &tap(x)]);
        assert_eq!(desk.document().marks.len(), marks, "marks after a touch at {x}");
    }
}

#[test]
fn views_that_disagree_are_asked_about_and_the_trusted_one_counts() {
    let lines = [
        r#"{"kind":"add-view","picture":1,"role":"top","box":{"at":[50,50],"size":[1400,1200]}}"#.to_owned(),
        r#"{"kind":"add-view","picture":1,"role":"front","box":{"at":[1500,50],"size":[1400,500]}}"#
            .to_owned(),
        length(700.0, 100.0, 0.0, 920.0),
        length(100.0, 300.0, 1200.0, 0.0),
        length(1550.0, 300.0, 1180.0, 0.0),
        r#"{"kind":"set-build","mark":1,"length":"24"}"#.to_owned(),
    ];
    let mut all = vec![PICTURE];
    all.extend(lines.iter().map(String::as_str));
    let mut desk = after(&all);
    let scene = desk.scene();
    let ask = scene.notes.iter().find(|n| n.tone == Tone::Ask).expect("a question");
    assert!(ask.text.contains("31 5⁄16") && ask.text.contains("30 13⁄16"), "{}", ask.text);
    let top = ask
        .keys
        .iter()
        .find(|k| k.label.contains("top"))
        .and_then(|k| k.intent.clone())
        .expect("a key for the top view");
    desk.intend(top).unwrap();
    let scene = desk.scene();
    assert_eq!(figures(&scene), ["24", "31 5⁄16", "31 5⁄16"]);
    assert!(scene.notes.iter().all(|n| n.tone != Tone::Ask));
    assert!(scene.rows[2].flags.iter().any(|f| f.contains("30 13⁄16")), "{:?}", scene.rows[2].flags);
}

#[test]
fn a_chain_adds_up() {
    let lines: Vec<String> =
        (0..7).map(|i| length(100.0 + 202.0 * f64::from(i), 100.0, 202.0, 0.0)).collect();
    let whole = length(100.0, 200.0, 202.0 * 7.0, 0.0);
    let mut all = vec![PICTURE];
    all.extend(lines.iter().map(String::as_str));
    all.push(&whole);
    // 7 × 5.05 in is 35.35: by running position 35 3/8, each by itself 35 7/16 (see `finish`).
    all.push(r#"{"kind":"set-build","mark":8,"length":"35.35"}"#);
    all.push(r#"{"kind":"chain","marks":[1,2,3,4,5,6,7]}"#);
    let expected = ["5 1⁄16", "5 1⁄16", "5", "5 1⁄16", "5 1⁄16", "5 1⁄16", "5 1⁄16", "35 3⁄8"];
    assert_eq!(figures(&after(&all).scene()), expected);
    // The fifth takes up the difference: the others are alike, and the check sum says so.
    all.push(r#"{"kind":"take-up","mark":5,"on":true}"#);
    all.push(r#"{"kind":"select","mark":5}"#);
    let mut desk = after(&all);
    let expected = ["5 1⁄16", "5 1⁄16", "5 1⁄16", "5 1⁄16", "5", "5 1⁄16", "5 1⁄16", "35 3⁄8"];
    assert_eq!(figures(&desk.scene()), expected);
    let detail = desk.scene().detail.unwrap();
    let sum = detail.lines.iter().find(|[label, _]| label == "adds up").unwrap();
    assert!(
        sum[1].contains("+ 5 + 5 1⁄16 + 5 1⁄16 = 35 3⁄8") && sum[1].contains("come to 35 7⁄16"),
        "{sum:?}"
    );
    // Another does instead; then none, once they need not add up.
    desk.intend(intent(r#"{"kind":"take-up","mark":1,"on":true}"#)).unwrap();
    assert_eq!(desk.document().takers, [1]);
    desk.intend(intent(r#"{"kind":"unchain","mark":3}"#)).unwrap();
    assert!(desk.document().takers.is_empty());
    assert!(desk.intend(intent(r#"{"kind":"take-up","mark":1,"on":true}"#)).is_err());
}

/// Pieces that agree within their ± are cut alike although one was touched a little longer: a fifth of a px each way at 40 px to an
/// inch.
#[test]
fn equal_pieces_stay_equal() {
    let off = [0.2, -0.2, 0.2, -0.2, 0.8];
    let mut x = 100.0;
    let lines: Vec<String> = off
        .iter()
        .map(|off| {
            let long = 201.2 + off;
            x += long;
            length(x - long, 100.0, long, 0.0)
        })
        .collect();
    let mut all = vec![PICTURE];
    all.extend(lines.iter().map(String::as_str));
    let whole = length(100.0, 200.0, 1006.8, 0.0);
    all.push(&whole);
    all.push(r#"{"kind":"set-build","mark":6,"length":"25.17"}"#);
    all.push(r#"{"kind":"chain","marks":[1,2,3,4,5]}"#);
    all.push(r#"{"kind":"take-up","mark":5,"on":true}"#);
    // By hand: 5.03 in is 80.48 sixteenths, four of them 80 each (two by themselves would be 81); of 403 in all 83 are left.
    assert_eq!(figures(&after(&all).scene()), ["5", "5", "5", "5", "5 3⁄16", "25 3⁄16"]);
}

#[test]
fn a_slide_is_no_fact_until_it_settles() {
    let line = length(100.0, 100.0, 1000.0, 0.0);
    let mut desk = after(&[PICTURE, &line, r#"{"kind":"hold","mark":1,"point":1}"#]);
    let before = desk.document().clone();
    let at = desk.slide([5.0, -2.0], crate::mark::By::Touch, 4.0).unwrap();
    assert_eq!([at.x, at.y], [1105.0, 98.0]);
    desk.intend(intent(r#"{"kind":"let-go"}"#)).unwrap();
    assert_eq!(*desk.document(), before, "anything but settling puts it back");
    desk.intend(intent(r#"{"kind":"hold","mark":1,"point":1}"#)).unwrap();
    desk.slide([5.0, -2.0], crate::mark::By::Touch, 4.0).unwrap();
    desk.intend(intent(r#"{"kind":"settle"}"#)).unwrap();
    assert_eq!(desk.log().len(), 3);
    desk.intend(Intent::Undo).unwrap();
    assert_eq!(*desk.document(), before);
}

#[test]
fn a_run_of_nudges_is_one_thing_to_undo() {
    let line = length(100.0, 100.0, 1000.0, 0.0);
    let mut desk = after(&[PICTURE, &line, r#"{"kind":"hold","mark":1,"point":0}"#]);
    let before = desk.document().clone();
    for _ in 0..5 {
        desk.intend(intent(r#"{"kind":"nudge","by":[1,0],"zoom":8}"#)).unwrap();
    }
    let moved = desk.document().clone();
    desk.intend(Intent::Undo).unwrap();
    assert_eq!(*desk.document(), before);
    desk.intend(Intent::Redo).unwrap();
    assert_eq!(*desk.document(), moved);
}

#[test]
fn a_nudge_that_is_refused_changes_nothing() {
    let line = length(100.0, 100.0, 1000.0, 0.0);
    let mut desk = after(&[
        PICTURE,
        &line,
        r#"{"kind":"set-known","mark":1,"length":{"mm":500}}"#,
        r#"{"kind":"hold","mark":1,"point":1}"#,
    ]);
    let before = desk.document().clone();
    // Onto its other end: no map would be left.
    let refused = desk.intend(intent(r#"{"kind":"nudge","by":[-1000,0],"zoom":1}"#));
    if refused.is_err() {
        assert_eq!(*desk.document(), before);
    }
    desk.intend(intent(r#"{"kind":"name-job","name":"x"}"#)).unwrap();
    let mut again = self::desk();
    again.restore(desk.log().to_vec()).unwrap();
    assert_eq!(again.document(), desk.document());
}

#[test]
fn what_was_chosen_stays_chosen_when_its_view_gives_way() {
    let lines = [
        r#"{"kind":"add-view","picture":1,"role":"side","box":{"at":[0,0],"size":[1400,900]}}"#.to_owned(),
        r#"{"kind":"add-view","picture":1,"role":"top","box":{"at":[0,1000],"size":[1400,900]}}"#.to_owned(),
        length(100.0, 100.0, 1000.0, 0.0),
        length(100.0, 1100.0, 1030.0, 0.0),
        length(100.0, 1300.0, 515.0, 0.0),
        r#"{"kind":"set-build","mark":1,"length":"12"}"#.to_owned(),
        r#"{"kind":"trust","view":3,"mark":2,"other":1}"#.to_owned(),
    ];
    let mut all = vec![PICTURE];
    all.extend(lines.iter().map(String::as_str));
    assert_eq!(figures(&after(&all).scene()), ["12", "12", "6"]);
}

#[test]
fn a_mark_left_half_placed_is_gone_and_one_half_undone_goes_on() {
    let touch = r#"{"kind":"tap","at":[100,100],"by":"mouse","zoom":1,"reach":10}"#;
    let other = r#"{"kind":"tap","at":[600,100],"by":"mouse","zoom":1,"reach":10}"#;
    let desk = after(&[PICTURE, touch, r#"{"kind":"tool","tool":"circle"}"#]);
    assert!(desk.document().marks.is_empty());
    let mut desk = after(&[PICTURE, touch, other, r#"{"kind":"undo"}"#]);
    assert!(desk.scene().entry.is_none(), "a mark with one end can't be given a length");
    desk.intend(intent(other)).unwrap();
    assert_eq!(desk.document().marks.len(), 1, "the next touch is its other end");
    assert_eq!(desk.document().marks[0].points.len(), 2);
}

#[test]
fn corners_don_t_outlive_what_they_stood_on() {
    let mut desk = after(&[
        PICTURE,
        r#"{"kind":"go","step":"picture"}"#,
        r#"{"kind":"add-view","picture":1,"role":"front","box":{"at":[0,0],"size":[800,700]}}"#,
        r#"{"kind":"tap","at":[400,400],"by":"mouse","zoom":1,"reach":10}"#,
        r#"{"kind":"tool","tool":"square-on"}"#,
        r#"{"kind":"tap","at":[10,10],"by":"mouse","zoom":1,"reach":10}"#,
        r#"{"kind":"tap","at":[700,12],"by":"mouse","zoom":1,"reach":10}"#,
        r#"{"kind":"tap","at":[690,600],"by":"mouse","zoom":1,"reach":10}"#,
        r#"{"kind":"tap","at":[12,610],"by":"mouse","zoom":1,"reach":10}"#,
    ]);
    let offered = desk.scene().entry.expect("the keypad asks for the size").choices;
    assert!(
        offered.iter().any(|k| k.label.contains("lying"))
            && offered.iter().any(|k| k.label.contains("upright"))
    );
    desk.intend(Intent::Undo).unwrap();
    let scene = desk.scene();
    assert!(scene.pending.is_empty() && scene.entry.is_none());
}

#[test]
fn no_name_is_a_formula_in_a_table_file() {
    let line = length(100.0, 100.0, 1000.0, 0.0);
    let mut desk = after(&[PICTURE, &line, r#"{"kind":"name-mark","mark":1,"name":"-1+cmd|' /C calc'!A0"}"#]);
    let heads = desk.csv_heads();
    let text = super::csv(&desk.scene(), &heads);
    assert!(text.contains("'-1+cmd"), "{text}");
}

/// Intents that a person, a page gone wrong, or a broken log may send, good and bad.
fn any_intent() -> impl Strategy<Value = String> {
    let at = (-50.0..3100.0_f64, -50.0..2100.0_f64).prop_map(|(x, y)| format!("[{x},{y}]"));
    let mark = 0..6_u32;
    prop_oneof![
        4 => at.clone().prop_map(|p| format!(r#"{{"kind":"tap","at":{p},"by":"touch","zoom":0.5,"reach":24}}"#)),
        2 => (at.clone(), at.clone()).prop_map(|(p, q)| format!(r#"{{"kind":"place","picture":1,"mark":"length","points":[{p},{q}]}}"#)),
        1 => (mark.clone(), at.clone()).prop_map(|(m, p)| format!(r#"{{"kind":"move-point","mark":{m},"point":1,"at":{p},"by":"key","zoom":4,"seen":true}}"#)),
        1 => (mark.clone(), 0.0..900.0_f64).prop_map(|(m, l)| format!(r#"{{"kind":"set-known","mark":{m},"length":{{"mm":{l}}}}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"set-build","mark":{m},"length":"24"}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"delete-mark","mark":{m}}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"select","mark":{m}}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"keep","mark":{m},"along":"level"}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"hold","mark":{m},"point":1}}"#)),
        1 => (-900.0..900.0_f64).prop_map(|d| format!(r#"{{"kind":"nudge","by":[{d},0],"zoom":2}}"#)),
        1 => (mark.clone(), mark.clone()).prop_map(|(m, n)| format!(r#"{{"kind":"trust","view":1,"mark":{m},"other":{n}}}"#)),
        1 => mark.clone().prop_map(|m| format!(r#"{{"kind":"like","mark":{m},"step":[30,40]}}"#)),
        1 => prop::sample::select(vec!["length", "circle", "outline", "path", "angle", "arc", "point", "gap", "crossing", "view-split", "view-merge", "view-box", "view-level", "square-on", "again", "length-from-line", "join-with", "cut-off", "knot"]).prop_map(|t| format!(r#"{{"kind":"tool","tool":"{t}"}}"#)),
        1 => prop::sample::select(vec!["picture", "true-length", "marks", "build", "lists"]).prop_map(|s| format!(r#"{{"kind":"go","step":"{s}"}}"#)),
        1 => prop::sample::select(vec!["23 5/16", "", "x", "1e9", "4 mm"]).prop_map(|t| format!(r#"{{"kind":"entry","text":"{t}"}}"#)),
        1 => prop::sample::select(vec!["is", "want", "check", "take", "always"]).prop_map(|w| format!(r#"{{"kind":"accept","way":"{w}"}}"#)),
        3 => prop::sample::select(vec!["undo", "redo", "let-go", "forget", "other-end", "dismiss", "clear-build", "settle", "loosen"]).prop_map(|k| format!(r#"{{"kind":"{k}"}}"#)),
        3 => (at.clone(), 1..40_u32, prop::sample::select(vec![r#""along":[0.6,0.8]"#, r#""along":null"#])).prop_map(|(p, s, a)| format!(
            r#"{{"kind":"found","serial":{s},"found":{{"caught":{{"what":"line","at":{p},"cov":[0.002,0.0001,0.003],{a},"half":[1.5,-2]}}}}}}"#)),
        1 => (1..40_u32).prop_map(|s| format!(r#"{{"kind":"found","serial":{s},"found":null}}"#)),
        1 => (at.clone(), at.clone()).prop_map(|(p, q)| format!(
            r#"{{"kind":"add-views","picture":1,"views":[{{"role":"top","box":{{"at":{p},"size":[600,500]}}}},{{"role":"side","box":{{"at":{q},"size":[300,700],"tilt":2}}}}]}}"#)),
        1 => (2..7_u32, 2..7_u32).prop_map(|(v, w)| format!(r#"{{"kind":"merge-views","view":{v},"with":{w}}}"#)),
        1 => (2..7_u32, at.clone(), at.clone()).prop_map(|(v, p, q)| format!(r#"{{"kind":"split-view","view":{v},"along":[{p},{q}]}}"#)),
        2 => (mark.clone(), at.clone(), 10.0..300.0_f64).prop_map(|(m, p, r)| format!(
            r#"{{"kind":"trace","mark":{m},"border":{{"rings":[[{p},[{r},900],[700,{r}],[650.5,20]]],"sigma":0.1,"half":1.2,"bridges":[]}}}}"#)),
        1 => (mark.clone(), at.clone()).prop_map(|(m, p)| format!(
            r#"{{"kind":"follow","mark":{m},"before":1,"points":[[1,2],{p},[30,40],[33,44],[35,46]],"sigma":0.1}}"#)),
        1 => (mark.clone(), at.clone()).prop_map(|(m, p)| format!(
            r#"{{"kind":"fit","mark":{m},"from":0,"points":[{{"at":{p},"cov":[0.01,0.002,0.0005]}},{{"at":[800,900],"cov":[0.01,0,0]}}]}}"#)),
        1 => (at.clone(), 20.0..300.0_f64).prop_map(|(p, r)| format!(
            r#"{{"kind":"outlines","picture":1,"borders":[{{"rings":[[{p},[{r},900],[700,{r}],[650.5,20]],[[300,300],[320,300],[320,{r}]]],"sigma":0.1,"half":1.2,"bridges":[]}}]}}"#)),
        3 => (mark.clone(), prop::sample::select(vec!["smooth", "fair", "join", "cut", "even"]), 0..5_u32, any::<bool>(), at.clone(), -3.0..300.0_f64).prop_map(|(m, w, n, r, p, d)| format!(
            r#"{{"kind":"shape","mark":{m},"work":"{w}","with":{},"shaped":{{"rings":{},"curves":[[{{"c1":[{d},10],"c2":{p},"p":[200,{d}]}},{{"c1":[240,90],"c2":[230,200],"p":[300,300],"corner":true}},{{"c1":[200,233],"c2":[100,166],"p":[0,100],"corner":true,"straight":true}}]],"sigma":0.05,"mean":0.01,"moved":{d},"even":{{"axis":[{p},[3,4]],"rms":0.1,"greatest":0.2,"better":"left"}}}}}}"#,
            if n == 0 { "null".to_owned() } else { n.to_string() },
            if r { format!("[[{p},[{d},900],[700,{d}],[650.5,20]]]") } else { "[]".to_owned() })),
        1 => (mark.clone(), at.clone()).prop_map(|(m, p)| format!(r#"{{"kind":"add-knot","mark":{m},"at":{p}}}"#)),
        1 => (mark.clone(), 0..5_u16, any::<bool>()).prop_map(|(m, p, s)| format!(r#"{{"kind":"turn-knot","mark":{m},"point":{p},"sharp":{s}}}"#)),
        1 => (mark.clone(), 0..5_u16).prop_map(|(m, p)| format!(r#"{{"kind":"remove-point","mark":{m},"point":{p}}}"#)),
        2 => prop::sample::select(vec!["smooth", "fair", "halves", "left-twice", "right-twice", "mean"]).prop_map(|w| format!(r#"{{"kind":"want","wish":"{w}"}}"#)),
        1 => Just(r#"{"kind":"take-outlines"}"#.to_owned()),
        2 => (mark.clone(), any::<bool>(), 0..1200_u32, prop::sample::select(vec!["one", "half", "pair"]), prop::sample::select(vec!["null", "\"grey\"", "\"lines\""])).prop_map(|(m, w, q, h, u)| format!(
            r#"{{"kind":"set-pattern","mark":{m},"choice":{{"wanted":{w},"quantity":{q},"hand":"{h}","under":{u},"grain":"across"}}}}"#)),
        1 => (prop::sample::select(vec!["a4", "letter", "custom", "card", "x"]), -5.0..9000.0_f64).prop_map(|(n, s)| format!(
            r#"{{"kind":"set-paper","paper":{{"name":"{n}","size":[{s},300],"turn":"fewest"}}}}"#)),
        2 => (mark.clone(), prop::sample::select(vec!["1", "3/4", "5/4", "9"]), prop::sample::select(vec!["softwood", "plywood", "rough"]), -2.0..40.0_f64, any::<bool>()).prop_map(|(m, n, g, d, s)| format!(
            r#"{{"kind":"set-part","mark":{m},"choice":{{"made":{{"goods":"{g}","stock":"{n}","species":"red-oak"}},"ends":[{{"joint":"tenon","depth":{d}}},{{"joint":"none","depth":0}}],"shelf":{s}}}}}"#)),
        1 => (mark.clone(), prop::sample::select(vec!["part-stock", "part-ends", "joint-depth", "planed", "paper"])).prop_map(|(m, a)| format!(r#"{{"kind":"ask-part","mark":{m},"about":"{a}"}}"#)),
        1 => (0..1100_u32, -3000.0..3000.0_f64).prop_map(|(w, b)| format!(r#"{{"kind":"shift-sheets","whole":{w},"by":[{b},5]}}"#)),
        1 => (0.9..1.1_f64).prop_map(|f| format!(r#"{{"kind":"set-printer","printer":{{"factor":[{f},1]}}}}"#)),
        1 => prop::sample::select(vec!["paper", "printer-across", "printer-down"]).prop_map(|a| format!(r#"{{"kind":"ask","about":"{a}"}}"#)),
        1 => (1..40_u32, at.clone()).prop_map(|(s, p)| format!(
            r#"{{"kind":"found","serial":{s},"found":{{"shaped":{{"rings":[[{p},[30,900],[700,40],[650.5,20]]],"even":{{"axis":[{p},[3,4]],"rms":0.1,"greatest":0.2,"better":"left"}}}}}}}}"#)),
        1 => prop::sample::select(vec!["middle", "outer", "inner"]).prop_map(|s| format!(r#"{{"kind":"set-side","side":"{s}"}}"#)),
        1 => at.prop_map(|p| format!(r#"{{"kind":"add-view","picture":1,"role":"top","box":{{"at":{p},"size":[900,700],"tilt":3}}}}"#)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Whatever is sent: nothing panics, a refusal leaves the document as it was, there is always a sentence and never a
    /// bare name of one, and the log alone makes the same document again.
    #[test]
    fn nothing_sent_does_harm(lines in prop::collection::vec(any_intent(), 1..60)) {
        let mut desk = after(&[PICTURE]);
        for line in &lines {
            let before = (desk.document().clone(), desk.log().len());
            if let Err(say) = desk.intend(intent(line)) {
                prop_assert_eq!(&before.0, desk.document(), "{} was refused but changed something", line);
                prop_assert_eq!(before.1, desk.log().len());
                prop_assert!(desk.tell(&say).contains(' '), "no sentence for {}", say.key);
            }
            let scene = desk.scene();
            prop_assert!(scene.guide.contains(' '), "{}", scene.guide);
            prop_assert!(scene.rows.iter().all(|r| !r.name.is_empty()));
        }
        for make in [Make::Patterns, Make::Sticks, Make::Grids, Make::Offsets, Make::Sectors, Make::Test] {
            match desk.order(make, "today") {
                Ok(order) => prop_assert!(serde_json::to_string(&order).is_ok_and(|t| !t.contains("null,null"))),
                Err(say) => prop_assert!(desk.tell(&say).contains(' '), "no sentence for {}", say.key),
            }
        }
        let mut again = self::desk();
        again.restore(desk.log().to_vec()).unwrap();
        prop_assert_eq!(again.document(), desk.document());
        let told: Vec<String> = desk.log().iter().map(|f| serde_json::to_string(f).unwrap()).collect();
        let read: Vec<Intent> = told.iter().map(|t| serde_json::from_str(t).unwrap()).collect();
        prop_assert_eq!(&read, desk.log());
    }

    /// What was kept from the scene before is what a fresh look gives.
    #[test]
    fn a_scene_made_from_the_last_one_is_the_scene(lines in prop::collection::vec(any_intent(), 1..40)) {
        let mut desk = after(&[PICTURE]);
        for line in &lines {
            let _ = desk.intend(intent(line));
            let kept = desk.scene();
            desk.shelf = super::show::Shelf::default();
            desk.reckoned = super::reckon::reckon(desk.journal.document(), &Default::default());
            let fresh = desk.scene();
            prop_assert_eq!(kept, fresh, "after {}", line);
        }
    }
}
