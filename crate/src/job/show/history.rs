//! Moments to go back to, and what is another size since something was printed.

use super::Sight;
use crate::job::intent::Size;
use crate::job::journal::Journal;
use crate::job::scene::{History, Row};
use crate::words::Say;
use std::rc::Rc;

/// No more lines than this are told.
const MOST: usize = 40;
/// A size that is off by less than this has only been reckoned anew or is written in another unit, mm.
const SAME: f64 = 1e-6;

/// The history of a job; `rows` as they stand on the size board.
pub fn history(sight: &Sight, journal: &Journal, rows: &[Rc<Row>]) -> History {
    let left = || sight.word("history.left");
    let moments = journal.moments().map(|m| if m.is_empty() { left() } else { m.to_owned() }).collect();
    let Some((revision, sizes)) = journal.printed() else {
        return History { moments, printed: String::new(), since: Vec::new() };
    };
    let mut since: Vec<String> = sizes.iter().filter_map(|size| changed(sight, size, rows)).collect();
    let new = |row: &&Rc<Row>| row.finished.is_some() && !sizes.iter().any(|(id, ..)| *id == row.id);
    let told = rows.iter().filter(new).take(MOST);
    since.extend(told.map(|r| sight.say(&Say::new("history.new").text("mark", sight.mark_named(r.id)))));
    if since.len() > MOST {
        since.truncate(MOST);
        since.push(sight.word("history.more"));
    }
    let about = if since.is_empty() { "history.as-printed" } else { "history.printed" };
    History { moments, printed: sight.say(&Say::new(about).count("revision", revision)), since }
}

/// What has become of a size that was printed.
fn changed(sight: &Sight, (mark, mm, before): &Size, rows: &[Rc<Row>]) -> Option<String> {
    let row = rows.iter().find(|r| r.id == *mark);
    let say = match row.map(|r| r.finished.as_ref()) {
        Some(Some(now)) if (now.value - mm).abs() <= SAME || now.figure.text == *before => return None,
        Some(Some(now)) => Say::new("history.changed").text("now", now.figure.text.clone()),
        Some(None) => Say::new("history.unknown"),
        None => Say::new("history.gone"),
    };
    Some(sight.say(&say.text("mark", sight.mark_named(*mark)).text("before", before.clone())))
}
