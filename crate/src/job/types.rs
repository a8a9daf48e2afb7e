//! The page's TypeScript types are made from the Rust ones; this says when they are stale.
//! `BLESS=1 cargo test -p scrieve types_of_the_door` writes them anew.

use super::change::SceneChange;
use super::intent::Intent;
use super::scene::Scene;
use std::path::PathBuf;
use ts_rs::{Config, TS};

#[test]
fn types_of_the_door_are_fresh() {
    let kept = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../www/types/scene.d.ts");
    let made = std::env::temp_dir().join(format!("scrieve-types-{}", std::process::id()));
    let config = Config::new().with_out_dir(&made).with_large_int("number");
    Scene::export_all(&config).unwrap();
    SceneChange::export_all(&config).unwrap();
    Intent::export_all(&config).unwrap();
    let fresh = std::fs::read_to_string(made.join("scene.d.ts")).unwrap();
    std::fs::remove_dir_all(&made).unwrap();
    if std::env::var_os("BLESS").is_some() {
        std::fs::create_dir_all(kept.parent().unwrap()).unwrap();
        std::fs::write(&kept, &fresh).unwrap();
    }
    let known = std::fs::read_to_string(&kept).unwrap_or_default();
    assert!(
        fresh == known,
        "www/types/scene.d.ts is stale: run this test again with BLESS=1 and look at the difference"
    );
}
