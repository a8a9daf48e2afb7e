use crate::job::intent::Intent;
use crate::job::{Desk, Words};
use crate::plane::{Shaped, shape};
use crate::raster::ask::Ask;

const WORDS: &str = include_str!("../../../../www/words/en.json");
const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;

fn intent(line: &str) -> Intent {
    serde_json::from_str(line).unwrap_or_else(|e| panic!("{line}: {e}"))
}

fn after(lines: &[&str]) -> Desk {
    let mut desk = Desk::new(Words::read(WORDS).unwrap());
    lines.iter().for_each(|line| does(&mut desk, line));
    desk
}

fn does(desk: &mut Desk, line: &str) {
    desk.intend(intent(line)).unwrap_or_else(|e| panic!("{line}: {}", desk.tell(&e)));
}

/// Answers what is sought just now, as the Worker does.
fn answered(desk: &mut Desk) -> Option<Shaped> {
    let seek = desk.scene().seek.expect("something is sought");
    let Ask::Shape { shape: shaping } = &seek.ask else { panic!("{:?}", seek.ask) };
    let shaped = shape(shaping).ok();
    let found = serde_json::to_string(&shaped.as_ref().map(|s| serde_json::json!({ "shaped": s }))).unwrap();
    does(desk, &format!(r#"{{"kind":"found","serial":{},"found":{found}}}"#, seek.serial));
    shaped
}

fn ring(points: impl Iterator<Item = [f64; 2]>) -> String {
    serde_json::to_string(&points.collect::<Vec<_>>()).unwrap()
}

/// An ellipse, a point every few px.
fn ellipse(x: f64, y: f64, a: f64, b: f64) -> String {
    ring(
        (0..240)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 240.0)
            .map(|t| [x + a * t.cos(), y + b * t.sin()]),
    )
}

/// A box, a point every 3 px.
fn boxed(left: f64, top: f64, wide: f64, high: f64) -> String {
    let n = |long: f64| (long / 3.0) as usize;
    let side = move |from: [f64; 2], by: [f64; 2], n: usize| {
        (0..n).map(move |k| [from[0] + by[0] * k as f64 / n as f64, from[1] + by[1] * k as f64 / n as f64])
    };
    let (right, bottom) = (left + wide, top + high);
    ring(
        side([left, top], [wide, 0.0], n(wide))
            .chain(side([right, top], [0.0, high], n(high)))
            .chain(side([right, bottom], [-wide, 0.0], n(wide)))
            .chain(side([left, bottom], [0.0, -high], n(high))),
    )
}

fn outlines(rings: &[String]) -> String {
    let borders: Vec<String> =
        rings.iter().map(|r| format!(r#"{{"rings":[{r}],"sigma":0.05,"half":1.5,"bridges":[]}}"#)).collect();
    format!(r#"{{"kind":"outlines","picture":1,"borders":[{}]}}"#, borders.join(","))
}

const SCALE: [&str; 2] = [
    r#"{"kind":"place","picture":1,"mark":"length","points":[[100,1900],[1100,1900]],"zoom":8,"seen":true}"#,
    r#"{"kind":"set-known","mark":1,"length":{"mm":500}}"#,
];

fn with(rings: &[String]) -> Desk {
    let mut desk = after(&[PICTURE, SCALE[0], SCALE[1], &outlines(rings), r#"{"kind":"go","step":"marks"}"#]);
    does(&mut desk, r#"{"kind":"select","mark":2}"#);
    desk
}

fn size(desk: &mut Desk, mark: u32, label: &str) -> (f64, f64) {
    let scene = desk.scene();
    let row = scene.rows.iter().find(|r| r.id == mark).unwrap();
    let found = row.more.iter().find(|m| m.label == label).map(|m| &m.size).or(row.real.as_ref()).unwrap();
    (found.value, found.plus)
}

#[test]
fn a_smooth_ellipse_measures_what_an_ellipse_does() {
    let mut desk = with(&[ellipse(1500.0, 900.0, 400.0, 250.0)]);
    let rough = size(&mut desk, 2, "area");
    let before = desk.document().clone();
    does(&mut desk, r#"{"kind":"want","wish":"smooth"}"#);
    answered(&mut desk);
    let smooth = desk.document().mark(2).unwrap().smooth.clone().unwrap();
    assert!(smooth.rings[0].segments.len() <= 8, "{}", smooth.rings[0].segments.len());
    // πab at half a mm a px; round it, by Ramanujan (1914), 2069.72 px.
    let (area, pm) = size(&mut desk, 2, "area");
    let truth = std::f64::consts::PI * 400.0 * 250.0 / 4.0;
    assert!(
        (area - truth).abs() < pm && pm < 2.0 * rough.1 && pm > 0.3 * rough.1,
        "{area} ± {pm}, {truth}; {rough:?}"
    );
    let h: f64 = (150.0 / 650.0_f64).powi(2);
    let round = std::f64::consts::PI * 650.0 * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt())) / 2.0;
    let (length, pm) = size(&mut desk, 2, "round it");
    assert!((length - round).abs() < pm && pm < 0.01 * round, "{length} ± {pm}, {round}");
    let (long, pm) = size(&mut desk, 2, "");
    assert!((long - 400.0).abs() < pm && pm < 2.0, "{long} ± {pm}");
    // The line's outer side, 1.5 px out: by Steiner's formula a strip of its length, and half a circle at each end.
    does(&mut desk, r#"{"kind":"set-side","side":"outer"}"#);
    let wider = size(&mut desk, 2, "area").0;
    let by_hand = (2.0 * round * 1.5 + std::f64::consts::PI * 1.5 * 1.5) / 4.0;
    assert!((wider - area - by_hand).abs() < 0.02 * by_hand, "{wider} − {area}, by hand {by_hand}");
    does(&mut desk, r#"{"kind":"undo"}"#);
    // What is drawn is the curve, its points are knots that can be held, and one undo takes all of it back.
    let shown = desk.scene().marks.iter().find(|m| m.id == 2).unwrap().clone();
    assert!(shown.paths[0].len() > 40 && shown.handles.len() == smooth.rings[0].segments.len());
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert_eq!(*desk.document(), before);
    // The old shape of a job file has no curves in it and still opens.
    let old = serde_json::to_string(&before.marks[1]).unwrap();
    assert!(!old.contains("smooth") && serde_json::from_str::<crate::job::document::Mark>(&old).is_ok());
}

#[test]
fn two_pieces_become_one_and_one_undo_makes_them_two() {
    let mut desk = with(&[boxed(200.0, 300.0, 300.0, 120.0), boxed(500.0, 270.0, 90.0, 240.0)]);
    let before = desk.document().clone();
    does(&mut desk, r#"{"kind":"tool","tool":"join-with"}"#);
    does(&mut desk, r#"{"kind":"tap","at":[540,400],"by":"touch","zoom":1,"reach":20}"#);
    answered(&mut desk);
    assert_eq!(desk.document().marks.len(), 2);
    // 300·120 + 90·240 px², a quarter of a mm² each.
    let (area, _) = size(&mut desk, 2, "area");
    assert!((area - (36_000.0 + 21_600.0) / 4.0).abs() < 4.0, "{area}");
    assert_eq!(desk.scene().undo.as_deref(), Some("Undo joining onto 2"));
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert_eq!(*desk.document(), before);
    // What doesn't touch stays two, and it is said.
    let mut desk = with(&[boxed(200.0, 300.0, 300.0, 120.0), boxed(600.0, 270.0, 90.0, 240.0)]);
    does(&mut desk, r#"{"kind":"tool","tool":"join-with"}"#);
    does(&mut desk, r#"{"kind":"tap","at":[640,400],"by":"touch","zoom":1,"reach":20}"#);
    answered(&mut desk);
    assert!(
        desk.document().marks.len() == 3 && desk.scene().aside.contains("touch"),
        "{}",
        desk.scene().aside
    );
}

#[test]
fn a_line_of_two_touches_cuts_and_the_third_says_which_side() {
    let mut desk = with(&[boxed(200.0, 300.0, 300.0, 120.0)]);
    does(&mut desk, r#"{"kind":"tool","tool":"cut-off"}"#);
    for at in ["[300,250]", "[300,500]"] {
        does(&mut desk, &format!(r#"{{"kind":"tap","at":{at},"by":"touch","zoom":1,"reach":20}}"#));
    }
    let on_it = r#"{"kind":"tap","at":[300.2,400],"by":"touch","zoom":1,"reach":20}"#;
    assert_eq!(desk.intend(intent(on_it)).unwrap_err().key, "plane.cut-side");
    assert_eq!(desk.scene().guide, "Touch the side to keep.");
    does(&mut desk, r#"{"kind":"tap","at":[420,400],"by":"touch","zoom":1,"reach":20}"#);
    answered(&mut desk);
    let (area, _) = size(&mut desk, 2, "area");
    assert!((area - 200.0 * 120.0 / 4.0).abs() < 4.0, "{area}");
    assert!(desk.scene().hand.is_none() && desk.scene().pending.is_empty());
}

#[test]
fn fairing_says_how_far_it_moved_anything_and_halves_are_chosen_by_a_key() {
    let wavy = ring((0..300).map(|i| f64::from(i) * std::f64::consts::TAU / 300.0).map(|t| {
        let r = 200.0 + 1.2 * (40.0 * t).sin();
        [800.0 + 1.7 * r * t.cos(), 700.0 + r * t.sin()]
    }));
    let mut desk = with(&[wavy]);
    does(&mut desk, r#"{"kind":"want","wish":"fair"}"#);
    let moved = answered(&mut desk).unwrap().moved;
    assert!(moved > 0.4 && moved < 1.0 / 0.5, "{moved}");
    let aside = desk.scene().aside;
    assert!(aside.starts_with("Nothing was moved by more than 1⁄"), "{aside}");
    does(&mut desk, r#"{"kind":"want","wish":"halves"}"#);
    assert_eq!(desk.scene().aside, "");
    answered(&mut desk);
    let scene = desk.scene();
    assert!(scene.guide.starts_with("The two halves differ by "), "{}", scene.guide);
    assert_eq!(scene.pending_paths.len(), 1);
    let main = scene.ledge.last().unwrap();
    assert!(main.id.starts_with("half-"), "{main:?}");
    desk.intend(main.intent.clone().unwrap()).unwrap();
    answered(&mut desk);
    let mark = desk.document().mark(2).unwrap();
    assert!(mark.centre.is_some() && mark.smooth.is_some());
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert!(desk.document().mark(2).unwrap().centre.is_none());
}

#[test]
fn a_knot_is_put_in_moved_turned_and_taken_away() {
    let mut desk = with(&[ellipse(1500.0, 900.0, 400.0, 250.0)]);
    does(&mut desk, r#"{"kind":"want","wish":"smooth"}"#);
    answered(&mut desk);
    let n = desk.document().mark(2).unwrap().points.len();
    does(&mut desk, r#"{"kind":"tool","tool":"knot"}"#);
    does(&mut desk, r#"{"kind":"tap","at":[1780,725],"by":"touch","zoom":1,"reach":20}"#);
    let hand = desk.scene().hand.expect("the new point is in hand");
    assert_eq!(desk.document().mark(2).unwrap().points.len(), n + 1);
    let (area, _) = size(&mut desk, 2, "area");
    let keys: Vec<String> = desk.scene().ledge.iter().map(|k| k.id.clone()).collect();
    assert!(keys.contains(&"sharpen".to_owned()) && keys.contains(&"remove-point".to_owned()), "{keys:?}");
    desk.slide([30.0, -20.0], crate::mark::By::Touch, 4.0).unwrap();
    desk.slide([10.0, -10.0], crate::mark::By::Touch, 4.0).unwrap();
    does(&mut desk, r#"{"kind":"settle"}"#);
    let now = desk.scene().hand.unwrap();
    assert!((now.at[0] - hand.at[0] - 40.0).abs() < 1e-9 && (now.at[1] - hand.at[1] + 30.0).abs() < 1e-9);
    assert!(size(&mut desk, 2, "area").0 > area + 100.0);
    for (id, next) in [("sharpen", "round-off"), ("round-off", "sharpen"), ("remove-point", "")] {
        let key = desk.scene().ledge.iter().find(|k| k.id == id).unwrap().intent.clone().unwrap();
        desk.intend(key).unwrap();
        assert!(next.is_empty() || desk.scene().ledge.iter().any(|k| k.id == next), "{next}");
    }
    assert_eq!(desk.document().mark(2).unwrap().points.len(), n);
}

#[test]
fn where_the_plus_or_minus_comes_from_names_an_edge_once() {
    let mut desk = with(&[ellipse(1500.0, 900.0, 400.0, 250.0)]);
    for smooth in [false, true] {
        if smooth {
            does(&mut desk, r#"{"kind":"want","wish":"smooth"}"#);
            answered(&mut desk);
        }
        let sources: Vec<String> =
            desk.scene().detail.unwrap().sources.iter().map(|s| s.text.clone()).collect();
        let edges = sources.iter().filter(|t| t.starts_with("the edge of 2")).count();
        assert!(edges == 1 && sources.iter().all(|t| !t.contains("of 2 was put")), "{sources:?}");
    }
}

#[test]
fn a_moved_touch_has_the_edge_beside_it_followed_again() {
    let touches = r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,100],[700,100],[700,600],[100,600]],"by":"touch","zoom":2}"#;
    let run = |a: [f64; 2], b: [f64; 2]| {
        ring(
            (0..=60)
                .map(|k| f64::from(k) / 60.0)
                .map(|t| [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]),
        )
    };
    let follow = |before: usize, a, b| {
        format!(r#"{{"kind":"follow","mark":1,"before":{before},"points":{},"sigma":0.1}}"#, run(a, b))
    };
    let mut desk = after(&[
        PICTURE,
        touches,
        &follow(4, [100.0, 600.0], [100.0, 100.0]),
        &follow(1, [100.0, 100.0], [700.0, 100.0]),
        r#"{"kind":"hold","mark":1,"point":0}"#,
    ]);
    let n = desk.document().marks[0].points.len();
    let before = desk.document().clone();
    desk.slide([20.0, 10.0], crate::mark::By::Touch, 4.0).unwrap();
    desk.slide([5.0, 5.0], crate::mark::By::Touch, 4.0).unwrap();
    assert_eq!(desk.document().marks[0].points[0].at, [125.0, 115.0].into());
    does(&mut desk, r#"{"kind":"settle"}"#);
    assert_eq!(desk.document().marks[0].points.len(), 4);
    let mut asked = Vec::new();
    while let Some(seek) = desk.scene().seek.filter(|s| s.ask != Ask::Views) {
        let found = match &seek.ask {
            Ask::Follow { from, to } => {
                asked.push([from.x, from.y, to.x, to.y]);
                format!(r#"{{"path":{{"points":{},"sigma":0.1}}}}"#, run([from.x, from.y], [to.x, to.y]))
            }
            _ => "null".to_owned(),
        };
        does(&mut desk, &format!(r#"{{"kind":"found","serial":{},"found":{found}}}"#, seek.serial));
    }
    assert_eq!(asked, [[100.0, 600.0, 125.0, 115.0], [125.0, 115.0, 700.0, 100.0]]);
    assert_eq!(desk.document().marks[0].points.len(), n);
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert_eq!(*desk.document(), before);
}

#[test]
fn the_outlines_of_views_are_there_for_one_touch_or_all_at_once() {
    let mut desk = after(&[PICTURE]);
    let seek = desk.scene().seek.unwrap();
    assert_eq!(seek.ask, Ask::Views);
    // A monoplane 184 long, 240 span, 60 high, as in `divide.rs`, each view a box.
    let view = |b: [f64; 4]| {
        let ring = boxed(b[0] + 9.0, b[1] + 9.0, b[2] - b[0] - 18.0, b[3] - b[1] - 18.0);
        format!(r#"{{"bounds":{b:?},"shapes":[{{"rings":[{ring}],"sigma":0.05,"half":1,"bridges":[]}}]}}"#)
    };
    let views =
        [[0.0, 0.0, 368.0, 480.0], [0.0, 600.0, 368.0, 720.0], [500.0, 600.0, 980.0, 720.0]].map(view);
    does(
        &mut desk,
        &format!(r#"{{"kind":"found","serial":{},"found":{{"views":[{}]}}}}"#, seek.serial, views.join(",")),
    );
    does(&mut desk, r#"{"kind":"go","step":"marks"}"#);
    does(&mut desk, r#"{"kind":"tool","tool":"outline"}"#);
    does(&mut desk, r#"{"kind":"tap","at":[180,200],"by":"touch","zoom":1,"reach":20}"#);
    assert_eq!((desk.document().marks.len(), desk.scene().seek), (1, None));
    let key = |desk: &mut Desk| desk.scene().ledge.iter().find(|k| k.id == "take-outlines").cloned();
    let all = key(&mut desk).unwrap().intent.unwrap();
    desk.intend(all.clone()).unwrap();
    assert_eq!(desk.scene().rows.iter().map(|r| r.number).collect::<Vec<_>>(), [1, 2, 3]);
    assert!(key(&mut desk).is_none());
    assert_eq!(desk.intend(all.clone()).unwrap_err().key, "job.outlines-taken");
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert_eq!(desk.document().marks.len(), 1);
    // A job that was opened again asks the pixels once more.
    let log = desk.log().to_vec();
    let mut again = after(&[]);
    again.restore(log).unwrap();
    does(&mut again, r#"{"kind":"go","step":"marks"}"#);
    again.intend(all).unwrap();
    let seek = again.scene().seek.unwrap();
    does(
        &mut again,
        &format!(r#"{{"kind":"found","serial":{},"found":{{"views":[{}]}}}}"#, seek.serial, views.join(",")),
    );
    assert_eq!(again.document().marks.len(), 3);
}

#[test]
fn the_others_like_one_are_taken_at_once() {
    let shelf = |top: f64| boxed(100.0, top, 900.0, 40.0);
    let border = |top: f64| format!(r#"{{"rings":[{}],"sigma":0.05,"half":1,"bridges":[]}}"#, shelf(top));
    let mut desk =
        after(&[PICTURE, r#"{"kind":"go","step":"marks"}"#, r#"{"kind":"tool","tool":"outline"}"#]);
    does(&mut desk, r#"{"kind":"found","serial":1,"found":null}"#);
    does(&mut desk, r#"{"kind":"tap","at":[500,120],"by":"touch","zoom":1,"reach":20}"#);
    let answer = |desk: &mut Desk, found: &str| {
        let seek = desk.scene().seek.expect("something is sought");
        does(desk, &format!(r#"{{"kind":"found","serial":{},"found":{found}}}"#, seek.serial));
        seek.ask
    };
    answer(&mut desk, &format!(r#"{{"border":{}}}"#, border(100.0)));
    let wish = r#"{"kind":"want","wish":"others"}"#;
    does(&mut desk, wish);
    let all = |tops: &[f64]| {
        let list: Vec<String> = tops.iter().map(|t| border(*t)).collect();
        format!(r#"{{"borders":[{}]}}"#, list.join(","))
    };
    let asked = answer(&mut desk, &all(&[300.0, 500.0]));
    assert!(
        matches!(asked, Ask::Like { bounds: [100.0, 100.0, r, b] } if r > 990.0 && b > 135.0),
        "{asked:?}"
    );
    assert_eq!(desk.document().marks.len(), 3);
    assert!(desk.scene().aside.starts_with("2 more"), "{}", desk.scene().aside);
    // What is marked already is not taken twice.
    does(&mut desk, wish);
    answer(&mut desk, &all(&[300.3, 499.8, 700.0]));
    assert_eq!(desk.document().marks.len(), 4);
    does(&mut desk, wish);
    answer(&mut desk, "null");
    assert_eq!(desk.document().marks.len(), 4);
    assert!(desk.scene().aside.starts_with("Nothing else"), "{}", desk.scene().aside);
    does(&mut desk, r#"{"kind":"undo"}"#);
    does(&mut desk, r#"{"kind":"undo"}"#);
    assert_eq!(desk.document().marks.len(), 1);
}
