use scrieve::job::{Desk, Intent, Words, change};
fn intent(json: &str) -> Intent {
    serde_json::from_str(json).expect("x")
}
fn main() {
    let (mark, x0, y0): (u32, f64, f64) = if std::env::args().nth(1).as_deref() == Some("worst") {
        (1, 140.0, 140.0)
    } else {
        (17, 150.0, 340.0)
    };
    let n: u32 = std::env::args().nth(2).and_then(|s| s.parse().ok()).unwrap_or(400);
    let mut desk = Desk::new(Words::read(include_str!("../../www/words/en.json")).expect("w"));
    for line in include_str!("../../tests/bench/job-300.jsonl").lines() {
        desk.intend(intent(line)).expect("i");
    }
    let mut before = desk.scene();
    let mut t = [0.0f64; 3];
    for turn in 0..n {
        let x = x0 + f64::from(turn % 7);
        let m = intent(&format!(
            r#"{{"kind":"move-point","mark":{mark},"point":0,"at":[{x},{y0}],"by":"key","zoom":8,"seen":true}}"#
        ));
        let s = std::time::Instant::now();
        desk.intend(m).expect("m");
        let a = s.elapsed().as_secs_f64();
        let scene = desk.scene();
        let b = s.elapsed().as_secs_f64();
        let text = serde_json::to_string(&change(&before, &scene, turn)).expect("p");
        let c = s.elapsed().as_secs_f64();
        t[0] += a;
        t[1] += b - a;
        t[2] += c - b;
        if turn == 3 {
            eprintln!("{} bytes", text.len());
        }
        before = scene;
    }
    eprintln!("{:.1?} us", t.map(|v| v * 1e6 / f64::from(n)));
}
