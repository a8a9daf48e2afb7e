//! How long one intent takes in a job of 300 marks on 6 views: moving an end, the scene, and what is new in it.
//! `scripts/bench` runs it natively beside the same core as wasm. Prints medians in microseconds, as JSON. With the argument
//! `worst` it moves an end of the mark that sets the size to build, on which every size rests; with `parts` it does the same and
//! more in a job of 300 parts (240 outlines, 60 hidden ones by rule), with the lists open. With `curve` it fits a curve to a border of
//! 2,000 points: the section of NACA Report 460, each point a twentieth of a pixel off at most.

use scrieve::job::{Desk, Intent, Words, change};
use scrieve::json;
use scrieve::plane::{FitOptions, Picture, Point, fit};
use std::time::Instant;

/// Enough for a steady median.
const TURNS: u32 = 400;
/// The mark that is moved, and where its end stands.
const USUAL: (u32, f64, u32) = (17, 150.0, 340);
/// The same for the mark that sets the size to build.
const WORST: (u32, f64, u32) = (1, 140.0, 140);

fn intent(text: &str) -> Intent {
    json::read(text).expect("the example's own intents")
}

/// Medians, ms, of intend, scene and change for each of some edits, turn by turn.
fn pace_of_parts() {
    let mut desk = Desk::new(Words::read(include_str!("../../www/words/en.json")).expect("the words file"));
    for line in include_str!("../../tests/bench/parts-300.jsonl").lines() {
        desk.intend(intent(line)).expect("the example's own intents");
    }
    let edit = |what: &str, turn: u32| match what {
        "a part's corner moved" => format!(
            r#"{{"kind":"move-point","mark":17,"point":0,"at":[{},250],"by":"key","zoom":8,"seen":true}}"#,
            60 + turn % 7
        ),
        "the size to build" => {
            format!(r#"{{"kind":"set-build","mark":241,"length":{{"mm":{}}}}}"#, 2540 + turn % 7)
        }
        "another stock" => format!(
            r#"{{"kind":"set-part","mark":2,"choice":{{"made":{{"goods":"plywood","stock":"{}"}}}}}}"#,
            ["1/2", "3/4"][turn as usize % 2]
        ),
        "the step of rounding" => format!(
            r#"{{"kind":"set-units","style":"inches","step":"{}","direction":"nearest"}}"#,
            ["1/16 in", "1/8 in"][turn as usize % 2]
        ),
        _ => format!(r#"{{"kind":"tick","mark":5,"copy":0,"on":{}}}"#, turn.is_multiple_of(2)),
    };
    let mut before = desk.look();
    for what in [
        "a part's corner moved",
        "another stock",
        "a piece is cut",
        "the size to build",
        "the step of rounding",
    ] {
        let mut times: [Vec<f64>; 3] = Default::default();
        for turn in 0..40 {
            let start = Instant::now();
            desk.intend(intent(&edit(what, turn))).expect("the edit can be made");
            let intended = start.elapsed();
            let scene = desk.look();
            let shown = start.elapsed();
            let text = json::write(&change(&before, &scene, turn)).expect("plain data");
            let told = start.elapsed();
            assert!(!text.is_empty());
            before = scene;
            for (v, d) in times.iter_mut().zip([intended, shown - intended, told - shown]) {
                v.push(d.as_secs_f64() * 1e3);
            }
        }
        let [i, s, c] = times.map(|mut v| {
            v.sort_by(f64::total_cmp);
            v[v.len() / 2]
        });
        println!(
            r#"{{"what":"{what}","intend":{i:.2},"scene":{s:.2},"change":{c:.2},"all":{:.2}}}"#,
            i + s + c
        );
    }
}

/// The median, ms, of fitting a curve to a border.
fn pace_of_a_curve() {
    let (points, chord, thick) = (2000_u32, 850.0, 0.12);
    let border: Vec<Point<Picture>> = (0..points)
        .map(|i| {
            let turn = std::f64::consts::TAU * f64::from(i) / f64::from(points);
            let x = 0.5 + 0.5 * turn.cos();
            let half = 5.0
                * thick
                * (0.2969 * x.sqrt() - 0.126 * x - 0.3516 * x * x + 0.2843 * x.powi(3) - 0.1036 * x.powi(4));
            // No clock and no luck: what scatters the points comes from their numbers.
            let off = f64::from(i.wrapping_mul(2_654_435_761) >> 16) / 65536.0 * 0.1 - 0.05;
            Point::new(100.0 + chord * x, 500.0 + chord * half * turn.sin().signum() + off)
        })
        .collect();
    let mut times = Vec::new();
    let mut pieces = 0;
    for _ in 0..41 {
        let start = Instant::now();
        pieces = fit(&border, 0.5, &FitOptions::default()).expect("a border").curve.segments.len();
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    println!(r#"{{"ms":{:.3},"pieces":{pieces}}}"#, times[times.len() / 2]);
}

fn main() {
    if std::env::args().any(|a| a == "parts") {
        return pace_of_parts();
    }
    if std::env::args().any(|a| a == "curve") {
        return pace_of_a_curve();
    }
    let mut desk = Desk::new(Words::read(include_str!("../../www/words/en.json")).expect("the words file"));
    for line in include_str!("../../tests/bench/job-300.jsonl").lines() {
        desk.intend(intent(line)).expect("the example's own intents");
    }
    let (mark, left, y) = if std::env::args().any(|a| a == "worst") { WORST } else { USUAL };
    let mut before = desk.look();
    let (mut intends, mut scenes, mut changes) = (Vec::new(), Vec::new(), Vec::new());
    for turn in 0..TURNS {
        let x = left + f64::from(turn % 7);
        let move_point = intent(&format!(
            r#"{{"kind":"move-point","mark":{mark},"point":0,"at":[{x},{y}],"by":"key","zoom":8,"seen":true}}"#
        ));
        let start = Instant::now();
        desk.intend(move_point).expect("the end can be moved");
        let intended = start.elapsed();
        let scene = desk.look();
        let shown = start.elapsed();
        let text = json::write(&change(&before, &scene, turn)).expect("plain data");
        let told = start.elapsed();
        assert!(text.contains("\"rows\""), "moving an end changes a row");
        before = scene;
        intends.push(intended.as_secs_f64() * 1e6);
        scenes.push((shown - intended).as_secs_f64() * 1e6);
        changes.push((told - shown).as_secs_f64() * 1e6);
    }
    let median = |v: &mut Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    let (i, s, c) = (median(&mut intends), median(&mut scenes), median(&mut changes));
    println!(
        r#"{{"intend":{i:.1},"scene":{s:.1},"change":{c:.1},"all":{:.1},"marks":{}}}"#,
        i + s + c,
        desk.document().marks.len()
    );
}
