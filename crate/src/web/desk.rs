//! The desk's side of the door.

use super::{from_js, to_js};
use crate::WHOLE;
use crate::job::{self, Intent, Kept, Make, Scene, Words, change, csv, cutting_table};
use crate::json;
use crate::mark::By;
use crate::words::{Arg, Say};
use js_sys::{Array, Object, Reflect, Uint8Array};
use serde::Serialize;
use wasm_bindgen::prelude::*;

/// A job on the desk, as the page holds it.
#[wasm_bindgen]
pub struct Desk {
    desk: job::Desk,
    shown: Option<Scene>,
    revision: u32,
}

#[wasm_bindgen]
impl Desk {
    /// An empty desk that speaks the words of `words` (the words file's text).
    #[wasm_bindgen(constructor)]
    pub fn new(words: &str) -> Result<Desk, JsValue> {
        let words = Words::read(words).map_err(|s| thrown(&s, s.key.to_string()))?;
        Ok(Desk { desk: job::Desk::new(words), shown: None, revision: 0 })
    }

    /// From now on it speaks the words of `words`; the job and the hand stay as they are. [`Desk::scene`] is then said anew.
    pub fn speak(&mut self, words: &str) -> Result<(), JsValue> {
        let words = Words::read(words).map_err(|s| self.error(&s))?;
        self.desk.speak(words);
        Ok(())
    }

    /// What only the whole core has was asked of the one that a page begins with.
    fn wants_whole(&self) -> Result<(), JsValue> {
        if WHOLE { Ok(()) } else { Err(self.error(&Say::new("job.wants-whole"))) }
    }

    fn error(&self, say: &Say) -> JsValue {
        thrown(say, self.desk.tell(say))
    }

    /// Does what is asked for; gives what is new in the scene.
    pub fn intend(&mut self, intent: JsValue) -> Result<JsValue, JsValue> {
        let intent: Intent = json::read(&from_js(&intent)).map_err(|e| {
            // What is unknown here may be known to the whole core.
            let key = if WHOLE { "job.not-understood" } else { "job.wants-whole" };
            self.error(&Say::new(key).text("why", e.to_string()))
        })?;
        self.desk.intend(intent).map_err(|s| self.error(&s))?;
        Ok(self.look())
    }

    /// What is new in the scene since it was last asked for.
    pub fn look(&mut self) -> JsValue {
        let scene = self.desk.look();
        self.revision = self.revision.wrapping_add(1);
        let told = match &self.shown {
            Some(old) => to_js(&change(old, &scene, self.revision)),
            None => to_js(&scene),
        };
        self.shown = Some(scene);
        told
    }

    /// Every row of the size board with all that is known of its mark, open or not.
    pub fn sizes(&self) -> JsValue {
        to_js(&self.desk.sizes())
    }

    /// The whole scene, as a page draws it.
    pub fn scene(&mut self) -> JsValue {
        self.shown = None;
        self.look()
    }

    /// Slides the held end by picture px; where it is now, `[x, y]` in picture px.
    pub fn slide(&mut self, dx: f64, dy: f64, by: &str, zoom: f64) -> Result<Box<[f64]>, JsValue> {
        let by = match by {
            "touch" => By::Touch,
            "pen" => By::Pen,
            "key" => By::Key,
            _ => By::Mouse,
        };
        let at = self.desk.slide([dx, dy], by, zoom).map_err(|s| self.error(&s))?;
        Ok(Box::new([at.x, at.y]))
    }

    /// The log's facts from the `from`th on, each as JSON, for whoever keeps them.
    #[wasm_bindgen(js_name = factsFrom)]
    pub fn facts_from(&self, from: usize) -> Vec<String> {
        let log = self.desk.log();
        log.iter().skip(from).filter_map(|f| json::write(f).ok()).collect()
    }

    /// Lets the job only be looked at, or opens it again.
    pub fn close(&mut self, closed: bool) {
        self.desk.close(closed);
    }

    /// Takes facts that another desk has added to this very job, and gives what is new in the scene.
    pub fn follow(&mut self, facts: Vec<String>) -> Result<JsValue, JsValue> {
        self.desk.close(false);
        let mut done = Ok(());
        for fact in facts {
            done = json::read::<Intent>(&fact)
                .map_err(|e| Say::new("job.not-understood").text("why", e.to_string()))
                .and_then(|fact| self.desk.intend(fact));
            if done.is_err() {
                break;
            }
        }
        self.desk.close(true);
        done.map_err(|s| self.error(&s))?;
        Ok(self.look())
    }

    /// Takes a whole log as kept. Gives how many facts could be taken.
    pub fn restore(&mut self, facts: Vec<String>) -> usize {
        let read = facts.iter().map_while(|f| json::read::<Intent>(f).ok());
        // A fact that doesn't apply ends the log there: what came before it stands.
        let _ = self.desk.restore(read);
        self.desk.log().len()
    }

    /// What the press is to make, by name ([`Make::named`]), as JSON for it to read; `date` as the person writes it.
    pub fn order(&self, make: &str, date: &str) -> Result<String, JsValue> {
        let make = Make::named(make).unwrap_or(Make::Patterns);
        let order = self.desk.order(make, date).map_err(|s| self.error(&s))?;
        Ok(json::write(&order).unwrap_or_default())
    }

    /// The readable half of a job file.
    #[wasm_bindgen(js_name = jobJson)]
    pub fn job_json(&self) -> Result<String, JsValue> {
        self.wants_whole()?;
        job::job_json(self.desk.document(), self.desk.log()).map_err(|s| self.error(&s))
    }

    /// A job file, with the pictures `[{digest, bytes}]` and the job's preview, if it has one.
    #[wasm_bindgen(js_name = jobFile)]
    pub fn job_file(&self, pictures: Array, preview: &[u8]) -> Result<Vec<u8>, JsValue> {
        self.wants_whole()?;
        let kept: Vec<Kept> = pictures
            .iter()
            .filter_map(|p| {
                let digest = Reflect::get(&p, &"digest".into()).ok()?.as_string()?;
                let bytes = Uint8Array::new(&Reflect::get(&p, &"bytes".into()).ok()?).to_vec();
                Some(Kept { digest, bytes })
            })
            .collect();
        job::write_job_file(self.desk.document(), self.desk.log(), &kept, preview).map_err(|s| self.error(&s))
    }

    /// Where in a file of many job files each stands, `[from, to, from, to, …]`; nothing when it is a job file.
    pub fn bundled(&self, bytes: &[u8]) -> Result<Vec<usize>, JsValue> {
        self.wants_whole()?;
        let jobs = job::bundled(bytes).map_err(|s| self.error(&s))?;
        Ok(jobs.into_iter().flat_map(|(from, to)| [from, to]).collect())
    }

    /// Reads a job file: `{facts: [JSON], pictures: [{digest, bytes}], preview: bytes}`. The job on the desk stays as it is.
    #[wasm_bindgen(js_name = openJob)]
    pub fn open_job(&self, bytes: &[u8]) -> Result<JsValue, JsValue> {
        self.wants_whole()?;
        let (log, pictures) = job::read_job_file(bytes).map_err(|s| self.error(&s))?;
        let facts: Array = log.iter().filter_map(|f| json::write(f).ok()).map(JsValue::from).collect();
        let kept: Array = pictures
            .into_iter()
            .map(|p| {
                let o = Object::new();
                set(&o, "digest", &p.digest.into());
                set(&o, "bytes", &Uint8Array::from(p.bytes.as_slice()));
                JsValue::from(o)
            })
            .collect();
        let out = Object::new();
        set(&out, "facts", &facts);
        set(&out, "pictures", &kept);
        set(&out, "preview", &Uint8Array::from(job::preview(bytes).as_slice()));
        Ok(out.into())
    }

    /// The sizes as comma-separated values.
    pub fn csv(&mut self) -> String {
        csv(&self.desk.scene(), &self.desk.csv_heads())
    }

    /// The cutting list as comma-separated values.
    #[wasm_bindgen(js_name = cuttingTable)]
    pub fn cutting_table(&self) -> String {
        if WHOLE { cutting_table(&self.desk) } else { String::new() }
    }

    /// The cuts in the order of the bench, as the page shows them one by one ([`job::Bench`]).
    pub fn bench(&self) -> JsValue {
        if WHOLE { to_js(&job::bench(&self.desk)) } else { JsValue::NULL }
    }

    /// Pixels to the metre for a page of so many points of 1/72 in: [`crate::raster::page::fineness`].
    pub fn fineness(&self, across: f64, down: f64) -> u32 {
        crate::raster::page::fineness([across, down])
    }

    /// Puts what the mill says (`{key, args}`) into the person's words.
    pub fn tell(&self, say: JsValue) -> String {
        match json::read::<Say>(&from_js(&say)) {
            Ok(say) => self.desk.tell(&say),
            Err(_) => self.desk.tell(&Say::new("picture.broken")),
        }
    }

    /// Any sentence of the words file.
    pub fn word(&self, key: &str) -> String {
        self.desk.tell(&Say::new(key.to_owned()))
    }
}

/// A zip of files that the page holds: it puts each head before its file, and the end behind them all.
#[wasm_bindgen]
pub struct Bundle(job::ZipWriter);

#[wasm_bindgen]
impl Bundle {
    /// An empty one.
    #[wasm_bindgen(constructor)]
    #[allow(clippy::new_without_default)]
    pub fn new() -> Bundle {
        Bundle(job::ZipWriter::default())
    }

    /// The head of a file; nothing when there is no room left for it.
    pub fn enter(&mut self, name: &str, bytes: &[u8]) -> Option<Vec<u8>> {
        if WHOLE { self.0.enter(name, bytes).ok() } else { None }
    }

    /// What goes behind the last one; nothing when there is no room left.
    pub fn end(&self) -> Option<Vec<u8>> {
        if WHOLE { self.0.end().ok() } else { None }
    }
}

fn set(object: &Object, name: &str, value: &JsValue) {
    // Setting a field of a fresh plain object can't fail.
    let _ = Reflect::set(object, &name.into(), value);
}

/// What is thrown at the page.
#[derive(Serialize)]
struct Thrown<'a> {
    key: &'a str,
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    len: Option<u32>,
}

/// A whole number that stands in a sentence by name: where an entry is wrong.
fn count(say: &Say, name: &str) -> Option<u32> {
    say.args.iter().find_map(|(n, a)| match a {
        Arg::Count(c) if n == name => u32::try_from(*c).ok(),
        _ => None,
    })
}

/// An error as the page sees it.
fn thrown(say: &Say, text: String) -> JsValue {
    let at = count(say, "at");
    to_js(&Thrown { key: &say.key, text, at, len: at.and(count(say, "len")) })
}
