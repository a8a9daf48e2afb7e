//! How long one intent takes in a job of 300 marks on 6 views: moving an end, the scene, and what is new in it.
//! `scripts/bench` runs it natively beside the same core as wasm. Prints medians in microseconds, as JSON. With the argument
//! `worst` it moves an end of the mark that sets the size to build, on which every size rests.

use scrieve::job::{Desk, Intent, Words, change};
use scrieve::json;
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

fn main() {
    let mut desk = Desk::new(Words::read(include_str!("../../www/words/en.json")).expect("the words file"));
    for line in include_str!("../../tests/bench/job-300.jsonl").lines() {
        desk.intend(intent(line)).expect("the example's own intents");
    }
    let (mark, left, y) = if std::env::args().any(|a| a == "worst") { WORST } else { USUAL };
    let mut before = desk.scene();
    let (mut intends, mut scenes, mut changes) = (Vec::new(), Vec::new(), Vec::new());
    for turn in 0..TURNS {
        let x = left + f64::from(turn % 7);
        let move_point = intent(&format!(
            r#"{{"kind":"move-point","mark":{mark},"point":0,"at":[{x},{y}],"by":"key","zoom":8,"seen":true}}"#
        ));
        let start = Instant::now();
        desk.intend(move_point).expect("the end can be moved");
        let intended = start.elapsed();
        let scene = desk.scene();
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
