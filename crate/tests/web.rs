//! The door, opened in a real browser: `scripts/test` runs this in headless Chromium.
#![cfg(target_arch = "wasm32")]

use js_sys::{JSON, Reflect};
use scrieve::web::Desk;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_browser);

const WORDS: &str = include_str!("../../www/words/en.json");

fn object(json: &str) -> JsValue {
    JSON::parse(json).expect("the test's own JSON")
}

fn get(from: &JsValue, name: &str) -> JsValue {
    Reflect::get(from, &name.into()).expect("a plain object")
}

fn desk() -> Desk {
    Desk::new(WORDS).expect("the words file is read")
}

/// What `intent` throws: its name and its sentence.
fn refused(intent: &JsValue) -> (String, String) {
    let thrown = desk().intend(intent.clone()).expect_err("this can't be done");
    let text = |name| get(&thrown, name).as_string().unwrap_or_default();
    (text("key"), text("text"))
}

#[wasm_bindgen_test]
fn a_scene_is_a_plain_object_with_a_sentence_to_say() {
    let scene = desk().scene();
    assert!(scene.is_object() && !scene.is_instance_of::<js_sys::Map>());
    let guide = get(&scene, "guide").as_string().expect("a sentence");
    assert!(guide.contains(' '), "not a sentence but its name: {guide}");
}

#[wasm_bindgen_test]
fn an_intent_changes_the_scene() {
    let intent =
        object(r#"{"kind":"add-picture","name":"a.png","width":300,"height":200,"resolution":null}"#);
    let mut desk = desk();
    desk.intend(intent).expect("a picture is taken");
    let scene = desk.scene();
    assert!(JSON::stringify(&scene).expect("no cycles").includes("a.png", 0));
}

#[wasm_bindgen_test]
fn what_is_no_intent_is_refused_in_words() {
    let strange = [
        JsValue::NULL,
        JsValue::from_f64(f64::NAN),
        object("{}"),
        object(r#"{"kind":"fly"}"#),
        object("[1, 2]"),
    ];
    for intent in strange {
        let (key, text) = refused(&intent);
        assert_eq!(key, "job.not-understood");
        assert!(text.contains(' '), "not a sentence but its name: {text}");
    }
}

#[wasm_bindgen_test]
fn a_picture_of_no_size_is_refused_in_words() {
    let (key, text) =
        refused(&object(r#"{"kind":"add-picture","name":"a.png","width":0,"height":200,"resolution":null}"#));
    assert!(key.contains('.') && text.contains(' ') && text != key, "{key}: {text}");
}
