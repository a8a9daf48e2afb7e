//! Named moments, what has changed since a print, a job that is only looked at.

use super::tests::{after, intent};

const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;
const SPAN: &str =
    r#"{"kind":"place","picture":1,"mark":"length","points":[[100,100],[1300,100]],"zoom":8,"seen":true}"#;
const CHORD: &str =
    r#"{"kind":"place","picture":1,"mark":"length","points":[[100,300],[700,300]],"zoom":8,"seen":true}"#;
const WANTED: &str = r#"{"kind":"set-build","mark":1,"length":"24"}"#;

/// By hand: 1200 px are to be 24 in, so 600 px are 12 in; at 30 in they are 15 in.
#[test]
fn what_has_changed_since_a_print_is_told() {
    let mut desk = after(&[PICTURE, SPAN, CHORD, WANTED]);
    assert_eq!(desk.scene().history.printed, "");
    let sizes: Vec<_> = desk
        .scene()
        .rows
        .iter()
        .map(|r| (r.id, r.finished.as_ref().unwrap().value, r.finished.as_ref().unwrap().figure.text.clone()))
        .collect();
    desk.intend(super::Intent::Printed { sizes }).unwrap();
    let history = desk.scene().history;
    assert!(history.since.is_empty() && history.printed.contains("revision 4"), "{history:?}");
    // Another unit, or rounding to the same words, is no change.
    desk.intend(intent(
        r#"{"kind":"set-units","style":"millimetres","step":"0.1 mm","direction":"nearest"}"#,
    ))
    .unwrap();
    assert!(desk.scene().history.since.is_empty());
    desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"set-build","mark":1,"length":"30"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"name-mark","mark":2,"name":"chord"}"#)).unwrap();
    assert_eq!(desk.scene().history.since, ["1: was 24, is 30 now", "2, chord: was 12, is 15 now"]);
    desk.intend(intent(r#"{"kind":"delete-mark","mark":2}"#)).unwrap();
    assert_eq!(desk.scene().history.since.len(), 2);
    // A print isn't taken back: the paper is there.
    for _ in 0..3 {
        desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    }
    assert!(desk.scene().history.since.is_empty());
    assert!(desk.scene().history.printed.contains("as you last printed"));
}

#[test]
fn a_moment_is_gone_back_to_and_nothing_is_lost_by_it() {
    let mut desk = after(&[PICTURE, SPAN, r#"{"kind":"name-moment","name":" first  "}"#, CHORD, WANTED]);
    let with = desk.document().clone();
    desk.intend(intent(r#"{"kind":"go-back","moment":0}"#)).unwrap();
    assert_eq!(desk.document().marks.len(), 1);
    // Straight back is as undo: redo puts it forward again.
    desk.intend(intent(r#"{"kind":"redo"}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"redo"}"#)).unwrap();
    assert_eq!(desk.document(), &with);
    // Another way is taken from there, and the first one is still a moment without a name.
    desk.intend(intent(r#"{"kind":"go-back","moment":0}"#)).unwrap();
    desk.intend(intent(r#"{"kind":"name-mark","mark":1,"name":"other"}"#)).unwrap();
    assert_eq!(desk.scene().history.moments, ["first", "before you went back"]);
    desk.intend(intent(r#"{"kind":"go-back","moment":1}"#)).unwrap();
    assert_eq!(desk.document(), &with);
    assert_eq!(desk.scene().history.moments.len(), 3);
    assert!(desk.intend(intent(r#"{"kind":"go-back","moment":9}"#)).is_err());
    // The log, read again as it was kept, comes to the same.
    let mut again = desk.empty();
    again.restore(desk.log().to_vec()).unwrap();
    assert_eq!(again.document(), &with);
    assert_eq!(again.scene().history, desk.scene().history);
}

/// Sixty facts, so that snapshots lie on both sides of where the ways part.
#[test]
fn going_back_and_forth_over_snapshots() {
    let mut desk = after(&[PICTURE, SPAN]);
    let name = |n: usize| intent(&format!(r#"{{"kind":"name-mark","mark":1,"name":"{n}"}}"#));
    (0..30).for_each(|n| desk.intend(name(n)).unwrap());
    desk.intend(intent(r#"{"kind":"name-moment","name":"thirty"}"#)).unwrap();
    (30..160).for_each(|n| desk.intend(name(n)).unwrap());
    desk.intend(intent(r#"{"kind":"go-back","moment":0}"#)).unwrap();
    assert_eq!(desk.document().marks[0].name, "29");
    (500..660).for_each(|n| desk.intend(name(n)).unwrap());
    desk.intend(intent(r#"{"kind":"go-back","moment":1}"#)).unwrap();
    assert_eq!(desk.document().marks[0].name, "159");
    for _ in 0..130 {
        desk.intend(intent(r#"{"kind":"undo"}"#)).unwrap();
    }
    assert_eq!(desk.document().marks[0].name, "29");
}

#[test]
fn a_job_that_is_only_looked_at_takes_no_fact() {
    let mut desk = after(&[PICTURE, SPAN]);
    let before = desk.document().clone();
    desk.close(true);
    for fact in [CHORD, WANTED, r#"{"kind":"undo"}"#, r#"{"kind":"name-job","name":"mine"}"#] {
        assert_eq!(desk.intend(intent(fact)).unwrap_err().key, "job.elsewhere", "{fact}");
    }
    desk.intend(intent(r#"{"kind":"go","step":"marks"}"#)).unwrap();
    let tap = r#"{"kind":"tap","at":[900,900],"by":"touch","zoom":1,"reach":20}"#;
    assert_eq!(desk.intend(intent(tap)).unwrap_err().key, "job.elsewhere");
    assert_eq!((desk.document(), desk.log().len()), (&before, 2));
    desk.close(false);
    desk.intend(intent(CHORD)).unwrap();
}
