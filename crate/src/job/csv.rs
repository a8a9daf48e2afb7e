//! Sizes as comma-separated values (RFC 4180): quoted where needed, CRLF, one row a size.

use super::scene::{Row, Scene, Size};
use crate::quantity::read_digits;

/// The size board as CSV.
pub fn csv(scene: &Scene, heads: &[String; 9]) -> String {
    let mut out = String::from("\u{feff}");
    line(&mut out, heads);
    for row in &scene.rows {
        let main = [&row.finished, &row.real];
        push(&mut out, row, "", main[0].as_ref(), main[1].as_ref());
        for m in &row.more {
            push(&mut out, row, &m.label, Some(&m.size), None);
        }
    }
    out
}

fn push(out: &mut String, row: &Row, what: &str, finished: Option<&Size>, real: Option<&Size>) {
    let rounded = |s: Option<&Size>| s.map_or_else(String::new, |s| s.figure.with_unit());
    let exact = |s: Option<&Size>| s.map_or_else(String::new, |s| s.unrounded.clone());
    let pm = |s: Option<&Size>| s.map_or_else(String::new, |s| s.pm.clone());
    let either = finished.or(real);
    line(
        out,
        &[
            row.number.to_string(),
            row.name.clone(),
            what.to_owned(),
            rounded(finished),
            exact(finished),
            rounded(real),
            exact(real),
            pm(either),
            row.picture.clone(),
        ],
    );
}

/// Rows under their heads.
pub fn table(heads: &[String], rows: &[Vec<String>]) -> String {
    let mut out = String::from("\u{feff}");
    line(&mut out, heads);
    rows.iter().for_each(|row| line(&mut out, row));
    out
}

fn line(out: &mut String, cells: &[String]) {
    for (i, cell) in cells.iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        out.push_str(&quoted(cell));
    }
    out.push_str("\r\n");
}

/// Quoted where RFC 4180 asks for it; a cell that a spreadsheet would take for a formula is told to be text.
fn quoted(cell: &str) -> String {
    let number = read_digits(cell.strip_prefix(['-', '+']).unwrap_or(cell)).is_some();
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠']) && !number;
    let cell = if formula { format!("'{cell}") } else { cell.to_owned() };
    if cell.contains([',', '"', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
}

/// The heads of the columns, by their names in the words file.
pub const HEADS: [&str; 9] = [
    "csv.number",
    "csv.name",
    "csv.what",
    "csv.finished",
    "csv.finished-unrounded",
    "csv.in-life",
    "csv.in-life-unrounded",
    "csv.plus-minus",
    "csv.on-picture",
];
