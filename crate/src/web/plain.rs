//! The mill's plain objects, read and made field by field: the very objects that JSON by way of `serde` would give.
//!
//! The desk's many shapes go by JSON (see the door). The mill knows eight, and what reads and writes JSON, with the
//! figures in it, would be half of what a tablet fetches of the mill. A field that is added to one of the shapes doesn't
//! compile until it is told here; `tests/core/mill.test.mjs` holds these objects against those of the native door.

use js_sys::{Array, Object, Reflect};
use std::borrow::Cow;
use wasm_bindgen::prelude::*;

use crate::plane::Point;
use crate::raster::ask::{Ask, At, Border, Caught, Fitted, Found, FoundView};
use crate::raster::header::Header;
use crate::words::{Arg, Say};

/// What the page asks for.
///
/// # Errors
/// `job.not-understood` for what is no question.
pub(super) fn ask_of(told: &JsValue) -> Result<Ask, Say> {
    question(told).ok_or_else(|| Say::new("job.not-understood").text("why", "?"))
}

fn question(told: &JsValue) -> Option<Ask> {
    let kind = get(told, "kind")?.as_string()?;
    let (ask, fields) = match kind.as_str() {
        "catch" => (Ask::Catch { at: at_of(told, "at")?, reach: get(told, "reach")?.as_f64()? }, 3),
        "straight" => {
            (Ask::Straight { along: list_of(told, "along")?, reach: get(told, "reach")?.as_f64()? }, 3)
        }
        "round" => {
            (Ask::Round { through: list_of(told, "through")?, reach: get(told, "reach")?.as_f64()? }, 3)
        }
        "border" => (Ask::Border { inside: at_of(told, "inside")? }, 2),
        "like" => (Ask::Like { bounds: four(&get(told, "bounds")?)? }, 2),
        "quad" => (Ask::Quad { inside: at_of(told, "inside")? }, 2),
        "follow" => (Ask::Follow { from: at_of(told, "from")?, to: at_of(told, "to")? }, 3),
        "bowed" => (Ask::Bowed { from: at_of(told, "from")?, to: at_of(told, "to")? }, 3),
        "views" => (Ask::Views, 1),
        _ => return None,
    };
    (Object::keys(told.unchecked_ref::<Object>()).length() == fields).then_some(ask)
}

fn get(from: &JsValue, name: &str) -> Option<JsValue> {
    Reflect::get(from, &name.into()).ok()
}

fn at_of(from: &JsValue, name: &str) -> Option<At> {
    point(&get(from, name)?)
}

fn list_of(from: &JsValue, name: &str) -> Option<Vec<At>> {
    let list: Array = get(from, name)?.dyn_into().ok()?;
    let mut out = Vec::new();
    for i in 0..list.length() {
        out.push(point(&list.get(i))?);
    }
    Some(out)
}

fn four(told: &JsValue) -> Option<[f64; 4]> {
    let list: &Array = told.dyn_ref()?;
    (list.length() == 4).then_some(())?;
    let at = |i: u32| list.get(i).as_f64();
    Some([at(0)?, at(1)?, at(2)?, at(3)?])
}

fn point(told: &JsValue) -> Option<At> {
    let pair: &Array = told.dyn_ref()?;
    (pair.length() == 2).then_some(())?;
    Some(Point::new(pair.get(0).as_f64()?, pair.get(1).as_f64()?))
}

/// What was found.
pub(super) fn found(found: &Found) -> JsValue {
    let (name, value) = match found {
        Found::Caught(c) => ("caught", caught(c)),
        Found::Straight { fitted: places, ends, half } => {
            let fields =
                [("fitted", list(places, &fitted)), ("ends", list(ends, &at)), ("half", numbers(half))];
            ("straight", object(&fields))
        }
        Found::Round(places) => ("round", list(places, &fitted)),
        Found::Quad(places) => ("quad", list(places, &fitted)),
        Found::Border(b) => ("border", border(b)),
        Found::Borders(all) => ("borders", list(all, &border)),
        Found::Path { points, sigma } => {
            ("path", object(&[("points", list(points, &at)), ("sigma", (*sigma).into())]))
        }
        Found::Views(views) => ("views", list(views, &view)),
        // Made by the press: no pixels have part in it.
        Found::Shaped(_) => return JsValue::NULL,
    };
    object(&[(name, value)])
}

fn caught(Caught { what, at: place, cov, along, half }: &Caught) -> JsValue {
    object(&[
        ("what", what.name().into()),
        ("at", at(place)),
        ("cov", numbers(cov)),
        ("along", along.map_or(JsValue::NULL, |along| numbers(&along))),
        ("half", numbers(half)),
    ])
}

fn fitted(Fitted { at: place, cov }: &Fitted) -> JsValue {
    object(&[("at", at(place)), ("cov", numbers(cov))])
}

fn border(Border { rings, sigma, half, bridges }: &Border) -> JsValue {
    object(&[
        ("rings", list(rings, &|ring| list(ring, &at))),
        ("sigma", (*sigma).into()),
        ("half", (*half).into()),
        ("bridges", list(bridges, &|bridge| list(bridge, &at))),
    ])
}

fn view(FoundView { bounds, shapes }: &FoundView) -> JsValue {
    object(&[("bounds", numbers(bounds)), ("shapes", list(shapes, &border))])
}

/// What a picture file says about itself.
pub(super) fn header(header: &Header) -> JsValue {
    let Header { format, stored, shown, orientation, resolution, resolution_means_something, .. } = header;
    let Header { animated, focal_35mm, from_camera, more, flags, .. } = header;
    let pair = |of: Option<[f64; 2]>| of.map_or(JsValue::NULL, |pair| numbers(&pair));
    object(&[
        ("format", format.name().into()),
        ("stored", pair(stored.map(|size| size.map(f64::from)))),
        ("shown", pair(shown.map(|size| size.map(f64::from)))),
        ("orientation", (*orientation).into()),
        ("resolution", pair(*resolution)),
        ("resolution_means_something", (*resolution_means_something).into()),
        ("animated", (*animated).into()),
        ("focal_35mm", focal_35mm.map_or(JsValue::NULL, JsValue::from)),
        ("from_camera", (*from_camera).into()),
        ("more", (*more).into()),
        ("flags", list(flags, &say)),
    ])
}

/// A sentence by name, with what goes into it.
pub(super) fn say(Say { key, args }: &Say) -> JsValue {
    let arg = |(name, value): &(Cow<'static, str>, Arg)| {
        let (kind, value) = match value {
            Arg::Text(text) => ("text", text.into()),
            Arg::Count(count) => ("count", (*count as f64).into()),
            Arg::Length(mm) => ("length", (*mm).into()),
            Arg::PlusMinus(mm) => ("plus-minus", (*mm).into()),
            Arg::Number(value, decimals) => ("number", numbers(&[*value, f64::from(*decimals)])),
            Arg::Say(inner) => ("say", say(inner)),
        };
        list(&[JsValue::from_str(name), object(&[(kind, value)])], &JsValue::clone)
    };
    object(&[("key", JsValue::from_str(key)), ("args", list(args, &arg))])
}

fn at(place: &At) -> JsValue {
    numbers(&[place.x, place.y])
}

fn numbers(values: &[f64]) -> JsValue {
    list(values, &|value| JsValue::from_f64(*value))
}

fn list<T>(items: &[T], each: &dyn Fn(&T) -> JsValue) -> JsValue {
    let out = Array::new();
    for item in items {
        out.push(&each(item));
    }
    out.into()
}

fn object(fields: &[(&str, JsValue)]) -> JsValue {
    let out = Object::new();
    for (name, value) in fields {
        // Nothing refuses a field of a new object.
        let _ = Reflect::set(&out, &(*name).into(), value);
    }
    out.into()
}
