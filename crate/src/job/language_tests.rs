//! One desk in two languages: figures, what is typed, units, and what stays when the language is another.

use super::intent::Intent;
use super::tests::intent;
use super::{Desk, Words};
use crate::quantity::{Style, write_number};

const ENGLISH: &str = include_str!("../../../www/words/en.json");
const GERMAN: &str = include_str!("../../../www/words/de.json");
const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;

fn words(json: &str) -> Words {
    Words::read(json).unwrap()
}

/// A desk that speaks `json`, after `lines`.
fn after(json: &str, lines: &[&str]) -> Desk {
    let mut desk = Desk::new(words(json));
    lines.iter().for_each(|line| desk.intend(intent(line)).unwrap_or_else(|e| panic!("{line}: {e}")));
    desk
}

fn tap(x: f64, y: f64) -> String {
    format!(r#"{{"kind":"tap","at":[{x},{y}],"by":"mouse","zoom":8,"reach":0}}"#)
}

// The decimal sign is a comma or a point on the line (ISO 80000-1:2009, 7.3.2); in German the comma (DIN 1333:1992).
#[test]
fn each_language_has_its_own_decimal_sign() {
    let told = words(GERMAN).set(write_number(-1234.5, 2));
    assert_eq!((told.text.as_str(), told.whole.as_deref()), ("−1234,50", Some("1234,50")));
    assert_eq!(words(ENGLISH).set(write_number(-1234.5, 2)).text, "−1234.50");
    for (typed, plain) in [("12,5", "12.5"), ("1,234 m", "1.234 m"), ("1.234", "1,234"), ("3 1/2", "3 1/2")] {
        assert_eq!(words(GERMAN).plain(typed), plain);
        assert_eq!(words(GERMAN).plain(plain), typed);
        assert_eq!(words(ENGLISH).plain(typed), typed);
    }
}

/// By construction: two places 1000 px apart are said to be 1,234 m, so half of that is 617 mm.
#[test]
fn a_job_in_german_is_metric_and_is_read_alike_in_english() {
    let mut desk = after(
        GERMAN,
        &[
            PICTURE,
            &tap(500.0, 500.0),
            &tap(1500.0, 500.0),
            r#"{"kind":"entry","text":"1,234 m"}"#,
            r#"{"kind":"accept","way":"is"}"#,
            r#"{"kind":"place","picture":1,"mark":"length","points":[[500,900],[1000,900]],"zoom":8,"seen":true}"#,
            r#"{"kind":"set-units","style":"millimetres","step":"0.5 mm","direction":"nearest"}"#,
        ],
    );
    let figures = |desk: &mut Desk| {
        desk.scene().rows.iter().map(|r| r.real.as_ref().unwrap().figure.text.clone()).collect::<Vec<_>>()
    };
    assert_eq!(figures(&mut desk), ["1234,0", "617,0"]);
    let log: Vec<Intent> = desk.log().to_vec();
    let mut english = Desk::new(words(ENGLISH));
    english.restore(log).unwrap();
    assert_eq!(figures(&mut english), ["1234.0", "617.0"]);
    assert_eq!(*english.document(), *desk.document());
    // What is wrong is told as it was typed: a point for thousands.
    desk.intend(intent(r#"{"kind":"select","mark":1}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"ask","about":"build"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"entry","text":"1.234"}"#)).unwrap();
    let entry = desk.scene().entry.unwrap();
    assert!(entry.error.is_some_and(|e| e.text.contains("„1.234“")));
}

#[test]
fn a_new_job_has_the_languages_units_and_an_old_one_its_own() {
    assert_eq!(after(GERMAN, &[PICTURE]).document().units.style, Style::Millimetres);
    assert_eq!(after(ENGLISH, &[PICTURE]).document().units.style, Style::Inches);
    let chosen = r#"{"kind":"set-units","style":"inches","step":"1/16 in","direction":"nearest"}"#;
    assert_eq!(after(GERMAN, &[chosen, PICTURE]).document().units.style, Style::Inches);
    // Begun in English, gone on with in German.
    let mut old = after(ENGLISH, &[PICTURE]);
    old.speak(words(GERMAN));
    old.intend(intent(PICTURE)).unwrap();
    assert_eq!(old.document().units.style, Style::Inches);
}

/// In mid-mark, with one end put, and with a length half typed.
#[test]
fn another_language_leaves_the_hand_as_it_is() {
    let mut desk = after(ENGLISH, &[PICTURE, &tap(500.0, 500.0)]);
    let before = desk.scene();
    desk.speak(words(GERMAN));
    let now = desk.scene();
    assert_eq!((now.marks[0].handles.len(), &now.marks[0].handles), (1, &before.marks[0].handles));
    assert_eq!(now.hand.map(|h| h.at), before.hand.as_ref().map(|h| h.at));
    assert_ne!(now.guide, before.guide);
    for line in [&tap(1500.0, 500.0), r#"{"kind":"entry","text":"12 1/"}"#] {
        desk.intend(intent(line)).unwrap();
    }
    desk.scene();
    desk.speak(words(ENGLISH));
    let scene = desk.scene();
    assert_eq!(scene.entry.map(|e| e.text).as_deref(), Some("12 1/"));
    // A row isn't left in the language before: its name is the word for its kind.
    assert_eq!(scene.rows[0].name, "length");
}
