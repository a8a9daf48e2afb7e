//! Things of known size that can be called by name: rectangles, and coins.
//!
//! # References
//! ISO 216 (A series; sizes ±1.5 mm to 150 mm, ±2 mm to 600 mm, ±3 mm above); ANSI/ASME Y14.1 (A to E,
//! sizes in inches; it states no tolerance here, so ISO 216's is assumed, common practice, no source);
//! ISO/IEC 7810 ID-1 card 85.60 × 53.98 mm (limits 85.47–85.72 and 53.92–54.03 [memory]). Coins as their mints
//! give them: United States Mint; European Central Bank.

/// A sheet or card by name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Its name in the words file is `sheet.` and this.
    pub name: &'static str,
    /// The shorter side, in mm.
    pub short: f64,
    /// The longer side, in mm.
    pub long: f64,
}

/// An inch in mm (1959 agreement, exact).
const INCH: f64 = 25.4;

const fn metric(name: &'static str, short: f64, long: f64) -> Sheet {
    Sheet { name, short, long }
}

const fn inches(name: &'static str, short: f64, long: f64) -> Sheet {
    Sheet { name, short: short * INCH, long: long * INCH }
}

/// Every sheet that can be called by name.
pub const SHEETS: [Sheet; 16] = [
    metric("a0", 841.0, 1189.0),
    metric("a1", 594.0, 841.0),
    metric("a2", 420.0, 594.0),
    metric("a3", 297.0, 420.0),
    metric("a4", 210.0, 297.0),
    metric("a5", 148.0, 210.0),
    metric("a6", 105.0, 148.0),
    inches("letter", 8.5, 11.0),
    inches("legal", 8.5, 14.0),
    inches("tabloid", 11.0, 17.0),
    inches("ansi-a", 8.5, 11.0),
    inches("ansi-b", 11.0, 17.0),
    inches("ansi-c", 17.0, 22.0),
    inches("ansi-d", 22.0, 34.0),
    inches("ansi-e", 34.0, 44.0),
    metric("card", 53.98, 85.60),
];

/// The sheet of that name.
pub fn sheet(name: &str) -> Option<&'static Sheet> {
    SHEETS.iter().find(|s| s.name == name)
}

/// A coin by name, with its diameter in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coin {
    /// Its name in the words file is `coin.` and this.
    pub name: &'static str,
    /// Across, in mm.
    pub across: f64,
}

impl Coin {
    /// Whether it is used where lengths are told so: euros where they are metric.
    pub fn is_here(&self, metric: bool) -> bool {
        self.name.starts_with("euro") == metric
    }
}

/// Every coin that can be called by name.
pub const COINS: [Coin; 9] = [
    Coin { name: "us-1", across: 19.05 },
    Coin { name: "us-5", across: 21.21 },
    Coin { name: "us-10", across: 17.91 },
    Coin { name: "us-25", across: 24.26 },
    Coin { name: "us-50", across: 30.61 },
    Coin { name: "us-100", across: 26.49 },
    Coin { name: "euro-50", across: 24.25 },
    Coin { name: "euro-100", across: 23.25 },
    Coin { name: "euro-200", across: 25.75 },
];

impl Sheet {
    /// Standard uncertainty of the shorter and of the longer side, in mm: the tolerance over √3, all sizes
    /// within it being as likely (JCGM 100:2008, 4.3.7).
    pub fn u(&self) -> [f64; 2] {
        let card = self.name == "card";
        let tolerance = |side: f64, limit: f64| {
            let paper = if side <= 150.0 {
                1.5
            } else if side <= 600.0 {
                2.0
            } else {
                3.0
            };
            (if card { limit } else { paper }) / libm::sqrt(3.0)
        };
        [tolerance(self.short, 0.055), tolerance(self.long, 0.125)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 216: each size is half the one before, rounded down to a millimetre; A0 is a square metre.
    #[test]
    fn a_series_halves() {
        let a: Vec<&Sheet> = SHEETS.iter().filter(|s| s.name.len() == 2).collect();
        assert!((a[0].short * a[0].long - 1e6).abs() < 1e3);
        for pair in a.windows(2) {
            assert_eq!((pair[1].long, pair[1].short), (pair[0].short, (pair[0].long / 2.0).floor()));
        }
    }

    #[test]
    fn by_name() {
        for (name, short, long, u) in [
            ("a4", 210.0, 297.0, 2.0 / 1.7320508),
            ("a5", 148.0, 210.0, 1.5 / 1.7320508),
            ("letter", 215.9, 279.4, 2.0 / 1.7320508),
            ("ansi-e", 863.6, 1117.6, 3.0 / 1.7320508),
            ("card", 53.98, 85.60, 0.055 / 1.7320508),
        ] {
            let s = sheet(name).unwrap();
            assert!((s.short - short).abs() < 1e-9 && (s.long - long).abs() < 1e-9, "{name}");
            assert!((s.u()[0] - u).abs() < 1e-7, "{name}");
        }
        assert_eq!(sheet("a9"), None);
    }
}
