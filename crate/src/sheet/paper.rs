//! What sheets are printed on, and whether an order's paper can be used.

use super::order;
use crate::quantity::units::MM_PER_INCH;
use crate::view::sheet;
use crate::words::Say;

/// The longest side of a page, mm: 14,400 units of 1/72 in.
///
/// # References
/// ISO 32000-1:2008, annex C.2.
pub const LONGEST_PAGE: f64 = 14_400.0 / 72.0 * MM_PER_INCH;
/// The longest whole that is drawn, finished mm.
pub const LONGEST_WHOLE: f64 = 40_000.0;
/// The least room to print on, mm: enough for bars and writing, and a hand's breadth of pattern.
const LEAST: [f64; 2] = [70.0, 80.0];
/// A printer's factor further from 1 than this is no printer's own: something else is wrong.
const MOST_OFF: f64 = 0.05;

/// Whether a printer may make so much of 1 by itself.
pub fn is_printers_own(factor: f64) -> bool {
    (factor - 1.0).abs() <= MOST_OFF + 1e-9
}

/// The width and height of a paper by name as it lies in the tray, upright, mm; nothing for what no printer takes.
///
/// # References
/// The table of [`crate::view::SHEETS`].
pub fn named(name: &str) -> Option<[f64; 2]> {
    sheet(name).filter(|s| s.name != "card").map(|s| [s.short, s.long])
}

/// Paper that was looked at and can be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// Width and height as it lies in the tray, mm; a roll's height is the longest page.
    pub size: [f64; 2],
    /// What can't be printed on, mm: left, top, right, bottom.
    pub margins: [f64; 4],
    /// As long as is needed.
    pub roll: bool,
    /// How far neighbours lap, mm.
    pub lap: f64,
    /// What the printer makes of 1, across and down.
    pub printer: [f64; 2],
}

impl Stock {
    /// From an order's paper.
    ///
    /// # Errors
    /// `sheet.paper-unknown`, `sheet.paper-size`, `sheet.margins`, `sheet.paper-small`, `sheet.lap`, `sheet.printer`.
    pub fn of(paper: &order::Paper) -> Result<Stock, Say> {
        let roll = paper.name == "roll";
        let size = match named(&paper.name) {
            Some(size) => size,
            None if roll => [paper.size[0], LONGEST_PAGE],
            None if paper.name == "custom" => paper.size,
            None => return Err(Say::new("sheet.paper-unknown").text("name", paper.name.clone())),
        };
        if !size.iter().all(|s| *s > 0.0 && *s <= LONGEST_PAGE) {
            return Err(Say::new("sheet.paper-size").length("longest", LONGEST_PAGE));
        }
        if !paper.margins.iter().all(|m| *m >= 0.0 && m.is_finite()) {
            return Err(Say::new("sheet.margins"));
        }
        if !paper.printer.iter().all(|f| is_printers_own(*f)) {
            return Err(Say::new("sheet.printer"));
        }
        let stock = Stock { size, margins: paper.margins, roll, lap: paper.lap, printer: paper.printer };
        let [w, h] = stock.printable();
        if !(w >= LEAST[0] && h >= LEAST[1]) {
            let say = Say::new("sheet.paper-small").length("width", w.max(0.0)).length("height", h.max(0.0));
            return Err(say.length("least", LEAST[0]).length("least-high", LEAST[1]));
        }
        if !(paper.lap >= 0.0 && paper.lap <= w.min(h) / 4.0) {
            return Err(Say::new("sheet.lap").length("most", w.min(h) / 4.0));
        }
        Ok(stock)
    }

    /// The same paper lying: which of two opposite margins comes first is the printer's affair, so both are the wider one; what the
    /// printer makes of 1 goes with the paper.
    #[must_use]
    pub fn lying(self) -> Stock {
        let [l, t, r, b] = self.margins;
        let (x, y) = (t.max(b), l.max(r));
        let turn = |[a, b]: [f64; 2]| [b, a];
        Stock { size: turn(self.size), margins: [x, y, x, y], printer: turn(self.printer), ..self }
    }

    /// How much can be printed on, as it comes out of the printer, mm.
    pub fn printable(&self) -> [f64; 2] {
        let ([w, h], [l, t, r, b]) = (self.size, self.margins);
        [(w - l - r) * self.printer[0], (h - t - b) * self.printer[1]]
    }
}

/// How near a measured factor must be to a known cause for it to be named.
const CAUSE: f64 = 0.004;
/// What a printer's factor may be off without a word.
const FINE: f64 = 0.01;

/// What the printer makes of 1, from a bar that measures `measured` and was drawn `drawn` long.
///
/// Beyond 1 % the likely cause is named, and the factor given only if this printer `always` does so.
///
/// # Units
/// Both in mm.
///
/// # Errors
/// `printer.not-a-length`; `printer.far-off` beyond 5 %; `printer.letter-on-a4` (97.3 %), `printer.a4-on-letter` (94.1 %) and
/// `printer.off` beyond 1 % unless `always`.
///
/// # References
/// The causes are ratios of paper sizes: Letter fitted to A4 210/215.9, A4 to Letter 279.4/297.
pub fn printer_factor(measured: f64, drawn: f64, always: bool) -> Result<f64, Say> {
    if !(measured > 0.0 && drawn > 0.0 && measured.is_finite() && drawn.is_finite()) {
        return Err(Say::new("printer.not-a-length"));
    }
    let factor = measured / drawn;
    let off = (factor - 1.0).abs();
    let told = |key: &'static str| {
        let percent = crate::words::Arg::Number(factor * 100.0, 1);
        Say::new(key).with("percent", percent).length("measured", measured).length("drawn", drawn)
    };
    let causes = [("printer.letter-on-a4", 210.0 / 215.9), ("printer.a4-on-letter", 279.4 / 297.0)];
    let cause = causes.iter().find(|(_, f)| (factor - f).abs() <= CAUSE).map(|(key, _)| *key);
    if off <= FINE + 1e-9 {
        Ok(factor)
    } else if !is_printers_own(factor) {
        Err(told(cause.unwrap_or("printer.far-off")))
    } else if always {
        Ok(factor)
    } else {
        Err(told(cause.unwrap_or("printer.off")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::order::{Paper, Turn};

    fn paper(name: &str, size: [f64; 2], margins: [f64; 4]) -> Paper {
        Paper {
            name: name.into(),
            size,
            margins,
            turn: Turn::Fewest,
            lap: 12.7,
            shift: Vec::new(),
            printer: [1.0; 2],
            printer_name: String::new(),
            allow_many: false,
        }
    }

    fn check(paper: &Paper, expected: &str) {
        let got = Stock::of(paper)
            .map(|s| format!("{:.2}x{:.2}", s.size[0], s.size[1]))
            .unwrap_or_else(|say| say.key.into_owned());
        assert_eq!(got, expected, "{paper:?}");
    }

    #[test]
    fn papers_are_known_or_refused() {
        let none = [0.0; 2];
        let six = [6.0; 4];
        check(&paper("a4", none, six), "210.00x297.00");
        check(&paper("letter", none, six), "215.90x279.40");
        check(&paper("custom", [300.0, 200.0], six), "300.00x200.00");
        check(&paper("roll", [610.0, 0.0], six), "610.00x5080.00");
        check(&paper("foolscap", none, six), "sheet.paper-unknown");
        for bad in [[0.0, 200.0], [f64::NAN, 200.0], [-3.0, 200.0], [f64::INFINITY, 9.0], [6000.0, 200.0]] {
            check(&paper("custom", bad, six), "sheet.paper-size");
        }
        check(&paper("a4", none, [f64::NAN, 0.0, 0.0, 0.0]), "sheet.margins");
        check(&paper("a4", none, [-1.0, 0.0, 0.0, 0.0]), "sheet.margins");
        check(&paper("a4", none, [110.0, 0.0, 110.0, 0.0]), "sheet.paper-small");
        for lap in [-1.0, 80.0, f64::NAN] {
            check(&Paper { lap, ..paper("a4", none, six) }, "sheet.lap");
        }
        for printer in [[0.9, 1.0], [1.0, f64::NAN], [1.0, 0.0]] {
            check(&Paper { printer, ..paper("a4", none, six) }, "sheet.printer");
        }
    }

    #[test]
    fn a_printers_factor_is_believed_doubted_or_refused() {
        let check = |measured: f64, always: bool, expected: &str| {
            let got = printer_factor(measured, 100.0, always)
                .map_or_else(|say| say.key.into_owned(), |f| format!("{f:.4}"));
            assert_eq!(got, expected, "{measured} {always}");
        };
        check(99.2, false, "0.9920");
        check(101.0, false, "1.0100");
        check(98.4, false, "printer.off");
        check(98.4, true, "0.9840");
        check(97.2, false, "printer.letter-on-a4");
        check(97.2, true, "0.9720");
        check(94.1, false, "printer.a4-on-letter");
        check(94.1, true, "printer.a4-on-letter");
        check(106.0, true, "printer.far-off");
        check(0.0, true, "printer.not-a-length");
        check(f64::NAN, true, "printer.not-a-length");
    }
}
